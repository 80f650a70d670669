"""Summaries of past sessions for the next one: how each went, how its film came out, and the person's lead times.

Each figure is taken from the session's events. Practice is left out. Only measured figures become a trend or a
lead time.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from statistics import median
from typing import assert_never

from msgspec import Struct
from msgspec.structs import asdict, replace

from wetside.domain.calc.learning import SESSIONS_REMEMBERED, trend
from wetside.domain.messages import Message, alert, message
from wetside.domain.planning.setup import TemperatureUnit
from wetside.domain.profile.model import Kind
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.errors import JournalUnusable
from wetside.export.session_log import LOOKS
from wetside.export.step_logs import step_logs
from wetside.export.wall_times import dated_events
from wetside.present.message_words import note_text
from wetside.present.wording import difference, minutes_seconds, span, spark
from wetside.storage.sessions import SessionSummary, load, summaries
from wetside.storage.store import Store

_A_HABIT = 3
"""The number of sessions from which a trend is worded with "usually" (our own number)."""
NO_CLOCK = (e.TickMade, e.TickUndone, e.CueGiven, e.CueMissed, e.CueAnswered)
"""Event kinds on which no figure here depends; half of a session's events, so that replay takes half the time."""


class PastBath(Struct, frozen=True):
    """A bath ended on time: its planned and actual length (s) and the verdict of the log."""

    title: str
    batch: int | None
    planned_s: float | None
    actual_s: float | None
    verdict: str


class PastEvening(Struct, frozen=True):
    """One session. actual_s is None while it is open; developer_off_c, drain_s: None where nothing was measured.

    planned_s, actual_s: the whole evening to dry film. looks: (roll, what was seen). developer_off_c: the
    developer as last read before its bath began less its target (°C; the median of the tank fills). drain_s:
    median time to pour a bath out.
    """

    session: str
    planned_s: float
    actual_s: float | None
    baths: tuple[PastBath, ...]
    looks: tuple[tuple[str, str], ...]
    developer_off_c: float | None
    drain_s: float | None


class Trends(Struct, frozen=True):
    """Figures of the latest closed sessions that have them, the oldest first."""

    developer_off_c: tuple[float, ...] = ()
    drain_s: tuple[float, ...] = ()


def past_evening(events: Sequence[e.Event]) -> PastEvening:
    """The summary of this session. Raises JournalUnusable when the events do not start with its beginning."""
    began, rows = dated_events(events)
    plan, state = began.plan, replay(event for event in events if not isinstance(event, NO_CLOCK))
    # only the steps of the log are made, as the whole of it takes twice as long
    on_time = tuple(step for step in plan.steps if step.kind is Kind.BATH and step.ends == "on time")
    baths = step_logs(replace(plan, steps=on_time), state, rows)
    wanted = [(bath.read_before_c, plan.step(bath.id).target_c) for bath in baths]
    off_c = [read_c - target_c for read_c, target_c in wanted if read_c is not None and target_c is not None]
    labels = dict(enumerate(roll.label for roll in plan.setup.rolls))
    return PastEvening(
        session=began.session,
        planned_s=plan.total_s,
        actual_s=next((event.at for event in events if isinstance(event, e.SessionClosed)), None),
        baths=tuple(
            PastBath(bath.title, bath.batch, bath.last_planned_s, bath.actual_s, bath.verdict)
            for bath in baths
            if bath.started is not None
        ),
        looks=tuple(
            ("" if note.roll is None else labels.get(note.roll, ""), note_text(note))
            for note in state.notes
            if note.about == LOOKS
        ),
        developer_off_c=round(median(off_c), 3) if off_c else None,
        drain_s=drain_s(events),
    )


def past_evenings(
    store: Store, rows: Sequence[SessionSummary], most: int = SESSIONS_REMEMBERED
) -> tuple[tuple[PastEvening, ...], tuple[SessionSummary, ...]]:
    """The summaries of the first `most` real sessions of `rows`, in their order; and `rows`, with the trouble of
    those that cannot be read, damaged as they were since the index listed them.
    """
    found, listed = [], {row.stream: row for row in rows}
    for row in [row for row in rows if row.developed][:most]:
        try:
            found.append(past_evening(load(store, row.stream)))
        except JournalUnusable as problem:
            listed[row.stream] = replace(row, trouble=str(problem))
    return tuple(found), tuple(listed.values())


def trends(sessions: Sequence[PastEvening]) -> Trends:
    """The trends of these sessions, given the newest first; open ones do not count yet."""
    closed = [each for each in sessions if each.actual_s is not None][:SESSIONS_REMEMBERED][::-1]
    return Trends(
        tuple(each.developer_off_c for each in closed if each.developer_off_c is not None),
        tuple(each.drain_s for each in closed if each.drain_s is not None),
    )


def went_in_words(session: PastEvening) -> tuple[str, ...]:
    """Plan against actual, then what was seen on each roll: one sentence a line."""
    actual = "" if session.actual_s is None else f", took {span(session.actual_s)}"
    baths = [_bath(bath, len(session.baths)) for bath in session.baths]
    lines = ["; ".join([f"Planned {span(session.planned_s)} to dry film{actual}", *baths]) + "."]
    return (*lines, *(f"{roll or 'Negatives'}: {text}." for roll, text in session.looks))


def _bath(bath: PastBath, baths: int) -> str:
    batch = f" (batch {bath.batch})" if bath.batch is not None and baths > 1 else ""
    planned = f" {minutes_seconds(bath.planned_s)}" if bath.planned_s is not None else ""
    return f"{bath.title}{batch}{planned}: {bath.verdict}"


def trends_in_words(found: Trends, unit: TemperatureUnit, ascii_only: bool) -> tuple[str, ...]:
    """Each trend in one line with a sparkline; () where nothing was measured."""
    asked: tuple[tuple[str, tuple[float, ...], Callable[[float], str]], ...] = (
        ("Developer at its start", found.developer_off_c, lambda off_c: f"{_signed(off_c, unit)} off"),
        ("Pouring out", found.drain_s, lambda seconds: f"{seconds:.0f} s"),
    )
    lines = []
    for title, values, said in asked:
        summed = trend(values)
        if summed is not None:
            drawn = f"{spark(values, SESSIONS_REMEMBERED, ascii_only):<{SESSIONS_REMEMBERED}}"
            usually = f", usually {said(summed.median)}" if summed.count >= _A_HABIT else ""
            lines.append(f"{title:<22}  {drawn}  last {said(summed.latest)}{usually}")
    return tuple(lines)


def _signed(value_c: float, unit: TemperatureUnit) -> str:
    shown = difference(abs(value_c), unit)
    sign = "" if shown == difference(0.0, unit) else "−" if value_c < 0 else "+"
    return f"{sign}{shown}"


def past_looks(
    sessions: Iterable[Sequence[e.Event]], profile_id: str, bottle_ids: Collection[str] = ()
) -> tuple[Message, ...]:
    """One alert for each look noted in `sessions`, in their order, practice left out.

    A look counts when the session used this profile or one of these shelf bottles; the alert says which. Rolls
    that came out well are left out.
    """
    found = []
    for events in sessions:
        began, rows = dated_events(events)
        plan = began.plan
        shared = tuple(bottle.label for bottle in plan.setup.bottles if bottle.shelf_id in bottle_ids)
        if began.practice or (not shared and plan.profile_id != profile_id):
            continue
        labels = dict(enumerate(roll.label for roll in plan.setup.rolls))
        for note in (row.event for row in rows if isinstance(row.event, e.NoteAdded)):
            if note.about == LOOKS and (note.look is None or note.look.fault != e.WELL):
                look = message("look", text=note.text, **(asdict(note.look) if note.look is not None else {}))
                day, same = f"{rows[0].moment.wall:%Y-%m-%d}", shared or ("process",)
                if note.roll in labels:
                    found.append(alert("looked-before", day=day, roll=labels[note.roll], same=same, look=look))
                else:
                    found.append(alert("looked-before", "the session", day=day, same=same, look=look))
    return tuple(found)


def looks_before(store: Store, profile_id: str, bottle_ids: Collection[str] = ()) -> tuple[Message, ...]:
    """The looks of the latest sessions in the journal that can be read, the newest first."""
    rows = [row for row in summaries(store) if row.developed][:SESSIONS_REMEMBERED]
    return past_looks((load(store, row.stream) for row in rows), profile_id, bottle_ids)


def past_drains_s(store: Store) -> tuple[float, ...]:
    """Seconds to pour a bath out: the median of each of the latest closed sessions, the oldest first."""
    closed = [row for row in summaries(store) if row.outcome is not None and row.developed]
    medians = (drain_s(load(store, row.stream)) for row in reversed(closed[:SESSIONS_REMEMBERED]))
    return tuple(each for each in medians if each is not None)


def drain_s(events: Iterable[e.Event]) -> float | None:
    """Median seconds of one session from the start of pouring a bath out to its end; None where none counts.

    Left out as no measure of the pouring: moments stated afterwards, baths with an interruption, pours at which
    something was confirmed, read or noted, and practice.
    """
    found = []
    draining: e.DrainBegan | None = None
    for event in events:
        match event:
            case e.SessionBegan(practice=True):
                return None
            case e.DrainBegan():
                draining = event if event.sure == "measured" else None
            case e.StepEnded(at=at, step=step, early_s=off_s) if draining is not None and draining.step == step:
                if off_s == 0.0:  # poured out too early or too late: not typical
                    found.append(at - draining.at)
                draining = None
            case e.SessionResumed() | e.ClockJumped() | e.HoldBegan() | e.DrainTakenBack():
                draining = None
            # the end of the step is marked after one of these, so the time includes this act
            case e.TickMade() | e.TickUndone() | e.ReadingTaken() | e.GateOverridden() | e.NoteAdded():
                draining = None
            # these need no person, or do not fall between the two moments
            case e.SessionBegan() | e.StepOpened() | e.StepEnded() | e.ClockStarted() | e.ClockCorrected():
                pass
            case e.EndMoved() | e.PauseBegan() | e.PauseEnded() | e.HoldEnded() | e.MishapHappened():
                pass
            case e.CueGiven() | e.CueMissed() | e.CueAnswered() | e.SessionClosed():
                pass
            case _:
                assert_never(event)
    return median(found) if found else None
