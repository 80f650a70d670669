"""Developer time from the data sheet's table, the use of the bottle and the push.

Times are never extrapolated outside a table. A temperature that changes during the bath is the subject of
`running_dose`. The model, with times in s:

    time = t(T) × use × push            ln t is linear in 1/T(K) between neighbouring rows

This is the Arrhenius law with an activation energy of its own for each interval of the table, so that each row's
own time is exact. Tables differ too much for one constant: two kit families give 102 to 108 and 57 to 88 kJ/mol
(tests/reference/test_developing_reference.py).
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable
from itertools import pairwise
from typing import Literal, assert_never

from wetside.domain.calc.wording import (
    Around,
    Between,
    Celsius,
    phrase,
)
from wetside.errors import Refused
from wetside.frozen import dataclass

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
"""Exact since the 2019 SI, cut to ten digits."""

ZERO_CELSIUS_K = 273.15

SLACK_C = 1e-9
"""Rounding error allowed at an edge of the table, so that 37.8 + 0.15 still includes a typed 37.95."""


@dataclass(frozen=True, slots=True)
class TimeTable:
    """A data sheet's developer times: rows of (temperature °C, time s), temperature rising, time falling.

    The table serves temperatures from its first to its last row, and `tolerance_c` (K) beyond them with the time
    of that row. Raises Refused for rows out of order and for figures that no developer has.
    """

    rows: tuple[tuple[float, float], ...]
    tolerance_c: float = 0.15

    def __post_init__(self) -> None:
        if not self.rows:
            raise Refused("The time table is empty: give at least one temperature with its time.")
        for temperature_c, seconds in self.rows:
            if not 0.0 < temperature_c < 100.0:
                raise Refused(f"The time table has a row at {temperature_c} °C: give 0 to 100 °C.")
            if not (math.isfinite(seconds) and seconds > 0.0):
                raise Refused(f"The time table gives {seconds} s at {temperature_c} °C: give a time above zero.")
        for (cooler_c, longer_s), (warmer_c, shorter_s) in pairwise(self.rows):
            if not cooler_c < warmer_c:
                raise Refused(f"The time table lists {warmer_c} °C after {cooler_c} °C: put the coolest first.")
            if not longer_s > shorter_s:
                raise Refused(
                    f"The time table gives {shorter_s} s at {warmer_c} °C and {longer_s} s at {cooler_c} °C:"
                    " a warmer developer must take less time."
                )
        if not (math.isfinite(self.tolerance_c) and self.tolerance_c >= 0.0):
            raise Refused(f"The time table's tolerance is {self.tolerance_c} °C: give zero or more.")


@dataclass(frozen=True, slots=True)
class UseCompensation:
    """How film already developed lengthens the time, as a factor by rolls (equivalents) per litre.

    none: 1 · linear: 1 + per_roll × rolls · compound: (1 + per_roll) ^ rolls · steps: rows of (rolls per litre
    from which it holds, factor), 1 before the first. Sheets differ in the rule, so the profile states it. Raises
    Refused for figures that would shorten the time.
    """

    kind: Literal["none", "linear", "compound", "steps"]
    per_roll: float = 0.0
    rows: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        if not (math.isfinite(self.per_roll) and self.per_roll >= 0.0):
            raise Refused(f"The use rule adds {self.per_roll} for each roll: give zero or more, 0.02 for 2 %.")
        if self.kind == "steps":
            self._check_steps()
        elif self.rows:
            raise Refused(f'The use rule is "{self.kind}" and has rows: only "steps" takes rows.')
        if self.kind in ("none", "steps") and self.per_roll:
            raise Refused(f'The use rule is "{self.kind}" and has a share for each roll: leave that out.')

    def _check_steps(self) -> None:
        if not self.rows:
            raise Refused('The use rule is "steps" and has no rows: give rolls per litre with their factor.')
        for rolls, factor in self.rows:
            if not (math.isfinite(rolls) and rolls >= 0.0 and math.isfinite(factor) and factor >= 1.0):
                raise Refused(f"The use rule has the row {rolls}, {factor}: rolls from 0, factors from 1.")
        for (fewer, smaller), (more, larger) in pairwise(self.rows):
            if not (fewer < more and smaller <= larger):
                raise Refused(
                    f"The use rule goes from {fewer}, {smaller} to {more}, {larger}:"
                    " the rolls must rise and the factor must never fall."
                )


@dataclass(frozen=True, slots=True)
class PushTable:
    """Rows of (stops, factor), both rising; 0 stops is 1 and need not be listed.

    Published rules differ (× 1.15 and × 1.33 for one stop), so the rows belong to one chemistry. Raises Refused
    for rows out of order.
    """

    rows: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        for stops, factor in self.rows:
            if not (math.isfinite(stops) and math.isfinite(factor) and factor > 0.0):
                raise Refused(f"The push table has the row {stops}, {factor}: give stops and a factor above zero.")
            if stops == 0.0 and factor != 1.0:
                raise Refused(f"The push table gives {factor} for 0 stops: that is 1 by itself, leave it out.")
        listed = [stops for stops, _ in self.rows]
        if listed != sorted(set(listed)):
            raise Refused("The push table's stops must rise from row to row: put the smallest first, each once.")
        for (less, smaller), (more, larger) in pairwise(_with_zero(self.rows)):
            if not smaller < larger:
                raise Refused(
                    f"The push table goes from {smaller} at {less:g} stops to {larger} at {more:g}:"
                    " more stops must take more time."
                )


@dataclass(frozen=True, slots=True)
class DeveloperTime:
    """A developer time in s: `seconds` is `sheet_s` × temperature, use and push factor.

    `thermometer_s` is the uncertainty (± s) from the thermometer's error; None for a table of one row.
    """

    seconds: float
    sheet_s: float
    temperature_factor: float
    use_factor: float
    push_factor: float
    thermometer_s: float | None
    shorter_than_sensible: bool


def served_range_c(table: TimeTable) -> tuple[float, float]:
    """The lowest and the highest temperature (°C) the table serves, tolerance included."""
    return table.rows[0][0] - table.tolerance_c, table.rows[-1][0] + table.tolerance_c


def serves(table: TimeTable, temperature_c: float) -> bool:
    """Whether the table has a time for this temperature (°C)."""
    coolest_c, warmest_c = served_range_c(table)
    return coolest_c - SLACK_C <= temperature_c <= warmest_c + SLACK_C


def served(table: TimeTable) -> Between | Around:
    """The range as a sheet states it: "29.4 to 38.9 °C", or "37.8 ± 0.15 °C" for a single row."""
    coolest_c, warmest_c = table.rows[0][0], table.rows[-1][0]
    return Around(coolest_c, table.tolerance_c) if len(table.rows) == 1 else Between(coolest_c, warmest_c)


def table_seconds(table: TimeTable, temperature_c: float) -> float:
    """The time (s) of fresh developer at this temperature (°C). Raises Refused outside the table."""
    _refuse_outside(table, temperature_c)
    return clamped_seconds(table, temperature_c)


def clamped_seconds(table: TimeTable, temperature_c: float) -> float:
    """As `table_seconds`, but outside the table the nearest row's time: for forecasts that report leaving it."""
    rows = table.rows
    if temperature_c <= rows[0][0]:
        return rows[0][1]
    if temperature_c >= rows[-1][0]:
        return rows[-1][1]
    (cooler_c, longer_s), (warmer_c, shorter_s) = _stretch(table, temperature_c)
    # linear in 1/T, written so that each row gives its own time exactly
    share = (
        (warmer_c + ZERO_CELSIUS_K)
        * (temperature_c - cooler_c)
        / ((temperature_c + ZERO_CELSIUS_K) * (warmer_c - cooler_c))
    )
    return longer_s * math.exp(share * math.log(shorter_s / longer_s))


def activation_energy_kj_mol(table: TimeTable, temperature_c: float) -> float | None:
    """Activation energy (kJ/mol) of the table's interval at this temperature (°C); None for a single row.

    E = R ln(t1/t2) / (1/T1 − 1/T2); at an inner row that of the cooler interval, as baths cool. Raises Refused
    outside the table.
    """
    _refuse_outside(table, temperature_c)
    if len(table.rows) == 1:
        return None
    (cooler_c, longer_s), (warmer_c, shorter_s) = _stretch(table, temperature_c)
    span_per_k = 1.0 / (cooler_c + ZERO_CELSIUS_K) - 1.0 / (warmer_c + ZERO_CELSIUS_K)
    return GAS_CONSTANT_J_PER_MOL_K * math.log(longer_s / shorter_s) / span_per_k / 1000.0


def sensitivity_per_k(table: TimeTable, temperature_c: float) -> float | None:
    """The relative decrease of the time per K, E / (R T²), in 1/K; None for a single row.

    Raises Refused outside the table.
    """
    energy_kj_mol = activation_energy_kj_mol(table, temperature_c)
    if energy_kj_mol is None:
        return None
    kelvin = temperature_c + ZERO_CELSIUS_K
    return energy_kj_mol * 1000.0 / (GAS_CONSTANT_J_PER_MOL_K * kelvin * kelvin)


def local_q10(table: TimeTable, temperature_c: float) -> float | None:
    """The slope as Q10, exp(10 E / (R T²)); None for a single row. Raises Refused outside the table."""
    slope = sensitivity_per_k(table, temperature_c)
    return None if slope is None else math.exp(10.0 * slope)


def warmer_by_s(table: TimeTable, temperature_c: float, seconds: float, by_k: float) -> float | None:
    """The change in s of a time of `seconds` at `temperature_c` (°C) when the developer is `by_k` (K) warmer.

    None where the table does not serve the new temperature, or has a single row. Raises Refused where it does not
    serve `temperature_c`.
    """
    now_s = table_seconds(table, temperature_c)
    if len(table.rows) == 1 or not serves(table, temperature_c + by_k):
        return None
    return seconds * (table_seconds(table, temperature_c + by_k) / now_s - 1.0)


def use_factor(rule: UseCompensation, rolls_per_litre_before: float) -> float:
    """The factor for a used developer (1 or more). Raises Refused for a use below zero or beyond any reason."""
    if not (math.isfinite(rolls_per_litre_before) and rolls_per_litre_before >= 0.0):
        raise Refused(f"{rolls_per_litre_before} rolls per litre before this batch: give zero or more.")
    match rule.kind:
        case "none":
            return 1.0
        case "linear":
            return 1.0 + rule.per_roll * rolls_per_litre_before
        case "compound":
            growth = rolls_per_litre_before * math.log1p(rule.per_roll)
            if growth > 100.0:
                raise Refused(
                    f"{rolls_per_litre_before:g} rolls per litre is more than any developer survives: check it."
                )
            return math.exp(growth)
        case "steps":
            return max((factor for rolls, factor in rule.rows if rolls <= rolls_per_litre_before), default=1.0)
        case _:
            assert_never(rule.kind)


def push_factor(table: PushTable, stops: float) -> float:
    """The factor for a push (above 0) or a pull (below 0) in stops; its logarithm is linear between rows.

    Raises Refused beyond the first and last row.
    """
    rows = _with_zero(table.rows)
    if not rows[0][0] <= stops <= rows[-1][0]:
        if len(rows) == 1:
            raise Refused(f"No time for a push of {stops:g} stops: the profile has no push table, plan 0.")
        raise Refused(
            f"No time for a push of {stops:g} stops: the table runs from {rows[0][0]:g} to {rows[-1][0]:g}."
        )
    for (less, smaller), (more, larger) in pairwise(rows):
        if stops == less:
            return smaller
        if less < stops < more:
            return smaller * math.pow(larger / smaller, (stops - less) / (more - less))
    return rows[-1][1]


def stops_of(table: PushTable, factor: float) -> tuple[float, bool] | None:
    """The inverse of `push_factor` for a factor of 1 or more: (stops, whether the table ends before it).

    Beyond the last row the stops are those of that row. None for a table without a push.
    """
    rows = [row for row in _with_zero(table.rows) if row[0] >= 0.0]
    if len(rows) < 2:
        return None
    for (less, smaller), (more, larger) in pairwise(rows):
        if factor <= larger:
            return less + (more - less) * max(0.0, math.log(factor / smaller) / math.log(larger / smaller)), False
    return rows[-1][0], True


def developer_time(
    table: TimeTable,
    *,
    temperature_c: float,
    target_c: float,
    use: UseCompensation,
    rolls_per_litre_before: float,
    push_table: PushTable,
    push_stops: float,
    thermometer_error_c: float,
    shortest_s: float = 180.0,
) -> DeveloperTime:
    """The developer time at `temperature_c`, with each factor relative to the sheet's time at `target_c`.

    `thermometer_error_c` is the thermometer's own error (K). A result below `shortest_s` is marked, because
    pouring in and out then takes too large a share. Raises Refused for figures outside the table or the rules.
    """
    if not (math.isfinite(thermometer_error_c) and thermometer_error_c >= 0.0):
        raise Refused(f"The thermometer's error is {thermometer_error_c} °C: give zero or more.")
    sheet_s = table_seconds(table, target_c)
    temperature = table_seconds(table, temperature_c) / sheet_s
    use_by = use_factor(use, rolls_per_litre_before)
    push_by = push_factor(push_table, push_stops)
    seconds = sheet_s * temperature * use_by * push_by
    slope = sensitivity_per_k(table, temperature_c)
    return DeveloperTime(
        seconds=seconds,
        sheet_s=sheet_s,
        temperature_factor=temperature,
        use_factor=use_by,
        push_factor=push_by,
        thermometer_s=None if slope is None else seconds * slope * thermometer_error_c,
        shorter_than_sensible=seconds < shortest_s,
    )


def _refuse_outside(table: TimeTable, temperature_c: float) -> None:
    if not serves(table, temperature_c):
        raise Refused(
            phrase(
                "No developer time for {}: the table serves {}. Bring the developer into that range.",
                Celsius(temperature_c),
                served(table),
            )
        )


def _stretch(table: TimeTable, temperature_c: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two rows around a temperature (°C); outside the table the outermost pair."""
    rows = table.rows
    warmer = min(max(bisect_left(rows, (temperature_c,)), 1), len(rows) - 1)
    return rows[warmer - 1], rows[warmer]


def _with_zero(rows: Iterable[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    return tuple(sorted({*rows, (0.0, 1.0)}))
