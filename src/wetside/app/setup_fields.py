"""The parts of the setup's form: fields, groups, the person's units, and how a changed setup is checked.

Whatever is typed is held to the same limits as a setup file, since it is written and read as one.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

from wetside.domain.calc.wording import TemperatureUnit, VolumeUnit
from wetside.domain.planning.setup import Setup
from wetside.errors import FileUnusable, Refused
from wetside.files.setup_file import setup_from_text, write_setup

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
