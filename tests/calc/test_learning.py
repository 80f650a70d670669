"""Past draining times give the next drain lead; trends are drawn on one line."""

from __future__ import annotations

import math
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.learning import MOST_LEAD_S, Trend, lead_s, trend
from wetside.present.wording import ASCII_SIGNS, SIGNS, spark

times = st.lists(st.floats(0, 600), max_size=25).map(tuple)
numbers = st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=25).map(tuple)


@pytest.mark.parametrize(
    ("past", "lead"),
    [
        ((), 10.0),
        ((30.0,), 10.0),
        ((12.0, 14.0), 13.0),
        ((8.0, 9.0, 60.0), 9.0),
        ((99.0, *(float(n) for n in range(10))), 4.5),
        ((8.0, math.nan, math.inf, -3.0), 10.0),
        ((240.0, 260.0), 10.0),
        ((240.0, 12.0, 14.0, 121.0), 13.0),
        ((120.0, 120.0), 120.0),
    ],
)
def test_the_lead_is_the_median_of_the_last_ten(past: tuple[float, ...], lead: float) -> None:
    assert lead_s(past, 10.0) == lead


@given(times, st.floats(0, 600))
def test_the_lead_lies_between_the_shortest_and_the_longest_of_its_times(
    past: tuple[float, ...], default: float
) -> None:
    lead = lead_s(past, default)
    usable = [value for value in past if value <= MOST_LEAD_S]
    if len(usable) < 2:
        assert lead == default
    else:
        assert min(usable[-10:]) <= lead <= max(usable[-10:]) <= MOST_LEAD_S


@given(times)
def test_only_the_last_ten_times_count(past: tuple[float, ...]) -> None:
    recent = (*past, *(5.0 + n for n in range(10)))
    assert lead_s(recent, 0.0) == median(range(10)) + 5.0


def test_a_trend_compares_the_later_half_of_the_values_with_the_earlier() -> None:
    assert trend(()) is None
    assert trend((1.0, 2.0, 9.0)) == Trend(3, 9.0, 2.0, 0.0)
    assert trend((1.0, 1.0, 3.0, 3.0)) == Trend(4, 3.0, 2.0, 2.0)


def test_trend_rises_with_the_values() -> None:
    assert spark((0.0, 1.0, 2.0, 3.0, 4.0), 10) == SIGNS
    assert spark((4.0, 3.0, 2.0, 1.0, 0.0), 10, ascii_only=True) == ASCII_SIGNS[::-1]
    assert spark((5.0, 5.0), 10, ascii_only=True) == "--"
    assert spark((), 10) == ""
    assert spark((1.0,), 0) == ""


@given(numbers, st.integers(1, 20), st.booleans())
def test_the_drawn_trend_fits_its_width_and_keeps_the_order_of_the_values(
    values: tuple[float, ...], width: int, ascii_only: bool
) -> None:
    signs = ASCII_SIGNS if ascii_only else SIGNS
    drawn = spark(values, width, ascii_only)
    kept = values[-width:]
    assert len(drawn) == len(kept)
    heights = [signs.index(sign) for sign in drawn]
    for (one, low), (other, high) in zip(
        sorted(zip(kept, heights, strict=True)), sorted(zip(kept, heights, strict=True))[1:], strict=False
    ):
        assert one == other or low <= high
    if min(kept) < max(kept):
        assert (min(heights), max(heights)) == (0, len(signs) - 1)
