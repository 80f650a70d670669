"""The window changes its size in mid-bath: what the keys do and the clock stay on screen, and nothing ends."""

from __future__ import annotations

from pathlib import Path

from tests.faults.evening import keep, running
from tests.robot.program import started
from tests.robot.robot import Robot, pressed_until

from wetside.sanitize import invisible

SIZES = ((60, 20), (40, 12), (120, 40), (40, 12), (80, 24))
BATH = "b1.bleach-fix"


def _has_a_clock(robot: Robot) -> bool:
    """Large digits, or digits with a colon: every size shows one of the two."""
    large = any(set(line) & set("█▀▄") for line in robot.lines)
    return large or any(word[:1].isdigit() and ":" in word for word in robot.words.split())


def _whole(robot: Robot) -> bool:
    return "BACKSPACE" in robot.offers() and _has_a_clock(robot)


def test_after_a_resize_in_mid_bath_the_bottom_line_and_the_clock_stay(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running(BATH), passed_s=20.0)
    with started(data, "resume") as robot:
        robot.until(_whole)
        for columns, rows in SIZES:
            robot.eyes.reset()  # only what is drawn for the new size counts
            robot.resize(columns, rows)
            robot.until(_whole)
            assert not any(invisible(letter) for line in robot.lines for letter in line)
        robot.eyes.reset()
        robot.resize(30, 8)
        robot.until(lambda r: "40" in r.words and "12" in r.words and not r.offers())
        robot.eyes.reset()
        robot.resize(120, 40)
        robot.until(_whole)
        # on a quick machine all this takes less than the quarter of a second in which a step has only just opened
        pressed_until(robot, "BACKSPACE", lambda r: r.offers().get("BACKSPACE") == "leaves the menu")
        assert robot.alive()
        assert b"Traceback" not in robot.written


def test_a_window_that_is_back_at_its_size_at_once_is_drawn_whole(tmp_path: Path) -> None:
    """As by a tiling window manager: the terminal has cut what it showed, and the program may see no change."""
    data = tmp_path / "data"
    keep(data, running(BATH), passed_s=20.0)
    with started(data, "resume") as robot:
        robot.until(_whole)
        robot.quiet()
        for _ in range(10):
            robot.child.setwinsize(12, 40)
            robot.child.setwinsize(24, 80)
            robot.eyes.reset()
            robot.until(_whole)
            robot.quiet()
