"""The session's events as JSON lines: nothing added but a format number, order, wall time and practice.

One job: one event a line, with its kind, its version and its data as the journal keeps them, so that the lines can
be read back into events; what names the machine or a terminal is left empty. ASCII throughout: no letter can act.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from wetside.domain.session.events import Event, SessionBegan, SessionResumed
from wetside.export.wall_times import source_of_times
from wetside.storage.codec import encode

FORMAT: Final = 2
"""Stands first in every line; it rises when a reader of an older one would be misled."""


def export_jsonl(events: Sequence[Event]) -> str:
    """One line an event: format, number, practice, wall (RFC 3339), kind, version, data.

    JournalUnusable when the events do not start with the session's beginning.
    """
    rows = source_of_times(events)
    practice = isinstance(events[0], SessionBegan) and events[0].practice
    lines = []
    for number, row in enumerate(rows, start=1):
        kind, version, data = encode(nameless(row.event))
        wall = row.moment.wall.isoformat(timespec="milliseconds")
        head = {
            "format": FORMAT,
            "number": number,
            "practice": practice,
            "wall": wall,
            "kind": kind,
            "version": version,
        }
        # the data is written by the codec already: put in as it is, it stays byte for byte what the journal holds
        lines.append(f'{json.dumps(head, separators=(",", ":"))[:-1]},"data":{data}}}\n')
    return "".join(lines)


def nameless(event: Event) -> Event:
    """The event without what tells this machine and its terminals from others."""
    if isinstance(event, SessionBegan | SessionResumed):
        return replace(event, boot_id="", boot_s=0.0, terminal="")
    return event
