"""What a command does to a session: the events it gives, or a refusal in one sentence.

`decide` may refuse; it changes nothing itself and looks at no clock. Match on the command, then look at the
state. `evolve` in `state.py` says what the events mean.
"""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from typing import assert_never

from wetside.domain.planning.plan import PlannedStep, PlannedTick
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.clocks import (
    begin_drain,
    correct_clock,
    pause,
    start_step,
    take_back_drain,
    take_reading,
    unpause,
)
from wetside.domain.session.cues import all_cues, is_answered
from wetside.domain.session.gates import (
    blockers_now,
    cannot_make,
    end_blockers,
    host_of,
    joined_too_soon,
    start_blockers,
)
from wetside.domain.session.messages import CommandRefused, RecordWords, refused, typed_text
from wetside.domain.session.mishaps import find
from wetside.domain.session.outcome import Outcome
from wetside.domain.session.state import State, evolve
from wetside.domain.session.transitions import current_step, end_joined, go_on, plan_of, refuse_if_shut
from wetside.sanitize import MOST_TYPED


def decide(state: State, command: c.Command, words: RecordWords) -> tuple[e.Event, ...]:
    """The events of `command` in `state`; `words` makes the texts that they keep. Raises CommandRefused."""
    match command:
        case c.Begin():
            return _begin(state, command)
        case c.AddNote():
            return _add_note(state, command)
        case c.NoteMishap():
            _open_session(state)
            return _mishap(state, command)
        case c.Resume():
            return _resume(state, command)
        case c.NoteJump():
            _open_session(state)
            return (e.ClockJumped(command.at, command.what, command.seconds),)
        case c.GiveCue() | c.MissCue() | c.AnswerCue():
            _open_session(state)
            return _cue(state, command)
        case c.Abandon() | c.CloseUnknown() | c.Hold() | c.Release():
            _open_session(state)
            return _stop_or_hold(state, command)
        case c.TakeReading():
            _open_session(state)
            return take_reading(state, command, words)
        case (
            c.MakeTick()
            | c.UndoTick()
            | c.Override()
            | c.StartStep()
            | c.CorrectClock()
            | c.Pause()
            | c.Unpause()
            | c.BeginDrain()
            | c.TakeBackDrain()
            | c.EndStep()
        ):
            _not_held(state)
            return _in_step(state, command, words)
        case _:
            assert_never(command)


def _stop_or_hold(state: State, command: c.Abandon | c.CloseUnknown | c.Hold | c.Release) -> tuple[e.Event, ...]:
    match command:
        case c.Abandon():
            return (*_stop_running(state, command.at), _closed(state, "abandoned", command.at, command.reason))
        case c.CloseUnknown():
            return (_closed(state, "unknown", command.at, command.reason),)
        case c.Hold():
            _not_held(state)
            return (e.HoldBegan(command.at),)
        case c.Release():
            if state.held_since is None:
                raise refused("not on hold")
            return (e.HoldEnded(command.at),)
        case _:
            assert_never(command)


def _in_step(
    state: State,
    command: c.MakeTick
    | c.UndoTick
    | c.Override
    | c.StartStep
    | c.CorrectClock
    | c.Pause
    | c.Unpause
    | c.BeginDrain
    | c.TakeBackDrain
    | c.EndStep,
    words: RecordWords,
) -> tuple[e.Event, ...]:
    match command:
        case c.MakeTick():
            return _make_tick(state, command)
        case c.UndoTick():
            return _undo_tick(state, command)
        case c.Override():
            return _override(state, command, words)
        case c.StartStep():
            return start_step(state, command, words)
        case c.CorrectClock():
            return correct_clock(state, command, words)
        case c.Pause():
            return pause(state, command)
        case c.Unpause():
            return unpause(state, command)
        case c.BeginDrain():
            return begin_drain(state, command)
        case c.TakeBackDrain():
            return take_back_drain(state, command)
        case c.EndStep():
            made = _plain_ticks(state, c.MakeTick(command.at, ""), command.also)
            return (*made, *_end_step(reduce(evolve, made, state), command))
        case _:
            assert_never(command)


def _open_session(state: State) -> None:
    if state.plan is None:
        raise refused("no session")
    if state.outcome is not None:
        raise refused("closed", outcome=state.outcome)


def _not_held(state: State) -> None:
    _open_session(state)
    if state.held_since is not None:
        raise refused("on hold")


def _begin(state: State, command: c.Begin) -> tuple[e.Event, ...]:
    if state.plan is not None:
        raise refused("begun already")
    if not command.plan.steps:
        raise refused("no step planned")
    began = e.SessionBegan(
        at=command.at,
        session=command.session,
        wall=command.wall,
        offset_s=command.offset_s,
        boot_id=command.boot_id,
        boot_s=command.boot_s,
        version=command.version,
        profile_text=command.profile_text,
        plan=command.plan,
        practice=command.practice,
        speed=command.speed,
        terminal=command.terminal,
    )
    return (began, e.StepOpened(command.at, command.plan.steps[0].id))


def _resume(state: State, command: c.Resume) -> tuple[e.Event, ...]:
    _open_session(state)
    return (
        e.SessionResumed(
            at=command.at,
            wall=command.wall,
            offset_s=command.offset_s,
            boot_id=command.boot_id,
            boot_s=command.boot_s,
            terminal=command.terminal,
            gap_s=command.gap_s,
            how=command.how,
            took_over=command.took_over,
        ),
    )


def _make_tick(state: State, command: c.MakeTick) -> tuple[e.Event, ...]:
    if not command.also:
        return _one_tick(state, command)
    return _plain_ticks(state, command, (command.tick, *command.also))


def _plain_ticks(state: State, command: c.MakeTick, ticks: tuple[str, ...]) -> tuple[e.Event, ...]:
    """The events of all `ticks`, each made like `command`; Refused when a critical one is among them."""
    events: tuple[e.Event, ...] = ()
    for id_ in ticks:
        if any(tick.id == id_ and tick.killer for tick in _all_ticks(state)):
            raise refused("critical by itself")
        made = _one_tick(state, replace(command, tick=id_, also=()))
        events, state = (*events, *made), reduce(evolve, made, state)
    return events


def _all_ticks(state: State) -> tuple[PlannedTick, ...]:
    return tuple(tick for step in plan_of(state).steps for tick in step.ticks)


def _one_tick(state: State, command: c.MakeTick) -> tuple[e.Event, ...]:
    tick = next((tick for tick in _all_ticks(state) if tick.id == command.tick), None)
    if tick is None:
        raise refused("no such line")
    if tick.id in state.ticks:
        raise refused("confirmed already", line=tick.text)
    if (why := cannot_make(state, tick, command.at)) is not None:
        raise CommandRefused(why)
    watched = command.typed == e.BY_EYE
    if tick.asks == "bells" and not watched and (not command.typed or command.typed != command.expected):
        raise refused("bells miscounted", typed=command.typed)
    made = e.TickMade(command.at, tick.id, command.sure, command.typed)
    return (*_first_act(state, command.at), made)


def _first_act(state: State, at: float) -> tuple[e.Event, ...]:
    """A step without a clock begins with the first act in it; a background step that it joins ends there.

    Not before that one's time: what can be confirmed sooner begins nothing.
    """
    step = current_step(state)
    return () if step.timed or joined_too_soon(state, step, at) else end_joined(state, step, at)


def _undo_tick(state: State, command: c.UndoTick) -> tuple[e.Event, ...]:
    plan = plan_of(state)
    if command.tick not in state.ticks:
        raise refused("nothing confirmed")
    host = host_of(plan, command.tick)
    tick = next((tick for tick in host.ticks if tick.id == command.tick), None) if host is not None else None
    current = current_step(state)
    due = plan.step(tick.due_step) if tick is not None else None
    passed = due is None or plan.number(due.id) < plan.number(current.id)
    if due is not None and due.id == current.id and tick is not None and tick.due_at == "start":
        passed = due.timed and due.id in state.clocks
    if passed:
        raise refused("gate passed")
    return (e.TickUndone(command.at, command.tick),)


def _override(state: State, command: c.Override, words: RecordWords) -> tuple[e.Event, ...]:
    step = current_step(state)
    reason = typed_text(command.reason, "no reason")
    if command.step != step.id:
        raise refused("other step on screen")
    blocker = next((b for b in blockers_now(state, step, command.at) if b.key == command.what), None)
    if blocker is None:
        raise refused("nothing shut")
    return (e.GateOverridden(command.at, step.id, blocker.key, words(plan_of(state), blocker.why), reason),)


def _end_step(state: State, command: c.EndStep) -> tuple[e.Event, ...]:
    step = current_step(state)
    if command.step != step.id:
        raise refused("other step on screen")
    clock = state.clocks.get(step.id)
    if step.timed and clock is None:
        raise refused("not started", step=step.title)
    if clock is not None and command.at < clock.t0:
        raise refused("clock not started")
    if step.kind is Kind.BATH and clock is not None and clock.drained_at is None:
        raise refused("still in the tank", bath=step.solution_title)
    blockers = () if step.timed else start_blockers(state, step, command.at)
    refuse_if_shut((*blockers, *end_blockers(state, step, command.at)))
    early_s = _early_s(state, step)
    ended: tuple[e.Event, ...] = (
        *_first_act(state, command.at),
        e.StepEnded(command.at, step.id, early_s, command.keys_ignored),
    )
    return (*ended, *go_on(reduce(evolve, ended, state), step, command.at))


EARLY_S = 10.0
"""An on-time bath whose draining begins this much off its moment is a deviation (5 % of 3:15; our own number)."""


def _early_s(state: State, step: PlannedStep) -> float:
    clock = state.clocks.get(step.id)
    if step.ends != "on time" or clock is None or clock.drained_at is None or clock.end_s is None:
        return 0.0
    lead_s = step.drain_lead_s if step.draining_counts else 0.0
    early_s = clock.end_s - lead_s - (clock.drained_at - clock.t0)
    return round(early_s, 3) if abs(early_s) > EARLY_S else 0.0


def _cue(state: State, command: c.GiveCue | c.MissCue | c.AnswerCue) -> tuple[e.Event, ...]:
    plan = plan_of(state)
    if all(step.id != command.step for step in plan.steps):
        raise refused("no such call")
    match command:
        case c.GiveCue():
            if (command.step, command.call, command.planned) in state.given:
                raise refused("called already")
            return (e.CueGiven(command.at, command.step, command.call, command.planned),)
        case c.MissCue():
            if (command.step, command.call, command.planned) in state.given:
                raise refused("called already")
            return (e.CueMissed(command.at, command.step, command.call, command.planned, command.why),)
        case c.AnswerCue():
            coming = [cue for cue in all_cues(state) if (cue.step, cue.call) == (command.step, command.call)]
            if coming and all(is_answered(state, cue) for cue in coming):
                raise refused("answered already")
            return (e.CueAnswered(command.at, command.step, command.call),)
        case _:
            assert_never(command)


def _add_note(state: State, command: c.AddNote) -> tuple[e.Event, ...]:
    plan = plan_of(state)
    text = typed_text(command.text, "empty note")
    if command.roll is not None and not 0 <= command.roll < len(plan.setup.rolls):
        raise refused("no such roll")
    noted = e.NoteAdded(command.at, text, command.about, command.roll)
    return (noted, *_looked_at_all(state, command))


def _looked_at_all(state: State, command: c.AddNote) -> tuple[e.Event, ...]:
    """The ticks that ask whether the film was looked at, once it is noted of every roll how it came out."""
    seen = {note.roll for note in state.notes if note.about == "look"} | {command.roll}
    if command.about != "look" or not seen.issuperset(range(len(plan_of(state).setup.rolls))):
        return ()
    events: tuple[e.Event, ...] = ()
    for tick in _all_ticks(state):
        if tick.asks == "look" and tick.id not in state.ticks and cannot_make(state, tick, command.at) is None:
            made = _one_tick(state, c.MakeTick(command.at, tick.id))
            events, state = (*events, *made), reduce(evolve, made, state)
    return events


def _mishap(state: State, command: c.NoteMishap) -> tuple[e.Event, ...]:
    found = find(state, plan_of(state), command.what, command.about, command.at)
    text = typed_text(command.text, "nothing said")
    step = current_step(state).id
    return (e.MishapHappened(command.at, step, found.what, found.case, found.about, found.suspects, text),)


def _stop_running(state: State, at: float) -> tuple[e.Event, ...]:
    """Abandoning closes the clocks that still run, so that the record says when."""
    return tuple(e.StepEnded(at, step) for step in state.clocks if step not in state.ended)


def _closed(state: State, outcome: Outcome, at: float, reason: str) -> e.SessionClosed:
    return e.SessionClosed(at, outcome, state.deviations, reason.strip()[:MOST_TYPED])
