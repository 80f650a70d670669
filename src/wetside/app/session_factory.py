"""Makes the controller of a session that is begun, resumed, followed, or reopened for notes.

terminal: as `SessionLock` takes it. Errors are those of `errors.py`, each with one sentence for the person.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from wetside.app.clock import Clock, SystemClock
from wetside.app.controller import SessionController
from wetside.app.journal_writer import JournalWriter
from wetside.app.session_start import begin_now, clock_at, clock_of, resume_now, rfc3339
from wetside.domain.messages import Refusal
from wetside.domain.planning.plan import Plan
from wetside.domain.session.decide import decide
from wetside.domain.session.events import SessionBegan, SessionResumed
from wetside.domain.session.state import State, replay
from wetside.errors import JournalDamaged, Refused, Unusable
from wetside.files.settings import Places, Settings
from wetside.present.message_words import in_words
from wetside.storage.codec import event_of
from wetside.storage.session_lock import SessionLock
from wetside.storage.sessions import is_experienced, stream_of
from wetside.storage.store import Envelope, Overtaken, Store


def new_session_id(wall: datetime) -> str:
    """A session's id: its date and four random letters."""
    letters = "".join(random.SystemRandom().choices("bcdfghjkmnpqrstvwxz", k=4))
    return f"{wall:%Y-%m-%d}-{letters}"


@contextmanager
def _release_on_failure(lock: SessionLock) -> Iterator[None]:
    """Release the lock if the session cannot be opened."""
    try:
        yield
    except BaseException:
        lock.release()
        raise


def begin_session(
    store: Store,
    places: Places,
    plan: Plan,
    profile_text: str,
    settings: Settings,
    *,
    terminal: str = "",
    practice: bool = False,
    speed: float = 1.0,
    clock: Clock | None = None,
) -> SessionController:
    """Begin a session with this plan. speed: of a practice's clock, in session seconds for each real second."""
    clock = clock or clock_at(speed if practice else 1.0)
    wall = clock.now().wall
    session = new_session_id(wall.astimezone())
    stream = stream_of(session, practice)
    lock = SessionLock(places.data, stream, terminal=terminal)
    if not lock.try_take(rfc3339(wall)):
        raise Refused(f"Session {session} is open for writing in another terminal.")
    with _release_on_failure(lock):
        began = begin_now(session, plan, profile_text, clock, lock.terminal, practice=practice, speed=speed)
        event_sink = JournalWriter(store, stream, (), lock, settings.roll_number)
        return _opened(State(), began, event_sink, clock, store, settings)


def resume_session(
    store: Store,
    places: Places,
    stream: str,
    settings: Settings,
    *,
    terminal: str = "",
    take_over: bool = False,
    clock: Clock | None = None,
) -> SessionController:
    """Resume a session. Raises Refused, naming the holder, if another terminal has its lock, unless `take_over`.

    Where nothing can be kept (a full disk), it is only followed. No step is started: clocks that ran have run
    on, and one question is asked if a bath should have been poured out meanwhile.
    """
    lock = SessionLock(places.data, stream, terminal=terminal)
    since = rfc3339(SystemClock().now().wall)
    try:
        holder = lock.holder()
        taken = lock.try_take(since)
        if not taken and not take_over:
            raise Refused(f"This session is open for writing in {holder}: follow it, or take it over.")
        if not taken:
            lock.take_over(since, holder)
        with _release_on_failure(lock):
            try:
                return _go_on(store, stream, settings, lock, clock, took_over=not taken)
            except Overtaken:
                # The other terminal appended something just as it lost the lock; it can append nothing after that.
                return _go_on(store, stream, settings, lock, clock, took_over=not taken)
    except JournalDamaged:
        raise
    except Unusable as problem:  # a full disk: the clock of a running bath is shown all the same
        return follow_session(store, stream, clock=clock, barred=problem)


def _go_on(
    store: Store,
    stream: str,
    settings: Settings,
    lock: SessionLock,
    clock: Clock | None,
    *,
    took_over: bool,
) -> SessionController:
    state, envelopes = _read(store, stream)
    clock = clock or clock_of(state)
    resumed = resume_now(
        state, datetime.fromisoformat(envelopes[-1].at), clock, lock.terminal, took_over=took_over
    )
    event_sink = JournalWriter(store, stream, envelopes, lock, settings.roll_number)
    controller = _opened(state, resumed, event_sink, clock, store, settings)
    controller.resumed()
    return controller


def _read(store: Store, stream: str) -> tuple[State, tuple[Envelope, ...]]:
    """The state of a session and the journal's entries of it. Raises Refused where there is no such session."""
    envelopes = store.read(stream)
    if not envelopes:
        raise Refused(f"There is no session {stream.partition('/')[2]}.")
    return replay(map(event_of, envelopes)), envelopes


def _opened(
    state: State,
    opening: SessionBegan | SessionResumed,
    event_sink: JournalWriter,
    clock: Clock,
    store: Store,
    settings: Settings,
) -> SessionController:
    """Append the event that begins or resumes a session; the controller of the session after it.

    Raises Refused with the words of the refusal. One SPACE confirms all plain lines only if that is set, and after
    enough complete evenings.
    """
    try:
        events = decide(state, opening)
    except Refusal as refusal:
        raise Refused(in_words(refusal.why, state.plan.units)) from refusal
    event_sink.keep(events, clock.now().wall)
    one_answer = settings.one_answer_for_plain_lines and is_experienced(store)
    return SessionController(replay(events, state), event_sink, clock, heard_until=state.at, one_answer=one_answer)


def revisit_session(
    store: Store, places: Places, stream: str, *, terminal: str = "", clock: Clock | None = None
) -> SessionController:
    """Reopen a closed session for notes and how its negatives came out; nothing else of it can change.

    Raises Refused while it is not closed, or while another terminal has its lock.
    """
    state, envelopes = _read(store, stream)
    name = stream.partition("/")[2]
    if state.outcome is None:
        raise Refused(f"Session {name} is not closed: go on with it.")
    lock = SessionLock(places.data, stream, terminal=terminal)
    if not lock.try_take(rfc3339(SystemClock().now().wall)):
        raise Refused(f"Session {name} is open in {lock.holder()}: look at it there, or leave it there first.")
    with _release_on_failure(lock):
        event_sink = JournalWriter(store, stream, envelopes, lock)
        return SessionController(state, event_sink, clock or SystemClock())


def follow_session(
    store: Store, stream: str, *, clock: Clock | None = None, barred: Unusable | None = None
) -> SessionController:
    """A read-only controller; its `trouble` says so where the journal cannot be written either (`barred`: why)."""
    state, envelopes = _read(store, stream)
    event_sink = JournalWriter(store, stream, envelopes, None, barred=barred)
    return SessionController(state, event_sink, clock or clock_of(state), read_only=True)
