"""The shelf fills in what a setup names, offers bottles, and says which need a reason."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from msgspec.structs import replace
from tests.shelf.shelving import MIXED, TWO_BATH, after, kit, kit_shelf
from tests.shipped import shipped_profile, shipped_setup

from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.messages import alert, as_written
from wetside.domain.planning.bottles import WANTS_REASON
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Bottle, Setup
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.debit import planned_through
from wetside.domain.shelf.report import bottle_report, order_again, report
from wetside.domain.shelf.setup_bottles import left_after, offers
from wetside.domain.shelf.state import ShelfState
from wetside.errors import CheckFailed
from wetside.files.setup_file import setup_from_text, write_setup
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.shelf_text import kit_left_text, order_text, with_shelf
from wetside.tui.shelf_rows import figures

THREE = shipped_setup("three-rolls")
TONIGHT = date(2031, 2, 1)


def setup_on(**shelf_ids: str) -> Setup:
    """The shipped evening with some of its bottles taken from the shelf."""
    ids = {solution.replace("_", "-"): id_ for solution, id_ in shelf_ids.items()}
    return replace(THREE, bottles=tuple(replace(b, shelf_id=ids.get(b.solution)) for b in THREE.bottles))


def test_shelf_figures_replace_those_of_the_setup() -> None:
    shelf = after(kit_shelf(), c.UseBottle("2031-01-20", "1-developer", "a", 2.5))
    filled = with_shelf(setup_on(developer="1-developer"), shelf)
    developer = filled.bottles[0]
    assert (developer.label, developer.volume_ml, developer.used_rolls) == ("Developer, Spring kit", 1000.0, 2.5)
    assert (developer.mixed_on, developer.full, developer.price) == (MIXED, True, 36.0)
    assert developer.start_c == THREE.bottles[0].start_c
    assert filled.bottles[1:] == setup_on().bottles[1:]


def test_a_setup_filled_from_the_shelf_is_the_same_when_read_from_its_file() -> None:
    shelf = after(kit_shelf(), c.TryLeader("2031-01-20", "1-developer", went_dark=False))
    filled = with_shelf(setup_on(developer="1-developer", bleach_fix="1-bleach-fix"), shelf)
    reasoned = replace(
        filled, bottles=(replace(filled.bottles[0], reason="a test strip only"), *filled.bottles[1:])
    )
    read = setup_from_text(write_setup(reasoned), "x.toml")
    said = "The leader stayed pale: the developer is dead; mix fresh before any film goes in."
    assert read.bottles[0].spent == as_written(said), "a file has the words of a judgement"
    judged = replace(read.bottles[0], spent=alert("developer-dead"))
    assert replace(read, bottles=(judged, *read.bottles[1:])) == reasoned
    assert with_shelf(read, shelf) == reasoned, "and the shelf judges anew"


@pytest.mark.parametrize(
    ("ids", "says"),
    [
        ({"developer": "1-develper"}, "the nearest is 1-developer"),
        ({"developer": "1-bleach-fix"}, "holds bleach-fix, not developer"),
        ({"developer": "2-developer"}, "was discarded on 2031-01-15 (spilt)"),
        ({"developer": "3-developer"}, "is empty"),
        ({"developer": "1-developer", "bleach_fix": "1-developer"}, "named twice"),
    ],
)
def test_a_bottle_that_cannot_be_used_is_refused(ids: dict[str, str], says: str) -> None:
    shelf = after(
        kit_shelf(),
        kit(),
        kit(),
        c.Discard("2031-01-15", "2-developer", "spilt", cautioned=True),
        c.NoteLevel("2031-01-15", "3-developer", 0.0, full=False),
    )
    with pytest.raises(CheckFailed) as failed:
        with_shelf(setup_on(**ids), shelf)
    assert says in str(failed.value)


def developers(shelf: ShelfState) -> list[Bottle]:
    return [offer.bottle for offer in offers(shelf, TONIGHT) if offer.bottle.solution == "developer"]


def test_the_open_kit_is_finished_first_and_spent_bottles_last() -> None:
    shelf = after(kit_shelf(), kit(on="2031-01-20"))
    assert [offer.bottle.shelf_id for offer in offers(shelf, TONIGHT)] == [
        f"{number}-{solution}" for number in (1, 2) for solution in ("bleach-fix", "developer", "stabiliser")
    ]
    tried = after(shelf, c.TryLeader("2031-01-25", "1-developer", went_dark=False))
    assert [bottle.shelf_id for bottle in developers(tried)] == ["2-developer", "1-developer"]
    gone = after(tried, c.Discard("2031-01-26", "2-developer", "spilt", cautioned=True))
    (worst,) = developers(gone)
    assert worst.shelf_id == "1-developer"
    assert worst.spent
    assert offers(ShelfState(), TONIGHT) == ()


def test_a_spent_bottle_gives_an_alert_and_the_plan_keeps_the_reason_to_use_it() -> None:
    shelf = after(kit_shelf(), c.TryLeader("2031-01-20", "1-developer", went_dark=False))
    setup = with_shelf(setup_on(developer="1-developer"), shelf)
    plan = make_plan(TWO_BATH, setup, today=TONIGHT)
    assert any(worry.code == "spent" and "stayed pale" in in_words(worry) for worry in plan.warnings)
    assert all(worry.code != "used-all-the-same" for worry in plan.warnings)

    reasoned = replace(setup, bottles=(replace(setup.bottles[0], reason="a test strip only"), *setup.bottles[1:]))
    warnings = make_plan(TWO_BATH, reasoned, today=TONIGHT).warnings
    (said,) = (in_words(worry) for worry in warnings if worry.code == "used-all-the-same")
    assert "stayed pale" in said
    assert said.endswith("Used all the same: a test strip only")
    assert all(worry.code != "spent" for worry in warnings)


def test_the_plan_uses_the_best_before_date_of_the_shelf() -> None:
    """Part-full since yesterday is not part-full since the mixing."""
    shelf = after(kit_shelf(), c.NoteLevel("2031-02-20", "1-developer", 950.0, full=False))
    setup = with_shelf(setup_on(developer="1-developer"), shelf)
    today = date(2031, 2, 21)
    assert all("Spring kit" not in in_words(worry) for worry in make_plan(TWO_BATH, setup, today=today).warnings)
    blind = replace(setup, bottles=(replace(setup.bottles[0], best_before=None), *setup.bottles[1:]))
    assert any(
        w.code == "expired" and "Spring kit" in in_words(w)
        for w in make_plan(TWO_BATH, blind, today=today).warnings
    )


def test_reason_without_a_warning_is_not_shown() -> None:
    fine = replace(THREE, bottles=(Bottle("developer", "Fresh", 1000.0, reason="why not"), *THREE.bottles[1:]))
    assert all(worry.code != "used-all-the-same" for worry in make_plan(TWO_BATH, fine, today=TONIGHT).warnings)


def test_rolls_stated_at_the_mixing_lengthen_the_developer_time_like_debited_ones() -> None:
    told = after(ShelfState(), replace(kit(), used_rolls=3.0))
    debited = after(kit_shelf(), c.UseBottle("2031-01-20", "1-developer", "a", 3.0))
    plans = [
        make_plan(TWO_BATH, with_shelf(setup_on(developer="1-developer"), shelf), today=TONIGHT)
        for shelf in (told, debited, kit_shelf())
    ]
    times = [plan.step("b1.developer").planned_s for plan in plans]
    assert times[0] == times[1]
    assert times[0] != times[2]


def plan_on(shelf: ShelfState, **shelf_ids: str) -> Plan:
    return make_plan(TWO_BATH, with_shelf(setup_on(**shelf_ids), shelf), today=TONIGHT)


def test_the_rolls_left_after_tonight_are_those_the_shelf_then_reports() -> None:
    """The evening's debits are taken, and the report of the bottle that is used up first says the same number."""
    ids = {"developer": "1-developer", "bleach_fix": "1-bleach-fix", "stabiliser": "1-stabiliser"}
    shelf = after(kit_shelf(), c.UseBottle("2031-01-20", "1-developer", "a", 2.0))
    plan = plan_on(shelf, **ids)
    (said,) = left_after(plan, shelf)
    rolls = roll_equivalents(roll.format for roll in plan.setup.rolls)
    done = after(shelf, *(c.UseBottle("2031-02-01", id_, "b", rolls) for id_ in ids.values()))
    left = min(each.left_rolls for each in report(done, TONIGHT) if each.left_rolls is not None)
    assert kit_left_text(said) == f"Spring kit: {left:.1f} rolls; the developer will be the first used up."
    assert 0 < left < 8.0 - rolls


@pytest.mark.parametrize(("level_ml", "beyond"), [(900.0, False), (500.0, True)])
def test_plan_and_shelf_agree_about_a_bottle_that_was_spilt(level_ml: float, *, beyond: bool) -> None:
    """What the plan finds beyond its capacity has nothing left; the time goes by what each litre has done."""
    three = c.UseBottle("2031-01-20", "1-developer", "a", 3.0)
    shelf = after(kit_shelf(), three, c.NoteLevel("2031-01-21", "1-developer", level_ml, full=False))
    plan = plan_on(shelf, developer="1-developer")
    codes = {worry.code for worry in plan.warnings if "Developer, Spring kit would go" in in_words(worry)}
    assert bool(codes) == beyond
    assert any("beyond its capacity" in kit_left_text(left) for left in left_after(plan, shelf)) == beyond
    whole = plan_on(after(kit_shelf(), three), developer="1-developer")
    assert plan.step("b1.developer").planned_s == whole.step("b1.developer").planned_s


def test_what_is_left_is_given_for_each_kit_by_itself() -> None:
    shelf = after(kit_shelf(), replace(kit(), name="Other", used_rolls=8.0))
    plan = plan_on(shelf, developer="1-developer", bleach_fix="2-bleach-fix")
    first, second = map(kit_left_text, left_after(plan, shelf))
    assert first.startswith("Spring kit: ")
    assert second.startswith("Other: none, ")
    assert "beyond its capacity; the bleach-fix will be the first used up." in second
    assert planned_through(plan) == {
        "1-developer": pytest.approx(roll_equivalents(roll.format for roll in plan.setup.rolls)),
        "2-bleach-fix": pytest.approx(roll_equivalents(roll.format for roll in plan.setup.rolls)),
    }


def test_without_a_kit_or_a_capacity_nothing_is_said_of_what_is_left() -> None:
    assert left_after(plan_on(kit_shelf()), kit_shelf()) == ()
    boundless = replace(TWO_BATH, solutions=tuple(replace(s, capacity_per_l=None) for s in TWO_BATH.solutions))
    shelf = after(ShelfState(), replace(kit(), profile=boundless))
    assert left_after(plan_on(shelf, developer="1-developer"), shelf) == ()


def test_a_bottle_past_twice_its_life_is_first_of_all_to_be_mixed_fresh() -> None:
    shelf = after(kit_shelf(), c.TryLeader("2031-01-20", "1-developer", went_dark=False))
    setup = with_shelf(setup_on(developer="1-developer"), shelf)
    tiny = replace(setup, bottles=(replace(setup.bottles[0], volume_ml=100.0), *setup.bottles[1:]))
    worries = make_plan(TWO_BATH, tiny, today=date(2032, 2, 1)).warnings
    mine = [in_words(worry) for worry in worries if "Developer, Spring kit" in in_words(worry)]
    assert len(mine) >= 3
    assert mine[0].startswith("Mix fresh: ")


def test_a_stabiliser_of_unknown_age_is_to_be_looked_at() -> None:
    bottles = tuple(replace(bottle, mixed_on=None, best_before=None) for bottle in THREE.bottles)
    worries = make_plan(TWO_BATH, replace(THREE, bottles=bottles), today=TONIGHT).warnings
    said = [in_words(worry) for worry in worries if worry.code == "age-unknown"]
    unknown = {each.partition(":")[0]: each for each in said}
    by_bottle = [unknown[bottle.label] for bottle in bottles]
    assert [("goes dark" in t, "clears in it" in t, "Look at it" in t) for t in by_bottle] == [
        (True, False, False),
        (False, True, False),
        (False, False, True),
    ]


def test_a_suspect_bottle_gives_an_alert_in_the_plan_and_needs_a_reason() -> None:
    marked = after(
        kit_shelf(), c.Suspect("2031-01-20", "1-developer", "a/0", as_written("Bleach-fix got into it."))
    )
    setup = with_shelf(setup_on(developer="1-developer"), marked)
    (said,) = (w for w in make_plan(TWO_BATH, setup, today=TONIGHT).warnings if w.code == "suspect")
    assert in_words(said) == "Developer, Spring kit is suspect. 2031-01-20: Bleach-fix got into it."
    assert "suspect" in WANTS_REASON


def test_a_passed_test_is_said_in_the_plan_instead_of_a_reason_asked_for() -> None:
    late = date.fromisoformat(MIXED) + timedelta(days=int(TWO_BATH.solution("developer").life_full_days or 0) + 5)
    two_days_before = (late - timedelta(days=2)).isoformat()
    old = with_shelf(setup_on(developer="1-developer"), kit_shelf())
    assert "expired" in {worry.code for worry in make_plan(TWO_BATH, old, today=late).warnings}
    tested = after(kit_shelf(), c.TryLeader(two_days_before, "1-developer", went_dark=True))
    plan = make_plan(TWO_BATH, with_shelf(setup_on(developer="1-developer"), tested), today=late)
    (said,) = (in_words(worry) for worry in plan.warnings if worry.code == "tested")
    assert "passed its test 2 days ago" in said
    assert "expired" not in {worry.code for worry in plan.warnings}


def test_an_evening_costs_its_share_of_each_bottle_and_a_set_is_paid_once() -> None:
    """By hand: three rolls of 135-36 area out of eight a litre, of a set of 36; of bottles bought one by one."""
    rolls = roll_equivalents(roll.format for roll in THREE.rolls)
    ids = {"developer": "1-developer", "bleach_fix": "1-bleach-fix", "stabiliser": "1-stabiliser"}
    of_a_set = plan_on(kit_shelf(), **ids).cost
    assert of_a_set is not None
    assert of_a_set.evening == pytest.approx(36.0 * rolls / 8.0)
    assert of_a_set.per_roll == pytest.approx(of_a_set.evening / len(THREE.rolls))
    assert of_a_set.without == ()
    singly = make_plan(TWO_BATH, THREE, today=TONIGHT).cost
    assert singly is not None
    assert singly.evening == pytest.approx((16.0 + 14.0 + 6.0) * rolls / 8.0)
    unpriced = replace(THREE, bottles=(replace(THREE.bottles[0], price=None), *THREE.bottles[1:]))
    some = make_plan(TWO_BATH, unpriced, today=TONIGHT).cost
    assert some is not None
    assert some.without == ("Developer",)
    assert some.evening == pytest.approx((14.0 + 6.0) * rolls / 8.0)
    nothing = replace(THREE, bottles=tuple(replace(bottle, price=None) for bottle in THREE.bottles))
    assert make_plan(TWO_BATH, nothing, today=TONIGHT).cost is None


def test_a_solution_used_once_costs_what_is_poured_of_it_and_never_more_than_the_bottle() -> None:
    setup = shipped_setup("reversal-two-rolls")
    bottles = tuple(replace(bottle, price=10.0) for bottle in setup.bottles)
    profile = shipped_profile("one-shot-reversal")
    plan = make_plan(profile, replace(setup, bottles=bottles), today=TONIGHT)
    assert plan.cost is not None
    poured = {s.solution: s.volume_ml or 0.0 for s in plan.steps if s.storage == "one-shot" and s.volume_ml}
    by_hand = sum(10.0 * min(1.0, poured[b.solution] / b.volume_ml) for b in bottles if b.solution in poured)
    assert by_hand > 0.0
    assert plan.cost.evening == pytest.approx(by_hand)
    spent = replace(setup, bottles=tuple(replace(b, price=10.0, volume_ml=561.0) for b in setup.bottles))
    most = make_plan(profile, spent, today=TONIGHT).cost
    assert most is not None
    assert most.evening <= 10.0 * len(bottles) + 1e-9


@pytest.mark.parametrize(("every_days", "rolls"), [(3, 0.5), (7, 1.0), (10, 1.5), (21, 0.9)])
def test_the_predicted_day_on_which_a_kit_is_used_up_is_right_within_one_evening(
    every_days: int, rolls: float
) -> None:
    """Film at a steady pace, day by day: told after two evenings, it is off by one evening's distance at most."""
    shelf, mixed, told = kit_shelf(), date.fromisoformat(MIXED), []
    for evening in range(1, 60):
        today = mixed + timedelta(days=every_days * evening)
        shelf = after(shelf, c.UseBottle(today.isoformat(), "1-developer", f"s{evening}", rolls))
        judged = bottle_report(shelf, shelf.bottles["1-developer"], today)
        if judged.used_up_on is not None:
            told.append(date.fromisoformat(judged.used_up_on))
        if judged.left_rolls is not None and judged.left_rolls <= 0.0:
            break
    assert len(told) > 1
    assert max(abs((day - today).days) for day in told[:-1]) <= every_days
    assert told[-1] == today


def test_when_to_order_again_is_shown_with_the_kit_and_after_the_plan() -> None:
    shelf = after(kit_shelf(), c.UseBottle("2031-01-20", "1-developer", "a", 4.5))
    reports = [bottle_report(shelf, bottle, TONIGHT) for bottle in shelf.bottles.values()]
    used_up = TONIGHT + timedelta(days=(TONIGHT - date.fromisoformat(MIXED)).days * 7 // 9)
    by = used_up - timedelta(days=14)
    words = f"Developer used up about {used_up} at this pace: order again by {by}."
    assert order_text(order_again(reports, TONIGHT)) == words
    (left,) = left_after(plan_on(shelf, developer="1-developer"), shelf, TONIGHT)
    assert kit_left_text(left).endswith(words)
    late = bottle_report(shelf, shelf.bottles["1-developer"], used_up)
    assert order_text(order_again([late], used_up)).endswith("order again now.")
    assert order_text(order_again((), TONIGHT)) == ""
    assert any(f"Order again by {by}; used up about {used_up}" in line for line in figures(reports[0], "ml"))
    bottle = shelf.bottles["1-developer"]
    once = replace(bottle, figures=replace(bottle.figures, storage="one-shot"))
    assert bottle_report(shelf, once, TONIGHT).order_by is None, "it is mixed for one evening"
    for days, told in ((14.0, False), (15.0, True)):
        brief = replace(bottle, figures=replace(bottle.figures, life_full_days=days, life_part_days=days))
        assert (bottle_report(shelf, brief, TONIGHT).order_by is not None) is told, (
            "it keeps as long as an order takes"
        )
    unused = [bottle_report(kit_shelf(), bottle, TONIGHT) for bottle in kit_shelf().bottles.values()]
    assert "good to " in order_text(order_again(unused, TONIGHT))


@pytest.mark.parametrize(
    ("act", "why"),
    [
        (c.UseBottle("2031-01-20", "1-developer", "a", 20.0), "Developer is used up"),
        (c.UseBottle("2031-01-12", "1-developer", "a", 8.0), "Developer is used up"),
        (c.TimeClearing("2031-01-20", "1-bleach-fix", 130.0, 60.0), "Bleach-fix is spent"),
    ],
    ids=["beyond its stretch", "all it can, within its first week", "spent by a test"],
)
def test_a_bottle_that_has_ended_is_ordered_again_at_once(act: c.UseBottle | c.TimeClearing, why: str) -> None:
    shelf, today = after(kit_shelf(), act), date(2031, 1, 12 if act.on == "2031-01-12" else 20)
    reports = [bottle_report(shelf, bottle, today) for bottle in shelf.bottles.values()]
    assert order_text(order_again(reports, today)) == f"{why}: order again now."
