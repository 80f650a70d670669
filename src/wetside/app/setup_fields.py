"""The values of a setup as fields that a person changes one by one on the plan screen.

How a value is shown and what may be typed for it follows from its field in `domain/planning/setup.py`: from its
unit, its type, and the options of a `Literal`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, Final, Literal, NamedTuple, get_args, get_type_hints

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.planning.setup import Setup, Units
from wetside.errors import FileUnusable, Refused
from wetside.files import units as typed
from wetside.files.setup_file import FORMATS, setup_from_text, write_setup
from wetside.present.plan_words import DIRECTION, EFFECT
from wetside.present.wording import difference, temperature, volume

Option = tuple[str, str]
"""(value, words)."""

EVEN_SO: Final = "Even so"
"""The title of the field for the reason to use a bottle in spite of a warning."""


class Field(Struct, frozen=True):
    """One value that can be changed. options: what can be chosen; empty if it is typed. put: may raise Refused.

    chosen: the option that is set now, if `value` shows it in other words.
    """

    title: str
    value: str
    ask: str
    put: Callable[[str], Setup]
    options: tuple[Option, ...] = ()
    chosen: str = ""


class Group(Struct, frozen=True):
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


# ------------------------------------------------------------ what is asked


class Ask(NamedTuple):
    """One value: the name of its field, its title, and what is asked.

    none: the words where it is not set, which a typed 0 brings about; "" if it is always set.
    """

    key: str
    title: str
    ask: str
    none: str = ""


_NOTED: Final = "{}; it goes into the record. 0 leaves it unsaid."
EVENING: Final = (
    Ask("title", "Title", "A name for this evening."),
    Ask("who", "Who", "Who develops; it goes into the record."),
    Ask("place", "Loaded in", "Where film is wound on the reels."),
    Ask("loading", "Loaded", "Where there is room, or after."),
    Ask("agitation", "Agitation", f"How often the tank is moved. {EFFECT}"),
    Ask(
        "agitated_by",
        "Moved by",
        f"Turned over by hand, or the reels turned: by a stick, or on rollers. {DIRECTION}",
    ),
    Ask(
        "developer_c",
        "Developer at",
        "Its temperature tonight, such as 38.9 C or 102 F; 0 goes back to the sheet's.",
        "as the sheet has it",
    ),
    Ask("thermometer_error_c", "Thermometer", "How far it may be off either way, such as 0.3 C or 0.5 F."),
)
ROLL: Final = (
    Ask("label", "Label", "What you call this roll."),
    Ask("kind", "Film", "What kind of film it is."),
    Ask("format", "Format", "Its format."),
    Ask("push", "Push", "Stops, such as 1; 0 develops it as exposed."),
    Ask("stock", "Stock", _NOTED.format("The film's own name, in your words"), "not said"),
    Ask(
        "exposure_index",
        "Exposed at",
        "The exposure index it was metered at, such as 400; 0 leaves it unsaid.",
        "not said",
    ),
    Ask("camera", "Camera", _NOTED.format("The camera it was in"), "not said"),
    Ask("shot_at", "Taken in", _NOTED.format("Where the pictures were taken"), "not said"),
    Ask("shot_on", "Taken on", "The day, like 2026-05-01; 0 leaves it unsaid.", "not said"),
)
TANK: Final = (
    Ask("material", "Made of", "What it is made of."),
    Ask("places_for_120", "120 takes", "Places that one roll of 120 takes."),
    Ask("carry_over_ml", "Keeps back", "What stays on a reel after draining, such as 10 ml."),
)
HOLDS, USED, MIXED, FULL = (
    Ask("volume_ml", "Holds", "How much is in it, such as 1 l or 33 US fl oz."),
    Ask("used_rolls", "Rolls so far", "How many rolls of 36 exposures, or of 120, it has done."),
    Ask("mixed_on", "Mixed on", "The day, like 2026-05-01; 0 where nobody knows.", "nobody knows"),
    Ask("full", "Kept full", "Whether it is full to the neck, or squeezed until it is."),
)
BOTTLE: Final = (
    Ask("label", "Label", "What is written on it."),
    HOLDS,
    Ask(
        "start_c",
        "Starts at",
        "Its temperature before warming, such as 20 C; 0 takes the room's.",
        "as the room",
    ),
    Ask("material", "Bottle", "What it is made of."),
    USED,
    Ask(
        "backed_rolls",
        "With backing",
        "How many of them had their black backing on: it stays in the bottle.",
    ),
    MIXED,
    FULL,
    Ask(
        "price",
        "Price",
        "What it cost, in your own currency, such as 12,50; 0 where it is not noted.",
        "not noted",
    ),
    Ask(
        "reason",
        EVEN_SO,
        "Why it is used although it is old, worn or spent; this goes into the record. 0 takes it back.",
        "no reason given",
    ),
)
WATER: Final = (
    Ask("hot_c", "Hot tap", "As measured at the tap, such as 55 C or 131 F. It scalds."),
    Ask("cold_c", "Cold tap", "As measured at the tap, such as 14 C or 57 F."),
    Ask("room_c", "Room", "The room's temperature, such as 21 C or 70 F."),
    Ask("humidity", "Humidity", "The room's relative humidity in percent, such as 50."),
    Ask("bath_ml", "Bath", "How much water the bottles stand in, such as 10 l or 3 US gal."),
    Ask("bath_c", "Bath at", "What the bath is now, such as 44 C; 0 lets it be worked out.", "as worked out"),
    Ask("covered", "Covered", "Whether the bath has a lid."),
)

_WORDS: Final = {
    "backed": "backed (black layer to rub off)",
    "while warming": "while bottles warm",
    "after warming": "once they are warm",
}
"""The words of options that are not shown as they are written."""
_SHOWN: Final = {"exposure_index": "EI {}", "places_for_120": "{} places", "backed_rolls": "{} rolls"}


def asked(of: Any, asks: tuple[Ask, ...], put: Callable[..., Setup], units: Units) -> tuple[Field, ...]:
    """The fields for values of `of`, a dataclass of a setup.

    put: returns the setup with the named values of it changed; it may raise Refused.
    """

    def field(ask: Ask) -> Field:
        kind = _hints(of.__class__)[ask.key]
        options = FORMATS if ask.key == "format" else ("yes", "no") if kind is bool else get_args(kind)
        if not all(isinstance(option, str) for option in options):
            options = ()  # a value that may be None is typed
        return Field(
            ask.title,
            _shown(ask, getattr(of, ask.key), units),
            ask.ask,
            lambda text: put(**{ask.key: _read(ask, kind, text, units)}),
            tuple((option, _WORDS.get(option, option)) for option in options),
        )

    return tuple(map(field, asks))


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _shown(ask: Ask, value: Any, units: Units) -> str:
    if ask.none and value in (None, ""):
        return ask.none
    if ask.key == "thermometer_error_c":
        return f"±{difference(value, units.temperature)}"
    if ask.key.endswith("_c"):
        return temperature(value, units.temperature)
    if ask.key.endswith("_ml"):
        return volume(value, units.volume)
    match ask.key:
        case "humidity":
            return f"{value * 100:.0f} %"
        case "price":
            return f"{value:.2f}"
        case "used_rolls" | "backed_rolls":  # the shelf counts by film area, so they need not be whole
            value = round(value, 1)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _SHOWN.get(ask.key, "{}").format(f"{value:g}" if isinstance(value, float) else value)


def _read(ask: Ask, kind: Any, text: str, units: Units) -> Any:
    """The value that a typed text or chosen option stands for. Raises Refused."""
    if ask.key == "thermometer_error_c":
        return typed.difference_c(text, units.temperature)
    if ask.key.endswith("_c"):
        read = typed.temperature_or_none if ask.none else typed.temperature_c
        return read(text, units.temperature)
    if ask.key.endswith("_ml"):
        return typed.volume_ml(text, units.volume, drops=ask.key == "carry_over_ml")
    if ask.key.endswith("_on"):
        return typed.day_or_none(text)
    if ask.key == "humidity":
        return typed.number(text.removesuffix("%").strip()) / 100.0
    kinds = get_args(kind) or (kind,)
    if bool in kinds:
        return text == "yes"
    if int in kinds or float in kinds:
        number = typed.count(text) if int in kinds else typed.number(text)
        return number or None if ask.none else number
    return "" if ask.none and text == "0" else text
