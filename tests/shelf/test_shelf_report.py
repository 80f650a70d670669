"""The report of a bottle on a day: its age, what is left in it, what a roll costs, and its alerts."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shelf.shelving import MIXED, TWO_BATH, after, kit, kit_shelf

from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.messages import as_written
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import BottleReport, best_before, bottle_report, report
from wetside.domain.shelf.state import ShelfState
from wetside.errors import Refused
from wetside.present.message_words import in_words, worded
from wetside.present.shelf_text import ROLLS_ARE, result_lines, status_text

FIRST = date.fromisoformat(MIXED)
DEVELOPER = TWO_BATH.solution("developer")
FULL, PART = int(DEVELOPER.life_full_days or 0), int(DEVELOPER.life_part_days or 0)


def day(number: int) -> str:
    return (FIRST + timedelta(days=number)).isoformat()


def developer(state: ShelfState, on: int) -> BottleReport:
    return bottle_report(state, state.bottles["1-developer"], FIRST + timedelta(days=on))


def test_fresh_kit_is_reported_good() -> None:
    fresh = developer(kit_shelf(), 3)
    assert (fresh.status, fresh.age_days, fresh.bottle.rolls) == ("good", 3, 0.0)
    assert fresh.best_before == day(FULL)
    assert fresh.left_days == FULL - 3
    assert (fresh.capacity_rolls, fresh.left_rolls, fresh.stretch_left_rolls) == (8.0, 8.0, 12.0)
    assert (fresh.cost_so_far, fresh.cost_at_capacity) == (None, 36.0 / 8.0)
    assert status_text(fresh) == f"good, 8.0 rolls left, {FULL - 3} days"
    assert fresh.alerts == ()


def test_the_last_good_day_still_counts() -> None:
    assert developer(kit_shelf(), FULL).status == "good"
    past = developer(kit_shelf(), FULL + 1)
    assert past.status == "past its date"
    assert past.alerts[0].code == "expired"
    assert "1 day past its date" in in_words(past.alerts[0])


def test_a_bottle_mixed_on_a_later_day_gets_an_alert_and_no_days_left() -> None:
    odd = developer(kit_shelf(), -3)
    assert status_text(odd) == "good, 8.0 rolls left"
    assert "its mixing date lies in the future" in in_words(odd.alerts[0])


def test_report_goes_from_capacity_to_stretch_to_used_up() -> None:
    used = after(kit_shelf(), c.UseBottle(day(1), "1-developer", "a", 8.0))
    assert developer(used, 2).status == "good"
    stretched = after(used, c.UseBottle(day(2), "1-developer", "b", 1.0))
    assert developer(stretched, 3).status == "stretched"
    assert status_text(developer(stretched, 3)).startswith("stretched, 1.0 rolls over")
    over = after(stretched, c.UseBottle(day(3), "1-developer", "c", 3.5))
    assert developer(over, 4).status == "used up"
    assert "0.5 rolls more than even its stretch" in in_words(developer(over, 4).alerts[0])


def test_rolls_from_before_a_kit_was_recorded_count_like_any_others() -> None:
    debited = after(
        kit_shelf(),
        *(c.UseBottle(day(1), f"1-{id_}", "a", 8.5) for id_ in ("developer", "bleach-fix", "stabiliser")),
    )
    told = after(ShelfState(), replace(kit(), used_rolls=8.5))
    for id_ in told.bottles:
        by_session, by_word = (
            bottle_report(s, s.bottles[id_], FIRST + timedelta(days=2)) for s in (debited, told)
        )
        assert by_session.bottle.rolls == by_word.bottle.rolls == 8.5
        assert replace(by_session, bottle=by_word.bottle) == by_word
    assert developer(told, 2).status == "stretched"


def test_past_twice_its_life_the_advice_to_mix_fresh_comes_before_any_test() -> None:
    pale = after(kit_shelf(), c.TryLeader(day(1), "1-developer", went_dark=False))
    assert [warning.code for warning in developer(pale, FULL + 1).alerts] == ["developer-dead", "expired"]
    old = developer(pale, 2 * FULL + 1)
    assert [warning.code for warning in old.alerts] == ["expired", "developer-dead"]
    assert in_words(old.alerts[0]).startswith("Mix fresh: Developer, Spring kit is")
    assert status_text(old).startswith("spent: mix fresh")


@pytest.mark.parametrize(
    ("id_", "says"), [("1-developer", "goes dark"), ("1-bleach-fix", "clears"), ("1-stabiliser", "look at it")]
)
def test_an_old_bottle_is_to_be_tested_by_the_test_of_its_solution(id_: str, says: str) -> None:
    shelf = kit_shelf()
    (warning,) = bottle_report(shelf, shelf.bottles[id_], FIRST + timedelta(days=400)).alerts
    assert says in in_words(warning)


def test_the_explanation_of_rolls_agrees_with_the_film_areas() -> None:
    said = dict(re.findall(r"a (\S+) is (\d\.\d)", ROLLS_ARE))
    assert said == {name: f"{roll_equivalents([name]):.1f}" for name in ("120", "135-24")}
    assert roll_equivalents(["135-36"]) == 1.0


def test_the_cost_of_a_set_follows_its_most_used_bottle() -> None:
    used = after(
        kit_shelf(), c.UseBottle(day(1), "1-developer", "a", 3.0), c.UseBottle(day(1), "1-bleach-fix", "a", 2.0)
    )
    assert {judged.cost_so_far for judged in report(used, FIRST)} == {36.0 / 3.0}


def test_a_kit_without_a_price_has_no_cost() -> None:
    unpriced = developer(after(ShelfState(), kit(price=None)), 1)
    assert (unpriced.kit.price, unpriced.cost_so_far, unpriced.cost_at_capacity) == (None, None, None)


def test_failed_test_is_the_most_serious_state() -> None:
    pale = after(kit_shelf(), c.TryLeader(day(2), "1-developer", went_dark=False))
    assert developer(pale, FULL + 9).status == "spent"
    dark = after(pale, c.TryLeader(day(3), "1-developer", went_dark=True))
    assert developer(dark, 4).status == "good"
    assert result_lines(dark.bottles["1-developer"]) == (
        f"{day(2)}: leader stayed pale",
        f"{day(3)}: leader went dark",
    )


def test_a_passed_test_changes_the_alert_about_an_old_bottle() -> None:
    """A clearing test alone passes no bleach-fix: it tests fixing, the blackened leader tests bleaching."""

    def old(shelf: ShelfState) -> BottleReport:
        return bottle_report(shelf, shelf.bottles["1-bleach-fix"], FIRST + timedelta(days=life + 2))

    life = int(TWO_BATH.solution("bleach-fix").life_full_days or 0)
    fixes = after(kit_shelf(), c.TimeClearing(day(life + 1), "1-bleach-fix", 60.0, 60.0))
    assert [warning.code for warning in old(fixes).alerts] == ["expired"]
    both = after(fixes, c.TryBleach(day(life + 1), "1-bleach-fix", cleared=True))
    assert [warning.code for warning in old(both).alerts] == ["tested"]
    assert result_lines(both.bottles["1-bleach-fix"])[0] == f"{day(life + 1)}: blackened leader cleared"
    bleaches_no_more = after(both, c.TryBleach(day(life + 2), "1-bleach-fix", cleared=False))
    assert [warning.code for warning in old(bleaches_no_more).alerts] == ["bleach-spent", "expired"]
    assert old(bleaches_no_more).status == "spent"


def test_a_mishap_makes_a_bottle_suspect_until_the_suspicion_is_lifted() -> None:
    marked = after(kit_shelf(), c.Suspect(day(1), "1-developer", "a/0", as_written("Bleach-fix got into it.")))
    judged = developer(marked, 2)
    assert (judged.status, judged.alerts[0].code) == ("suspect", "suspect")
    assert "Bleach-fix got into it" in in_words(judged.alerts[0])
    with pytest.raises(Refused, match="marked for this already"), worded():
        after(marked, c.Suspect(day(1), "1-developer", "a/0", as_written("Again.")))
    trusted = after(marked, c.Trust(day(2), "1-developer", "a strip came out like the last"))
    assert developer(trusted, 3).status == "good"
    assert result_lines(trusted.bottles["1-developer"]) == (
        f"{day(2)}: good after all: a strip came out like the last",
    )
    with pytest.raises(Refused, match="is not suspect"), worded():
        after(trusted, c.Trust(day(2), "1-developer", "once more"))
    again = after(trusted, c.Suspect(day(4), "1-developer", "b/0", as_written("A thermometer broke in it.")))
    assert developer(again, 5).status == "suspect", "the next mishap counts again"


@pytest.mark.parametrize(("seconds", "status"), [(120.0, "good"), (121.0, "spent")])
def test_a_fixer_over_twice_its_fresh_clearing_time_is_spent(seconds: float, status: str) -> None:
    shelf = after(kit_shelf(), c.TimeClearing(day(1), "1-bleach-fix", seconds, 60.0))
    assert bottle_report(shelf, shelf.bottles["1-bleach-fix"], FIRST).status == status


def test_empty_and_discarded_bottles_are_reported() -> None:
    empty = after(kit_shelf(), c.NoteLevel(day(1), "1-developer", 0.0, full=False))
    assert developer(empty, 2).status == "empty"
    gone = after(kit_shelf(), c.Discard(day(1), "1-developer", "spilt", cautioned=True))
    assert status_text(developer(gone, 400)) == f"discarded on {day(1)}: spilt"
    assert developer(gone, 400).alerts == ()
    assert [judged.bottle.id for judged in report(gone, FIRST)][-1] == "1-developer"


def test_a_bottle_part_full_from_the_start_has_the_shorter_life() -> None:
    part = after(ShelfState(), kit(full=False))
    assert developer(part, 0).best_before == day(PART)


def test_a_bottle_without_a_known_life_has_no_last_day() -> None:
    lifeless = replace(TWO_BATH, solutions=(replace(DEVELOPER, life_full_days=None, capacity_per_l=None),))
    shelf = after(ShelfState(), replace(kit(), profile=lifeless, bottles=(c.NewBottle("developer", 1000.0),)))
    judged = developer(shelf, 4000)
    assert (judged.status, judged.best_before, judged.left_rolls) == ("good", None, None)


@given(st.lists(st.integers(0, 260), min_size=2, max_size=6, unique=True).map(sorted))
def test_air_in_the_bottle_shortens_its_life_and_squeezing_it_out_does_not(days: list[int]) -> None:
    """Part-full and squeezed by turns: never later than a full bottle, never earlier than one never squeezed."""
    state = kit_shelf()
    never_squeezed = min(FULL, days[0] + PART)
    for number, on in enumerate(days):
        before = best_before(state.bottles["1-developer"])
        if number % 2 == 0:
            state = after(state, c.NoteLevel(day(on), "1-developer", 700.0, full=False))
        else:
            state = after(state, c.Squeeze(day(on), "1-developer"))
            now = best_before(state.bottles["1-developer"])
            assert now is not None
            assert before is not None
            assert now >= before
    end = best_before(state.bottles["1-developer"])
    assert end is not None
    assert never_squeezed <= (end - FIRST).days <= FULL


def test_a_week_part_full_shortens_the_life_in_proportion() -> None:
    """A quarter of the part-full life takes a quarter of the way to the part-full end."""
    state = after(
        kit_shelf(), c.NoteLevel(day(10), "1-developer", 700.0, full=False), c.Squeeze(day(17), "1-developer")
    )
    whole = DEVELOPER.life_full_days or 0.0
    end = whole - 7 / PART * (whole - (10 + PART))
    assert best_before(state.bottles["1-developer"]) == FIRST + timedelta(days=int(end))
