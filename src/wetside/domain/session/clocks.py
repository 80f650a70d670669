"""Decides the commands about clocks (start, correct, pause, pour out, end) and about readings."""

from __future__ import annotations

import math

from wetside.domain.calc.water import COLDEST_C, HOTTEST_C
from wetside.domain.messages import Refusal, message, refused
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.gates import (
    AT_ONCE_S,
    current_step,
    drain_blockers,
    drain_lead_s,
    drain_opens_in,
    end_blockers,
    joined_too_soon,
    refuse_if_shut,
    start_blockers,
    step_on_screen,
)
from wetside.domain.session.readings import implausible, warmer_than_its_bath
from wetside.domain.session.state import State, StepClock, evolve, replay


class AskFirst(Refusal):
    """A reading is doubtful and must be confirmed: the same command with `confirmed` records it."""


LONGEST_LEAD_IN_S = 60.0
LONGEST_CORRECTION_S = 1800.0
EARLY_S = 10.0
"""An on-time bath whose draining begins this much off its moment is a deviation (5 % of 3:15; our own number)."""


def start_step(state: State, command: c.StartStep) -> tuple[e.Event, ...]:
    """Start the current step's clock; a background step lets the guide go on at once."""
    step = step_on_screen(state, command.step)
    if not step.timed:
        raise refused("no clock to start", step=step.title)
    if step.id in state.clocks:
        raise refused("running already", step=step.title)
    if not (math.isfinite(command.lead_in_s) and 0.0 <= command.lead_in_s <= LONGEST_LEAD_IN_S):
        raise refused("lead-in too long", most=LONGEST_LEAD_IN_S)
    refuse_if_shut(start_blockers(state, step, command.at))
    started = e.ClockStarted(command.at, step.id, command.at + command.lead_in_s)
    events: tuple[e.Event, ...] = (*end_joined(state, step, command.at), started)
    events += _moved(replay(events, state), step, command.at, command.confirmed)
    if step.background:
        events += go_on(replay(events, state), step, command.at)
    return events


def correct_clock(state: State, command: c.CorrectClock) -> tuple[e.Event, ...]:
    """Move the start of a running clock; the first one stays in the record."""
    step, clock = _running(state, command.step)
    if not math.isfinite(command.by_s) or command.by_s == 0.0:
        raise refused("correction of nothing")
    if abs(command.by_s) > LONGEST_CORRECTION_S:
        raise refused("correction too large", most_s=LONGEST_CORRECTION_S)
    if clock.t0 - command.by_s > command.at:
        raise refused("start in the future")
    if clock.drained_at is not None:
        raise refused("corrected too late", step=step.title)
    return (command, *_moved(evolve(state, command), step, command.at, True))


def pause(state: State, command: c.Pause) -> tuple[e.Event, ...]:
    """Stop the clock of a step that may pause."""
    step, clock = _running(state, command.step)
    if not step.pausable:
        raise refused("no pause", step=step.title)
    if clock.paused_since is not None:
        raise refused("paused already", step=step.title)
    if command.at < clock.t0:
        raise refused("clock not started")
    return (command,)


def unpause(state: State, command: c.Unpause) -> tuple[e.Event, ...]:
    """Let a paused step go on."""
    step, clock = _running(state, command.step)
    if clock.paused_since is None:
        raise refused("not paused", step=step.title)
    return (command,)


def begin_drain(state: State, command: c.BeginDrain) -> tuple[e.Event, ...]:
    """Record that pouring out begins now, or began at the moment that the person states afterwards."""
    step, clock = _running(state, command.step)
    at = command.at if command.began_at is None else command.began_at
    if step.id != state.current or step.kind is not Kind.BATH or step.background:
        raise refused("no bath to pour out", step=step.title)
    if clock.drained_at is not None:
        raise refused("poured out already", bath=step.solution_title)
    if not (math.isfinite(at) and clock.t0 <= at <= command.at):
        raise refused("no moment of the bath")
    refuse_if_shut(drain_blockers(state, step, at))
    opens_in = drain_opens_in(state, step, at)
    if step.ends == "on time" and not command.early and opens_in is not None and opens_in > AT_ONCE_S:
        raise refused("still works", bath=step.solution_title)
    return (e.DrainBegan(at, step.id, "measured" if command.began_at is None else command.sure),)


def take_back_drain(state: State, command: c.TakeBackDrain) -> tuple[e.Event, ...]:
    """Undo a mistaken pouring out. Refused once the next step is open, when the tank is empty."""
    step, clock = _running(state, command.step)
    if step.id != state.current or clock.drained_at is None:
        raise refused("not poured out", step=step.title)
    return (command,)


def take_reading(state: State, command: c.TakeReading) -> tuple[e.Event, ...]:
    """Record a temperature; in a running developer it moves the end.

    Raises `AskFirst` for an implausible temperature, and for one that moves the end by more than a third.
    """
    plan, step = state.plan, current_step(state)
    known = {ask.of for s in plan.steps for ask in s.readings} | {"bath", "room"}
    known |= {s.solution for s in plan.steps if s.solution is not None}
    if command.of not in known:
        raise refused("not measured", name=command.of)
    if not (math.isfinite(command.temperature_c) and COLDEST_C <= command.temperature_c <= HOTTEST_C):
        raise _no_water(command, plan.unit)
    doubt = implausible(state, command.of, command.temperature_c)
    if step.kind.traits.reads:
        doubt = doubt or warmer_than_its_bath(state, command.of, command.temperature_c)
    if doubt and not command.confirmed:
        raise AskFirst(doubt)
    reading = e.ReadingTaken(command.at, step.id, command.of, command.temperature_c, command.text, command.by)
    # A probe reads without a person, so its reading does not count as the first act in a step.
    acted = command.by == "person" and not step.timed and not start_blockers(state, step, command.at)
    joined = end_joined(state, step, command.at) if acted else ()
    events: tuple[e.Event, ...] = (*joined, reading)
    clock = state.clocks.get(step.id)
    if command.of != step.solution or clock is None or clock.drained_at is not None or command.at < clock.t0:
        return events
    return (*events, *_moved(replay(events, state), step, command.at, command.confirmed))


def end_step(state: State, command: c.EndStep) -> tuple[e.Event, ...]:
    """End the current step and open the next one, or close the session."""
    step = step_on_screen(state, command.step)
    clock = state.clocks.get(step.id)
    if step.timed and clock is None:
        raise refused("not started", step=step.title)
    if clock is not None and command.at < clock.t0:
        raise refused("clock not started")
    if step.kind is Kind.BATH and clock is not None and clock.drained_at is None:
        raise refused("still in the tank", bath=step.solution_title)
    blockers = () if step.timed else start_blockers(state, step, command.at)
    refuse_if_shut((*blockers, *end_blockers(state, step, command.at)))
    ended = e.StepEnded(command.at, step.id, _early_s(step, clock), command.keys_ignored)
    events = (*first_act(state, command.at), ended)
    return (*events, *go_on(replay(events, state), step, command.at))


def _early_s(step: PlannedStep, clock: StepClock | None) -> float:
    """How much too early (s) an on-time bath was poured out; 0 within `EARLY_S`."""
    if step.ends != "on time" or clock is None or clock.drained_at is None or clock.end_s is None:
        return 0.0
    early_s = clock.end_s - drain_lead_s(step) - (clock.drained_at - clock.t0)
    return round(early_s, 3) if abs(early_s) > EARLY_S else 0.0


def first_act(state: State, at: float) -> tuple[e.Event, ...]:
    """The end of the background step that the current step joins, at the first act in a step without a clock.

    () while the background step still needs its time: a tick that can be made earlier does not end it.
    """
    step = current_step(state)
    return () if step.timed or joined_too_soon(state, step, at) else end_joined(state, step, at)


def end_joined(state: State, step: PlannedStep, at: float) -> tuple[e.Event, ...]:
    """The end of the background step that `step` joins, unless that has ended."""
    if step.joins is None or step.joins in state.ended or step.joins not in state.clocks:
        return ()
    return (e.StepEnded(at, step.joins),)


def go_on(state: State, step: PlannedStep, at: float) -> tuple[e.Event, ...]:
    """Open the step after `step`, or close the session after the last one.

    Background clocks that nothing joins end with the session, so that no clock is left open.
    """
    plan = state.plan
    number = plan.number(step.id) + 1
    if number < len(plan.steps):
        return (e.StepOpened(at, plan.steps[number].id),)
    left = tuple(e.StepEnded(at, running) for running in state.clocks if running not in state.ended)
    deviations = replay(left, state).deviations
    return (*left, e.SessionClosed(at, "complete with deviations" if deviations else "complete", deviations))


def _moved(state: State, step: PlannedStep, at: float, confirmed: bool) -> tuple[e.Event, ...]:
    # Imported at the first reading, so that a resumed bath is painted 5 ms sooner.
    from wetside.domain.session.developer import end_advised, end_by_readings, follows_readings

    clock = state.clocks.get(step.id)
    if clock is None or clock.end_s is None:
        return ()
    found = (end_by_readings if follows_readings(step) else end_advised)(state, step, clock)
    if found is None:
        return ()
    if found.ask_first and not confirmed:
        raise AskFirst(message("moves the end far", old_s=clock.end_s, new_s=found.end_s))
    return (e.EndMoved(at, step.id, clock.end_s, found.end_s, found.uncertainty_s, by=found.by),)


def _running(state: State, step_id: str) -> tuple[PlannedStep, StepClock]:
    clock = state.clocks.get(step_id)
    if clock is None or step_id in state.ended:
        raise refused("no clock runs")
    return state.plan.step(step_id), clock


def _no_water(command: c.TakeReading, unit: str) -> Refusal:
    """The refusal of an impossible water temperature; in both units where the other one would explain it."""
    given, text = command.temperature_c, command.text or f"{command.temperature_c}"
    if unit == "°C" and HOTTEST_C < given <= HOTTEST_C * 1.8 + 32.0:
        return refused("perhaps fahrenheit", text=text, fahrenheit=given, celsius=(given - 32.0) / 1.8)
    if unit == "°F" and COLDEST_C <= (celsius := given * 1.8 + 32.0) < 32.0:
        return refused("perhaps celsius", text=text, celsius=celsius, fahrenheit=celsius * 1.8 + 32.0)
    return refused("no temperature", text=text)
