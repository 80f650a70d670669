"""The lines of the plan screen: what each shows of a setup, and the setup with a changed value."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, Final

from wetside.domain.calc.wording import TemperatureUnit, VolumeUnit, temperature, volume
from wetside.domain.planning.setup import Bottle, Roll, Setup
from wetside.domain.shelf.setup_bottles import BottleOffer, taken
from wetside.errors import FileUnusable, Refused
from wetside.files import units
from wetside.files import units as typed
from wetside.files.setup_file import FORMATS, setup_from_text, write_setup
from wetside.files.units import volume_ml
from wetside.present.shelf_text import NOT_ON_SHELF, offer_choices

Option = tuple[str, str]
"""What is put in, and how it reads."""

Put = Callable[..., Setup]
"""Makes the setup with these things of one roll, bottle or the water changed."""

YES_NO: Final[tuple[Option, ...]] = (("yes", "yes"), ("no", "no"))
_PLACE_IN_FILE: Final = re.compile(r"^[^:]*, [^:]*: ")


@dataclass(frozen=True, slots=True)
class Units:
    """The person's units: for what is shown, and for a number typed without one."""

    temperature: TemperatureUnit = "°C"
    volume: VolumeUnit = "ml"


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to change. options: what can be chosen; none where it is typed. put: Refused in one sentence.

    chosen: which option stands there now, where its `value` is shown in other words; else the value itself.
    """

    title: str
    value: str
    ask: str
    put: Callable[[str], Setup]
    options: tuple[Option, ...] = ()
    chosen: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """What belongs together. without: makes the setup without it, None where it has to stay."""

    id: str
    title: str
    summary: str
    fields: tuple[Field, ...]
    without: Callable[[], Setup] | None = None


def checked(setup: Setup) -> Setup:
    """The setup itself; Refused, in one sentence without file and line, where a setup file could not hold it."""
    try:
        setup_from_text(write_setup(setup), "setup")
    except FileUnusable as unusable:
        finding = _PLACE_IN_FILE.sub("", unusable.findings[0], count=1)
        raise Refused(finding[0].upper() + finding[1:]) from None
    return setup


def held(setup: Setup, **changes: Any) -> Setup:
    """The setup with changes, checked. A demonstration that is changed is somebody's own evening."""
    if setup.invented:
        changes = {"invented": False, "who": "", "note": "", **changes}
    return checked(replace(setup, **changes))


def yes_no(value: bool) -> str:
    """How a form shows it."""
    return "yes" if value else "no"


KINDS: Final[tuple[Option, ...]] = (
    ("standard", "standard"),
    ("backed", "backed (black layer to rub off)"),
    ("slide", "slide"),
)


def roll_fields(roll: Roll, put: Put) -> tuple[Field, ...]:
    """What can be said of one roll; the second half goes into the record and changes nothing tonight."""
    return (
        Field("Label", roll.label, "What you call this roll.", lambda text: put(label=text)),
        Field("Film", roll.kind, "What kind of film it is.", lambda text: put(kind=text), KINDS),
        Field(
            "Format",
            roll.format,
            "Its format.",
            lambda text: put(format=text),
            tuple((name, name) for name in FORMATS),
        ),
        Field(
            "Push",
            f"{roll.push:g}",
            "Stops, such as 1; 0 develops it as exposed.",
            lambda text: put(push=units.number(text)),
        ),
        _said_of_roll("Stock", "stock", "The film's own name, in your words", roll.stock, put),
        Field(
            "Exposed at",
            "not said" if roll.exposure_index is None else f"EI {roll.exposure_index}",
            "The exposure index it was metered at, such as 400; 0 leaves it unsaid.",
            lambda text: put(exposure_index=units.count(text) or None),
        ),
        _said_of_roll("Camera", "camera", "The camera it was in", roll.camera, put),
        _said_of_roll("Taken in", "shot_at", "Where the pictures were taken", roll.shot_at, put),
        Field(
            "Taken on",
            roll.shot_on or "not said",
            "The day, like 2026-05-01; 0 leaves it unsaid.",
            lambda text: put(shot_on=units.day_or_none(text)),
        ),
    )


def _said_of_roll(title: str, key: str, ask: str, value: str, put: Put) -> Field:
    ask = f"{ask}; it goes into the record. 0 leaves it unsaid."
    return Field(title, value or "not said", ask, lambda text: put(**{key: "" if text == "0" else text}))


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
