"""The journal: append-only streams of entries in one SQLite file.

Entries are stored and returned unchanged, whatever they mean; no clock is read here, `at` is an argument.

WAL and synchronous=FULL: when `append` returns, the entries are on disk. One append is one transaction over as
many streams as it names. A stream's entries are numbered 1, 2, 3 …; a writer states the last number it saw, and
the second of two conflicting writers gets `Overtaken`, with nothing changed.

Damage that opening does not check for is found by a read, which then uses the readable rest of the file: a stream
that has lost nothing is read, one that has is refused by name. An append that meets damage is refused, and
`damage()` reads every page. SQLite keeps no checksums in the main file: a flipped bit inside a text that is still
valid is not found, and a -wal file cut off exactly at a commit looks as if its later events had never been
written.

Before and after each append the names of the file and its -wal and -shm files are compared with the files that are
open, so that a journal deleted or replaced under a running guide is refused. Where their sizes and times are not
as this store left them, the streams are read again before an append: one cut short or written over is refused.

An open database must not be opened a second time as a plain file in the same process: closing that file would drop
SQLite's locks (POSIX locks belong to the process).
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Self, TypeVar

from wetside.errors import JournalDamaged, JournalUnusable, Refused, Unusable
from wetside.files.settings import JOURNAL, Places, open_data_folder
from wetside.storage.journal_file import (
    INSERT,
    MOMENT,
    check,
    connect,
    connect_again,
    create_missing,
    identities,
    inspect_file,
    is_damage,
    sizes,
    sqlite_errors_in_words,
    unusable,
)

if TYPE_CHECKING:
    from wetside.storage.salvage import Remains, Salvage

# seeks from name to name in the index: 6 ms for 1,000 streams of 200 rows, where GROUP BY takes 20 ms
_STREAMS: Final = """
WITH RECURSIVE names(stream) AS (
  SELECT min(stream) FROM journal WHERE stream >= :first AND stream < :end
  UNION ALL
  SELECT (SELECT min(stream) FROM journal WHERE stream > names.stream AND stream < :end)
  FROM names WHERE names.stream IS NOT NULL)
SELECT stream,
  (SELECT at FROM journal j WHERE j.stream = names.stream ORDER BY seq LIMIT 1),
  (SELECT at FROM journal j WHERE j.stream = names.stream ORDER BY seq DESC LIMIT 1)
FROM names WHERE stream IS NOT NULL
"""
_READ: Final = "SELECT stream, seq, at, kind, version, data FROM journal WHERE stream = ? AND seq > ? ORDER BY seq"
_LAST: Final = "SELECT coalesce(max(seq), 0) FROM journal WHERE stream = ?"
# length() forces SQLite to read all of each text
_WHOLE: Final = "SELECT coalesce(max(seq), 0), sum(length(data)) FROM journal WHERE stream = ?"
_LAST_LETTER: Final = "\U0010ffff"


Streams = Mapping[str, tuple[int, tuple["Entry", ...]]]
"""By stream: the number of the last entry seen in it (0 for none), and the entries to append."""
_TRIES: Final = 20

T = TypeVar("T")


class Overtaken(Refused):
    """Another writer appended first, and nothing was appended: read the new entries, then decide again."""

    def __init__(self, stream: str, expected: int, found: int) -> None:
        super().__init__(
            f"Another terminal wrote to {stream} first (number {found}, where {expected} was the last seen here): "
            "look at what is new, then do it again."
        )
        self.stream = stream
        self.expected = expected
        self.found = found


class Entry(NamedTuple):
    """An encoded event. `data` is JSON text."""

    kind: str
    version: int
    data: str


class Envelope(NamedTuple):
    """One row. `seq` counts from 1 in its stream; `at` is RFC 3339 in UTC; `data` is JSON text."""

    stream: str
    seq: int
    at: str
    kind: str
    version: int
    data: str


class StreamSummary(NamedTuple):
    """A stream, and when its first and last entries were written."""

    stream: str
    first_at: str
    last_at: str


def retried(change: Callable[[], T], streams: Collection[str]) -> T:
    """The result of `change`, repeated while it is `Overtaken` in one of `streams`; other exceptions pass."""
    for tries_left in reversed(range(_TRIES)):
        try:
            return change()
        except Overtaken as overtaken:
            if overtaken.stream not in streams or not tries_left:
                raise
    raise AssertionError("the last try returns or raises")


class Store:
    """An open journal. Use it from the thread that opened it, and close it, or use it in a `with`.

    Every method raises `JournalUnusable` in one sentence. The store stays usable after that, so that an append
    that failed on a full disk can be repeated when there is room.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, *, read_only: bool) -> None:
        """Called by `open` only."""
        self.path = path
        self.read_only = read_only
        self.barred: JournalUnusable | None = None
        """The error that `append` raises, where a journal could be opened for reading only."""
        self._connection = connection
        self._files = identities(path)
        self._sizes = sizes(path)
        self._damaged = False
        self._remains: Remains | None = None
        self._remains_of = (0, 0)

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Store:
        """Open the journal at `path`; make it if there is none and it may be written.

        `read_only` works on a disk that cannot be written. Raises `JournalUnusable`.
        """
        path = Path(os.path.abspath(path))
        seen = inspect_file(path)
        if seen is None:
            create_missing(path, read_only)
            seen = inspect_file(path)
        with sqlite_errors_in_words(path):
            store = cls(path, connect(path, read_only), read_only=read_only)
        if seen != store._files[0]:
            store.close()
            raise unusable(path, "replaced")
        return store

    @classmethod
    def open_remains(cls, path: Path, why: JournalDamaged) -> Store:
        """Open the readable rest of a journal whose beginning or end is damaged, so that `open` refuses it.

        Nothing can be appended. Raises `why` when not one row can be read.
        """
        from wetside.storage.salvage import remains_in

        path = Path(os.path.abspath(path))
        try:
            remains = remains_in(path)
        except (Refused, Unusable):
            raise why from None
        store = cls(path, remains.rows, read_only=True)
        store.barred, store._remains = why, remains
        store._damaged = True
        return store

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *problem: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file. Everything appended is on disk already."""
        with sqlite_errors_in_words(self.path):
            self._connection.close()

    def append(self, streams: Streams, at: str) -> tuple[Envelope, ...]:
        """Append to several streams in one transaction; return the rows written, in the order given.

        A stream with no entries is only checked for its last number. Raises `Overtaken` when another writer was
        first, `JournalUnusable` when the journal cannot be written; nothing is appended then.
        """
        if MOMENT.fullmatch(at) is None:
            raise ValueError(f"not a moment in UTC as RFC 3339 writes it: {at!r}")
        if not any(entries for _, entries in streams.values()):
            return ()
        if self.barred is not None:
            raise self.barred
        if self.read_only:
            raise unusable(self.path, "read-only")
        seen = {stream: last_seen for stream, (last_seen, _) in streams.items()}
        rows = tuple(
            Envelope(stream, seq, at, *entry)
            for stream, (last_seen, entries) in streams.items()
            for seq, entry in enumerate(entries, last_seen + 1)
        )
        with sqlite_errors_in_words(self.path), self._transaction(seen):
            for stream, last_seen in seen.items():
                self._check_last(stream, last_seen)
            self._connection.executemany(INSERT, rows)
        return rows

    def read(self, stream: str, after: int = 0, *, despite_gaps: bool = False) -> tuple[Envelope, ...]:
        """The entries of `stream` numbered above `after`, in order; () if there are none.

        Raises `JournalUnusable` for missing numbers (a salvaged journal can lack some), unless `despite_gaps`.
        """
        with self._in_place():
            found = tuple(map(Envelope._make, self._ask(_READ, (stream, after))))
        if not despite_gaps:
            self._refuse_gap(stream, after, found)
        return found

    def damage(self) -> Salvage | None:
        """The report of what a damaged journal has lost; None when it is sound. Reads every page."""
        try:
            with self._in_place():
                self._damaged = self._damaged or not _sound(self._connection)
        except JournalDamaged:
            self._damaged = True
        if not self._damaged:
            return None
        with sqlite_errors_in_words(self.path):
            return self._what_remains().report

    def back_up(self, to: Path) -> None:
        """Copy the journal into the empty file `to` with SQLite's backup, synced to disk.

        Raises `JournalUnusable` when that fails, or when the copy is not sound.
        """
        with sqlite_errors_in_words(to), closing(sqlite3.connect(to, isolation_level=None)) as copy:
            self._connection.backup(copy)
            check(to, copy)
            if not _sound(copy):
                raise unusable(self.path, "damaged")

    def last_seq(self, stream: str) -> int:
        """The number of the last entry of `stream`, 0 if it has none."""
        with self._in_place():
            return self._last_seq(stream)

    def streams(self, prefix: str = "") -> tuple[StreamSummary, ...]:
        """Every stream whose name begins with `prefix`, by name. Reads no data: 6 ms for 1,000 streams."""
        with self._in_place():
            found = self._ask(_STREAMS, {"first": prefix, "end": prefix + _LAST_LETTER})
        return tuple(map(StreamSummary._make, found))

    def data_version(self) -> int:
        """A number that changes when another connection has appended.

        Appends of this store do not change it. Reads no rows: cheap enough for a poll once a second.
        """
        with self._in_place():
            return self._data_version()

    def _data_version(self) -> int:
        (version,) = self._connection.execute("PRAGMA data_version").fetchone()
        return int(version)

    @contextmanager
    def _in_place(self) -> Iterator[None]:
        """Raises JournalUnusable for an error of SQLite inside, and where the files were moved."""
        with sqlite_errors_in_words(self.path):
            self._refuse_moved()
            yield

    @contextmanager
    def _transaction(self, seen: Mapping[str, int]) -> Iterator[None]:
        """A transaction that is rolled back on any exception."""
        self._refuse_moved()
        if sizes(self.path) != self._sizes:
            self._refuse_written_over(seen)
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            yield
            self._connection.execute("COMMIT")
        finally:
            # SQLite has rolled back already on a full disk, but not on a refusal
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
        self._refuse_moved()
        self._sizes = sizes(self.path)

    def _check_last(self, stream: str, last_seen: int) -> None:
        found = self._last_seq(stream)
        if found > last_seen:
            raise Overtaken(stream, last_seen, found)
        if found < last_seen:
            raise unusable(self.path, "fewer", found=found, stream=stream, kept=last_seen)

    def _last_seq(self, stream: str) -> int:
        return int(self._ask(_LAST, (stream,))[0][0])

    def _ask(self, sql: str, values: tuple[str | int, ...] | dict[str, str]) -> list[Any]:
        """The rows of a query; of a damaged file, those in its readable rest."""
        try:
            return self._connection.execute(sql, values).fetchall()
        except sqlite3.Error as problem:
            if not is_damage(problem) or self._connection.in_transaction:
                raise
        return self._what_remains().rows.execute(sql, values).fetchall()

    def _what_remains(self) -> Remains:
        """The readable rest of a damaged file, read again when anything was appended since."""
        from wetside.storage.salvage import remains_of

        if self.barred is None or self._remains is None:
            now = (self._data_version(), self._connection.total_changes)
            if self._remains is None or self._remains_of != now:
                self._remains, self._remains_of = remains_of(self._connection), now
        return self._remains

    def _refuse_gap(self, stream: str, after: int, found: tuple[Envelope, ...]) -> None:
        for expected, envelope in enumerate(found, after + 1):
            if envelope.seq != expected:
                raise unusable(self.path, "gap", lost=f"{expected} to {envelope.seq - 1}", stream=stream)
        first = None if self._remains is None else self._remains.lost_after(stream, after + len(found))
        if first is not None:
            raise unusable(self.path, "gap", lost=f"from {first} on", stream=stream)

    def _refuse_written_over(self, seen: Mapping[str, int]) -> None:
        """Raise when the files were cut short or no longer hold these streams; other appends are allowed."""
        if any(now[0] < before[0] for now, before in zip(sizes(self.path), self._sizes, strict=True)):
            raise unusable(self.path, "written-over", how="cut short")
        with closing(connect_again(self.path)) as connection:
            check(self.path, connection)
            # damage in other streams does not prevent the append
            if any(connection.execute(_WHOLE, (stream,)).fetchone()[0] < seq for stream, seq in seen.items()):
                raise unusable(self.path, "written-over", how="written over")

    def _refuse_moved(self) -> None:
        """Raise when the paths no longer lead to the open files (three lstat, 5 µs)."""
        # a file that did not exist on opening (no -wal on a read-only disk) need not exist now
        if any(was not in (None, now) for was, now in zip(self._files, identities(self.path), strict=True)):
            raise unusable(self.path, "moved")


def _sound(connection: sqlite3.Connection) -> bool:
    """Whether SQLite's quick_check finds no fault. Reads every page."""
    return bool(connection.execute("PRAGMA quick_check").fetchone() == ("ok",))


def open_store(places: Places, *, read_only: bool = False) -> Store:
    """The journal in the data folder, made if missing; with `read_only`, the readable rest of a damaged one."""
    if not read_only:
        return Store.open(open_data_folder(places.data) / JOURNAL)
    try:
        return Store.open(places.data / JOURNAL, read_only=True)
    except JournalDamaged as problem:
        return Store.open_remains(places.data / JOURNAL, problem)


def open_to_guide(places: Places) -> Store:
    """As `open_store`; where nothing can be written (a read-only or full disk), a read-only one with `barred`.

    Raises as `open_store` where there is no journal, or where it cannot be read either.
    """
    path = places.data / JOURNAL
    try:
        return open_store(places)
    except JournalDamaged as problem:
        return Store.open_remains(path, problem)
    except Unusable as problem:
        if not path.exists():
            raise
        try:
            store = open_store(places, read_only=True)
        except Unusable:
            raise problem from None
        if store.barred is None:
            open_to_writing = os.access(places.data, os.W_OK) and os.access(path, os.W_OK)
            brief = problem.brief if open_to_writing else "the data folder cannot be written to."
            store.barred = JournalUnusable(str(problem), brief)
        return store


def only_shown(store: Store) -> bool:
    """Whether sessions can only be watched, as no file can be written beside the journal either."""
    return store.barred is not None and not isinstance(store.barred, JournalDamaged)
