"""A clock that a test sets."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from wetside.app.clock import Instant


class ManualClock:
    """A clock set by its caller. It stands still between calls of its methods."""

    def __init__(self, wall: datetime = datetime(2024, 3, 1, 19, 0, tzinfo=UTC), boot_s: float = 1_000.0) -> None:
        self._boots = 1
        self._now = Instant(boot_s, boot_s, wall, "boot-1")

    def now(self) -> Instant:
        return self._now

    def advance(self, s: float) -> Instant:
        """Let `s` seconds pass on all three clocks."""
        return self._move(s, s, s)

    def step_wall(self, s: float) -> Instant:
        """Move the wall clock by `s` seconds."""
        return self._move(0.0, 0.0, s)

    def suspend(self, s: float) -> Instant:
        """Suspend the machine for `s` seconds."""
        return self._move(s, 0.0, s)

    def reboot(self, off_s: float) -> Instant:
        """Switch the machine off for `off_s` seconds and boot it: the boot clocks begin at zero."""
        self._boots += 1
        self._now = Instant(0.0, 0.0, self._now.wall + timedelta(seconds=off_s), f"boot-{self._boots}")
        return self._now

    def _move(self, boot_s: float, awake_s: float, wall_s: float) -> Instant:
        was = self._now
        wall = was.wall + timedelta(seconds=wall_s)
        self._now = Instant(was.boot_s + boot_s, was.awake_s + awake_s, wall, was.boot_id)
        return self._now
