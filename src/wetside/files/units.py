"""Text to base units: what a person writes in a file or types (what is shown is `domain/calc/wording.py`).

This module reads one quantity at a time. It must not guess: a text that two people
could read differently ("20 fl oz", "1,000 ml", "3 m", a bare number without a preferred unit) is refused with
both readings named. It never evaluates text; a number and a known unit are all it takes.

What is understood everywhere: ASCII digits, a point or a comma as the decimal sign, any of the usual spaces
(also no-break and thin ones) between the parts, upper or lower case units. Other digits, control and
direction characters, exponents, fractions and separators between thousands are refused.

The grammar is our own, since a library of units alone reads "102 F" as farad and "1,5 l" as 15 l. The factors are
in `units.txt`, and pint converts by them. Loading it takes 0.15 to 0.3 s, longer than everything else a plan does,
so that waits for the first quantity that is not in a base unit (s, °C, ml) already; it is then kept.

Errors: `wetside.errors.Refused`, one sentence naming what was read and an example of what is understood.
"""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

from wetside.domain.calc.wording import TemperatureUnit, VolumeUnit
from wetside.errors import Refused
from wetside.sanitize import seen

if TYPE_CHECKING:
    import pint

    _Registry: TypeAlias = pint.UnitRegistry[float]

COLDEST_C: Final = -10.0
HOTTEST_C: Final = 110.0
LONGEST_S: Final = 20 * 12 * 30.44 * 86_400
LARGEST_ML: Final = 1_000_000.0
WIDEST_DIFFERENCE_C: Final = 50.0

_LEAST_BARE_ML: Final = 20.0
_LONGEST_TEXT: Final = 64
_SPACES: Final = str.maketrans(dict.fromkeys("\t\u00a0\u2009\u202f", " "))
_SIGNS: Final = str.maketrans({"−": "-", "º": "°", "℃": "°C", "℉": "°F"})
_NUMBER: Final = r"\d{1,12}(?:[.,]\d{1,12})?"
_SIGNED: Final = re.compile(rf"(?P<number>[+-]?{_NUMBER}) ?(?P<unit>[^\d.,+-].*)?", re.ASCII)
_UNSIGNED: Final = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>[^\d.,+-].*)?", re.ASCII)
_TOLERANCE: Final = re.compile(rf"(?:±|\+/-|\+-)? ?(?P<number>{_NUMBER}) ?(?P<unit>[^\d.,+-].*)", re.ASCII)
_CLOCK: Final = re.compile(r"(?:(?P<h>\d{1,4}):(?P<hm>[0-5]\d)|(?P<m>\d{1,4})):(?P<s>[0-5]\d)", re.ASCII)
_SPAN: Final = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>[a-z]+)", re.ASCII)

_CELSIUS: Final = "degree_Celsius"
_TEMPERATURES: Final = {
    **dict.fromkeys(("°c", "c", "degc", "deg c", "celsius"), _CELSIUS),
    **dict.fromkeys(("°f", "f", "degf", "deg f", "fahrenheit"), "degree_Fahrenheit"),
    **dict.fromkeys(("k", "kelvin"), "kelvin"),
}
_TIMES: Final = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), "second"),
    **dict.fromkeys(("min", "minute", "minutes"), "minute"),
    **dict.fromkeys(("h", "hour", "hours"), "hour"),
    **dict.fromkeys(("d", "day", "days"), "day"),
    **dict.fromkeys(("week", "weeks"), "week"),
    **dict.fromkeys(("month", "months"), "month"),
    **dict.fromkeys(("year", "years"), "year"),
}

_ML: Final = "millilitre"
_VOLUMES: Final = {
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), "litre"),
    **dict.fromkeys(("dl",), "decilitre"),
    **dict.fromkeys(("cl",), "centilitre"),
    **dict.fromkeys(("ml", "cm3", "cm³", "millilitre", "millilitres", "milliliter", "milliliters"), _ML),
    **dict.fromkeys(("us fl oz", "us fl. oz.", "us fluid ounce", "us fluid ounces"), "US_fluid_ounce"),
    **dict.fromkeys(("us pt", "us pint", "us pints"), "US_pint"),
    **dict.fromkeys(("us qt", "us quart", "us quarts"), "US_quart"),
    **dict.fromkeys(("us gal", "us gallon", "us gallons"), "US_gallon"),
    **dict.fromkeys(("imp fl oz", "imp fl. oz.", "imperial fluid ounces"), "imperial_fluid_ounce"),
    **dict.fromkeys(("imp pt", "imp pint", "imp pints"), "imperial_pint"),
    **dict.fromkeys(("imp qt", "imp quart", "imp quarts"), "imperial_quart"),
    **dict.fromkeys(("imp gal", "imp gallon", "imp gallons"), "imperial_gallon"),
}
_TWO_COUNTRIES: Final = {
    **dict.fromkeys(
        ("fl oz", "fl. oz.", "floz", "oz", "ounce", "ounces", "fluid ounce", "fluid ounces"),
        ("fl oz", "fluid_ounce"),
    ),
    **dict.fromkeys(("pt", "pint", "pints"), ("pt", "pint")),
    **dict.fromkeys(("qt", "quart", "quarts"), ("qt", "quart")),
    **dict.fromkeys(("gal", "gallon", "gallons"), ("gal", "gallon")),
}


def temperature_c(text: str, prefer: TemperatureUnit | None = None) -> float:
    """The temperature a text states, in °C: "102 °F", "38.9 C", "38,9 °C", "311 K".

    A bare number, or one with a bare degree sign, takes the `prefer` unit, and is refused when there is none.
    Exact definitions: t/°C = (t/°F - 32) / 1.8 and t/°C = T/K - 273.15. Refused outside -10 to 110 °C.
    """
    example = "write it like 102 F, 38.9 C or 311 K"
    number, unit = _parts(text, _SIGNED, "a temperature", example)
    unit = unit or "°"
    if unit == "°":
        if prefer is None:
            raise Refused(f'"{quoted(text)}" has no unit: {example}.')
        unit = prefer
    scale = _TEMPERATURES.get(unit.casefold())
    if scale is None:
        raise Refused(f'"{quoted(text)}" is not a temperature: {example}.')
    # an offset leaves float noise of 7e-15 °C: 131 °F is 55 °C
    celsius = round(_converted(number, scale, _CELSIUS), 12)
    if not COLDEST_C <= celsius <= HOTTEST_C:
        raise Refused(
            f'"{quoted(text)}" is {celsius:.1f} C, which no bath here can have: {example}, '
            f"from {COLDEST_C:.0f} to {HOTTEST_C:.0f} C."
        )
    return celsius


def difference_c(text: str) -> float:
    """A tolerance or error as a difference in °C, never negative: "±0.5 °F" is 0.2778, "0.5 K" is 0.5.

    No offset enters: 1 °F of difference is 5/9 °C. The unit must be written. Refused above 50 °C.
    """
    example = "write it like 0.5 C or 1 F"
    number, unit = _parts(text, _TOLERANCE, "a temperature difference", example)
    scale = _TEMPERATURES.get(unit.casefold())
    if scale is None:
        raise Refused(f'"{quoted(text)}" is not a temperature difference: {example}.')
    difference = _converted(number, scale if scale == _CELSIUS else f"delta_{scale}", _CELSIUS)
    if difference > WIDEST_DIFFERENCE_C:
        raise Refused(f'"{quoted(text)}" is more than {WIDEST_DIFFERENCE_C:.0f} C of difference: {example}.')
    return difference


def duration_s(text: str) -> float:
    """The length of time a text states, in seconds: "3:30", "1:05:00", "45 s", "6 min", "1 h 30 min", "90 d".

    Two parts with a colon are minutes and seconds, three are hours, minutes and seconds. A month is 30.44 days
    and a year twelve of them. A bare number is refused, and so is "m" alone: it could be minutes or months.
    Refused above 20 years.
    """
    example = "write it like 3:30, 45 s, 6 min, 2 h or 90 d"
    plain = _plain(text, "a length of time", example)
    if clock := _CLOCK.fullmatch(plain):
        minutes = int(clock["hm"]) + 60 * int(clock["h"]) if clock["h"] else int(clock["m"])
        return float(minutes * 60 + int(clock["s"]))
    seconds = sum(_spans(plain, text, example))
    if seconds > LONGEST_S:
        raise Refused(f'"{quoted(text)}" is more than 20 years: {example}.')
    return seconds


def volume_ml(text: str, prefer: VolumeUnit | None = None, *, drops: bool = False) -> float:
    """The volume a text states, in millilitres: "1 l", "500 ml", "20 US fl oz", "1 US gal", "20 imp fl oz".

    An ounce, pint, quart or gallon without its country is refused, naming both. A bare number takes the
    `prefer` unit, and is refused when there is none, or where it may be litres: below 20 ml nothing is kept in a
    bottle. With `drops` small volumes are meant. Refused above 1000 litres.
    """
    example = "write it like 500 ml, 1 l, 20 US fl oz or 1 US gal"
    _refuse_thousands(_plain(text, "a volume", example), text)
    number, unit = _parts(text, _UNSIGNED, "a volume", example)
    if not unit and prefer == "ml" and 0.0 < number < _LEAST_BARE_ML and not drops:
        raise Refused(f'"{quoted(text)}" could be {number:g} l or {number:g} ml: write which.')
    unit = (unit or prefer or "").casefold()
    if unit in ("cc", "ccm"):
        raise Refused(f'"{quoted(text)}": cc is not read here, write {number:g} ml if you mean cubic centimetres.')
    if _VOLUMES.get(unit) == _ML:
        _refuse_point_thousands(text)
    if short := _TWO_COUNTRIES.get(unit):
        name, measure = short
        american, imperial = (_converted(number, f"{land}_{measure}", _ML) for land in ("US", "imperial"))
        raise Refused(
            f'"{quoted(text)}" could be {number:g} US {name} ({american:.0f} ml) '
            f"or {number:g} imp {name} ({imperial:.0f} ml): write which."
        )
    if unit not in _VOLUMES:
        raise Refused(f'"{quoted(text)}" is not a volume: {example}.')
    volume = _converted(number, _VOLUMES[unit], _ML)
    if volume > LARGEST_ML:
        raise Refused(f'"{quoted(text)}" is more than 1000 l: {example}.')
    return volume


@lru_cache(maxsize=1)
def _registry() -> _Registry:
    """The units of `units.txt`, loaded on first use."""
    import pint

    return pint.UnitRegistry(str(Path(__file__).with_name("units.txt")), cache_folder=None)


def _converted(number: float, unit: str, base: str) -> float:
    """`number` of one unit of `units.txt` in another; a number of `base` itself loads no library."""
    return number if unit == base else float(_registry().Quantity(number, unit).m_as(base))


def quoted(text: str, most: int = 40) -> str:
    """A text fit to stand in an error sentence: cut at `most` characters, what cannot be seen shown as "?"."""
    return seen(text) if len(text) <= most else seen(text[:most]) + "..."


def _plain(text: str, what: str, example: str) -> str:
    """The text with its spaces and signs made uniform; refused when it holds anything that cannot be read."""
    plain = re.sub(" +", " ", text.translate(_SPACES).translate(_SIGNS)).strip(" ")
    odd = any(letter.isspace() and letter != " " for letter in plain) or not plain.isprintable()
    foreign = any(letter.isdigit() and not letter.isascii() and letter != "³" for letter in plain)
    if not plain or len(text) > _LONGEST_TEXT or odd or foreign:
        raise Refused(f'"{quoted(text)}" is not {what}: {example}.')
    return plain


def _parts(text: str, pattern: re.Pattern[str], what: str, example: str) -> tuple[float, str]:
    """The number and the unit (may be empty) of a text."""
    found = pattern.fullmatch(_plain(text, what, example))
    if found is None:
        raise Refused(f'"{quoted(text)}" is not {what}: {example}.')
    return _number(found["number"]), found["unit"] or ""


def _refuse_thousands(plain: str, text: str) -> None:
    """Refuse a comma that may separate thousands or decimals; "0,500" and "1.000" can be only one thing."""
    if found := re.search(r"(?<![\d.,])([1-9]\d{0,2}),(\d{3})(?![\d])", plain, re.ASCII):
        raise Refused(
            f'"{quoted(text)}" could mean {found[1]}.{found[2]} or {found[1]}{found[2]}: '
            "use a point for decimals, and nothing between thousands."
        )


def _refuse_point_thousands(text: str) -> None:
    """Refuse "1.000 ml": some write a thousand so, and nobody measures a millilitre to a thousandth here."""
    if found := re.match(r"\s*([1-9]\d{0,2})\.(\d{3})(?!\d)", text, re.ASCII):
        raise Refused(
            f'"{quoted(text)}" could mean {float(f"{found[1]}.{found[2]}"):g} ml or {found[1]}{found[2]} ml: '
            "write it without a point, or in litres."
        )


def _spans(plain: str, text: str, example: str) -> tuple[float, ...]:
    """The seconds of each part of "1 h 30 min", the larger unit first and none twice."""
    _refuse_thousands(plain, text)
    rest, spans, last = plain.casefold(), [], float("inf")
    while rest:
        found = _SPAN.match(rest)
        if found and found["unit"] == "m":
            raise Refused(f'"{quoted(text)}" could mean minutes or months: write min or months.')
        unit = _TIMES.get(found["unit"]) if found else None
        each = _converted(1.0, unit, "second") if unit else last
        if found is None or each >= last:
            raise Refused(f'"{quoted(text)}" is not a length of time: {example}.')
        spans.append(_number(found["number"]) * each)
        rest, last = rest[found.end() :].lstrip(" "), each
    return tuple(spans)


def _number(text: str) -> float:
    return float(text.replace(",", "."))
