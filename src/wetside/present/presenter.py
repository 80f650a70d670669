"""Builds the view model of a session (`view_model.View`) from its state and a moment. Pure.

The act and the clock are worded in `step_act.py`, the sentences beside them in `step_facts.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import Final

from msgspec.structs import replace

from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.profile.model import Kind
from wetside.domain.session.cues import call_to_answer, next_title
from wetside.domain.session.events import MishapHappened
from wetside.domain.session.film import developed, wait_left_s
from wetside.domain.session.gates import is_satisfied, may_drain, open_ticks, reading_blockers, start_blockers
from wetside.domain.session.state import State
from wetside.memo import remembers_last
from wetside.present.message_words import in_words, note_text, said_caution
from wetside.present.step_act import act_of, clock_of, joined_step, whole_seconds_left
from wetside.present.step_facts import facts_of, into_this_fill, reading_rows, way_out
from wetside.present.view_model import (
    BackgroundClock,
    ClockView,
    Mark,
    RailRow,
    StandingLine,
    TickRow,
    View,
    outcome_words,
)
from wetside.present.wording import hours_minutes, minutes_seconds, span, wall_at

WET_SHOWN_S: Final = 1200.0
"""The clock of waiting wet film is shown in the last 20 minutes of the hour it may wait (our own number)."""


def build_view(
    state: State, at: float, together: bool = False, offset_s_at: Callable[[datetime], int] | None = None
) -> View:
    """The view of `state` at `at` (session seconds). Raises ValueError before a session has begun.

    together: one SPACE confirms all plain lines of the screen, so all of them are marked. offset_s_at: the UTC
    offset (s) of the person's zone at an instant, for an end after a change to or from daylight saving time.
    """
    plan, step = state.plan, state.step
    if not state.begun:
        raise ValueError("no session has begun")
    if step is None:
        return _closed_view(state, plan, at)
    joined = joined_step(state, step, at)
    ticks, meanwhile = _tick_rows(state, plan, step, at, together)
    return View(
        session=state.session,
        practice=state.practice,
        speed=state.speed,
        batch=f"Batch {step.batch} of {len(plan.batches)}" if step.batch and len(plan.batches) > 1 else "",
        stage=dict(plan.stages).get(step.stage, step.stage),
        wall=_wall(state, at),
        elapsed=span(at),
        rail=tuple(_rail(state, plan, step)),
        step=step.id,
        kind=step.kind,
        title=step.title,
        place=step.roll_label,
        instruction=in_words(step.instruction, plan.units),
        cautions=tuple(said_caution(each, plan.units) for each in step.cautions),
        remember=step.remember,
        facts=facts_of(state, step, joined, at),
        clock=_with_end(state, clock_of(state, step, at), at, offset_s_at),
        act=act_of(state, step, at),
        readings=reading_rows(state, plan, step, at),
        ticks=ticks,
        meanwhile=meanwhile,
        background=tuple(_background(state, plan, step, joined, at)),
        next=next_title(state, step),
        standing=tuple(_standing(state, plan)),
        held=state.held_since is not None,
        dark=is_dark(state),
        safe_way_out=way_out(state, step),
        unit=plan.unit,
        fill=into_this_fill(plan, step) if step.kind is Kind.DARK and step.id not in state.clocks else "",
        in_bath=step.kind is Kind.BATH and not step.background and step.id in state.clocks,
        by_eye=state.by_eye,
    )


def is_dark(state: State) -> bool:
    """Whether nothing may be drawn: a step in the dark runs, until SPACE and ENTER end it."""
    step = state.step
    return step is not None and step.kind is Kind.DARK and step.in_the_dark and step.id in state.clocks


def _standing(state: State, plan: Plan) -> Iterator[StandingLine]:
    """The lines shown on every screen: bottles that a mishap made suspect, and overridden rules."""
    for mishap, words in _mishaps(state, plan):
        for solution in mishap.suspects:
            yield StandingLine(f"SUSPECT: {plan.title_of(solution)} ({words})")
    yield from _overridden(state, plan)


def _mishaps(state: State, plan: Plan) -> Iterator[tuple[MishapHappened, str]]:
    """Each mishap with its words."""
    if state.mishaps:
        from wetside.present.mishap_text import mishap_words  # not on the way to the first paint

        for mishap in state.mishaps:
            yield mishap, mishap_words(plan, mishap)


def _overridden(state: State, plan: Plan) -> Iterator[StandingLine]:
    return (
        StandingLine(f"{in_words(each.why, plan.units)} ({in_words(each.reason)})", rule=True)
        for each in state.overrides
    )


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


# the rail: the list of stages and steps beside the step


def _rail(state: State, plan: Plan, current: PlannedStep) -> Iterator[RailRow]:
    """The stages of this batch in order, the current one unfolded; steps of other batches are left out."""
    here = plan.number(current.id)
    for stage, title in plan.stages:
        steps = [
            (number, step)
            for number, step in enumerate(plan.steps)
            if step.stage == stage and (step.batch is None or current.batch in (None, step.batch))
        ]
        if not steps:
            continue
        if stage == current.stage:
            yield RailRow(title, "now", 0)
            yield from (_rail_step(state, step, number - here) for number, step in steps)
        else:
            runs = any(_runs_on(state, step) for _, step in steps)
            done = all(number < here for number, _ in steps)
            yield RailRow(title, "running" if runs else "done" if done else "later", 0)


def _runs_on(state: State, step: PlannedStep) -> bool:
    """Whether the clock of a background step runs."""
    return step.background and step.id in state.clocks and step.id not in state.ended


def _rail_step(state: State, step: PlannedStep, ahead: int) -> RailRow:
    """The row of a step. ahead: its distance from the current step, negative before it."""
    mark: Mark = "done" if ahead < 0 else "next" if ahead == 1 else "later"
    if ahead == 0:
        mark = "now"
    elif _runs_on(state, step):
        mark = "running"
    return RailRow(_with_roll(step), mark, 1)


def _with_roll(step: PlannedStep) -> str:
    return f"{step.title} {step.roll_label}".strip()


def _background(
    state: State, plan: Plan, current: PlannedStep, joined: PlannedStep | None, at: float
) -> Iterator[BackgroundClock]:
    """The clocks besides the large one. joined: the step that is waited for; its clock is the large one."""
    large = {current.id, joined.id if joined is not None and current.id not in state.clocks else current.id}
    for step in plan.steps:
        clock = state.clocks.get(step.id)
        left_s = None if clock is None else clock.remaining(at)
        if left_s is not None and step.id not in state.ended and step.id not in large:
            yield BackgroundClock(_with_roll(step), whole_seconds_left(left_s), left_s <= 0)
    wet_s = wait_left_s(state, at)
    if wet_s is not None and wet_s <= WET_SHOWN_S:
        yield BackgroundClock("Wet film to its next bath", whole_seconds_left(wet_s), wet_s <= 0)


# the checklist


def next_tick(state: State, step: PlannedStep, at: float) -> PlannedTick | None:
    """The tick that SPACE confirms now; None where SPACE has another meaning or none.

    It has on hold, while a call is unanswered, when a bath may be poured out, and while a temperature is wanted.
    """
    if state.held_since is not None or may_drain(state, step, at) or call_to_answer(state, step, at) is not None:
        return None
    return waiting_tick(state, step, at)


def waiting_tick(state: State, step: PlannedStep, at: float) -> PlannedTick | None:
    """The tick to confirm next: one due at the start, else one due at the end, else one that falls due later.

    None while a temperature is still to be read.
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
    """The open ticks that may be confirmed now, in their order; () while something else comes first."""
    if due := open_ticks(state, step, "start"):
        return due
    blocked = step.id not in state.clocks if step.timed else bool(start_blockers(state, step, at))
    if blocked or reading_blockers(state, step, at):
        return ()
    return open_ticks(state, step, "end") or _due_later(state, step.id)


@remembers_last
def _due_later(state: State, step_id: str) -> tuple[PlannedTick, ...]:
    """Open ticks of this step and earlier ones that fall due in a later step, the soonest due first."""
    plan = state.plan
    here = plan.number(step_id)
    found = [
        tick
        for host in plan.steps[: here + 1]
        if not host.timed or host.id in state.clocks
        for tick in host.ticks
        if plan.number(tick.due_step) > here and not is_satisfied(state, tick)
    ]
    return tuple(sorted(found, key=lambda tick: (plan.number(tick.due_step), not tick.killer)))


def _tick_rows(
    state: State, plan: Plan, step: PlannedStep, at: float, together: bool
) -> tuple[tuple[TickRow, ...], tuple[TickRow, ...]]:
    """(the ticks of this step and those due in it, those that fall due in a later step), as rows."""
    up = {tick.id for tick in next_lines(state, step, at, together)}
    due = list(open_ticks(state, step, "end"))
    here = [tick for tick in step.ticks if tick in due or tick.due_step == step.id]
    here.sort(key=lambda tick: (tick.due_at != "start", not tick.killer))
    later = [tick for tick in step.ticks if tick.due_step != step.id]
    later += [tick for tick in _due_later(state, step.id) if tick not in step.ticks]

    def row(tick: PlannedTick, due: str = "") -> TickRow:
        made = tick.id in state.ticks
        by_eye = made and tick.id == state.by_eye_tick
        text = "The screen is watched instead of the bells" if by_eye else in_words(tick.text, plan.units)
        overridden = not made and is_satisfied(state, tick)
        return TickRow(tick.id, text, made, tick.killer, tick.id in up, due, overridden)

    return (
        tuple(row(tick) for tick in (*(tick for tick in due if tick not in step.ticks), *here)),
        tuple(row(tick, f"before {plan.step(tick.due_step).title}") for tick in later),
    )


# the end of an evening


def _closed_view(state: State, plan: Plan, at: float) -> View:
    """The last screen: the outcome, the deviations, and what to do with film left in a bath."""
    words = outcome_words(state.outcome or "unknown", state.deviations)
    act = f"Outcome: {words}."
    if state.outcome == "abandoned" and state.left_at is not None:
        act = f"{act} {way_out(state, plan.step(state.left_at))}"
    return View(
        session=state.session,
        practice=state.practice,
        speed=state.speed,
        stage="Closed",
        wall=_wall(state, at),
        elapsed=span(state.at),
        rail=tuple(_closed_rail(state, plan)),
        kind=Kind.CHECK,
        title="The session is closed",
        instruction=act,
        act=act,
        facts=tuple(_closed_facts(state, plan)),
        standing=tuple(_deviations(state, plan)),
        unit=plan.unit,
        closed=words,
    )


def _closed_facts(state: State, plan: Plan) -> Iterator[str]:
    """What was bottled, how to export the record, and the notes; for a practice the notes alone."""
    if not state.practice:
        if plan.kit is not None:
            filled = ", ".join(each.figures.title for each in plan.kit.bottles if each.step in state.ended)
            yield (
                f"On the shelf now: {filled}. Labels to print: wetside shelf label"
                if filled
                else "Nothing was bottled, so nothing stands on the shelf."
            )
        yield f"The record as a page to keep: wetside export {state.session} --format markdown --output evening.md"
        if developed(state):
            yield "Each roll's number, for its sleeve: wetside rolls"
    for note in state.notes:
        about = "Note" if note.roll is None else plan.setup.rolls[note.roll].label
        yield f"{about}: {note_text(note)}"


def _closed_rail(state: State, plan: Plan) -> Iterator[RailRow]:
    """The stages of a closed session, done in whole, in part or not: it may be closed before its end."""
    for stage, title in plan.stages:
        ended = [step.id in state.ended for step in plan.steps if step.stage == stage]
        if ended:
            yield RailRow(title, "done" if all(ended) else "in part" if any(ended) else "not done", 0)


def _deviations(state: State, plan: Plan) -> Iterator[StandingLine]:
    """A line for each deviation that the outcome counts."""

    def named(id_: str) -> str:
        step = plan.step(id_)
        return step.title if step.batch is None or len(plan.batches) < 2 else f"{step.title}, batch {step.batch}"

    yield from _overridden(state, plan)
    for each in state.early:
        early = "early" if each.early_s > 0 else "late"
        yield StandingLine(f"{named(each.step)}: poured out {minutes_seconds(abs(each.early_s))} too {early}")
    for fix in state.corrections:
        late = "late" if fix.by_s > 0 else "early"
        yield StandingLine(f"{named(fix.step)}: its clock was {minutes_seconds(abs(fix.by_s))} {late}")
    for step, waited_s in state.gaps.items():
        yield StandingLine(
            f"{named(step)}: in {minutes_seconds(waited_s)} after the bath before it was poured out"
        )
    yield from (StandingLine(words) for _, words in _mishaps(state, plan))
