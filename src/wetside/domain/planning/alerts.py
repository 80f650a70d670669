"""The alerts about an evening and its bottles, as messages with a stable code.

`present/alerts.toml` has the sentence of each. Temperatures are in °C (`_c`), times in s (`_s`), volumes in ml,
rolls of 135-36.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.messages import Message, Value

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
