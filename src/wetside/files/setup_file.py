"""Reads and writes setups (what is on the bench for an evening) as TOML, by field names.

Writing and reading returns an equal setup: a quantity is written in the shortest way that reads back to the same
number, in °C or °F, litres, millilitres or US measures. Whether a setup suits its profile is checked elsewhere. A
label is free text of at most 40 visible characters.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Final

import tomli_w
from msgspec import Struct
from msgspec.structs import asdict
from pydantic import AfterValidator, BeforeValidator, Field

from wetside.domain.calc.tank import FILM_SIZE_MM
from wetside.domain.messages import Message, as_written
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank, Water
from wetside.errors import Refused
from wetside.files.toml_file import Document, check_format, check_kind, checked, nearest, parse, read_text
from wetside.files.toml_values import (
    CarryOver,
    Difference,
    Fraction,
    Label,
    Millilitres,
    RoomCelsius,
    Stops,
    WaterCelsius,
    form,
    key_of,
    listed,
    made,
    table,
    text,
)
from wetside.files.units import difference_c, quoted, temperature_c, volume_ml
from wetside.present.message_words import in_words
from wetside.present.wording import ML_PER, on_scale, trimmed

SETUP_FORMAT: Final = 1

FORMATS: Final = tuple(name for name in FILM_SIZE_MM if "x" not in name)
"""Film formats that go on a reel, unlike sheets."""

HEADER: Final = """\
# What is on the bench tonight, for Wetside. TOML 1.0: change it with any editor.
# Temperatures: "102 °F" or "38.9 °C". Volumes: "1 l", "500 ml", "20 US fl oz".
# rolls: kind is "standard", "backed" or "slide"; push is in stops. tank: cover has one volume
# for one loaded reel, one for two, and so on. agitation is "as the process", "continuous",
# "each half minute" or "each minute"; agitated_by is "inversion" or "rotation".

"""


def _film_format(value: object) -> object:
    if isinstance(value, str) and value not in FORMATS:
        raise ValueError(f'"{quoted(value)}" is no format for a reel{nearest(value, FORMATS)}')
    return value


def _day(value: object) -> object:
    """A TOML date, or the same in quotes, as its ISO text."""
    if isinstance(value, datetime) or not isinstance(value, date | str):
        raise ValueError("write the day like 2026-05-01")
    if isinstance(value, date):
        return value.isoformat()
    try:
        return date.fromisoformat(value).isoformat()
    except ValueError:
        raise ValueError(f'"{quoted(value)}" is no day: write it like 2026-05-01') from None


def _not_falling(volumes: list[float]) -> list[float]:
    for number, (before, after) in enumerate(pairwise(volumes), 2):
        if after < before:
            raise ValueError(f"{number} loaded reels cannot need less than {number - 1}")
    return volumes


def _known_on_the_shelf(given: object) -> object:
    """Fill in a label and a volume for a bottle with a `shelf_id`: the shelf knows its own."""
    if isinstance(given, dict) and isinstance(given.get("shelf_id"), str):
        return {"label": given["shelf_id"], "volume": "1 l", **given}
    return given


def _limited(kind: type, low: float, high: float) -> Any:
    return Annotated[kind, Field(ge=low, le=high)]


MOST_JUDGED: Final = 200
_KEYS: Final = {"bath_ml": "bath_volume"}
"""Keys that differ from the field's name without its unit."""
_Judged: Final = Annotated[text(MOST_JUDGED, 0), AfterValidator(lambda said: as_written(said) if said else None)]
_Day: Final = Annotated[str, BeforeValidator(_day)]
_RollTable: Final = table(
    Roll,
    format=Annotated[str, BeforeValidator(_film_format)],
    push=Stops,
    stock=text(40, 0),
    exposure_index=_limited(int, 1, 1_000_000),
    camera=text(40, 0),
    shot_at=text(40, 0),
    shot_on=_Day,
)
_TankTable: Final = table(
    Tank,
    places=_limited(int, 1, 20),
    cover_ml=listed(Millilitres, 20, 1, AfterValidator(_not_falling)),
    places_for_120=_limited(int, 1, 4),
    carry_over_ml=CarryOver,
)
_BottleTable: Final[Any] = Annotated[
    table(
        Bottle,
        used_rolls=_limited(float, 0, 1000),
        mixed_on=_Day,
        price=_limited(float, 0, 100_000),
        shelf_id=Label,
        reason=text(200, 0),
        spent=_Judged,
        best_before=_Day,
        suspect=_Judged,
        tested=_Day,
        backed_rolls=_limited(float, 0, 1000),
    ),
    BeforeValidator(_known_on_the_shelf),
]
_WaterTable: Final = table(
    Water,
    _KEYS,
    hot_c=WaterCelsius,
    cold_c=WaterCelsius,
    room_c=RoomCelsius,
    bath_c=WaterCelsius,
    humidity=Fraction,
)
SetupForm = form(
    Setup,
    title=text(60),
    profile=text(200),
    rolls=listed(_RollTable, 100, 1),
    tank=_TankTable,
    bottles=listed(_BottleTable, 20),
    water=_WaterTable,
    thermometer_error_c=Difference,
    who=text(40, 0),
    note=text(400, 0),
)
"""The whole file, but for its `format`."""


def read_setup(path: Path, thermometer_error_c: float = 0.5) -> Setup:
    """The setup in a file; a symbolic link is followed. Raises FileUnusable with all findings.

    thermometer_error_c: the thermometer's error (°C) if the file states none.
    """
    return setup_from_text(read_text(path), path.name, thermometer_error_c)


def setup_from_text(text: str, name: str, thermometer_error_c: float = 0.5) -> Setup:
    """As `read_setup`, from a text; findings use `name` as its file name."""
    document = parse(text, name)
    check_kind(document, "setup")
    check_format(document, SETUP_FORMAT)
    read = checked(document, SetupForm, _check_cover)
    said = "thermometer_error_c" in read.model_fields_set
    return made(Setup, read) if said else made(Setup, read, thermometer_error_c=thermometer_error_c)


def _check_cover(document: Document) -> None:
    """Report a tank without one volume for each number of loaded reels."""
    tank = document.data.get("tank")
    cover = tank.get("cover") if isinstance(tank, dict) else None
    if not isinstance(tank, dict) or not isinstance(cover, list):
        return
    places = tank.get("places")
    if isinstance(places, int) and not isinstance(places, bool) and len(cover) != places:
        document.find(("tank", "cover"), f"it has {len(cover)} volumes for {places} places; give one for each")


# ------------------------------------------------------------------- writing


def write_setup(setup: Setup) -> str:
    """The TOML text of a setup, with a commented header; `setup_from_text` returns an equal setup."""
    data = {"format": SETUP_FORMAT, **_table(setup)}
    tables = {key: data.pop(key) for key in ("tank", "water", "rolls", "bottles")}
    return HEADER + tomli_w.dumps(data | tables, multiline_strings=False)


_DAYS: Final = ("shot_on", "mixed_on", "best_before", "tested")
_UNSAID: Final[dict[str, object]] = {"invented": False, "backed_rolls": 0.0}
"""Values that are not written; nor are None and empty texts."""


def _table(of: Any) -> dict[str, Any]:
    """A struct as a TOML table: every field under its key, quantities in words that read back."""
    table = {}
    for name, value in asdict(of).items():
        if value is not None and value != "" and value != _UNSAID.get(name):
            table[_KEYS.get(name) or key_of(name)] = _written(name, value)
    return table


def _written(name: str, value: Any) -> Any:
    if isinstance(value, Message):
        return in_words(value)[:MOST_JUDGED]
    if isinstance(value, Struct):
        return _table(value)
    if isinstance(value, tuple):
        return [_written(name, each) for each in value]
    if name in _DAYS:
        return date.fromisoformat(value)
    if name == "humidity":
        return f"{trimmed(value * 100, 3)} %"
    if name == "thermometer_error_c":
        shown = (f"{trimmed(value, 2)} °C", f"{trimmed(value * 1.8, 2)} °F", f"{trimmed(value, 12)} °C")
        return _first_that_reads_back(value, shown, difference_c)
    if name.endswith("_c"):
        shown = (f"{trimmed(value, 2)} °C", f"{trimmed(on_scale(value, '°F'), 2)} °F", f"{trimmed(value, 12)} °C")
        return _first_that_reads_back(value, shown, temperature_c)
    return _written_volume(value) if name.endswith("_ml") else value


def _written_volume(ml: float) -> str:
    shown = (
        f"{trimmed(ml / 1000.0, 3)} l" if ml >= 1000.0 else f"{trimmed(ml, 1)} ml",
        *((f"{trimmed(ml / ML_PER['US gal'], 1)} US gal",) if ml >= 3785.0 else ()),
        f"{trimmed(ml / ML_PER['US fl oz'], 2)} US fl oz",
        f"{ml:.12f} ml",  # never three decimals, which could be read as thousands
    )
    return _first_that_reads_back(ml, shown, volume_ml)


def _first_that_reads_back(value: float, shown: tuple[str, ...], read: Callable[[str], float]) -> str:
    """The first text that reads back to exactly this value, or the last one, which is nearest."""

    def reads_back(text: str) -> bool:
        try:
            return read(text) == value
        except Refused:  # a text that could be meant in two ways, such as 1.001 ml
            return False

    return next(filter(reads_back, shown), shown[-1])
