"""What a person is warned of before an evening and about the bottles, as values.

`present/alert_text.py` has the sentence of each code. A plan and a setup keep these sentences as texts, so whoever
makes one hands the words in. Temperatures are in °C (`_c`), times in s (`_s`), volumes in ml, rolls of 135-36.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import Literal, Protocol, TypeAlias

from wetside.domain.calc.developer_time import DeveloperTime
from wetside.domain.calc.tempering import Forecast, Ranges, TemperingBench, Uncertainty
from wetside.domain.calc.water import Boiled
from wetside.domain.calc.wording import Units
from wetside.domain.planning.setup import Water
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


class PlanWords(Protocol):
    """The words that a plan keeps."""

    def alert(self, alert: Alert, units: Units) -> str:
        """A warning."""

    def developer(
        self, time: DeveloperTime, at_c: float, rolls_per_litre: float, push_stops: float, units: Units
    ) -> str:
        """The time of a developer with its reasons."""

    def drying(self, water: Water, least_s: float | None, units: Units) -> str:
        """The drying time in the room's air, beside the least time of the process."""

    def tempering(
        self,
        bench: TemperingBench,
        ranges: Ranges,
        water: Water,
        ahead: Forecast,
        uncertainty: Uncertainty,
        units: Units,
    ) -> tuple[str, ...]:
        """The forecast of the warm bath."""

    def bath(self, water: Water, target_c: float, units: Units) -> str:
        """How the warm bath is mixed from the taps, which can make it."""

    def scald(self, water_c: float, units: Units) -> str:
        """The caution about water of this temperature."""


class NoWords:
    """`PlanWords` where nobody reads them, as in a proof; an alert is its code."""

    def alert(self, alert: Alert, units: Units) -> str:
        return alert.code

    def developer(self, *_: object) -> str:
        return ""

    drying = bath = scald = developer

    def tempering(self, *_: object) -> tuple[str, ...]:
        return ()
