"""The running dose of a developer whose temperature changes, and the end that follows from it.

Time is in s since the developer's t0, temperature in °C. The developer is done when the shares of the needed time
that it has spent add up to one:

    ∫ dt / (factor × t(T(t))) = 1        factor = use × push, t(T) the table's time

T(t) is the first reading before it, linear between readings, and after the last one Newton's cooling towards the
surroundings, or constant where these or the rate are not known. Where a forecast leaves the table, the rate at the
edge is kept and `left_table_at_s` gives the instant. For a developer that cools, this end is too early, never too
late: a further reading can lengthen the bath, but nothing takes development back. For one that warms the end is
too late, so a reading is asked for in both cases.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from itertools import pairwise

from msgspec import Struct

from wetside.domain.calc.developer_time import (
    TimeTable,
    clamped_seconds,
    sensitivity_per_k,
    served,
    served_range_c,
    serves,
)
from wetside.domain.messages import refused

_ASK_BEYOND = 1.0 / 3.0
"""The share of the old time beyond which a move of the end is confirmed first."""

SAME_END_S = 0.5
"""A smaller move of the end is not shown by the clock, and is worded as none."""

_SHORTEST_SPAN_S = 20.0
"""Readings closer together than this give no rate: their difference is the thermometer's last digit."""

_LEAST_EXCESS_C = 1.0
"""Nearer to the surroundings than this (K) cooling cannot be told from the thermometer's noise."""

_FASTEST_RATE_PER_S = 1.0 / 60.0
"""A time constant of one minute; a thin soft bottle in still water has eleven, a tank in air far more."""

# Gauss-Legendre, eight points on (-1, 1), positive half: Abramowitz & Stegun table 25.4
_NODES = (0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363)
_WEIGHTS = (0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763)

_MARK_IN_TIME_CONSTANTS = 0.5
_SETTLED_C = 1e-6


class Reading(Struct, frozen=True):
    """A measured developer temperature (°C) at an instant (s since t0; below zero if measured before)."""

    at_s: float
    temperature_c: float


class TemperaturePath(Struct, frozen=True):
    """The developer's temperature over time.

    `readings` in order of time, at least one; `surroundings_c` is the bath or room (°C) towards which it drifts at
    `rate_per_s` (1/s), None if not known. Raises ValueError for readings out of order.
    """

    readings: tuple[Reading, ...]
    surroundings_c: float | None
    rate_per_s: float | None

    def __post_init__(self) -> None:
        if not self.readings or any(a.at_s >= b.at_s for a, b in pairwise(self.readings)):
            raise ValueError("readings are in order of time, at least one")


def temperature_at(path: TemperaturePath, at_s: float) -> float:
    """The developer's temperature (°C) at an instant (s since t0)."""
    readings = path.readings
    if at_s <= readings[0].at_s:
        return readings[0].temperature_c
    last = readings[-1]
    if at_s >= last.at_s:
        if path.surroundings_c is None or path.rate_per_s is None:
            return last.temperature_c
        excess_c = last.temperature_c - path.surroundings_c
        return path.surroundings_c + excess_c * math.exp(-path.rate_per_s * (at_s - last.at_s))
    index = bisect_right(readings, at_s, key=lambda reading: reading.at_s)
    before, after = readings[index - 1], readings[index]
    share = (at_s - before.at_s) / (after.at_s - before.at_s)
    return before.temperature_c + share * (after.temperature_c - before.temperature_c)


def fit_cooling(readings: tuple[Reading, ...], surroundings_c: float) -> float | None:
    """The rate (1/s) of Newton's cooling towards `surroundings_c` (°C) that fits readings of the tank best.

    Least squares in temperature over rate and starting temperature. None with fewer than two readings, or where
    they are too close together in time, too near to the surroundings or on both sides of them, move away from
    them, or move faster than any vessel cools. Readings of the bottle do not follow this law.
    """
    if len(readings) < 2 or readings[-1].at_s - readings[0].at_s < _SHORTEST_SPAN_S:
        return None
    side = math.copysign(1.0, readings[0].temperature_c - surroundings_c)
    start_s = readings[0].at_s
    points = [(r.at_s - start_s, side * (r.temperature_c - surroundings_c)) for r in readings]
    if min(excess for _, excess in points) < _LEAST_EXCESS_C:
        return None

    def slope(rate: float) -> float:
        """The change of the squared errors with the rate, but for a factor, at the best starting temperature."""
        faded = [(at_s, math.exp(-rate * at_s), excess) for at_s, excess in points]
        squares = math.fsum(fade * fade for _, fade, _ in faded)
        start = math.fsum(fade * excess for _, fade, excess in faded) / squares
        return math.fsum(at_s * fade * (excess - start * fade) for at_s, fade, excess in faded)

    slow, fast = 0.0, _FASTEST_RATE_PER_S
    if slope(slow) >= 0.0 or slope(fast) < 0.0:
        return None
    for _ in range(40):
        middle = 0.5 * (slow + fast)
        slow, fast = (middle, fast) if slope(middle) < 0.0 else (slow, middle)
    return 0.5 * (slow + fast)


def dose(table: TimeTable, factor: float, path: TemperaturePath, until_s: float) -> float:
    """The share of the development done from t0 to `until_s` (s, zero or later); 1 is the end.

    `factor` is use × push. Raises Refusal for a reading outside the table.
    """
    _refuse_outside(table, path)
    return _integral(_rate(table, factor, path), _breaks(table, path), until_s)


def end_of_dose(table: TimeTable, factor: float, path: TemperaturePath) -> float:
    """The instant (s since t0) at which the dose is 1. Raises as `dose`."""
    _refuse_outside(table, path)
    rate = _rate(table, factor, path)
    breaks = _breaks(table, path)
    done = 0.0
    for start_s, end_s in pairwise(breaks):
        share = _gauss(rate, start_s, end_s)
        if done + share >= 1.0:
            return _reached(rate, start_s, end_s, 1.0 - done)
        done += share
    # the rate is constant past the last break
    return breaks[-1] + (1.0 - done) / rate(breaks[-1])


def uncertainty_s(
    table: TimeTable, factor: float, path: TemperaturePath, thermometer_error_c: float
) -> float | None:
    """By how many s the end moves if every reading is wrong by `thermometer_error_c` (K); None for one row.

    First order, with the table's slope along the path, so no time outside the table is needed. At a constant
    temperature it equals `DeveloperTime.thermometer_s`. Raises as `dose`.
    """
    end_s = end_of_dose(table, factor, path)
    if len(table.rows) == 1:
        return None
    rate = _rate(table, factor, path)
    coolest_c, warmest_c = table.rows[0][0], table.rows[-1][0]

    def moved_rate(at_s: float) -> float:
        held_c = min(max(temperature_at(path, at_s), coolest_c), warmest_c)
        return rate(at_s) * (sensitivity_per_k(table, held_c) or 0.0)

    return thermometer_error_c * _integral(moved_rate, _breaks(table, path), end_s) / rate(end_s)


def left_table_at_s(table: TimeTable, path: TemperaturePath, until_s: float) -> float | None:
    """The instant (s since t0) before `until_s` at which the forecast leaves the table; None if it does not."""
    last = path.readings[-1]
    coolest_c, warmest_c = served_range_c(table)
    edge_c = coolest_c if path.surroundings_c is not None and path.surroundings_c < coolest_c else warmest_c
    left_s = _passes_at(path, edge_c)
    if left_s is None and path.surroundings_c is not None and not serves(table, temperature_at(path, until_s)):
        left_s = last.at_s  # the reading lies on the edge
    return None if left_s is None or left_s >= until_s else max(left_s, 0.0)


def moves_far(old_s: float, new_s: float) -> bool:
    """Whether an end moves so far from the one last planned or confirmed that it is confirmed first."""
    return abs(new_s - old_s) > old_s * _ASK_BEYOND


def _refuse_outside(table: TimeTable, path: TemperaturePath) -> None:
    """Raise Refusal where a reading lies outside the table."""
    for reading in path.readings:
        if not serves(table, reading.temperature_c):
            read_c, at_s = reading.temperature_c, reading.at_s
            raise refused("reading outside table", read_c=read_c, at_s=at_s, served=served(table))


def _rate(table: TimeTable, factor: float, path: TemperaturePath) -> Callable[[float], float]:
    """The dose per s at an instant; outside the table that of the nearest row."""
    return lambda at_s: 1.0 / (factor * clamped_seconds(table, temperature_at(path, at_s)))


def _breaks(table: TimeTable, path: TemperaturePath) -> list[float]:
    """Instants from 0 on between which the rate is smooth; after the last one it is constant.

    They are the readings, the crossings of the table's rows (where its slope jumps), and after the last reading
    each half time constant until the drift has settled to a millionth of a K. Eight Gauss points between two of
    them give the integral to far below a millisecond.
    """
    marks = {0.0}
    marks.update(reading.at_s for reading in path.readings)
    for before, after in pairwise(path.readings):
        for row_c, _ in table.rows:
            low_c, high_c = sorted((before.temperature_c, after.temperature_c))
            if low_c < row_c < high_c:
                share = (row_c - before.temperature_c) / (after.temperature_c - before.temperature_c)
                marks.add(before.at_s + share * (after.at_s - before.at_s))
    if path.surroundings_c is not None and path.rate_per_s is not None:
        last = path.readings[-1]
        crossings = (_passes_at(path, row_c) for row_c, _ in table.rows)
        marks.update(at_s for at_s in crossings if at_s is not None)
        excess_c = abs(last.temperature_c - path.surroundings_c)
        constants = max(0.0, math.log(excess_c / _SETTLED_C)) if excess_c > 0.0 else 0.0
        for index in range(1, math.ceil(constants / _MARK_IN_TIME_CONSTANTS) + 1):
            marks.add(last.at_s + index * _MARK_IN_TIME_CONSTANTS / path.rate_per_s)
    return sorted(mark for mark in marks if mark >= 0.0)


def _passes_at(path: TemperaturePath, level_c: float) -> float | None:
    """The instant after the last reading at which the drift passes a temperature (°C); None if it does not."""
    if path.surroundings_c is None or path.rate_per_s is None:
        return None
    last = path.readings[-1]
    excess_c = last.temperature_c - path.surroundings_c
    if excess_c == 0.0:
        return None
    left = (level_c - path.surroundings_c) / excess_c
    return last.at_s - math.log(left) / path.rate_per_s if 0.0 < left < 1.0 else None


def _gauss(value: Callable[[float], float], start_s: float, end_s: float) -> float:
    """Integral of a smooth function, Gauss-Legendre with eight points."""
    middle, half = 0.5 * (start_s + end_s), 0.5 * (end_s - start_s)
    total = 0.0
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        total += weight * (value(middle - half * node) + value(middle + half * node))
    return half * total


def _integral(value: Callable[[float], float], breaks: list[float], until_s: float) -> float:
    stops = [mark for mark in breaks if mark < until_s] + [until_s]
    # fsum: the last digit of a plain sum differs between Python versions, and records must not
    return math.fsum(_gauss(value, start_s, end_s) for start_s, end_s in pairwise(stops))


def _reached(rate: Callable[[float], float], start_s: float, end_s: float, wanted: float) -> float:
    """The instant between two breaks at which the dose reaches `wanted`.

    Newton steps, held between the breaks: the rate only rises or only falls there, so they converge from one side.
    """
    at_s = min(end_s, start_s + wanted / rate(start_s))
    for _ in range(60):
        step_s = (_gauss(rate, start_s, at_s) - wanted) / rate(at_s)
        at_s = min(max(at_s - step_s, start_s), end_s)
        if abs(step_s) < 1e-9 * max(1.0, end_s):
            break
    return at_s
