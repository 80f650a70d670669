"""Sessions in the journal: append their events, load them, list them, find one by what a person types.

One job: know which stream a session is and how its rows become events. Practice has streams of its own, so that
it can never be counted as a session. Nothing is decided here, and nothing is shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from wetside.domain.session.outcome import Outcome
from wetside.errors import JournalUnusable, Refused
from wetside.frozen import dataclass
from wetside.storage.codec import decode, encode
from wetside.storage.session_index import CONTENTS, Contents, IndexedSession, Settled, lines_about, session_index
from wetside.storage.store import Entry, Envelope, Overtaken, Store, StreamSummary

if TYPE_CHECKING:
    from wetside.domain.session.events import Event
    from wetside.domain.session.state import State

SESSIONS = "session/"
PRACTICES = "practice/"

_TRIES = 20
"""Another terminal may add a line to the contents at the same moment; then this one's number is looked up anew."""


@dataclass(frozen=True, slots=True)
class SessionSummary:
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
    def developed(self) -> bool:
        """Whether it is a real evening with film that can be read: no practice, and no kit that was mixed."""
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
    also: Mapping[str, tuple[int, tuple[Entry, ...]]] | None = None,
) -> int:
    """Append events in one transaction and give back the stream's new last number.

    last_seen: the last number seen in the stream, 0 for a new one. at: RFC 3339, UTC. also: entries of other
    streams that are kept with these or not at all (what a closing session takes from the shelf). Raises
    `Overtaken` when another terminal was first, `JournalUnusable` when it cannot be kept.
    """
    events = tuple(events)
    entries = tuple(Entry(*encode(event)) for event in events)
    streams = {stream: (last_seen, entries), **(also or {})}
    lines = lines_about(stream, events)
    for tries_left in reversed(range(_TRIES)):
        try:
            listing = {CONTENTS: (store.last_seq(CONTENTS), lines)} if lines else {}
            store.append({**streams, **listing}, at)
            break
        except Overtaken as overtaken:
            if overtaken.stream != CONTENTS or not tries_left:
                raise
    return last_seen + len(entries)


def load(store: Store, stream: str, after: int = 0) -> tuple[Event, ...]:
    """The session's events numbered above `after`. JournalUnusable when one cannot be read."""
    return tuple(_event(row) for row in store.read(stream, after))


def load_state(store: Store, stream: str) -> State:
    """Where the session stands."""
    from wetside.domain.session.state import replay

    return replay(load(store, stream))


def summaries(store: Store) -> tuple[SessionSummary, ...]:
    """Sessions and practices, those begun last first.

    Reads the table of contents and the unfinished sessions. A session that is not in the table is read whole; one
    that cannot be read is in the list too, with its `trouble`.
    """
    return newest(store, None)[0]


def newest(store: Store, most: int | None) -> tuple[tuple[SessionSummary, ...], int]:
    """As `summaries`, but of the closed ones only the `most` begun last; and how many are left out."""
    table, streams = session_index(store), _newest_first(store)
    told = [row for n, row in enumerate(streams) if most is None or n < most or table.open(row.stream)]
    return tuple(_summary(store, row, table) for row in told), len(streams) - len(told)


OWN_EVENINGS = 3
"""So many complete evenings make an experienced hand (our own number)."""


def is_experienced(store: Store) -> bool:
    """Whether `OWN_EVENINGS` evenings of one's own are complete: no practice and no invented example."""
    own = 0
    for stream in session_index(store).complete():
        try:
            began = _event(store.read(stream)[0])
        except (JournalUnusable, IndexError):
            continue
        own += began.kind == "session_began" and not began.plan.setup.invented and began.plan.kit is None
        if own >= OWN_EVENINGS:
            return True
    return False


def unfinished(store: Store) -> tuple[StreamSummary, ...]:
    """The sessions and practices that are not closed, those begun last first. Takes no event apart."""
    table = session_index(store)
    return tuple(row for row in _newest_first(store) if table.open(row.stream) and not closed(store, row.stream))


def closed(store: Store, stream: str) -> bool:
    """Whether the session was closed, by the kinds of its rows alone."""
    return any(row.kind == "session_closed" for row in store.read(stream, despite_gaps=True))


def resolve(store: Store, text: str) -> str:
    """The stream of the session a person means: its id, a unique beginning of it, or "last".

    "last" is the session begun last; practice only where there is nothing else. Refused, in a sentence, when
    no session or more than one is meant.
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


def _event(row: Envelope) -> Event:
    return decode(row.kind, row.version, row.data, f"{row.stream} {row.seq}")


def _summary(store: Store, stream: StreamSummary, table: Contents) -> SessionSummary:
    name = stream.stream
    listed, settled = table.listed(name), table.settled(name)
    if listed is not None and settled is not None:
        return _summed(stream, listed, settled, "")
    try:
        return _summed(stream, *_looked_up(store, name), "")
    except JournalUnusable as trouble:
        return _summed(
            stream, IndexedSession(name, "", stream.first_at, ()), Settled(name, "unknown", 0), str(trouble)
        )


def _summed(
    stream: StreamSummary, listed: IndexedSession, settled: Settled | _Open, trouble: str
) -> SessionSummary:
    return SessionSummary(
        session=_id(stream.stream),
        stream=stream.stream,
        title=listed.title,
        began_wall=listed.wall,
        outcome=settled.outcome,
        practice=stream.stream.startswith(PRACTICES),
        deviations=settled.deviations,
        rolls=listed.rolls,
        last_at=stream.last_at,
        trouble=trouble,
    )


@dataclass(frozen=True, slots=True)
class _Open:
    """An unfinished session's deviations so far."""

    deviations: int
    outcome: None = None


def _looked_up(store: Store, stream: str) -> tuple[IndexedSession, Settled | _Open]:
    """What the table of contents would say, from the session itself."""
    from wetside.domain.session.state import replay

    events = load(store, stream)
    if not events or events[0].kind != "session_began":
        raise JournalUnusable(f"{stream} does not start with its beginning: restore the journal from a copy.")
    began = events[0]
    listed = IndexedSession(
        stream, began.plan.setup.title, began.wall, tuple(r.label for r in began.plan.setup.rolls)
    )
    closed = next((event for event in reversed(events) if event.kind == "session_closed"), None)
    if closed is None:
        return listed, _Open(replay(events).deviations)
    return listed, Settled(stream, closed.outcome, closed.deviations)
