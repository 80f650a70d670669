"""Values as text: numbers, counts, lengths of time, times of day; volumes and scales part from their units."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.planning.setup import TemperatureUnit
from wetside.present.wording import (
    counted,
    degrees,
    from_scale,
    long_span,
    on_scale,
    sentence,
    span,
    span_range,
    temperature,
    time_of_day,
    trimmed,
    volume,
    volume_parts,
)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(2.0, 1, "2"), (1.50, 2, "1.5"), (10.0, 0, "10"), (0.05, 1, "0.1"), (100, 2, "100")],
)
def test_a_number_has_no_trailing_zeros(value: float, decimals: int, text: str) -> None:
    assert trimmed(value, decimals) == text


def test_a_noun_is_singular_for_one_alone() -> None:
    assert [counted(number, "roll") for number in (0, 1, 2)] == ["0 rolls", "1 roll", "2 rolls"]
    assert [counted(number, "stop") for number in (1.0, 1.5, -1.0)] == ["1 stop", "1.5 stops", "-1 stops"]


@pytest.mark.parametrize(
    ("low_s", "high_s", "text"),
    [
        (300, 480, "5 to 8 min"),
        (45, 480, "45 s to 8 min"),
        (3900, 4800, "1 h 05 to 1 h 20 min"),
        (3000, 4200, "50 min to 1 h 10 min"),
    ],
)
def test_a_range_names_its_unit_once_where_both_ends_have_the_same_units(
    low_s: float, high_s: float, text: str
) -> None:
    assert span_range(span(low_s), span(high_s)) == text


def test_a_range_keeps_minutes_apart_from_whole_hours() -> None:
    assert span_range("110 min", "2 h") == "110 min to 2 h"
    assert span_range("2 h 50 min", "3 h") == "2 h 50 min to 3 h"


@pytest.mark.parametrize(
    ("seconds", "text"), [(45, "45 s"), (172800, "2 days"), (190800, "2 days 5 h"), (86400, "1 day")]
)
def test_a_long_time_is_given_in_days(seconds: float, text: str) -> None:
    assert long_span(seconds) == text


def test_a_time_of_day_is_to_the_nearest_minute_through_a_change_of_the_clocks() -> None:
    """In this night the clocks of this zone go from 2:00 to 3:00."""
    starts_at = datetime(2031, 3, 30, 1, 30, tzinfo=ZoneInfo("Europe/Berlin"))
    assert time_of_day(starts_at, 89.0) == "01:31"
    assert time_of_day(starts_at, 3600.0) == "03:30"


@given(st.floats(0, 20000), st.sampled_from(("ml", "US fl oz")))
def test_a_volume_is_its_number_and_its_unit(ml: float, unit: str) -> None:
    number, name = volume_parts(ml, "ml" if unit == "ml" else "US fl oz")
    assert volume(ml, "ml" if unit == "ml" else "US fl oz") == f"{number} {name}"
    assert float(number) >= 0


@given(st.floats(-10, 110), st.sampled_from(("°C", "°F")))
def test_a_temperature_converted_to_a_scale_and_back_is_unchanged(value_c: float, unit: TemperatureUnit) -> None:
    assert from_scale(on_scale(value_c, unit), unit) == pytest.approx(value_c, abs=1e-9)
    assert temperature(value_c, unit) == f"{degrees(value_c, unit)} {unit}"


@pytest.mark.parametrize("words", ["it is warm", "It is warm", "it is warm."])
def test_a_sentence_begins_with_a_capital_and_ends_with_one_full_stop(words: str) -> None:
    assert sentence(words) == "It is warm."


@given(st.floats(0, 1e6))
def test_a_span_reads_as_a_number_with_its_unit(seconds: float) -> None:
    assert span(seconds).rpartition(" ")[2] in ("s", "min")
