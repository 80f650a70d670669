"""How far a forecast moment may be off: by transfers, guessed or fitted, and by the thermometer's own error.

A bench is forecast again with all its bottles taking heat better and worse by one standard deviation. An error
that all readings share moves every curve alike, which is the same as moving the ranges the other way.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from wetside.domain.calc.tempering import Forecast, TemperingBench, all_in_range_in, forecast
from wetside.frozen import dataclass

GUESSED_LOG: Final = 0.3
"""A guessed transfer is off by a third either way (our own number; walls of steel and glass differ by 0.37)."""

Ranges = tuple[tuple[float, float] | None, ...]


@dataclass(frozen=True, slots=True)
class Unsure:
    """What is not known of a bench: the logarithm of each bottle's transfer (one standard deviation), and by how
    many °C the thermometer is off at the most."""

    transfer_logs: tuple[float, ...]
    thermometer_c: float = 0.0


def guessed(bottles: int, thermometer_c: float) -> Unsure:
    """What is not known before any reading."""
    return Unsure((GUESSED_LOG,) * bottles, thermometer_c)


class Spans:
    """The moments of one bench, each with the earliest and the latest that it may be."""

    def __init__(self, bench: TemperingBench, ahead: Forecast, unsure: Unsure) -> None:
        """`ahead` is the bench's own forecast; the others are made over the same time."""
        self._ahead, self._error_c = ahead, unsure.thermometer_c
        every_s = ahead.times_s[1] - ahead.times_s[0]
        self._others = [
            forecast(_scaled(bench, unsure.transfer_logs, sign), ahead.times_s[-1], every_s)
            for sign in (1.0, -1.0)
        ]

    def enters_s(self, ranges: Ranges) -> tuple[float, float | None] | None:
        """When all bottles with a range are in it: earliest and latest, in s from the bench's instant.

        The latest is None where they may not get there; None altogether where they are not forecast to. A range
        narrower than the thermometer's error is taken as that thermometer shows it: the gates go by readings.
        """
        middle_s = all_in_range_in(self._ahead, ranges).enters_s
        if middle_s is None:
            return None
        found = [all_in_range_in(other, ranges).enters_s for other in self._others]
        read = [all_in_range_in(self._ahead, _moved(ranges, by_c)).enters_s for by_c in self._errors_c()]
        moments = [each for each in (*found, *read) if each is not None]
        early_s = middle_s - math.hypot(*(max(0.0, middle_s - each) for each in moments))
        late_s = middle_s + math.hypot(*(max(0.0, each - middle_s) for each in moments))
        return max(0.0, early_s), None if None in found else late_s

    def _errors_c(self) -> tuple[float, ...]:
        return (self._error_c, -self._error_c) if self._error_c > 0.0 else ()


def _scaled(bench: TemperingBench, logs: tuple[float, ...], sign: float) -> TemperingBench:
    bottles = tuple(
        replace(bottle, ua_w_per_k=bottle.ua_w_per_k * math.exp(sign * log))
        for bottle, log in zip(bench.bottles, logs, strict=True)
    )
    return replace(bench, bottles=bottles)


def _moved(ranges: Ranges, by_c: float) -> Ranges:
    return tuple(None if each is None else (each[0] + by_c, each[1] + by_c) for each in ranges)
