"""A setup as groups of fields that a person changes one by one, and the setups an evening is planned from.

Typed values have the limits of a setup file, because each changed setup is checked by writing and reading it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any, Final

from wetside.app.setup_fields import (
    Field,
    Group,
    Option,
    Units,
    all_bottles,
    bottle_group,
    changed,
    checked,
    field_of,
    options_of,
    roll_fields,
    temperature_field,
    volume_field,
    yes_no,
)
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import BottleOffer, KitOffer, taken_from
from wetside.errors import Refused
from wetside.files import units as typed
from wetside.present.plan_words import DIRECTION, EFFECT
from wetside.present.wording import difference, temperature, volume

NEW_BOTTLE_ML: Final = 1000.0
NEW_TITLE: Final = "My evening"
_LOADING: Final[tuple[Option, ...]] = (
    ("while warming", "while bottles warm"),
    ("after warming", "once they are warm"),
)


def groups(setup: Setup, units: Units, kept: tuple[BottleOffer, ...] = ()) -> tuple[Group, ...]:
    """Every group of the setup: the evening, each roll, the tank, all bottles at once, each bottle, the water.

    "All bottles" is there if at least two of them are not from the shelf, which provides its own values.
    """
    together = [bottle for bottle in setup.bottles if bottle.shelf_id is None]
    return (
        _evening(setup, units),
        *(_roll(setup, number) for number in range(len(setup.rolls))),
        _tank(setup, units),
        *([all_bottles(setup, units, together)] if len(together) > 1 else []),
        *(bottle_group(setup, number, units, kept) for number in range(len(setup.bottles))),
        _water(setup, units),
    )


def own_bench(setup: Setup) -> Setup:
    """The setup of an earlier evening for a new one: its own name, and one new roll like the first."""
    first = setup.rolls[0]
    roll = Roll("Roll 1", first.kind, first.format)
    return checked(replace(setup, title=NEW_TITLE, rolls=(roll,)))


def empty_bench(profile: Profile, name: str, thermometer_error_c: float) -> Setup:
    """A setup with one roll, a litre of each bath, and a small tank, whose volumes are a guess to be corrected."""
    setup = Setup(
        title=NEW_TITLE,
        profile=name,
        rolls=(Roll("Roll 1", "standard"),),
        tank=Tank(2, (350.0, 600.0)),  # common practice, no source: the tank's own bottom says it
        bottles=(),
        thermometer_error_c=thermometer_error_c,
    )
    return suited_to(setup, profile, name)


def with_another_roll(setup: Setup) -> Setup:
    """The setup with one more roll, like the last one except for its label."""
    last = setup.rolls[-1]
    return changed(setup, rolls=(*setup.rolls, replace(last, label=f"Roll {len(setup.rolls) + 1}")))


def suited_to(setup: Setup, profile: Profile, name: str) -> Setup:
    """The setup for another process: bottles that the process uses are kept; missing ones get one litre each."""
    bottles: list[Bottle] = []
    for solution in profile.solutions:
        if solution.storage != "tap":
            there = [bottle for bottle in setup.bottles if bottle.solution == solution.id]
            bottles += there or [Bottle(solution.id, solution.title, NEW_BOTTLE_ML)]
    return changed(setup, profile=name, bottles=tuple(bottles), developer_c=None)


def from_kit(setup: Setup, kit: KitOffer) -> Setup:
    """The setup with the kit's bottles in place of its own; other bottles stay."""
    return changed(setup, bottles=taken_from(setup.bottles, kit))


def _evening(setup: Setup, units: Units) -> Group:
    put = partial(changed, setup)
    paces = options_of("as the process", "continuous", "each half minute", "each minute")
    places = options_of("dark room", "changing bag")
    how_often = f"How often the tank is moved. {EFFECT}"
    by_what = f"Turned over by hand, or the reels turned: by a stick, or on rollers. {DIRECTION}"
    developer = "Its temperature tonight, such as 38.9 C or 102 F; 0 goes back to the sheet's."
    fields = (
        field_of(put, "title", "Title", setup.title, "A name for this evening."),
        field_of(put, "who", "Who", setup.who, "Who develops; it goes into the record."),
        field_of(put, "place", "Loaded in", setup.place, "Where film is wound on the reels.", options=places),
        field_of(put, "loading", "Loaded", setup.loading, "Where there is room, or after.", options=_LOADING),
        field_of(put, "agitation", "Agitation", setup.agitation, how_often, options=paces),
        field_of(
            put, "agitated_by", "Moved by", setup.agitated_by, by_what, options=options_of("inversion", "rotation")
        ),
        temperature_field(
            put, "developer_c", "Developer at", setup.developer_c, developer, units, "as the sheet has it"
        ),
        field_of(
            put,
            "thermometer_error_c",
            "Thermometer",
            f"±{difference(setup.thermometer_error_c, units.temperature)}",
            "How far it may be off either way, such as 0.3 C or 0.5 F.",
            lambda text: typed.difference_c(text, units.temperature),
        ),
    )
    return Group("evening", "Evening", f"{setup.title}, {setup.place}", fields)


def _roll(setup: Setup, number: int) -> Group:
    roll = setup.rolls[number]

    def put(**changes: Any) -> Setup:
        rolls = tuple(replace(r, **changes) if n == number else r for n, r in enumerate(setup.rolls))
        return changed(setup, rolls=rolls)

    def without() -> Setup:
        return changed(setup, rolls=setup.rolls[:number] + setup.rolls[number + 1 :])

    push = f"push {roll.push:g}: " if roll.push else ""
    summary = f"{push}{roll.label}, {roll.kind}, {roll.format}"
    may_go = without if len(setup.rolls) > 1 else None
    return Group("roll", f"Roll {number + 1}", summary, roll_fields(roll, put), number, may_go)


def _tank(setup: Setup, units: Units) -> Group:
    tank = setup.tank

    def put(**changes: Any) -> Setup:
        return changed(setup, tank=replace(tank, **changes))

    def kept_back_ml(text: str) -> float:
        return typed.volume_ml(text, units.volume, drops=True)

    def with_places(text: str) -> Setup:
        return changed(setup, tank=_with_places(tank, typed.count(text)))

    keeps_back = "What stays on a reel after draining, such as 10 ml."
    fields = (
        Field("Places", str(tank.places), "How many 35 mm reels it holds.", with_places),
        *(_cover(setup, number, units) for number in range(len(tank.cover_ml))),
        field_of(
            put,
            "material",
            "Made of",
            tank.material,
            "What it is made of.",
            options=options_of("plastic", "steel"),
        ),
        field_of(
            put,
            "places_for_120",
            "120 takes",
            f"{tank.places_for_120} places",
            "Places that one roll of 120 takes.",
            typed.count,
        ),
        field_of(
            put, "carry_over_ml", "Keeps back", volume(tank.carry_over_ml, units.volume), keeps_back, kept_back_ml
        ),
    )
    summary = f"{_reels(tank.places)}, {volume(tank.cover_ml[-1], units.volume)}, {tank.material}"
    return Group("tank", "Tank", summary, fields)


def _reels(number: int) -> str:
    return "1 reel" if number == 1 else f"{number} reels"


def _cover(setup: Setup, number: int, units: Units) -> Field:
    tank, reels = setup.tank, _reels(number + 1)

    def put(text: str) -> Setup:
        volume = typed.volume_ml(text, units.volume)
        covers = tuple(volume if n == number else each for n, each in enumerate(tank.cover_ml))
        return changed(setup, tank=replace(tank, cover_ml=covers))

    ask = f"The volume that covers {reels} with film, such as 600 ml or 20 US fl oz."
    return Field(f"Covers {reels}", volume(tank.cover_ml[number], units.volume), ask, put)


def _with_places(tank: Tank, places: int) -> Tank:
    """The tank with another number of places. New volumes are extrapolated from the last two, as a guess."""
    if not 1 <= places <= 20:
        raise Refused("A tank here holds 1 to 20 reels.")
    covers = list(tank.cover_ml[:places])
    step_ml = covers[-1] - covers[-2] if len(covers) > 1 else covers[-1]
    while len(covers) < places:
        covers.append(covers[-1] + step_ml)
    return replace(tank, places=places, cover_ml=tuple(covers))


def _water(setup: Setup, units: Units) -> Group:
    water = setup.water

    def put(**changes: Any) -> Setup:
        return changed(setup, water=replace(water, **changes))

    def measured(key: str, title: str, ask: str, unset: str = "") -> Field:
        return temperature_field(put, key, title, getattr(water, key), ask, units, unset)

    def share(text: str) -> float:
        return typed.number(text.removesuffix("%").strip()) / 100.0

    humidity = "The room's relative humidity in percent, such as 50."
    bath = "How much water the bottles stand in, such as 10 l or 3 US gal."
    fields = (
        measured("hot_c", "Hot tap", "As measured at the tap, such as 55 C or 131 F. It scalds."),
        measured("cold_c", "Cold tap", "As measured at the tap, such as 14 C or 57 F."),
        measured("room_c", "Room", "The room's temperature, such as 21 C or 70 F."),
        field_of(put, "humidity", "Humidity", f"{water.humidity * 100:.0f} %", humidity, share),
        volume_field(put, "bath_ml", "Bath", water.bath_ml, bath, units),
        measured(
            "bath_c", "Bath at", "What the bath is now, such as 44 C; 0 lets it be worked out.", "as worked out"
        ),
        yes_no(put, "covered", "Covered", water.covered, "Whether the bath has a lid."),
    )
    hot = temperature(water.hot_c, units.temperature)
    return Group("water", "Water", f"hot {hot}, bath {volume(water.bath_ml, units.volume)}", fields)
