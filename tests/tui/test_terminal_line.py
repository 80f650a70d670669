"""What the guide's full screen sends over the line: few bytes, only the colours and signs that were asked for."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from tests.robot.robot import Robot

from wetside.tui.terminal_driver import TerminalDriver

TOP = Path(__file__).parents[2]
SCRIPT = str(Path(__file__).with_name("guide_on_a_terminal.py"))


def on_terminal(step: str, running_s: str = "", speed: str = "1", **environment: str) -> Robot:
    """The guide at this step, on a pseudo-terminal of 80 by 24."""
    robot = Robot([sys.executable, SCRIPT, step, running_s, speed], environment=environment, cwd=TOP)
    robot.until_shown("BACKSPACE menu")
    return robot


def minute(robot: Robot) -> str:
    """The wall clock on the top line."""
    return robot.lines[0].split()[-1]


def test_a_running_bath_sends_few_bytes() -> None:
    """A minute of bath at ten times its pace: the mean per second of the bath, not of the test."""
    with on_terminal("b1.bleach-fix", "20", "10") as robot:
        sent = []
        for _ in range(2):
            before, shown = len(robot.written), minute(robot)
            robot.until(lambda r, shown=shown: minute(r) != shown)  # type: ignore[misc]
            sent.append(len(robot.written) - before)
    assert 60 * 20 < sent[1] < 60 * 500


def test_an_unchanged_screen_sends_nothing() -> None:
    with on_terminal("gear-measure") as robot:
        robot.quiet(1.2)
        sent = robot.quiet(1.2)  # a clock that ran would show each second
    # The wall clock's minute may turn meanwhile, and only that.
    assert re.fullmatch(rb"(\x1b\[1;7\dH\x1b\[7m[0-9:]+\x1b\[0m\x1b\[H)?", sent)


def written(step: str, running_s: str = "", **environment: str) -> bytes:
    """Everything the guide has sent until its first picture stands."""
    with on_terminal(step, running_s, **environment) as robot:
        robot.quiet(0.5)
        return bytes(robot.written)


def test_with_no_color_set_no_colour_is_sent() -> None:
    seen = written("b1.load-room", NO_COLOR="1")
    codes = {code for found in re.findall(rb"\x1b\[([0-9;]*)m", seen) for code in found.split(b";")}
    assert b"7" in codes
    assert codes <= {b"", b"0", b"1", b"2", b"7", b"39", b"49"}


@pytest.mark.parametrize("term", ["linux", "vt100"])
def test_an_old_terminal_is_sent_no_queries(term: str) -> None:
    seen = written("b1.load-room", TERM=term)
    assert b"$p" not in seen
    assert b"\x1b[>" not in seen
    assert b"\x1b]" not in seen
    assert not re.search(rb"\x1b\[[0-9;]*38;", seen)


def test_an_ascii_locale_is_sent_ascii() -> None:
    seen = written("b1.developer", "20", LC_ALL="C", LANG="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    assert seen.isascii()
    assert b"####" in seen


async def test_bells_are_suppressed_in_the_dark_unless_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    driver, sent = TerminalDriver(SimpleNamespace()), list[str]()
    monkeypatch.setattr(driver, "_send", sent.append)
    driver.silence()
    sent.clear()
    driver.ring()
    assert sent == []
    driver.ring(even_silent=True)
    assert sent == ["\a"]
