"""The person's own lead times, read from the records of past sessions.

One job: find how long pouring out took and how long it took from one bath to the next, one number a session.
`domain/calc/learning.py` makes a lead of them. Only what the tool measured counts: a moment told afterwards, one
with an interruption in it, or one beside which something was confirmed, read or noted, says nothing about hands.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median

from wetside.domain.calc.learning import SESSIONS_REMEMBERED
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import (
    ClockCorrected,
    ClockJumped,
    ClockStarted,
    DrainBegan,
    DrainTakenBack,
    Event,
    GateOverridden,
    HoldBegan,
    NoteAdded,
    ReadingTaken,
    SessionBegan,
    SessionResumed,
    StepEnded,
    TickMade,
    TickUndone,
)
from wetside.frozen import dataclass
from wetside.storage.sessions import load, summaries
from wetside.storage.store import Store


@dataclass(frozen=True, slots=True)
class Leads:
    """Seconds, one number a session (the median of its baths), the oldest session first.

    drain_s: from the start of pouring out to the end of the bath, with nothing else done at the guide between.
    transfer_s: from the start of pouring one bath out to the zero of the next clock, where that is a bath's. A
    session without a usable bath adds nothing.
    """

    drain_s: tuple[float, ...] = ()
    transfer_s: tuple[float, ...] = ()


def leads(sessions: Iterable[Sequence[Event]]) -> Leads:
    """The leads of these sessions, given oldest first; practice is left out."""
    drains, transfers = [], []
    for events in sessions:
        if any(isinstance(event, SessionBegan) and event.practice for event in events):
            continue
        drain_s, transfer_s = _of_one(events)
        if drain_s:
            drains.append(median(drain_s))
        if transfer_s:
            transfers.append(median(transfer_s))
    return Leads(tuple(drains), tuple(transfers))


def past_leads(store: Store) -> Leads:
    """The leads of the latest closed sessions in the journal, practice left out."""
    closed = [row for row in summaries(store) if row.outcome is not None and row.developed]
    return leads(load(store, row.stream) for row in reversed(closed[:SESSIONS_REMEMBERED]))


def _of_one(events: Sequence[Event]) -> tuple[list[float], list[float]]:
    zeros, baths = _zeros(events), _baths(events)
    drains, transfers = [], []
    draining: DrainBegan | None = None
    left: DrainBegan | None = None
    for event in events:
        match event:
            case DrainBegan():
                draining = left = event if event.sure == "measured" else None
            case StepEnded(at=at, step=step, early_s=off_s) if draining is not None and draining.step == step:
                if off_s == 0.0:  # what was poured out in a hurry, or by a slip, is no habit
                    drains.append(at - draining.at)
                draining = None
            case ClockStarted(step=step):
                if left is not None and step in baths:
                    transfers.append(zeros[step] - left.at)
                left = None
            case SessionResumed() | ClockJumped() | HoldBegan() | DrainTakenBack():
                draining = left = None
            case TickMade() | TickUndone() | ReadingTaken() | GateOverridden() | NoteAdded():
                # The step's end is marked after it, so the time is that of this act too.
                draining = None
            case _:
                pass
    return drains, transfers


def _baths(events: Sequence[Event]) -> set[str]:
    """The ids of the planned baths."""
    plans = (event.plan for event in events if isinstance(event, SessionBegan))
    return {step.id for plan in plans for step in plan.steps if step.kind is Kind.BATH}


def _zeros(events: Sequence[Event]) -> dict[str, float]:
    """Each clock's zero as last corrected."""
    zeros: dict[str, float] = {}
    for event in events:
        match event:
            case ClockStarted(step=step, t0=t0):
                zeros[step] = t0
            case ClockCorrected(step=step, by_s=by_s) if step in zeros:
                zeros[step] -= by_s
            case _:
                pass
    return zeros
