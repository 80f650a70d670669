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
from itertools import pairwise
from typing import Literal, TypeAlias, assert_never

from msgspec import Struct

from wetside.domain.messages import refused

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
"""Exact since the 2019 SI, cut to ten digits."""

ZERO_CELSIUS_K = 273.15

SLACK_C = 1e-9
"""Rounding error allowed at an edge of the table, so that 37.8 + 0.15 still includes a typed 37.95."""


class TimeTable(Struct, frozen=True):
    """A data sheet's developer times: rows of (temperature °C, time s), temperature rising, time falling.

    The table serves temperatures from its first to its last row, and `tolerance_c` (K) beyond them with the time
    of that row. Raises ValueError for rows out of order; the reader of a profile refuses them with their line.
    """

    rows: tuple[tuple[float, float], ...]
    tolerance_c: float = 0.15

    def __post_init__(self) -> None:
        pairs = pairwise(self.rows)
        if not self.rows or not all(a_c < b_c and a_s > b_s for (a_c, a_s), (b_c, b_s) in pairs):
            raise ValueError("temperatures rise and times fall from row to row")


class Use(Struct, frozen=True):
    """How film already developed lengthens the time, as a factor by rolls (equivalents) per litre.

    none: 1 · linear: 1 + per_roll × rolls · compound: (1 + per_roll) ^ rolls · steps: rows of (rolls per litre
    from which it holds, factor), 1 before the first. Sheets differ in the rule, so the profile states it.
    """

    kind: Literal["none", "linear", "compound", "steps"] = "none"
    per_roll: float = 0.0
    rows: tuple[tuple[float, float], ...] = ()


PushRows: TypeAlias = "tuple[tuple[float, float], ...]"
"""Rows of (stops, factor), both rising; 0 stops is 1 and need not be listed. Published rules differ (× 1.15 and
× 1.33 for one stop), so the rows belong to one chemistry."""


class DeveloperTime(Struct, frozen=True):
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


def served(table: TimeTable) -> tuple[float, float, float]:
    """What the table serves, for a message: the temperatures of its first and last row (°C), and its tolerance."""
    return table.rows[0][0], table.rows[-1][0], table.tolerance_c


def table_seconds(table: TimeTable, temperature_c: float) -> float:
    """The time (s) of fresh developer at this temperature (°C). Raises Refusal outside the table."""
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

    E = R ln(t1/t2) / (1/T1 − 1/T2); at an inner row that of the cooler interval, as baths cool. Raises Refusal
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

    Raises Refusal outside the table.
    """
    energy_kj_mol = activation_energy_kj_mol(table, temperature_c)
    if energy_kj_mol is None:
        return None
    kelvin = temperature_c + ZERO_CELSIUS_K
    return energy_kj_mol * 1000.0 / (GAS_CONSTANT_J_PER_MOL_K * kelvin * kelvin)


def local_q10(table: TimeTable, temperature_c: float) -> float | None:
    """The slope as Q10, exp(10 E / (R T²)); None for a single row. Raises Refusal outside the table."""
    slope = sensitivity_per_k(table, temperature_c)
    return None if slope is None else math.exp(10.0 * slope)


def warmer_by_s(table: TimeTable, temperature_c: float, seconds: float, by_k: float) -> float | None:
    """The change in s of a time of `seconds` at `temperature_c` (°C) when the developer is `by_k` (K) warmer.

    None where the table does not serve the new temperature, or has a single row. Raises Refusal where it does not
    serve `temperature_c`.
    """
    now_s = table_seconds(table, temperature_c)
    if len(table.rows) == 1 or not serves(table, temperature_c + by_k):
        return None
    return seconds * (table_seconds(table, temperature_c + by_k) / now_s - 1.0)


def use_factor(rule: Use, rolls_per_litre_before: float) -> float:
    """The factor for a used developer (1 or more). Raises Refusal for a use beyond any reason."""
    match rule.kind:
        case "none":
            return 1.0
        case "linear":
            return 1.0 + rule.per_roll * rolls_per_litre_before
        case "compound":
            growth = rolls_per_litre_before * math.log1p(rule.per_roll)
            if growth > 100.0:
                raise refused("used beyond reason", rolls_per_l=rolls_per_litre_before)
            return math.exp(growth)
        case "steps":
            return max((factor for rolls, factor in rule.rows if rolls <= rolls_per_litre_before), default=1.0)
        case _:
            assert_never(rule.kind)


def push_factor(push: PushRows, stops: float) -> float:
    """The factor for a push (above 0) or a pull (below 0) in stops; its logarithm is linear between rows.

    Raises Refusal beyond the first and last row.
    """
    rows = _with_zero(push)
    if not rows[0][0] <= stops <= rows[-1][0]:
        if len(rows) == 1:
            raise refused("no push table", stops=stops)
        raise refused("push outside table", stops=stops, least=rows[0][0], most=rows[-1][0])
    for (less, smaller), (more, larger) in pairwise(rows):
        if stops == less:
            return smaller
        if less < stops < more:
            return smaller * math.pow(larger / smaller, (stops - less) / (more - less))
    return rows[-1][1]


def stops_of(push: PushRows, factor: float) -> tuple[float, bool] | None:
    """The inverse of `push_factor` for a factor of 1 or more: (stops, whether the table ends before it).

    Beyond the last row the stops are those of that row. None for a table without a push.
    """
    rows = [row for row in _with_zero(push) if row[0] >= 0.0]
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
    use: Use,
    rolls_per_litre_before: float,
    push: PushRows,
    push_stops: float,
    thermometer_error_c: float,
    shortest_s: float = 180.0,
) -> DeveloperTime:
    """The developer time at `temperature_c`, with each factor relative to the sheet's time at `target_c`.

    `thermometer_error_c` is the thermometer's own error (K). A result below `shortest_s` is marked, because
    pouring in and out then takes too large a share. Raises Refusal for figures outside the table or the rules.
    """
    sheet_s = table_seconds(table, target_c)
    temperature = table_seconds(table, temperature_c) / sheet_s
    use_by = use_factor(use, rolls_per_litre_before)
    push_by = push_factor(push, push_stops)
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
    """Raise Refusal where the table has no time for this temperature (°C)."""
    if not serves(table, temperature_c):
        raise refused("no developer time", at_c=temperature_c, served=served(table))


def _stretch(table: TimeTable, temperature_c: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two rows around a temperature (°C); outside the table the outermost pair."""
    rows = table.rows
    warmer = min(max(bisect_left(rows, (temperature_c,)), 1), len(rows) - 1)
    return rows[warmer - 1], rows[warmer]


def _with_zero(rows: PushRows) -> PushRows:
    return tuple(sorted({*rows, (0.0, 1.0)}))
