"""The session's events as JSON lines: nothing added but order, wall time and whether it was practice.

One job: one event a line, with its kind, its version and its data exactly as the journal keeps them, so that the
lines can be read back into equal events. ASCII throughout: no letter in it can act.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from wetside.domain.session.events import Event, SessionBegan
from wetside.export.wall_times import source_of_times
from wetside.storage.codec import encode


def export_jsonl(events: Sequence[Event]) -> str:
    """One line an event: number, practice, wall (RFC 3339), kind, version, data.

    JournalUnusable when the events do not start with the session's beginning.
    """
    rows = source_of_times(events)
    practice = isinstance(events[0], SessionBegan) and events[0].practice
    lines = []
    for number, row in enumerate(rows, start=1):
        kind, version, data = encode(row.event)
        wall = row.moment.wall.isoformat(timespec="milliseconds")
        head = {"number": number, "practice": practice, "wall": wall, "kind": kind, "version": version}
        # the data is written by the codec already: put in as it is, it stays byte for byte what the journal holds
        lines.append(f'{json.dumps(head, separators=(",", ":"))[:-1]},"data":{data}}}\n')
    return "".join(lines)
