"""Reads the system's clocks. All other code gets its instants from a `Clock` that is passed in.

An `Instant` holds one moment as three readings: seconds since boot, with time spent suspended (deadlines use
these); seconds awake, without it (the difference reveals a suspend); and the wall clock in UTC (people read it,
and after a restart nothing else is left). This module decides nothing about a session: it computes how long ago
something was, and how that is known.
"""

from __future__ import annotations

import sys
import time
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Final, Literal, Protocol

from msgspec import Struct

from wetside.errors import Refused

BOOT_ID_FILE: Final = Path("/proc/sys/kernel/random/boot_id")
SHORTEST_JUMP_S: Final = 2.0
FASTEST: Final = 1_000.0

# The readings of an instant are taken one after another; they count as one moment if that took less than this.
_ONE_MOMENT_S: Final = 0.1
_TRIES: Final = 5
_PRACTICE: Final = "/practice/"

How = Literal["same boot", "wall clock", "not known"]
"""By which clock a time is known, as `SessionResumed` has it: the boot clock, the wall clock, or neither."""


class Instant(Struct, frozen=True):
    """One moment.

    boot_s: seconds on a monotonic clock that includes time spent suspended
    awake_s: seconds on a monotonic clock that stops while suspended; only differences are meaningful
    wall: the wall clock, UTC and aware; it may step
    boot_id: identifies one boot of the machine
    """

    boot_s: float
    awake_s: float
    wall: datetime
    boot_id: str

    @property
    def day(self) -> date:
        """The date in the machine's time zone."""
        return self.wall.astimezone().date()


class Jump(Struct, frozen=True):
    """A disagreement of the clocks between two instants, by `by_s` seconds.

    suspend: the machine was suspended for `by_s`; wall step: the wall clock was moved by `by_s`, negative when put
    back.
    """

    kind: Literal["suspend", "wall step"]
    by_s: float


class Clock(Protocol):
    """A source of instants."""

    def now(self) -> Instant: ...


class SystemClock:
    """The clock of this machine.

    The boot clock is CLOCK_BOOTTIME where there is one. Elsewhere it is CLOCK_MONOTONIC, which on macOS goes on
    through a sleep (as its manual says; not tried here) with CLOCK_UPTIME_RAW for the time awake. On a system
    with neither, a suspend looks like a step of the wall clock.
    """

    def __init__(self, boot_id_file: Path = BOOT_ID_FILE) -> None:
        self._boot_id = _boot_id(boot_id_file, _boot_s(), datetime.now(UTC))

    def now(self) -> Instant:
        """The present instant. All clocks are read again (five times at most) if reading them took too long."""
        for _ in range(_TRIES):
            before, awake, wall, after = _boot_s(), _awake_s(), datetime.now(UTC), _boot_s()
            if after - before < _ONE_MOMENT_S:
                break
        return Instant(after, awake, wall, self._boot_id)


class FastClock:
    """A clock for practice: from its creation on, time runs `speed` times as fast as on `inner`.

    All three readings are scaled together. A suspend or a step of the wall clock passes through unscaled, so that
    the few milliseconds between two readings do not grow into a jump. It has its own boot id, so that instants of
    a practice are never compared with the machine's by the boot clock. With `goes_on`, the boot id of an earlier
    FastClock, it continues that clock (also through the time in between), unless the machine has been rebooted.
    """

    def __init__(self, inner: Clock, speed: float, goes_on: str = "") -> None:
        if not 0.1 <= speed <= FASTEST:
            raise Refused(f"A speed of {speed:g} is not possible: choose one from 0.1 to {FASTEST:g}.")
        self._inner = inner
        self._speed = speed
        now = inner.now()
        begun_s = _begun_s(goes_on, now)
        self._begun_s = now.boot_s if begun_s is None else begun_s
        self._boot_id = f"{now.boot_id}{_PRACTICE}{self._begun_s:.6f}" if begun_s is None else goes_on

    def now(self) -> Instant:
        real = self._inner.now()
        gained = (real.boot_s - self._begun_s) * (self._speed - 1.0)
        return Instant(
            real.boot_s + gained, real.awake_s + gained, real.wall + timedelta(seconds=gained), self._boot_id
        )


def session_seconds(at_s: float, since: Instant, now: Instant) -> tuple[float, How]:
    """Seconds on the session's clock, which showed `at_s` at the instant `since`, and how they are known.

    Within one boot they come from the boot clock, whatever the wall clock did; after a restart, from the wall
    clock. If that reads earlier than at `since`, it was put back and the time between is "not known": the result
    is then `at_s`, because the session's clock never runs backward.
    """
    if since.boot_id == now.boot_id and now.boot_s >= since.boot_s:
        return at_s + (now.boot_s - since.boot_s), "same boot"
    passed = (now.wall - since.wall).total_seconds()
    return (at_s, "not known") if passed < 0 else (at_s + passed, "wall clock")


def jumps(previous: Instant, current: Instant) -> tuple[Jump, ...]:
    """Suspends and wall clock steps of `SHORTEST_JUMP_S` or more between two instants of one boot.

    A suspend and a step can come together.
    """
    boot_s = current.boot_s - previous.boot_s
    slept_s = boot_s - (current.awake_s - previous.awake_s)
    stepped_s = (current.wall - previous.wall).total_seconds() - boot_s
    slept = (Jump("suspend", slept_s),) if slept_s > SHORTEST_JUMP_S else ()
    stepped = (Jump("wall step", stepped_s),) if abs(stepped_s) > SHORTEST_JUMP_S else ()
    return (*slept, *stepped)


def _begun_s(boot_id: str, now: Instant) -> float | None:
    """The boot time (s) at which the FastClock with this id began; None if that was not in this boot."""
    inner, practice, begun = boot_id.partition(_PRACTICE)
    if not practice or inner != now.boot_id:
        return None
    try:
        begun_s = float(begun)
    except ValueError:
        return None
    return begun_s if 0.0 <= begun_s <= now.boot_s else None


def _boot_s() -> float:
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    elif sys.platform == "darwin":
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    else:
        return time.monotonic()


def _awake_s() -> float:
    if sys.platform == "darwin":
        return time.clock_gettime(time.CLOCK_UPTIME_RAW)
    else:
        return time.monotonic()


def _boot_id(file: Path, boot_s: float, wall: datetime) -> str:
    """The kernel's id of this boot; without one, the minute in which the machine was started.

    The latter changes when the wall clock is moved by a minute or so: the same boot then counts as another, and
    times across the change come from the wall clock and are marked so. Boots in different minutes always differ.
    """
    try:
        if written := file.read_text("ascii").strip():
            return written
    except (OSError, UnicodeDecodeError):
        pass  # no such file outside Linux, or hidden in a container: use the minute below
    return f"started {wall - timedelta(seconds=boot_s):%Y-%m-%dT%H:%MZ}"


class LocalZone(tzinfo):
    """The machine's own zone with its changes of daylight saving; `astimezone()` alone fixes one offset."""

    def utcoffset(self, when: datetime | None) -> timedelta | None:
        """The offset at that local time."""
        return None if when is None else when.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, when: datetime | None) -> timedelta | None:
        """None, unknown: `utcoffset` already includes daylight saving."""
        return None

    def tzname(self, when: datetime | None) -> str | None:
        """The zone's name at that local time."""
        return None if when is None else when.replace(tzinfo=None).astimezone().tzname()

    def fromutc(self, when: datetime) -> datetime:
        """The local time of an instant that is given in UTC."""
        local = when.replace(tzinfo=UTC).astimezone()
        found = local.replace(tzinfo=self)
        return found if self.utcoffset(found) == local.utcoffset() else found.replace(fold=1)
