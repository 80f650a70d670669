"""Each planned step beside what happened: planned and actual moments, their difference, a verdict in words.

A verdict compares with the plan only.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from msgspec import Struct

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session import events as e
from wetside.domain.session.clocks import EARLY_S
from wetside.domain.session.gates import drain_lead_s
from wetside.domain.session.readings import OLDEST_S, valid_readings
from wetside.domain.session.state import State, StepClock
from wetside.export.wall_times import DatedEvent, WallTime, of_kind
from wetside.present.developer_words import end_words
from wetside.present.wording import minutes_seconds, whole_seconds

SAME_S = 0.5
"""Smaller differences count as none, as times are shown in whole seconds."""


class Correction(Struct, frozen=True):
    """A clock's start moved by `by_s` (positive: it had been marked late). `sure`: the person said so."""

    when: WallTime
    by_s: float
    text: str
    marked: WallTime
    corrected: WallTime
    sure: e.Sureness = "stated"


class EndMove(Struct, frozen=True):
    """A reading moved the planned end, in seconds after the start."""

    when: WallTime
    old_s: float
    new_s: float
    uncertainty_s: float
    why: str


class StepSpan(Struct, frozen=True):
    """From when to when; `ended` is None where the record does not say."""

    began: WallTime
    ended: WallTime | None


class StepLog(Struct, frozen=True):
    """One planned step beside what happened. A field is None where there was no such thing.

    planned_start: by the plan's chart of the evening; None where the chart has no bar of this step alone.
    planned_s: on the plan; last_planned_s: after readings moved it. first_marked: the start as first marked;
    started: as corrected. ended: where a bath is poured out, the moment pouring out began, else the moment the
    step was left; planned_end is the same moment as planned (where draining counts, the drain lead before the time
    is over). left: when the guide went on. due_s, actual_s: from started to planned_end and to ended, less pauses;
    difference_s is between them. read_before_c: the bath's solution as last read within 20 min before `started`;
    read_within_c: as read in it. doses: (s in the bath, share of the developer's work done by then, 1 for all of
    it), by its readings; the last is at its end, the draining counted where that counts.
    """

    id: str
    title: str
    stage: str
    kind: str
    batch: int | None
    roll: int | None
    roll_label: str
    solution: str | None
    ends: str
    verdict: str
    planned_s: float | None
    last_planned_s: float | None
    due_s: float | None
    actual_s: float | None
    difference_s: float | None
    opened: WallTime | None
    planned_start: WallTime | None
    first_marked: WallTime | None
    started: WallTime | None
    started_sure: e.Sureness | None
    planned_end: WallTime | None
    ended: WallTime | None
    ended_sure: e.Sureness | None
    left: WallTime | None
    keys_ignored: int
    read_before_c: float | None
    read_within_c: tuple[float, ...]
    corrections: tuple[Correction, ...]
    end_moves: tuple[EndMove, ...]
    pauses: tuple[StepSpan, ...]
    doses: tuple[tuple[float, float], ...] = ()


def step_logs(plan: Plan, state: State, rows: Sequence[DatedEvent]) -> tuple[StepLog, ...]:
    """One row for each planned step, in the plan's order; `state` is the fold of `rows`."""
    mine: dict[str, list[DatedEvent]] = {step.id: [] for step in plan.steps}
    for row in rows:
        step = getattr(row.event, "step", None)
        if step in mine:
            mine[step].append(row)
    forecast = {id_: rows[0].anchor.moment(rows[0].event.at + start_s) for id_, start_s in _forecast(plan).items()}
    readings = valid_readings(state.readings)
    return tuple(
        _step_log(plan, step, state.clocks.get(step.id), mine[step.id], forecast.get(step.id), readings)
        for step in plan.steps
    )


def spans(rows: Sequence[DatedEvent], begins: type[e.Event], ends: type[e.Event]) -> tuple[StepSpan, ...]:
    """From each event of one class to the next of the other; the last is open where none follows."""
    found: list[StepSpan] = []
    since: WallTime | None = None
    for row in rows:
        if isinstance(row.event, begins):
            since = row.moment
        elif isinstance(row.event, ends) and since is not None:
            found.append(StepSpan(since, row.moment))
            since = None
    return tuple(found) if since is None else (*found, StepSpan(since, None))


def _forecast(plan: Plan) -> dict[str, float]:
    """When each step starts by the plan's chart, in seconds from the evening's beginning.

    The chart names its bars by title. Where a title has as many bars as steps they are matched in order; handwork
    that several rolls share is drawn in other bars and has no start of its own.
    """
    found: dict[str, float] = {}
    for title in dict.fromkeys(step.title for step in plan.steps):
        steps = [step.id for step in plan.steps if step.title == title]
        # a bar that began beside other steps includes their time: the later start is the step's
        bars = dict(sorted((bar.end_s, bar.start_s) for bar in plan.timeline if bar.label == title))
        if len(bars) == len(steps):
            found.update(zip(steps, bars.values(), strict=True))
    return found


def _step_log(
    plan: Plan,
    step: PlannedStep,
    clock: StepClock | None,
    rows: Sequence[DatedEvent],
    planned_start: WallTime | None,
    readings: Sequence[e.ReadingTaken],
) -> StepLog:
    opened = next((when for when, _ in of_kind(rows, e.StepOpened)), None)
    mark, left = _last(rows, e.ClockStarted), _last(rows, e.StepEnded)
    drained = _last(rows, e.DrainBegan) if clock is not None and clock.drained_at is not None else None
    end, corrections = drained or left, _corrections(clock, mark, rows)
    started = None if clock is None or mark is None else mark.anchor.moment(clock.t0)
    begun = started or opened
    paused_s = 0.0 if clock is None else _paused_s(clock, left)
    planned_end = _planned_end(step, clock, end or mark, drained is not None, left)
    difference_s = None if planned_end is None or end is None else round(end.event.at - planned_end.at, 3)
    due_s = None if planned_end is None or clock is None else round(planned_end.at - clock.t0 - paused_s, 3)
    actual_s = None if begun is None or end is None else round(end.event.at - begun.at - paused_s, 3)
    before_c, within_c = _temperatures(step, clock, end, readings)
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
        verdict=_verdict(
            step, opened is not None, left is not None, difference_s, shown_difference_s(due_s, actual_s)
        ),
        planned_s=step.planned_s,
        last_planned_s=clock.end_s if clock is not None else step.planned_s,
        due_s=due_s,
        actual_s=actual_s,
        difference_s=difference_s,
        opened=opened,
        planned_start=planned_start,
        first_marked=corrections[0].marked if corrections else started,
        started=begun,
        started_sure=None if begun is None else "stated" if corrections else "measured",
        planned_end=planned_end,
        ended=end.moment if end is not None else None,
        # a person can state when pouring out began; every other end is measured by a key
        ended_sure=None if end is None else end.event.sure if isinstance(end.event, e.DrainBegan) else "measured",
        left=left.moment if left is not None else None,
        keys_ignored=left.event.keys_ignored if left is not None and isinstance(left.event, e.StepEnded) else 0,
        read_before_c=before_c,
        read_within_c=within_c,
        corrections=corrections,
        end_moves=tuple(
            EndMove(when, move.old_s, move.new_s, move.uncertainty_s, end_words(plan, move))
            for when, move in of_kind(rows, e.EndMoved)
        ),
        pauses=spans(rows, e.PauseBegan, e.PauseEnded),
    )


def _last(rows: Sequence[DatedEvent], kind: type[e.Event]) -> DatedEvent | None:
    return next((row for row in reversed(rows) if isinstance(row.event, kind)), None)


def _corrections(
    clock: StepClock | None, mark: DatedEvent | None, rows: Sequence[DatedEvent]
) -> tuple[Correction, ...]:
    """Each correction of the clock's start, beside the start that it corrects."""
    if clock is None or mark is None:
        return ()
    t0 = clock.first_t0
    found = []
    for when, event in of_kind(rows, e.ClockCorrected):
        marked, corrected = mark.anchor.moment(t0), mark.anchor.moment(t0 - event.by_s)
        found.append(Correction(when, event.by_s, event.text, marked, corrected))
        t0 -= event.by_s
    return tuple(found)


def _planned_end(
    step: PlannedStep, clock: StepClock | None, by: DatedEvent | None, drained: bool, left: DatedEvent | None
) -> WallTime | None:
    if clock is None or clock.end_s is None or by is None:
        return None
    draining = drained or (step.kind is Kind.BATH and not step.background and left is None)
    lead_s = drain_lead_s(step) if draining else 0.0
    return by.anchor.moment(clock.t0 + _paused_s(clock, left) + clock.end_s - lead_s)


def _paused_s(clock: StepClock, left: DatedEvent | None) -> float:
    """Seconds the clock was paused; a pause that was still on when the step was left counts up to then."""
    if clock.paused_since is None or left is None:
        return clock.paused_s
    return clock.paused_s + max(0.0, left.event.at - clock.paused_since)


def _temperatures(
    step: PlannedStep, clock: StepClock | None, end: DatedEvent | None, readings: Sequence[e.ReadingTaken]
) -> tuple[float | None, tuple[float, ...]]:
    """The readings (°C) of the step's solution: the last before its start (None without one), and those in it."""
    if clock is None:
        return None, ()
    over = end.event.at if end is not None else inf
    mine = [read for read in readings if read.of == step.solution]
    before = [read.temperature_c for read in mine if clock.t0 - OLDEST_S <= read.at < clock.t0]
    return before[-1] if before else None, tuple(r.temperature_c for r in mine if clock.t0 <= r.at <= over)


def shown_difference_s(due_s: float | None, actual_s: float | None) -> int | None:
    """The difference (s) of the two times as they are shown, in whole seconds, so that a record adds up."""
    return None if due_s is None or actual_s is None else whole_seconds(actual_s) - whole_seconds(due_s)


def _verdict(step: PlannedStep, opened: bool, left: bool, difference_s: float | None, shown_s: int | None) -> str:
    if not opened:
        return "not reached"
    if not left:
        return "not finished"
    if difference_s is None or shown_s is None:
        return "done"
    off = minutes_seconds(abs(shown_s))
    match step.ends:
        case "on time":
            if abs(difference_s) <= EARLY_S:
                return "on time"
            return f"{off} too {'long' if difference_s > 0 else 'short'}"
        case "not before" | "when done":
            short = shown_s < 0 and difference_s < -SAME_S
            return f"{off} short of its minimum" if short else "long enough"
