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
from wetside.present.sentences import word_table
from wetside.present.wording import difference, temperature, volume

Option = tuple[str, str]
"""(value, words)."""

EVEN_SO: Final = "Even so"
"""The title of the field for the reason to use a bottle in spite of a warning."""


class Field(Struct, frozen=True):
    """One value that can be changed. options: what can be chosen; empty if it is typed. put: may raise Refused.

    chosen: the option that is set now, if `value` shows it in other words. key: the setup's own name of the value.
    """

    title: str
    value: str
    ask: str
    put: Callable[[str], Setup]
    options: tuple[Option, ...] = ()
    chosen: str = ""
    key: str = ""


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


class _Ask(NamedTuple):
    """One value: its title, what is asked, and the words where it is not set; "" if it is always set."""

    title: str
    ask: str
    none: str = ""


_SHOWN: Final = {"exposure_index": "EI {}", "places_for_120": "{} places", "backed_rolls": "{} rolls"}


def asked(kind: str, of: Any, put: Callable[..., Setup], units: Units) -> tuple[Field, ...]:
    """The fields for values of `of`, a dataclass of a setup. kind: its table in `present/setup_questions.toml`.

    put: returns the setup with the named values of it changed; it may raise Refused.
    """
    table = word_table("setup_questions")

    def field(key: str, words: list[str]) -> Field:
        ask = _Ask(*(each.format(effect=EFFECT, direction=DIRECTION, even_so=EVEN_SO) for each in words))
        hint = _hints(of.__class__)[key]
        options = FORMATS if key == "format" else ("yes", "no") if hint is bool else get_args(hint)
        if not all(isinstance(option, str) for option in options):
            options = ()  # a value that may be None is typed
        return Field(
            ask.title,
            _shown(key, ask.none, getattr(of, key), units),
            ask.ask,
            lambda text: put(**{key: _read(key, bool(ask.none), hint, text, units)}),
            tuple((option, table["options"].get(option, option)) for option in options),
            key=key,
        )

    return tuple(field(key, words) for key, words in table[kind].items())


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _shown(key: str, none: str, value: Any, units: Units) -> str:
    if none and value in (None, ""):
        return none
    if key == "thermometer_error_c":
        return f"±{difference(value, units.temperature)}"
    if key.endswith("_c"):
        return temperature(value, units.temperature)
    if key.endswith("_ml"):
        return volume(value, units.volume)
    match key:
        case "humidity":
            return f"{value * 100:.0f} %"
        case "price":
            return f"{value:.2f}"
        case "used_rolls" | "backed_rolls":  # the shelf counts by film area, so they need not be whole
            value = round(value, 1)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _SHOWN.get(key, "{}").format(f"{value:g}" if isinstance(value, float) else value)


def _read(key: str, unset: bool, hint: Any, text: str, units: Units) -> Any:
    """The value that a typed text or chosen option stands for. unset: 0 stands for none. Raises Refused."""
    if key == "thermometer_error_c":
        return typed.difference_c(text, units.temperature)
    if key.endswith("_c"):
        read = typed.temperature_or_none if unset else typed.temperature_c
        return read(text, units.temperature)
    if key.endswith("_ml"):
        return typed.volume_ml(text, units.volume, drops=key == "carry_over_ml")
    if key.endswith("_on"):
        return typed.day_or_none(text)
    if key == "humidity":
        return typed.number(text.removesuffix("%").strip()) / 100.0
    kinds = get_args(hint) or (hint,)
    if bool in kinds:
        return text == "yes"
    if int in kinds or float in kinds:
        number = typed.count(text) if int in kinds else typed.number(text)
        return number or None if unset else number
    return "" if unset and text == "0" else text
