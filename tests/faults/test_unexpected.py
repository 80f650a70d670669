"""An error nobody expected, inside the full screen: the terminal as found, one sentence, nothing lost."""

from __future__ import annotations

import sys
import termios
from pathlib import Path

import pytest
from tests.faults.evening import keep, running
from tests.faults.terminal_given_back import given_back
from tests.robot.program import ROOT, environment, journal
from tests.robot.robot import Robot

SCRIPT = Path(__file__).with_name("unexpected.py")


def ended(data: Path, where: str, **changes: str) -> str:
    """The program with that fault in it, up to its end; what stands on the terminal after it gave it back."""
    command = [sys.executable, str(SCRIPT), where, "resume"]
    with Robot(command, columns=80, rows=24, environment=environment(data, **changes), cwd=ROOT) as robot:
        found = termios.tcgetattr(robot.child.child_fd)
        if where == "key":
            robot.until_lit()
            robot.press("BACKSPACE")
        assert robot.exit_code() == 1
        given_back(robot, found)
        written = bytes(robot.written)
    return written[written.rfind(b"\x1b[?1004l") :].decode().removeprefix("\x1b[?1004l")


@pytest.mark.parametrize("where", ["key", "draw", "beat", "read"])
def test_what_nobody_expected_is_one_sentence_on_a_terminal_given_back(tmp_path: Path, where: str) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=12.0)
    before = journal(data)
    said = ended(data, where)
    assert said.splitlines() == [
        "wetside: This should not happen (ZeroDivisionError: [b]in the middle[/b]). What was entered is kept in "
        f"{data}; `wetside resume` goes on with it. WETSIDE_DEBUG=1 shows where it happened."
    ]
    assert journal(data)[: len(before)] == before


def test_for_a_developer_it_shows_where(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=12.0)
    said = ended(data, "key", WETSIDE_DEBUG="1")
    assert said.startswith("Traceback")
    assert "unexpected.py" in said
    assert said.splitlines()[-1] == "ZeroDivisionError: [b]in the middle[/b]"
