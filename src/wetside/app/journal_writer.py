"""Appends one session's events to the journal, and to a fresh journal when that one is lost.

It appends only while this terminal holds the session's lock, and reads what other processes have appended. When
the journal is so damaged that nothing can be appended, the session's events, all held in memory, are written into
a fresh journal in a folder of its own beside it, and the session continues there.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from wetside.app.session_start import rfc3339
from wetside.domain.archive.numbering import FIRST_PATTERN
from wetside.domain.session.events import Event, NoteAdded, SessionClosed
from wetside.domain.session.state import replay
from wetside.errors import JournalDamaged, JournalUnusable, Refused, Unusable
from wetside.files.settings import JOURNAL
from wetside.storage.codec import encode, event_of
from wetside.storage.journal_file import KEPT_APART, Row, create
from wetside.storage.session_lock import SessionLock
from wetside.storage.sessions import SESSIONS, append_events, load
from wetside.storage.store import Entry, Envelope, Store, Streams, retried

SHELF_UNREAD = (
    "The shelf could not be read, so nothing was taken from it: write the rolls each bottle has done on its label."
)
"""The note recorded when a session closes without taking its debit from the shelf."""

SHELF_UNFILLED = "The shelf could not be read, so nothing was put there: `wetside shelf mix` writes the kit down."
"""The note recorded when a mixing evening closes without putting its bottles on the shelf."""


class JournalWriter:
    """The event sink of one session. kept_in: see `EventSink`."""

    def __init__(
        self,
        store: Store,
        stream: str,
        held: tuple[Envelope, ...],
        lock: SessionLock | None,
        roll_number: str = FIRST_PATTERN,
        barred: Unusable | None = None,
    ) -> None:
        """held: every entry of the stream, to be written anew if the journal is lost.

        lock: None for a follower. roll_number: the pattern for the numbers that rolls get as the session closes.
        barred: why nothing can be kept, without it that of the store.
        """
        self._roll_number = roll_number
        # a session that is only followed says so where the journal cannot be written either
        barred = (barred or store.barred) if lock is None else None
        self._warning = "" if barred is None else f"ONLY SHOWN, AND NOTHING KEPT: {barred.brief}"
        self.kept_in = ""
        self._held: list[Envelope | tuple[str, Event]] = [*held]
        self._fresh_lock: SessionLock | None = None
        self._store = store
        self._stream = stream
        self._seq = held[-1].seq if held else 0
        self._lock = lock
        self._version = store.data_version()
        self._unread = ""
        self._added: tuple[Event, ...] = ()

    @property
    def warning(self) -> str:
        """See `EventSink`: first of all an event that cannot be read."""
        return self._unread or self._warning

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        """Append in one transaction. Raises Refused without the lock, JournalUnusable, or Overtaken."""
        if self._lock is None:
            raise Refused("This terminal only follows: nothing can be changed from here.")
        if not self._lock.still_mine():
            raise Refused("Another terminal has taken this session over: nothing more is kept from here.")

        at = rfc3339(wall)
        closes = any(isinstance(event, SessionClosed) for event in events)
        append = self._close if closes else self._append
        try:
            added = append(events, at)
        except JournalDamaged as problem:
            self._continue_in_fresh_journal(problem, at)
            added = append(events, at)
        self._added += added
        self._held += [(at, event) for event in (*events, *added)]
        if closes and self._stream.startswith(SESSIONS):
            # Imported only where a session ends, so that the first picture comes sooner.
            from wetside.storage.copies import copy_journal

            self._warning = copy_journal(self._store, at) or self._warning

    def _append(self, events: tuple[Event, ...], at: str, also: Streams | None = None) -> tuple[Event, ...]:
        """Append, with these entries of other streams; returns the events that were appended in addition: none."""
        self._seq = append_events(self._store, self._stream, self._seq, events, at, also)
        return ()

    def _close(self, events: tuple[Event, ...], at: str) -> tuple[Event, ...]:
        """Append the events that close the session, with its debit from the shelf and the numbers of its rolls.

        Returns the note that was added where the shelf could not be read. The fresh journal of a lost one has
        neither shelf nor archive: there is no debit there, and no number.
        """
        # Imported only where a session ends, so that the first picture comes 15 ms sooner.
        from wetside.domain.shelf.debit import debits
        from wetside.storage.archive import ARCHIVE, numbered_by
        from wetside.storage.shelf import SHELF, taken_by

        def append() -> tuple[Event, ...]:
            state = replay((*load(self._store, self._stream), *events))
            mixed = state.plan.kit is not None
            added: tuple[Event, ...] = ()
            also: dict[str, tuple[int, tuple[Entry, ...]]] = {}
            try:
                if self.kept_in and (mixed or debits(state)):
                    raise JournalUnusable("The session is kept apart from the shelf.")
                also |= {} if self.kept_in else taken_by(self._store, state)
            except JournalUnusable:
                # A damaged shelf must not keep a session from closing.
                added = (NoteAdded(state.at, SHELF_UNFILLED if mixed else SHELF_UNREAD),)
            if not self.kept_in:
                also |= numbered_by(self._store, state, self._roll_number)
            self._append((*events, *added), at, also)
            return added

        return retried(append, (SHELF, ARCHIVE))

    def _continue_in_fresh_journal(self, problem: JournalDamaged, at: str) -> None:
        """Continue in a fresh journal with all entries held; raises `problem` where that is not possible."""
        lock = self._lock
        if self.kept_in or lock is None or len(self._held) != self._seq:
            raise problem
        try:
            folder = _fresh_folder(self._store.path.parent, self._stream.partition("/")[2])
            create(folder / JOURNAL, self._rows())
            fresh_lock = SessionLock(folder, self._stream, terminal=lock.terminal)
            fresh_lock.try_take(at)
            store = Store.open(folder / JOURNAL)
        except (OSError, Unusable) as failure:
            raise problem from failure
        self._store, self._fresh_lock, self._version = store, fresh_lock, store.data_version()
        self.kept_in = str(folder)
        self._warning = f"The journal is damaged or gone: all of this evening is kept in {folder.name} beside it."

    def _rows(self) -> Iterator[Row]:
        for seq, each in enumerate(self._held, 1):
            if isinstance(each, Envelope):
                yield each
            else:
                yield self._stream, seq, each[0], *encode(each[1])

    def fresh(self) -> tuple[Event, ...]:
        """Events of other processes since the last call, and those this writer has added to the close.

        Reads nothing unless the file has changed. An event that cannot be decoded is told by the warning, and no
        later one is returned, because events depend on those before them.
        """
        added, self._added = self._added, ()
        try:
            version = self._store.data_version()
            if version == self._version:
                return added
            envelopes = self._store.read(self._stream, self._seq)
        except Unusable:
            # Tried again at the next call; the next append of the controlling terminal reports what is wrong.
            return added
        self._version = version
        found: list[Event] = []
        self._unread = ""
        for envelope in envelopes:
            try:
                found.append(event_of(envelope))
            except JournalUnusable as failure:
                self._unread = f"NOT SHOWN FROM HERE ON: {failure.brief}"
                break
        self._seq += len(found)
        self._held += envelopes[: len(found)]
        return (*added, *found)

    def still_mine(self) -> bool:
        return self._lock is not None and self._lock.still_mine()

    def release(self) -> None:
        """Release the session's lock, and that of a fresh journal."""
        if self._fresh_lock is not None:
            self._fresh_lock.release()
            self._store.close()
        if self._lock is not None:
            self._lock.release()


def _fresh_folder(beside: Path, session: str) -> Path:
    """Make a new folder (0700) for this session; FileExistsError when all 98 names are taken."""
    name = beside / f"{KEPT_APART}{session}"
    for number in range(2, 100):
        with suppress(FileExistsError):
            name.mkdir(mode=0o700)
            return name
        name = beside / f"{KEPT_APART}{session}-{number}"
    raise FileExistsError(f"{name} and all before it are there already")
