"""What a damaged journal still says: its whole rows in a database in memory, which answers the same questions.

One job: let a damaged page bar no more than the rows on it. The file is only read, and nothing of it is changed.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from wetside.frozen import dataclass
from wetside.storage import schema
from wetside.storage.page_reader import Image, read_image
from wetside.storage.salvage import Salvage, image_of, readable


@dataclass(frozen=True, slots=True)
class Remains:
    """The rows that read, as a journal in memory, and what is known to be lost."""

    rows: sqlite3.Connection
    report: Salvage

    def lost_after(self, stream: str, after: int) -> int | None:
        """The first number above `after` that `stream` is known to have lost; None when there is none."""
        spans = next((found.lost for found in self.report.streams if found.stream == stream), ())
        return next((max(first, after + 1) for first, last in spans if last > after), None)


def remains_of(connection: sqlite3.Connection) -> Remains:
    """What can be read of the journal behind an open connection. Raises sqlite3.Error when no page of it can."""
    return _remains(read_image(connection.serialize(), b""))


def remains_in(path: Path) -> Remains | None:
    """What can be read of the file at `path` and the -wal file beside it; None when not one row can.

    Not to be called in a process that has the journal open (see `salvage`). Raises as `image_of` does.
    """
    found = _remains(image_of(path))
    return found if found.report.kept else None


def _remains(image: Image) -> Remains:
    rows, report = readable(image)
    connection = sqlite3.connect(":memory:", isolation_level=None)
    schema.fill(connection, rows)
    return Remains(connection, report)
