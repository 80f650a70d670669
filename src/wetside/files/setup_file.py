"""Setups as files: what is on the bench tonight, read from TOML and written as TOML.

One job: the TOML form of `domain/planning/setup.py`. A setup that is written and read again is the same setup; a
quantity is written the shortest way that reads back to the same number, in °C or °F, litres, millilitres or US
fluid ounces. Whether a setup suits its profile is not judged here.

A label is the person's own words: at most 40 characters, shown as text; characters that draw nothing or turn
the direction of writing are refused.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Final, Literal

import tomli_w
from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, model_validator

from wetside.domain.calc.tank import FILM_SIZE_MM
from wetside.domain.calc.wording import on_scale, trimmed
from wetside.domain.planning.setup import (
    AgitationPace,
    AgitationWay,
    Bottle,
    Loading,
    Material,
    Place,
    Roll,
    Setup,
    Tank,
    Water,
)
from wetside.domain.profile.model import FilmKind
from wetside.errors import FileUnusable, Refused
from wetside.files.toml_file import Document, check_format, checked, nearest, parse, read_text
from wetside.files.toml_values import (
    BathCelsius,
    CarryOver,
    Difference,
    Form,
    Fraction,
    Id,
    Label,
    Millilitres,
    Stops,
    WaterCelsius,
)
from wetside.files.units import difference_c, quoted, temperature_c, volume_ml

SETUP_FORMAT: Final = 1

FORMATS: Final = tuple(name for name in FILM_SIZE_MM if "x" not in name)
"""Formats that go on a reel; sheets do not."""

HEADER: Final = """\
# What is on the bench tonight, for Wetside. TOML 1.0: change it with any editor.
# Temperatures: "102 °F" or "38.9 °C". Volumes: "1 l", "500 ml", "20 US fl oz".
# rolls: kind is "standard", "backed" or "slide"; push is in stops. tank: cover has one volume
# for one loaded reel, one for two, and so on. agitation is "as the process", "continuous",
# "each half minute" or "each minute"; agitated_by is "inversion" or "rotation".

"""

_WATER: Final = Water()


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


FilmFormat = Annotated[str, BeforeValidator(_film_format)]
Day = Annotated[str, BeforeValidator(_day)]
Remark = Annotated[str, StringConstraints(max_length=40)]


class RollForm(Form):
    """One roll."""

    label: Label
    kind: FilmKind
    format: FilmFormat = "135-36"
    push: Stops = 0.0
    stock: Remark = ""
    exposure_index: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    camera: Remark = ""
    shot_at: Remark = ""
    shot_on: Day | None = None


class TankForm(Form):
    """The tank."""

    places: Annotated[int, Field(ge=1, le=20)]
    cover: Annotated[list[Millilitres], Field(min_length=1, max_length=20), AfterValidator(_not_falling)]
    material: Literal["plastic", "steel"] = "plastic"
    places_for_120: Annotated[int, Field(ge=1, le=4)] = 2
    carry_over: CarryOver = 10.0


class BottleForm(Form):
    """One bottle. What stands on the shelf under its `shelf_id` knows its own label and volume."""

    @model_validator(mode="before")
    @classmethod
    def _known_on_the_shelf(cls, given: object) -> object:
        if isinstance(given, dict) and isinstance(given.get("shelf_id"), str):
            return {"label": given["shelf_id"], "volume": "1 l", **given}
        return given

    solution: Id
    label: Label
    volume: Millilitres
    material: Material = "soft"
    used_rolls: Annotated[float, Field(ge=0, le=1000)] = 0.0
    mixed_on: Day | None = None
    full: bool = True
    start: BathCelsius | None = None
    price: Annotated[float, Field(ge=0, le=100_000)] | None = None
    shelf_id: Label | None = None
    reason: Annotated[str, StringConstraints(max_length=200)] = ""
    spent: Annotated[str, StringConstraints(max_length=200)] = ""
    best_before: Day | None = None
    suspect: Annotated[str, StringConstraints(max_length=200)] = ""
    tested: Day | None = None
    backed_rolls: Annotated[float, Field(ge=0, le=1000)] = 0.0


class WaterForm(Form):
    """Taps, room and the tempering bath."""

    hot: WaterCelsius = _WATER.hot_c
    cold: WaterCelsius = _WATER.cold_c
    room: BathCelsius = _WATER.room_c
    bath_volume: Millilitres = _WATER.bath_ml
    bath: WaterCelsius | None = _WATER.bath_c
    humidity: Fraction = _WATER.humidity
    covered: bool = _WATER.covered


class SetupForm(Form):
    """The whole file, but for its `format`."""

    title: Annotated[str, StringConstraints(min_length=1, max_length=60)]
    profile: Annotated[str, StringConstraints(min_length=1, max_length=200)]
    rolls: Annotated[list[RollForm], Field(min_length=1, max_length=100)]
    tank: TankForm
    bottles: Annotated[list[BottleForm], Field(max_length=20)]
    water: WaterForm = WaterForm()
    place: Place = "dark room"
    loading: Loading = "while warming"
    agitation: AgitationPace = "as the process"
    agitated_by: AgitationWay = "inversion"
    thermometer_error: Difference | None = None
    developer: BathCelsius | None = None
    who: Annotated[str, StringConstraints(max_length=40)] = ""
    note: Annotated[str, StringConstraints(max_length=400)] = ""
    invented: bool = False


def read_setup(path: Path, thermometer_error_c: float = 0.5) -> Setup:
    """The setup in a file; a symbolic link is followed. Raises FileUnusable with all findings.

    thermometer_error_c: the thermometer's error where the file does not say one.
    """
    return setup_from_text(read_text(path), path.name, thermometer_error_c)


def setup_from_text(text: str, name: str, thermometer_error_c: float = 0.5) -> Setup:
    """As `read_setup`, from a text; `name` is what findings call it."""
    document = parse(text, name)
    check_format(document, SETUP_FORMAT)
    form = checked(document, SetupForm)
    _check_cover(document)
    document.stop_if_wrong()
    if form is None:
        raise FileUnusable((f"{document.name} cannot be read as a setup.",))
    return _setup(form, thermometer_error_c)


def write_setup(setup: Setup) -> str:
    """The TOML text of a setup, with a commented header; `setup_from_text` gives the same setup back."""
    data = {
        "format": SETUP_FORMAT,
        "title": setup.title,
        "profile": setup.profile,
        "place": setup.place,
        "loading": setup.loading,
        "agitation": setup.agitation,
        "agitated_by": setup.agitated_by,
        "thermometer_error": _written_difference(setup.thermometer_error_c),
        "developer": _written_temperature(setup.developer_c),
        "who": setup.who or None,
        "note": setup.note or None,
        "invented": setup.invented or None,
        "tank": {
            "places": setup.tank.places,
            "cover": [_written_volume(volume) for volume in setup.tank.cover_ml],
            "material": setup.tank.material,
            "places_for_120": setup.tank.places_for_120,
            "carry_over": _written_volume(setup.tank.carry_over_ml),
        },
        "water": _water_data(setup.water),
        "rolls": [_roll_data(roll) for roll in setup.rolls],
        "bottles": [_bottle_data(bottle) for bottle in setup.bottles],
    }
    return HEADER + tomli_w.dumps(_without_none(data), multiline_strings=False)


def _check_cover(document: Document) -> None:
    """One volume for each number of loaded reels."""
    tank = document.data.get("tank")
    cover = tank.get("cover") if isinstance(tank, dict) else None
    if not isinstance(tank, dict) or not isinstance(cover, list):
        return
    places = tank.get("places")
    if isinstance(places, int) and not isinstance(places, bool) and len(cover) != places:
        document.find(("tank", "cover"), f"it has {len(cover)} volumes for {places} places; give one for each")


def _setup(form: SetupForm, thermometer_error_c: float) -> Setup:
    return Setup(
        title=form.title,
        profile=form.profile,
        rolls=tuple(Roll(**dict(each)) for each in form.rolls),
        tank=Tank(
            places=form.tank.places,
            cover_ml=tuple(form.tank.cover),
            material=form.tank.material,
            places_for_120=form.tank.places_for_120,
            carry_over_ml=form.tank.carry_over,
        ),
        bottles=tuple(_bottle(each) for each in form.bottles),
        water=Water(
            hot_c=form.water.hot,
            cold_c=form.water.cold,
            room_c=form.water.room,
            bath_ml=form.water.bath_volume,
            bath_c=form.water.bath,
            humidity=form.water.humidity,
            covered=form.water.covered,
        ),
        place=form.place,
        loading=form.loading,
        agitation=form.agitation,
        agitated_by=form.agitated_by,
        thermometer_error_c=thermometer_error_c if form.thermometer_error is None else form.thermometer_error,
        developer_c=form.developer,
        who=form.who,
        note=form.note,
        invented=form.invented,
    )


def _roll_data(roll: Roll) -> dict[str, Any]:
    return {
        "label": roll.label,
        "kind": roll.kind,
        "format": roll.format,
        "push": roll.push,
        "stock": roll.stock or None,
        "exposure_index": roll.exposure_index,
        "camera": roll.camera or None,
        "shot_at": roll.shot_at or None,
        "shot_on": None if roll.shot_on is None else date.fromisoformat(roll.shot_on),
    }


def _bottle(form: BottleForm) -> Bottle:
    return Bottle(
        solution=form.solution,
        label=form.label,
        volume_ml=form.volume,
        material=form.material,
        used_rolls=form.used_rolls,
        mixed_on=form.mixed_on,
        full=form.full,
        start_c=form.start,
        price=form.price,
        shelf_id=form.shelf_id,
        reason=form.reason,
        spent=form.spent,
        best_before=form.best_before,
        suspect=form.suspect,
        tested=form.tested,
        backed_rolls=form.backed_rolls,
    )


def _water_data(water: Water) -> dict[str, Any]:
    return {
        "hot": _written_temperature(water.hot_c),
        "cold": _written_temperature(water.cold_c),
        "room": _written_temperature(water.room_c),
        "bath_volume": _written_volume(water.bath_ml),
        "bath": _written_temperature(water.bath_c),
        "humidity": f"{trimmed(water.humidity * 100, 3)} %",
        "covered": water.covered,
    }


def _bottle_data(bottle: Bottle) -> dict[str, Any]:
    return {
        "solution": bottle.solution,
        "label": bottle.label,
        "volume": _written_volume(bottle.volume_ml),
        "material": bottle.material,
        "used_rolls": bottle.used_rolls,
        "mixed_on": None if bottle.mixed_on is None else date.fromisoformat(bottle.mixed_on),
        "full": bottle.full,
        "start": _written_temperature(bottle.start_c),
        "price": bottle.price,
        "shelf_id": bottle.shelf_id,
        "reason": bottle.reason or None,
        "spent": bottle.spent or None,
        "best_before": None if bottle.best_before is None else date.fromisoformat(bottle.best_before),
        "suspect": bottle.suspect or None,
        "tested": None if bottle.tested is None else date.fromisoformat(bottle.tested),
        "backed_rolls": bottle.backed_rolls or None,
    }


def _written_temperature(c: float | None) -> str | None:
    if c is None:
        return None
    shown = (f"{trimmed(c, 2)} °C", f"{trimmed(on_scale(c, '°F'), 2)} °F", f"{trimmed(c, 12)} °C")
    return _first_that_reads_back(c, shown, temperature_c)


def _written_difference(c: float) -> str:
    shown = (f"{trimmed(c, 2)} °C", f"{trimmed(c * 1.8, 2)} °F", f"{trimmed(c, 12)} °C")
    return _first_that_reads_back(c, shown, difference_c)


def _written_volume(ml: float) -> str:
    shown = (
        f"{trimmed(ml / 1000.0, 3)} l" if ml >= 1000.0 else f"{trimmed(ml, 1)} ml",
        *((f"{trimmed(ml / 3785.411784, 1)} US gal",) if ml >= 3785.0 else ()),
        f"{trimmed(ml / 29.5735295625, 2)} US fl oz",
        f"{ml:.12f} ml",  # never three decimals, which may part thousands
    )
    return _first_that_reads_back(ml, shown, volume_ml)


def _first_that_reads_back(value: float, shown: tuple[str, ...], read: Callable[[str], float]) -> str:
    """The first text that reads back to exactly this value, or the last one, which is nearest."""
    return next((text for text in shown if _read_or_none(read, text) == value), shown[-1])


def _read_or_none(read: Callable[[str], float], text: str) -> float | None:
    """None for a text that could be meant in two ways, such as 1.001 ml."""
    try:
        return read(text)
    except Refused:
        return None


def _without_none(data: Any) -> Any:
    """TOML has no null: what is not given is left out."""
    match data:
        case dict():
            return {key: _without_none(value) for key, value in data.items() if value is not None}
        case list():
            return [_without_none(value) for value in data]
    return data
