"""How base units are put into words on screen. Text only; nothing is read or decided here."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING

from wetside.domain.calc.measures import ML_PER, US_FL_OZ_IN_GALLON

if TYPE_CHECKING:
    from wetside.domain.planning.plan import TemperatureUnit, VolumeUnit


def temperature(value_c: float, unit: TemperatureUnit) -> str:
    """38.94 °C as "38.9 °C" or "102.1 °F"."""
    value = value_c if unit == "°C" else value_c * 1.8 + 32.0
    return f"{value:.1f} {unit}".replace("-", "−")


def temperatures(range_c: tuple[float, float], unit: TemperatureUnit) -> str:
    """A range as "38.3 to 39.4 °C"."""
    low, high = (temperature(value_c, unit) for value_c in range_c)
    return f"{low.removesuffix(' ' + unit)} to {high}"


def difference(value_c: float, unit: TemperatureUnit) -> str:
    """A difference of °C without its sign: 0.3 °C as "0.3 °C" or "0.5 °F"; no offset enters."""
    return f"{value_c if unit == '°C' else value_c * 1.8:.1f} {unit}"


_NUMBER = r"[−-]?\d+(?:\.\d+)?"
_CELSIUS = re.compile(
    rf"(?P<centre>{_NUMBER}) ± (?P<half>{_NUMBER}) °C|±(?P<off>{_NUMBER}) °C"
    rf"|(?P<low>{_NUMBER}) to (?P<high>{_NUMBER}) °C|(?P<one>{_NUMBER}) °C"
)
_METRIC = re.compile(r"(\d+(?:\.\d+)?) (ml|l)\b")


def converted(text: str, unit: TemperatureUnit, volume_unit: VolumeUnit = "ml") -> str:
    """A sentence worked out in °C, ml and l in the person's units; "±0.5 °C" stays a difference."""
    if unit != "°C":
        text = _CELSIUS.sub(lambda found: _in_unit(found, unit), text)
    if volume_unit != "ml":
        text = _METRIC.sub(
            lambda found: volume(float(found[1]) * (1000 if found[2] == "l" else 1), volume_unit), text
        )
    return text


def _in_unit(found: re.Match[str], unit: TemperatureUnit) -> str:
    number = {name: float(text.replace("−", "-")) for name, text in found.groupdict().items() if text is not None}
    match number:
        case {"centre": centre, "half": half}:
            return f"{temperature(centre, unit).removesuffix(' ' + unit)} ± {difference(half, unit)}"
        case {"off": off}:
            return f"±{difference(off, unit)}"
        case {"low": low, "high": high}:
            return temperatures((low, high), unit)
    return temperature(number["one"], unit)


def the(title: str) -> str:
    """A title inside a sentence: "Developer" as "the developer"; a title in capitals keeps them."""
    return f"the {title[:1].lower()}{title[1:]}" if title[1:2].islower() else f"the {title}"


def volume(value_ml: float, unit: VolumeUnit = "ml") -> str:
    """Millilitres, from a litre on litres: "600 ml", "1.19 l"; or ounces, from a gallon on gallons: "2 US gal"."""
    if unit == "US fl oz":
        ounces = round(value_ml / ML_PER[unit], 1)
        gallons = ounces / US_FL_OZ_IN_GALLON
        number, name = (gallons, "US gal") if gallons >= 1 else (ounces, unit)
        return f"{number:.1f}".removesuffix(".0") + f" {name}"
    return f"{value_ml:.0f} ml" if value_ml < 1000 else f"{value_ml / 1000:.3g} l"


def span(seconds: float) -> str:
    """A length of time as people say it: "45 s", "6 min", "2 h 05 min"."""
    whole = round(abs(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes = round(whole / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def wall_at(wall: str, offset_s: int, plus_s: float) -> datetime:
    """The local wall-clock time `plus_s` after the RFC 3339 UTC instant `wall`."""
    instant = datetime.fromisoformat(wall).astimezone(UTC) + timedelta(seconds=plus_s)
    return instant.astimezone(timezone(timedelta(seconds=offset_s)))


def hours_minutes(wall: str, offset_s: int, plus_s: float) -> str:
    """That time as "21:05"."""
    return f"{wall_at(wall, offset_s, plus_s):%H:%M}"
