"""Formats numbers, durations, times of day, temperatures and volumes as text: the one place that adds a unit.

A sentence is built from values in the person's units and is never converted afterwards. The text has °, × and the
true minus sign; `sanitize.in_ascii` replaces them for terminals without UTF-8.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    # Not on the way to the first paint of home.
    from wetside.domain.planning.setup import TemperatureUnit, VolumeUnit

US_FL_OZ_IN_QUART: Final = 32

ML_PER: Final[dict[str, float]] = {
    "ml": 1.0,
    "cl": 10.0,
    "dl": 100.0,
    "l": 1000.0,
    "US fl oz": 29.5735295625,
    "US pt": 473.176473,
    "US qt": 946.352946,
    "US gal": 3785.411784,
    "imp fl oz": 28.4130625,
    "imp pt": 568.26125,
    "imp qt": 1136.5225,
    "imp gal": 4546.09,
}
"""Millilitres in each measure of volume, exact by definition.

The US gallon is 231 cubic inches of 2.54 cm (NIST Handbook 44, Appendix C: seen second-hand), the imperial one
4.54609 l (from memory). A quart is a quarter and a pint an eighth of either gallon; the US gallon has 128 fluid
ounces, the imperial one 160. tests/reference/test_units_reference.py works out each figure in fractions and
compares it with a general library of units.
"""

_SLACK = 1e-6
"""Rounding error of a temperature: 39.4444 °C is shown as 103 °F."""

_SMALLEST_SHARE = 0.0005
"""A factor nearer to 1 than this (0.05 %, 0.1 s of a 3:30 developer) is worded as no change."""


SIGNS = "⎽⎼─⎻⎺"
ASCII_SIGNS = "_.-~^"
"""The heights of a sparkline, the lowest first."""


def trimmed(value: float, decimals: int) -> str:
    """A number with at most `decimals` decimals and no trailing zeros: 1.50 as "1.5", 2.0 as "2"."""
    shown = f"{value:.{decimals}f}"
    return shown.rstrip("0").rstrip(".") if decimals else shown


def sentence(words: str) -> str:
    """The words with a capital letter and one full stop."""
    return f"{words[0].upper()}{words[1:]}".rstrip(".") + "."


def counted(number: float, noun: str) -> str:
    """ "1 roll", "3 rolls", "2.5 rolls"."""
    digits = f"{number:g}" if isinstance(number, float) else str(number)
    return f"{digits} {noun}{'' if digits == '1' else 's'}"


def whole_seconds(seconds: float) -> int:
    """A time of 0 or more in s, rounded to the nearest second, half upward, as it is shown."""
    return math.floor(seconds + 0.5)


def minutes_seconds(seconds: float) -> str:
    """A duration in s as "3:30", from an hour on as "1:02:03"; rounded to the nearest second, half upward."""
    whole = whole_seconds(abs(seconds))
    sign = "−" if seconds < 0 and whole else ""
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{sign}{hours}:{minutes:02d}:{left:02d}"
    return f"{sign}{minutes}:{left:02d}"


def span(seconds: float) -> str:
    """A duration in s, rounded: "45 s", "6 min", "2 h 05 min"."""
    whole = round(abs(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes = round(whole / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def long_span(seconds: float) -> str:
    """A length of time from seconds to days: "45 s", "2 h 05 min", "2 days", "2 days 5 h"."""
    minutes = round(abs(seconds) / 60)
    if minutes < 1440:
        return span(seconds)
    days, hours = divmod(round(minutes / 60), 24)
    return counted(days, "day") + (f" {hours} h" if hours else "")


def span_range(low: str, high: str) -> str:
    """Two durations in words as a range: "5 to 8 min", "1 h 05 to 1 h 20 min", "50 min to 1 h 10 min".

    The first one loses its "min" only where both have hours or neither has: "50 to 1 h 10 min" reads as 50 hours.
    """
    alike = (" h" in low) == (" h" in high) and high.endswith(" min")
    return f"{low.removesuffix(' min') if alike else low} to {high}"


def percent(factor: float) -> str:
    """A factor as its change: 1.07 -> "+7 %", 0.8 -> "−20 %", 1.004 -> "+0.4 %", 1.0 -> "±0 %"."""
    change = (factor - 1.0) * 100.0
    if is_one(factor):
        return "±0 %"
    sign = "−" if change < 0 else "+"
    size = abs(change)
    return f"{sign}{size:.1f} %" if size < 0.95 else f"{sign}{size:.0f} %"


def is_one(factor: float) -> bool:
    """Whether a factor is worded as no change."""
    return abs(factor - 1.0) < _SMALLEST_SHARE


def temperature(value_c: float, unit: TemperatureUnit = "°C") -> str:
    """38.94 °C as "38.9 °C" or "102.1 °F"; −0.04 °C is "0.0 °C"."""
    return f"{degrees(value_c, unit)} {unit}"


def degrees(value_c: float, unit: TemperatureUnit = "°C") -> str:
    """The number of `temperature` without its unit."""
    return _signed(on_scale(value_c, unit), 1)


def on_scale(value_c: float, unit: TemperatureUnit) -> float:
    """A temperature in °C as the number on this scale."""
    return value_c if unit == "°C" else value_c * 1.8 + 32.0


def from_scale(value: float, unit: TemperatureUnit) -> float:
    """A number on this scale as a temperature in °C."""
    return value if unit == "°C" else (value - 32.0) / 1.8


def temperatures(range_c: tuple[float, float], unit: TemperatureUnit = "°C") -> str:
    """A range as "38.3 to 39.4 °C", rounded inward: what is shown as in range is in range.

    A range too narrow for a tenth is shown to a hundredth; one of a single value as that value.
    """
    if range_c[0] == range_c[1]:
        return temperature(range_c[0], unit)
    low, high = (on_scale(value_c, unit) for value_c in range_c)
    for decimals in (1, 2):
        scale = 10**decimals
        lowest, highest = math.ceil(low * scale - _SLACK) / scale, math.floor(high * scale + _SLACK) / scale
        if lowest < highest or decimals == 2:
            break
    return f"{_signed(lowest, decimals)} to {_signed(highest, decimals)} {unit}"


def difference(value_c: float, unit: TemperatureUnit = "°C") -> str:
    """A difference in K as "0.3 °C" or "0.5 °F", without the offset of the scales."""
    return f"{value_c if unit == '°C' else value_c * 1.8:.1f} {unit}"


def volume(value_ml: float, unit: VolumeUnit = "ml") -> str:
    """A volume as "600 ml", from a litre on "1.19 l"; or as "20.3 US fl oz", from a quart on "1.06 US qt".

    The shown value, typed in again, is the same within 5 ml.
    """
    return " ".join(volume_parts(value_ml, unit))


def volume_parts(value_ml: float, unit: VolumeUnit = "ml") -> tuple[str, str]:
    """The number and the unit of `volume`."""
    if unit == "ml":
        number, name, decimals = (value_ml, "ml", 0) if round(value_ml) < 1000 else (value_ml / 1000, "l", 2)
    else:
        quarts = round(value_ml / ML_PER["US fl oz"], 1) >= US_FL_OZ_IN_QUART
        name, decimals = ("US qt", 2) if quarts else ("US fl oz", 1)
        number = value_ml / ML_PER[name]
    return trimmed(number, decimals), name


def _signed(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")


def the(title: str) -> str:
    """A title within a sentence: "Developer" as "the developer"; a title in capitals keeps them."""
    return f"the {title[:1].lower()}{title[1:]}" if title[1:2].islower() else f"the {title}"


def wall_at(wall: str, offset_s: int, plus_s: float) -> datetime:
    """The local time `plus_s` seconds after the RFC 3339 instant `wall`, at an offset of `offset_s` from UTC."""
    instant = datetime.fromisoformat(wall).astimezone(UTC) + timedelta(seconds=plus_s)
    return instant.astimezone(timezone(timedelta(seconds=offset_s)))


def later_by_clock(starts_at: datetime, plus_s: float) -> datetime:
    """The local time `plus_s` seconds after `starts_at`; with a time zone, correct across a change of DST."""
    plus = timedelta(seconds=plus_s)
    zone = starts_at.tzinfo
    return starts_at + plus if zone is None else (starts_at.astimezone(UTC) + plus).astimezone(zone)


def time_of_day(starts_at: datetime, plus_s: float) -> str:
    """The local time `plus_s` after `starts_at` to the nearest minute, as "21:05"."""
    return f"{later_by_clock(starts_at, plus_s + 30.0):%H:%M}"


def hours_minutes(wall: str, offset_s: int, plus_s: float) -> str:
    """The time that `wall_at` returns, as "21:05"."""
    return f"{wall_at(wall, offset_s, plus_s):%H:%M}"


def spark(values: tuple[float, ...], width: int, ascii_only: bool = False) -> str:
    """The last `width` finite values as a sparkline of five heights; equal values at the middle height."""
    signs = ASCII_SIGNS if ascii_only else SIGNS
    kept = [value for value in values if math.isfinite(value)][-width:] if width > 0 else []
    if not kept:
        return ""
    low, high = min(kept), max(kept)
    if low == high:
        return signs[len(signs) // 2] * len(kept)
    scale = 1.0 if math.isfinite(high - low) else 0.5  # against overflow of the difference
    span = high * scale - low * scale
    return "".join(
        signs[min(len(signs) - 1, int((value * scale - low * scale) / span * len(signs)))] for value in kept
    )
