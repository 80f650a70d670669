"""Asserts that the program has restored the terminal."""

from __future__ import annotations

import termios

from tests.robot.robot import Robot


def given_back(robot: Robot, found: list[object]) -> None:
    """Assert that the alternate screen is left, the cursor shown, and paste and line mode are as `found`."""
    written = bytes(robot.written)
    for on, off in (
        (b"\x1b[?1049h", b"\x1b[?1049l"),
        (b"\x1b[?25l", b"\x1b[?25h"),
        (b"\x1b[?2004h", b"\x1b[?2004l"),
    ):
        assert written.rfind(off) > written.rfind(on) >= 0, (on, off)
    assert termios.tcgetattr(robot.child.child_fd) == found
