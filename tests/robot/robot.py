"""A robot on a real pseudo-terminal: it reads only the screen and presses only keys that the bottom line names.

It relies on three facts: the last line names the keys, bells can be counted, and SPACE then ENTER leaves the dark.
"""

from __future__ import annotations

import os
import re
import select
import signal
import sys
import termios
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import pexpect
import pyte
from tests.robot.forked import ForkedOnTerminal, starts_like

from wetside.tui.large_digits import rows_of, scales
from wetside.tui.rows import TextLayout

KEYS = {"SPACE": " ", "ENTER": "\r", "BACKSPACE": "\x7f"}
GENEROUS_S = 240.0
"""How long a condition may take to come true on a busy machine before a test gives up."""

_RAIL = 22
"""Columns of the rail at 80 by 24."""

_CLOCKS = re.compile(r"[\d:█▀▄\s]")
_BLOCKS = frozenset("█▀▄")
_NAMES = re.compile(r"\b(SPACE|ARROWS|ENTER|BACKSPACE)\b")
# Questions to the terminal and keyboard protocols: the emulator would print their letters.
_NOT_FOR_PYTE = re.compile(rb"\x1b\[(?:[<>=][0-9;]*u|\?[0-9;]*\$p|>[0-9;]*[a-zA-Z])")


class Eyes(pyte.Screen):
    """The emulated screen; it counts bells."""

    bells = 0

    def bell(self, *_: Any) -> None:
        self.bells += 1


class Robot:
    """One program on a pseudo-terminal of the given size. `written` is every byte it has sent.

    A program of this interpreter is forked from one that has loaded Wetside, unless it is to be started `anew`, or
    its environment changes how an interpreter starts.
    """

    def __init__(
        self,
        arguments: list[str],
        *,
        columns: int = 80,
        rows: int = 24,
        environment: dict[str, str] | None = None,
        cwd: Path | None = None,
        anew: bool = False,
    ) -> None:
        base = {"PATH": os.environ["PATH"], "HOME": os.environ.get("HOME", "/"), "LANG": "C.UTF-8"}
        env = {**base, "TERM": "xterm-256color", **(environment or {})}
        self.columns, self.rows = columns, rows
        self.eyes = Eyes(columns, rows)
        self.stream = pyte.ByteStream(self.eyes)
        self.written = bytearray()
        self._shown: list[str] | None = None
        self.child: pexpect.spawn[bytes] | ForkedOnTerminal
        if not anew and arguments[0] == sys.executable and starts_like(env):
            self.child = ForkedOnTerminal(
                arguments[1:], environment=env, directory=cwd or Path.cwd(), dimensions=(rows, columns)
            )
            return
        self.child = pexpect.spawn(
            arguments[0],
            arguments[1:],
            dimensions=(rows, columns),
            env=env,
            cwd=str(cwd) if cwd is not None else None,
            timeout=GENEROUS_S,
        )
        self.child.delaybeforesend = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def read(self, wait_s: float = 0.05) -> int:
        """Take in what the program has written; wait at most `wait_s` for the first byte. The number of bytes."""
        count = 0
        while True:
            ready, _, _ = select.select([self.child.child_fd], [], [], wait_s if count == 0 else 0.004)
            if not ready:
                return count
            try:
                data = os.read(self.child.child_fd, 65536)
            except OSError:
                return count
            if not data:
                return count
            count += len(data)
            self.written += data
            self.stream.feed(_NOT_FOR_PYTE.sub(b"", data))
            self._shown = None

    @property
    def lines(self) -> list[str]:
        """The screen as text."""
        if self._shown is None:
            self._shown = [line.rstrip() for line in self.eyes.display]
        return self._shown

    @property
    def text(self) -> str:
        """The screen as one text."""
        return "\n".join(self.lines)

    @property
    def words(self) -> str:
        """The screen as one line, with line breaks as spaces."""
        return " ".join(self.text.split())

    def press(self, *keys: str) -> None:
        """Press keys by name, or type text."""
        for key in keys:
            self.child.send(KEYS.get(key, key))

    def offers(self) -> dict[str, str]:
        """What the bottom lines say each key does. They may wrap on a narrow screen: the last block is read.

        A page keeps rows for its fullest keys, so that the block may have blank rows below it.
        """
        first = max((row for row, line in enumerate(self.lines) if line.strip()), default=0)
        block = self.lines[first]
        if not _NAMES.search(block):
            return {}
        while first > 0 and _NAMES.match(self.lines[first - 1].strip()):
            first -= 1
            block = self.lines[first] + "  " + block
        parts = _NAMES.split(block)
        return {parts[i]: parts[i + 1].strip() for i in range(1, len(parts) - 1, 2) if parts[i + 1].strip()}

    def until(self, condition: Callable[[Robot], bool], within_s: float = GENEROUS_S) -> None:
        """Read until the condition holds; AssertionError with the screen if it does not come true."""
        end = time.monotonic() + within_s
        while not condition(self):
            assert time.monotonic() < end, f"not within {within_s} s; the screen:\n{self.text}"
            self.read(0.05)
            if not self.alive() and not condition(self):
                self.read(0.2)
                assert condition(self), f"the program ended; the screen:\n{self.text}"

    def until_shown(self, words: str, within_s: float = GENEROUS_S) -> None:
        """Read until the screen shows these words."""
        self.until(lambda robot: words in robot.words, within_s)

    def until_lit(self, within_s: float = GENEROUS_S) -> None:
        """Read until the bottom line says what the keys do."""
        self.until(lambda robot: bool(robot.offers()), within_s)

    def quiet(self, silence_s: float = 0.3) -> bytes:
        """Read until nothing has come for `silence_s`; returns what came. With a fast clock it never ends."""
        before, end = len(self.written), time.monotonic() + GENEROUS_S
        while self.read(silence_s):
            assert time.monotonic() < end, f"never {silence_s} s of silence; the screen:\n{self.text}"
        return bytes(self.written[before:])

    def resize(self, columns: int, rows: int) -> None:
        """Another size of the window."""
        self.columns, self.rows = columns, rows
        self.eyes.resize(rows, columns)
        self._shown = None
        self.child.setwinsize(rows, columns)

    def alive(self) -> bool:
        """Whether the program still runs."""
        return bool(self.child.isalive())

    def signal(self, number: signal.Signals) -> None:
        """Send the program a signal."""
        assert self.child.pid is not None
        os.kill(self.child.pid, number)

    def exit_code(self, within_s: float = GENEROUS_S) -> int:
        """Read until the program has ended; its exit code, negative for the signal that ended it."""
        end = time.monotonic() + within_s
        while self.alive():
            assert time.monotonic() < end, f"still runs after {within_s} s; the screen:\n{self.text}"
            self.read(0.02)
        self.read(0.05)
        if self.child.exitstatus is not None:
            return int(self.child.exitstatus)
        assert self.child.signalstatus is not None
        return -int(self.child.signalstatus)

    def close(self) -> None:
        """End the program, whatever it does."""
        if self.child.isalive():
            self.signal(signal.SIGKILL)
            self.child.wait()
        self.child.close()


def large_digits(robot: Robot) -> int | None:
    """The seconds that the large digits on screen show; None while there are none."""
    lines = [line for line in robot.lines if _BLOCKS & set(line)]
    if not lines:
        return None
    left = min(line.index(block) for line in lines for block in _BLOCKS & set(line))
    return _large().get("\n".join(line[left:].rstrip() for line in lines))


def pressed_until(robot: Robot, key: str, condition: Callable[[Robot], bool], *, every_s: float = 1.3) -> None:
    """Press a key until the condition holds, as a key is ignored right after a step opens, and a critical item
    confirmed within a second is asked for again.
    """
    end = time.monotonic() + GENEROUS_S
    while not condition(robot):
        assert time.monotonic() < end, f"{key} does not lead there; the screen:\n{robot.text}"
        robot.press(key)
        again = time.monotonic() + every_s
        while not condition(robot) and time.monotonic() < again:
            robot.read(0.05)


def leave_dark(robot: Robot) -> None:
    """Press the leave pair; in the first ten seconds of a dark step it is needed twice."""
    robot.press("SPACE", "ENTER")
    if not robot.read(1.0):
        robot.press("SPACE", "ENTER")


def given_back(robot: Robot, found: list[object]) -> None:
    """Assert that the alternate screen is left, the cursor shown, and paste and line mode are as `found`."""
    written = bytes(robot.written)
    for on, off in (
        (b"\x1b[?1049h", b"\x1b[?1049l"),
        (b"\x1b[?25l", b"\x1b[?25h"),
        (b"\x1b[?2004h", b"\x1b[?2004l"),
        (b"\x1b[?7l", b"\x1b[?7h"),
    ):
        assert written.rfind(off) > written.rfind(on) >= 0, (on, off)
    assert termios.tcgetattr(robot.child.child_fd) == found


def is_stopped(robot: Robot) -> bool:
    """Whether the program has been stopped by a signal."""
    return Path(f"/proc/{robot.child.pid}/stat").read_text().rpartition(")")[2].split()[0] == "T"


def done_lines(robot: Robot) -> frozenset[str]:
    """The beginnings of the statements that an 80 by 24 screen shows as made."""
    found = (re.fullmatch(r"done    (\w.{11,})", line[_RAIL:]) for line in robot.lines)
    return frozenset(match[1][:20] for match in found if match is not None)


@cache
def _large() -> dict[str, int]:
    """The seconds (up to twenty minutes) by the rows of large digits, of at most ten rows, that show them."""
    signs, found = TextLayout(True), {}
    for seconds in range(1200):
        text = f"{seconds // 60}:{seconds % 60:02d}"
        for scale in scales(text, 80, 10, signs):
            rows = [row.rstrip() for row in rows_of(text, scale, signs) if row.strip()]
            left = min(len(row) - len(row.lstrip()) for row in rows)
            found["\n".join(row[left:] for row in rows)] = seconds
    return found


_WANTED = re.compile(r"[Ww]anted:?\s+(\d+(?:\.\d+)?)\s+to\s+(\d+(?:\.\d+)?)")
NEVER = ("leaves", "too early", "menu")


def lead(
    robot: Robot,
    done: Callable[[Robot], bool],
    within_s: float = 1000.0,
    on_screen: Callable[[Robot], None] | None = None,
) -> int:
    """Follow the bottom line of a session until `done`; returns the number of presses."""
    end = time.monotonic() + within_s
    presses = 0
    while not done(robot):
        assert time.monotonic() < end, f"the session did not end; the screen:\n{robot.text}"
        assert robot.alive(), f"the program ended; the screen:\n{robot.text}"
        if robot.text.strip():
            robot.until(lambda r: bool(r.offers()) or not r.text.strip())  # a picture half painted
        if on_screen is not None:
            on_screen(robot)
        presses += one_press(robot)
    return presses


def one_press(robot: Robot) -> int:
    """Do the next act that the bottom line names; returns the number of keys pressed, 0 after only waiting."""
    offers = robot.offers()
    enter, space = offers.get("ENTER", ""), offers.get("SPACE", "")
    if not offers:
        if robot.text.strip() and "SPACE, then ENTER." not in robot.words:
            robot.read(0.1)
            return 0
        robot.press("SPACE", "ENTER")  # dark, or begun anew in the dark: the leave pair
        robot.read(0.3)
        return 2
    if space.startswith("rings"):
        return _count_bells(robot)
    if space.startswith("begins at") and (wanted := _WANTED.search(robot.words)):
        middle = (float(wanted[1]) + float(wanted[2])) / 2
        robot.press(f"{middle:.1f}")
        robot.until(lambda r: "keeps" in r.offers().get("ENTER", ""))
        robot.press("ENTER")
        _settle(robot)
        return 2
    if enter and not any(word in enter for word in NEVER):
        robot.press("ENTER")
    elif space and "early" not in space:
        robot.press("SPACE")
    else:
        robot.read(0.05)
        return 0
    _settle(robot)
    return 1


def _settle(robot: Robot) -> None:
    """Read after a press until the screen has changed, at most 0.2 s.

    Running clocks do not count as a change: a key pressed again at each of their seconds would count as held down.
    """
    before, end = _without_clocks(robot), time.monotonic() + 0.2
    while _without_clocks(robot) == before and time.monotonic() < end:
        robot.read(0.05)


def _without_clocks(robot: Robot) -> str:
    """The screen without what a running clock changes."""
    return _CLOCKS.sub("", robot.text)


def _count_bells(robot: Robot) -> int:
    robot.eyes.bells = 0
    pressed_until(robot, "SPACE", lambda r: "did you hear" in r.words)  # too soon after the line appeared: again
    quiet_since, counted = time.monotonic(), robot.eyes.bells
    while time.monotonic() - quiet_since < 1.0:  # bells come a third of a second apart
        robot.read(0.05)
        if robot.eyes.bells != counted:
            quiet_since, counted = time.monotonic(), robot.eyes.bells
    heard = robot.eyes.bells
    assert 1 <= heard <= 4, f"{heard} bells; the screen:\n{robot.text}"
    robot.press(str(heard), "ENTER")
    _settle(robot)
    return 3
