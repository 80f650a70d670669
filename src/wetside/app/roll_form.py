"""What can be said of one roll, as fields."""

from __future__ import annotations

from typing import Final

from wetside.app.setup_fields import Field, Option, Put
from wetside.domain.planning.setup import Roll
from wetside.files import units
from wetside.files.setup_file import FORMATS

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
