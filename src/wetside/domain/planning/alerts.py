"""What a person is warned of before an evening and about the bottles, as values.

`present/alert_text.py` has the sentence of each code. A plan and a setup keep these sentences as texts, so whoever
makes one hands the words in. Temperatures are in °C (`_c`), times in s (`_s`), volumes in ml, rolls of 135-36.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import Literal, TypeAlias

from wetside.domain.calc.water import Boiled
from wetside.domain.calc.wording import Units
from wetside.errors import Refused
from wetside.frozen import dataclass

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

AlertValue: TypeAlias = "str | float | tuple[float, float] | Boiled | Refused | Alert"


@dataclass(frozen=True, slots=True)
class Alert:
    """A code, the values of its sentence by name, and the variant where a code has several sentences."""

    code: AlertCode
    values: Mapping[str, AlertValue] = field(default_factory=dict)
    variant: str = ""


AlertWords = Callable[[Alert, Units], str]
"""Words an alert in a person's units."""


def code_alone(alert: Alert, units: Units) -> str:
    """The words where nobody reads them, as in a proof."""
    return alert.code
