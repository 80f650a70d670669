"""The journal's table of contents: a few words about each session, so that a list of them reads no session.

One job: the rows of the stream "contents", appended in the same transaction as a session's beginning and its
close. A session's first row holds the whole plan, its line here a few words; and a line is only taken apart when
somebody asks for it. The sessions stay the truth: what is missing or unreadable here is looked up there.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal, get_args

from wetside.domain.session.outcome import Outcome
from wetside.errors import JournalUnusable
from wetside.frozen import dataclass
from wetside.storage.codec import Codec
from wetside.storage.store import Entry, Envelope, Store

if TYPE_CHECKING:
    from wetside.domain.session.events import Event

CONTENTS = "contents"


@dataclass(frozen=True, slots=True)
class IndexedSession:
    """A session has begun. `rolls` are their labels; wall: RFC 3339, UTC."""

    stream: str
    title: str
    wall: str
    rolls: tuple[str, ...]
    kind: Literal["session_listed"] = "session_listed"


@dataclass(frozen=True, slots=True)
class Settled:
    """It was closed."""

    stream: str
    outcome: Outcome
    deviations: int
    kind: Literal["session_settled"] = "session_settled"


_Line = IndexedSession | Settled
_LINES: Codec[_Line] = Codec(get_args(_Line), {"session_listed": 1, "session_settled": 1})


class Contents:
    """What the table says of each stream; a stream need not be in it. Taken from the rows as they lie there."""

    def __init__(self, rows: Iterable[Envelope]) -> None:
        self._rows: dict[tuple[str, str], Envelope] = {}
        for row in rows:
            try:
                stream = json.loads(row.data)["stream"]
            except (ValueError, TypeError, KeyError):
                continue
            if isinstance(stream, str):
                self._rows[row.kind, stream] = row

    def open(self, stream: str) -> bool:
        """Whether no line says that it was closed."""
        return ("session_settled", stream) not in self._rows

    def listed(self, stream: str) -> IndexedSession | None:
        """How it began; None when no line says so that can be read."""
        line = self._line("session_listed", stream)
        return line if isinstance(line, IndexedSession) else None

    def settled(self, stream: str) -> Settled | None:
        """How it was closed; None when no line says so that can be read."""
        line = self._line("session_settled", stream)
        return line if isinstance(line, Settled) else None

    def complete(self) -> tuple[str, ...]:
        """The streams of all sessions that were led to their end, those closed last first; no practices."""
        settled = (stream for kind, stream in reversed(self._rows) if kind == "session_settled")
        return tuple(
            stream
            for stream in settled
            if stream.startswith("session/")
            and (line := self.settled(stream)) is not None
            and line.outcome.startswith("complete")
        )

    def _line(self, kind: str, stream: str) -> _Line | None:
        row = self._rows.get((kind, stream))
        if row is None:
            return None
        try:
            return _LINES.decode(row.kind, row.version, row.data)
        except JournalUnusable:
            return None


def lines_about(stream: str, events: Iterable[Event]) -> tuple[Entry, ...]:
    """What these events of `stream` add to the table: nothing, unless the session begins or closes."""
    lines: list[_Line] = []
    for event in events:
        if event.kind == "session_began":
            setup = event.plan.setup
            lines.append(
                IndexedSession(stream, setup.title, event.wall, tuple(roll.label for roll in setup.rolls))
            )
        elif event.kind == "session_closed":
            lines.append(Settled(stream, event.outcome, event.deviations))
    return tuple(Entry(*_LINES.encode(line)) for line in lines)


def session_index(store: Store) -> Contents:
    """The whole table. Lines that a salvage lost or that cannot be read are left out."""
    return Contents(store.read(CONTENTS, despite_gaps=True))
