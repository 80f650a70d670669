"""A setup as fields a person changes one by one: how each reads, and what a typed text makes of it.

One job: between `Setup` and single texts. Whatever is typed is held to the same limits as a setup file, since it
is written and read as one. Nothing is drawn, read or kept here.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, Final

from wetside.app.setup_fields import Field, Option, Put, roll_fields
from wetside.domain.calc.wording import TemperatureUnit, VolumeUnit, difference, temperature, volume
from wetside.domain.planning.setup import Bottle, Setup, Tank, Water
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import NOT_ON_SHELF, Kept, ShelfKit, choices, taken, taken_from
from wetside.errors import FileUnusable, Refused
from wetside.files import typed_values
from wetside.files.setup_file import setup_from_text, write_setup
from wetside.files.units import temperature_c, volume_ml
from wetside.present.agitation_effect import DIRECTION, EFFECT

LOADING: Final[tuple[Option, ...]] = (
    ("while warming", "while bottles warm"),
    ("after warming", "once they are warm"),
)
PACES: Final[tuple[Option, ...]] = tuple(
    (name, name) for name in ("as the process", "continuous", "each half minute", "each minute")
)
WAYS: Final[tuple[Option, ...]] = (("inversion", "inversion"), ("rotation", "rotation"))
PLACES: Final[tuple[Option, ...]] = (("dark room", "dark room"), ("changing bag", "changing bag"))
MATERIALS: Final[tuple[Option, ...]] = tuple((name, name) for name in ("soft", "glass", "steel", "pet"))
TANKS: Final[tuple[Option, ...]] = (("plastic", "plastic"), ("steel", "steel"))
YES_NO: Final[tuple[Option, ...]] = (("yes", "yes"), ("no", "no"))
NEW_BOTTLE_ML: Final = 1000.0
EVEN_SO: Final = "Even so"
"""The field of a bottle in which a reason to use it all the same is given."""

_PLACE_IN_FILE: Final = re.compile(r"^[^:]*, [^:]*: ")


@dataclass(frozen=True, slots=True)
class Units:
    """The person's units: for what is shown, and for a number typed without one."""

    temperature: TemperatureUnit = "°C"
    volume: VolumeUnit = "ml"


@dataclass(frozen=True, slots=True)
class Group:
    """What belongs together. without: makes the setup without it, None where it has to stay."""

    id: str
    title: str
    summary: str
    fields: tuple[Field, ...]
    without: Callable[[], Setup] | None = None


def groups(setup: Setup, units: Units, kept: Kept = ()) -> tuple[Group, ...]:
    """Every group of the setup: the evening, each roll, the tank, each bottle, the water."""
    return (
        _evening(setup, units),
        *(_roll(setup, number) for number in range(len(setup.rolls))),
        _tank(setup, units),
        *(_bottle(setup, number, units, kept) for number in range(len(setup.bottles))),
        _water(setup, units),
    )


def with_another_roll(setup: Setup) -> Setup:
    """One roll more, like the last one but for its label."""
    last = setup.rolls[-1]
    return _held(setup, rolls=(*setup.rolls, replace(last, label=f"Roll {len(setup.rolls) + 1}")))


def suited_to(setup: Setup, profile: Profile, name: str) -> Setup:
    """The setup for another process: its bottles where the process has them, one litre of each that is missing."""
    wanted = [solution for solution in profile.solutions if solution.storage != "tap"]
    kept = {solution.id: [b for b in setup.bottles if b.solution == solution.id] for solution in wanted}
    bottles: list[Bottle] = []
    for solution in wanted:
        bottles += kept[solution.id] or [Bottle(solution.id, solution.title, NEW_BOTTLE_ML)]
    return _held(setup, profile=name, bottles=tuple(bottles), developer_c=None)


def from_kit(setup: Setup, kit: ShelfKit) -> Setup:
    """The setup with every bottle that the kit has taken from it; the others stay as they are."""
    return _held(setup, bottles=taken_from(setup.bottles, kit))


def checked(setup: Setup) -> Setup:
    """The setup itself; Refused, in one sentence without file and line, where a setup file could not hold it."""
    try:
        setup_from_text(write_setup(setup), "setup")
    except FileUnusable as unusable:
        finding = _PLACE_IN_FILE.sub("", unusable.findings[0], count=1)
        raise Refused(finding[0].upper() + finding[1:]) from None
    return setup


def _held(setup: Setup, **changes: Any) -> Setup:
    """The setup with changes, checked. A demonstration that is changed is somebody's own evening."""
    if setup.invented:
        changes = {"invented": False, "who": "", "note": "", **changes}
    return checked(replace(setup, **changes))


def _evening(setup: Setup, units: Units) -> Group:
    developer = "as the sheet has it"
    if setup.developer_c is not None:
        developer = temperature(setup.developer_c, units.temperature)
    fields = (
        Field("Title", setup.title, "A name for this evening.", lambda text: _held(setup, title=text)),
        Field("Who", setup.who, "Who develops; it goes into the record.", lambda text: _held(setup, who=text)),
        Field(
            "Loaded in",
            setup.place,
            "Where film is wound on the reels.",
            lambda text: _held(setup, place=text),
            PLACES,
        ),
        Field(
            "Loaded",
            setup.loading,
            "Where there is room, or after.",
            lambda text: _held(setup, loading=text),
            LOADING,
        ),
        Field(
            "Agitation",
            setup.agitation,
            f"How often the tank is moved. {EFFECT}",
            lambda text: _held(setup, agitation=text),
            PACES,
        ),
        Field(
            "Moved by",
            setup.agitated_by,
            f"Turned over by hand, or the reels turned: by a stick, or on rollers. {DIRECTION}",
            lambda text: _held(setup, agitated_by=text),
            WAYS,
        ),
        Field(
            "Developer at",
            developer,
            "Its temperature tonight, such as 38.9 C or 102 F; 0 goes back to the sheet's.",
            lambda text: _held(setup, developer_c=typed_values.temperature_or_none(text, units.temperature)),
        ),
        Field(
            "Thermometer",
            f"±{difference(setup.thermometer_error_c, units.temperature)}",
            "How far it may be off either way, such as 0.3 C or 0.5 F.",
            lambda text: _held(setup, thermometer_error_c=typed_values.difference(text, units.temperature)),
        ),
    )
    return Group("evening", "Evening", f"{setup.title}, {setup.place}", fields)


def _roll(setup: Setup, number: int) -> Group:
    roll = setup.rolls[number]

    def put(**changes: Any) -> Setup:
        rolls = tuple(replace(r, **changes) if n == number else r for n, r in enumerate(setup.rolls))
        return _held(setup, rolls=rolls)

    def without() -> Setup:
        return _held(setup, rolls=setup.rolls[:number] + setup.rolls[number + 1 :])

    push = f"push {roll.push:g}: " if roll.push else ""
    summary = f"{push}{roll.label}, {roll.kind}, {roll.format}"
    stays = len(setup.rolls) == 1
    return Group(
        f"roll {number}", f"Roll {number + 1}", summary, roll_fields(roll, put), None if stays else without
    )


def _tank(setup: Setup, units: Units) -> Group:
    tank = setup.tank

    def put(**changes: Any) -> Setup:
        return _held(setup, tank=replace(tank, **changes))

    fields = [
        Field(
            "Places",
            str(tank.places),
            "How many 35 mm reels it holds.",
            lambda text: _held(setup, tank=_with_places(tank, typed_values.count(text))),
        ),
        *(_cover(setup, number, units) for number in range(len(tank.cover_ml))),
        Field("Made of", tank.material, "What it is made of.", lambda text: put(material=text), TANKS),
        Field(
            "120 takes",
            f"{tank.places_for_120} places",
            "Places that one roll of 120 takes.",
            lambda text: put(places_for_120=typed_values.count(text)),
        ),
        Field(
            "Keeps back",
            volume(tank.carry_over_ml, units.volume),
            "What stays on a reel after draining, such as 10 ml.",
            lambda text: put(carry_over_ml=volume_ml(text, units.volume, drops=True)),
        ),
    ]
    reels = "1 reel" if tank.places == 1 else f"{tank.places} reels"
    summary = f"{reels}, {volume(tank.cover_ml[-1], units.volume)}, {tank.material}"
    return Group("tank", "Tank", summary, tuple(fields))


def _cover(setup: Setup, number: int, units: Units) -> Field:
    tank = setup.tank
    reels = "1 reel" if number == 0 else f"{number + 1} reels"

    def put(text: str) -> Setup:
        volume = volume_ml(text, units.volume)
        covers = tuple(volume if n == number else each for n, each in enumerate(tank.cover_ml))
        return _held(setup, tank=replace(tank, cover_ml=covers))

    ask = f"The volume that covers {reels} with film, such as 600 ml or 20 US fl oz."
    return Field(f"Covers {reels}", volume(tank.cover_ml[number], units.volume), ask, put)


def _with_places(tank: Tank, places: int) -> Tank:
    """Another number of places; volumes for new ones go on as the last two did, to be corrected by the person."""
    if not 1 <= places <= 20:
        raise Refused("A tank here holds 1 to 20 reels.")
    covers = list(tank.cover_ml[:places])
    step_ml = covers[-1] - covers[-2] if len(covers) > 1 else covers[-1]
    while len(covers) < places:
        covers.append(covers[-1] + step_ml)
    return replace(tank, places=places, cover_ml=tuple(covers))


def _bottle(setup: Setup, number: int, units: Units, kept: Kept) -> Group:
    bottle = setup.bottles[number]

    def put(**changes: Any) -> Setup:
        bottles = tuple(replace(b, **changes) if n == number else b for n, b in enumerate(setup.bottles))
        return _held(setup, bottles=bottles)

    fields = (*_taken_from(bottle, put, kept), *_contents(bottle, put, units), *_condition(bottle, put))
    used = f"{volume(bottle.volume_ml, units.volume)}, {_rolls(bottle)} rolls so far"
    return Group(f"bottle {number}", bottle.solution.capitalize(), f"{used}, {bottle.label}", fields)


def _taken_from(bottle: Bottle, put: Put, kept: Kept) -> tuple[Field, ...]:
    """Which bottle on the shelf it is; what the shelf knows of it then stands in the other fields."""

    def take(id_: str) -> Setup:
        chosen = taken(bottle, id_, kept)
        return put(**{part.name: getattr(chosen, part.name) for part in fields(chosen)})

    offered = choices(bottle, kept)
    ask = "The bottle on the shelf that this is: its age and use are kept there."
    shown = NOT_ON_SHELF if bottle.shelf_id is None else bottle.label
    return (Field("From shelf", shown, ask, take, offered, bottle.shelf_id or ""),) if offered else ()


def _contents(bottle: Bottle, put: Put, units: Units) -> tuple[Field, ...]:
    """What is in it and how warm."""
    start = "as the room" if bottle.start_c is None else temperature(bottle.start_c, units.temperature)
    return (
        Field("Label", bottle.label, "What is written on it.", lambda text: put(label=text)),
        Field(
            "Holds",
            volume(bottle.volume_ml, units.volume),
            "How much is in it, such as 1 l or 33 US fl oz.",
            lambda text: put(volume_ml=volume_ml(text, units.volume)),
        ),
        Field(
            "Starts at",
            start,
            "Its temperature before warming, such as 20 C; 0 takes the room's.",
            lambda text: put(start_c=typed_values.temperature_or_none(text, units.temperature)),
        ),
        Field("Bottle", bottle.material, "What it is made of.", lambda text: put(material=text), MATERIALS),
    )


def _condition(bottle: Bottle, put: Put) -> tuple[Field, ...]:
    """How old and how used it is, and why it is used all the same."""
    return (
        Field(
            "Rolls so far",
            _rolls(bottle),
            "How many rolls of 36 exposures, or of 120, it has done.",
            lambda text: put(used_rolls=typed_values.number(text)),
        ),
        Field(
            "With backing",
            f"{round(bottle.backed_rolls, 1):g} rolls",
            "How many of them had their black backing on: it stays in the bottle.",
            lambda text: put(backed_rolls=typed_values.number(text)),
        ),
        Field(
            "Mixed on",
            bottle.mixed_on or "nobody knows",
            "The day, like 2026-05-01; 0 where nobody knows.",
            lambda text: put(mixed_on=typed_values.day_or_none(text)),
        ),
        Field(
            "Kept full",
            _yes_no(bottle.full),
            "Whether it is full to the neck, or squeezed until it is.",
            lambda text: put(full=text == "yes"),
            YES_NO,
        ),
        Field(
            EVEN_SO,
            bottle.reason or "no reason given",
            "Why it is used although it is old, worn or spent; this goes into the record. 0 takes it back.",
            lambda text: put(reason="" if text == "0" else text),
        ),
    )


def _rolls(bottle: Bottle) -> str:
    """To the tenth: a bottle of the shelf has done a sum of areas."""
    return f"{round(bottle.used_rolls, 1):g}"


def _water(setup: Setup, units: Units) -> Group:
    water = setup.water

    def put(**changes: Any) -> Setup:
        return _held(setup, water=replace(water, **changes))

    hot = temperature(water.hot_c, units.temperature)
    summary = f"hot {hot}, bath {volume(water.bath_ml, units.volume)}"
    fields = (*_measured(water, put, units), *_bath(water, put, units))
    return Group("water", "Water", summary, fields)


def _measured(water: Water, put: Put, units: Units) -> tuple[Field, ...]:
    """Taps and room."""

    def field(title: str, key: str, value_c: float, ask: str) -> Field:
        shown = temperature(value_c, units.temperature)
        return Field(title, shown, ask, lambda text: put(**{key: temperature_c(text, units.temperature)}))

    return (
        field("Hot tap", "hot_c", water.hot_c, "As measured at the tap, such as 55 C or 131 F. It scalds."),
        field("Cold tap", "cold_c", water.cold_c, "As measured at the tap, such as 14 C or 57 F."),
        field("Room", "room_c", water.room_c, "The room's temperature, such as 21 C or 70 F."),
        Field(
            "Humidity",
            f"{water.humidity * 100:.0f} %",
            "The room's relative humidity in percent, such as 50.",
            lambda text: put(humidity=typed_values.number(text.removesuffix("%").strip()) / 100.0),
        ),
    )


def _bath(water: Water, put: Put, units: Units) -> tuple[Field, ...]:
    """The water that the bottles stand in."""
    now = "as worked out" if water.bath_c is None else temperature(water.bath_c, units.temperature)
    return (
        Field(
            "Bath",
            volume(water.bath_ml, units.volume),
            "How much water the bottles stand in, such as 10 l or 3 US gal.",
            lambda text: put(bath_ml=volume_ml(text, units.volume)),
        ),
        Field(
            "Bath at",
            now,
            "What the bath is now, such as 44 C; 0 lets it be worked out.",
            lambda text: put(bath_c=typed_values.temperature_or_none(text, units.temperature)),
        ),
        Field(
            "Covered",
            _yes_no(water.covered),
            "Whether the bath has a lid.",
            lambda text: put(covered=text == "yes"),
            YES_NO,
        ),
    )


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"
