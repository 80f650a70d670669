"""Whether a bottle that warms while film is loaded may overheat before it is read again.

Forecast from the readings of the bottles and their bath so far (`through`), with the margins of
`planning/warm_bath.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from wetside.domain.calc.tempering import BATH, TemperingBench, later
from wetside.domain.messages import Message, message
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.warm_bath import bench_of, overshoot
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.readings import valid_readings
from wetside.domain.session.state import State
from wetside.memo import remembers_last

LOOK_AGAIN_S = 15.0
"""The interval at which the forecast is repeated while no temperature is read."""


def may_overheat(state: State, at: float, unseen_s: float) -> Message | None:
    """Why the first bottle that may be too warm before it is read again, `unseen_s` from now, is not left alone.

    None when none may, and before the first reading, when no temperature is known.
    """
    warmed = state.plan.tempering.bottles if state.plan.tempering is not None else ()
    readings = valid_readings(tuple(r for r in state.readings if r.of in {*warmed, BATH}))
    if not warmed or not readings:
        return None
    now_s = max(readings[-1].at, at // LOOK_AGAIN_S * LOOK_AGAIN_S)
    return _worked_out(state.plan, warmed, readings, now_s, unseen_s)


@remembers_last
def _worked_out(
    plan: Plan, warmed: tuple[str, ...], readings: tuple[ReadingTaken, ...], now_s: float, unseen_s: float
) -> Message | None:
    bath_c = first_bath_c(plan, readings)
    if bath_c is None:
        return None
    bench = through(
        bench_of(plan.setup, [(of, plan.title_of(of)) for of in warmed], bath_c), warmed, readings, now_s
    )
    limits_c = tuple(_limit_c(plan, of) for of in warmed)
    number, in_s = overshoot(bench, limits_c, unseen_s) or (0, None)
    limit_c = limits_c[number]
    if in_s is None or limit_c is None:
        return None
    bottle = bench.bottles[number].name
    if in_s <= 0.0:
        return message("too warm to leave", bottle=bottle, limit_c=limit_c)
    return message("too warm soon", bottle=bottle, limit_c=limit_c, in_s=in_s)


def _limit_c(plan: Plan, of: str) -> float | None:
    """The upper end (°C) of a solution's range; None where it has none."""
    ranges = (step.range_c for step in plan.steps if step.solution == of and step.range_c is not None)
    return next((high for _, high in ranges), None)


def first_bath_c(plan: Plan, readings: tuple[ReadingTaken, ...]) -> float | None:
    """The first temperature of the bath (°C): as read, else as stated in the setup, else as planned; or None."""
    planned = plan.tempering.starting_bath_c if plan.tempering is not None else None
    stated = plan.setup.water.bath_c if plan.setup.water.bath_c is not None else planned
    return next((reading.temperature_c for reading in readings if reading.of == BATH), stated)


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
