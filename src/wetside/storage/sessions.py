"""Sessions in the journal: append their events, load them, list them, find one by what a person types.

Practice has streams of its own, so that it can never be counted as a session. The stream "contents" indexes the
sessions: a summary of each, appended in the same transaction as its beginning and its close, so that a list of
sessions reads none of them. What is missing or unreadable in the index is taken from the sessions' own events.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Literal, get_args

from msgspec import Struct

from wetside.domain.session.outcome import Outcome
from wetside.errors import JournalUnusable, Refused
from wetside.storage.codec import Codec, event_of, session_codec
from wetside.storage.store import Envelope, Store, Streams, StreamSummary, retried

if TYPE_CHECKING:
    from wetside.domain.session.events import Event
    from wetside.domain.session.state import State

SESSIONS = "session/"
PRACTICES = "practice/"
CONTENTS = "contents"
COMPLETE = ("complete", "complete with deviations")
"""The outcomes of a completed session."""


class IndexedSession(Struct, frozen=True):
    """A session has begun. `rolls` are their labels; wall: RFC 3339, UTC."""

    stream: str
    title: str
    wall: str
    rolls: tuple[str, ...]
    kind: Literal["session_listed"] = "session_listed"


class IndexedClose(Struct, frozen=True):
    """A session was closed."""

    stream: str
    outcome: Outcome
    deviations: int
    kind: Literal["session_settled"] = "session_settled"


_Line = IndexedSession | IndexedClose
_LINES: Codec[_Line] = Codec(get_args(_Line))


class SessionIndex:
    """What the index holds of each stream; a stream need not be in it. A line is decoded when it is asked for."""

    def __init__(self, rows: Iterable[Envelope]) -> None:
        self._rows: dict[tuple[str, str], Envelope] = {}
        for row in rows:
            try:
                stream = json.loads(row.data)["stream"]
            except (ValueError, TypeError, KeyError):
                continue
            if isinstance(stream, str):
                self._rows[row.kind, stream] = row

    def is_open(self, stream: str) -> bool:
        """Whether no line records its close."""
        return ("session_settled", stream) not in self._rows

    def began(self, stream: str) -> IndexedSession | None:
        """The line of its beginning; None where there is no readable one."""
        line = self._line("session_listed", stream)
        return line if isinstance(line, IndexedSession) else None

    def closed(self, stream: str) -> IndexedClose | None:
        """The line of its close; None where there is no readable one."""
        line = self._line("session_settled", stream)
        return line if isinstance(line, IndexedClose) else None

    def complete(self) -> tuple[str, ...]:
        """The streams of all completed sessions without practices, those closed last first."""
        streams = [stream for kind, stream in reversed(self._rows) if kind == "session_settled"]
        lines = [self.closed(stream) for stream in streams if stream.startswith(SESSIONS)]
        return tuple(line.stream for line in lines if line is not None and line.outcome in COMPLETE)

    def _line(self, kind: str, stream: str) -> _Line | None:
        row = self._rows.get((kind, stream))
        try:
            return None if row is None else _LINES.decode(row.kind, row.version, row.data)
        except JournalUnusable:
            return None


class SessionSummary(Struct, frozen=True):
    """One session of a list. `outcome` is None while it is unfinished; `rolls` are their labels.

    began_wall: RFC 3339, UTC, of the session's clock; last_at: the same of its last row. trouble: why it cannot
    be read, "" when it can; then the outcome is "unknown" and the title is empty.
    """

    session: str
    stream: str
    title: str
    began_wall: str
    outcome: Outcome | None
    practice: bool
    deviations: int
    rolls: tuple[str, ...]
    last_at: str
    trouble: str = ""

    @property
    def began(self) -> str:
        """The local date and time at which it began: "2031-03-01 21:05"."""
        return f"{datetime.fromisoformat(self.began_wall).astimezone():%Y-%m-%d %H:%M}"

    @property
    def developed(self) -> bool:
        """Whether it is a readable session with film: no practice, and not the mixing of a kit."""
        return bool(self.rolls) and not self.practice and not self.trouble


def stream_of(session: str, practice: bool) -> str:
    """The stream of a session's events."""
    return f"{PRACTICES if practice else SESSIONS}{session}"


def append_events(
    store: Store,
    stream: str,
    last_seen: int,
    events: Iterable[Event],
    at: str,
    also: Streams | None = None,
) -> int:
    """Append events in one transaction and return the stream's new last number.

    last_seen: the last number seen in the stream, 0 for a new one. at: RFC 3339, UTC. also: entries of other
    streams for the same transaction (what a closing session takes from the shelf). Raises `Overtaken` when another
    terminal was first, `JournalUnusable` when the journal cannot be written.
    """
    events = tuple(events)
    entries, lines = session_codec().entries(events), _LINES.entries(_lines(stream, events))

    def append() -> None:
        index = {CONTENTS: (store.last_seq(CONTENTS), lines)} if lines else {}
        store.append({stream: (last_seen, entries), **(also or {}), **index}, at)

    retried(append, (CONTENTS,))
    return last_seen + len(entries)


def _lines(stream: str, events: Iterable[Event]) -> list[_Line]:
    """The lines that these events of `stream` add to the index: none unless the session begins or closes."""
    lines: list[_Line] = []
    for event in events:
        if event.kind == "session_began":
            setup = event.plan.setup
            labels = tuple(roll.label for roll in setup.rolls)
            lines.append(IndexedSession(stream, setup.title, event.wall, labels))
        elif event.kind == "session_closed":
            lines.append(IndexedClose(stream, event.outcome, event.deviations))
    return lines


def session_index(store: Store) -> SessionIndex:
    """The whole index. Lines that a salvage lost or that cannot be read are left out."""
    return SessionIndex(store.read(CONTENTS, despite_gaps=True))


def load(store: Store, stream: str) -> tuple[Event, ...]:
    """The session's events. Raises JournalUnusable when one cannot be read."""
    return tuple(map(event_of, store.read(stream)))


def load_state(store: Store, stream: str) -> State:
    """The session's state. Raises JournalUnusable when an event cannot be read."""
    from wetside.domain.session.state import replay

    return replay(load(store, stream))


def summaries(store: Store) -> tuple[SessionSummary, ...]:
    """Sessions and practices, the newest first.

    Reads the index and the unfinished sessions. A session that is not in the index is read whole; one that cannot
    be read is in the list too, with its `trouble`.
    """
    return newest(store, None)[0]


def newest(store: Store, most: int | None) -> tuple[tuple[SessionSummary, ...], int]:
    """As `summaries`, but only the `most` newest and those still open; and how many are left out."""
    index, streams = session_index(store), _newest_first(store)
    told = [row for n, row in enumerate(streams) if most is None or n < most or index.is_open(row.stream)]
    return tuple(_summary(store, row, index) for row in told), len(streams) - len(told)


OWN_EVENINGS = 3
"""The completed sessions from which a person counts as experienced (our own number)."""


def is_experienced(store: Store) -> bool:
    """Whether `OWN_EVENINGS` real sessions with film are complete: no practice and no invented example."""
    own = 0
    for stream in session_index(store).complete():
        try:
            began = event_of(store.read(stream)[0])
        except (JournalUnusable, IndexError):
            continue
        own += began.kind == "session_began" and not began.plan.setup.invented and began.plan.kit is None
        if own >= OWN_EVENINGS:
            return True
    return False


def unfinished(store: Store) -> tuple[StreamSummary, ...]:
    """The sessions and practices that are not closed, the newest first. Decodes no event."""
    index = session_index(store)
    return tuple(
        row for row in _newest_first(store) if index.is_open(row.stream) and not closed(store, row.stream)
    )


def closed(store: Store, stream: str) -> bool:
    """Whether the session was closed, by the kinds of its rows alone."""
    return any(row.kind == "session_closed" for row in store.read(stream, despite_gaps=True))


def resolve(store: Store, text: str) -> str:
    """The stream of the session a person means: its id, a unique beginning of it, or "last".

    "last" is the newest session, or the newest practice where there is no session. Raises Refused when no session
    or more than one is meant.
    """
    streams = tuple(row.stream for row in _newest_first(store))
    if not streams:
        raise Refused("There is no session yet: `wetside` begins one.")
    if text == "last":
        return next((stream for stream in streams if stream.startswith(SESSIONS)), streams[0])
    found = [stream for stream in streams if _id(stream) == text]
    if not found and text:
        found = [stream for stream in streams if _id(stream).startswith(text)]
    match found:
        case [stream]:
            return stream
        case []:
            raise Refused(f"No session's id begins with {text[:40]!r}: `wetside sessions` lists them.")
        case _:
            some = ", ".join(sorted(_id(stream) for stream in found)[:3])
            more = ", …" if len(found) > 3 else ""
            raise Refused(f"{text[:40]!r} begins {len(found)} ids ({some}{more}): type more of the one you mean.")


def _newest_first(store: Store) -> list[StreamSummary]:
    streams = (*store.streams(SESSIONS), *store.streams(PRACTICES))
    return sorted(streams, key=lambda row: (row.first_at, row.stream), reverse=True)


def _id(stream: str) -> str:
    return stream.partition("/")[2]


def _summary(store: Store, stream: StreamSummary, index: SessionIndex) -> SessionSummary:
    name, trouble = stream.stream, ""
    began, closed = index.began(name), index.closed(name)
    deviations = 0 if closed is None else closed.deviations
    if began is None or closed is None:
        try:
            began, closed, deviations = _looked_up(store, name)
        except JournalUnusable as problem:
            trouble = str(problem)
            began, closed = IndexedSession(name, "", stream.first_at, ()), IndexedClose(name, "unknown", 0)
    return SessionSummary(
        session=_id(name),
        stream=name,
        title=began.title,
        began_wall=began.wall,
        outcome=None if closed is None else closed.outcome,
        practice=name.startswith(PRACTICES),
        deviations=deviations,
        rolls=began.rolls,
        last_at=stream.last_at,
        trouble=trouble,
    )


def _looked_up(store: Store, stream: str) -> tuple[IndexedSession, IndexedClose | None, int]:
    """The lines of a session's beginning and close, and its deviations so far, from its own events."""
    from wetside.domain.session.state import replay

    events = load(store, stream)
    match _lines(stream, events):
        case [IndexedSession() as began]:
            return began, None, replay(events).deviations
        case [IndexedSession() as began, *_, IndexedClose() as closed]:
            return began, closed, closed.deviations
    raise JournalUnusable(f"{stream} does not start with its beginning: restore the journal from a copy.")
