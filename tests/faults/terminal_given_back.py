"""Whether a terminal is again as the program found it."""

from __future__ import annotations

import termios

from tests.robot.robot import Robot


def given_back(robot: Robot, found: list[object]) -> None:
    """Alternate screen left, cursor shown, paste and line mode as they were."""
    written = bytes(robot.written)
    for on, off in (
        (b"\x1b[?1049h", b"\x1b[?1049l"),
        (b"\x1b[?25l", b"\x1b[?25h"),
        (b"\x1b[?2004h", b"\x1b[?2004l"),
    ):
        assert written.rfind(off) > written.rfind(on) >= 0, (on, off)
    assert termios.tcgetattr(robot.child.child_fd) == found
