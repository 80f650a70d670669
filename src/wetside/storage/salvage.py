"""The readable rows of a damaged journal, copied into a new one or loaded into a database in memory.

The pages are read one by one, skipping broken ones. The old file and the files beside it are read as plain files
and never opened as a database. Rows that are lost leave gaps in the numbers, which the report names.

A row counts when all its parts can be read, its time is a time and its data is JSON. The index is read too: it
lists the rows there were, so a row whose page is gone can be named as lost, and a number or a name with a flipped
bit is corrected when the index and its neighbours agree on another. A flipped bit inside a text that is still
valid cannot be detected.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

from msgspec import Struct

from wetside.errors import JournalUnusable, Refused
from wetside.files.atomic_write import reason, shown_path
from wetside.storage.journal_file import MOMENT, Row, create, fill, unusable
from wetside.storage.page_reader import Image, Unreadable, Value, index_keys, read_image, table_rows

_Key = tuple[str, int]
_Found = tuple[int, _Key, tuple[str, str, int, str]]
"""rowid; stream and seq; at, kind, version, data."""
Span = tuple[int, int]
"""First and last number of an unbroken run."""


class StreamSalvage(Struct, frozen=True):
    """One stream: how many entries were kept, and which are known to be lost."""

    stream: str
    kept: int
    lost: tuple[Span, ...]


class Salvage(Struct, frozen=True):
    """The result. `missing_pages`: pages that the file should have; `unreadable`: cells that could not be read
    as rows. When either is not 0, more may be lost at the end of a stream than `lost` can name."""

    streams: tuple[StreamSalvage, ...]
    missing_pages: int
    unreadable: int

    @property
    def kept(self) -> int:
        return sum(stream.kept for stream in self.streams)

    @property
    def whole(self) -> bool:
        """Whether nothing is known to be lost."""
        return not (self.missing_pages or self.unreadable or any(stream.lost for stream in self.streams))


class Remains(Struct, frozen=True):
    """The readable rows, as a journal in memory, and the report of what is known to be lost."""

    rows: sqlite3.Connection
    report: Salvage

    def lost_after(self, stream: str, after: int) -> int | None:
        """The first number above `after` that `stream` is known to have lost; None when there is none."""
        spans = next((found.lost for found in self.report.streams if found.stream == stream), ())
        return next((max(first, after + 1) for first, last in spans if last > after), None)


def salvage(path: Path, to: Path, *others: Path) -> Salvage:
    """Copy every readable row of the journal at `path` into a new journal at `to`.

    others: journals that may have what this one lacks, such as a copy, or the journal a session was continued in;
    where two have the same number, the one named first counts. No process may have one of them open, this one
    least of all: closing a plain file drops SQLite's locks on it. Raises `Refused` when `to` exists or a journal
    is being written, `JournalUnusable` when one cannot be read at all or holds no readable row; then nothing is
    written.
    """
    to = Path(os.path.abspath(to))
    taken = Refused(f"{shown_path(to)}: there is such a file already; name another for what is salvaged.")
    if os.path.lexists(to):
        raise taken
    rows: dict[_Key, Row] = {}
    lost: set[_Key] = set()
    missing = unread = 0
    for one in (path, *others):
        one = Path(os.path.abspath(one))
        found, report = _readable(_image_of(one))
        if not found:
            raise _no_rows(one)
        for row in found:
            rows.setdefault((row[0], row[1]), row)
        lost |= {(each.stream, seq) for each in report.streams for a, b in each.lost for seq in range(a, b + 1)}
        missing, unread = missing + report.missing_pages, unread + report.unreadable
    try:
        create(to, rows.values())
    except FileExistsError as problem:
        raise taken from problem
    return Salvage(_counts(set(rows), lost - set(rows)), missing, unread)


def remains_of(connection: sqlite3.Connection) -> Remains:
    """What can be read of the journal behind an open connection. Raises sqlite3.Error when no page of it can."""
    return _remains(read_image(connection.serialize(), b""))


def remains_in(path: Path) -> Remains:
    """What can be read of the file at `path` and the -wal file beside it.

    Not to be called in a process that has the journal open. Raises `Refused` when it is being written, and
    `JournalUnusable` when not one row of it can be read.
    """
    found = _remains(_image_of(path))
    if not found.report.kept:
        raise _no_rows(path)
    return found


def _no_rows(path: Path) -> JournalUnusable:
    return unusable(path, "no-rows")


def _remains(image: Image) -> Remains:
    rows, report = _readable(image)
    connection = sqlite3.connect(":memory:", isolation_level=None)
    fill(connection, rows)
    return Remains(connection, report)


def _readable(image: Image) -> tuple[list[Row], Salvage]:
    """Every whole row in the order it was written, and what is known to be lost."""
    rows, unreadable = _rows(image)
    listed = _index(image)
    corrected = _corrected(rows, listed)
    kept = {key for _, key, _ in corrected}
    placed = {rowid for rowid, _, _ in corrected}
    lost = {key for rowid, key in listed.items() if rowid not in placed} - kept
    report = Salvage(_counts(kept, lost), image.missing, unreadable + len(rows) - len(corrected))
    return [(*key, *rest) for _, key, rest in sorted(corrected)], report


def _image_of(path: Path) -> Image:
    """The pages of the journal at `path`, with its -wal file. Raises as `salvage` does."""
    wal = Path(f"{path}-wal")
    try:
        before = (_stamp(path), _stamp(wal))
        image = read_image(path.read_bytes(), wal.read_bytes() if wal.exists() else b"")
        after = (_stamp(path), _stamp(wal))
    except (OSError, ValueError) as problem:
        raise unusable(path, "not-read", problem=reason(problem)) from problem
    if before != after:
        raise Refused(
            f"Journal {shown_path(path)}: somebody is writing to it; close every guide, then salvage again."
        )
    return image


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        seen = path.stat()
    except FileNotFoundError:
        return None
    return seen.st_size, seen.st_mtime_ns


def _rows(image: Image) -> tuple[set[_Found], int]:
    """Whole rows with their rowids, and the number of cells that could not be read.

    Older versions of a page are read too: as rows never change, they can only add rows that the newest has lost.
    """
    found: set[_Found] = set()
    known: set[_Key] = set()
    broken: set[tuple[int, int]] = set()
    # the newest first, as it is kept where a number is read twice
    for number, page in sorted(image.versions, key=lambda version: image.pages[version[0]] is not version[1]):
        if number == 1:
            continue  # the schema
        newest = image.pages[number] is page
        for place, cell in enumerate(table_rows(image, page)):
            row = None if isinstance(cell, Unreadable) else _row(cell)
            if row is None:
                broken.update({(number, place)} if newest else ())
            elif newest or row[1] not in known:
                found.add(row)
                known.add(row[1])
    return found, len(broken)


def _row(cell: tuple[int, tuple[Value, ...]]) -> _Found | None:
    rowid, values = cell
    match values:
        case (str(stream), int(seq), str(at), str(kind), int(version), str(data)):
            if stream and seq > 0 and MOMENT.fullmatch(at) and _is_json(data):
                return rowid, (stream, seq), (at, kind, version, data)
    return None


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def _index(image: Image) -> dict[int, _Key]:
    """(stream, seq) by rowid, as far as the index can be read."""
    found: dict[int, _Key] = {}
    for page in image.pages.values():
        for values in index_keys(image, page):
            match values:
                case (str(stream), int(seq), int(rowid)) if seq > 0:
                    found[rowid] = (stream, seq)
    return found


def _corrected(rows: set[_Found], listed: Mapping[int, _Key]) -> set[_Found]:
    """Where row and index disagree on a number, take the one that has neighbours; each number once."""
    keys = {key for _, key, _ in rows}

    def neighbours(key: _Key) -> int:
        return ((key[0], key[1] - 1) in keys) + ((key[0], key[1] + 1) in keys)

    by_key: dict[_Key, _Found] = {}
    # rows that agree with the index go first, so that a misread one cannot take their number
    for rowid, key, rest in sorted(rows, key=lambda row: (listed.get(row[0], row[1]) != row[1], row)):
        other = listed.get(rowid, key)
        if neighbours(other) > neighbours(key):
            key = other
        by_key.setdefault(key, (rowid, key, rest))
    return set(by_key.values())


def _counts(kept: set[_Key], lost: set[_Key]) -> tuple[StreamSalvage, ...]:
    numbers: dict[str, tuple[list[int], list[int]]] = {}
    for place, keys in enumerate((kept, lost)):
        for stream, seq in sorted(keys):
            numbers.setdefault(stream, ([], []))[place].append(seq)
    return tuple(
        StreamSalvage(stream, len(of_kept), _lost(of_kept, of_lost))
        for stream, (of_kept, of_lost) in sorted(numbers.items())
    )


def _lost(kept: list[int], listed: list[int]) -> tuple[Span, ...]:
    """The runs missing from 1 to the last number kept, and those after it that the index lists."""
    spans = [(before + 1, seq - 1) for before, seq in pairwise((0, *kept)) if seq > before + 1]
    last = kept[-1] if kept else 0
    for seq in (seq for seq in listed if seq > last):
        if spans and spans[-1][1] == seq - 1:
            spans[-1] = (spans[-1][0], seq)
        else:
            spans.append((seq, seq))
    return tuple(spans)
