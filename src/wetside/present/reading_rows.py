"""What has been read of the solutions a step asks for, and what it does to a bath that has not started. Pure."""

from __future__ import annotations

from typing import Literal

from wetside.domain.calc.wording import minutes_seconds, span, temperature, temperatures, the
from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.gates import beside_range
from wetside.domain.session.readings import OLDEST_S, reckoned
from wetside.domain.session.state import State
from wetside.domain.session.step_clock import StepClock
from wetside.present.view_model import ReadingRow


def reading_rows(state: State, plan: Plan, step: PlannedStep, at: float) -> tuple[ReadingRow, ...]:
    """One row for each temperature the step asks for, in its order."""
    rows = []
    for ask in step.readings:
        range_c = wanted_c(plan, step, ask)
        wanted = temperatures(range_c, plan.unit) if range_c is not None else ""
        reading = state.last_reading(ask.of)
        # What may be read counts from the step before; what must be is read here.
        oldest = state.opened_at if ask.required else at - OLDEST_S
        if reading is None or reading.at < oldest:
            rows.append(ReadingRow(ask.of, ask.title, "", wanted, "not read", ask.required))
            continue
        verdict: Literal["in range", "too cold", "too hot", "read"] = "read"
        if ask.range_c is not None:
            verdict = beside_range(reading.temperature_c, ask.range_c) or "in range"
        shown = temperature(reading.temperature_c, plan.unit)
        if reading.by == "probe":
            shown = f"probe {shown}"
        rows.append(ReadingRow(ask.of, ask.title, shown, wanted, verdict, ask.required))
    return tuple(rows)


def wanted_c(plan: Plan, step: PlannedStep, ask: PlannedReading) -> tuple[float, float] | None:
    """The range a reading is to lie in, °C; of the warm bath, what it is mixed to. None where any will do."""
    return ask.range_c or plan.bath_to_mix_c(step, ask.of)


def seconds_if_started(state: State, step: PlannedStep, at: float) -> float | None:
    """How long this bath would be if it started now (s): as planned, or as its last reading makes it."""
    if step.planned_s is None or step.id in state.clocks or _follows(state, step, at) is None:
        return step.planned_s
    # Loaded beside the developer alone: no other picture waits for it.
    from wetside.domain.session.dosing import end_by_readings

    found = end_by_readings(state, step, StepClock(t0=at, first_t0=at, end_s=step.planned_s), at)
    return step.planned_s if found is None else found[0].new_s


def reading_facts(state: State, plan: Plan, step: PlannedStep, at: float) -> list[str]:
    """Before a developer: what the last reading makes of its time, or that it is too old to count."""
    if step.id in state.clocks or step.planned_s is None or not _has_table(step):
        return []
    read = _last(state, step)
    if read is None:
        return []
    shown = temperature(read.temperature_c, plan.unit)
    if at - read.at > OLDEST_S:
        return [
            f"{shown} was read {span(at - read.at)} ago, too long to count: read {the(step.solution_title)} again."
        ]
    seconds = seconds_if_started(state, step, at)
    if seconds is None or abs(seconds - step.planned_s) < 1.0:
        return []
    return [
        f"Read {shown} {span(at - read.at)} ago: so {minutes_seconds(seconds)},"
        f" not {minutes_seconds(step.planned_s)}."
    ]


def _has_table(step: PlannedStep) -> bool:
    return step.ends == "on time" and len(step.table) > 1


def _follows(state: State, step: PlannedStep, at: float) -> ReadingTaken | None:
    read = _last(state, step)
    return read if read is not None and _has_table(step) and at - read.at <= OLDEST_S else None


def _last(state: State, step: PlannedStep) -> ReadingTaken | None:
    return next((r for r in reversed(reckoned(state.readings)) if r.of == step.solution), None)
