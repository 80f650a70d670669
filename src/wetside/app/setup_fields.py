"""The values of a roll and of a bottle as fields that a person changes one by one on the plan screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, Final, Literal

from wetside.domain.planning.setup import Bottle, Roll, Setup, TemperatureUnit, VolumeUnit
from wetside.domain.shelf.setup_bottles import BottleOffer, taken
from wetside.errors import FileUnusable, Refused
from wetside.files import units as typed
from wetside.files.setup_file import FORMATS, setup_from_text, write_setup
from wetside.present.shelf_text import NOT_ON_SHELF, offer_choices
from wetside.present.wording import temperature, volume

Option = tuple[str, str]
"""(value, words)."""

Put = Callable[..., Setup]
"""Returns the setup with the named values of one roll, bottle, tank or the water changed; raises Refused."""

YES_NO: Final[tuple[Option, ...]] = (("yes", "yes"), ("no", "no"))
EVEN_SO: Final = "Even so"
"""The key of the field for the reason to use a bottle in spite of a warning."""

_KINDS: Final[tuple[Option, ...]] = (
    ("standard", "standard"),
    ("backed", "backed (black layer to rub off)"),
    ("slide", "slide"),
)


@dataclass(frozen=True, slots=True)
class Units:
    """The person's units: for what is shown, and for a number typed without one."""

    temperature: TemperatureUnit = "°C"
    volume: VolumeUnit = "ml"


@dataclass(frozen=True, slots=True)
class Field:
    """One value that can be changed. options: what can be chosen; empty if it is typed. put: may raise Refused.

    chosen: the option that is set now, if `value` shows it in other words.
    """

    title: str
    value: str
    ask: str
    put: Callable[[str], Setup]
    options: tuple[Option, ...] = ()
    chosen: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together. number: of a roll or bottle. without: returns the setup without it; None if it
    cannot be removed."""

    kind: Literal["evening", "roll", "tank", "bottles", "bottle", "water"]
    title: str
    summary: str
    fields: tuple[Field, ...]
    number: int | None = None
    without: Callable[[], Setup] | None = None

    @property
    def id(self) -> str:
        """Identifies the group within its setup."""
        return self.kind if self.number is None else f"{self.kind} {self.number}"


def checked(setup: Setup) -> Setup:
    """Returns the setup unchanged. Raises Refused if a setup file could not hold it."""
    try:
        setup_from_text(write_setup(setup), "setup")
    except FileUnusable as unusable:
        what = unusable.findings[0].what
        raise Refused(what[0].upper() + what[1:]) from None
    return setup


def changed(setup: Setup, **changes: Any) -> Setup:
    """The setup with changes, checked, and no longer marked as an invented example."""
    if setup.invented:
        changes = {"invented": False, "who": "", "note": "", **changes}
    return checked(replace(setup, **changes))


def options_of(*names: str) -> tuple[Option, ...]:
    """Options whose words are the values themselves."""
    return tuple((name, name) for name in names)


def field_of(
    put: Put,
    key: str,
    title: str,
    value: str,
    ask: str,
    read: Callable[[str], Any] = str,
    options: tuple[Option, ...] = (),
) -> Field:
    """The field that sets `key` to what `read` makes of the text."""
    return Field(title, value, ask, lambda text: put(**{key: read(text)}), options)


def yes_no(put: Put, key: str, title: str, value: bool, ask: str) -> Field:
    """A field with the options yes and no."""
    return field_of(put, key, title, "yes" if value else "no", ask, lambda text: text == "yes", YES_NO)


def volume_field(put: Put, key: str, title: str, value_ml: float, ask: str, units: Units) -> Field:

    def read(text: str) -> float:
        return typed.volume_ml(text, units.volume)

    return field_of(put, key, title, volume(value_ml, units.volume), ask, read)


def temperature_field(
    put: Put, key: str, title: str, value_c: float | None, ask: str, units: Units, unset: str = ""
) -> Field:
    """A field for a temperature. unset: the words for None, which a typed 0 sets; "" if not allowed."""
    read = typed.temperature_or_none if unset else typed.temperature_c
    shown = unset if value_c is None else temperature(value_c, units.temperature)
    return field_of(put, key, title, shown, ask, lambda text: read(text, units.temperature))


def roll_fields(roll: Roll, put: Put) -> tuple[Field, ...]:
    """The values of one roll; those in the second half are only recorded and do not change the plan."""

    def noted(key: str, title: str, ask: str) -> Field:
        ask = f"{ask}; it goes into the record. 0 leaves it unsaid."
        return field_of(put, key, title, getattr(roll, key) or "not said", ask, _or_empty)

    exposed = "not said" if roll.exposure_index is None else f"EI {roll.exposure_index}"
    return (
        field_of(put, "label", "Label", roll.label, "What you call this roll."),
        field_of(put, "kind", "Film", roll.kind, "What kind of film it is.", options=_KINDS),
        field_of(put, "format", "Format", roll.format, "Its format.", options=options_of(*FORMATS)),
        field_of(
            put, "push", "Push", f"{roll.push:g}", "Stops, such as 1; 0 develops it as exposed.", typed.number
        ),
        noted("stock", "Stock", "The film's own name, in your words"),
        field_of(
            put,
            "exposure_index",
            "Exposed at",
            exposed,
            "The exposure index it was metered at, such as 400; 0 leaves it unsaid.",
            lambda text: typed.count(text) or None,
        ),
        noted("camera", "Camera", "The camera it was in"),
        noted("shot_at", "Taken in", "Where the pictures were taken"),
        field_of(
            put,
            "shot_on",
            "Taken on",
            roll.shot_on or "not said",
            "The day, like 2026-05-01; 0 leaves it unsaid.",
            typed.day_or_none,
        ),
    )


def bottle_group(setup: Setup, number: int, units: Units, kept: tuple[BottleOffer, ...]) -> Group:
    """One bottle. kept: the bottles on the shelf that can be chosen for it."""
    bottle = setup.bottles[number]

    def put(**changes: Any) -> Setup:
        bottles = tuple(replace(b, **changes) if n == number else b for n, b in enumerate(setup.bottles))
        return changed(setup, bottles=bottles)

    holds, used, mixed, full = _common_fields(bottle, put, units)
    fields = (
        *_from_shelf(bottle, put, kept),
        field_of(put, "label", "Label", bottle.label, "What is written on it."),
        holds,
        temperature_field(
            put,
            "start_c",
            "Starts at",
            bottle.start_c,
            "Its temperature before warming, such as 20 C; 0 takes the room's.",
            units,
            "as the room",
        ),
        field_of(
            put,
            "material",
            "Bottle",
            bottle.material,
            "What it is made of.",
            options=options_of("soft", "glass", "steel", "pet"),
        ),
        used,
        field_of(
            put,
            "backed_rolls",
            "With backing",
            f"{round(bottle.backed_rolls, 1):g} rolls",
            "How many of them had their black backing on: it stays in the bottle.",
            typed.number,
        ),
        mixed,
        full,
        field_of(
            put,
            "price",
            "Price",
            "not noted" if bottle.price is None else f"{bottle.price:.2f}",
            "What it cost, in your own currency, such as 12,50; 0 where it is not noted.",
            lambda text: typed.number(text) or None,
        ),
        field_of(
            put,
            "reason",
            EVEN_SO,
            bottle.reason or "no reason given",
            "Why it is used although it is old, worn or spent; this goes into the record. 0 takes it back.",
            _or_empty,
        ),
    )
    summary = f"{volume(bottle.volume_ml, units.volume)}, {_rolls(bottle)} rolls so far, {bottle.label}"
    return Group("bottle", bottle.solution.capitalize(), summary, fields, number)


def all_bottles(setup: Setup, units: Units, together: list[Bottle]) -> Group:
    """The values that the bottles of one kit have in common, without the bottles of the shelf."""

    def put(**changes: Any) -> Setup:
        bottles = (b if b.shelf_id is not None else replace(b, **changes) for b in setup.bottles)
        return changed(setup, bottles=tuple(bottles))

    def common(values: list[str]) -> str:
        return values[0] if len(set(values)) == 1 else "not all alike"

    holds, used, mixed, full = zip(*(_common_fields(each, put, units) for each in together), strict=True)
    fields = tuple(
        replace(alike[0], value=common([field.value for field in alike])) for alike in (mixed, used, holds, full)
    )
    rolls = common([f"{_rolls(bottle)} rolls so far" for bottle in together])
    return Group("bottles", "All bottles", f"mixed: {fields[0].value}, {rolls}", fields)


def _from_shelf(bottle: Bottle, put: Put, kept: tuple[BottleOffer, ...]) -> tuple[Field, ...]:
    """The choice of a bottle of the shelf, if any fits; the other fields are then filled in from the shelf."""

    def take(id_: str) -> Setup:
        chosen = taken(bottle, id_, tuple(offer.bottle for offer in kept))
        return put(**{part.name: getattr(chosen, part.name) for part in fields(chosen)})

    offered = offer_choices(bottle, kept)
    ask = "The bottle on the shelf that this is: its age and use are kept there."
    shown = NOT_ON_SHELF if bottle.shelf_id is None else bottle.label
    return (Field("From shelf", shown, ask, take, offered, bottle.shelf_id or ""),) if offered else ()


def _common_fields(bottle: Bottle, put: Put, units: Units) -> tuple[Field, Field, Field, Field]:
    """The fields a bottle may share with its kit: volume, rolls, day of mixing, and whether it is full."""
    ask_holds = "How much is in it, such as 1 l or 33 US fl oz."
    ask_used = "How many rolls of 36 exposures, or of 120, it has done."
    ask_mixed = "The day, like 2026-05-01; 0 where nobody knows."
    ask_full = "Whether it is full to the neck, or squeezed until it is."
    return (
        volume_field(put, "volume_ml", "Holds", bottle.volume_ml, ask_holds, units),
        field_of(put, "used_rolls", "Rolls so far", _rolls(bottle), ask_used, typed.number),
        field_of(put, "mixed_on", "Mixed on", bottle.mixed_on or "nobody knows", ask_mixed, typed.day_or_none),
        yes_no(put, "full", "Kept full", bottle.full, ask_full),
    )


def _rolls(bottle: Bottle) -> str:
    """The rolls done, to a tenth: the shelf counts by film area, so they need not be whole."""
    return f"{round(bottle.used_rolls, 1):g}"


def _or_empty(text: str) -> str:
    return "" if text == "0" else text
