"""How past sessions went: plan against actual, how the negatives came out, and the person's own trends.

One job: take each session's few telling figures from its events, and say them in words. Practice is left out. Only
what the tool measured is a trend; nothing is judged.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from statistics import median

from wetside.domain.calc.learning import SESSIONS_REMEMBERED, spark, trend
from wetside.domain.calc.wording import difference, minutes_seconds, span
from wetside.domain.planning.plan import Plan, TemperatureUnit
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import (
    CueAnswered,
    CueGiven,
    CueMissed,
    Event,
    NoteAdded,
    ReadingTaken,
    SessionBegan,
    SessionClosed,
    TickMade,
    TickUndone,
)
from wetside.domain.session.readings import OLDEST_S
from wetside.domain.session.state import State, replay
from wetside.errors import JournalUnusable
from wetside.export.learned_leads import leads
from wetside.export.step_logs import step_logs
from wetside.export.wall_times import source_of_times
from wetside.frozen import dataclass
from wetside.storage.sessions import SessionSummary, load
from wetside.storage.store import Store

LOOKS = "look"
_A_HABIT = 3
"""Of fewer evenings nobody says "usually" (our own number)."""


NO_CLOCK = (TickMade, TickUndone, CueGiven, CueMissed, CueAnswered)
"""Events that no figure here hangs on, and half of an evening: left out, its fold takes half the time (1.5 ms)."""


@dataclass(frozen=True, slots=True)
class PastBath:
    """A bath that has to be on time: its end as last planned (s, from its start) and the verdict of the log."""

    title: str
    batch: int | None
    planned_s: float | None
    actual_s: float | None
    verdict: str


@dataclass(frozen=True, slots=True)
class PastEvening:
    """One session. actual_s is None while it is open; developer_off_c, drain_s: None where nothing was measured.

    planned_s, actual_s: the whole evening to dry film. developer_off_c: the developer as last read before its bath
    began less its target (°C; the median of the tank fills). drain_s: median time to pour a bath out.
    """

    session: str
    planned_s: float
    actual_s: float | None
    baths: tuple[PastBath, ...]
    looks: tuple[tuple[str, str], ...]  # (roll, what was seen)
    developer_off_c: float | None
    drain_s: float | None


@dataclass(frozen=True, slots=True)
class Trends:
    """Figures of the latest closed sessions that have them, the oldest first."""

    developer_off_c: tuple[float, ...] = ()
    drain_s: tuple[float, ...] = ()


def past_evening(events: Sequence[Event]) -> PastEvening:
    """How this session went. JournalUnusable when the events do not start with the session's beginning."""
    rows = source_of_times(events)
    began, state = events[0], replay(event for event in events if not isinstance(event, NO_CLOCK))
    if not isinstance(began, SessionBegan):
        raise AssertionError("told() checks the first event")
    plan = began.plan
    # Of the log only the steps that are told of are made: the whole of it would take twice as long.
    on_time = tuple(step for step in plan.steps if step.kind is Kind.BATH and step.ends == "on time")
    closed = next((event.at for event in events if isinstance(event, SessionClosed)), None)
    drains = leads([events]).drain_s
    return PastEvening(
        session=began.session,
        planned_s=plan.total_s,
        actual_s=closed,
        baths=tuple(
            PastBath(step.title, step.batch, step.last_planned_s, step.actual_s, step.verdict)
            for step in step_logs(replace(plan, steps=on_time), state, rows)
            if step.started is not None
        ),
        looks=tuple(_look(note, plan) for note in state.notes if note.about == LOOKS),
        developer_off_c=_developer_off_c(state),
        drain_s=drains[0] if drains else None,
    )


def past_evenings(
    store: Store, rows: Sequence[SessionSummary], most: int = SESSIONS_REMEMBERED
) -> tuple[PastEvening, ...]:
    """How the first `most` real sessions of `rows` went, in their order; what cannot be read is left out."""
    found = []
    for row in [row for row in rows if row.developed][:most]:
        try:
            found.append(past_evening(load(store, row.stream)))
        except JournalUnusable:
            continue  # listed in the table of contents, damaged since: its row stays, without these lines
    return tuple(found)


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


def trends_in_words(found: Trends, unit: TemperatureUnit, ascii_only: bool) -> tuple[str, ...]:
    """Each trend in one line, drawn small; none where there is nothing measured."""
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


def _look(note: NoteAdded, plan: Plan) -> tuple[str, str]:
    rolls = plan.setup.rolls
    return (rolls[note.roll].label if note.roll is not None and 0 <= note.roll < len(rolls) else "", note.text)


def _bath(bath: PastBath, baths: int) -> str:
    batch = f" (batch {bath.batch})" if bath.batch is not None and baths > 1 else ""
    planned = f" {minutes_seconds(bath.planned_s)}" if bath.planned_s is not None else ""
    return f"{bath.title}{batch}{planned}: {bath.verdict}"


def _signed(value_c: float, unit: TemperatureUnit) -> str:
    shown = difference(abs(value_c), unit)
    sign = "" if float(shown.split()[0]) == 0 else "−" if value_c < 0 else "+"
    return f"{sign}{shown}"


def _developer_off_c(state: State) -> float | None:
    """The developer's last reading within 20 min before its clock began, less its target; None without one."""
    plan = state.plan
    if plan is None:
        return None
    found = []
    for step in plan.steps:
        clock = state.clocks.get(step.id)
        if clock is None or step.kind is not Kind.BATH or step.ends != "on time" or step.target_c is None:
            continue
        read = _last_before(state.readings, step.solution, clock.t0)
        if read is not None:
            found.append(read.temperature_c - step.target_c)
    return round(median(found), 3) if found else None


def _last_before(readings: tuple[ReadingTaken, ...], of: str | None, t0: float) -> ReadingTaken | None:
    return next((r for r in reversed(readings) if r.of == of and t0 - OLDEST_S <= r.at <= t0), None)
