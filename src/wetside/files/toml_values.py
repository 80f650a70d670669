"""Types of values and tables in profiles and setups, as annotated types for pydantic.

Values are converted to base units (s, °C, ml, days, rolls per litre), tables to the domain's frozen structs by
the names of their fields (`form`): a new field of a struct is a new key. The limits refuse mistakes such as a
bath of 80 °C or a developer of nine days.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Annotated, Any, Final, TypeVar, get_type_hints

from msgspec import NODEFAULT, Struct
from msgspec.structs import fields
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, create_model

from wetside.domain.calc.tank import FILM_AREA_CM2, ROLL_CM2
from wetside.domain.profile.model import LEAST_BELL_S, MOST_ID, MOST_LABEL, MOST_SENTENCE, MOST_TICK, MOST_TITLE
from wetside.errors import Refused
from wetside.files.units import decimal, difference_c, duration_s, quoted, temperature_c, volume_ml

DAY_S: Final = 86_400.0
LONGEST_STEP_S: Final = 7 * DAY_S
_DECIMAL: Final = r"(\d{1,4}(?:[.,]\d{1,4})?)"
_FACTOR: Final = re.compile(rf"(?:[x×*] ?{_DECIMAL}|{_DECIMAL} ?[x×]|{_DECIMAL})")
_MORE: Final = re.compile(rf"([+-]) ?{_DECIMAL} ?(?:%|per ?cent)")
_STOPS: Final = re.compile(rf"([+-]?) ?{_DECIMAL} ?(?:stops?)?")
_AMOUNT: Final = r"(?P<number>\d{1,6}(?:[.,]\d{1,3})?) ?"
_AREA_UNIT: Final = r"(?P<unit>cm²|cm2|in²|in2)"
_AREA: Final = re.compile(_AMOUNT + _AREA_UNIT)
_FILM: Final = rf"(?:(?:rolls?|films?)(?: of (?P<what>.+?))?|{_AREA_UNIT})"
_ROLLS: Final = re.compile(_AMOUNT + _FILM + r" ?(?:per|in(?![²2])|/) ?(?P<volume>.+)")
_CM2_PER: Final = {"cm²": 1.0, "cm2": 1.0, "in²": 2.54**2, "in2": 2.54**2}
_EACH: Final = r"(?P<each> (?:per|for each|each|a) (?:roll|film)(?: of (?P<what>.+))?)?"
_PERCENT: Final = re.compile(r"\+? ?(?P<number>\d{1,4}(?:[.,]\d{1,3})?) ?(?:%|per ?cent)" + _EACH)


def _read(read: Callable[[str], float], low: float, high: float, sense: str) -> BeforeValidator:
    """Reads a quantity with its unit; refuses values outside `low` to `high`, with the reason `sense`."""

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

    return BeforeValidator(validate)


def _bell_s(text: str) -> float:
    """The time (s) from bell to bell in the dark; a value below any limit if bells could not be told apart."""
    seconds = duration_s(text)
    return -1.0 if 0 < seconds < LEAST_BELL_S else seconds


def _rolls(text: str) -> float:
    """Rolls of 135-36 a litre, by area: "8 rolls per litre", "16 rolls of 135-36 per 2 l", "640 in² per litre"."""
    found = _ROLLS.fullmatch(text.strip())
    if found is None:
        raise Refused(
            f'"{quoted(text)}" is not understood: write it like 8 rolls per litre, 16 rolls of 120 per 2 l or'
            " 640 in² per litre"
        )
    each_cm2 = _CM2_PER[found["unit"]] if found["unit"] else _film_cm2(found["what"])
    volume = found["volume"].strip()
    litres = volume_ml(volume if volume[0].isdigit() else f"1 {volume}") / 1000.0
    if litres <= 0.0:
        raise Refused(f'"{quoted(text)}" is per no volume at all: write it like 8 rolls per litre')
    return decimal(found["number"]) * each_cm2 / ROLL_CM2 / litres


def _film_cm2(what: str | None) -> float:
    """The area (cm²) of one roll of a format or of a stated area; of a 135-36 when neither is said."""
    if what is None:
        return ROLL_CM2
    if area := _AREA.fullmatch(what.strip()):
        return decimal(area["number"]) * _CM2_PER[area["unit"]]
    if what.strip() not in FILM_AREA_CM2:
        known = ", ".join(FILM_AREA_CM2)
        raise Refused(f'Film format "{what.strip()}" has no known size; choose one of {known}.')
    return FILM_AREA_CM2[what.strip()]


def _per_roll(text: str) -> float:
    """A share for each roll of 135-36: "2 %", or "2 % per roll of 120" in proportion to the films' areas."""
    found = _PERCENT.fullmatch(text.strip())
    each_cm2 = _film_cm2(found["what"]) if found is not None else 0.0
    if found is None or each_cm2 <= 0.0:
        raise Refused(f'"{quoted(text)}" is not understood: write it like 2 %, or 2 % per roll of 120')
    return decimal(found["number"]) / 100.0 * ROLL_CM2 / each_cm2


def _fraction(text: str) -> float:
    found = _PERCENT.fullmatch(text.strip())
    if found is None or found["each"]:
        raise Refused(f'"{quoted(text)}" is not understood: write it like 2 %')
    return decimal(found["number"]) / 100.0


def _factor(value: object) -> object:
    """A factor as a number, or as people write it: "x 1.25", "1.25 x", "+25 %"."""
    if not isinstance(value, str):
        return value
    plain = " ".join(value.split()).lower()
    if found := _MORE.fullmatch(plain):
        return 1.0 + (-1 if found[1] == "-" else 1) * decimal(found[2]) / 100.0
    if found := _FACTOR.fullmatch(plain):
        return decimal(next(each for each in found.groups() if each))
    raise ValueError(f'"{quoted(value)}" is no factor: write it like 1.25, "x 1.25" or "+25 %"')


def _stops(value: object) -> object:
    """Stops as a number, or as people write them: "1 stop", "+2 stops", "-1 stop"."""
    if not isinstance(value, str):
        return value
    found = _STOPS.fullmatch(" ".join(value.split()).lower())
    if found is None:
        raise ValueError(f'"{quoted(value)}" is no number of stops: write it like 1 or "1 stop"')
    return decimal(found[2]) * (-1 if found[1] == "-" else 1)


def _id(value: object) -> object:
    if isinstance(value, str) and (len(value) > MOST_ID or not re.fullmatch(r"[a-z0-9]+(?:-[a-z0-9]+)*", value)):
        raise ValueError(f'"{quoted(value)}" is no id: at most {MOST_ID} of a to z, 0 to 9 and single hyphens')
    return value


def in_order(pairs: list[tuple[float, float]], what: str) -> list[tuple[float, float]]:
    """The rows sorted by their first entries; refused if two rows have the same one."""
    ordered = sorted(pairs)
    for (before, _), (after, _) in pairwise(ordered):
        if after == before:
            raise ValueError(f"two rows are for {after:g} {what}: take one of them out")
    return ordered


BathCelsius = Annotated[float, _read(temperature_c, 0, 60, "baths are between 0 and 60 °C")]
RoomCelsius = Annotated[float, _read(temperature_c, 0, 50, "a room is between 0 and 50 °C")]
WaterCelsius = Annotated[float, _read(temperature_c, 0, 100, "water is between 0 and 100 °C")]
Difference = Annotated[float, _read(difference_c, 0, 10, "it is at most 10 °C")]
Seconds = Annotated[float, _read(duration_s, 0.001, LONGEST_STEP_S, "a time is more than 0 and at most 7 days")]
LeadIn = Annotated[float, _read(duration_s, 0, 60, "a lead-in is at most 60 s")]
_BELL: Final = f"a bell in the dark comes every {LEAST_BELL_S:g} s at the most often; 0 s is none"
BellEvery = Annotated[float, _read(_bell_s, 0, LONGEST_STEP_S, _BELL)]
_LIFE: Final = "a life is between half a day and 20 years"
Days = Annotated[float, _read(lambda text: duration_s(text) / DAY_S, 0.5, 7305, _LIFE)]
Millilitres = Annotated[float, _read(volume_ml, 1, 100_000, "it is between 1 ml and 100 l")]
CarryOver = Annotated[float, _read(volume_ml, 0, 1000, "it is at most 1 l")]
RollsPerLitre = Annotated[float, _read(_rolls, 0, 1000, "it is at most 1000 rolls per litre")]
Fraction = Annotated[float, _read(_fraction, 0, 1, "it is at most 100 %")]
PerRoll = Annotated[float, _read(_per_roll, 0, 1, "it is at most 100 %")]
Factor = Annotated[float, BeforeValidator(_factor), Field(ge=0.2, le=5)]
Stops = Annotated[float, BeforeValidator(_stops), Field(ge=-3, le=5)]


# -------------------------------------------------------- texts and lists


def text(most: int, least: int = 1) -> Any:
    """A text of so many characters."""
    return Annotated[str, StringConstraints(min_length=least, max_length=most)]


def listed(kind: Any, most: int, least: int = 0, *checks: BeforeValidator | AfterValidator) -> Any:
    """A list of so many entries of one kind."""
    return Annotated[list[kind], Field(min_length=least or None, max_length=most), *checks]


def ids(most: int = 12) -> Any:
    """A list of ids; one id alone may be written without brackets."""
    return listed(Id, most, 0, BeforeValidator(lambda value: [value] if isinstance(value, str) else value))


Id = Annotated[str, BeforeValidator(_id), StringConstraints(min_length=1)]
Title = text(MOST_TITLE)
Label = text(MOST_LABEL)
TickText = text(MOST_TICK)
Sentence = text(MOST_SENTENCE)
Words = text(400)


# ------------------------------------------------------------------ tables

_UNIT: Final = re.compile(r"_(?:c|s|ml|days|per_l)$")
_BY_UNIT: Final = {
    "_c": BathCelsius,
    "_s": Seconds,
    "_ml": Millilitres,
    "_days": Days,
    "_per_l": RollsPerLitre,
}
_BY_NAME: Final[dict[str, Any]] = {
    "title": Title,
    "label": Label,
    **dict.fromkeys(("id", "stage", "source", "solution", "of", "residue", "due", "closes", "joins"), Id),
    **dict.fromkeys(("through", "into", "back_through", "dedicated_to", "backed_instead"), Id),
    **dict.fromkeys(("touches", "rinses", "clears", "needs_caution"), ids()),
    **dict.fromkeys(("instruction", "safe_way_out", "why", "hazard", "consequence", "avoid"), Sentence),
}
"""The kind of a field by its name, whatever table it is in."""
Made = TypeVar("Made", bound=Struct)


class Form(BaseModel):
    """Base of all forms: unknown keys and values of other types are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


def key_of(name: str) -> str:
    """The key for a struct's field: its name without the unit."""
    return _UNIT.sub("", name)


def form(model: type, keys: Mapping[str, str] | None = None, **kinds: Any) -> type[Form]:
    """The pydantic form of a table with a key for each field of `model`, a frozen struct.

    keys: keys that differ from `key_of`. kinds: the type of a key by the field's name; without one it follows from
    the field's unit, else from its name or annotation; None omits the field. A key is optional if the field has a
    default, or if its kind is a pair (kind, default). Kinds that belong to no field are additional keys. Required
    keys come first.
    """
    hints = get_type_hints(model)
    needed: dict[str, Any] = {}
    optional: dict[str, Any] = {}
    for each in fields(model):
        unit = _UNIT.search(each.name)
        usual = _BY_UNIT[unit[0]] if unit else _BY_NAME.get(each.name, hints[each.name])
        kind = kinds.pop(each.name, usual)
        if kind is None:
            continue
        kind, default = kind if isinstance(kind, tuple) else (kind, each.default)
        key = (keys or {}).get(each.name) or key_of(each.name)
        if default is NODEFAULT:
            needed[each.name] = (kind, Field(alias=key))
        else:
            optional[each.name] = (kind, Field(default, alias=key))
    return create_model(model.__name__, __base__=Form, **needed, **optional, **kinds)


def made(model: type[Made], read: Form, **given: Any) -> Made:
    """The struct with the values of a form; `given` replaces or adds fields."""
    names = {*model.__struct_fields__} & type(read).model_fields.keys()
    values = {name: getattr(read, name) for name in names - given.keys()}
    return model(**given, **{name: tuple(v) if isinstance(v, list) else v for name, v in values.items()})


def table(model: Any, keys: Mapping[str, str] | None = None, **kinds: Any) -> Any:
    """The type that reads a table into `model`; see `form`."""
    return Annotated[form(model, keys, **kinds), AfterValidator(lambda read: made(model, read))]


def tables(model: Any, most: int, least: int = 0, **kinds: Any) -> Any:
    """The type that reads tables by ids, such as [solutions.developer], into a tuple of `model`; see `form`."""
    one: Any = form(model, id=None, **kinds)

    def by_id(read: dict[str, Form]) -> tuple[Any, ...]:
        return tuple(made(model, each, id=id_) for id_, each in read.items())

    limits = Field(min_length=least or None, max_length=most)
    return Annotated[dict[Id, one], limits, AfterValidator(by_id)]
