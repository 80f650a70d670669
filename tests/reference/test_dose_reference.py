"""The running dose against scipy: an adaptive integrator and its event finder on random evenings.

The temperature and the rate are written here a second time, from the definition, with numpy's own interpolation;
nothing of the program's arithmetic is used on the reference side.
"""

from __future__ import annotations

import math
import random

import numpy as np
import numpy.typing as npt
import pytest
from msgspec import Struct

from wetside.domain.calc.developer_time import TimeTable
from wetside.domain.calc.running_dose import _NODES, _WEIGHTS, Reading, TemperaturePath, dose, end_of_dose


class Evening(Struct, frozen=True):
    """One random case: table, use × push, and a developer that is read a few times and drifts."""

    table: TimeTable
    factor: float
    path: TemperaturePath


def random_evening(rng: random.Random) -> Evening:
    """Two to six rows within 25 to 42 °C, one to six readings inside them; two in three have a drifting tail."""
    tenths = sorted(rng.sample(range(250, 421), rng.randint(2, 6)))
    seconds = rng.uniform(100.0, 240.0)
    rows: list[tuple[float, float]] = []
    for index in range(len(tenths) - 1, -1, -1):
        rows.insert(0, (tenths[index] / 10.0, seconds))
        if index:
            gap_c = (tenths[index] - tenths[index - 1]) / 10.0
            seconds *= math.exp(gap_c * rng.uniform(0.06, 0.15))
    table = TimeTable(tuple(rows))
    coolest, warmest = rows[0][0], rows[-1][0]
    instants = sorted(rng.sample(range(-30, 301), rng.randint(1, 6)))
    readings = tuple(Reading(float(at), rng.uniform(coolest, warmest)) for at in instants)
    drifts = rng.random() < 2.0 / 3.0
    surroundings = rng.uniform(15.0, 45.0) if drifts else None
    rate = math.exp(rng.uniform(math.log(1.0 / 7200.0), math.log(1.0 / 90.0))) if drifts else None
    return Evening(table, rng.uniform(0.8, 1.8), TemperaturePath(readings, surroundings, rate))


def reference_rate(evening: Evening, at_s: float) -> float:
    """Share of the work a second: straight between readings, Newton after them, the edge's rate past the table."""
    path = evening.path
    instants = [r.at_s for r in path.readings]
    measured = [r.temperature_c for r in path.readings]
    temperature_c = float(np.interp(at_s, instants, measured))
    if path.surroundings_c is not None and path.rate_per_s is not None and at_s > instants[-1]:
        left = math.exp(-path.rate_per_s * (at_s - instants[-1]))
        temperature_c = path.surroundings_c + (measured[-1] - path.surroundings_c) * left
    # numpy's interpolation wants rising abscissae and holds the ends: −1/T rises with T
    abscissae = [-1.0 / (row_c + 273.15) for row_c, _ in evening.table.rows]
    logs = [math.log(seconds) for _, seconds in evening.table.rows]
    ln_t = float(np.interp(-1.0 / (temperature_c + 273.15), abscissae, logs))
    return math.exp(-ln_t) / evening.factor


def reference_end(evening: Evening) -> float:
    """solve_ivp with an event at dose 1; steps of 5 s at most, so that no kink is jumped."""

    def spent(_at: float, done: npt.NDArray[np.float64]) -> float:
        return float(done[0]) - 1.0

    longest = 1.01 * evening.factor * evening.table.rows[0][1]
    from scipy.integrate import solve_ivp

    found = solve_ivp(
        lambda at, _done: [reference_rate(evening, at)],
        (0.0, longest),
        [0.0],
        events=spent,
        max_step=5.0,
        rtol=1e-8,
        atol=1e-10,
    )
    assert found.t_events is not None
    return float(found.t_events[0][0])


@pytest.mark.parametrize("count", [60, pytest.param(400, marks=pytest.mark.long)])
def test_ends_of_development_agree_with_scipy_on_random_evenings(count: int) -> None:
    rng = random.Random(20_240_611)
    evenings = [random_evening(rng) for _ in range(count)]
    errors = [abs(end_of_dose(e.table, e.factor, e.path) - reference_end(e)) for e in evenings]
    assert max(errors) < 0.5
    # measured 0.003 s; anything near the promised half second would be a fault of one of the two
    assert max(errors) < 0.05
    drifting = sum(e.path.surroundings_c is not None for e in evenings)
    assert count / 2 < drifting < 0.85 * count  # the cases are not all of one sort


def test_constant_temperature_equals_the_table_to_a_tenth_of_a_second() -> None:
    """Kit table (rows below 38.9 °C from memory) at its own rows, held by hand and held in a bath as warm."""
    rows = ((29.4, 765.0), (32.2, 510.0), (35.0, 345.0), (38.9, 210.0))
    for temperature, seconds in rows:
        for surroundings, rate in ((None, None), (temperature, 1e-3)):
            path = TemperaturePath((Reading(0.0, temperature),), surroundings, rate)
            assert abs(end_of_dose(TimeTable(rows), 1.0, path) - seconds) < 0.1


def test_a_straight_fall_in_temperature_agrees_with_the_exponential_integral() -> None:
    """∫ exp(−b/T) dT = T exp(−b/T) − b E1(b/T): a closed form, with scipy's exponential integral."""
    from scipy.special import exp1

    table = TimeTable(((30.0, 600.0), (40.0, 200.0)))
    path = TemperaturePath((Reading(0.0, 39.0), Reading(240.0, 33.0)), None, None)
    b = math.log(600.0 / 200.0) / (1.0 / 303.15 - 1.0 / 313.15)

    def antiderivative(kelvin: float) -> float:
        return float(kelvin * math.exp(-b / kelvin) - b * exp1(b / kelvin))

    per_k = 240.0 / 6.0
    expected = per_k * (antiderivative(312.15) - antiderivative(306.15)) / (200.0 * math.exp(-b / 313.15))
    assert dose(table, 1.0, path, 240.0) == pytest.approx(expected, rel=1e-9)


def test_gauss_points_are_the_published_ones() -> None:
    """Abramowitz & Stegun table 25.4 as numpy computes it."""
    nodes, weights = np.polynomial.legendre.leggauss(8)
    assert list(nodes[4:]) == pytest.approx(list(_NODES), abs=1e-15)
    assert list(weights[4:]) == pytest.approx(list(_WEIGHTS), abs=1e-15)
