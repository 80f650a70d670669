"""The session log as one frozen value, built from the session's events only; every export is made from it.

It has what happened, its wall-clock time, and how surely that is known. The same events give an equal log on every
machine: no store, clock or time zone is read. No outcome is "success", as only the negatives show that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, assert_never

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.planning.plan import Plan
from wetside.domain.session import events as e
from wetside.domain.session.developer import doses, follows_readings
from wetside.domain.session.gates import beside_range
from wetside.domain.session.readings import taken_back
from wetside.domain.session.state import State, replay
from wetside.export.step_logs import StepLog, StepSpan, shown_difference_s, spans, step_logs
from wetside.export.wall_times import DatedEvent, WallTime, dated_events, of_kind
from wetside.present.message_words import in_words, note_text
from wetside.present.mishap_text import mishap_words
from wetside.present.step_facts import wanted_c
from wetside.present.view_model import outcome_words
from wetside.present.wording import minutes_seconds

FORMAT = 2
"""The number of this log's shape; it rises when a reader of an older log would be misled."""
DOSE_POINTS = 12
"""The number of points of a developer's dose over its time (our own number)."""
TAKEN_BACK = "taken back: typed again at once"
"""The verdict on a reading that the next one corrected as a typing error; no calculation used it."""
MISSED: Final = {"asleep": "the machine slept", "away": "the guide was not there"}
"""Why a call was not made."""
CLOSED: Final = {"safe way out": "stopped by the safe way out"}
"""Why a session was closed before its end."""
LOOKS = "look"
"""The `about` of a note on how the film came out."""


class ReadingLog(Struct, frozen=True):
    """A temperature: the text as typed or as the probe gave it, its value in `unit`, and who read it."""

    when: WallTime
    step: str
    of: str
    title: str
    text: str
    value: float
    unit: str
    wanted: tuple[float, float] | None
    verdict: str
    by: e.Reader = "person"

    @property
    def stands(self) -> bool:
        """Whether the reading counts; False for one that the next one corrected."""
        return self.verdict != TAKEN_BACK


class TickLog(Struct, frozen=True):
    """A checklist item that was confirmed, and when that was taken back, if it was.

    during: the step that stood open then. step: the one it belongs to; `during` where the plan does not know it.
    """

    when: WallTime
    id: str
    text: str
    step: str
    during: str
    killer: bool
    sure: e.Sureness
    typed: str
    taken_back: WallTime | None


class DeviationLog(Struct, frozen=True):
    """One recorded difference from the plan.

    what: "override", "early or late", "correction", "wait" or "mishap".
    """

    when: WallTime
    step: str
    what: str
    key: str
    text: str
    reason: str


class CueLog(Struct, frozen=True):
    """A call: when it was planned, and when it was given or found missed, and answered."""

    step: str
    call: str
    planned: WallTime
    given: WallTime | None
    missed: WallTime | None
    why_missed: str
    answered: WallTime | None


class JumpLog(Struct, frozen=True):
    """A suspend or a step of the wall clock."""

    when: WallTime
    what: str
    seconds: float


class ResumeLog(Struct, frozen=True):
    """The guide was opened again after `gap_s`; took_over: from another terminal.

    how: by which clock the gap is known: "same boot", "wall clock", or "not known" (`gap_s` is 0 then).
    """

    when: WallTime
    gap_s: float
    how: str
    took_over: bool


class NoteLog(Struct, frozen=True):
    """A note about the session or one roll: `roll` counts from 0 in the plan."""

    when: WallTime
    about: str
    roll: int | None
    roll_label: str
    text: str


class Debit(Struct, frozen=True):
    """The use of one shelf bottle by the session."""

    bottle: str
    solution: str
    rolls: float
    text: str = ""


class SessionLog(Struct, frozen=True):
    """A whole evening. `closed` is None while the session is not closed; then the outcome is "unknown".

    roll_numbers: the archive's number of each roll of the setup, "" for one without; () where none is kept.
    """

    tool_version: str
    session: str
    practice: bool
    speed: float
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
    roll_numbers: tuple[str, ...] = ()
    format: int = FORMAT

    @property
    def standing(self) -> str:
        """What kind of session this is the record of, in words that every export has."""
        if self.practice:
            return "PRACTICE: a dry run, no film was developed, and it counts nowhere"
        if self.plan.kit is not None:
            return "a kit that was mixed: no film was developed"
        if self.plan.setup.invented:
            return "a session of an invented demonstration scenario"
        return "a session"


def session_log(
    events: Sequence[e.Event], debits: Iterable[Debit] = (), numbers: Mapping[int, str] = MappingProxyType({})
) -> SessionLog:
    """The log of one session. Raises JournalUnusable when the events do not start with the session's beginning.

    numbers: of its rolls in the archive, by their place in the setup.
    """
    began, rows = dated_events(events)
    state, plan = replay(events), began.plan
    closed = of_kind(rows, e.SessionClosed)
    steps = tuple(_with_doses(step, plan, state) for step in step_logs(plan, state, rows))
    return SessionLog(
        tool_version=began.version,
        session=began.session,
        practice=began.practice,
        speed=began.speed,
        began=rows[0].moment,
        closed=closed[-1][0] if closed else None,
        outcome=outcome_words(state.outcome or "unknown", state.deviations),
        deviation_count=state.deviations,
        reason=CLOSED.get(state.closed_reason, state.closed_reason),
        plan=plan,
        steps=steps,
        readings=_readings(plan, rows),
        ticks=_ticks(plan, rows),
        deviations=_deviations(plan, state, rows, steps),
        cues=_cues(rows),
        jumps=tuple(JumpLog(when, jump.what, jump.seconds) for when, jump in of_kind(rows, e.ClockJumped)),
        resumes=tuple(
            ResumeLog(when, resume.gap_s, resume.how, resume.took_over)
            for when, resume in of_kind(rows, e.SessionResumed)
        ),
        holds=spans(rows, e.HoldBegan, e.HoldEnded),
        notes=_notes(plan, rows),
        debits=tuple(debits),
        roll_numbers=tuple(numbers.get(n, "") for n in range(len(plan.setup.rolls))) if numbers else (),
    )


def _with_doses(step: StepLog, plan: Plan, state: State) -> StepLog:
    planned, clock = plan.step(step.id), state.clocks.get(step.id)
    if clock is None or step.ended is None or not follows_readings(planned):
        return step
    if step.actual_s is None or step.last_planned_s is None or step.due_s is None:
        return step
    by_then = tuple(read for read in state.readings if read.at <= step.ended.at)
    end_s = step.actual_s + step.last_planned_s - step.due_s  # draining included
    instants = [round(end_s * part / DOSE_POINTS, 3) for part in range(DOSE_POINTS + 1)]
    return replace(step, doses=doses(replace(state, readings=by_then), planned, clock, instants))


def _readings(plan: Plan, rows: Sequence[DatedEvent]) -> tuple[ReadingLog, ...]:
    asks = {(step.id, ask.of): (step, ask) for step in plan.steps for ask in step.readings}
    ranges = {(step.id, step.solution): step.range_c for step in plan.steps}
    taken = of_kind(rows, e.ReadingTaken)
    dropped = taken_back(tuple(read for _, read in taken))
    found = []
    for when, read in taken:
        asked = asks.get((read.step, read.of))
        wanted = ranges.get((read.step, read.of))
        if asked is not None:
            wanted = wanted_c(plan, *asked) or wanted
        title = asked[1].title if asked is not None else plan.title_of(read.of)
        value = read.temperature_c
        beside = "no range given" if wanted is None else beside_range(value, wanted) or "in range"
        verdict = TAKEN_BACK if read in dropped else beside
        found.append(ReadingLog(when, read.step, read.of, title, read.text, value, "°C", wanted, verdict, read.by))
    return tuple(found)


def _ticks(plan: Plan, rows: Sequence[DatedEvent]) -> tuple[TickLog, ...]:
    """Every confirmation; an undo takes back the latest one of its item."""
    known = {tick.id: (step.id, tick) for step in plan.steps for tick in step.ticks}
    latest: dict[str, int] = {}
    during = ""
    found: list[TickLog] = []
    for row in rows:
        match row.event:
            case e.StepOpened(step=step):
                during = step
            case e.TickMade(tick=id_, sure=sure, typed=typed):
                step, tick = known.get(id_, (during, None))
                text, killer = (in_words(tick.text, plan.units), tick.killer) if tick is not None else (id_, False)
                latest[id_] = len(found)
                found.append(TickLog(row.moment, id_, text, step, during, killer, sure, typed, None))
            case e.TickUndone(tick=id_) if id_ in latest:
                number = latest.pop(id_)
                found[number] = replace(found[number], taken_back=row.moment)
    return tuple(found)


def _deviations(
    plan: Plan, state: State, rows: Sequence[DatedEvent], steps: Sequence[StepLog]
) -> tuple[DeviationLog, ...]:
    """The events that `State` counts as deviations, in order, so that the list is as long as the count."""
    off_s = {step.id: shown_difference_s(step.due_s, step.actual_s) for step in steps}
    counted = (*state.overrides, *state.early, *state.corrections)
    found = []
    for row in rows:
        match row.event:
            case e.GateOverridden(step=step, what=key, reason=reason) if row.event in counted:
                text = in_words(row.event.why, plan.units)
                found.append(DeviationLog(row.moment, step, "override", key, text, in_words(reason)))
            case e.StepEnded(step=step, early_s=early_s) if row.event in counted:
                side = "early" if early_s > 0 else "late"
                text = f"ended {minutes_seconds(abs(off_s[step] or early_s))} {side}"
                found.append(DeviationLog(row.moment, step, "early or late", step, text, ""))
            case e.ClockStarted(step=step) if step in state.gaps:
                text = f"in {minutes_seconds(state.gaps[step])} after the bath before it was poured out"
                found.append(DeviationLog(row.moment, step, "wait", step, text, ""))
            case e.MishapHappened(step=step, what=what, suspects=suspects):
                text = mishap_words(plan, row.event)
                doubtful = f"suspect: {', '.join(suspects)}" if suspects else ""
                found.append(DeviationLog(row.moment, step, "mishap", what, text, doubtful))
            case e.ClockCorrected(step=step, by_s=by_s, text=typed) if row.event in counted:
                side = "earlier" if by_s > 0 else "later"
                text = f"the clock's start was moved {minutes_seconds(abs(by_s))} {side}"
                found.append(DeviationLog(row.moment, step, "correction", step, text, typed))
    return tuple(found)


def _cues(rows: Sequence[DatedEvent]) -> tuple[CueLog, ...]:
    answers: dict[tuple[str, str], WallTime] = {}
    for when, answer in of_kind(rows, e.CueAnswered):
        answers.setdefault((answer.step, answer.call), when)
    found = []
    for row in rows:
        match row.event:
            case e.CueGiven(step=step, call=call, planned=at):
                answered = answers.get((step, call))
                found.append(CueLog(step, call, row.anchor.moment(at), row.moment, None, "", answered))
            case e.CueMissed(step=step, call=call, planned=at, why=why):
                found.append(
                    CueLog(
                        step,
                        call,
                        row.anchor.moment(at),
                        None,
                        row.moment,
                        MISSED[why] if isinstance(why, str) else in_words(why),
                        None,
                    )
                )
    return tuple(found)


def _notes(plan: Plan, rows: Sequence[DatedEvent]) -> tuple[NoteLog, ...]:
    labels = dict(enumerate(roll.label for roll in plan.setup.rolls))
    titles = {step.id: step.title for step in plan.steps}
    found = []
    for row in rows:
        match row.event:
            case e.DrainTakenBack(step=step):
                text = f"{titles.get(step, step)}: pouring out was marked by mistake"
                found.append(NoteLog(row.moment, "taken back", None, "", text))
            case e.NoteAdded(about=about, roll=roll):
                known = roll if roll in labels else None
                label = "" if known is None else labels[known]
                found.append(NoteLog(row.moment, about, known, label, note_text(row.event)))
            # in other fields of the log: deviations, cues, ticks, readings, holds, resumes, jumps, steps
            case e.SessionBegan() | e.SessionResumed() | e.SessionClosed() | e.ClockJumped():
                pass
            case e.StepOpened() | e.StepEnded() | e.ClockStarted() | e.ClockCorrected() | e.EndMoved():
                pass
            case e.PauseBegan() | e.PauseEnded() | e.DrainBegan() | e.HoldBegan() | e.HoldEnded():
                pass
            case e.TickMade() | e.TickUndone() | e.ReadingTaken() | e.GateOverridden() | e.MishapHappened():
                pass
            case e.CueGiven() | e.CueMissed() | e.CueAnswered():
                pass
            case _:
                assert_never(row.event)
    return tuple(found)
