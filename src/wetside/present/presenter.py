"""Makes the view of a session from its state and a moment. Pure; see `view.py` for what a view holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final

from wetside.domain.calc.wording import hours_minutes, minutes_seconds, span, temperature, the, wall_at
from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.profile.model import Kind
from wetside.domain.session.cues import next_title, ready_ahead_s, stretches, to_answer
from wetside.domain.session.gates import (
    drain_opens_in,
    is_settled,
    may_drain,
    open_ticks,
    pour_lead_s,
    reading_blockers,
    start_blockers,
    too_warm_unseen,
)
from wetside.domain.session.state import State
from wetside.domain.session.step_clock import StepClock
from wetside.domain.session.wet_film import wait_left_s
from wetside.present.closed_view import closed_view
from wetside.present.reading_rows import reading_rows, seconds_if_started
from wetside.present.step_facts import facts_of, into_this_fill
from wetside.present.view_model import BackgroundClock, CautionLine, ClockView, RailRow, TickRow, View
from wetside.present.way_out import way_out

WET_SHOWN_S: Final = 1200.0
"""So long before wet film has waited an hour its clock comes on screen (our own number)."""


def build_view(
    state: State, at: float, together: bool = False, offset_s_at: Callable[[datetime], int] | None = None
) -> View:
    """The view of `state` at `at` (session seconds). ValueError before a session has begun.

    together: one SPACE confirms all plain lines of the screen, so all of them are marked. offset_s_at: the offset
    of the person's zone at an instant, for an end that comes after the clocks were changed.
    """
    plan = state.plan
    if plan is None:
        raise ValueError("no session has begun")
    if state.current is None:
        return closed_view(state, plan, at)
    step = plan.step(state.current)
    ticks, meanwhile = _ticks(state, plan, step, at, together)
    return View(
        session=state.session,
        practice=state.practice,
        speed=state.speed,
        batch=_batch_words(plan, step),
        stage=dict(plan.stages).get(step.stage, step.stage),
        wall=_wall(state, at),
        elapsed=span(at),
        rail=_rail(state, plan, step),
        step=step.id,
        kind=step.kind,
        title=step.title,
        place=step.roll_label,
        instruction=step.instruction,
        cautions=tuple(CautionLine(c.signal, c.hazard, c.consequence, c.avoid) for c in step.cautions),
        remember=step.remember,
        facts=facts_of(state, step, waited[0] if (waited := _waited_for(state, step, at)) else None, at),
        clock=_with_end(state, _clock(state, step, at), at, offset_s_at),
        act=_act(state, step, at),
        readings=reading_rows(state, plan, step, at),
        ticks=ticks,
        meanwhile=meanwhile,
        background=_background(state, plan, step, at),
        next=next_title(state, step),
        standing=(*_suspect(state, plan), *(f"Against the rule: {o.text} ({o.reason})" for o in state.overrides)),
        held=state.held_since is not None,
        dark=is_dark(state),
        safe_way_out=way_out(state, step),
        unit=plan.unit,
        fill=into_this_fill(plan, step) if step.kind is Kind.DARK and step.id not in state.clocks else "",
        in_bath=step.kind is Kind.BATH and not step.background and step.id in state.clocks,
        by_eye=state.by_eye,
    )


def _suspect(state: State, plan: Plan) -> tuple[str, ...]:
    """Which bottles mishaps of this session have made doubtful: read before a later fill."""
    return tuple(
        f"SUSPECT: {plan.title_of(solution)} ({mishap.text})"
        for mishap in state.mishaps
        for solution in mishap.suspects
    )


def is_dark(state: State) -> bool:
    """Whether nothing may be drawn: a dark-room step is between its start and its leave pair."""
    if state.plan is None or state.current is None:
        return False
    step = state.plan.step(state.current)
    return step.kind is Kind.DARK and step.in_the_dark and step.id in state.clocks


def _wall(state: State, at: float) -> str:
    return hours_minutes(state.wall, state.offset_s, at - state.anchor_at)


def _with_end(
    state: State, clock: ClockView | None, at: float, offset_s_at: Callable[[datetime], int] | None
) -> ClockView | None:
    """The clock with the time of day at which it ends."""
    if clock is None or clock.end_at is None:
        return clock
    changed_s = 0
    if offset_s_at is not None:
        now, then = (wall_at(state.wall, 0, each - state.anchor_at) for each in (at, clock.end_at))
        changed_s = offset_s_at(then) - offset_s_at(now)
    return replace(clock, end_clock=_wall(state, clock.end_at + changed_s))


def _batch_words(plan: Plan, step: PlannedStep) -> str:
    if step.batch is None or len(plan.batches) < 2:
        return ""
    return f"Batch {step.batch} of {len(plan.batches)}"


def _rail(state: State, plan: Plan, current: PlannedStep) -> tuple[RailRow, ...]:
    """Stages of this batch in order, the current one unfolded; steps of other batches are left out."""
    here = plan.number(current.id)
    rows: list[RailRow] = []
    for stage, title in plan.stages:
        numbers = [n for n, step in enumerate(plan.steps) if step.stage == stage and _shown(step, current)]
        if not numbers:
            continue
        if stage == current.stage:
            rows.append(RailRow(title, "now", 0))
            rows += [_rail_step(state, plan, number, here) for number in numbers]
        else:
            done = all(number < here for number in numbers)
            runs = any(_runs_on(state, plan.steps[number]) for number in numbers)
            rows.append(RailRow(title, "running" if runs else "done" if done else "later", 0))
    return tuple(rows)


def _shown(step: PlannedStep, current: PlannedStep) -> bool:
    return step.batch is None or current.batch is None or step.batch == current.batch


def _runs_on(state: State, step: PlannedStep) -> bool:
    """Whether its clock runs while the guide shows something else."""
    return step.background and step.id in state.clocks and step.id not in state.ended


def _rail_step(state: State, plan: Plan, number: int, here: int) -> RailRow:
    step = plan.steps[number]
    text = f"{step.title} {step.roll_label}".strip()
    if number == here:
        return RailRow(text, "now", 1)
    if _runs_on(state, step):
        return RailRow(text, "running", 1)
    return RailRow(text, "done" if number < here else "next" if number == here + 1 else "later", 1)


def _clock(state: State, step: PlannedStep, at: float) -> ClockView | None:
    clock = state.clocks.get(step.id)
    if clock is None:
        if (waited := _waited_for(state, step, at)) is not None:
            return waited[1]
        since = _since_draining(state, at)
        return since if since is not None else _still(state, step, at)
    elapsed = clock.elapsed(at)
    total = round(clock.end_s) if clock.end_s is not None else None
    if elapsed < 0:
        return ClockView("lead-in", _up(-elapsed), "until the clock starts: bottle in hand", total_s=total)
    if clock.drained_at is not None:
        return ClockView("since", int(at - clock.drained_at), "since pouring out began", "", total, int(elapsed))
    left = clock.remaining(at)
    if left is None:
        return ClockView("up", int(elapsed), "so far", elapsed_s=int(elapsed))
    if step.kind is Kind.BATH and not step.background:
        return _until_poured(state, step, clock, left, at)
    if left <= 0:
        late = step.ends == "on time"
        words = "OVER its time" if late else "past its minimum: it may go on"
        return ClockView("over", int(-left), words, total_s=total, elapsed_s=int(elapsed), late=late)
    words = "to go" if clock.paused_since is None else "to go, PAUSED"
    return ClockView("down", _up(left), words, "", total, int(elapsed), end_at=at + left)


def _until_poured(state: State, step: PlannedStep, clock: StepClock, left_s: float, at: float) -> ClockView:
    """What a bath's digits count to is the moment for hands: pouring out begins. Its draining comes after it."""
    lead_s = pour_lead_s(step)
    elapsed, total = int(clock.elapsed(at)), round(left_s + clock.elapsed(at))
    if left_s - lead_s > 0:
        words = "left, then pour out" if clock.paused_since is None else "left, PAUSED"
        return ClockView(
            "down", _up(left_s - lead_s), words, "", total, elapsed, round(lead_s), end_at=at + left_s
        )
    words, late = "past its minimum: it may go on", False
    if step.ends == "on time":
        late = left_s <= 0
        words = "OVER its time: it was to be poured out" if late else "past its moment to be poured out"
    return ClockView("over", int(lead_s - left_s), words, total_s=total, elapsed_s=elapsed, late=late)


def _waited_for(state: State, step: PlannedStep, at: float) -> tuple[PlannedStep, ClockView] | None:
    """The background step that has to come to its time before `step`, with its clock; None when none has."""
    if state.plan is None or step.joins is None or step.joins in state.ended:
        return None
    joined = state.plan.step(step.joins)
    clock = state.clocks.get(joined.id)
    left = clock.remaining(at) if clock is not None else None
    if clock is None or clock.end_s is None or left is None or left <= 0:
        return None
    words = f"to go in {the(joined.solution_title)}" if joined.solution_title else f"to go: {joined.title}"
    total, elapsed = round(clock.end_s), int(clock.elapsed(at))
    return joined, ClockView("down", _up(left), words, "", total, elapsed, end_at=at + left)


def _still(state: State, step: PlannedStep, at: float) -> ClockView | None:
    if step.planned_s is None or not step.timed:
        return None
    words = {"on time": "on time: not less, not more", "not before": "at least", "when done": "about"}[step.ends]
    if step.storage == "tap" and step.target_c is not None and state.plan is not None:
        words += f", at {temperature(step.target_c, state.plan.unit)}"  # its statements name no figure
    seconds = round(seconds_if_started(state, step, at) or step.planned_s)
    return ClockView("still", seconds, words, total_s=seconds)


def _since_draining(state: State, at: float) -> ClockView | None:
    """Between two baths the time since draining runs on the screen: the developer still works in the film."""
    if state.last_ended is None or state.plan is None or state.current is None:
        return None
    before = state.clocks.get(state.last_ended)
    step = state.plan.step(state.current)
    if before is None or before.drained_at is None or step.background:
        return None
    ended = state.plan.step(state.last_ended)
    # A wash may wait as long as one likes, unless it is what stops a developer.
    if step.kind is not Kind.BATH and not (step.kind is Kind.WASH and ended.ends == "on time"):
        return None
    name = ended.solution_title
    return ClockView("since", int(at - before.drained_at), f"since {the(name)} was poured out")


def _up(seconds: float) -> int:
    """Whole seconds still to go: 0.2 s to go is shown as 1, so that 0 means the moment itself."""
    return max(0, -int(-seconds // 1))


def _act(state: State, step: PlannedStep, at: float) -> str:
    """The one large thing to do now, verb first; the instruction while nothing is more urgent."""
    clock = state.clocks.get(step.id)
    if clock is None and (waited := _waited_for(state, step, at)) is not None:
        joined = waited[0]
        place = f" of {joined.roll_label}" if joined.roll_label else ""
        return f"Wait for the clock: {joined.title}{place}. Then: {step.instruction}"
    if barred := too_warm_unseen(state, step, at):
        return barred[0].text
    if clock is not None and step.kind is Kind.DARK and step.in_the_dark:
        # Only a follower sees this, or who has left a dark that could not be kept.
        return "Film is being loaded in the dark. It ends with the lid on and locked, then the light on."
    if clock is not None and (fills := step.fills_of_water(clock.end_s)):
        number = min(fills, int(max(0.0, clock.elapsed(at)) // (step.water_every_s or 1.0)) + 1)
        return f"Water {number} of {fills}. {step.instruction}"
    if clock is None or step.kind is not Kind.BATH or step.background:
        return step.instruction
    name = the(step.solution_title) if step.solution_title else "the tank"
    if clock.elapsed(at) < 0:
        return f"Hold {name} ready to pour."
    if clock.drained_at is not None:
        return f"{_POURED[step.storage or 'tap']}. Let the tank drip until it is empty."
    opens_in = drain_opens_in(state, step, at)
    if opens_in is None or clock.end_s is None:
        return step.instruction
    if opens_in <= 0:
        return f"Pour {name} out now." if step.ends == "on time" else f"You may pour {name} out now."
    return _in_the_bath(step, clock.end_s, clock.elapsed(at))


_POURED: Final = {
    "bottle": "Pour it back into its bottle",
    "one-shot": "Pour it into its waste container",
    "tap": "Pour it away",
}
"""Where a bath goes when it is over. What is used once may be poison all the same: its own sheet says where to."""


def _in_the_bath(step: PlannedStep, end_s: float, elapsed_s: float) -> str:
    """What hands do between the pours: agitate until a reading of the clock, let the tank stand until another.

    The moments are named as the clock shows them, so that the words stay still while the digits run.
    """
    poured_s = end_s - pour_lead_s(step)
    name = the(step.solution_title) if step.solution_title else "the tank"
    agitated = stretches(step, end_s)
    now = next((ends for begins, ends in agitated if begins <= elapsed_s < ends), None)
    if now is not None and step.agitation is not None:
        words = f"Until {minutes_seconds(_up(poured_s - now))} is left: {step.agitation.words}"
        return words if now > agitated[0][1] else f"{_poured(step, name)}{words}"
    if end_s - elapsed_s <= ready_ahead_s(step, end_s):
        return f"Get ready to pour {name} out."
    coming = next((begins for begins, _ in agitated if begins > elapsed_s), None)
    if coming is not None:
        return f"Let the tank stand until {minutes_seconds(_up(poured_s - coming))} is left."
    return "Let the tank stand until it is time to pour." if agitated else step.instruction


def _poured(step: PlannedStep, name: str) -> str:
    """At the start of a bath whose clock starts with the pour, pouring comes before agitation."""
    return f"Pour {name} in and cap the tank. " if step.clock_starts == "pour begins" else ""


def next_tick(state: State, step: PlannedStep, at: float) -> PlannedTick | None:
    """The tick SPACE would confirm; None while SPACE does something else, or nothing.

    That is: on hold, while a call stands, when it is time to pour out, and while a temperature is wanted.
    """
    if state.held_since is not None or may_drain(state, step, at) or to_answer(state, step, at) is not None:
        return None
    return waiting_tick(state, step, at)


def waiting_tick(state: State, step: PlannedStep, at: float) -> PlannedTick | None:
    """The tick whose turn it is: due at the start, else the step's own, else what may be done meanwhile.

    None while a temperature is still to be read: there its field comes first.
    """
    return next(iter(_waiting(state, step, at)), None)


def next_lines(state: State, step: PlannedStep, at: float, together: bool) -> tuple[PlannedTick, ...]:
    """The ticks that one SPACE confirms: the next one; with `together` all plain ones that fall due with it."""
    tick = next_tick(state, step, at)
    if tick is None or not together or tick.killer or tick.asks == "bells":
        return () if tick is None else (tick,)
    gate = (tick.due_step, tick.due_at)
    waiting = _waiting(state, step, at)
    return tuple(t for t in waiting if not t.killer and t.asks != "bells" and (t.due_step, t.due_at) == gate)


def _waiting(state: State, step: PlannedStep, at: float) -> Sequence[PlannedTick]:
    """The ticks in whose row `waiting_tick` is the first."""
    due = open_ticks(state, step, "start")
    if due:
        return due
    if step.timed and step.id not in state.clocks:
        return ()
    if not step.timed and start_blockers(state, step, at):
        return ()
    if reading_blockers(state, step, at):
        return ()
    return open_ticks(state, step, "end") or _may_do(state, step)


def _may_do(state: State, step: PlannedStep) -> list[PlannedTick]:
    """Open ticks of this step and earlier ones that fall due only later, soonest due first."""
    plan = state.plan
    if plan is None:
        return []
    place = {each.id: number for number, each in enumerate(plan.steps)}
    here = place[step.id]
    found = [
        tick
        for host in plan.steps[: here + 1]
        if not host.timed or host.id in state.clocks
        for tick in host.ticks
        if not is_settled(state, tick) and place[tick.due_step] > here
    ]
    return sorted(found, key=lambda tick: (place[tick.due_step], not tick.killer))


def _ticks(
    state: State, plan: Plan, step: PlannedStep, at: float, together: bool
) -> tuple[tuple[TickRow, ...], tuple[TickRow, ...]]:
    up = next_lines(state, step, at, together)
    due = list(open_ticks(state, step, "end"))
    own = [tick for tick in step.ticks if tick.due_step == step.id and tick not in due]
    in_order = [tick for tick in due if tick not in step.ticks]
    in_order += sorted(
        (t for t in step.ticks if t in due or t in own), key=lambda t: (t.due_at != "start", not t.killer)
    )
    later = [tick for tick in step.ticks if tick.due_step != step.id]
    carried = [tick for tick in _may_do(state, step) if tick not in step.ticks]
    shown = tuple(_row(state, tick, up, "") for tick in in_order)
    meanwhile = tuple(
        _row(state, tick, up, f"before {plan.step(tick.due_step).title}") for tick in (*later, *carried)
    )
    return shown, meanwhile


def _row(state: State, tick: PlannedTick, up: tuple[PlannedTick, ...], due: str) -> TickRow:
    made = tick.id in state.ticks
    return TickRow(
        id=tick.id,
        text="The screen is watched instead of the bells" if made and tick.id == state.by_eye_tick else tick.text,
        made=made,
        killer=tick.killer,
        up=any(tick.id == each.id for each in up),
        due=due,
        overridden=not made and is_settled(state, tick),
    )


def _background(state: State, plan: Plan, current: PlannedStep, at: float) -> tuple[BackgroundClock, ...]:
    waited = _waited_for(state, current, at) if current.id not in state.clocks else None
    large = {current.id, waited[0].id if waited is not None else current.id}
    found = []
    for step in plan.steps:
        clock = state.clocks.get(step.id)
        if clock is None or step.id in state.ended or step.id in large:
            continue
        left = clock.remaining(at)
        if left is None:
            continue
        text = f"{step.title} {step.roll_label}".strip()
        found.append(BackgroundClock(text, _up(left), left <= 0))
    wet_s = wait_left_s(state, at)
    if wet_s is not None and wet_s <= WET_SHOWN_S:
        found.append(BackgroundClock("Wet film to its next bath", _up(wet_s), wet_s <= 0))
    return tuple(found)
