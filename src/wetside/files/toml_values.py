"""The kinds of value a person writes in a profile or setup, as pydantic reads them: text in, base units out.

One job: annotated types for the forms in `files/profile_forms.py` and `setup_file.py`, with limits that catch what
cannot be meant (a bath of 80 °C, a developer of nine days). It must not know which key holds what.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from typing import Annotated, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from wetside.domain.calc.tank import ROLL_CM2, film_area_cm2
from wetside.domain.profile.model import LEAST_BELL_S
from wetside.errors import Refused
from wetside.files.units import difference_c, duration_s, quoted, temperature_c, volume_ml

DAY_S: Final = 86_400.0
LONGEST_STEP_S: Final = 7 * DAY_S
_ID: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_NUMBER: Final = r"(\d{1,4}(?:[.,]\d{1,4})?)"
_FACTOR: Final = re.compile(rf"(?:[x×*] ?{_NUMBER}|{_NUMBER} ?[x×]|{_NUMBER})")
_MORE: Final = re.compile(rf"([+-]) ?{_NUMBER} ?(?:%|per ?cent)")
_STOPS: Final = re.compile(rf"([+-]?) ?{_NUMBER} ?(?:stops?)?")
_FILM: Final = (
    r"(?P<number>\d{1,6}(?:[.,]\d{1,3})?) ?(?:(?:rolls?|films?)(?: of (?P<what>.+?))?|(?P<unit>cm²|cm2|in²|in2))"
)
_ROLLS: Final = re.compile(_FILM + r" ?(?:per|in(?![²2])|/) ?(?P<volume>.+)")
_AREA: Final = re.compile(r"(?P<number>\d{1,6}(?:[.,]\d{1,3})?) ?(?P<unit>cm²|cm2|in²|in2)")
_CM2_PER: Final = {"cm²": 1.0, "cm2": 1.0, "in²": 6.4516, "in2": 6.4516}
_EACH: Final = r"(?P<each> (?:per|for each|each|a) (?:roll|film)(?: of (?P<what>.+))?)?"
_PERCENT: Final = re.compile(r"\+? ?(?P<number>\d{1,4}(?:[.,]\d{1,3})?) ?(?:%|per ?cent)" + _EACH)


class Form(BaseModel):
    """A table of a file: no key but its own, no value of another type."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


def _read(read: Callable[[str], float], low: float, high: float, sense: str) -> Callable[[object], float]:
    """A validator that reads a quantity and refuses what lies outside `low` to `high`."""

    def validate(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError("write it in quotes, with its unit")
        try:
            number = read(value)
        except Refused as refused:
            raise ValueError(str(refused)) from None
        if not low <= number <= high:
            raise ValueError(f'"{quoted(value)}" makes no sense here: {sense}')
        return number

    return validate


def _bell(value: object) -> float:
    """How far bells in the dark are apart: none at all, or seldom enough to be heard apart."""
    sense = f"a bell in the dark comes every {LEAST_BELL_S:g} s at the most often; 0 s is none"
    seconds = _read(duration_s, 0, LONGEST_STEP_S, sense)(value)
    if 0 < seconds < LEAST_BELL_S:
        raise ValueError(f'"{quoted(str(value))}" makes no sense here: {sense}')
    return seconds


def _rolls(text: str) -> float:
    """Rolls of 135-36 a litre, by area: "8 rolls per litre", "16 rolls of 135-36 per 2 l", "640 in² per litre"."""
    found = _ROLLS.fullmatch(text.strip())
    if found is None:
        raise Refused(
            f'"{quoted(text)}" is not understood: write it like 8 rolls per litre, 16 rolls of 120 per 2 l or'
            " 640 in² per litre"
        )
    number = float(found["number"].replace(",", "."))
    each_cm2 = _CM2_PER[found["unit"]] if found["unit"] else _film_cm2(found["what"])
    volume = found["volume"].strip()
    litres = volume_ml(volume if volume[0].isdigit() else f"1 {volume}") / 1000.0
    if litres <= 0.0:
        raise Refused(f'"{quoted(text)}" is per no volume at all: write it like 8 rolls per litre')
    return number * each_cm2 / ROLL_CM2 / litres


def _film_cm2(what: str | None) -> float:
    """The film (cm²) of one of these rolls: a format, or an area; without either a 135-36."""
    if what is None:
        return ROLL_CM2
    area = _AREA.fullmatch(what.strip())
    return (
        float(area["number"].replace(",", ".")) * _CM2_PER[area["unit"]] if area else film_area_cm2(what.strip())
    )


def _per_roll(text: str) -> float:
    """A share for each roll of 135-36: "2 %", or "2 % per roll of 120" in proportion to the films' areas."""
    found = _PERCENT.fullmatch(text.strip())
    each_cm2 = _film_cm2(found["what"]) if found is not None else 0.0
    if found is None or each_cm2 <= 0.0:
        raise Refused(f'"{quoted(text)}" is not understood: write it like 2 %, or 2 % per roll of 120')
    return float(found["number"].replace(",", ".")) / 100.0 * ROLL_CM2 / each_cm2


def _fraction(text: str) -> float:
    found = _PERCENT.fullmatch(text.strip())
    if found is None or found["each"]:
        raise Refused(f'"{quoted(text)}" is not understood: write it like 2 %')
    return float(found["number"].replace(",", ".")) / 100.0


def _factor(value: object) -> object:
    """A factor as a number, or as people write it: "x 1.25", "1.25 x", "+25 %"."""
    if not isinstance(value, str):
        return value
    plain = " ".join(value.split()).lower()
    if found := _MORE.fullmatch(plain):
        return 1.0 + (-1 if found[1] == "-" else 1) * _number(found[2]) / 100.0
    if found := _FACTOR.fullmatch(plain):
        return _number(next(each for each in found.groups() if each))
    raise ValueError(f'"{quoted(value)}" is no factor: write it like 1.25, "x 1.25" or "+25 %"')


def _stops(value: object) -> object:
    """Stops as a number, or as people write them: "1 stop", "+2 stops", "-1 stop"."""
    if not isinstance(value, str):
        return value
    found = _STOPS.fullmatch(" ".join(value.split()).lower())
    if found is None:
        raise ValueError(f'"{quoted(value)}" is no number of stops: write it like 1 or "1 stop"')
    return _number(found[2]) * (-1 if found[1] == "-" else 1)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _days(text: str) -> float:
    return duration_s(text) / DAY_S


def _id(value: object) -> object:
    if isinstance(value, str) and (len(value) > 40 or not _ID.fullmatch(value)):
        raise ValueError(f'"{quoted(value)}" is no id: at most 40 of a to z, 0 to 9 and single hyphens')
    return value


def _one_or_more(value: object) -> object:
    """A single text where a list of texts may stand is a list of one."""
    return [value] if isinstance(value, str) else value


def in_order(pairs: list[tuple[float, float]], what: str) -> list[tuple[float, float]]:
    """The rows by their first entries, the least first; refused where two rows have the same one."""
    ordered = sorted(pairs)
    for (before, _), (after, _) in pairwise(ordered):
        if after == before:
            raise ValueError(f"two rows are for {after:g} {what}: take one of them out")
    return ordered


def span(value: list[float]) -> tuple[float, float]:
    """Two temperatures, the lower first."""
    low, high = value
    if low >= high:
        raise ValueError("the first temperature must be lower than the second")
    return low, high


BathCelsius = Annotated[float, BeforeValidator(_read(temperature_c, 0, 60, "baths are between 0 and 60 °C"))]
WaterCelsius = Annotated[float, BeforeValidator(_read(temperature_c, 0, 100, "water is between 0 and 100 °C"))]
Difference = Annotated[float, BeforeValidator(_read(difference_c, 0, 10, "it is at most 10 °C"))]
Seconds = Annotated[
    float, BeforeValidator(_read(duration_s, 0.001, LONGEST_STEP_S, "a time is more than 0 and at most 7 days"))
]
LeadIn = Annotated[float, BeforeValidator(_read(duration_s, 0, 60, "a lead-in is at most 60 s"))]
BellEvery = Annotated[float, BeforeValidator(_bell)]
Days = Annotated[float, BeforeValidator(_read(_days, 0.5, 7305, "a life is between half a day and 20 years"))]
Millilitres = Annotated[float, BeforeValidator(_read(volume_ml, 1, 100_000, "it is between 1 ml and 100 l"))]
CarryOver = Annotated[float, BeforeValidator(_read(volume_ml, 0, 1000, "it is at most 1 l"))]
RollsPerLitre = Annotated[float, BeforeValidator(_read(_rolls, 0, 1000, "it is at most 1000 rolls per litre"))]
Fraction = Annotated[float, BeforeValidator(_read(_fraction, 0, 1, "it is at most 100 %"))]
PerRoll = Annotated[float, BeforeValidator(_read(_per_roll, 0, 1, "it is at most 100 %"))]
Factor = Annotated[float, BeforeValidator(_factor), Field(ge=0.2, le=5)]
Stops = Annotated[float, BeforeValidator(_stops), Field(ge=-3, le=5)]

Id = Annotated[str, BeforeValidator(_id), StringConstraints(min_length=1)]
Title = Annotated[str, StringConstraints(min_length=1, max_length=32)]
Label = Annotated[str, StringConstraints(min_length=1, max_length=40)]
TickText = Annotated[str, StringConstraints(min_length=1, max_length=60)]
Sentence = Annotated[str, StringConstraints(min_length=1, max_length=150)]
Words = Annotated[str, StringConstraints(min_length=1, max_length=400)]
Ids = Annotated[list[Id], BeforeValidator(_one_or_more), Field(max_length=12)]
