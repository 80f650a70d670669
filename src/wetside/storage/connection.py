"""Opening a journal's file: what is looked at before anyone trusts it.

One job: an open connection to a file that is a journal, or the sentence that says why not. It must not read
entries.

What is looked at. The first page (is it a journal, how new, built as ours) and the size of the file against the
size it should have, so a journal cut short is refused at once. SQLite's own quick_check took 61 ms for 200,000
rows (90 MB) that were in memory already, so it is not run here.

A symbolic link is not followed: SQLite names the -wal file after the path it was given, so the same journal
opened through a link and directly can part into two.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import suppress
from pathlib import Path
from typing import Final

from wetside.files.atomic_write import shown_path
from wetside.storage import schema
from wetside.storage.sqlite_errors import KEEP_AND_SALVAGE, unusable

BUSY_TIMEOUT_S: Final = 2.0

_CLOSED_FOLDER: Final = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)

Identity = tuple[int, int]
"""Device and inode."""


def identities(path: Path) -> tuple[Identity | None, ...]:
    """Device and inode of the database and of its -wal and -shm files, None where there is none."""
    found: list[Identity | None] = []
    for name in (path, f"{path}-wal", f"{path}-shm"):
        try:
            seen = os.lstat(name)
        except OSError:
            found.append(None)
        else:
            found.append((seen.st_dev, seen.st_ino))
    return tuple(found)


def sizes(path: Path) -> tuple[tuple[int, int], ...]:
    """Size and time of last change of the database and of its -wal file, zeros where there is none."""
    found: list[tuple[int, int]] = []
    for name in (path, f"{path}-wal"):
        try:
            seen = os.lstat(name)
        except OSError:
            found.append((0, 0))
        else:
            found.append((seen.st_size, seen.st_mtime_ns))
    return tuple(found)


def anew(path: Path) -> sqlite3.Connection:
    """One more connection, read-only: it trusts nothing that another one remembers of the pages."""
    connection = _plainly(path, "mode=ro")
    connection.execute("PRAGMA cell_size_check = ON")
    return connection


def inspect_file(path: Path) -> Identity | None:
    """What stands at `path`: None for nothing, else its identity; refuse what cannot be a journal."""
    try:
        seen = path.lstat()
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as problem:
        why = problem.strerror if isinstance(problem, OSError) else str(problem)
        raise unusable(
            path, f"it cannot be reached ({why})", "choose another data folder with --data"
        ) from problem
    if stat.S_ISLNK(seen.st_mode):
        raise unusable(
            path, "it is a symbolic link, and those are not followed", "name the true folder with --data"
        )
    if not stat.S_ISREG(seen.st_mode):
        what = "a folder" if stat.S_ISDIR(seen.st_mode) else "not a plain file"
        raise unusable(path, f"it is {what}", "move it away, or choose another data folder with --data")
    if seen.st_size == 0:
        raise unusable(
            path,
            "it is empty, which no journal ever is",
            "bring back a copy of it (the folder copies beside it has some, if any session was closed); if there "
            "never was a session, delete it",
        )
    return seen.st_dev, seen.st_ino


def make(path: Path, read_only: bool) -> None:
    """Make the journal that is not there yet, unless only reading is wanted."""
    if read_only:
        raise unusable(path, "there is no such file", "begin a session first, or name the data folder with --data")
    if (wal := Path(f"{path}-wal")).exists() and wal.stat().st_size > 0:
        # a new file of this name would have the old -wal played into it
        raise unusable(
            path,
            f"it is gone, but entries that belong to it are still in {shown_path(wal)}",
            "bring the journal back beside it, or move that file away and keep it",
        )
    with suppress(FileExistsError):  # another program was first, and its journal is as good
        schema.create(path)


def connect(path: Path, read_only: bool) -> sqlite3.Connection:
    """A connection that has looked at the file and found a journal. Raises sqlite3.Error or JournalUnusable."""
    if not read_only:
        _make_private(path)
    connection = _plainly(path, "mode=ro" if read_only else "mode=rw")
    try:
        _prepare(path, connection, read_only)
    except sqlite3.OperationalError as problem:
        connection.close()
        if not read_only or problem.sqlite_errorcode & 0xFF not in _CLOSED_FOLDER:
            raise
        return _unchanging(path)
    except BaseException:
        connection.close()
        raise
    return connection


def _make_private(path: Path) -> None:
    """A journal brought back from a copy may be open to others; SQLite gives its -wal file the same mode."""
    with suppress(OSError):  # not ours to change; whether it can be written is found out next
        if path.lstat().st_mode & 0o077:
            path.chmod(0o600)


def _plainly(path: Path, how: str) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.as_uri()}?{how}", uri=True, timeout=BUSY_TIMEOUT_S, isolation_level=None)


def _unchanging(path: Path) -> sqlite3.Connection:
    """Open a journal in a folder where no -wal file can be made, as one that nobody can be writing to."""
    try:
        left = os.lstat(f"{path}-wal").st_size
    except FileNotFoundError:
        left = 0
    if left:
        raise unusable(
            path,
            "its last entries are in the -wal file beside it, unread while the folder is closed to writing",
            "copy both into a folder of your own and open them there",
        )
    connection = _plainly(path, "mode=ro&immutable=1")
    try:
        _prepare(path, connection, read_only=True)
    except BaseException:
        connection.close()
        raise
    return connection


def _prepare(path: Path, connection: sqlite3.Connection, read_only: bool) -> None:
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    schema.check(path, connection)
    if not read_only:
        (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        if mode != "wal":
            raise unusable(path, "this kind of disk cannot keep it safely", "choose a local disk with --data")
        connection.execute("PRAGMA synchronous = FULL")
        # an empty transaction: says now, not at the first event, that it cannot be written
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("ROLLBACK")
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (page_size,) = connection.execute("PRAGMA page_size").fetchone()
    _refuse_cut_short(path, pages, page_size)


def _refuse_cut_short(path: Path, pages: int, page_size: int) -> None:
    """Refuse when pages lie beyond the file's end that the -wal file does not hold either."""
    on_file = path.lstat().st_size // page_size
    if on_file >= pages:
        return
    from wetside.storage.page_reader import committed_frames

    try:
        # SQLite takes no lock on the -wal file itself, so reading it plainly drops none
        held = {frame.page for frame in committed_frames(Path(f"{path}-wal").read_bytes())}
    except OSError:
        held = set()
    missing = sum(page not in held for page in range(on_file + 1, pages + 1))
    if missing:
        why = f"it is cut short: {missing} of its {pages} pages are missing"
        raise unusable(path, why, KEEP_AND_SALVAGE, damaged=True)
