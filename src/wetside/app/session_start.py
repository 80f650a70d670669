"""The events with which a session begins or is resumed, its clock, and timestamps of the journal.

The event classes are imported late: the home screen needs only `elapsed`, and is drawn before they are loaded.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from wetside import __version__
from wetside.app.clock import Clock, FastClock, How, Instant, SystemClock, session_seconds

if TYPE_CHECKING:
    from wetside.domain.planning.plan import Plan
    from wetside.domain.session.events import SessionBegan, SessionResumed
    from wetside.domain.session.state import State


def clock_at(speed: float, goes_on: str = "") -> Clock:
    """The machine's clock, or one `speed` times as fast; `goes_on`: the boot id of the one it continues."""
    return FastClock(SystemClock(), speed, goes_on) if speed != 1.0 else SystemClock()


def clock_of(state: State) -> Clock:
    """The clock a session began on: the machine's, or the fast clock of a practice, continued."""
    return clock_at(state.speed if state.practice else 1.0, state.boot_id)


def elapsed(state: State, last_wall: datetime, instant: Instant) -> tuple[float, How]:
    """Seconds since the session began, and how they are known. `last_wall`: when its last event was written."""
    at, how = session_seconds(state.anchor_at, opened_at(state), instant)
    if how != "same boot":
        # Counting from the newest event excludes earlier steps of the wall clock.
        at, how = session_seconds(state.at, Instant(0.0, 0.0, last_wall, "another boot"), instant)
    return max(at, state.at), how


def opened_at(state: State) -> Instant:
    """The instant at which the session was begun or last resumed, `state.anchor_at` on its clock."""
    return Instant(state.boot_s, 0.0, datetime.fromisoformat(state.wall), state.boot_id)


def local_offset_s(wall: datetime) -> int:
    """The zone's offset from UTC at this moment, in seconds."""
    offset = wall.astimezone().utcoffset()
    return round(offset.total_seconds()) if offset is not None else 0


def begin_now(
    session: str,
    plan: Plan,
    profile_text: str,
    clock: Clock,
    terminal: str,
    *,
    practice: bool = False,
    speed: float = 1.0,
) -> SessionBegan:
    """The first event of a session that begins at the clock's present instant."""
    from wetside.domain.session.events import SessionBegan

    instant = clock.now()
    return SessionBegan(
        at=0.0,
        session=session,
        wall=rfc3339(instant.wall),
        offset_s=local_offset_s(instant.wall),
        boot_id=instant.boot_id,
        boot_s=instant.boot_s,
        version=__version__,
        profile_text=profile_text,
        plan=plan,
        terminal=terminal,
        practice=practice,
        speed=speed,
    )


def resume_now(
    state: State, last_wall: datetime, clock: Clock, terminal: str, *, took_over: bool = False
) -> SessionResumed:
    """The event of a session that is resumed now. `last_wall`: when its last event was written."""
    from wetside.domain.session.events import SessionResumed

    instant = clock.now()
    at, how = elapsed(state, last_wall, instant)
    return SessionResumed(
        at=at,
        wall=rfc3339(instant.wall),
        offset_s=local_offset_s(instant.wall),
        boot_id=instant.boot_id,
        boot_s=instant.boot_s,
        terminal=terminal,
        gap_s=at - state.at,
        how=how,
        took_over=took_over,
    )


def rfc3339(wall: datetime) -> str:
    """A time in the journal's format, RFC 3339 in UTC, to the millisecond."""
    return wall.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
