"""The archive of rolls in the journal: one stream beside the sessions and the shelf.

The rolls of a closing session are numbered in that session's own transaction. Each event stands alone: where one
is lost (in a salvaged journal) the others hold, and its session gets new numbers, above all others.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from datetime import date, datetime, timedelta
from typing import get_args

from wetside.domain.archive.numbering import (
    Archive,
    ClosedSession,
    DensitiesMeasured,
    Event,
    number_all,
    number_session,
    replay,
)
from wetside.domain.session.film import developed
from wetside.domain.session.state import State
from wetside.errors import JournalUnusable
from wetside.storage.codec import Codec
from wetside.storage.sessions import COMPLETE, SessionSummary, load_state, summaries
from wetside.storage.store import Store, Streams, retried

ARCHIVE = "archive"

CODEC: Codec[Event] = Codec(get_args(Event))


def load_archive(store: Store, rows: Iterable[SessionSummary] | None = None) -> Archive:
    """The archive, with computed numbers for the sessions that have none stored.

    rows: all sessions, where they were listed already. Raises JournalUnusable when an event cannot be read.
    """
    archive, _ = _load(store)
    return replay(_earlier(store, archive, rows), archive)


def kept_numbers(store: Store, session: str) -> dict[int, str]:
    """The stored numbers of this session's rolls, by the roll's index in its setup.

    Raises JournalUnusable when an event of the archive cannot be read.
    """
    archive, _ = _load(store)
    return {roll: number for (owner, roll), number in archive.numbers.items() if owner == session}


def numbered_by(store: Store, session: State, pattern: str) -> Streams:
    """The numbers of a closing session's rolls, as one more stream for its append; {} for practice and a kit.

    The first time, the computed numbers of earlier sessions are stored with them. {} where the archive cannot be
    read, so that this never makes a close fail.
    """
    if session.practice or session.plan.kit is not None:
        return {}
    try:
        archive, last_seen = _load(store)
        events: tuple[Event, ...] = _earlier(store, archive)
        closed = ClosedSession(session.session, _day(session.began_wall, session.offset_s), developed(session))
        events = (*events, number_session(replay(events, archive), closed, pattern))
        return {ARCHIVE: (last_seen, CODEC.entries(events))}
    except JournalUnusable:
        return {}


def keep_densities(store: Store, measured: Iterable[DensitiesMeasured], at: str) -> None:
    """Append densities in one transaction, with the computed numbers of the sessions that have none stored.

    at: RFC 3339, UTC. Raises JournalUnusable.
    """
    rows = tuple(measured)

    def append() -> None:
        archive, last_seen = _load(store)
        store.append({ARCHIVE: (last_seen, CODEC.entries((*_earlier(store, archive), *rows)))}, at)

    retried(append, (ARCHIVE,))


def _load(store: Store) -> tuple[Archive, int]:
    """The archive by its stored events, and the number of the last one."""
    rows = store.read(ARCHIVE, despite_gaps=True)
    return replay(map(CODEC.event, rows)), rows[-1].seq if rows else 0


def _earlier(store: Store, archive: Archive, rows: Iterable[SessionSummary] | None = None) -> tuple[Event, ...]:
    """Numbers for the closed sessions that have none, the oldest first."""
    listed = summaries(store) if rows is None else rows
    waiting = [
        row for row in listed if row.outcome is not None and row.developed and row.session not in archive.sessions
    ]
    waiting.sort(key=lambda row: (row.began_wall, row.session))
    found = []
    for row in waiting:
        # a session found damaged gets no numbers
        with suppress(JournalUnusable):
            found.append(_closed(store, row))
    return number_all(archive, found)


def _closed(store: Store, row: SessionSummary) -> ClosedSession:
    # a completed session need not be read: all its rolls were developed
    whole = row.outcome in COMPLETE
    rolls = tuple(range(len(row.rolls))) if whole else developed(load_state(store, row.stream))
    try:
        day = date.fromisoformat(row.session[:10])  # an id begins with the local day
    except ValueError:
        day = _day(row.began_wall, 0)
    return ClosedSession(row.session, day, rolls)


def _day(wall: str, offset_s: int) -> date:
    return (datetime.fromisoformat(wall) + timedelta(seconds=offset_s)).date()
