"""An error nobody expected, inside the full screen: the terminal as found, one sentence, nothing lost."""

from __future__ import annotations

import signal
import sys
import termios
from pathlib import Path

import pytest
from tests.faults.evening import keep, running
from tests.robot.program import ROOT, environment, journal
from tests.robot.robot import Robot, given_back

SHOWS_CURSOR = b"\x1b[?25h"
"""The last thing sent when the terminal is given back."""
SCRIPT = Path(__file__).with_name("unexpected.py")


SENTENCE = (
    "wetside: This should not happen (ZeroDivisionError: [b]in the middle[/b]). What was entered is kept in "
    "{data}; `wetside resume` goes on with it. WETSIDE_DEBUG=1 shows where it happened."
)


def broken(data: Path, where: str, after: int, *arguments: str, **changes: str) -> Robot:
    """The program with that fault in it, after so many keys."""
    command = [sys.executable, str(SCRIPT), where, str(after), *arguments, "resume"]
    return Robot(command, columns=80, rows=24, environment=environment(data, **changes), cwd=ROOT)


def ended(data: Path, where: str, **changes: str) -> str:
    """The program with that fault in it, up to its end; what stands on the terminal after it gave it back."""
    with broken(data, where, 0, **changes) as robot:
        found = termios.tcgetattr(robot.child.child_fd)
        if where in ("key", "read"):
            robot.until_lit()
            robot.press("BACKSPACE")
        assert robot.exit_code() == 1
        given_back(robot, found)
        written = bytes(robot.written)
    return written.rpartition(SHOWS_CURSOR)[2].decode()


@pytest.mark.parametrize("where", ["key", "draw", "poll", "read", "paint"])
def test_unexpected_error_is_one_sentence_on_a_restored_terminal(tmp_path: Path, where: str) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=12.0)
    before = journal(data)
    said = ended(data, where)
    assert " ".join(said.split()) == SENTENCE.format(data=data)
    assert journal(data)[: len(before)] == before


def test_debug_variable_shows_the_traceback(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=12.0)
    said = ended(data, "key", WETSIDE_DEBUG="1")
    assert said.startswith("Traceback")
    assert "unexpected.py" in said
    assert said.splitlines()[-1] == "ZeroDivisionError: [b]in the middle[/b]"


def test_nothing_is_drawn_over_the_shell_while_leaving(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=12.0)
    with broken(data, "leave", 0) as robot:
        robot.until_lit()
        robot.child.kill(signal.SIGTERM)
        assert robot.exit_code() == 128 + signal.SIGTERM
        written = bytes(robot.written)
    assert b"\x1b" not in written.rpartition(SHOWS_CURSOR)[2]
    assert b"Too late." not in written


def in_the_dark(robot: Robot) -> int:
    """Says that loading still goes on, and waits for the dark; how many bytes were written by then."""
    robot.until_shown("Still loading")
    robot.press("SPACE")
    robot.until(lambda r: bytes(r.written).endswith(b"\x1b[2J\x1b[H\x1b[?25l"))
    return len(robot.written)


@pytest.mark.parametrize("where", ["key", "poll", "read"])
def test_unexpected_error_in_the_dark_stays_dark_until_the_leave_pair(tmp_path: Path, where: str) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.load-room"), passed_s=12.0)
    before = journal(data)
    with broken(data, where, 1) as robot:
        found = termios.tcgetattr(robot.child.child_fd)
        dark = in_the_dark(robot)
        for key in ("BACKSPACE", "ENTER", "SPACE", "BACKSPACE", "ENTER"):
            robot.press(key)
            robot.quiet(0.25)
            assert robot.alive()
            assert len(robot.written) == dark
        robot.press("SPACE", "ENTER")
        assert robot.exit_code() == 1
        given_back(robot, found)
        assert " ".join(bytes(robot.written).decode().split()).endswith(SENTENCE.format(data=data))
    assert journal(data)[: len(before)] == before


def test_a_signal_ends_the_dark_screen_after_an_error(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.load-room"), passed_s=12.0)
    with broken(data, "key", 1) as robot:
        dark = in_the_dark(robot)
        robot.press("BACKSPACE")
        robot.quiet(0.25)
        assert len(robot.written) == dark
        robot.child.kill(signal.SIGTERM)
        assert robot.exit_code() == 1


@pytest.mark.parametrize("where", ["key", "poll"])
def test_a_plain_session_stays_dark_too(tmp_path: Path, where: str) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.load-room"), passed_s=12.0)
    with broken(data, where, 1, "--plain") as robot:
        robot.until(lambda r: b"then nothing more is written." in r.written)
        dark = len(robot.written)
        for line in ("x\r", "\r", "s\r", "x\r", "\r"):
            robot.child.send(line)
            robot.quiet(0.25)
            assert robot.alive()
            assert b"ZeroDivisionError" not in robot.written
        assert len(robot.written) <= dark + 2  # the end of the line that was being written
        while robot.alive():  # lines that arrive together are a paste: on a slow machine the pair is sent again
            robot.child.send("s\r")
            robot.quiet(0.25)
            robot.child.send("\r")
            robot.quiet(0.25)
        assert robot.exit_code() == 1
        assert SENTENCE.format(data=data) in " ".join(bytes(robot.written).decode().split())
