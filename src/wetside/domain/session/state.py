"""The state of a session: the fold of its events. `evolve` is total: it never refuses and never looks at a clock.

Commands are decided in `decide.py`; `present/presenter.py` makes the view model from the state.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import assert_never

from msgspec import Struct, field
from msgspec.structs import replace

from wetside.domain.calc.residue import CLEAN, Residues, carried, pour, rinse
from wetside.domain.planning.plan import NO_PLAN, Plan, PlannedStep
from wetside.domain.session import events as e
from wetside.domain.session.outcome import Outcome
from wetside.structs import made_of

LONGEST_CHANGE_S = 90.0
"""A longer wait from pouring out an on-time bath to the start of the next one is a deviation (our own number: half
a minute to pour out, as long to pour in, and as long again)."""


class StepClock(Struct, frozen=True):
    """One step's clock. t0 as corrected, first_t0 as first marked; end_s: planned length from t0, or None."""

    t0: float
    first_t0: float
    end_s: float | None
    drained_at: float | None = None
    paused_since: float | None = None
    paused_s: float = 0.0

    def elapsed(self, at: float) -> float:
        """Seconds the step has run at `at` (negative in the lead-in); pauses do not count."""
        stop = self.paused_since if self.paused_since is not None else at
        return stop - self.t0 - self.paused_s

    def remaining(self, at: float) -> float | None:
        """Seconds to the planned end at `at` (negative when over); None without an end."""
        return None if self.end_s is None else self.end_s - self.elapsed(at)


class State(Struct, frozen=True):
    """A session at one moment. Before it began and once it is closed no step is open: `current` is None.

    restarted: the resume after the last restart of the machine, None without one. gaps: how long (s) after the
    on-time bath before it was poured out a step began, where that was too long.
    """

    plan: Plan = NO_PLAN
    session: str = ""
    practice: bool = False
    speed: float = 1.0
    at: float = 0.0
    wall: str = ""
    offset_s: int = 0
    anchor_at: float = 0.0
    boot_id: str = ""
    boot_s: float = 0.0
    began_wall: str = ""
    current: str | None = None
    opened_at: float = 0.0
    clocks: Mapping[str, StepClock] = field(default_factory=dict)
    ended: Mapping[str, float] = field(default_factory=dict)
    ticks: Mapping[str, float] = field(default_factory=dict)
    overrides: tuple[e.GateOverridden, ...] = ()
    readings: tuple[e.ReadingTaken, ...] = ()
    moves: tuple[e.EndMoved, ...] = ()
    corrections: tuple[e.ClockCorrected, ...] = ()
    early: tuple[e.StepEnded, ...] = ()
    jumps: tuple[e.ClockJumped, ...] = ()
    given: frozenset[tuple[str, str, float]] = frozenset()
    answered: frozenset[tuple[str, str, float]] = frozenset()
    notes: tuple[e.NoteAdded, ...] = ()
    mishaps: tuple[e.MishapHappened, ...] = ()
    residues: Residues = CLEAN
    unrinsed: Mapping[str, Residues] = field(default_factory=dict)
    held_since: float | None = None
    last_ended: str | None = None
    restarted: e.SessionResumed | None = None
    outcome: Outcome | None = None
    closed_reason: str = ""
    left_at: str | None = None
    gaps: Mapping[str, float] = field(default_factory=dict)
    by_eye_tick: str = ""

    @property
    def begun(self) -> bool:
        """Whether the session has begun."""
        return self.plan is not NO_PLAN

    @property
    def step(self) -> PlannedStep | None:
        """The open step, which is on screen; None where none is open."""
        return None if self.current is None else self.plan.step(self.current)

    @property
    def by_eye(self) -> bool:
        """Whether the person hears no bell and has chosen to watch the screen."""
        return bool(self.by_eye_tick)

    def overridden(self, what: str) -> bool:
        """Whether this blocker's key was overridden."""
        return any(override.what == what for override in self.overrides)

    def last_reading(self, of: str) -> e.ReadingTaken | None:
        """The newest reading of this thing, or None."""
        return next((reading for reading in reversed(self.readings) if reading.of == of), None)

    @property
    def deviations(self) -> int:
        """The number of recorded differences from the plan."""
        return sum(map(len, (self.overrides, self.early, self.corrections, self.gaps, self.mishaps)))


def _with_additions(state: State, events: list[e.Addition]) -> State:
    """`state` with all these events at once; one by one, each would copy the whole collection again."""
    if not events:
        return state
    overrides, readings = [*state.overrides], [*state.readings]
    notes, given, answered = [*state.notes], {*state.given}, {*state.answered}
    for event in events:
        match event:
            case e.CueGiven() | e.CueMissed():
                given.add((event.step, event.call, event.planned))
            case e.CueAnswered():
                answered.add((event.step, event.call, event.at))
            case e.ReadingTaken():
                readings.append(event)
            case e.NoteAdded():
                notes.append(event)
            case e.GateOverridden():
                overrides.append(event)
            case _:
                assert_never(event)
    return replace(
        state,
        at=max(state.at, *(event.at for event in events)),
        overrides=tuple(overrides),
        readings=tuple(readings),
        notes=tuple(notes),
        given=frozenset(given),
        answered=frozenset(answered),
    )


def evolve(state: State, event: e.Event) -> State:
    """The state after `event`. Total over every event in every state."""
    return replay((event,), state)


def replay(events: Iterable[e.Event], since: State | None = None) -> State:
    """The state after all `events` in order, starting from `since` or from the empty state."""
    state = since or State()
    added: list[e.Addition] = []
    for event in events:
        if isinstance(event, e.SessionBegan):
            state, added = made_of(event, State, began_wall=event.wall, anchor_at=event.at), []
        elif isinstance(event, e.Addition):
            added.append(event)
        else:
            state = replace(_happened(state, event), at=max(state.at, event.at))
    return _with_additions(state, added)


def _happened(state: State, event: e.Change) -> State:
    match event:
        case e.SessionResumed():
            return _resumed(state, event)
        case e.ClockJumped():
            return _jumped(state, event)
        case e.StepOpened():
            return replace(state, current=event.step, opened_at=event.at)
        case e.TickMade():
            return _tick_made(state, event)
        case e.TickUndone():
            return _tick_undone(state, event)
        case e.HoldBegan():
            return replace(state, held_since=event.at)
        case e.HoldEnded():
            return replace(state, held_since=None)
        case e.MishapHappened():
            return replace(state, mishaps=(*state.mishaps, event))
        case e.SessionClosed():
            closed = replace(state, outcome=event.outcome, closed_reason=event.reason)
            return replace(closed, current=None, left_at=state.current)
        case e.ClockStarted():
            return _clock_started(state, event)
        case e.StepEnded():
            return _step_ended(state, event)
        case _:
            return _clock_changed(state, event)


def _clock_changed(state: State, event: e.ClockChange) -> State:
    clock = state.clocks.get(event.step)
    if clock is None:
        return state
    match event:
        case e.ClockCorrected(by_s=by_s):
            clock = replace(clock, t0=clock.t0 - by_s)
            state = replace(state, corrections=(*state.corrections, event))
        case e.EndMoved(new_s=new_s):
            clock = replace(clock, end_s=new_s)
            state = replace(state, moves=(*state.moves, event))
        case e.PauseBegan(at=at):
            clock = replace(clock, paused_since=at)
        case e.PauseEnded(at=at):
            since = clock.paused_since if clock.paused_since is not None else at
            clock = replace(clock, paused_since=None, paused_s=clock.paused_s + at - since)
        case e.DrainBegan(at=at):
            clock = replace(clock, drained_at=at)
        case e.DrainTakenBack():
            clock = replace(clock, drained_at=None)
        case _:
            assert_never(event)
    return replace(state, clocks={**state.clocks, event.step: clock})


def _resumed(state: State, event: e.SessionResumed) -> State:
    return replace(
        state,
        wall=event.wall,
        offset_s=event.offset_s,
        anchor_at=event.at,
        boot_id=event.boot_id,
        boot_s=event.boot_s,
        restarted=event if event.how != "same boot" else state.restarted,
    )


def _jumped(state: State, event: e.ClockJumped) -> State:
    """Shift the wall-clock time from here on; elapsed times do not change."""
    state = replace(state, jumps=(*state.jumps, event))
    match event.what:
        case "suspend":
            return state
        case "zone":
            by_s = round(event.seconds) if math.isfinite(event.seconds) else 0
            return replace(state, offset_s=state.offset_s + by_s)
        case "wall step":
            return replace(state, wall=_stepped(state.wall, event.seconds))
        case _:
            assert_never(event.what)


def _stepped(wall: str, seconds: float) -> str:
    """The wall clock after a step; unchanged where either is no valid time."""
    try:
        return (datetime.fromisoformat(wall) + timedelta(seconds=seconds)).isoformat()
    except (ValueError, OverflowError):
        return wall


def _tick_made(state: State, event: e.TickMade) -> State:
    return replace(
        state,
        ticks={**state.ticks, event.tick: event.at},
        by_eye_tick=event.tick if event.typed == e.BY_EYE else state.by_eye_tick,
        residues=rinse(state.residues, _clears(state, event.tick)),
        unrinsed={**state.unrinsed, event.tick: state.residues},
    )


def _tick_undone(state: State, event: e.TickUndone) -> State:
    before = state.unrinsed.get(event.tick, CLEAN)
    return replace(
        state,
        ticks={tick: at for tick, at in state.ticks.items() if tick != event.tick},
        by_eye_tick="" if event.tick == state.by_eye_tick else state.by_eye_tick,
        residues=state.residues | carried(before, _clears(state, event.tick)),
        unrinsed={tick: kept for tick, kept in state.unrinsed.items() if tick != event.tick},
    )


def _clears(state: State, id_: str) -> tuple[str, ...]:
    """The vessels that a tick clears of residues; () where the plan has no such tick."""
    tick = state.plan.tick(id_)
    return tick.clears if tick is not None else ()


def _clock_started(state: State, event: e.ClockStarted) -> State:
    step = _step(state, event.step)
    if step is None:
        return state
    clock = StepClock(t0=event.t0, first_t0=event.t0, end_s=step.planned_s)
    residues = state.residues if step.solution is None else pour(state.residues, step.solution, step.pour)
    last = _step(state, state.last_ended)
    drained_at = state.clocks[last.id].drained_at if last is not None and last.id in state.clocks else None
    gaps = state.gaps
    if last is not None and drained_at is not None and last.ends == "on time":
        same = last.batch == step.batch and step.kind.traits.wets
        if same and event.t0 - drained_at > LONGEST_CHANGE_S:
            gaps = {**gaps, event.step: event.t0 - drained_at}
    return replace(state, clocks={**state.clocks, event.step: clock}, residues=residues, gaps=gaps)


def _step_ended(state: State, event: e.StepEnded) -> State:
    residues = state.residues
    step = _step(state, event.step)
    if step is not None:
        if step.solution is not None and step.back and event.step in state.clocks:
            residues = pour(residues, step.solution, step.back)
        residues = rinse(residues, step.rinses)
    return replace(
        state,
        ended={**state.ended, event.step: event.at},
        early=(*state.early, event) if event.early_s else state.early,
        last_ended=event.step,
        residues=residues,
    )


def _step(state: State, id_: str | None) -> PlannedStep | None:
    """The step with this id; None where the plan has none, which happens only in a damaged journal."""
    return next((step for step in state.plan.steps if step.id == id_), None)
