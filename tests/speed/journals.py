"""Journals for the measurements: a session that is at a step now, a long one, and many.

The events are those of the shipped evening as the walker led it; only their times are moved.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import chain, count, islice
from pathlib import Path

from msgspec.structs import replace
from tests.faults.evening import SESSION, evening, keep

from wetside.app.session_start import rfc3339
from wetside.domain.planning.plan import Plan
from wetside.domain.session.events import CueGiven, Event, SessionBegan, SessionClosed
from wetside.files.settings import JOURNAL
from wetside.storage.sessions import append_events, stream_of
from wetside.storage.store import Store


def standing_now(data: Path, events: tuple[Event, ...], since_last_s: float, plan: Plan | None = None) -> None:
    """A journal of these events, the last of them so many seconds ago; with another plan where one is given."""
    began = _begun(events)
    keep(data, (replace(began, plan=plan or began.plan), *events[1:]), passed_s=since_last_s)


def up_to(kind: str, step: str, *, before: bool = False) -> tuple[Event, ...]:
    """The evening up to the first event of this kind at this step; without it if `before`."""
    events = evening()
    numbers = (n for n, event in enumerate(events) if event.kind == kind and getattr(event, "step", "") == step)
    return events[: next(numbers) + (0 if before else 1)]


def long_session(number: int) -> tuple[Event, ...]:
    """One session of so many events: an evening that is led over and over."""
    first, *rest = (event for event in evening() if not isinstance(event, SessionClosed))
    length_s = rest[-1].at + 60.0

    def again() -> Iterator[Event]:
        for times in count():
            for event in rest:
                at = event.at + times * length_s
                if isinstance(event, CueGiven):
                    yield replace(event, at=at, planned=event.planned + times * length_s)
                else:
                    yield replace(event, at=at)

    return tuple(islice(chain((first,), again()), number))


def keep_long(data: Path, number: int) -> None:
    """A journal with one session of so many events."""
    _keep(data, SESSION, long_session(number), datetime(2031, 3, 2, 23, tzinfo=UTC))


def keep_many(data: Path, sessions: int, events: int) -> None:
    """A journal of so many closed sessions of about so many events each."""
    data.mkdir(mode=0o700, exist_ok=True)
    Store.open(data / JOURNAL).close()
    whole = evening()
    body = (*whole[: events - 1], whole[-1]) if events < len(whole) else whole
    began = _begun(whole)
    for number in range(sessions):
        wall = datetime(2030, 1, 1, 19, tzinfo=UTC) + timedelta(days=number)
        session = f"{wall:%Y-%m-%d}-wtsd"
        _keep(data, session, (replace(began, session=session, wall=rfc3339(wall)), *body[1:]), wall)


def _begun(events: tuple[Event, ...]) -> SessionBegan:
    began = events[0]
    assert isinstance(began, SessionBegan)
    return began


def _keep(data: Path, session: str, events: tuple[Event, ...], wall: datetime) -> None:
    data.mkdir(mode=0o700, exist_ok=True)
    with Store.open(data / JOURNAL) as store:
        append_events(store, stream_of(session, False), 0, events, rfc3339(wall))
