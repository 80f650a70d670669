"""The session log as one frozen value, rebuilt from the session's events alone.

One job: gather from the events what happened, when by the wall clock, and how surely that is known. The same
events give an equal log on every machine. It reads no store, clock or zone, and it never says "success": it tells
what was done, and the negatives tell the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.planning.plan import Plan
from wetside.domain.session.dosing import doses
from wetside.domain.session.events import (
    ClockCorrected,
    ClockJumped,
    ClockStarted,
    CueAnswered,
    CueGiven,
    CueMissed,
    DrainTakenBack,
    Event,
    GateOverridden,
    HoldBegan,
    HoldEnded,
    MishapHappened,
    NoteAdded,
    ReadingTaken,
    SessionBegan,
    SessionClosed,
    SessionResumed,
    StepEnded,
    StepOpened,
    TickMade,
    TickUndone,
)
from wetside.domain.session.gates import beside_range
from wetside.domain.session.pours import follows_readings
from wetside.domain.session.readings import taken_back
from wetside.domain.session.state import State, replay
from wetside.export.log_entries import (
    CueLog,
    Debit,
    DeviationLog,
    JumpLog,
    NoteLog,
    ReadingLog,
    ResumeLog,
    StepLog,
    StepSpan,
    TickLog,
)
from wetside.export.step_logs import step_logs
from wetside.export.wall_times import Told, WallTime, source_of_times
from wetside.frozen import dataclass
from wetside.present.step_facts import wanted_c

FORMAT = 2
"""The number of this log's shape; it rises when a reader of an older log would be misled."""


@dataclass(frozen=True, slots=True)
class SessionLog:
    """A whole evening. `closed` is None while the session is not closed; then the outcome is "unknown"."""

    tool_version: str
    session: str
    practice: bool
    speed: float
    profile_id: str
    profile_title: str
    profile_sha256: str
    began: WallTime
    closed: WallTime | None
    outcome: str
    deviation_count: int
    reason: str
    plan: Plan
    steps: tuple[StepLog, ...]
    readings: tuple[ReadingLog, ...]
    ticks: tuple[TickLog, ...]
    deviations: tuple[DeviationLog, ...]
    cues: tuple[CueLog, ...]
    jumps: tuple[JumpLog, ...]
    resumes: tuple[ResumeLog, ...]
    holds: tuple[StepSpan, ...]
    notes: tuple[NoteLog, ...]
    debits: tuple[Debit, ...] = ()
    format: int = FORMAT

    @property
    def standing(self) -> str:
        """What this is the record of, in words that stand in every export."""
        if self.practice:
            return "PRACTICE: a dry run, no film was developed, and it counts nowhere"
        if self.plan.kit is not None:
            return "a kit that was mixed: no film was developed"
        if self.plan.setup.invented:
            return "a session of an invented demonstration scenario"
        return "a session"


def session_log(events: Sequence[Event], debits: Iterable[Debit] = ()) -> SessionLog:
    """The log of one session. JournalUnusable when the events do not start with the session's beginning."""
    rows = source_of_times(events)
    began = events[0]
    if not isinstance(began, SessionBegan):
        raise AssertionError("told() checks the first event")
    state, plan = replay(events), began.plan
    closed = next((row for row in reversed(rows) if isinstance(row.event, SessionClosed)), None)
    return SessionLog(
        tool_version=began.version,
        session=began.session,
        practice=began.practice,
        speed=began.speed,
        profile_id=plan.profile_id,
        profile_title=plan.profile_title,
        profile_sha256=plan.profile_sha256,
        began=rows[0].moment,
        closed=None if closed is None else closed.moment,
        outcome=outcome_in_words(state),
        deviation_count=state.deviations,
        reason=state.closed_reason,
        plan=plan,
        steps=tuple(_with_doses(step, plan, state) for step in step_logs(plan, state, rows)),
        readings=_readings(plan, rows),
        ticks=_ticks(plan, rows),
        deviations=_deviations(state, rows),
        cues=_cues(rows),
        jumps=tuple(
            JumpLog(row.moment, row.event.what, row.event.seconds)
            for row in rows
            if isinstance(row.event, ClockJumped)
        ),
        resumes=_resumes(rows),
        holds=_holds(rows),
        notes=_notes(plan, rows),
        debits=tuple(debits),
    )


def outcome_in_words(state: State) -> str:
    """One of: complete, complete with deviations (n), abandoned, unknown."""
    match state.outcome:
        case "complete" | "complete with deviations":
            return f"complete with deviations ({state.deviations})" if state.deviations else "complete"
        case "abandoned":
            return "abandoned"
        case "unknown" | None:
            return "unknown"


DOSE_POINTS = 12
"""Into so many parts the time in a developer is cut to show how its work grew (our own number)."""


def _with_doses(step: StepLog, plan: Plan, state: State) -> StepLog:
    planned, clock = plan.step(step.id), state.clocks.get(step.id)
    known = step.actual_s is not None and step.last_planned_s is not None and step.due_s is not None
    if clock is None or step.ended is None or not known or not follows_readings(planned):
        return step
    by_then = tuple(read for read in state.readings if read.at <= step.ended.at)
    drained_s = (step.last_planned_s or 0.0) - (step.due_s or 0.0)
    end_s = (step.actual_s or 0.0) + drained_s
    instants = [round(end_s * part / DOSE_POINTS, 3) for part in range(DOSE_POINTS + 1)]
    return replace(step, doses=doses(replace(state, readings=by_then), planned, clock, instants))


TAKEN_BACK = "taken back: typed again at once"
"""The verdict on a reading that the next one shows to have been a slip; nothing was reckoned with it."""


def _readings(plan: Plan, rows: Sequence[Told]) -> tuple[ReadingLog, ...]:
    asks = {(step.id, ask.of): (step, ask) for step in plan.steps for ask in step.readings}
    ranges = {step.id: (step.solution, step.range_c) for step in plan.steps}
    dropped = taken_back(tuple(row.event for row in rows if isinstance(row.event, ReadingTaken)))
    found = []
    for row in rows:
        match row.event:
            case ReadingTaken(step=step, of=of, temperature_c=value, text=text, by=by):
                asked = asks.get((step, of))
                solution, range_c = ranges.get(step, (None, None))
                wanted = range_c if solution == of else None
                if asked is not None:
                    wanted = wanted_c(plan, *asked) or wanted
                title = asked[1].title if asked is not None else plan.title_of(of)
                verdict = TAKEN_BACK if row.event in dropped else _in_range(value, wanted)
                found.append(ReadingLog(row.moment, step, of, title, text, value, "°C", wanted, verdict, by))
            case _:
                pass
    return tuple(found)


def _in_range(value: float, wanted: tuple[float, float] | None) -> str:
    if wanted is None:
        return "no range given"
    return beside_range(value, wanted) or "in range"


def _ticks(plan: Plan, rows: Sequence[Told]) -> tuple[TickLog, ...]:
    known = {tick.id: (step.id, tick) for step in plan.steps for tick in step.ticks}
    taken_back = _taken_back(rows)
    during = ""
    found = []
    for number, row in enumerate(rows):
        match row.event:
            case StepOpened(step=step):
                during = step
            case TickMade(tick=id_, sure=sure, typed=typed):
                step, tick = known.get(id_, (during, None))
                text, killer = (tick.text, tick.killer) if tick is not None else (id_, False)
                undone = taken_back.get(number)
                found.append(TickLog(row.moment, id_, text, step, during, killer, sure, typed, undone))
            case _:
                pass
    return tuple(found)


def _taken_back(rows: Sequence[Told]) -> dict[int, WallTime]:
    """For the number of each TickMade that was undone: when. An undo takes back the latest mark of its tick."""
    latest: dict[str, int] = {}
    found = {}
    for number, row in enumerate(rows):
        match row.event:
            case TickMade(tick=id_):
                latest[id_] = number
            case TickUndone(tick=id_) if id_ in latest:
                found[latest.pop(id_)] = row.moment
            case _:
                pass
    return found


def _deviations(state: State, rows: Sequence[Told]) -> tuple[DeviationLog, ...]:
    """The events that `State` counts as deviations, in order, so that the list is as long as the count."""
    counted = (*state.overrides, *state.early, *state.corrections)
    waited = {gap.step: gap.waited_s for gap in state.gaps}
    found = []
    for row in rows:
        match row.event:
            case GateOverridden(step=step, what=key, text=text, reason=reason) if row.event in counted:
                found.append(DeviationLog(row.moment, step, "override", key, text, reason))
            case StepEnded(step=step, early_s=early_s) if row.event in counted:
                side = "early" if early_s > 0 else "late"
                text = f"ended {minutes_seconds(abs(early_s))} {side}"
                found.append(DeviationLog(row.moment, step, "early or late", step, text, ""))
            case ClockStarted(step=step) if step in waited:
                text = f"in {minutes_seconds(waited[step])} after the bath before it was poured out"
                found.append(DeviationLog(row.moment, step, "wait", step, text, ""))
            case MishapHappened(step=step, what=what, text=text, suspects=suspects):
                doubtful = f"suspect: {', '.join(suspects)}" if suspects else ""
                found.append(DeviationLog(row.moment, step, "mishap", what, text, doubtful))
            case ClockCorrected(step=step, by_s=by_s, text=typed) if row.event in counted:
                side = "earlier" if by_s > 0 else "later"
                text = f"the clock's start was moved {minutes_seconds(abs(by_s))} {side}"
                found.append(DeviationLog(row.moment, step, "correction", step, text, typed))
            case _:
                pass
    return tuple(found)


def _cues(rows: Sequence[Told]) -> tuple[CueLog, ...]:
    answers: dict[tuple[str, str], WallTime] = {}
    for row in rows:
        if isinstance(row.event, CueAnswered):
            answers.setdefault((row.event.step, row.event.call), row.moment)
    found = []
    for row in rows:
        match row.event:
            case CueGiven(step=step, call=call, planned=at):
                answered = answers.get((step, call))
                found.append(CueLog(step, call, row.anchor.moment(at), row.moment, None, "", answered))
            case CueMissed(step=step, call=call, planned=at, why=why):
                found.append(CueLog(step, call, row.anchor.moment(at), None, row.moment, why, None))
            case _:
                pass
    return tuple(found)


def _resumes(rows: Sequence[Told]) -> tuple[ResumeLog, ...]:
    found = []
    for row in rows:
        match row.event:
            case SessionResumed(gap_s=gap_s, how=how, took_over=took_over):
                found.append(ResumeLog(row.moment, gap_s, how, took_over))
            case _:
                pass
    return tuple(found)


def _holds(rows: Sequence[Told]) -> tuple[StepSpan, ...]:
    found: list[StepSpan] = []
    since: WallTime | None = None
    for row in rows:
        match row.event:
            case HoldBegan():
                since = row.moment
            case HoldEnded() if since is not None:
                found.append(StepSpan(since, row.moment))
                since = None
            case _:
                pass
    return tuple(found) if since is None else (*found, StepSpan(since, None))


def _notes(plan: Plan, rows: Sequence[Told]) -> tuple[NoteLog, ...]:
    labels = [roll.label for roll in plan.setup.rolls]
    titles = {step.id: step.title for step in plan.steps}
    found = []
    for row in rows:
        match row.event:
            case DrainTakenBack(step=step):
                text = f"{titles.get(step, step)}: pouring out was marked by mistake"
                found.append(NoteLog(row.moment, "taken back", None, "", text))
            case NoteAdded(about=about, text=text, roll=roll):
                known = roll if roll is not None and 0 <= roll < len(labels) else None
                label = "" if known is None else labels[known]
                found.append(NoteLog(row.moment, about, known, label, text))
            case _:
                pass
    return tuple(found)
