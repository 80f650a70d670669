"""The event with which a session begins or goes on at this moment, and how the journal writes moments.

The clock is read once, and what it says is put into the event with the terminal. Nothing is decided here.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Literal

from wetside import __version__
from wetside.app.clock import Anchor, Clock, How, session_seconds
from wetside.domain.planning.plan import Plan
from wetside.domain.session.events import SessionBegan, SessionResumed
from wetside.domain.session.state import State


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
    """What is written of a session that begins at this moment."""
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


_GAP_TOLD: dict[How, Literal["same boot", "wall clock", "not known"]] = {
    "by the boot clock": "same boot",
    "by the wall clock": "wall clock",
    "not known": "not known",
}


def resume_now(
    state: State, last_wall: datetime, clock: Clock, terminal: str, *, took_over: bool = False
) -> SessionResumed:
    """What is written of a session that goes on at this moment. `last_wall`: when its last event was written."""
    instant = clock.now()
    anchor = Anchor(state.anchor_at, state.boot_s, datetime.fromisoformat(state.wall), state.boot_id)
    at, how = session_seconds(anchor, instant)
    if how != "by the boot clock":
        # Counting from the newest event keeps a wall-clock step before it out of the sum.
        at, how = session_seconds(Anchor(state.at, 0.0, last_wall, "another boot"), instant)
    at = max(at, state.at)
    return SessionResumed(
        at=at,
        wall=rfc3339(instant.wall),
        offset_s=local_offset_s(instant.wall),
        boot_id=instant.boot_id,
        boot_s=instant.boot_s,
        terminal=terminal,
        gap_s=at - state.at,
        how=_GAP_TOLD[how],
        took_over=took_over,
    )


def rfc3339(wall: datetime) -> str:
    """An instant as the journal writes it: UTC, to the millisecond."""
    return wall.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
