"""The journal's file: making a new one, the checks on opening, and sentences for SQLite's errors.

A new journal is built under another name, synced to disk and renamed atomically, so that an incomplete one is
never opened, and two programs that start at once end with one journal. Its guards are triggers: rows are neither
changed nor deleted, and (stream, seq) is never written twice, not even by INSERT OR REPLACE, which fires no DELETE
trigger.

On opening, the first page is checked (application id, version, schema) and the size of the file against
the size it should have, so that a journal cut short is refused at once. SQLite's own quick_check took 61 ms for
200,000 rows (90 MB) that were in memory already, so it is not run here.

A symbolic link is refused: SQLite names the -wal file after the path it was given, so that one journal opened
through a link and directly would have two -wal files.
"""

from __future__ import annotations

import errno
import os
import re
import sqlite3
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any, Final

from wetside.errors import JournalDamaged, JournalUnusable
from wetside.files.atomic_write import reason, shown_path, take_free_name

APPLICATION_ID: Final = 0x57455453
USER_VERSION: Final = 1
PAGE_SIZE: Final = 4096
BUSY_TIMEOUT_S: Final = 2.0
KEPT_APART: Final = "kept-"
"""Prefix of the folder beside the journal in which a session is continued when its journal is lost."""

MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?Z")
"""RFC 3339 in UTC, as `at` is written."""
INSERT: Final = "INSERT INTO journal(stream, seq, at, kind, version, data) VALUES (?, ?, ?, ?, ?, ?)"
Row = tuple[str, int, str, str, int, str]
"""stream, seq, at, kind, version, data."""
Identity = tuple[int, int]
"""Device and inode."""

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

_NO_ROOM: Final = sqlite3.SQLITE_IOERR_SHMSIZE
"""The error on opening a journal on a full disk: there is no room for the -shm file."""
_NO_FILE_BESIDE: Final = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, _NO_ROOM)


def _sentences() -> Any:
    from wetside.present.sentences import word_table  # only where there is an error

    return word_table("journal_errors")


def unusable(
    path: Path, code: str, *, detail: object = None, damaged: bool = False, **values: object
) -> JournalUnusable:
    """The error about the journal at `path`; the sentence of its code is in `present/journal_errors.toml`.

    detail: for the whole sentence only. damaged: also where the table does not say so. values: for the sentence.
    """
    table = _sentences()
    words = table[code]
    why, do = words["why"].format(**values), table["remedies"].get(words["do"], words["do"])
    brief = words.get("brief", "the journal: {why}; {do}.").format(**values, why=why, do=do)
    told = why if detail is None else f"{why} ({detail})"
    kind = JournalDamaged if damaged or "damaged" in words else JournalUnusable
    return kind(f"Journal {shown_path(path)}: {told}; {do}.", brief)


def is_damage(problem: sqlite3.Error) -> bool:
    """Whether the error reports missing or wrong bytes."""
    code: int | None = getattr(problem, "sqlite_errorcode", None)
    if code is None:
        # raised by the Python module, without an error code, for a text that is not UTF-8
        return isinstance(problem, sqlite3.OperationalError)
    return (
        code & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) or code == sqlite3.SQLITE_IOERR_SHORT_READ
    )


@contextmanager
def sqlite_errors_in_words(path: Path) -> Iterator[None]:
    """Raises errors of SQLite as `JournalUnusable`."""
    try:
        yield
    except sqlite3.Error as problem:
        code: int | None = getattr(problem, "sqlite_errorcode", None)
        code = sqlite3.SQLITE_FULL if code == _NO_ROOM else code
        names = {getattr(sqlite3, name): name for name in _sentences() if name.startswith("SQLITE")}
        if code is not None and code & 0xFF in names:  # the low byte of a code is the primary one
            raise unusable(path, names[code & 0xFF], detail=problem, damaged=is_damage(problem)) from problem
        name = "row" if code is None else "refused"
        raise unusable(path, name, damaged=is_damage(problem), problem=problem) from problem


def create(path: Path, rows: Iterable[Row] = ()) -> None:
    """Make a journal at `path`, mode 0600, holding `rows`.

    Raises `FileExistsError` when the name is taken (by a link too), `JournalUnusable` when it cannot be created.
    Either way nothing is left behind, and a file at `path` is not changed.
    """
    if os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    try:
        with unfinished_file(path.parent) as part:
            with sqlite_errors_in_words(path):
                _build(part, path, rows)
            take_free_name(part, path)
    except FileExistsError:
        raise
    except OSError as problem:
        codes = {
            errno.ENOENT: "no-folder",
            errno.ENOTDIR: "no-folder",
            errno.ENOSPC: "disk-full",
            errno.EDQUOT: "disk-full",
        }
        raise unusable(path, codes.get(problem.errno or 0, "not-made"), problem=problem.strerror) from problem


@contextmanager
def unfinished_file(folder: Path) -> Iterator[Path]:
    """An empty file for a database that is being made; deleted at the end, where it was not renamed."""
    # mkstemp makes it 0600, and SQLite gives the -wal and -shm files the mode of the database
    descriptor, name = tempfile.mkstemp(dir=folder, prefix=".wetside-", suffix=".part")
    os.close(descriptor)
    try:
        yield Path(name)
    finally:
        remove_database(Path(name))


def remove_database(path: Path) -> None:
    """Delete this file and the files that SQLite may have left beside it."""
    for suffix in ("", "-wal", "-shm", "-journal"):
        Path(f"{path}{suffix}").unlink(missing_ok=True)


def fill(connection: sqlite3.Connection, rows: Iterable[Row]) -> None:
    """Make the table and its guards in an empty database, and put `rows` in."""
    for statement in _SCHEMA.values():
        connection.execute(statement)
    connection.executemany(INSERT, rows)


def check(path: Path, connection: sqlite3.Connection) -> None:
    """Check that a database is a journal that this program can read, by its first page.

    Raises `JournalUnusable` for another application id, a newer version or another schema.
    """
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application_id != APPLICATION_ID:
        raise unusable(path, "other-file")
    if version > USER_VERSION:
        raise unusable(path, "newer", version=version, known=USER_VERSION)
    try:
        built = dict(connection.execute("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL").fetchall())
    except UnicodeDecodeError:  # SQLite's message quotes the damaged schema, and sqlite3 cannot decode it
        built = {}
    if version != USER_VERSION or built != _SCHEMA:
        raise unusable(path, "other-schema")


def _build(part: Path, path: Path, rows: Iterable[Row]) -> None:
    with closing(sqlite3.connect(part, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA page_size = {PAGE_SIZE}")
        (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        if mode != "wal":
            raise unusable(path, "no-wal-here")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {USER_VERSION}")
        fill(connection, rows)
        connection.execute("COMMIT")
        (blocked, _, _) = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if blocked:
            raise unusable(path, "not-whole")


def identities(path: Path) -> tuple[Identity | None, ...]:
    """Device and inode of the database and of its -wal and -shm files, None where there is none."""
    found = (_lstat(name) for name in (path, f"{path}-wal", f"{path}-shm"))
    return tuple(None if seen is None else (seen.st_dev, seen.st_ino) for seen in found)


def sizes(path: Path) -> tuple[tuple[int, int], ...]:
    """Size and time of last change (ns) of the database and of its -wal file, zeros where there is none."""
    found = (_lstat(name) for name in (path, f"{path}-wal"))
    return tuple((0, 0) if seen is None else (seen.st_size, seen.st_mtime_ns) for seen in found)


def _lstat(name: Path | str) -> os.stat_result | None:
    try:
        return os.lstat(name)
    except OSError:
        return None


def inspect_file(path: Path) -> Identity | None:
    """The identity of the file at `path`, None without one. JournalUnusable for what cannot be a journal."""
    try:
        seen = path.lstat()
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as problem:
        raise unusable(path, "not-reached", problem=reason(problem)) from problem
    if stat.S_ISLNK(seen.st_mode):
        raise unusable(path, "link")
    if not stat.S_ISREG(seen.st_mode):
        raise unusable(path, "no-file", what="a folder" if stat.S_ISDIR(seen.st_mode) else "not a plain file")
    if seen.st_size == 0:
        raise unusable(path, "empty")
    return seen.st_dev, seen.st_ino


def create_missing(path: Path, read_only: bool) -> None:
    """Make a missing journal. Raises JournalUnusable when `read_only`."""
    if read_only:
        raise unusable(path, "missing")
    if (wal := Path(f"{path}-wal")).exists() and wal.stat().st_size > 0:
        # SQLite would replay the old -wal file into a new file of this name
        raise unusable(path, "gone", wal=shown_path(wal))
    with suppress(FileExistsError):  # another program was first, and its journal is as good
        create(path)


def connect(path: Path, read_only: bool) -> sqlite3.Connection:
    """A connection to an inspected file. Raises sqlite3.Error or JournalUnusable."""
    if not read_only:
        # a file restored from a copy may be readable by others; SQLite gives its -wal file the same mode. Where
        # the mode cannot be changed, opening shows whether it can be written
        with suppress(OSError):
            if path.lstat().st_mode & 0o077:
                path.chmod(0o600)
    try:
        return _prepared(path, "mode=ro" if read_only else "mode=rw", read_only)
    except sqlite3.OperationalError as problem:
        code = problem.sqlite_errorcode
        if not read_only or (code if code == _NO_ROOM else code & 0xFF) not in _NO_FILE_BESIDE:
            raise
        return _connect_immutable(path)


def _connect_immutable(path: Path) -> sqlite3.Connection:
    """Open a journal beside which no -wal or -shm file can be made, so that no process can be writing to it."""
    wal = _lstat(f"{path}-wal")
    if wal is not None and wal.st_size:
        raise unusable(path, "wal-unread")
    return _prepared(path, "mode=ro&immutable=1", read_only=True)


def connect_again(path: Path) -> sqlite3.Connection:
    """A further read-only connection, with an empty page cache."""
    connection = _connection(path, "mode=ro")
    connection.execute("PRAGMA cell_size_check = ON")
    return connection


def _connection(path: Path, how: str) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.as_uri()}?{how}", uri=True, timeout=BUSY_TIMEOUT_S, isolation_level=None)


def _prepared(path: Path, how: str, read_only: bool) -> sqlite3.Connection:
    connection = _connection(path, how)
    try:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA cell_size_check = ON")
        check(path, connection)
        if not read_only:
            (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
            if mode != "wal":
                raise unusable(path, "no-wal")
            connection.execute("PRAGMA synchronous = FULL")
            # an empty transaction, so that a journal that cannot be written is reported now, not at the first
            # event
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("ROLLBACK")
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        (page_size,) = connection.execute("PRAGMA page_size").fetchone()
        _refuse_cut_short(path, pages, page_size)
    except BaseException:
        connection.close()
        raise
    return connection


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
        raise unusable(path, "cut-short", missing=missing, pages=pages)
