"""How a session gets onto a desk: begun, gone on with, or followed. The journal and the drive meet here.

Nothing is decided and nothing drawn here. Every function raises errors of `errors.py` in one sentence.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from wetside.app.clock import Clock, FastClock, SystemClock
from wetside.app.controller import SessionController
from wetside.app.session_start import begin_now, resume_now, rfc3339
from wetside.domain.archive.numbering import FIRST_PATTERN
from wetside.domain.planning.plan import Plan
from wetside.domain.session.decide import decide
from wetside.domain.session.events import Event, NoteAdded, SessionClosed
from wetside.domain.session.state import State, replay
from wetside.errors import JournalUnusable, Refused, Unusable
from wetside.files.settings import Places, Settings
from wetside.storage.codec import decode
from wetside.storage.session_lock import SessionLock
from wetside.storage.sessions import append_events, is_experienced, load, stream_of
from wetside.storage.store import Envelope, Overtaken, Store

SHELF_UNREAD = (
    "The shelf could not be read, so nothing was taken from it: write the rolls each bottle has done on its label."
)
"""Kept with a session that was closed without its debit."""

SHELF_UNFILLED = "The shelf could not be read, so nothing was put there: `wetside shelf mix` writes the kit down."
"""Kept with a mixing evening that was closed without its bottles."""


class JournalWriter:
    """Keeps one session's events in the journal, and knows whether this terminal still drives it."""

    def __init__(
        self, store: Store, stream: str, seq: int, drive: SessionLock | None, roll_number: str = FIRST_PATTERN
    ) -> None:
        """roll_number: the pattern of the numbers that rolls get as the session closes."""
        self._store = store
        self._roll_number = roll_number
        self._stream = stream
        self._seq = seq
        self._drive = drive
        self._version = store.data_version()
        self._desk: SessionController | None = None
        self._unread = ""
        self._added: tuple[Event, ...] = ()

    def at_work(self, desk: SessionController) -> SessionController:
        """The desk this keeper keeps for, from now on told what cannot be read of what others wrote."""
        self._desk = desk
        return desk

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        """Append in one transaction; raises JournalUnusable, or Overtaken when another terminal wrote first."""
        if self._drive is None:
            raise Refused("This terminal only follows: nothing can be changed from here.")
        if not self._drive.still_mine():
            raise Refused("Another terminal has taken this session over: nothing more is kept from here.")

        if any(isinstance(event, SessionClosed) for event in events):
            self._seq, self._added = self._close(events, rfc3339(wall))
        else:
            self._seq = append_events(self._store, self._stream, self._seq, events, rfc3339(wall))

    def _close(self, events: tuple[Event, ...], at: str) -> tuple[int, tuple[Event, ...]]:
        """Keep the events that close the session, what the shelf loses and the numbers of its rolls, at once.

        Gives the stream's last number, and what was kept beside `events`: that the shelf could not be read.
        """
        # Shelf and archive are loaded where a session ends: no picture waits for them (15 ms).
        from wetside.storage.archive import ARCHIVE, numbered_by
        from wetside.storage.shelf import SHELF, retried, taken_by

        def append() -> tuple[int, tuple[Event, ...]]:
            state = replay((*load(self._store, self._stream), *events))
            added: tuple[Event, ...] = ()
            try:
                taken = taken_by(self._store, state)
            except JournalUnusable:
                # A shelf that has lost a row must not hold an evening open.
                mixed = state.plan is not None and state.plan.kit is not None
                taken, added = {}, (NoteAdded(state.at, SHELF_UNFILLED if mixed else SHELF_UNREAD),)
            also = {**taken, **numbered_by(self._store, state, self._roll_number)}
            return append_events(self._store, self._stream, self._seq, (*events, *added), at, also), added

        return retried(append, (SHELF, ARCHIVE))

    def fresh(self) -> tuple[Event, ...]:
        """Events of others since the last look, and what was kept with a close beside its own events.

        Costs no reading while nobody has written. What cannot be understood is said on the desk, once, and nothing
        after it is given: its meaning hangs on what came before.
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
                found.append(decoded(envelope))
            except JournalUnusable as failure:
                trouble = f"NOT SHOWN FROM HERE ON: {failure.brief}"
                break
        self._seq += len(found)
        self._say(trouble)
        return (*added, *found)

    def _say(self, trouble: str) -> None:
        if self._desk is not None and trouble != self._unread:
            self._desk.trouble = trouble
        self._unread = trouble

    def still_mine(self) -> bool:
        """Whether this terminal drives the session."""
        return self._drive is not None and self._drive.still_mine()

    def release(self) -> None:
        """Give the drive back."""
        if self._drive is not None:
            self._drive.release()


def decoded(envelope: Envelope) -> Event:
    """One row of the journal as an event."""
    where = f"{envelope.stream} {envelope.seq}"
    return decode(envelope.kind, envelope.version, envelope.data, where)


def new_session_id(wall: datetime) -> str:
    """A short name of its own for an evening: its date and four letters."""
    letters = "".join(random.SystemRandom().choices("bcdfghjkmnpqrstvwxz", k=4))
    return f"{wall:%Y-%m-%d}-{letters}"


@contextmanager
def _given_back_on_failure(drive: SessionLock) -> Iterator[None]:
    """A session that cannot be opened is driven by nobody."""
    try:
        yield
    except BaseException:
        drive.release()
        raise


def begin_session(
    store: Store,
    places: Places,
    plan: Plan,
    profile_text: str,
    settings: Settings,
    *,
    terminal: str,
    practice: bool = False,
    speed: float = 1.0,
    clock: Clock | None = None,
) -> SessionController:
    """Begin a session with this plan and drive it. A practice may run on a fast clock."""
    clock = clock or _clock(practice, speed)
    wall = clock.now().wall
    session = new_session_id(wall.astimezone())
    stream = stream_of(session, practice)
    drive = _drive(places.data, stream, terminal)
    if not drive.try_take(rfc3339(wall)):
        raise Refused(f"Session {session} is driven from another terminal.")
    with _given_back_on_failure(drive):
        command = begin_now(session, plan, profile_text, clock, terminal, practice=practice, speed=speed)
        events = decide(State(), command)
        keeper = JournalWriter(store, stream, 0, drive, settings.roll_number)
        keeper.keep(events, wall)
        return keeper.at_work(
            SessionController(replay(events), keeper, clock, settings, one_answer=_one_answer(store, settings))
        )


def resume_session(
    store: Store,
    places: Places,
    stream: str,
    settings: Settings,
    *,
    terminal: str,
    take_over: bool = False,
    clock: Clock | None = None,
) -> SessionController:
    """Go on with a session. Refused, naming the holder, while another terminal drives it and `take_over` is False.

    Nothing starts by itself: the clocks that ran have run on, and one question is asked if a bath should have
    been poured out meanwhile.
    """
    drive = _drive(places.data, stream, terminal)
    since = rfc3339(SystemClock().now().wall)
    holder = drive.holder()
    taken = drive.try_take(since)
    if not taken and not take_over:
        raise Refused(f"This session is driven by {holder}: follow it, or take it over.")
    if not taken:
        drive.take_over(since, holder)
    with _given_back_on_failure(drive):
        try:
            return _go_on(store, stream, settings, drive, terminal, clock, took_over=not taken)
        except Overtaken:
            # What the other terminal was keeping as it lost the drive came first; it can keep nothing after it.
            return _go_on(store, stream, settings, drive, terminal, clock, took_over=not taken)


def _go_on(
    store: Store,
    stream: str,
    settings: Settings,
    drive: SessionLock,
    terminal: str,
    clock: Clock | None,
    *,
    took_over: bool,
) -> SessionController:
    envelopes = store.read(stream)
    if not envelopes:
        raise Refused(f"There is no session {stream.partition('/')[2]}.")
    state = replay(map(decoded, envelopes))
    clock = clock or clock_of(state)
    keeper = JournalWriter(store, stream, envelopes[-1].seq, drive, settings.roll_number)
    last_wall = datetime.fromisoformat(envelopes[-1].at)
    command = resume_now(state, last_wall, clock, terminal, took_over=took_over)
    events = decide(state, command)
    keeper.keep(events, clock.now().wall)
    desk = SessionController(
        replay(events, state),
        keeper,
        clock,
        settings,
        heard_until=state.at,
        one_answer=_one_answer(store, settings),
    )
    desk.resumed()
    return keeper.at_work(desk)


def revisit_session(
    store: Store, places: Places, stream: str, settings: Settings, *, terminal: str, clock: Clock | None = None
) -> SessionController:
    """A closed session once more, for notes and how its negatives came out; nothing else of it can change.

    Refused while it is not closed, or while another terminal has it.
    """
    envelopes = store.read(stream)
    state = replay(map(decoded, envelopes))
    name = stream.partition("/")[2]
    if state.outcome is None:
        raise Refused(f"Session {name} is not closed: go on with it.")
    drive = _drive(places.data, stream, terminal)
    if not drive.try_take(rfc3339(SystemClock().now().wall)):
        raise Refused(f"Session {name} is open in {drive.holder()}: look at it there, or leave it there first.")
    with _given_back_on_failure(drive):
        keeper = JournalWriter(store, stream, envelopes[-1].seq, drive)
        return keeper.at_work(SessionController(state, keeper, clock or SystemClock(), settings))


def follow_session(
    store: Store, stream: str, settings: Settings, *, clock: Clock | None = None
) -> SessionController:
    """Watch a session read-only."""
    envelopes = store.read(stream)
    if not envelopes:
        raise Refused(f"There is no session {stream.partition('/')[2]}.")
    state = replay(decoded(envelope) for envelope in envelopes)
    keeper = JournalWriter(store, stream, envelopes[-1].seq, None)
    clock = clock or clock_of(state)
    return keeper.at_work(SessionController(state, keeper, clock, settings, read_only=True))


def _one_answer(store: Store, settings: Settings) -> bool:
    """Whether one SPACE confirms all plain lines: set by the person, and earned by complete evenings."""
    return settings.one_answer_for_plain_lines and is_experienced(store)


def terminal_name() -> str:
    """How a person knows this terminal: its device, else the process."""
    try:
        return os.ttyname(0)
    except OSError:
        return f"process {os.getpid()}"


def clock_of(state: State) -> Clock:
    """The clock a session began on: the machine's, or a practice's own fast one, which has run on since."""
    return _clock(state.practice, state.speed, state.boot_id)


def _clock(practice: bool, speed: float, goes_on: str = "") -> Clock:
    return FastClock(SystemClock(), speed, goes_on) if practice and speed != 1.0 else SystemClock()


def _drive(folder: Path, stream: str, terminal: str) -> SessionLock:
    return SessionLock(folder, stream, terminal=terminal)
