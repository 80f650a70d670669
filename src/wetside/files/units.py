"""Parses typed quantities into base units (s, °C, ml), and single values; `present/wording.py` formats them.

Each function reads one quantity and evaluates nothing. A text that two people could read differently ("20 fl oz",
"1,000 ml", "3 m", a bare number without a preferred unit) is refused with both readings named. It reads ASCII
digits, a point or comma as the decimal sign, the usual spaces (also no-break and thin ones) and units in either
case; other digits, control and direction characters, exponents, fractions and thousands separators are refused.

The grammar is our own because pint alone reads "102 F" as farad and "1,5 l" as 15 l. pint converts by the factors
in `units.txt`; loading it takes 0.15 to 0.3 s, so it is imported only for quantities that are not in a base unit.

All functions raise `wetside.errors.Refused`: one sentence with the text and an example of what is accepted.
"""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

from wetside.errors import Refused
from wetside.sanitize import printable

if TYPE_CHECKING:
    import pint

    from wetside.domain.planning.setup import TemperatureUnit, VolumeUnit

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
_ML: Final = "millilitre"


@cache
def _words() -> dict[str, dict[str, list[str]]]:
    """The units of each quantity with their words; read on first use."""
    import tomllib

    return tomllib.loads(Path(__file__).with_name("unit_words.toml").read_text("utf-8"))


def _unit(quantity: str, word: str) -> str | None:
    """The unit of a word in any case; None for no word of this quantity."""
    return next((unit for unit, words in _words()[quantity].items() if word.casefold() in words), None)


def temperature_c(text: str, prefer: TemperatureUnit | None = None) -> float:
    """The temperature a text states, in °C: "102 °F", "38.9 C", "38,9 °C", "311 K".

    A bare number, or one with a bare degree sign, takes the `prefer` unit, and is refused if that is None.
    Exact definitions: t/°C = (t/°F - 32) / 1.8 and t/°C = T/K - 273.15. Refused outside -10 to 110 °C.
    """
    example = "write it like 102 F, 38.9 C or 311 K"
    number, unit = _parts(text, _SIGNED, "a temperature", example)
    unit = unit or "°"
    if unit == "°":
        if prefer is None:
            raise _refused(text, f"has no unit: {example}")
        unit = prefer
    scale = _unit("temperature", unit)
    if scale is None:
        raise _refused(text, f"is not a temperature: {example}")
    # removes rounding errors of 7e-15 °C: 131 °F is 55 °C
    celsius = round(_converted(number, scale, _CELSIUS), 12)
    if not COLDEST_C <= celsius <= HOTTEST_C:
        limits = f"from {COLDEST_C:.0f} to {HOTTEST_C:.0f} C"
        raise _refused(text, f"is {celsius:.1f} C, which no bath here can have: {example}, {limits}")
    return celsius


def difference_c(text: str, prefer: TemperatureUnit | None = None) -> float:
    """A tolerance or error as a difference in °C, never negative: "±0.5 °F" is 0.2778, "0.5 K" is 0.5.

    No offset enters: 1 °F of difference is 5/9 °C. A bare number takes the `prefer` unit, and is refused without
    one. Refused above 50 °C.
    """
    example = "write it like 0.5 C or 1 F"
    if prefer is not None and re.fullmatch(r"[\d.,]+", text):
        text = f"{text} {prefer}"
    number, unit = _parts(text, _TOLERANCE, "a temperature difference", example)
    scale = _unit("temperature", unit)
    if scale is None:
        raise _refused(text, f"is not a temperature difference: {example}")
    difference = _converted(number, scale if scale == _CELSIUS else f"delta_{scale}", _CELSIUS)
    if difference > WIDEST_DIFFERENCE_C:
        raise _refused(text, f"is more than {WIDEST_DIFFERENCE_C:.0f} C of difference: {example}")
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
    seconds = _seconds(plain, text, example)
    if seconds > LONGEST_S:
        raise _refused(text, f"is more than 20 years: {example}")
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
        raise _refused(text, f"could be {number:g} l or {number:g} ml: write which")
    unit = (unit or prefer or "").casefold()
    if unit in ("cc", "ccm"):
        raise Refused(f'"{quoted(text)}": cc is not read here, write {number:g} ml if you mean cubic centimetres.')
    measure = _unit("volume", unit)
    if measure == _ML and (found := re.match(r"\s*([1-9]\d{0,2})\.(\d{3})(?!\d)", text, re.ASCII)):
        # Three decimals may be a thousands separator, and nobody measures a thousandth of a millilitre here.
        one, other = float(f"{found[1]}.{found[2]}"), f"{found[1]}{found[2]}"
        raise _refused(text, f"could mean {one:g} ml or {other} ml: write it without a point, or in litres")
    if either := _unit("of_two_countries", unit):
        us_ml, imperial_ml = (_converted(number, f"{land}_{either}", _ML) for land in ("US", "imperial"))
        name = _words()["of_two_countries"][either][0]
        american, imperial = f"US {name} ({us_ml:.0f} ml)", f"imp {name} ({imperial_ml:.0f} ml)"
        raise _refused(text, f"could be {number:g} {american} or {number:g} {imperial}: write which")
    if measure is None:
        raise _refused(text, f"is not a volume: {example}")
    volume = _converted(number, measure, _ML)
    if volume > LARGEST_ML:
        raise _refused(text, f"is more than 1000 l: {example}")
    return volume


@cache
def _registry() -> _Registry:
    import pint

    return pint.UnitRegistry(str(Path(__file__).with_name("units.txt")), cache_folder=None)


def _converted(number: float, unit: str, base: str) -> float:
    """`number` of one unit of `units.txt` in another; a number in `base` itself needs no library."""
    return number if unit == base else float(_registry().Quantity(number, unit).m_as(base))


def quoted(text: str, most: int = 40) -> str:
    """A text for an error sentence: cut at `most` characters, with "?" for invisible ones."""
    return printable(text) if len(text) <= most else printable(text[:most]) + "..."


def _refused(text: str, why: str) -> Refused:
    return Refused(f'"{quoted(text)}" {why}.')


def decimal(digits: str) -> float:
    """Digits with a point or a comma as the decimal sign; ValueError for anything else."""
    return float(digits.replace(",", "."))


def number(text: str) -> float:
    """A number without a unit: "4", "4.5", "4,5", "+1", "−1"."""
    found = re.fullmatch(r"[+-]?\d{1,6}(?:[.,]\d{1,3})?", text.strip().replace("−", "-"), re.ASCII)
    if found is None:
        raise _refused(text, "is no number: write it like 4 or 4.5")
    return decimal(found[0])


def count(text: str) -> int:
    """A whole number, written as `number` reads it."""
    found = number(text)
    if found != int(found):
        raise _refused(text, "is no whole number: write it like 3")
    return int(found)


def day_or_none(text: str) -> str | None:
    """An ISO date; None for "0"."""
    if text == "0":
        return None
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise _refused(text, "is no day: write it like 2026-05-01") from None


def temperature_or_none(text: str, prefer: TemperatureUnit) -> float | None:
    """As `temperature_c`; None for "0"."""
    return None if text == "0" else temperature_c(text, prefer)


def _plain(text: str, what: str, example: str) -> str:
    """The text with uniform spaces and signs; refused if it has other characters than those accepted."""
    plain = re.sub(" +", " ", text.translate(_SPACES).translate(_SIGNS)).strip(" ")
    odd = any(letter.isspace() and letter != " " for letter in plain) or not plain.isprintable()
    foreign = any(letter.isdigit() and not letter.isascii() and letter != "³" for letter in plain)
    if not plain or len(text) > _LONGEST_TEXT or odd or foreign:
        raise _refused(text, f"is not {what}: {example}")
    return plain


def _parts(text: str, pattern: re.Pattern[str], what: str, example: str) -> tuple[float, str]:
    """The number and the unit of a text; the unit is "" if none is written."""
    found = pattern.fullmatch(_plain(text, what, example))
    if found is None:
        raise _refused(text, f"is not {what}: {example}")
    return decimal(found["number"]), found["unit"] or ""


def _refuse_thousands(plain: str, text: str) -> None:
    """Refuse a comma that may separate thousands or decimals; "0,500" and "1.000" have one reading only."""
    if found := re.search(r"(?<![\d.,])([1-9]\d{0,2}),(\d{3})(?![\d])", plain, re.ASCII):
        either = f"{found[1]}.{found[2]} or {found[1]}{found[2]}"
        why = "use a point for decimals, and nothing between thousands"
        raise _refused(text, f"could mean {either}: {why}")


def _seconds(plain: str, text: str, example: str) -> float:
    """The seconds of "1 h 30 min": the larger unit comes first and none twice."""
    _refuse_thousands(plain, text)
    rest, total, last = plain.casefold(), 0.0, float("inf")
    while rest:
        found = _SPAN.match(rest)
        if found and found["unit"] == "m":
            raise _refused(text, "could mean minutes or months: write min or months")
        unit = _unit("time", found["unit"]) if found else None
        each = _converted(1.0, unit, "second") if unit else last
        if found is None or each >= last:
            raise _refused(text, f"is not a length of time: {example}")
        total += decimal(found["number"]) * each
        rest, last = rest[found.end() :].lstrip(" "), each
    return total
