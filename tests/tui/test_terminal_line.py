"""On a real pseudo-terminal: the dark writes nothing, signals give the terminal back, a lost terminal ends it."""

from __future__ import annotations

import os
import random
import re
import select
import signal
import subprocess
import sys
import termios
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pexpect
import pyte
import pytest
from tests.robot.forked import ForkedOnTerminal, starts_like

TOP = Path(__file__).parents[2]
SCRIPT = str(Path(__file__).with_name("guide_on_a_terminal.py"))
_NOT_FOR_PYTE = re.compile(rb"\x1b\[(>[0-9]*u|<u|\?[0-9]*\$p)")
PATIENCE_S = 240.0
"""Only for what hangs: a busy machine may take long to start a guide."""
RESTORED = (b"\x1b[?1049l", b"\x1b[?25h", b"\x1b[?2004l", b"\x1b[?7h")


def _environment(**changes: str) -> dict[str, str]:
    never = ("COLUMNS", "LINES", "NO_COLOR", "LANG")
    kept = {name: value for name, value in os.environ.items() if name not in never}
    return {**kept, "LC_ALL": "C.UTF-8", "TERM": "xterm-256color", **changes}


class Guide:
    """The guide in a pseudo-terminal of 80 by 24, and the screen a person would see."""

    def __init__(self, step: str, running_s: str = "", speed: str = "1", **environment: str) -> None:
        env, arguments = _environment(**environment), [SCRIPT, step, running_s, speed]
        self.child: pexpect.spawn[bytes] | ForkedOnTerminal
        if starts_like(env):
            self.child = ForkedOnTerminal(arguments, environment=env, directory=TOP, dimensions=(24, 80))
        else:
            self.child = pexpect.spawn(sys.executable, arguments, env=env, dimensions=(24, 80))
            self.child.delaybeforesend = None
        self.screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self.screen)

    def read(self, longest_s: float) -> bytes:
        """What comes next; nothing when nothing comes for so long, or the guide has gone."""
        if not select.select([self.child.child_fd], [], [], longest_s)[0]:
            return b""
        with suppress(OSError):
            came = os.read(self.child.child_fd, 65536)
            self._stream.feed(_NOT_FOR_PYTE.sub(b"", came))
            return came
        return b""

    def shown(self, words: str) -> bytes:
        """Read on until the screen shows `words`; what was read."""
        out = b""
        while words not in " ".join(self.screen.display):
            out += (came := self.read(PATIENCE_S))
            assert came, "\n".join(self.screen.display)
        return out

    def turned_minute(self) -> bytes:
        """Read on until the wall clock on the top line shows another minute; what was read."""
        minute, out = self.screen.display[0].split()[-1], b""
        while self.screen.display[0].split()[-1] == minute:
            out += (came := self.read(PATIENCE_S))
            assert came
        return out

    def until(self, words: bytes) -> bytes:
        """Read on until `words` were sent; what was read."""
        out = b""
        while words not in out:
            out += (came := self.read(PATIENCE_S))
            assert came, out
        return out

    def quiet(self, silence_s: float = 0.4) -> bytes:
        """Everything written until nothing came for so long."""
        out = b""
        while came := self.read(silence_s):
            out += came
        return out

    def kill(self, number: signal.Signals) -> None:
        """Send the guide a signal."""
        assert self.child.pid is not None
        os.kill(self.child.pid, number)


@pytest.fixture
def started() -> Iterator[list[Guide]]:
    """Guides started by a test are ended with it."""
    guides: list[Guide] = []
    yield guides
    for guide in guides:
        guide.child.close(force=True)


def test_the_dark_writes_no_byte_whatever_is_pressed(started: list[Guide]) -> None:
    guide = Guide("b1.load-room", "ready")
    started.append(guide)
    guide.shown("SPACE I am ready")
    guide.quiet()  # a key just after a step has opened is meant for the one before
    guide.child.send(b" ")
    guide.shown("ENTER goes dark")
    guide.child.send(b"\r")
    entry = guide.quiet()
    assert entry.endswith(b"\x1b[2J\x1b[H\x1b[?25l")

    choose = random.Random(20240301)
    pressed = b""
    for _ in range(200):
        key = choose.choice([bytes([choose.randrange(1, 127)]), b"\x1b[A", b"\x1b[I", b"\x1b[200~x \r\x1b[201~"])
        if pressed.endswith(b" ") and key[:1] in b"\r\n":
            continue  # the leave pair itself
        pressed += key
        guide.child.send(key)
    guide.child.setwinsize(30, 100)
    assert guide.quiet(1.5) == b""

    guide.child.send(b"x")
    guide.quiet(0.3)
    guide.child.send(b" ")
    assert guide.quiet() == b""
    guide.child.send(b"\r")
    said = guide.quiet(1.0)
    if not said:  # in its first ten seconds the pair is wanted twice
        guide.child.send(b" \r")
        said = guide.quiet(1.0)
    assert b"Look at the closed tank" in re.sub(rb"\x1b\[[0-9;?]*[a-zA-Z]", b"", said)


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM, signal.SIGINT])
def test_a_signal_gives_the_terminal_back(started: list[Guide], number: signal.Signals) -> None:
    guide = Guide("b1.developer", "20")
    before = termios.tcgetattr(guide.child.child_fd)
    started.append(guide)
    guide.shown("BACKSPACE menu")
    guide.kill(number)
    said = b""
    while guide.child.isalive():
        said += guide.read(0.05)
    said += guide.quiet(0.05)
    assert all(sequence in said for sequence in RESTORED)
    assert termios.tcgetattr(guide.child.child_fd)[3] == before[3]
    assert guide.child.exitstatus == 128 + number


@pytest.mark.parametrize("hang_up", [signal.SIG_IGN, signal.SIG_DFL], ids=["HUP ignored by a parent", "HUP"])
def test_without_its_terminal_the_process_ends(hang_up: signal.Handlers) -> None:
    master, slave = os.openpty()
    previous = signal.signal(signal.SIGHUP, hang_up)
    try:
        process = subprocess.Popen(
            [sys.executable, SCRIPT, "b1.developer", "20", "1"],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            env=_environment(),
            start_new_session=True,
        )
    finally:
        signal.signal(signal.SIGHUP, previous)
    os.close(slave)
    seen = b""
    while b"menu" not in seen:
        seen += os.read(master, 65536)
    os.close(master)
    assert process.wait(PATIENCE_S) == 129


def test_stopped_and_continued_it_goes_on(started: list[Guide]) -> None:
    guide = Guide("b1.developer", "20")
    started.append(guide)
    guide.shown("BACKSPACE menu")
    guide.quiet()  # a key just after a step has opened is meant for the one before
    guide.kill(signal.SIGTSTP)
    guide.until(b"\x1b[?1049l")
    stopped = Path(f"/proc/{guide.child.pid}/stat")
    while stopped.read_text().rpartition(")")[2].split()[0] != "T":
        guide.read(0.01)
    guide.kill(signal.SIGCONT)
    guide.until(b"\x1b[?2004h")  # keys are read again from here on
    guide.child.send(b"\x7f")
    guide.shown("leaves the menu")


def test_a_running_bath_sends_few_bytes(started: list[Guide]) -> None:
    """A minute of bath at ten times its pace: the mean per second of the bath, not of the test."""
    guide = Guide("b1.bleach-fix", "20", "10")
    started.append(guide)
    guide.shown("BACKSPACE menu")
    guide.turned_minute()
    sent = guide.turned_minute()
    assert 60 * 20 < len(sent) < 60 * 500


def test_nothing_changing_sends_nothing(started: list[Guide]) -> None:
    guide = Guide("gear-measure")
    started.append(guide)
    guide.shown("BACKSPACE menu")
    guide.quiet(1.2)
    sent = guide.quiet(1.2)  # a clock that ran would show each second
    # The wall clock's minute may turn meanwhile, and only that.
    assert re.fullmatch(rb"(\x1b\[1;7\dH\x1b\[7m[0-9:]+\x1b\[0m\x1b\[H)?", sent)


def test_no_colour_means_no_colour(started: list[Guide]) -> None:
    guide = Guide("b1.load-room", NO_COLOR="1")
    started.append(guide)
    seen = guide.shown("BACKSPACE menu") + guide.quiet(0.5)
    codes = {code for found in re.findall(rb"\x1b\[([0-9;]*)m", seen) for code in found.split(b";")}
    assert b"7" in codes
    assert codes <= {b"", b"0", b"1", b"2", b"7", b"39", b"49"}


@pytest.mark.parametrize("term", ["linux", "vt100"])
def test_an_old_terminal_is_asked_no_questions(started: list[Guide], term: str) -> None:
    guide = Guide("b1.load-room", TERM=term)
    started.append(guide)
    seen = guide.shown("BACKSPACE menu") + guide.quiet(0.5)
    assert b"$p" not in seen
    assert b"\x1b[>" not in seen
    assert b"\x1b]" not in seen
    assert not re.search(rb"\x1b\[[0-9;]*38;", seen)


def test_an_ascii_locale_is_sent_ascii(started: list[Guide]) -> None:
    guide = Guide("b1.developer", "20", LC_ALL="C", LANG="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    started.append(guide)
    seen = guide.shown("BACKSPACE menu") + guide.quiet(0.5)
    assert seen.isascii()
    assert b"####" in seen
