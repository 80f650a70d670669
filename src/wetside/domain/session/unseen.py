"""Whether a bottle that warms while film is loaded may overheat before it is read again.

Forecast from the readings of the bottles and their bath so far (`through`), with the margins of
`planning/warm_bath.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.tempering import BATH, TemperingBench, later
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup
from wetside.domain.planning.warm_bath import bench_of, overshoot
from wetside.domain.profile.model import Solution
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.readings import valid_readings
from wetside.domain.session.state import State

LOOK_AGAIN_S = 15.0
"""The interval at which the forecast is repeated while no temperature is read."""


class Overshoot(Struct, frozen=True):
    """A bottle that may pass `limit_c`, the upper end of its range, `in_s` from now (0: it is above it)."""

    title: str
    limit_c: float
    in_s: float


def unseen_overshoot(state: State, at: float, unseen_s: float) -> Overshoot | None:
    """The first bottle that may be too warm before it is read again, `unseen_s` from now; None when none may.

    Also None before the first reading, when no temperature is known.
    """
    plan = state.plan
    if plan.tempering is None:
        return None
    warmed = plan.tempering.bottles
    readings = valid_readings(tuple(r for r in state.readings if r.of in {*warmed, BATH}))
    if not warmed or not readings:
        return None
    places = tuple((of, plan.title_of(of), _limit_c(plan, of)) for of in warmed)
    now_s = max(readings[-1].at, at // LOOK_AGAIN_S * LOOK_AGAIN_S)
    return _worked_out(plan.setup, places, plan.tempering.starting_bath_c, readings, now_s, unseen_s)


_Place = tuple[str, str, float | None]
"""A bottle in the bath: solution id, title, upper end of its range in °C."""


def _limit_c(plan: Plan, of: str) -> float | None:
    ranges = (step.range_c for step in plan.steps if step.solution == of and step.range_c is not None)
    return next((high for _, high in ranges), None)


@lru_cache(maxsize=2)
def _worked_out(
    setup: Setup,
    places: tuple[_Place, ...],
    planned_bath_c: float | None,
    readings: tuple[ReadingTaken, ...],
    now_s: float,
    unseen_s: float,
) -> Overshoot | None:
    bath_c = next((r.temperature_c for r in readings if r.of == BATH), setup.water.bath_c or planned_bath_c)
    if bath_c is None:
        return None
    bench = _as_read(setup, places, bath_c, readings, now_s)
    found = overshoot(bench, tuple(limit for _, _, limit in places), unseen_s)
    limit_c = places[found[0]][2] if found is not None else None
    if found is None or limit_c is None:
        return None
    return Overshoot(places[found[0]][1], limit_c, found[1])


def _as_read(
    setup: Setup, places: tuple[_Place, ...], bath_c: float, readings: tuple[ReadingTaken, ...], now_s: float
) -> TemperingBench:
    """The bench forecast through each of its readings up to `now_s`."""
    # `bench_of` takes the bottles from the setup and needs only the id and the title of a solution.
    solutions = tuple(Solution(of, title, "bottle", "not before", "") for of, title, _ in places)
    return through(bench_of(setup, solutions, bath_c), tuple(of for of, _, _ in places), readings, now_s)


def through(
    bench: TemperingBench, bottles: tuple[str, ...], readings: tuple[ReadingTaken, ...], until_s: float
) -> TemperingBench:
    """The bench forecast from the first of its readings through all of them until `until_s`.

    bottles: the solution in each bottle of the bench.
    """
    at_s = readings[0].at
    for reading in readings:
        bench = as_read(later(bench, reading.at - at_s), bottles, {reading.of: reading.temperature_c})
        at_s = reading.at
    return later(bench, until_s - at_s)


def as_read(bench: TemperingBench, bottles: tuple[str, ...], read_c: Mapping[str, float]) -> TemperingBench:
    """The bench with these temperatures (°C) of its bottles, by their solutions, and of its bath."""
    now = tuple(
        replace(bottle, temperature_c=read_c.get(of, bottle.temperature_c))
        for bottle, of in zip(bench.bottles, bottles, strict=True)
    )
    return replace(bench, bottles=now, bath_c=read_c.get(BATH, bench.bath_c))
