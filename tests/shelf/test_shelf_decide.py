"""What may be done to a bottle, and what is refused in a sentence."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shelf.shelving import MIXED, TWO_BATH, after, kit, kit_shelf
from tests.shipped import shipped_profile

from wetside.domain.shelf import commands as c
from wetside.domain.shelf import events as e
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.report import bottle_report
from wetside.domain.shelf.state import ShelfState, evolve, replay
from wetside.errors import Refused
from wetside.present.message_words import in_words, worded

DAY = "2031-02-01"
USED_ONCE = replace(
    TWO_BATH,
    solutions=tuple(replace(s, storage="one-shot") if s.storage == "bottle" else s for s in TWO_BATH.solutions),
)


def test_a_kit_fills_several_bottles_with_their_own_figures() -> None:
    (mixed,) = decide(ShelfState(), kit())
    assert isinstance(mixed, e.KitMixed)
    assert [bottle.id for bottle in mixed.bottles] == ["1-developer", "1-bleach-fix", "1-stabiliser"]
    developer, fix, last = (bottle.figures for bottle in mixed.bottles)
    of = TWO_BATH.solution("developer")
    assert (developer.capacity_per_l, developer.stretch_per_l) == (of.capacity_per_l, of.stretch_per_l)
    assert (developer.life_full_days, developer.life_part_days) == (of.life_full_days, of.life_part_days)
    assert (developer.test, fix.test, last.test) == ("leader", "bleach-fix", "none")
    assert mixed.bottles[0].label == "Developer, Spring kit"


def test_kits_are_numbered_and_two_bottles_of_one_solution_differ() -> None:
    both = replace(kit(), bottles=(c.NewBottle("developer", 500.0), c.NewBottle("developer", 500.0)))
    shelf = after(kit_shelf(), both)
    assert [*shelf.bottles][3:] == ["2-developer", "2-developer-2"]
    assert shelf.kits[1].bottles == ("2-developer", "2-developer-2")


def test_a_kit_in_use_is_recorded_with_its_rolls() -> None:
    one_shot = replace(TWO_BATH.solution("stabiliser"), storage="one-shot")
    solutions = tuple(one_shot if s.id == "stabiliser" else s for s in TWO_BATH.solutions)
    used = replace(kit(), used_rolls=3.0, profile=replace(TWO_BATH, solutions=solutions))
    bottles = after(ShelfState(), used, c.UseBottle(DAY, "1-developer", "s1", 1.1)).bottles
    assert bottles["1-developer"].rolls == pytest.approx(4.1)
    assert (bottles["1-bleach-fix"].rolls, bottles["1-bleach-fix"].fresh) == (3.0, False)
    assert (bottles["1-stabiliser"].rolls, bottles["1-stabiliser"].fresh) == (0.0, True)
    assert [use.session for use in bottles["1-developer"].uses] == ["s1"]


def test_a_bottle_is_labelled_with_its_kit_and_two_kits_of_one_name_differ() -> None:
    shelf = after(kit_shelf(), kit(), kit())
    assert [each.name for each in shelf.kits] == ["Spring kit", "Spring kit (2)", "Spring kit (3)"]
    assert shelf.bottles["3-bleach-fix"].label == "Bleach-fix, Spring kit (3)"
    long = after(ShelfState(), replace(kit(), name="x" * 40), replace(kit(), name="x" * 40))
    assert len({each.name for each in long.kits}) == 2
    assert all(len(bottle.label) <= 40 for bottle in long.bottles.values())


def test_a_kit_in_use_cannot_be_taken_back() -> None:
    shelf = after(kit_shelf(), kit(), c.UseBottle(DAY, "1-bleach-fix", "s1", 1.0))
    with pytest.raises(Refused, match="Bleach-fix, Spring kit was used in session s1"), worded():
        decide(shelf, c.TakeBackKit(DAY, "1-developer", "a slip"))
    gone = after(shelf, c.TakeBackKit(DAY, "2-developer", "a slip"))
    assert gone.bottles == {id_: each for id_, each in shelf.bottles.items() if each.kit == 1}
    # Its number stays its own, its name is free again.
    assert [(each.number, each.name) for each in after(gone, kit()).kits] == [
        (1, "Spring kit"),
        (3, "Spring kit (2)"),
    ]


def test_a_solution_used_once_is_past_its_date_the_day_after_mixing() -> None:
    timeless = tuple(replace(each, life_full_days=None) for each in USED_ONCE.solutions)
    shelf = after(ShelfState(), replace(kit(), profile=replace(USED_ONCE, solutions=timeless)))
    bottle = shelf.bottles["1-developer"]
    told = [bottle_report(shelf, bottle, date(2031, 1, day)) for day in (10, 11)]
    assert [each.status for each in told] == ["good", "past its date"]
    assert [each.best_before for each in told] == [MIXED, MIXED]


def test_a_bottle_holds_at_most_25_l() -> None:
    shelf = after(ShelfState(), kit(ml=24_000.0), c.TopUp(DAY, "1-developer", 1000.0))
    assert shelf.bottles["1-developer"].volume_ml == 25_000.0


def test_use_adds_up_and_a_one_shot_bath_is_used_up() -> None:
    shelf = after(
        kit_shelf(),
        c.UseBottle(DAY, "1-developer", "s1", 2.2),
        c.UseBottle(DAY, "1-developer", "s2", 1.1),
        c.UseBottle(DAY, "1-stabiliser", "s1", 2.2, lost_ml=400.0),
    )
    developer, last = shelf.bottles["1-developer"], shelf.bottles["1-stabiliser"]
    assert developer.rolls == pytest.approx(3.3)
    assert (developer.volume_ml, developer.full) == (1000.0, True)
    assert (last.volume_ml, last.part_since) == (600.0, DAY)


def test_squeezing_ends_a_time_with_air_in_the_bottle() -> None:
    part = after(kit_shelf(), c.NoteLevel(DAY, "1-developer", 700.0, full=False))
    assert part.bottles["1-developer"].part_since == DAY
    again = after(part, c.NoteLevel("2031-02-03", "1-developer", 650.0, full=False))
    assert again.bottles["1-developer"].part_since == DAY
    squeezed = after(again, c.Squeeze("2031-02-05", "1-developer")).bottles["1-developer"]
    assert squeezed.full
    assert squeezed.aired == ((DAY, "2031-02-05"),)


def test_topping_up_adds_to_what_is_in_it() -> None:
    shelf = after(kit_shelf(), c.NoteLevel(DAY, "1-developer", 700.0, full=False))
    topped = after(shelf, c.TopUp(DAY, "1-developer", 250.0)).bottles["1-developer"]
    assert (topped.volume_ml, topped.full) == (950.0, True)
    assert topped.mixed_on == MIXED


def worn(*commands: c.Command, on: str = "1-developer") -> tuple[float, float]:
    """The rolls done by the content of the bottle, and by each litre of it."""
    bottle = after(kit_shelf(), *commands).bottles[on]
    return bottle.worn_rolls, bottle.worn_per_l


def test_spilt_solution_takes_its_share_of_the_use_with_it() -> None:
    three, half = c.UseBottle(DAY, "1-developer", "s1", 3.0), c.NoteLevel(DAY, "1-developer", 500.0, full=False)
    assert worn(three) == pytest.approx((3.0, 3.0))
    assert worn(three, half) == pytest.approx((1.5, 3.0))
    assert worn(half, three) == pytest.approx((3.0, 6.0))
    assert after(kit_shelf(), three, half).bottles["1-developer"].rolls == 3.0, "it has seen them all the same"


def test_topping_up_dilutes_the_use() -> None:
    three, half = c.UseBottle(DAY, "1-developer", "s1", 3.0), c.NoteLevel(DAY, "1-developer", 500.0, full=False)
    assert worn(three, half, c.TopUp(DAY, "1-developer", 500.0)) == pytest.approx((1.5, 1.5))
    empty = c.NoteLevel(DAY, "1-developer", 0.0, full=False)
    assert worn(three, empty, c.TopUp(DAY, "1-developer", 1000.0)) == (0.0, 0.0)


@pytest.mark.parametrize("slip_ml", [0.0, 100.0, 1040.0])
def test_corrected_level_keeps_the_use(slip_ml: float) -> None:
    three, back = c.UseBottle(DAY, "1-developer", "s1", 3.0), c.NoteLevel(DAY, "1-developer", 1000.0, full=True)
    assert worn(three, c.NoteLevel(DAY, "1-developer", slip_ml, full=False), back) == pytest.approx((3.0, 3.0))


def test_a_level_may_rise_to_all_that_was_ever_put_in() -> None:
    half, added = c.NoteLevel(DAY, "1-developer", 500.0, full=False), c.TopUp(DAY, "1-developer", 500.0)
    both = after(kit_shelf(), half, added, c.NoteLevel(DAY, "1-developer", 1500.0, full=True))
    assert both.bottles["1-developer"].volume_ml == 1500.0
    with pytest.raises(Refused, match="1500 ml in all were put in"), worded():
        decide(both, c.NoteLevel(DAY, "1-developer", 1600.0, full=True))


def test_an_empty_bottle_is_not_full() -> None:
    empty = after(kit_shelf(), c.NoteLevel(DAY, "1-developer", 0.0, full=True)).bottles["1-developer"]
    assert (empty.volume_ml, empty.full) == (0.0, False)


def test_a_bath_used_once_leaves_fresh_solution_behind() -> None:
    state = after(ShelfState(), replace(kit(), profile=USED_ONCE))
    used = after(state, c.UseBottle(DAY, "1-stabiliser", "s1", 3.0, lost_ml=400.0)).bottles["1-stabiliser"]
    assert (used.volume_ml, used.worn_rolls, used.rolls) == (600.0, 0.0, 3.0)


def test_the_fresh_clearing_time_is_remembered() -> None:
    shelf = after(
        kit_shelf(), c.TimeClearing(DAY, "1-bleach-fix", 60.0), c.TimeClearing("2031-03-01", "1-bleach-fix", 100.0)
    )
    assert [(t.seconds, t.fresh_seconds) for t in shelf.bottles["1-bleach-fix"].clearings] == [(60, 60), (100, 60)]


def test_a_session_is_recorded_even_for_a_bottle_discarded_meanwhile() -> None:
    gone = after(kit_shelf(), c.Discard(DAY, "1-developer", "spilt", cautioned=True))
    used = after(gone, c.UseBottle(DAY, "1-developer", "s1", 1.0)).bottles["1-developer"]
    assert used.rolls == 1.0
    assert used.discarded is not None


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (replace(kit(), on="2032-01-01"), "lies in the future"),
        (replace(kit(), on="2031-2-1"), "is no day"),
        (replace(kit(), on="20310201"), "is no day"),
        (replace(kit(), bottles=()), "at least one bottle"),
        (replace(kit(), bottles=(c.NewBottle("water", 1000.0),)), 'keeps no "water"'),
        (
            replace(kit(), bottles=(c.NewBottle("develper", 1000.0),)),
            "it has developer, bleach-fix, stabiliser; the nearest is developer",
        ),
        (replace(kit(), bottles=(c.NewBottle("STABILIZER", 1000.0),)), "the nearest is stabiliser"),
        (replace(kit(), bottles=(c.NewBottle("wine", 1000.0),)), "it has developer, bleach-fix, stabiliser."),
        (kit(ml=25_001.0), "at most 25 l"),
        (kit(ml=1.0), "No kit fills a bottle with 1 ml: give the volume with its unit"),
        (c.NoteLevel(DAY, "1-developer", 25_001.0, True), "at most 25 l"),
        (c.NoteLevel(DAY, "1-developer", 2000.0, True), "1000 ml in all were put in"),
        (c.TopUp(DAY, "1-developer", 24_001.0), "at most 25 l"),
        (replace(kit(), used_rolls=-1.0), "from 0 to 1000"),
        (replace(kit(), used_rolls=float("nan")), "from 0 to 1000"),
        (replace(kit(), used_rolls=1001.0), "from 0 to 1000"),
        (replace(kit(), used_rolls=2.0, profile=USED_ONCE), "Nothing of this kit is poured back"),
        (replace(kit(), bottles=(c.NewBottle("developer", 0.0),)), "more than 0 ml"),
        (replace(kit(), bottles=(c.NewBottle("developer", float("nan")),)), "more than 0 ml"),
        (replace(kit(), name=" "), "needs a name"),
        (replace(kit(), name="x" * 41), "41 characters"),
        (replace(kit(), name="a\x1b[2J"), "control characters"),
        (replace(kit(), price=-1.0), "price of the set"),
        (c.UseBottle(DAY, "2-developer", "s", 1.0), "the nearest is 1-developer"),
        (c.TryLeader(DAY, "1-bleach-fix", True), "does not go dark in bleach-fix: see whether a leader blackened"),
        (c.TryBleach(DAY, "1-developer", True), "A blackened leader does not clear in developer: see whether"),
        (c.TryBleach(DAY, "1-stabiliser", True), "does not clear in stabiliser: look at it"),
        (c.TimeClearing(DAY, "1-developer", 60.0), "does not clear in developer: see whether"),
        (c.TimeClearing(DAY, "1-bleach-fix", 0.0), "more than 0 seconds"),
        (c.TryLeader("2031-01-09", "1-developer", True), "is before that"),
        (c.TopUp(DAY, "1-developer", -5.0), "more than 0 ml"),
        (c.NoteBottle(DAY, "1-developer", "  "), "note is empty"),
        (c.Discard(DAY, "1-developer", "spent"), "Read first where it goes: Take spent developer"),
        (c.Discard(DAY, "1-developer", "", cautioned=True), "Say why"),
    ],
)
def test_each_refusal_has_its_sentence(command: c.Command, says: str) -> None:
    with pytest.raises(Refused) as refusal, worded():
        decide(kit_shelf(), command)
    assert says in str(refusal.value)
    assert str(refusal.value).endswith(".")
    assert "\n" not in str(refusal.value)


def test_nothing_is_done_to_a_discarded_bottle() -> None:
    gone = after(kit_shelf(), c.Discard(DAY, "1-developer", "spent", cautioned=True))
    for command in (
        c.TryLeader(DAY, "1-developer", True),
        c.TopUp(DAY, "1-developer", 100.0),
        c.Squeeze(DAY, "1-developer"),
        c.NoteLevel(DAY, "1-developer", 100.0, True),
        c.Discard(DAY, "1-developer", "again", cautioned=True),
    ):
        with pytest.raises(Refused, match=r"was discarded on 2031-02-01"), worded():
            decide(gone, command)


def test_a_session_is_debited_once_from_a_bottle() -> None:
    shelf = after(kit_shelf(), c.UseBottle(DAY, "1-developer", "s1", 1.0))
    with pytest.raises(Refused, match="already"), worded():
        decide(shelf, c.UseBottle(DAY, "1-developer", "s1", 1.0))


def test_a_used_bottle_without_a_fresh_time_asks_for_it() -> None:
    shelf = after(kit_shelf(), c.UseBottle(DAY, "1-bleach-fix", "s1", 1.0))
    with pytest.raises(Refused, match="give the seconds fresh solution takes"), worded():
        decide(shelf, c.TimeClearing(DAY, "1-bleach-fix", 80.0))


def test_a_bottle_recorded_as_used_has_no_fresh_clearing_time_either() -> None:
    shelf = after(ShelfState(), replace(kit(), used_rolls=1.0))
    with pytest.raises(Refused, match="give the seconds fresh solution takes"), worded():
        decide(shelf, c.TimeClearing(DAY, "1-bleach-fix", 80.0))


def test_only_a_soft_bottle_is_squeezed() -> None:
    glass = replace(kit(), bottles=(c.NewBottle("developer", 1000.0, material="glass"),))
    with pytest.raises(Refused, match="no soft bottle"), worded():
        decide(after(ShelfState(), glass), c.Squeeze(DAY, "1-developer"))


_IDS = st.sampled_from(["1-developer", "1-bleach-fix", "1-stabiliser", "9-nothing"])
_EVENTS: st.SearchStrategy[e.Event] = st.one_of(
    st.builds(e.BottleUsed, st.just(DAY), _IDS, st.text(), st.floats(0, 9), st.floats(0, 2000), st.floats(0, 9)),
    st.builds(e.LeaderTested, st.just(DAY), _IDS, st.booleans()),
    st.builds(e.ClearingTested, st.just(DAY), _IDS, st.floats(1, 900), st.floats(1, 900)),
    st.builds(e.ToppedUp, st.just(DAY), _IDS, st.floats(1, 500), st.booleans()),
    st.builds(e.LevelNoted, st.just(DAY), _IDS, st.floats(0, 1000), st.booleans()),
    st.builds(e.BottleSqueezed, st.just(DAY), _IDS),
    st.builds(e.BottleNoted, st.just(DAY), _IDS, st.text()),
    st.builds(e.BottleDiscarded, st.just(DAY), _IDS, st.text()),
)


@given(st.lists(_EVENTS, max_size=12))
@example([e.LevelNoted(DAY, "1-developer", 5e-324, False), e.BottleUsed(DAY, "1-developer", "", 0.0, 0.0, 0.0)])
def test_evolve_is_total_and_loses_no_roll(events: list[e.Event]) -> None:
    start = decide(ShelfState(), kit())
    state = replay((*start, *events))
    for id_, bottle in state.bottles.items():
        through = [event.rolls for event in events if isinstance(event, e.BottleUsed) and event.bottle == id_]
        assert bottle.rolls == pytest.approx(sum(through))
        assert bottle.volume_ml >= 0
    assert evolve(state, e.BottleSqueezed(DAY, "9-nothing")) == state


def test_bleach_and_fixer_have_tests_of_their_own() -> None:
    """A clearing test of an undeveloped leader tests fixing alone; the bleach is tried with a blackened one."""
    profile = shipped_profile("three-bath")
    bottles = tuple(c.NewBottle(id_, 1000.0) for id_ in ("developer", "bleach", "fixer", "final-rinse"))
    shelf = after(ShelfState(), replace(kit(), profile=profile, bottles=bottles))
    assert [bottle.figures.test for bottle in shelf.bottles.values()] == ["leader", "bleach", "clearing", "none"]
    with (
        pytest.raises(Refused, match=r"does not clear in bleach: see whether a leader blackened in the developer"),
        worded(),
    ):
        after(shelf, c.TimeClearing(DAY, "1-bleach", 60.0))
    with (
        pytest.raises(Refused, match="A blackened leader does not clear in fixer: time how"),
        worded(),
    ):
        after(shelf, c.TryBleach(DAY, "1-fixer", True))
    slow = after(shelf, c.TimeClearing(DAY, "1-fixer", 121.0, 60.0))
    (warning,) = bottle_report(slow, slow.bottles["1-fixer"], date.fromisoformat(DAY)).alerts
    assert in_words(warning).endswith("the fixer is spent; mix fresh.")
