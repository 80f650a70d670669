"""A setup as fields a person changes one by one: how each reads, and what a typed text makes of it.

One job: between `Setup` and single texts. Whatever is typed is held to the same limits as a setup file, since it
is written and read as one. Nothing is drawn, read or kept here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from wetside.app.setup_fields import (
    YES_NO,
    Field,
    Group,
    Option,
    Put,
    Units,
    all_bottles,
    bottle_group,
    checked,
    held,
    roll_fields,
    yes_no,
)
from wetside.domain.calc.wording import difference, temperature, volume
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank, Water
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import BottleOffer, KitOffer, taken_from
from wetside.errors import Refused
from wetside.files import units as typed
from wetside.files.units import temperature_c, volume_ml
from wetside.present.plan_words import DIRECTION, EFFECT

LOADING: Final[tuple[Option, ...]] = (
    ("while warming", "while bottles warm"),
    ("after warming", "once they are warm"),
)
PACES: Final[tuple[Option, ...]] = tuple(
    (name, name) for name in ("as the process", "continuous", "each half minute", "each minute")
)
WAYS: Final[tuple[Option, ...]] = (("inversion", "inversion"), ("rotation", "rotation"))
PLACES: Final[tuple[Option, ...]] = (("dark room", "dark room"), ("changing bag", "changing bag"))
TANKS: Final[tuple[Option, ...]] = (("plastic", "plastic"), ("steel", "steel"))
NEW_BOTTLE_ML: Final = 1000.0
NEW_TITLE: Final = "My evening"


def groups(setup: Setup, units: Units, kept: tuple[BottleOffer, ...] = ()) -> tuple[Group, ...]:
    """Every group of the setup: the evening, each roll, the tank, all bottles at once, each bottle, the water.

    All at once where at least two of the bottles are not on the shelf, which knows its own.
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
    """The bench of an earlier evening for a new one: its own name, and one new roll like the first there was."""
    first = setup.rolls[0]
    roll = Roll("Roll 1", first.kind, first.format)
    return checked(replace(setup, title=NEW_TITLE, rolls=(roll,)))


def empty_bench(profile: Profile, name: str, thermometer_error_c: float) -> Setup:
    """One roll, a litre of each bath, and a small tank, whose volumes are a guess to be corrected."""
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
    """One roll more, like the last one but for its label."""
    last = setup.rolls[-1]
    return held(setup, rolls=(*setup.rolls, replace(last, label=f"Roll {len(setup.rolls) + 1}")))


def suited_to(setup: Setup, profile: Profile, name: str) -> Setup:
    """The setup for another process: its bottles where the process has them, one litre of each that is missing."""
    wanted = [solution for solution in profile.solutions if solution.storage != "tap"]
    kept = {solution.id: [b for b in setup.bottles if b.solution == solution.id] for solution in wanted}
    bottles: list[Bottle] = []
    for solution in wanted:
        bottles += kept[solution.id] or [Bottle(solution.id, solution.title, NEW_BOTTLE_ML)]
    return held(setup, profile=name, bottles=tuple(bottles), developer_c=None)


def from_kit(setup: Setup, kit: KitOffer) -> Setup:
    """The setup with every bottle that the kit has taken from it; the others stay as they are."""
    return held(setup, bottles=taken_from(setup.bottles, kit))


def _evening(setup: Setup, units: Units) -> Group:
    developer = "as the sheet has it"
    if setup.developer_c is not None:
        developer = temperature(setup.developer_c, units.temperature)
    fields = (
        Field("Title", setup.title, "A name for this evening.", lambda text: held(setup, title=text)),
        Field("Who", setup.who, "Who develops; it goes into the record.", lambda text: held(setup, who=text)),
        Field(
            "Loaded in",
            setup.place,
            "Where film is wound on the reels.",
            lambda text: held(setup, place=text),
            PLACES,
        ),
        Field(
            "Loaded",
            setup.loading,
            "Where there is room, or after.",
            lambda text: held(setup, loading=text),
            LOADING,
        ),
        Field(
            "Agitation",
            setup.agitation,
            f"How often the tank is moved. {EFFECT}",
            lambda text: held(setup, agitation=text),
            PACES,
        ),
        Field(
            "Moved by",
            setup.agitated_by,
            f"Turned over by hand, or the reels turned: by a stick, or on rollers. {DIRECTION}",
            lambda text: held(setup, agitated_by=text),
            WAYS,
        ),
        Field(
            "Developer at",
            developer,
            "Its temperature tonight, such as 38.9 C or 102 F; 0 goes back to the sheet's.",
            lambda text: held(setup, developer_c=typed.temperature_or_none(text, units.temperature)),
        ),
        Field(
            "Thermometer",
            f"±{difference(setup.thermometer_error_c, units.temperature)}",
            "How far it may be off either way, such as 0.3 C or 0.5 F.",
            lambda text: held(setup, thermometer_error_c=typed.difference_c(text, units.temperature)),
        ),
    )
    return Group("evening", "Evening", f"{setup.title}, {setup.place}", fields)


def _roll(setup: Setup, number: int) -> Group:
    roll = setup.rolls[number]

    def put(**changes: Any) -> Setup:
        rolls = tuple(replace(r, **changes) if n == number else r for n, r in enumerate(setup.rolls))
        return held(setup, rolls=rolls)

    def without() -> Setup:
        return held(setup, rolls=setup.rolls[:number] + setup.rolls[number + 1 :])

    push = f"push {roll.push:g}: " if roll.push else ""
    summary = f"{push}{roll.label}, {roll.kind}, {roll.format}"
    stays = len(setup.rolls) == 1
    return Group(
        f"roll {number}", f"Roll {number + 1}", summary, roll_fields(roll, put), None if stays else without
    )


def _tank(setup: Setup, units: Units) -> Group:
    tank = setup.tank

    def put(**changes: Any) -> Setup:
        return held(setup, tank=replace(tank, **changes))

    fields = [
        Field(
            "Places",
            str(tank.places),
            "How many 35 mm reels it holds.",
            lambda text: held(setup, tank=_with_places(tank, typed.count(text))),
        ),
        *(_cover(setup, number, units) for number in range(len(tank.cover_ml))),
        Field("Made of", tank.material, "What it is made of.", lambda text: put(material=text), TANKS),
        Field(
            "120 takes",
            f"{tank.places_for_120} places",
            "Places that one roll of 120 takes.",
            lambda text: put(places_for_120=typed.count(text)),
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
        return held(setup, tank=replace(tank, cover_ml=covers))

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


def _water(setup: Setup, units: Units) -> Group:
    water = setup.water

    def put(**changes: Any) -> Setup:
        return held(setup, water=replace(water, **changes))

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
            lambda text: put(humidity=typed.number(text.removesuffix("%").strip()) / 100.0),
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
            lambda text: put(bath_c=typed.temperature_or_none(text, units.temperature)),
        ),
        Field(
            "Covered",
            yes_no(water.covered),
            "Whether the bath has a lid.",
            lambda text: put(covered=text == "yes"),
            YES_NO,
        ),
    )
