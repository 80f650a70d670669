"""Each planned step beside what happened: planned and actual moments, their difference, a verdict in words.

One job: turn one step's clock and events into its row of the log. A verdict compares with the plan only; how the
negatives came out is not judged here.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.decide import EARLY_S
from wetside.domain.session.events import (
    ClockCorrected,
    ClockStarted,
    DrainBegan,
    EndMoved,
    PauseBegan,
    PauseEnded,
    ReadingTaken,
    StepEnded,
    StepOpened,
    Sureness,
)
from wetside.domain.session.gates import drain_lead_s
from wetside.domain.session.readings import OLDEST_S, reckoned
from wetside.domain.session.state import State
from wetside.domain.session.step_clock import StepClock
from wetside.export.log_entries import Correction, EndMove, StepLog, StepSpan
from wetside.export.wall_times import Told, WallTime
from wetside.frozen import dataclass

SAME_S = 0.5
"""Differences below this are none to a person who reads seconds."""


def step_logs(plan: Plan, state: State, rows: Sequence[Told]) -> tuple[StepLog, ...]:
    """One row for each planned step, in the plan's order; `state` is the fold of `rows`."""
    mine: dict[str, list[Told]] = {step.id: [] for step in plan.steps}
    for row in rows:
        step = getattr(row.event, "step", None)
        if step in mine:
            mine[step].append(row)
    forecast = {id_: rows[0].anchor.moment(rows[0].event.at + start_s) for id_, start_s in _forecast(plan).items()}
    readings = reckoned(state.readings)
    return tuple(
        _step_log(step, state.clocks.get(step.id), mine[step.id], forecast.get(step.id), readings)
        for step in plan.steps
    )


def _forecast(plan: Plan) -> dict[str, float]:
    """When each step starts by the plan's chart, in seconds from the evening's beginning.

    The chart names its bars by title. Where a title has as many bars as steps they are matched in order; handwork
    that several rolls share is drawn in other bars and has no start of its own.
    """
    found: dict[str, float] = {}
    for title in dict.fromkeys(step.title for step in plan.steps):
        steps = [step.id for step in plan.steps if step.title == title]
        # What began beside other steps has a longer bar than its hands have: the later start is the step's own.
        bars = dict(sorted((bar.end_s, bar.start_s) for bar in plan.timeline if bar.label == title))
        if len(bars) == len(steps):
            found.update(zip(steps, bars.values(), strict=True))
    return found


@dataclass(frozen=True, slots=True)
class _Begun:
    """A step's beginning. at: its clock's zero as last corrected; when it was opened, where no clock started."""

    opened: WallTime | None
    first_marked: WallTime | None
    at: WallTime | None
    sure: Sureness | None
    corrections: tuple[Correction, ...]


def _step_log(
    step: PlannedStep,
    clock: StepClock | None,
    rows: Sequence[Told],
    planned_start: WallTime | None,
    readings: Sequence[ReadingTaken],
) -> StepLog:
    begun = _begun(clock, rows)
    left = _last(rows, StepEnded)
    drained = _last(rows, DrainBegan) if clock is not None and clock.drained_at is not None else None
    end = drained or left
    planned_end = _planned_end(step, clock, end or _last(rows, ClockStarted), drained is not None, left)
    difference_s = _difference_s(planned_end, end)
    mine = [r for r in readings if r.of == step.solution] if clock is not None else []
    t0, over = (clock.t0, end.event.at if end is not None else inf) if clock is not None else (0.0, 0.0)
    before = [r.temperature_c for r in mine if t0 - OLDEST_S <= r.at < t0]
    return StepLog(
        id=step.id,
        title=step.title,
        stage=step.stage,
        kind=step.kind.value,
        batch=step.batch,
        roll=step.roll,
        roll_label=step.roll_label,
        solution=step.solution,
        ends=step.ends,
        verdict=_verdict(step, begun.opened is not None, left is not None, difference_s),
        planned_s=step.planned_s,
        last_planned_s=clock.end_s if clock is not None else step.planned_s,
        due_s=None if planned_end is None or clock is None else _due_s(clock, planned_end, left),
        actual_s=_actual_s(clock, begun.at, end, left),
        difference_s=difference_s,
        opened=begun.opened,
        planned_start=planned_start,
        first_marked=begun.first_marked,
        started=begun.at,
        started_sure=begun.sure,
        planned_end=planned_end,
        ended=end.moment if end is not None else None,
        ended_sure=_end_sure(end),
        left=left.moment if left is not None else None,
        keys_ignored=left.event.keys_ignored if left is not None and isinstance(left.event, StepEnded) else 0,
        read_before_c=before[-1] if before else None,
        read_within_c=tuple(r.temperature_c for r in mine if t0 <= r.at <= over),
        corrections=begun.corrections,
        end_moves=_end_moves(rows),
        pauses=_pauses(rows),
    )


def _first(rows: Sequence[Told], kind: type[object]) -> Told | None:
    return next((row for row in rows if isinstance(row.event, kind)), None)


def _last(rows: Sequence[Told], kind: type[object]) -> Told | None:
    return next((row for row in reversed(rows) if isinstance(row.event, kind)), None)


def _begun(clock: StepClock | None, rows: Sequence[Told]) -> _Begun:
    found = _first(rows, StepOpened)
    opened = found.moment if found is not None else None
    started, corrections = _start(clock, rows)
    at = started or opened
    return _Begun(
        opened=opened,
        first_marked=corrections[0].marked if corrections else started,
        at=at,
        sure=None if at is None else "stated" if corrections else "measured",
        corrections=corrections,
    )


def _start(clock: StepClock | None, rows: Sequence[Told]) -> tuple[WallTime | None, tuple[Correction, ...]]:
    """When the clock's zero was, as last corrected, and the corrections, each beside the start it corrects."""
    mark = _last(rows, ClockStarted)
    if clock is None or mark is None:
        return None, ()
    t0 = clock.first_t0
    corrections = []
    for row in rows:
        match row.event:
            case ClockCorrected(by_s=by_s, text=text):
                marked, corrected = mark.anchor.moment(t0), mark.anchor.moment(t0 - by_s)
                corrections.append(Correction(row.moment, by_s, text, marked, corrected))
                t0 -= by_s
            case _:
                pass
    return mark.anchor.moment(clock.t0), tuple(corrections)


def _planned_end(
    step: PlannedStep, clock: StepClock | None, by: Told | None, drained: bool, left: Told | None
) -> WallTime | None:
    if clock is None or clock.end_s is None or by is None:
        return None
    lead_s = (
        drain_lead_s(step) if drained or (step.kind is Kind.BATH and not step.background and left is None) else 0.0
    )
    return by.anchor.moment(clock.t0 + _paused_s(clock, left) + clock.end_s - lead_s)


def _paused_s(clock: StepClock, left: Told | None) -> float:
    """Seconds the clock was paused; a pause that was still on when the step was left counts up to then."""
    if clock.paused_since is None or left is None:
        return clock.paused_s
    return clock.paused_s + max(0.0, left.event.at - clock.paused_since)


def _difference_s(planned_end: WallTime | None, end: Told | None) -> float | None:
    return None if planned_end is None or end is None else round(end.event.at - planned_end.at, 3)


def _end_sure(end: Told | None) -> Sureness | None:
    """Only where pouring out began can the person have said when it was; a key that was pressed is measured."""
    if end is None:
        return None
    return end.event.sure if isinstance(end.event, DrainBegan) else "measured"


def _due_s(clock: StepClock, planned_end: WallTime, left: Told | None) -> float:
    return round(planned_end.at - clock.t0 - _paused_s(clock, left), 3)


def _actual_s(
    clock: StepClock | None, begun: WallTime | None, end: Told | None, left: Told | None
) -> float | None:
    if begun is None or end is None:
        return None
    paused_s = _paused_s(clock, left) if clock is not None else 0.0
    return round(end.event.at - begun.at - paused_s, 3)


def _verdict(step: PlannedStep, opened: bool, left: bool, difference_s: float | None) -> str:
    if not opened:
        return "not reached"
    if not left:
        return "not finished"
    if difference_s is None:
        return "done"
    off = minutes_seconds(abs(difference_s))
    match step.ends:
        case "on time":
            if abs(difference_s) <= EARLY_S:
                return "on time"
            return f"{off} too {'long' if difference_s > 0 else 'short'}"
        case "not before" | "when done":
            if difference_s < -SAME_S:
                return f"{off} short of its minimum"
            return "long enough"


def _end_moves(rows: Sequence[Told]) -> tuple[EndMove, ...]:
    found = []
    for row in rows:
        match row.event:
            case EndMoved(old_s=old_s, new_s=new_s, uncertainty_s=uncertainty_s, why=why):
                found.append(EndMove(row.moment, old_s, new_s, uncertainty_s, why))
            case _:
                pass
    return tuple(found)


def _pauses(rows: Sequence[Told]) -> tuple[StepSpan, ...]:
    found: list[StepSpan] = []
    since: WallTime | None = None
    for row in rows:
        match row.event:
            case PauseBegan():
                since = row.moment
            case PauseEnded() if since is not None:
                found.append(StepSpan(since, row.moment))
                since = None
            case _:
                pass
    return tuple(found) if since is None else (*found, StepSpan(since, None))
