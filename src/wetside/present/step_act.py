"""The text of a step's act (the one thing to do now) and its large clock. Pure.

The sentences beside them are in `step_facts.py`; instructions come from the process's own file.
"""

from __future__ import annotations

from typing import Final

from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.cues import agitation_periods, ready_ahead_s
from wetside.domain.session.gates import drain_opens_in, joined_too_soon, pour_lead_s, too_warm_unseen
from wetside.domain.session.state import State, StepClock
from wetside.present.message_words import in_words
from wetside.present.step_facts import seconds_if_started
from wetside.present.view_model import ClockView
from wetside.present.wording import minutes_seconds, temperature, the

_POURED: Final = {
    "bottle": "Pour it back into its bottle",
    "one-shot": "Pour it into its waste container",
    "tap": "Pour it away",
}
"""Where a bath is poured at its end. A one-shot solution may be hazardous waste: its sheet says where it goes."""

_STILL: Final = {"on time": "on time: not less, not more", "not before": "at least", "when done": "about"}
_PAST_MINIMUM: Final = "past its minimum: it may go on"


def whole_seconds_left(seconds: float) -> int:
    """The whole seconds left, rounded up (0.2 s gives 1), so that 0 is reached exactly at the end."""
    return max(0, -int(-seconds // 1))


def joined_step(state: State, step: PlannedStep, at: float) -> PlannedStep | None:
    """The background step whose time must be up before `step`; None once it is, or where that is set aside."""
    return state.plan.step(step.joins) if step.joins is not None and joined_too_soon(state, step, at) else None


def act_of(state: State, step: PlannedStep, at: float) -> str:
    """The one thing to do now, verb first; the step's instruction while nothing is more urgent."""
    clock, instruction = state.clocks.get(step.id), in_words(step.instruction, state.plan.units)
    if clock is None and (joined := joined_step(state, step, at)) is not None:
        place = f" of {joined.roll_label}" if joined.roll_label else ""
        return f"Wait for the clock: {joined.title}{place}. Then: {instruction}"
    if barred := too_warm_unseen(state, step, at):
        return in_words(barred[0].why, state.plan.units)
    if clock is None:
        return instruction
    if step.kind is Kind.DARK and step.in_the_dark:
        # shown by a follower, and after a dark step whose end could not be stored
        return "Film is being loaded in the dark. It ends with the lid on and locked, then the light on."
    if fills := step.fills_of_water(clock.end_s):
        number = min(fills, int(max(0.0, clock.elapsed(at)) // (step.water_every_s or 1.0)) + 1)
        return f"Water {number} of {fills}. {instruction}"
    if step.kind is not Kind.BATH or step.background:
        return instruction
    name = the(step.solution_title) if step.solution_title else "the tank"
    if clock.elapsed(at) < 0:
        return f"Hold {name} ready to pour."
    if clock.drained_at is not None:
        return f"{_POURED[step.storage or 'tap']}. Let the tank drip until it is empty."
    opens_in = drain_opens_in(state, step, at)
    if opens_in is None or clock.end_s is None:
        return instruction
    if opens_in <= 0:
        return f"Pour {name} out now." if step.ends == "on time" else f"You may pour {name} out now."
    return _in_the_bath(step, name, clock.end_s, clock.elapsed(at)) or instruction


def _in_the_bath(step: PlannedStep, name: str, end_s: float, elapsed_s: float) -> str:
    """The act between pouring in and pouring out: agitate, or let the tank stand, until a reading of the clock.

    "" without agitation. The moments are given as the clock will show them, so that the text does not change while
    the digits run.
    """
    poured_s = end_s - pour_lead_s(step)
    agitated = agitation_periods(step, end_s)
    now = next((ends for begins, ends in agitated if begins <= elapsed_s < ends), None)
    if now is not None and step.agitation is not None:
        left = minutes_seconds(whole_seconds_left(poured_s - now))
        words = f"Until {left} is left: {in_words(step.agitation.words)}"
        # In the first stretch pouring comes first, where the clock starts with the pour.
        pour = step.clock_starts == "pour begins" and now <= agitated[0][1]
        return f"Pour {name} in and cap the tank. {words}" if pour else words
    if end_s - elapsed_s <= ready_ahead_s(step, end_s):
        return f"Get ready to pour {name} out."
    coming = next((begins for begins, _ in agitated if begins > elapsed_s), None)
    if coming is not None:
        return f"Let the tank stand until {minutes_seconds(whole_seconds_left(poured_s - coming))} is left."
    return "Let the tank stand until it is time to pour." if agitated else ""


def clock_of(state: State, step: PlannedStep, at: float) -> ClockView | None:
    """The large digits of a step, without the time of day at which they end; None where it has none."""
    clock = state.clocks.get(step.id)
    if clock is None:
        return _joined_clock(state, step, at) or _since_draining(state, step, at) or _still(state, step, at)
    elapsed = clock.elapsed(at)
    total = round(clock.end_s) if clock.end_s is not None else None
    if elapsed < 0:
        words = "until the clock starts: bottle in hand"
        return ClockView("lead-in", whole_seconds_left(-elapsed), words, total_s=total)
    if clock.drained_at is not None:
        return ClockView("since", int(at - clock.drained_at), "since pouring out began", "", total, int(elapsed))
    left = clock.remaining(at)
    if left is None:
        return ClockView("up", int(elapsed), "so far", elapsed_s=int(elapsed))
    if step.kind is Kind.BATH and not step.background:
        return _until_poured(step, clock, left, at)
    if left <= 0:
        late = step.ends == "on time"
        words = "OVER its time" if late else _PAST_MINIMUM
        return ClockView("over", int(-left), words, total_s=total, elapsed_s=int(elapsed), late=late)
    words = "to go" if clock.paused_since is None else "to go, PAUSED"
    return ClockView("down", whole_seconds_left(left), words, "", total, int(elapsed), end_at=at + left)


def _until_poured(step: PlannedStep, clock: StepClock, left_s: float, at: float) -> ClockView:
    """The clock of a bath. Its digits count to the moment pouring out begins, not to the end of draining."""
    lead_s = pour_lead_s(step)
    elapsed, total = int(clock.elapsed(at)), round(left_s + clock.elapsed(at))
    if left_s > lead_s:
        words = "left, then pour out" if clock.paused_since is None else "left, PAUSED"
        shown = whole_seconds_left(left_s - lead_s)
        return ClockView("down", shown, words, "", total, elapsed, round(lead_s), end_at=at + left_s)
    words, late = _PAST_MINIMUM, False
    if step.ends == "on time":
        late = left_s <= 0
        words = "OVER its time: it was to be poured out" if late else "past its moment to be poured out"
    return ClockView("over", int(lead_s - left_s), words, total_s=total, elapsed_s=elapsed, late=late)


def _joined_clock(state: State, step: PlannedStep, at: float) -> ClockView | None:
    """The clock of the background step that this one waits for; None without one."""
    joined = joined_step(state, step, at)
    if joined is None:
        return None
    clock = state.clocks[joined.id]
    left_s = clock.remaining(at) or 0.0
    words = f"to go in {the(joined.solution_title)}" if joined.solution_title else f"to go: {joined.title}"
    total, elapsed = round(clock.end_s or 0.0), int(clock.elapsed(at))
    return ClockView("down", whole_seconds_left(left_s), words, "", total, elapsed, end_at=at + left_s)


def _since_draining(state: State, step: PlannedStep, at: float) -> ClockView | None:
    """Between two baths, the time since draining began, as the developer still acts on the film; else None."""
    if state.last_ended is None or step.background:
        return None
    before, ended = state.clocks.get(state.last_ended), state.plan.step(state.last_ended)
    # A wash may wait as long as one likes, unless it is what stops a developer.
    waits = step.kind is Kind.BATH or (step.kind is Kind.WASH and ended.ends == "on time")
    if before is None or before.drained_at is None or not waits:
        return None
    words = f"since {the(ended.solution_title)} was poured out"
    return ClockView("since", int(at - before.drained_at), words)


def _still(state: State, step: PlannedStep, at: float) -> ClockView | None:
    """The time a step will take, before its clock starts; None for a step without one."""
    if step.planned_s is None or not step.timed:
        return None
    words = _STILL[step.ends]
    if step.storage == "tap" and step.target_c is not None:  # its statements name no temperature
        words = f"{words}, at {temperature(step.target_c, state.plan.unit)}"
    seconds = round(seconds_if_started(state, step, at) or step.planned_s)
    return ClockView("still", seconds, words, total_s=seconds)
