"""The journal's table of contents: a few words about each session, so that a list of them reads no session.

One job: the rows of the stream "contents", appended in the same transaction as a session's beginning and its
close. A session's first row holds the whole plan: reading the first rows of 1,000 sessions took 150 ms, their
lines here take 18 ms. The sessions stay the truth: what is missing or unreadable here is looked up there.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from wetside.errors import JournalUnusable
from wetside.frozen import dataclass
from wetside.journal.codec import Codec
from wetside.journal.store import Entry, Store
from wetside.session.events import Event, Outcome, SessionBegan, SessionClosed

CONTENTS = "contents"


@dataclass(frozen=True, slots=True)
class Listed:
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


_Line = Listed | Settled
_LINES: Codec[_Line] = Codec(get_args(_Line), {"session_listed": 1, "session_settled": 1})


@dataclass(frozen=True, slots=True)
class Contents:
    """What the table says, by stream; a stream need not be in either."""

    listed: dict[str, Listed]
    settled: dict[str, Settled]


def lines_about(stream: str, events: Iterable[Event]) -> tuple[Entry, ...]:
    """What these events of `stream` add to the table: nothing, unless the session begins or closes."""
    lines: list[_Line] = []
    for event in events:
        match event:
            case SessionBegan(plan=plan, wall=wall):
                labels = tuple(roll.label for roll in plan.setup.rolls)
                lines.append(Listed(stream, plan.setup.title, wall, labels))
            case SessionClosed(outcome=outcome, deviations=deviations):
                lines.append(Settled(stream, outcome, deviations))
            case _:
                pass
    return tuple(Entry(*_LINES.encode(line)) for line in lines)


def contents(store: Store) -> Contents:
    """The whole table. Lines that a salvage lost or that cannot be read are left out."""
    listed: dict[str, Listed] = {}
    settled: dict[str, Settled] = {}
    for row in store.read(CONTENTS, despite_gaps=True):
        try:
            line = _LINES.decode(row.kind, row.version, row.data)
        except JournalUnusable:
            continue
        match line:
            case Listed():
                listed[line.stream] = line
            case Settled():
                settled[line.stream] = line
    return Contents(listed, settled)
