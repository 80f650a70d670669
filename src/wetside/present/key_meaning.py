"""What SPACE and ENTER mean in the step on screen: for each key one function gives its label and its effect.

The bottom line shows the label and a press has the effect of the same `Meaning`, so the two cannot differ.
"""

from __future__ import annotations

from wetside.domain.messages import message
from wetside.domain.planning.plan import PlannedStep, PlannedTick
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session.cues import Cue, call_to_answer, is_answered
from wetside.domain.session.gates import blockers_now, follows_at_once, may_drain, shut_by, too_warm_unseen
from wetside.domain.session.state import State
from wetside.present.action_effects import open_action, reading_panel
from wetside.present.key_state import KeyState, Meaning
from wetside.present.message_words import in_words
from wetside.present.presenter import next_lines, next_tick, waiting_tick
from wetside.present.wording import counted, the

TOO_QUICK_S = 1.0
"""A critical line confirmed sooner than this has not been read (guided-procedure practice; our own number)."""


def space_key(state: State, key_state: KeyState, step: PlannedStep, at: float) -> Meaning:
    """SPACE: answers a call, begins to pour out, confirms, opens a field to type in, or says "I am ready"."""
    if (call := call_to_answer(state, step, at)) is not None:
        return _answers(state, key_state, step, call, at)
    if state.held_since is not None:
        return Meaning(message="On hold: ENTER lets the guide go on.")
    if may_drain(state, step, at):
        if _meant_for_another(state, step, at):
            return Meaning("pouring out now", message=_time_has_come(step))
        return Meaning("pouring out now", c.BeginDrain(at, step.id), moved=True)
    if (tick := next_tick(state, step, at)) is not None:
        return _confirms(state, key_state, step, tick, at)
    panel = reading_panel(state, step, at) if step.kind.traits.reads else None
    if panel is not None and blockers_now(state, step, at):
        return Meaning("types a temperature", panel=panel)
    if step.kind is Kind.DARK and too_warm_unseen(state, step, at):
        return Meaning("types a temperature", panel=open_action(state, "temperature", at).panel)
    if in_the_tank(state, step):
        return Meaning(message=_not_yet(state, step, at))
    return _ready(state, key_state, step, at)


def enter_key(state: State, key_state: KeyState, step: PlannedStep, at: float) -> Meaning:
    """ENTER: ends a hold or a pause, starts the step's clock, or ends the step."""
    if state.held_since is not None:
        return Meaning("lets the guide go on", c.Release(at))
    clock = state.clocks.get(step.id)
    if clock is not None and clock.paused_since is not None:
        return Meaning("lets the clock go on", c.Unpause(at, step.id))
    if in_the_tank(state, step):
        return Meaning(message=_not_yet(state, step, at))
    if also := _lines_of_gate(state, key_state, step, at):
        label = f"confirms {counted(len(also), 'line')} and {_end_label(state, step)}"
        if at - key_state.tick_shown_at < TOO_QUICK_S * pace(state):
            return Meaning(label, message="Wait a second and read the marked lines, then ENTER.")
        return Meaning(label, c.EndStep(at, step.id, also=also), moved=False)
    if (shut := gate_shut(state, step, at)) is not None:
        return shut
    at_once = _starts_at_once(state, step)
    if at_once and at - key_state.opened_at < TOO_QUICK_S * pace(state):
        # The next bath cannot have been poured so soon after the ENTER for the empty tank.
        return Meaning(message=f"ENTER again as {the(step.solution_title)} goes in.")
    if not (key_state.moved or at_once):
        return Meaning(message="First SPACE, then ENTER: so that a stuck key starts nothing.")
    if step.timed and clock is None:
        lead_in_s = step.lead_in_s if step.kind.traits.lead_in else 0.0
        started = c.StartStep(at, step.id, lead_in_s)
        return Meaning(_start_label(step), started, moved=False, confirmed=False)
    label = "the tank is empty" if step.kind is Kind.BATH else _end_label(state, step)
    return Meaning(label, c.EndStep(at, step.id), moved=False)


def closed_key(key_state: KeyState, key: str) -> Meaning:
    """SPACE and ENTER of a closed session. Leaving needs both, as the last key may still be held down."""
    if key == "space":
        return Meaning() if key_state.moved else Meaning("I am ready to leave", moved=True)
    if key_state.moved:
        return Meaning("leaves", wish="leave")
    return Meaning(message="First SPACE, then ENTER: so that a stuck key does not leave.")


def over_panel_key(state: State, key_state: KeyState, call: Cue, key: str, at: float) -> Meaning:
    """SPACE and ENTER while a call waits over an open panel: they answer it, and the panel stays as it is."""
    words, panel = "SPACE and ENTER answer the call first; any other key goes on here.", key_state.panel
    if key == "enter" or is_answered(state, call):
        return Meaning(message=words, panel=panel)
    return Meaning("answers the call", c.AnswerCue(at, call.step, call.call), panel, f"Heard. {words}")


def gate_shut(state: State, step: PlannedStep, at: float) -> Meaning | None:
    """The meaning of a key where the next gate is shut: its message; None where the gate is open."""
    blockers = blockers_now(state, step, at)
    return Meaning(message=in_words(shut_by(blockers), state.plan.units), gate_shut=True) if blockers else None


def in_the_tank(state: State, step: PlannedStep) -> bool:
    """Whether this step's bath runs and is not being poured out yet."""
    clock = state.clocks.get(step.id)
    return step.kind is Kind.BATH and clock is not None and clock.drained_at is None


def pace(state: State) -> float:
    """Seconds of the session's clock for each real second."""
    return state.speed if state.practice else 1.0


def _answers(state: State, key_state: KeyState, step: PlannedStep, call: Cue, at: float) -> Meaning:
    """SPACE answers a call. Answering "time is up" of a step that is no bath also counts as the first key."""
    command = None if is_answered(state, call) else c.AnswerCue(at, call.step, call.call)
    label = "answers the call" if command is not None else ""
    if call.step == step.id and step.kind is not Kind.BATH and call.call == "ready":
        ready = _ready(state, key_state, step, at)
        return Meaning(
            label or ready.label, command, message=ready.message, moved=ready.moved, gate_shut=ready.gate_shut
        )
    return Meaning(label, command, message="Heard.")


def _confirms(state: State, key_state: KeyState, step: PlannedStep, tick: PlannedTick, at: float) -> Meaning:
    lines = next_lines(state, step, at, key_state.together)
    marked = "the marked line" if len(lines) == 1 else f"the {len(lines)} marked lines"
    label = "rings bells to count" if tick.asks == "bells" else f"confirms {marked}"
    too_quick = at - key_state.tick_shown_at < TOO_QUICK_S
    if tick.killer and too_quick:
        return Meaning(
            label, message=f"Wait a second and read it, then SPACE: {in_words(tick.text, state.plan.units)}."
        )
    if tick.asks == "bells":
        return Meaning(label, wish="ring")
    also = tuple(each.id for each in lines if each.id != tick.id)
    if also and too_quick:
        return Meaning(label, message="Wait a second and read the marked lines, then SPACE.")
    return Meaning(label, c.MakeTick(at, tick.id, also=also), moved=True, confirmed=tick.killer or None)


def _ready(state: State, key_state: KeyState, step: PlannedStep, at: float) -> Meaning:
    """SPACE as the first key of a pair. It does nothing where ENTER alone starts the next bath."""
    if (shut := gate_shut(state, step, at)) is not None:
        return shut
    if key_state.moved or _starts_at_once(state, step):
        return Meaning()
    lid = step.kind is Kind.DARK and step.id in state.clocks
    return Meaning("the lid is on and locked" if lid else "I am ready", moved=True)


def _not_yet(state: State, step: PlannedStep, at: float) -> str:
    if state.clocks[step.id].elapsed(at) < 0:
        return "The clock is about to start."
    if may_drain(state, step, at):
        return _time_has_come(step)
    if step.ends == "on time":
        return in_words(message("still works", bath=step.solution_title))
    return f"{step.solution_title} has not had its time yet, which is a minimum."


def _time_has_come(step: PlannedStep) -> str:
    name = the(step.solution_title) if step.solution_title else "it"
    return f"Its time has come: SPACE when you start pouring {name} out."


def _meant_for_another(state: State, step: PlannedStep, at: float) -> bool:
    """Whether SPACE has meant "pouring out" for less than a second, and a line or a call before."""
    before = at - TOO_QUICK_S
    call = call_to_answer(state, step, before)
    unanswered = call is not None and not is_answered(state, call)
    return unanswered or (not may_drain(state, step, before) and waiting_tick(state, step, at) is not None)


def _lines_of_gate(state: State, key_state: KeyState, step: PlannedStep, at: float) -> tuple[str, ...]:
    """The plain lines that ENTER confirms as it ends this step; () where SPACE must confirm them.

    They must be all that is open and all marked on the screen, after SPACE has confirmed the `!` lines. This never
    starts a clock, ends a bath, or applies between a developer and the bath that stops it.
    """
    starts = step.timed and step.id not in state.clocks
    if not (key_state.together and key_state.moved and key_state.confirmed) or starts or step.kind is Kind.BATH:
        return ()
    if follows_at_once(state.plan, step):
        return ()
    lines = next_lines(state, step, at, together=True)
    marked = tuple(tick.id for tick in lines if not tick.killer and tick.asks == "yes")
    open_ = {blocker.tick.id if blocker.tick is not None else "" for blocker in blockers_now(state, step, at)}
    return marked if open_ == set(marked) else ()


def _starts_at_once(state: State, step: PlannedStep) -> bool:
    """Whether ENTER alone starts this bath, because the developer before it still works in the emptied tank."""
    return step.id not in state.clocks and follows_at_once(state.plan, step)


def _start_label(step: PlannedStep) -> str:
    if step.kind is Kind.DARK:
        return "goes dark" if step.in_the_dark else "starts: hands in the bag"
    # A step with tap water is called by its title, not by its solution.
    named = step.kind is Kind.BATH and step.storage != "tap"
    return f"starts {the(step.solution_title)}" if named else f"starts: {step.title}"


def _end_label(state: State, step: PlannedStep) -> str:
    return "closes the session" if step.id == state.plan.steps[-1].id else "goes on"
