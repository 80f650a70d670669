"""How readings move the end of a running developer: the session's side of `domain/calc/running_dose.py`."""

from __future__ import annotations

from wetside.domain.calc.developer_time import TimeTable, serves
from wetside.domain.calc.running_dose import (
    Reading,
    TemperaturePath,
    end_of_dose,
    fit_cooling,
    moved_end,
    uncertainty_s,
)
from wetside.domain.planning.drift import drift_advice
from wetside.domain.planning.formatting import converted, temperature
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.session.events import EndMoved, ReadingTaken
from wetside.domain.session.readings import OLDEST_S, reckoned
from wetside.domain.session.state import State
from wetside.domain.session.step_clock import StepClock
from wetside.errors import Refused


def follows_readings(step: PlannedStep) -> bool:
    """Whether this step's end is a dose that temperature readings move."""
    return step.ends == "on time" and len(step.table) > 1


def end_by_readings(state: State, step: PlannedStep, clock: StepClock, at: float) -> tuple[EndMoved, bool] | None:
    """The end that the readings so far give, and whether it is so far off that the person is asked first.

    None when there is nothing to go by. A reading the table does not serve leaves the end where it is, and the
    event says so.
    """
    plan = state.plan
    path = _path(state, step, clock)
    if plan is None or clock.end_s is None or path is None:
        return None
    table = TimeTable(step.table, step.table_tolerance_c)
    try:
        new_s = end_of_dose(table, step.factor, path)
        unsure_s = uncertainty_s(table, step.factor, path, plan.setup.thermometer_error_c) or 0.0
        last = temperature(path.readings[-1].temperature_c, plan.unit)
        moved = moved_end(clock.end_s, new_s, path, table, temperature_words=last)
    except Refused as refusal:
        return EndMoved(
            at, step.id, clock.end_s, clock.end_s, 0.0, f"The end stays. {converted(str(refusal), plan.unit)}"
        ), False
    return EndMoved(at, step.id, clock.end_s, new_s, unsure_s, converted(moved.why, plan.unit)), moved.ask_first


def end_advised(state: State, step: PlannedStep, clock: StepClock, at: float) -> EndMoved | None:
    """The end stays where a sheet has one row, with advice on what the bath's drift would ask for.

    None within the row's own tolerance, and where no other kit's times are given for advice.
    """
    plan, last = state.plan, state.last_reading(step.solution or "")
    if plan is None or last is None or clock.end_s is None or not step.table:
        return None
    if serves(TimeTable(step.table, step.table_tolerance_c), last.temperature_c):
        return None
    advice = drift_advice(step, last.temperature_c, plan.unit)
    why = f"The end stays: the sheet has one temperature. {advice}"
    return EndMoved(at, step.id, clock.end_s, clock.end_s, 0.0, why) if advice else None


def _path(state: State, step: PlannedStep, clock: StepClock) -> TemperaturePath | None:
    mine = [reading for reading in reckoned(state.readings) if reading.of == step.solution]
    # Two readings at one instant: the later word counts.
    latest = {reading.at: reading for reading in mine if reading.at >= clock.t0}
    within = tuple(_since(latest[at], clock) for at in sorted(latest))
    before = [reading for reading in mine if clock.t0 - OLDEST_S <= reading.at < clock.t0]
    first = (Reading(0.0, before[-1].temperature_c),) if before and (not within or within[0].at_s > 0) else ()
    readings = (*first, *within)
    if not readings:
        return None
    surroundings_c = _surroundings_c(state)
    # The bottle's last reading is not from the tank, so the law is fitted to readings in the tank only.
    rate = fit_cooling(within, surroundings_c) if surroundings_c is not None else None
    return TemperaturePath(readings, surroundings_c if rate is not None else None, rate)


def _since(reading: ReadingTaken, clock: StepClock) -> Reading:
    return Reading(reading.at - clock.t0, reading.temperature_c)


def _surroundings_c(state: State) -> float | None:
    reading = state.last_reading("bath") or state.last_reading("room")
    if reading is not None:
        return reading.temperature_c
    return state.plan.setup.water.room_c if state.plan is not None else None
