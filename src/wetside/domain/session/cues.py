"""The calls (bells and messages) of a running step and their moments. `present/message_words.py` has the words."""

from __future__ import annotations

from math import inf
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.messages import Message, message
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import ClockCorrected, EndMoved
from wetside.domain.session.gates import drain_lead_s, drain_opens_in, may_drain, open_ticks
from wetside.domain.session.state import State, StepClock
from wetside.memo import remembers_last

Call = Literal["ready", "agitate", "change", "drain", "over"]

BELLS: dict[Call, int] = {"ready": 1, "agitate": 2, "change": 2, "drain": 3, "over": 5}
"""The number of bells of each call."""

READY_AHEAD_S = 30.0
HANDS_S = 15.0
"""The least time between "ready" and pouring, however long the tank drains (our own number)."""
APART_S = 5.0
"""The least distance of two calls of one bath, so that their bells can be distinguished."""
LINES_S = 12.0
"""The least distance from "ready" to the next call where items are to be confirmed, so that there is time to read
them."""
SHOWN_S, SHOWN_BY_EYE_S = 12.0, 30.0
"""How long the words of a call stay on screen at most: with bells, and for a person who watches the screen."""
ANSWERED_S = 10.0
"""How long after a call's end SPACE still answers it, for a person with both hands on the tank."""
REPEAT_EVERY_S = 10.0
"""The interval at which "over" is repeated until it is answered."""


class Cue(Struct, frozen=True):
    """One call at a planned moment (session seconds). repeats: until it is answered.

    about: its message; None for a call of which only the record is known. holds_s: how long its act lasts, after
    which its words are stale. ahead_s: how long before its act it is made.
    """

    step: str
    call: Call
    at: float
    about: Message | None = None
    repeats: bool = False
    holds_s: float = inf
    ahead_s: float = 0.0


def schedule(state: State, step: PlannedStep) -> tuple[Cue, ...]:
    """Every call of one step's clock in order of time; none before it runs, after it ended, or while paused."""
    clock = state.clocks.get(step.id)
    if clock is None or step.id in state.ended or clock.drained_at is not None or clock.paused_since is not None:
        return ()
    start = clock.t0 + clock.paused_s
    if step.kind is Kind.DARK:
        return _dark_bells(step, start)
    cues = [*_agitation(step, clock, start), *_changes(step, clock, start), *_ending(state, step, clock, start)]
    return tuple(sorted(cues, key=lambda cue: cue.at))


@remembers_last
def all_cues(state: State) -> tuple[Cue, ...]:
    """The calls of all running clocks, background ones included, in order of time; none while closed."""
    if state.outcome is not None:
        return ()
    running = (step for step in state.plan.steps if step.id in state.clocks and step.id not in state.ended)
    return tuple(sorted((cue for step in running for cue in schedule(state, step)), key=lambda cue: cue.at))


def upcoming(state: State, after: float) -> tuple[Cue, ...]:
    """Calls later than `after` that have been recorded neither as given nor as missed."""
    return tuple(
        cue for cue in all_cues(state) if cue.at > after and (cue.step, cue.call, cue.at) not in state.given
    )


LONGEST_DARK_S = 7200.0


def _dark_bells(step: PlannedStep, start: float) -> tuple[Cue, ...]:
    """Single bells at equal intervals while film is loaded; () where the step asks for none."""
    every_s = step.bell_every_s
    if every_s is None or every_s <= 0:
        return ()
    return tuple(
        Cue(step.id, "ready", start + n * every_s, message("loading goes on", for_s=n * every_s))
        for n in range(1, int(LONGEST_DARK_S // every_s) + 1)
    )


def current_call(state: State, at: float) -> Cue | None:
    """The newest call that applies at `at`: while it is shown or its act lasts, and `ANSWERED_S` longer.

    One that repeats applies until its bath is poured out. None while no call applies.
    """
    calls = (cue for cue, until in _calls(state) if cue.at <= at < until)
    return max(calls, key=lambda cue: cue.at, default=None)


@remembers_last
def _calls(state: State) -> tuple[tuple[Cue, float], ...]:
    """Every call that is planned or was given, with the moment until which it applies; planned ones first."""
    running = {id_ for id_, clock in state.clocks.items() if clock.drained_at is None and id_ not in state.ended}
    # A correction may have moved a call that was given a moment ago; it can be answered all the same.
    given = (
        Cue(step, known, moment)
        for step, call, moment in state.given
        for known in BELLS
        if known == call and step in running
    )
    return (
        *((cue, _applies_until(state, cue)) for cue in all_cues(state)),
        *((cue, cue.at + shown_s(state) + ANSWERED_S) for cue in given),
    )


def shown_s(state: State) -> float:
    """How long (s) the words of a call stay on screen at most."""
    return SHOWN_BY_EYE_S if state.by_eye else SHOWN_S


def _applies_until(state: State, cue: Cue) -> float:
    if cue.repeats:
        return inf
    ends_s = cue.holds_s if cue.holds_s < inf else shown_s(state)
    return cue.at + max(SHOWN_S, ends_s) + ANSWERED_S


def call_to_answer(state: State, step: PlannedStep, at: float) -> Cue | None:
    """The call that SPACE answers in `step`; None where SPACE does the step's own act.

    A call to pour this bath out is answered by pouring out, so it is not returned. A call to confirm items before
    that, or to change the water of a wash, is not returned once it is answered.
    """
    call = current_call(state, at)
    if call is not None and call.step == step.id and is_answered(state, call):
        over = call.call == "change" or (call.call == "ready" and _to_confirm(state, step) > 0)
        call = None if over else call
    if call is None or not may_drain(state, step, at):
        return call
    opens_in = drain_opens_in(state, step, at)
    time_has_come = step.ends == "on time" and opens_in is not None and opens_in <= 0
    return None if time_has_come or (call.step == step.id and call.call in ("drain", "over")) else call


def is_answered(state: State, cue: Cue) -> bool:
    """Whether this call was answered. An earlier answer does not count: it was given before the end was moved."""
    return any((step, call) == (cue.step, cue.call) and at >= cue.at for step, call, at in state.answered)


def overtaken(state: State, heard_until: float) -> tuple[Cue, ...]:
    """Calls that a correction or a reading has just moved into the past and that still apply.

    heard_until: the moment up to which calls have been made. A call that was already made at its earlier moment is
    not returned again.
    """
    changes: tuple[ClockCorrected | EndMoved, ...] = (*state.corrections, *state.moves)
    if not changes:
        return ()  # the usual case, at nearly every poll
    found = []
    for cue in all_cues(state):
        changed = max((change.at for change in changes if change.step == cue.step), default=-1.0)
        # A record with a planned moment after `heard_until` has not been heard.
        since = -inf if cue.call == "drain" else cue.at
        made = any((g[0], g[1]) == (cue.step, cue.call) and since <= g[2] <= heard_until for g in state.given)
        holds = not cue.repeats and cue.at <= heard_until <= min(changed, cue.at + cue.holds_s)
        if holds and not made:
            found.append(replace(cue, ahead_s=0.0))
    return tuple(found)


def ready_ahead_s(step: PlannedStep, end_s: float) -> float:
    """How long (s) before the end of a bath of `end_s` "ready" is called.

    Sooner where a call to agitate falls on it, as one bell and two would be heard as three, the call to pour out;
    and so that no call comes while items are to be confirmed.
    """
    ahead_s = max(READY_AHEAD_S, drain_lead_s(step) + HANDS_S)
    lines = step.ends == "on time" and any((t.due_step, t.due_at) == (step.id, "end") for t in step.ticks)
    apart_s = LINES_S if lines else APART_S
    left = (end_s - begins for begins, _ in agitation_periods(step, end_s))
    clash = [left_s for left_s in left if -APART_S < ahead_s - left_s < apart_s]
    return max(clash) + apart_s if clash else ahead_s


def agitation_periods(step: PlannedStep, end_s: float) -> tuple[tuple[float, float], ...]:
    """When a bath of `end_s` is agitated: (begins, ends) in seconds from its start, in order.

    What falls into the first, continuous stretch or on its end is part of it; the last one ends before pouring.
    """
    rule = step.agitation
    if rule is None:
        return ()
    last = end_s - drain_lead_s(step)
    found = [(0.0, min(rule.first_s, last))] if rule.first_s > 0 else []
    if rule.every_s > 0:
        number = 1
        while (offset := number * rule.every_s) < last - rule.for_s:
            if offset > rule.first_s:
                found.append((offset, offset + rule.for_s))
            number += 1
    return tuple(found)


def _agitation(step: PlannedStep, clock: StepClock, start: float) -> list[Cue]:
    rule = step.agitation
    if rule is None or clock.end_s is None:
        return []
    again = message("agitate", how=rule.words)
    first = message("agitate without a pause", how=rule.words)
    if rule.every_s > 0:
        first = message("agitate first", for_s=rule.first_s, how=rule.words)
    return [
        Cue(step.id, "agitate", start + begins, again if begins > 0 else first, holds_s=ends - begins)
        for begins, ends in agitation_periods(step, clock.end_s)
    ]


CHANGE_S = 10.0
"""The time to empty a tank and fill it again (our own number)."""


def _changes(step: PlannedStep, clock: StepClock, start: float) -> list[Cue]:
    """Each change of water of a wash; the first water goes in when the clock starts."""
    fills = step.fills_of_water(clock.end_s)
    return [
        Cue(
            step.id,
            "change",
            start + number * (step.water_every_s or 0.0),
            message("change the water", number=number + 1, fills=fills),
            holds_s=CHANGE_S,
        )
        for number in range(1, fills)
    ]


def _ending(state: State, step: PlannedStep, clock: StepClock, start: float) -> list[Cue]:
    if clock.end_s is None:
        return []
    end = start + clock.end_s
    bath = step.solution_title or step.title
    cues = []
    poured = step.kind is Kind.BATH and not step.background
    ahead_s = ready_ahead_s(step, clock.end_s)
    if poured and clock.end_s > ahead_s + 10.0:
        in_s = ahead_s - drain_lead_s(step)
        lines = _to_confirm(state, step)
        about = message("get ready to pour", bath=bath, next=next_title(state, step), lines=lines)
        cues.append(Cue(step.id, "ready", end - ahead_s, about, holds_s=in_s, ahead_s=in_s))
    if poured:
        about = message("pour out" if step.ends == "on time" else "may pour out", bath=bath)
        cues.append(Cue(step.id, "drain", end - drain_lead_s(step), about))
    if step.ends == "on time":
        # Where draining does not count, the call to pour out comes at the end itself.
        at = max(end, end - drain_lead_s(step) + APART_S) if poured else end
        cues.append(Cue(step.id, "over", at, message("over its time", bath=bath), repeats=True))
    elif step.background or step.kind.traits.says_over:
        cues.append(Cue(step.id, "ready", end, message("time is up", step=step.title, end_s=clock.end_s)))
    return cues


def _to_confirm(state: State, step: PlannedStep) -> int:
    """The number of open ticks due before an on-time bath is poured out."""
    return len(open_ticks(state, step, "end")) if step.ends == "on time" else 0


def next_title(state: State, step: PlannedStep) -> str:
    """The title of the next step, with its roll where it has one; "" after the last."""
    number = state.plan.number(step.id) + 1
    if number >= len(state.plan.steps):
        return ""
    after = state.plan.steps[number]
    return f"{after.title}: {after.roll_label}" if after.roll_label else after.title
