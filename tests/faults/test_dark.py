"""The dark step of the real program: not one byte from entry to the leave pair, whatever is pressed."""

from __future__ import annotations

import random
import signal
from pathlib import Path

from tests.faults.evening import keep, ready, running
from tests.robot.program import fields, journal, kinds, started
from tests.robot.robot import Robot, is_stopped, leave_dark

STEP = "b1.load-room"
FAST = 200.0
CLEARED = b"\x1b[2J\x1b[H\x1b[?25l"
"""Screen cleared, cursor hidden."""
SPECIAL = (" ", "\r", "\x7f", "\x03", "\x1b[A", "\x1bOP", "\x1b[200~ \r\x1b[201~", "q")


def in_the_dark(data: Path) -> Robot:
    """The program just after it went dark; at this pace a second and a half are five minutes of loading."""
    keep(data, ready(STEP), speed=FAST)
    robot = started(data, "resume")
    robot.until(lambda r: "ready" in r.offers().get("SPACE", ""))
    robot.press("SPACE")
    robot.until(lambda r: "goes dark" in r.offers().get("ENTER", ""))
    robot.press("ENTER")
    robot.until(lambda r: not r.text.strip())
    robot.quiet()
    return robot


def press_at_random(robot: Robot, keys: int, choose: random.Random) -> None:
    """Any keys but SPACE followed by ENTER, and the window's size is changed among them."""
    pressed = "x"
    for number in range(keys):
        key = choose.choice([*SPECIAL, *"\x01\x04\n\t\x1a", chr(choose.randrange(33, 127))])
        if pressed == " " and key in "\r\n":
            key = "y"
        robot.press(key)
        pressed = key
        if number % 50 == 0:
            robot.resize(100, 30 + number // 50)
            robot.read(0.01)
    robot.resize(80, 24)


def test_no_byte_is_written_in_a_dark_step(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with in_the_dark(data) as robot:
        assert robot.written.endswith(CLEARED)
        dark = len(robot.written)
        assert kinds(journal(data))[-1] == "clock_started"
        press_at_random(robot, 200, random.Random(20240301))
        assert robot.quiet(1.7) == b""
        robot.press("x", "SPACE")
        assert robot.quiet(0.5) == b""
        assert len(robot.written) == dark
        assert kinds(journal(data))[-1] == "clock_started"

        robot.press("ENTER")
        if not robot.read(1.0):
            leave_dark(robot)
        robot.until_shown("Look at the closed tank")
        robot.until_lit()
    ended = [fields(row) for row in journal(data) if row[2] == "step_ended"][-1]
    assert ended["step"] == STEP
    assert ended["keys_ignored"] >= 150  # a paste is no key
    assert fields(journal(data)[-1])["at"] > 300.0


def test_resume_in_a_dark_step_warns_once_that_it_lit_the_room(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with in_the_dark(data) as robot:
        robot.signal(signal.SIGKILL)
        robot.exit_code()
    before = journal(data)
    with started(data, "resume") as robot:
        robot.until_shown("This session is in its dark step.")
        robot.quiet()
        robot.press("SPACE")
        robot.until(lambda r: not r.text.strip())
        robot.press("x")
        robot.quiet()
        assert robot.written.endswith(CLEARED)
        dark = len(robot.written)
        press_at_random(robot, 40, random.Random(2))
        assert robot.quiet(1.0) == b""
        assert len(robot.written) == dark
        assert set(kinds(journal(data)[len(before) :])) == {"session_resumed"}
        robot.press("x")
        leave_dark(robot)
        robot.until_shown("Look at the closed tank")


def test_the_leave_pair_leaves_at_once_after_a_kill(tmp_path: Path) -> None:
    """Lid on and light on already: the pair is all that is needed."""
    data = tmp_path / "data"
    keep(data, running(STEP), passed_s=400.0)
    with started(data, "resume") as robot:
        robot.until_shown("This session is in its dark step.")
        robot.press("SPACE", "ENTER")
        robot.until_shown("Look at the closed tank")


def test_stopped_and_continued_in_the_dark_it_stays_dark(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with in_the_dark(data) as robot:
        robot.signal(signal.SIGTSTP)
        robot.until(is_stopped)
        robot.read(0.2)
        stopped = len(robot.written)
        robot.signal(signal.SIGCONT)
        robot.until(lambda r: CLEARED in r.written[stopped:])
        robot.press("x")
        robot.quiet()
        assert robot.written.endswith(CLEARED)
        assert robot.text.strip() == ""
