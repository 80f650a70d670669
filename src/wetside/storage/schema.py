"""The shape of the journal file: how a new one is made whole, and how an old one is known.

One job: the table, its guards, and the numbers in the file's header. A new journal is built under another name,
forced to disk and takes its name in one act, so nobody ever opens half of one, and two programs that start at
once end with one journal. It must not know what an event means.

The guards are triggers: rows are neither changed nor taken away, and (stream, seq) is never written twice, not
even by INSERT OR REPLACE, which fires no DELETE trigger.
"""

from __future__ import annotations

import errno
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Final

from wetside.files.atomic_write import take_free_name
from wetside.storage.sqlite_errors import KEEP_AND_SALVAGE, NOT_OURS, said, unusable

APPLICATION_ID: Final = 0x57455453
USER_VERSION: Final = 1
PAGE_SIZE: Final = 4096
KEPT_APART: Final = "kept-"
"""Begins the name of the folder beside the journal in which a session goes on when its journal is lost."""

MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?Z")
"""RFC 3339 in UTC, as `at` is written."""
INSERT: Final = "INSERT INTO journal(stream, seq, at, kind, version, data) VALUES (?, ?, ?, ?, ?, ?)"
Row = tuple[str, int, str, str, int, str]
"""stream, seq, at, kind, version, data."""

_SCHEMA: Final = {
    "journal": (
        "CREATE TABLE journal(stream TEXT NOT NULL, seq INTEGER NOT NULL CHECK (seq > 0), at TEXT NOT NULL, "
        "kind TEXT NOT NULL, version INTEGER NOT NULL, data TEXT NOT NULL, PRIMARY KEY(stream, seq)) STRICT"
    ),
    "journal_row_stays": (
        "CREATE TRIGGER journal_row_stays BEFORE DELETE ON journal "
        "BEGIN SELECT RAISE(ABORT, 'the journal keeps every row'); END"
    ),
    "journal_row_stands": (
        "CREATE TRIGGER journal_row_stands BEFORE UPDATE ON journal "
        "BEGIN SELECT RAISE(ABORT, 'the journal changes no row'); END"
    ),
    "journal_row_once": (
        "CREATE TRIGGER journal_row_once BEFORE INSERT ON journal WHEN EXISTS "
        "(SELECT 1 FROM journal WHERE stream = NEW.stream AND seq = NEW.seq) "
        "BEGIN SELECT RAISE(ABORT, 'the journal writes no row twice'); END"
    ),
}


def create(path: Path, rows: Iterable[Row] = ()) -> None:
    """Make a journal at `path`, mode 0600, holding `rows`.

    Raises `FileExistsError` when the name is taken (by a link too), `JournalUnusable` when the disk or the folder
    will not have it. Either way nothing is left behind and what stood at `path` stands.
    """
    if os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    try:
        # mkstemp makes it 0600, and SQLite gives the -wal and -shm files the mode of the database
        descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".wetside-", suffix=".part")
    except OSError as problem:
        raise _not_made(path, problem) from problem
    os.close(descriptor)
    part = Path(name)
    try:
        with said(path):
            _build(part, path, rows)
        take_free_name(part, path)
    except FileExistsError:
        raise
    except OSError as problem:
        raise _not_made(path, problem) from problem
    finally:
        for leftover in (name, f"{name}-wal", f"{name}-shm", f"{name}-journal"):
            Path(leftover).unlink(missing_ok=True)


def fill(connection: sqlite3.Connection, rows: Iterable[Row]) -> None:
    """Make the table and its guards in an empty database, and put `rows` in."""
    for statement in _SCHEMA.values():
        connection.execute(statement)
    connection.executemany(INSERT, rows)


def check(path: Path, connection: sqlite3.Connection) -> None:
    """Refuse a database that is not a journal, is newer than this program, or is built otherwise.

    Reads the first page only. Raises `JournalUnusable`.
    """
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application_id != APPLICATION_ID:
        raise unusable(path, "it is not a journal of Wetside, or its beginning is damaged", NOT_OURS, damaged=True)
    if version > USER_VERSION:
        raise unusable(
            path,
            f"it was written by a newer Wetside (its form is {version}, this program knows {USER_VERSION})",
            "use the newer program; nothing was changed",
        )
    built = dict(connection.execute("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL").fetchall())
    if version != USER_VERSION or built != _SCHEMA:
        raise unusable(path, "it is not built as this program builds a journal", KEEP_AND_SALVAGE, damaged=True)


def _build(part: Path, path: Path, rows: Iterable[Row]) -> None:
    with closing(sqlite3.connect(part, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA page_size = {PAGE_SIZE}")
        (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        if mode != "wal":
            raise unusable(
                path,
                "this kind of disk cannot keep a journal safely",
                "choose a data folder on a local disk with --data",
            )
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {USER_VERSION}")
        fill(connection, rows)
        connection.execute("COMMIT")
        (blocked, _, _) = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if blocked:
            raise unusable(path, "it could not be written whole", "try again")


def _not_made(path: Path, problem: OSError) -> Exception:
    match problem.errno:
        case errno.ENOENT | errno.ENOTDIR:
            return unusable(path, "its folder does not exist", "make the folder first")
        case errno.ENOSPC | errno.EDQUOT:
            return unusable(path, "the disk is full, so no journal could be begun", "make room, then try again")
        case _:
            return unusable(
                path,
                f"it cannot be made in its folder ({problem.strerror})",
                "give yourself leave to write there, or choose another data folder with --data",
            )
