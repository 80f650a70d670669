"""Appends one session's events to the journal, and to a fresh journal when that one is lost.

It appends only while this terminal holds the session's lock, and reads what others have appended. When the
journal is damaged so that it takes nothing more, all that is held of the session is written into a fresh
journal in a folder of its own beside it, and the session goes on there.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

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
from wetside.storage.store import Entry, Envelope, Store, retried

if TYPE_CHECKING:
    from wetside.app.controller import SessionController

SHELF_UNREAD = (
    "The shelf could not be read, so nothing was taken from it: write the rolls each bottle has done on its label."
)
"""Kept with a session that was closed without its debit."""

SHELF_UNFILLED = "The shelf could not be read, so nothing was put there: `wetside shelf mix` writes the kit down."
"""Kept with a mixing evening that was closed without its bottles."""


class JournalWriter:
    """The event sink of one session. warning and kept_in: see `EventSink`."""

    def __init__(
        self,
        store: Store,
        stream: str,
        seq: int,
        lock: SessionLock | None,
        roll_number: str = FIRST_PATTERN,
        held: tuple[Envelope, ...] = (),
    ) -> None:
        """seq: the stream's last number. held: every entry up to it, for a journal that is lost later.

        roll_number: the pattern of the numbers that rolls get as the session closes.
        """
        self._roll_number = roll_number
        self.warning = ""
        self.kept_in = ""
        self._held: list[Envelope | tuple[str, Event]] = [*held]
        self._apart: SessionLock | None = None
        self._store = store
        self._stream = stream
        self._seq = seq
        self._lock = lock
        self._version = store.data_version()
        self._controller: SessionController | None = None
        self._unread = ""
        self._added: tuple[Event, ...] = ()

    def attach(self, controller: SessionController) -> SessionController:
        """The controller it writes for; its `trouble` then tells what cannot be read of what others wrote."""
        self._controller = controller
        controller.trouble = self.warning
        return controller

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        """Append in one transaction. Raises Refused without the lock, JournalUnusable, or Overtaken."""
        if self._lock is None:
            raise Refused("This terminal only follows: nothing can be changed from here.")
        if not self._lock.still_mine():
            raise Refused("Another terminal has taken this session over: nothing more is kept from here.")

        at = rfc3339(wall)
        try:
            added = self._append(events, at)
        except JournalDamaged as problem:
            self._go_apart(problem, at)
            added = self._append(events, at)
        self._added += added
        self._held += [(at, event) for event in (*events, *added)]
        if any(isinstance(event, SessionClosed) for event in events) and self._stream.startswith(SESSIONS):
            # Loaded where a session ends: no picture waits for it.
            from wetside.storage.copies import copy_journal

            self.warning = copy_journal(self._store, at) or self.warning

    def _append(self, events: tuple[Event, ...], at: str) -> tuple[Event, ...]:
        """Append; returns the events that were appended beside these."""
        added: tuple[Event, ...] = ()
        if any(isinstance(event, SessionClosed) for event in events):
            self._seq, added = self._close(events, at)
        else:
            self._seq = append_events(self._store, self._stream, self._seq, events, at)
        return added

    def _close(self, events: tuple[Event, ...], at: str) -> tuple[int, tuple[Event, ...]]:
        """Append the events that close the session, with what the shelf loses and the numbers of its rolls.

        Returns the stream's last number, and a note where the shelf could not be read. A journal of its own has
        neither shelf nor archive, so nothing is taken and no number is given there.
        """
        # Shelf and archive are loaded where a session ends: no picture waits for them (15 ms).
        from wetside.domain.shelf.debit import debits
        from wetside.storage.archive import ARCHIVE, numbered_by
        from wetside.storage.shelf import SHELF, taken_by

        def append() -> tuple[int, tuple[Event, ...]]:
            state = replay((*load(self._store, self._stream), *events))
            mixed = state.plan is not None and state.plan.kit is not None
            added: tuple[Event, ...] = ()
            also: dict[str, tuple[int, tuple[Entry, ...]]] = {}
            try:
                if self.kept_in and (mixed or debits(state)):
                    raise JournalUnusable("The session is kept apart from the shelf.")
                also |= {} if self.kept_in else taken_by(self._store, state)
            except JournalUnusable:
                # A shelf that has lost a row must not hold an evening open.
                added = (NoteAdded(state.at, SHELF_UNFILLED if mixed else SHELF_UNREAD),)
            if not self.kept_in:
                also |= numbered_by(self._store, state, self._roll_number)
            return append_events(self._store, self._stream, self._seq, (*events, *added), at, also), added

        return retried(append, (SHELF, ARCHIVE))

    def _go_apart(self, problem: JournalDamaged, at: str) -> None:
        """Go on in a fresh journal with all that is held; raises `problem` again where that cannot be made."""
        lock = self._lock
        if self.kept_in or lock is None or len(self._held) != self._seq:
            raise problem
        try:
            folder = _fresh_folder(self._store.path.parent, self._stream.partition("/")[2])
            create(folder / JOURNAL, self._rows())
            apart = SessionLock(folder, self._stream, terminal=lock.terminal)
            apart.try_take(at)
            store = Store.open(folder / JOURNAL)
        except (OSError, Unusable) as failure:
            raise problem from failure
        self._store, self._apart, self._version = store, apart, store.data_version()
        self.kept_in = str(folder)
        self.warning = f"The journal is damaged or gone: all of this evening is kept in {folder.name} beside it."

    def _rows(self) -> Iterator[Row]:
        for seq, each in enumerate(self._held, 1):
            if isinstance(each, Envelope):
                yield each
            else:
                yield self._stream, seq, each[0], *encode(each[1])

    def fresh(self) -> tuple[Event, ...]:
        """Events of others since the last look, and what was kept with a close beside its own events.

        Reads nothing while nobody has written. An event that cannot be understood becomes the controller's
        trouble, and no event after it is returned: its meaning depends on those before.
        """
        added, self._added = self._added, ()
        try:
            version = self._store.data_version()
            if version == self._version:
                return added
            envelopes = self._store.read(self._stream, self._seq)
        except Unusable:
            # What cannot be read now is read later; a driver's own append says what is wrong.
            return added
        self._version = version
        found: list[Event] = []
        trouble = ""
        for envelope in envelopes:
            try:
                found.append(event_of(envelope))
            except JournalUnusable as failure:
                trouble = f"NOT SHOWN FROM HERE ON: {failure.brief}"
                break
        self._seq += len(found)
        self._held += envelopes[: len(found)]
        self._say(trouble)
        return (*added, *found)

    def _say(self, trouble: str) -> None:
        if self._controller is not None and trouble != self._unread:
            self._controller.trouble = trouble or self.warning
        self._unread = trouble

    def still_mine(self) -> bool:
        """Whether this terminal holds the session's lock."""
        return self._lock is not None and self._lock.still_mine()

    def release(self) -> None:
        """Release the lock."""
        if self._apart is not None:
            self._apart.release()
            self._store.close()
        if self._lock is not None:
            self._lock.release()


def _fresh_folder(beside: Path, session: str) -> Path:
    """A new folder for this session, its owner's alone."""
    name = beside / f"{KEPT_APART}{session}"
    for number in range(2, 100):
        with suppress(FileExistsError):
            name.mkdir(mode=0o700)
            return name
        name = beside / f"{KEPT_APART}{session}-{number}"
    raise FileExistsError(f"{name} and all before it are there already")
