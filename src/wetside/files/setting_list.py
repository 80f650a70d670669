"""The one list of settings: name, title, default, limits and what each is for.

The settings file's reader, the settings screen, the commented file and the documentation use it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from wetside.domain.archive.numbering import FIRST_PATTERN
from wetside.domain.archive.sleeve import STRIP_FRAMES
from wetside.domain.profile.model import LEAST_BELL_S

Kind = Literal["seconds", "degrees", ""]
"""The quantity of a number: it may be written with its unit, "5 s" or "0.5 C", else it is in seconds or °C."""


def _setting(
    default: Any, title: str, about: str, write: str = "true or false", kind: Kind = "", **limits: float
) -> Any:
    """A dataclass field with the setting's title, its purpose, and the values allowed in the file."""
    metadata = {"title": title, "about": about, "write": write, "kind": kind, "limits": limits}
    return field(default=default, metadata=metadata)


@dataclass(frozen=True, slots=True)
class Settings:
    """Every setting, with its default. The `about` of each is its documentation and its comment in the file."""

    temperature_unit: Literal["°C", "°F"] = _setting(
        "°C",
        "Temperatures in",
        "The unit temperatures are shown in, and the unit of a typed number without one.",
        '"C" or "F"',
    )
    volume_unit: Literal["ml", "US fl oz"] = _setting(
        "ml",
        "Volumes in",
        "The unit volumes are shown in, and the unit of a typed number without one.",
        '"ml" or "US fl oz"',
    )
    thermometer_error_c: float = _setting(
        0.5,
        "Thermometer off by",
        "How far your thermometer may be off either way, where a setup does not say; it goes into "
        "the record of each bath.",
        'a difference from 0 to 5 C, such as "0.5 C" or "1 F"',
        "degrees",
        ge=0,
        le=5,
    )
    lead_in_s: float = _setting(
        5.0,
        "Time before a bath",
        "The time between ENTER and the start of a bath's clock, to get your hands on the bottle; 0 s for none.",
        'a time from 0 to 60 s, such as "5 s"',
        "seconds",
        ge=0,
        le=60,
    )
    drain_lead_s: float = _setting(
        10.0,
        "Tank drains in",
        "The time your tank takes to drain; used until your own sessions have shown how long it takes.",
        'a time from 0 to 120 s, such as "10 s"',
        "seconds",
        ge=0,
        le=120,
    )
    dark_bell_every_s: float = _setting(
        0.0,
        "Bell in the dark",
        "The time from one single bell to the next while film is loaded, so that it is heard in the dark; 0 s for "
        "none. A process may ask for its own.",
        f'"0 s" for none, or a time from {LEAST_BELL_S:g} s to 1 h, such as "5 min"',
        "seconds",
        ge=0,
        le=3600,
    )
    calls: bool = _setting(
        True,
        "Calls by ear",
        "Whether calls are given by ear at all; every call is also on screen in words.",
    )
    bell: bool = _setting(True, "Calls ring the bell", "Whether calls ring the terminal's bell.")
    cue_command: tuple[str, ...] = _setting(
        (),
        "Own program at calls",
        "A program of your own to run at each call: the program, then its arguments, one text each. No shell "
        "reads it. The words of the call are added as the last argument. An empty list runs nothing.",
        'a list of texts, such as ["/usr/bin/speak", "--slow"]',
    )
    far_view_in_baths: bool = _setting(
        False,
        "Far view in baths",
        "Whether a bath opens in the far view, with digits to be read from across the room.",
    )
    one_answer_for_plain_lines: bool = _setting(
        False,
        "One SPACE, plain lines",
        "Whether one SPACE confirms all lines of a screen that have no !, where the window shows them all; lines "
        "with ! stay single, and the ENTER that goes on after them confirms the rest. It counts once three "
        "evenings of your own are complete; practice and the examples are none.",
    )
    roll_number: str = _setting(
        FIRST_PATTERN,
        "Roll numbers",
        "The number of each roll developed from now on: {year}, {yy}, {month}, {day} of the evening, and one "
        "counter, a # for each digit, which begins anew with each year, month or day that is named.",
        f'a pattern with one counter, such as "{FIRST_PATTERN}" or "N{{####}}"',
    )
    strip_frames: int = _setting(
        STRIP_FRAMES,
        "Frames in a strip",
        "Frames in a strip when a 135 is cut for its sleeve.",
        "a whole number from 1 to 36",
        ge=1,
        le=36,
    )
    theme: Literal["terminal", "light", "dark", "high contrast"] = _setting(
        "terminal",
        "Colours",
        "The colours of the full screen: the terminal's own, dark on light, light on dark, or the strongest "
        "contrast there is.",
        '"terminal", "light", "dark" or "high contrast"',
    )
