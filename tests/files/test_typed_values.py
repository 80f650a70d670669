"""Single values as people type them: what is read, and what is refused in a sentence."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from wetside.errors import Refused
from wetside.files.units import count, day_or_none, difference_c, number, temperature_or_none


@pytest.mark.parametrize(
    ("text", "value"), [("4", 4.0), (" 4.5 ", 4.5), ("4,5", 4.5), ("+1", 1.0), ("-1", -1.0), ("−1", -1.0)]
)
def test_a_number_is_read(text: str, value: float) -> None:
    assert number(text) == value


def test_a_whole_number_may_be_written_with_decimals() -> None:
    assert (count("3"), count("3.0")) == (3, 3)


@pytest.mark.parametrize(
    ("read", "text", "sentence"),
    [
        (number, "", "is no number: write it like 4 or 4.5."),
        (number, "1e3", "is no number"),
        (number, "٣", "is no number"),
        (number, "1.000,5", "is no number"),
        (count, "2.5", "is no whole number: write it like 3."),
        (count, "two", "is no number"),
        (day_or_none, "2031-02-29", "is no day: write it like 2026-05-01."),
        (day_or_none, "01.02.2031", "is no day"),
    ],
)
def test_text_that_is_no_value_is_refused_with_an_example(
    read: Callable[[str], object], text: str, sentence: str
) -> None:
    with pytest.raises(Refused) as refused:
        read(text)
    assert sentence in str(refused.value)


def test_a_typed_zero_clears_a_day_or_a_temperature() -> None:
    assert day_or_none("0") is None
    assert temperature_or_none("0", "°F") is None
    assert day_or_none("2031-02-28") == "2031-02-28"
    assert temperature_or_none("212", "°F") == pytest.approx(100.0)


def test_a_difference_without_a_unit_takes_the_persons_unit() -> None:
    assert difference_c("0.9", "°F") == pytest.approx(0.5)
    assert difference_c("0,5", "°C") == 0.5
    assert difference_c("0.9 F", "°C") == pytest.approx(0.5)
