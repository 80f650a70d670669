"""A setup as groups of fields that a person changes one by one, and the setups an evening is planned from.

Typed values have the limits of a setup file, because each changed setup is checked by writing and reading it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, Final

from msgspec.structs import asdict, replace

from wetside.app.setup_fields import Field, Group, asked, changed, checked
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank, Units
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import BottleOffer, KitOffer, taken, taken_from
from wetside.errors import Refused
from wetside.files import units as typed
from wetside.present.shelf_text import NOT_ON_SHELF, offer_choices
from wetside.present.wording import counted, temperature, volume

NEW_BOTTLE_ML: Final = 1000.0
NEW_TITLE: Final = "My evening"


def groups(setup: Setup, units: Units, kept: tuple[BottleOffer, ...] = ()) -> tuple[Group, ...]:
    """Every group of the setup: the evening, each roll, the tank, all bottles at once, each bottle, the water.

    "All bottles" is there if at least two of them are not from the shelf, which provides its own values.
    """
    together = [bottle for bottle in setup.bottles if bottle.shelf_id is None]
    return (
        _evening(setup, units),
        *(_roll(setup, number, units) for number in range(len(setup.rolls))),
        _tank(setup, units),
        *([_all_bottles(setup, units, together)] if len(together) > 1 else []),
        *(_bottle(setup, number, units, kept) for number in range(len(setup.bottles))),
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


def _put(setup: Setup, part: str, number: int | None = None) -> Callable[..., Setup]:
    """The function that returns the setup with values of one part of it changed. number: of a roll or bottle."""

    def put(**changes: Any) -> Setup:
        old = getattr(setup, part)
        if number is None:
            return changed(setup, **{part: replace(old, **changes)})
        new = (replace(each, **changes) if n == number else each for n, each in enumerate(old))
        return changed(setup, **{part: tuple(new)})

    return put


def _evening(setup: Setup, units: Units) -> Group:
    fields = asked("evening", setup, partial(changed, setup), units)
    return Group("evening", "Evening", f"{setup.title}, {setup.place}", fields)


def _roll(setup: Setup, number: int, units: Units) -> Group:
    roll = setup.rolls[number]

    def without() -> Setup:
        return changed(setup, rolls=setup.rolls[:number] + setup.rolls[number + 1 :])

    push = f"push {roll.push:g}: " if roll.push else ""
    summary = f"{push}{roll.label}, {roll.kind}, {roll.format}"
    fields = asked("roll", roll, _put(setup, "rolls", number), units)
    return Group("roll", f"Roll {number + 1}", summary, fields, number, without if len(setup.rolls) > 1 else None)


def _tank(setup: Setup, units: Units) -> Group:
    tank, put = setup.tank, _put(setup, "tank")

    def cover(number: int) -> Field:
        def covered(text: str) -> Setup:
            covers = list(tank.cover_ml)
            covers[number] = typed.volume_ml(text, units.volume)
            return put(cover_ml=tuple(covers))

        reels = counted(number + 1, "reel")
        ask = f"The volume that covers {reels} with film, such as 600 ml or 20 US fl oz."
        return Field(f"Covers {reels}", volume(tank.cover_ml[number], units.volume), ask, covered)

    ask = "How many 35 mm reels it holds."
    places = Field("Places", str(tank.places), ask, lambda text: put(**_places(tank, typed.count(text))))
    covers = map(cover, range(len(tank.cover_ml)))
    summary = f"{counted(tank.places, 'reel')}, {volume(tank.cover_ml[-1], units.volume)}, {tank.material}"
    return Group("tank", "Tank", summary, (places, *covers, *asked("tank", tank, put, units)))


def _places(tank: Tank, places: int) -> dict[str, Any]:
    """The values of a tank with so many places. New volumes are extrapolated from the last two, as a guess."""
    if not 1 <= places <= 20:
        raise Refused("A tank here holds 1 to 20 reels.")
    covers = list(tank.cover_ml[:places])
    step_ml = covers[-1] - covers[-2] if len(covers) > 1 else covers[-1]
    while len(covers) < places:
        covers.append(covers[-1] + step_ml)
    return {"places": places, "cover_ml": tuple(covers)}


def _bottle(setup: Setup, number: int, units: Units, kept: tuple[BottleOffer, ...]) -> Group:
    """One bottle. kept: the bottles on the shelf that can be chosen for it."""
    bottle, put = setup.bottles[number], _put(setup, "bottles", number)

    def take(id_: str) -> Setup:
        chosen = taken(bottle, id_, tuple(offer.bottle for offer in kept))
        return put(**asdict(chosen))

    from_shelf: tuple[Field, ...] = ()
    if offered := offer_choices(bottle, kept):
        ask = "The bottle on the shelf that this is: its age and use are kept there."
        shown = NOT_ON_SHELF if bottle.shelf_id is None else bottle.label
        from_shelf = (Field("From shelf", shown, ask, take, offered, bottle.shelf_id or ""),)
    summary = f"{volume(bottle.volume_ml, units.volume)}, {_rolls(bottle)}, {bottle.label}"
    own = asked("bottle", bottle, put, units)
    return Group("bottle", bottle.solution.capitalize(), summary, (*from_shelf, *own), number)


def _all_bottles(setup: Setup, units: Units, together: list[Bottle]) -> Group:
    """The values that the bottles of one kit have in common, without the bottles of the shelf."""

    def put(**changes: Any) -> Setup:
        bottles = (b if b.shelf_id is not None else replace(b, **changes) for b in setup.bottles)
        return changed(setup, bottles=tuple(bottles))

    def common(values: list[str]) -> str:
        return values[0] if len(set(values)) == 1 else "not all alike"

    of_each = [{field.key: field for field in asked("bottle", bottle, put, units)} for bottle in together]
    alike = {
        key: replace(of_each[0][key], value=common([fields[key].value for fields in of_each]))
        for key in ("mixed_on", "used_rolls", "volume_ml", "full")
    }
    rolls = common([_rolls(bottle) for bottle in together])
    return Group("bottles", "All bottles", f"mixed: {alike['mixed_on'].value}, {rolls}", tuple(alike.values()))


def _rolls(bottle: Bottle) -> str:
    return f"{round(bottle.used_rolls, 1):g} rolls so far"


def _water(setup: Setup, units: Units) -> Group:
    water = setup.water
    summary = f"hot {temperature(water.hot_c, units.temperature)}, bath {volume(water.bath_ml, units.volume)}"
    return Group("water", "Water", summary, asked("water", water, _put(setup, "water"), units))
