"""A bottle of the evening is picked from the shelf, field by field, and let go again."""

from __future__ import annotations

from datetime import date

from msgspec.structs import replace
from tests.shelf.shelving import TWO_BATH, after, kit, kit_shelf
from tests.shipped import shipped_setup
from tests.tui.seen import press, text_of

from wetside.app.setup_fields import Field
from wetside.app.setup_form import from_kit, groups
from wetside.app.terminal import Terminal
from wetside.domain.planning.setup import Setup, Units
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.setup_bottles import BottleOffer, KitOffer, kit_offers, left_after, offers
from wetside.domain.shelf.state import ShelfState
from wetside.errors import JournalUnusable
from wetside.present.evening_plan import make_plan
from wetside.present.shelf_text import NOT_ON_SHELF, kit_text, offer_text, with_shelf
from wetside.tui.plan_ports import PlanPorts
from wetside.tui.plan_screen import PlanScreen

THREE = shipped_setup("three-rolls")
TONIGHT = date(2031, 2, 1)


def two_kits() -> ShelfState:
    """A spent developer, a good one, and a bleach-fix that is empty."""
    return after(
        kit_shelf(),
        kit(on="2031-01-20"),
        c.TryLeader("2031-01-25", "1-developer", went_dark=False),
        c.NoteLevel("2031-01-25", "1-bleach-fix", 0.0, full=False),
    )


def from_shelf(setup: Setup, number: int, kept: tuple[BottleOffer, ...]) -> Field | None:
    group = next(each for each in groups(setup, Units(), kept) if each.id == f"bottle {number}")
    return next((field for field in group.fields if field.title == "From shelf"), None)


def test_the_best_bottle_is_offered_first_and_empty_ones_not_at_all() -> None:
    assert [offer.bottle.shelf_id for offer in offers(two_kits(), TONIGHT)] == [
        "1-stabiliser",
        "2-bleach-fix",
        "2-developer",
        "2-stabiliser",
        "1-developer",
    ]
    assert "spent" in offer_text(offers(two_kits(), TONIGHT)[-1])


def test_a_field_for_each_bottle_that_has_one_on_the_shelf() -> None:
    field = from_shelf(THREE, 0, offers(two_kits(), TONIGHT))
    assert field is not None
    assert field.value == NOT_ON_SHELF
    assert [id_ for id_, _ in field.options] == ["2-developer", "1-developer", NOT_ON_SHELF]
    taken = field.put("2-developer")
    assert (taken.bottles[0].shelf_id, taken.bottles[0].label) == ("2-developer", "Developer, Spring kit (2)")
    assert taken.bottles[0].start_c == THREE.bottles[0].start_c
    assert with_shelf(taken, two_kits()) == taken
    again = from_shelf(taken, 0, offers(two_kits(), TONIGHT))
    assert again is not None
    assert (again.value, again.chosen) == ("Developer, Spring kit (2)", "2-developer")
    assert again.put(NOT_ON_SHELF).bottles[0].shelf_id is None


def test_use_is_shown_to_a_tenth_of_a_roll() -> None:
    """Film areas add up to 3.01669 rolls; nobody wants to read that."""
    setup = replace(THREE, bottles=(replace(THREE.bottles[0], used_rolls=3.01669353), *THREE.bottles[1:]))
    group = next(each for each in groups(setup, Units()) if each.id == "bottle 0")
    assert "1 l, 3 rolls so far" in group.summary
    assert "3" in [field.value for field in group.fields if field.title == "Rolls so far"]


def test_plan_without_a_shelf_has_no_bottle_field() -> None:
    assert from_shelf(THREE, 0, ()) is None


def test_picking_another_bottle_drops_what_was_known_of_the_one_before() -> None:
    kept = offers(two_kits(), TONIGHT)
    field = from_shelf(THREE, 0, kept)
    assert field is not None
    spent = field.put("1-developer")
    assert spent.bottles[0].spent
    other = from_shelf(spent, 0, kept)
    assert other is not None
    assert other.put("2-developer").bottles[0].spent is None


def screen(kept: tuple[BottleOffer, ...] | Exception, kits: tuple[KitOffer, ...] = ()) -> PlanScreen:
    def doors_kept() -> tuple[BottleOffer, ...]:
        if isinstance(kept, Exception):
            raise kept
        return kept

    ports = PlanPorts(
        benches=(),
        processes=(),
        bench=lambda name: THREE,
        process=lambda name: TWO_BATH,
        make=lambda profile, setup: make_plan(profile, with_shelf(setup, two_kits()), today=TONIGHT),
        save=lambda setup, name: name,
        review=lambda plan, profile, setup: None,
        kept=doors_kept,
        kits=lambda: kits,
        after=lambda plan: left_after(plan, two_kits()),
    )
    return PlanScreen(Terminal(80, 24, True, "16", True, "xterm"), replace(THREE, invented=False), ports)


def test_a_bottle_is_picked_by_three_keys() -> None:
    plan = screen(offers(two_kits(), TONIGHT))
    for _ in range(20):
        if any(row.strip().startswith("→  Developer") for row in text_of(plan, 80, 24)):
            break
        press(plan, "space")
    for key in ("enter", "enter", "space", "enter"):
        press(plan, key)
    assert plan.setup.bottles[0].shelf_id == "2-developer"
    assert plan.plan is not None
    assert plan.plan.setup.bottles[0].best_before is not None


def test_the_present_bottle_is_marked_when_the_list_is_opened_again() -> None:
    plan = screen(offers(two_kits(), TONIGHT))
    plan.setup = replace(
        plan.setup, bottles=(replace(THREE.bottles[0], shelf_id="1-developer"), *THREE.bottles[1:])
    )
    for _ in range(20):
        if any(row.strip().startswith("→  Developer") for row in text_of(plan, 80, 24)):
            break
        press(plan, "space")
    press(plan, "enter")
    press(plan, "enter")
    (marked,) = (row for row in text_of(plan, 80, 24) if "→" in row)
    assert "Developer, Spring kit: spent" in marked


def test_what_is_left_after_tonight_is_shown_beside_the_list() -> None:
    plan = screen(offers(two_kits(), TONIGHT))
    assert "Kit left" not in " ".join(text_of(plan, 120, 60))
    plan._change(
        replace(plan.setup, bottles=(replace(THREE.bottles[0], shelf_id="2-developer"), *THREE.bottles[1:]))
    )
    for columns, rows in ((80, 24), (120, 60)):
        picture = text_of(plan, columns, rows)
        assert len(picture) == rows
        assert "Kit left Spring kit (2): 5.3 rolls" in " ".join(" ".join(picture).split())


def test_an_unreadable_shelf_is_reported_and_the_plan_is_still_made() -> None:
    plan = screen(JournalUnusable("The journal is damaged: restore it from a copy."))
    assert any("journal is damaged" in row for row in text_of(plan, 80, 24))
    assert plan.plan is not None


def opened(plan: PlanScreen, title: str) -> str:
    """SPACE to the line of this title, ENTER; what the screen then says."""
    for _ in range(30):
        if any(row.strip().startswith(f"→  {title}") for row in text_of(plan, 80, 24)):
            press(plan, "enter")
            return " ".join(" ".join(text_of(plan, 80, 24)).split())
        press(plan, "space")
    raise AssertionError(f"no line {title}")


def test_a_kit_is_shown_with_the_state_of_its_worst_bottle_and_what_it_lacks() -> None:
    first, second = kit_offers(two_kits(), TONIGHT)
    assert (kit_text(first), first.name) == ("Spring kit (2): good, 8.0 rolls left, 30 days", "Spring kit (2)")
    assert kit_text(second) == "Spring kit: developer spent, 8.0 rolls left, 20 days, no bleach-fix"
    assert [bottle.solution for bottle in second.bottles] == ["developer", "stabiliser"]


def test_of_good_bottles_the_one_with_the_least_left_stands_for_its_kit() -> None:
    shelf = after(kit_shelf(), c.UseBottle("2031-01-12", "1-bleach-fix", "one", 6.0))
    assert [kit_text(each) for each in kit_offers(shelf, TONIGHT)] == [
        "Spring kit: good, 2.0 rolls left, 160 days"
    ]


def test_of_two_bottles_of_one_solution_the_kit_offers_the_better() -> None:
    twice = kit()
    twice = replace(twice, bottles=(*twice.bottles, twice.bottles[0]))
    shelf = after(ShelfState(), twice, c.TryLeader("2031-01-25", "1-developer", went_dark=False))
    (kept,) = kit_offers(shelf, TONIGHT)
    assert [bottle.shelf_id for bottle in from_kit(THREE, kept).bottles] == [
        "1-developer-2",
        "1-bleach-fix",
        "1-stabiliser",
    ]


def test_a_whole_kit_is_one_choice_on_the_plan() -> None:
    plan = screen(offers(two_kits(), TONIGHT), kit_offers(two_kits(), TONIGHT))
    assert "Spring kit (2): good" in opened(plan, "Whole kit")
    press(plan, "enter")
    assert [bottle.shelf_id for bottle in plan.setup.bottles] == ["2-developer", "2-bleach-fix", "2-stabiliser"]
    assert [bottle.start_c for bottle in plan.setup.bottles] == [bottle.start_c for bottle in THREE.bottles]
    assert with_shelf(plan.setup, two_kits()) == plan.setup
    rows = text_of(plan, 80, 24)
    assert any("Whole kit   Spring kit (2)" in row for row in rows)
    assert any("Taken from the shelf: Spring kit (2)." in row for row in rows)
    opened(plan, "Whole kit")
    (marked,) = (row for row in text_of(plan, 80, 24) if "→" in row)
    assert "Spring kit (2)" in marked, "the kit that stands there"


def test_a_bottle_that_the_chosen_kit_lacks_stays_as_it_was_and_is_named() -> None:
    plan = screen(offers(two_kits(), TONIGHT), kit_offers(two_kits(), TONIGHT))
    opened(plan, "Whole kit")
    press(plan, "space")
    press(plan, "enter")
    assert [bottle.shelf_id for bottle in plan.setup.bottles] == ["1-developer", None, "1-stabiliser"]
    text = " ".join(" ".join(text_of(plan, 80, 24)).split())
    assert f"Not in it, so left as it was: {THREE.bottles[1].label}." in text
    assert "from the shelf" in text, "no whole kit stands there"


def test_a_kit_of_another_process_is_not_offered_as_a_whole() -> None:
    other = tuple(replace(each, profile_id="three-bath") for each in kit_offers(two_kits(), TONIGHT))
    plan = screen(offers(two_kits(), TONIGHT), other)
    assert not any("Whole kit" in row for row in text_of(plan, 80, 24))


def test_the_reason_given_for_one_bottle_is_dropped_for_another() -> None:
    kept = offers(two_kits(), TONIGHT)
    old = replace(THREE.bottles[0], reason="a leader went dark in it")
    setup = replace(THREE, bottles=(old, *THREE.bottles[1:]))
    field = from_shelf(setup, 0, kept)
    assert field is not None
    spent = field.put("1-developer")
    assert spent.bottles[0].reason == ""
    reasoned = replace(
        spent, bottles=(replace(spent.bottles[0], reason="a strip went dark in it"), *spent.bottles[1:])
    )
    again = from_shelf(reasoned, 0, kept)
    assert again is not None
    assert again.put("1-developer").bottles[0].reason == "a strip went dark in it"
    assert again.put(NOT_ON_SHELF).bottles[0].reason == ""
