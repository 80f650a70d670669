"""The alerts about an evening and its bottles, as codes with values.

`present/alerts.toml` has the sentence of each code. Plans and setups store the sentences, so their
maker gets the words as an argument (`PlanWords`). Temperatures are in °C (`_c`), times in s (`_s`), volumes in ml,
rolls of 135-36.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal, TypeAlias

from msgspec import Struct, field

from wetside.domain.calc.developer_time import DeveloperTime
from wetside.domain.calc.water import Boiled
from wetside.domain.messages import Message
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
    # the warm bath
    "never-ready",
    "hot-bath",
    "bath-too-small",
    "taps-too-cold",
    "taps-too-warm",
]
"""Stable: plans and exports keep these codes."""

AlertValue: TypeAlias = "str | float | tuple[float, float] | Boiled | Message | Alert"


class Alert(Struct, frozen=True):
    """A code, the values of its sentence by name, and the variant where a code has several sentences."""

    code: AlertCode
    values: Mapping[str, AlertValue] = field(default_factory=dict)
    variant: str = ""


AlertWords = Callable[[Alert, Units], str]
"""Words an alert in a person's units."""


class PlanWords(Struct, frozen=True):
    """The functions that make the texts a plan stores.

    alert, refusal: the sentence of an alert, of a refusal. developer: about a developer time, by temperature (°C),
    rolls per litre before it and the stops of push. drying: about the drying in the room's air, by the least time
    of the process (s). tempering: about the warm bath's forecast. bath: how to mix a bath of a temperature (°C)
    that the taps can make. scald: the caution about water of a temperature (°C). rotation: how a tank is rotated.
    """

    alert: AlertWords
    refusal: Callable[[Message, Units], str]
    developer: Callable[[DeveloperTime, float, float, float, Units], str]
    drying: Callable[[Water, float | None, Units], str]
    rotation: str


NO_WORDS = PlanWords(
    alert=lambda alert, units: alert.code,
    refusal=lambda why, units: why.code,
    developer=lambda *_: "",
    drying=lambda *_: "",
    rotation="",
)
"""For plans whose texts are not shown, as in a proof: the text of an alert or a refusal is its code."""
