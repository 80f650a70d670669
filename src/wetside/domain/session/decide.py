"""Decides the commands of a session: the events of a command, or the exception `Refusal`.

`decide` changes no state and reads no clock. Commands about clocks and readings are decided in `clocks.py`;
`evolve` in `state.py` applies the events.
"""

from __future__ import annotations

from typing import assert_never

from msgspec.structs import replace

from wetside.domain.messages import Refusal, refused, typed_text
from wetside.domain.session import clocks
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.cues import all_cues, is_answered
from wetside.domain.session.gates import blockers_now, cannot_make, current_step, step_on_screen
from wetside.domain.session.mishaps import find
from wetside.domain.session.state import State, replay
from wetside.sanitize import MOST_TYPED


def decide(state: State, command: c.Command) -> tuple[e.Event, ...]:
    """The events of `command` in `state`. Raises Refusal."""
    if isinstance(command, e.SessionBegan):
        return _begin(state, command)
    if not state.begun:
        raise refused("no session")
    if isinstance(command, c.AddNote):  # in a closed session too
        return _add_note(state, command)
    if state.outcome is not None:
        raise refused("closed", outcome=state.outcome)
    if isinstance(command, c.InStep):
        if state.held_since is not None:
            raise refused("on hold")
        return _in_step(state, command)
    match command:
        case e.CueGiven() | e.CueMissed() | c.AnswerCue():
            return _called(state, command)
        case e.SessionResumed() | e.ClockJumped():
            return (command,)
        case c.NoteMishap():
            found, step = find(state, command.what, command.about, command.at), current_step(state)
            return (e.MishapHappened(command.at, step.id, found.what, found.case, found.about, found.suspects),)
        case c.TakeReading():
            return clocks.take_reading(state, command)
        case c.Release():
            if state.held_since is None:
                raise refused("not on hold")
            return (command,)
        case c.Abandon():
            # The running clocks are ended too, so that the record has the time of each.
            stopped = (e.StepEnded(command.at, step) for step in state.clocks if step not in state.ended)
            reason = command.reason.strip()[:MOST_TYPED]
            return (*stopped, e.SessionClosed(command.at, "abandoned", state.deviations, reason))
        case _:
            assert_never(command)


def _in_step(state: State, command: c.InStep) -> tuple[e.Event, ...]:
    match command:
        case c.Hold():
            return (command,)
        case c.MakeTick() if not command.also:
            return _tick(state, command)
        case c.MakeTick():
            return _plain_ticks(state, command, (command.tick, *command.also))
        case c.UndoTick():
            return _undo_tick(state, command)
        case c.Override():
            return _override(state, command)
        case c.StartStep():
            return clocks.start_step(state, command)
        case c.CorrectClock():
            return clocks.correct_clock(state, command)
        case c.Pause():
            return clocks.pause(state, command)
        case c.Unpause():
            return clocks.unpause(state, command)
        case c.BeginDrain():
            return clocks.begin_drain(state, command)
        case c.TakeBackDrain():
            return clocks.take_back_drain(state, command)
        case c.EndStep():
            made = _plain_ticks(state, c.MakeTick(command.at, ""), command.also)
            return (*made, *clocks.end_step(replay(made, state), command))
        case _:
            assert_never(command)


def _begin(state: State, began: e.SessionBegan) -> tuple[e.Event, ...]:
    if state.begun:
        raise refused("begun already")
    if not began.plan.steps:
        raise refused("no step planned")
    return (began, e.StepOpened(began.at, began.plan.steps[0].id))


def _plain_ticks(state: State, command: c.MakeTick, ticks: tuple[str, ...]) -> tuple[e.Event, ...]:
    """The events of all `ticks`, each made like `command`. Raises Refusal where one of them is critical."""
    events: tuple[e.Event, ...] = ()
    for id_ in ticks:
        tick = state.plan.tick(id_)
        if tick is not None and tick.killer:
            raise refused("critical by itself")
        events += _tick(replay(events, state), replace(command, tick=id_, also=()))
    return events


def _tick(state: State, command: c.MakeTick) -> tuple[e.Event, ...]:
    tick = state.plan.tick(command.tick)
    if tick is None:
        raise refused("no such line")
    if tick.id in state.ticks:
        raise refused("confirmed already", line=tick.text)
    if (why := cannot_make(state, tick, command.at)) is not None:
        raise Refusal(why)
    watched = command.typed == e.BY_EYE
    if tick.asks == "bells" and not watched and (not command.typed or command.typed != command.expected):
        raise refused("bells miscounted", typed=command.typed)
    made = e.TickMade(command.at, tick.id, "stated", command.typed)
    return (*clocks.first_act(state, command.at), made)


def _undo_tick(state: State, command: c.UndoTick) -> tuple[e.Event, ...]:
    if command.tick not in state.ticks:
        raise refused("nothing confirmed")
    plan, current = state.plan, current_step(state)
    tick = plan.tick(command.tick)
    if tick is None:
        raise refused("gate passed")
    due = plan.step(tick.due_step)
    passed = plan.number(due.id) < plan.number(current.id)
    if due.id == current.id and tick.due_at == "start":
        passed = due.timed and due.id in state.clocks
    if passed:
        raise refused("gate passed")
    return (command,)


def _override(state: State, command: c.Override) -> tuple[e.Event, ...]:
    reason = command.reason
    if isinstance(reason, str):
        reason = typed_text(reason, "no reason")
    step = step_on_screen(state, command.step)
    blocker = next((b for b in blockers_now(state, step, command.at) if b.key == command.what), None)
    if blocker is None:
        raise refused("nothing shut")
    return (e.GateOverridden(command.at, step.id, blocker.key, blocker.why, reason),)


def _called(state: State, call: e.CueGiven | e.CueMissed | c.AnswerCue) -> tuple[e.Event, ...]:
    """The event of a call that was made, missed or answered."""
    if all(step.id != call.step for step in state.plan.steps):
        raise refused("no such call")
    if isinstance(call, c.AnswerCue):
        coming = [cue for cue in all_cues(state) if (cue.step, cue.call) == (call.step, call.call)]
        if coming and all(is_answered(state, cue) for cue in coming):
            raise refused("answered already")
    elif (call.step, call.call, call.planned) in state.given:
        raise refused("called already")
    return (call,)


def _add_note(state: State, command: c.AddNote) -> tuple[e.Event, ...]:
    look = command.look
    text = command.text
    if look is not None and look.fault != e.OWN_WORDS:
        text = ""
    elif isinstance(text, str):
        text = typed_text(text, "empty note")
    if command.roll is not None and not 0 <= command.roll < len(state.plan.setup.rolls):
        raise refused("no such roll")
    return (replace(command, text=text), *_looked_at_all(state, command))


def _looked_at_all(state: State, command: c.AddNote) -> tuple[e.Event, ...]:
    """The events of the ticks with `asks="look"`, once every roll has a note on how it came out."""
    seen = {note.roll for note in state.notes if note.about == "look"} | {command.roll}
    if command.about != "look" or not seen.issuperset(range(len(state.plan.setup.rolls))):
        return ()
    events: tuple[e.Event, ...] = ()
    for tick in (tick for step in state.plan.steps for tick in step.ticks if tick.asks == "look"):
        here = replay(events, state)
        if tick.id not in here.ticks and cannot_make(here, tick, command.at) is None:
            events += _tick(here, c.MakeTick(command.at, tick.id))
    return events
