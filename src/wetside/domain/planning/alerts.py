"""The alerts about an evening and its bottles, as messages with a stable code.

`present/alerts.toml` has the sentence of each. Temperatures are in °C (`_c`), times in s (`_s`), volumes in ml,
rolls of 135-36.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from wetside.domain.calc.developer_time import DeveloperTime
from wetside.domain.messages import Message, Value
from wetside.domain.planning.setup import Units, Water

AlertCode = Literal[
    # the time of a bath
    "short-time",
    "thermometer",
    "drain-lead",
    "handwork-late",
    # a bottle
    "expired",
    "tested",
    "age-unknown",
    "too-little",
    "stretch",
    "beyond-capacity",
    "spent",
    "suspect",
    "used-all-the-same",
    "second-bottle",
    "backing-in-bottle",
    "empty",
    "developer-dead",
    "bleach-spent",
    "clearing-spent",
    # film and process
    "slide",
    "backing-on",
    "from-memory",
    "looked-before",
    "note-on-profile",
    "other-process",
    "still-invented",
    "time-suggested",
    # the warm bath
    "never-ready",
    "hot-bath",
    "bath-too-small",
    "taps-too-cold",
    "taps-too-warm",
]
"""Stable: plans and exports keep these codes."""


def alert(code: AlertCode, variant: str = "", /, **values: Value) -> Message:
    """An alert with these values. variant: which sentence of the code, where it has several."""
    return Message(code, (*((("variant", variant),) if variant else ()), *values.items()))


class PlanWords(Struct, frozen=True):
    """The functions that make the texts a plan stores.

    developer: about a developer time, by temperature (°C), rolls per litre before it and the stops of push.
    drying: about the drying in the room's air, by the least time of the process (s). rotation: how a tank is
    rotated.
    """

    developer: Callable[[DeveloperTime, float, float, float, Units], str]
    drying: Callable[[Water, float | None, Units], str]
    rotation: str


NO_WORDS = PlanWords(developer=lambda *_: "", drying=lambda *_: "", rotation="")
"""For plans whose texts are not shown, as in a proof."""
