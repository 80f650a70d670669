"""The bottles of a setup as fields: each one's own, and what all of them have in common."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, Final

from wetside.app.setup_fields import YES_NO, Field, Group, Option, Put, Units, held, yes_no
from wetside.domain.calc.wording import temperature, volume
from wetside.domain.planning.setup import Bottle, Setup
from wetside.domain.shelf.setup_bottles import BottleOffer, taken
from wetside.files import units as typed
from wetside.files.units import volume_ml
from wetside.present.shelf_text import NOT_ON_SHELF, offer_choices

MATERIALS: Final[tuple[Option, ...]] = tuple((name, name) for name in ("soft", "glass", "steel", "pet"))
EVEN_SO: Final = "Even so"
"""The field of a bottle in which a reason to use it all the same is given."""


def bottle_group(setup: Setup, number: int, units: Units, kept: tuple[BottleOffer, ...]) -> Group:
    bottle = setup.bottles[number]

    def put(**changes: Any) -> Setup:
        bottles = tuple(replace(b, **changes) if n == number else b for n, b in enumerate(setup.bottles))
        return held(setup, bottles=bottles)

    fields = (*_taken_from(bottle, put, kept), *_contents(bottle, put, units), *_condition(bottle, put))
    used = f"{volume(bottle.volume_ml, units.volume)}, {_rolls(bottle)} rolls so far"
    return Group(f"bottle {number}", bottle.solution.capitalize(), f"{used}, {bottle.label}", fields)


def all_bottles(setup: Setup, units: Units, together: list[Bottle]) -> Group:
    """What the bottles of one kit have in common, typed once; those on the shelf are left out."""

    def put(**changes: Any) -> Setup:
        bottles = (b if b.shelf_id is not None else replace(b, **changes) for b in setup.bottles)
        return held(setup, bottles=tuple(bottles))

    def common(values: list[str]) -> str:
        return values[0] if len(set(values)) == 1 else "not all alike"

    fields = tuple(
        replace(first, value=common([field.value for field in alike]))
        for first, *alike in zip(
            *(_alike_fields(each, put, units) for each in [together[0], *together]), strict=True
        )
    )
    mixed_on = common([_day(bottle) for bottle in together])
    rolls = common([f"{_rolls(bottle)} rolls so far" for bottle in together])
    return Group("bottles", "All bottles", f"mixed: {mixed_on}, {rolls}", fields)


def _alike_fields(bottle: Bottle, put: Put, units: Units) -> tuple[Field, ...]:
    return (_mixed(bottle, put), _used(bottle, put), _holds(bottle, put, units), _kept_full(bottle, put))


def _taken_from(bottle: Bottle, put: Put, kept: tuple[BottleOffer, ...]) -> tuple[Field, ...]:
    """Which bottle on the shelf it is; what the shelf knows of it then stands in the other fields."""

    def take(id_: str) -> Setup:
        chosen = taken(bottle, id_, tuple(offer.bottle for offer in kept))
        return put(**{part.name: getattr(chosen, part.name) for part in fields(chosen)})

    offered = offer_choices(bottle, kept)
    ask = "The bottle on the shelf that this is: its age and use are kept there."
    shown = NOT_ON_SHELF if bottle.shelf_id is None else bottle.label
    return (Field("From shelf", shown, ask, take, offered, bottle.shelf_id or ""),) if offered else ()


def _contents(bottle: Bottle, put: Put, units: Units) -> tuple[Field, ...]:
    """What is in it and how warm."""
    start = "as the room" if bottle.start_c is None else temperature(bottle.start_c, units.temperature)
    return (
        Field("Label", bottle.label, "What is written on it.", lambda text: put(label=text)),
        _holds(bottle, put, units),
        Field(
            "Starts at",
            start,
            "Its temperature before warming, such as 20 C; 0 takes the room's.",
            lambda text: put(start_c=typed.temperature_or_none(text, units.temperature)),
        ),
        Field("Bottle", bottle.material, "What it is made of.", lambda text: put(material=text), MATERIALS),
    )


def _condition(bottle: Bottle, put: Put) -> tuple[Field, ...]:
    """How old and how used it is, and why it is used all the same."""
    return (
        _used(bottle, put),
        Field(
            "With backing",
            f"{round(bottle.backed_rolls, 1):g} rolls",
            "How many of them had their black backing on: it stays in the bottle.",
            lambda text: put(backed_rolls=typed.number(text)),
        ),
        _mixed(bottle, put),
        _kept_full(bottle, put),
        Field(
            "Price",
            "not noted" if bottle.price is None else f"{bottle.price:.2f}",
            "What it cost, in your own currency, such as 12,50; 0 where it is not noted.",
            lambda text: put(price=typed.number(text) or None),
        ),
        Field(
            EVEN_SO,
            bottle.reason or "no reason given",
            "Why it is used although it is old, worn or spent; this goes into the record. 0 takes it back.",
            lambda text: put(reason="" if text == "0" else text),
        ),
    )


def _holds(bottle: Bottle, put: Put, units: Units) -> Field:
    return Field(
        "Holds",
        volume(bottle.volume_ml, units.volume),
        "How much is in it, such as 1 l or 33 US fl oz.",
        lambda text: put(volume_ml=volume_ml(text, units.volume)),
    )


def _used(bottle: Bottle, put: Put) -> Field:
    return Field(
        "Rolls so far",
        _rolls(bottle),
        "How many rolls of 36 exposures, or of 120, it has done.",
        lambda text: put(used_rolls=typed.number(text)),
    )


def _mixed(bottle: Bottle, put: Put) -> Field:
    return Field(
        "Mixed on",
        _day(bottle),
        "The day, like 2026-05-01; 0 where nobody knows.",
        lambda text: put(mixed_on=typed.day_or_none(text)),
    )


def _day(bottle: Bottle) -> str:
    return bottle.mixed_on or "nobody knows"


def _kept_full(bottle: Bottle, put: Put) -> Field:
    return Field(
        "Kept full",
        yes_no(bottle.full),
        "Whether it is full to the neck, or squeezed until it is.",
        lambda text: put(full=text == "yes"),
        YES_NO,
    )


def _rolls(bottle: Bottle) -> str:
    """To the tenth: a bottle of the shelf has done a sum of areas."""
    return f"{round(bottle.used_rolls, 1):g}"
