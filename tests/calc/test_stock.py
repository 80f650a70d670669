"""Bottles: age, capacity and tests, with the alert about each."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shelf.shelving import TWO_BATH

from wetside.domain.messages import Message
from wetside.domain.planning.bottles import (
    age,
    age_alert,
    best_before_day,
    capacity_alert,
    capacity_left,
    clearing_alert,
)
from wetside.domain.planning.setup import Bottle, Test
from wetside.present.message_words import in_words
from wetside.present.sentences import CHECKS

days = st.floats(0, 1000)
lives = st.floats(1, 1000)


def test_a_full_bottle_lives_its_full_life_and_a_part_full_one_the_shorter() -> None:
    assert best_before_day(100.0, True, 42.0, 28.0) == 142.0
    assert best_before_day(100.0, False, 42.0, 28.0) == 128.0
    assert best_before_day(100.0, False, 42.0, 28.0, part_since_day=110.0) == 138.0
    assert best_before_day(100.0, False, 42.0, 28.0, part_since_day=130.0) == 142.0


@given(days, lives, lives, days)
def test_a_part_full_bottle_never_outlives_a_full_one(
    mixed: float, full: float, part: float, later: float
) -> None:
    end = best_before_day(mixed, False, full, part, part_since_day=mixed + later)
    assert end <= best_before_day(mixed, True, full, part)
    assert best_before_day(mixed, False, full, part) <= end


def test_the_last_good_day_counts_and_the_next_is_past() -> None:
    assert not age(0.0, 28.0, 28.0).expired
    past = age(0.0, 30.0, 28.0)
    assert past.expired
    alert = age_alert("The developer", past, "leader")
    assert alert is not None
    assert (alert.code, in_words(alert).split(":")[0]) == (
        "expired",
        "The developer is 2 days past its date (30 days old)",
    )
    assert age_alert("The developer", age(0.0, 28.0, 28.0), "leader") is None


@pytest.mark.parametrize(("today", "says"), [(28.5, "less than a day past"), (29.2, "1 day past")])
def test_ages_are_worded_in_days_weeks_and_months(today: float, says: str) -> None:
    alert = age_alert("The developer", age(0.0, today, 28.0), "leader")
    assert alert is not None
    assert says in in_words(alert)


def test_a_bottle_past_twice_its_life_is_to_be_mixed_fresh_before_anything_else_is_said() -> None:
    """The two lives are our own rule, no source."""
    last = age_alert("The developer", age(0.0, 56.0, 28.0), "leader")
    assert last is not None
    assert not in_words(last).startswith("Mix fresh")
    for test in CHECKS:
        alert = age_alert("The bottle", age(0.0, 57.0, 28.0), test)
        assert alert is not None
        assert (alert.code, in_words(alert).split(":")[0]) == ("expired", "Mix fresh")
        assert "29 days past its date" in in_words(alert)


@pytest.mark.common_practice
@pytest.mark.parametrize("today", [30.0, 90.0])
@pytest.mark.parametrize(
    ("test", "says"),
    [
        ("leader", "goes dark"),
        ("clearing", "clears in it"),
        ("bleach", "blackened in the developer clears in it and then in good fixer"),
        ("bleach-fix", "blackened in the developer clears in it, and time"),
        ("none", "look"),
    ],
)
def test_each_kind_of_solution_has_its_own_test(test: Test, says: str, today: float) -> None:
    """Common practice, no source: a leader shows nothing in a stabiliser, it is looked at."""
    alert = age_alert("The bottle", age(0.0, today, 28.0), test)
    assert alert is not None
    assert says in in_words(alert)
    assert ("leader" in in_words(alert)) is (test != "none")
    assert ("scum" in in_words(alert)) is (test == "none")


@given(days, st.floats(0, 3000), lives)
def test_long_expired_solution_is_expired(mixed: float, old: float, life: float) -> None:
    found = age(mixed, mixed + old, mixed + life)
    assert not found.long_past or found.expired


def test_capacity_is_by_the_litre() -> None:
    assert capacity_left(8.0, 500.0, 1.0) == 3.0
    assert capacity_left(8.0, 500.0, 5.0) == -1.0


DEVELOPER = TWO_BATH.solution("developer")


def over_capacity(
    per_l: float, stretch_per_l: float, volume_ml: float, used: float, tonight: float
) -> Message | None:
    solution = replace(DEVELOPER, capacity_per_l=per_l, stretch_per_l=stretch_per_l)
    bottle = Bottle("developer", "The developer", volume_ml, used_rolls=used)
    return capacity_alert(bottle, "The developer", solution, tonight)


@pytest.mark.parametrize(
    ("tonight", "code"), [(2.0, None), (2.1, "stretch"), (6.0, "stretch"), (6.1, "beyond-capacity")]
)
def test_the_alert_goes_from_none_to_stretched_to_beyond_the_capacity(tonight: float, code: str | None) -> None:
    alert = over_capacity(8.0, 12.0, 1000.0, 6.0, tonight)
    assert (alert.code if alert else None) == code
    assert alert is None or dict(alert.values)["over"] == pytest.approx(tonight - 2.0)


def test_the_alert_says_by_how_many_rolls_the_capacity_is_passed() -> None:
    alert = over_capacity(8.0, 12.0, 1000.0, 6.0, 4.5)
    assert alert is not None
    assert "2.5 rolls beyond its capacity" in in_words(alert)


def test_tenths_of_rolls_add_up_exactly() -> None:
    assert over_capacity(0.3, 0.3, 1000.0, 0.1 + 0.1, 0.1) is None


def test_a_solution_without_a_capacity_gives_no_alert() -> None:
    bottle = Bottle("developer", "The developer", 1000.0, used_rolls=1e3)
    assert capacity_alert(bottle, "B", replace(DEVELOPER, capacity_per_l=None), 1.0) is None


ORDER = (None, "stretch", "beyond-capacity")


@given(
    st.floats(0, 20), st.floats(0, 10), st.floats(0, 3000), st.floats(0, 40), st.floats(0, 10), st.floats(0, 10)
)
def test_more_rolls_never_lower_the_warning(
    each: float, more: float, volume: float, used: float, tonight: float, extra: float
) -> None:
    fewer = over_capacity(each, each + more, volume, used, tonight)
    greater = over_capacity(each, each + more, volume, used, tonight + extra)
    assert ORDER.index(greater.code if greater else None) >= ORDER.index(fewer.code if fewer else None)


@pytest.mark.parametrize(("seconds", "spent"), [(60.0, False), (120.0, False), (121.0, True)])
def test_a_fixer_over_twice_its_fresh_clearing_time_is_spent(seconds: float, spent: bool) -> None:
    """NAVEDTRA 14209, Life of a Fixing Bath (read in print): of a fixer; of a bleach-fix no print says it."""
    fixer = clearing_alert(seconds, 60.0, "fixer", "clearing")
    assert (fixer is not None) is spent
    both = clearing_alert(seconds, 60.0, "bleach-fix", "bleach-fix")
    assert (both is not None) is spent
    if fixer is not None and both is not None:
        assert "the fixer is spent" in in_words(fixer)
        assert "bleach-fix" not in in_words(fixer)
        assert "no print says it of a bleach-fix" in in_words(both)


@pytest.mark.parametrize(("ago", "code"), [(None, "expired"), (0, "tested"), (7, "tested"), (8, "expired")])
def test_a_passed_test_outweighs_age_for_a_week(ago: int | None, code: str) -> None:
    """A week is our own number."""
    alert = age_alert("The bottle", age(0.0, 30.0, 28.0), "bleach-fix", ago)
    assert alert is not None
    assert alert.code == code
    assert ("for how many rolls, no test says" in in_words(alert)) is (code == "tested")
    old = age_alert("The bottle", age(0.0, 57.0, 28.0), "bleach-fix", ago)
    assert old is not None
    assert old.code == "expired", "what is long past its date is mixed fresh"
