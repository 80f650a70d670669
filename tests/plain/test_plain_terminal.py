"""The plain form on a real pseudo-terminal: the dark writes no byte, not even the terminal's own echo."""

from __future__ import annotations

import os
import random
import re
import select
import signal
import termios
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests.robot.forked import ForkedOnTerminal
from tests.robot.program import ROOT, environment

TIMEOUT_S = 240.0


class Seat:
    """A person at a terminal on which a practice runs line by line."""

    def __init__(self, data: Path, speed: str) -> None:
        # its own controlling terminal, so that ^C and ^Z there are signals
        self.process = ForkedOnTerminal(
            ["-m", "wetside", "practise", "--plain", "--speed", speed],
            environment=environment(data, TERM="dumb"),
            directory=ROOT,
            dimensions=(24, 80),
        )
        self.end = self.process.child_fd
        self.attributes = termios.tcgetattr(self.end)
        self.text = ""

    def read(self, wait_s: float) -> str:
        """What is there, or comes within so many seconds."""
        if not select.select([self.end], [], [], wait_s)[0]:
            return ""
        try:
            more = os.read(self.end, 65_536).decode("utf-8", "replace")
        except OSError:
            return ""  # the other end is closed
        self.text += more
        return more

    def until(self, there: Callable[[], bool]) -> None:
        end = time.monotonic() + TIMEOUT_S
        while not there():
            assert time.monotonic() < end, self.text[-600:]
            self.read(0.05)

    def type(self, line: str) -> None:
        os.write(self.end, f"{line}\n".encode())

    @property
    def keys(self) -> str:
        return self.text[self.text.rfind("Keys: ") :]

    def lead_to(self, words: str) -> None:
        """Answer what the last line asks for until `words` are said."""
        while words not in self.text:
            seen = len(self.text)
            self.type(self._answer())
            # the echo of the line comes first; a change of what is said, or a refusal, comes after it
            self.until(lambda seen=seen: len(self.text) > seen + 4)  # type: ignore[misc]
            while self.read(0.03):
                pass

    def _answer(self) -> str:
        if "type the number" in self.keys:
            return str(self.text[self.text.rfind("Count the bells") :].count("\a"))
        if "types a temperature" in self.keys:
            step = self.text[self.text.rfind("PRACTICE") :]
            open_ = re.findall(r"^(.+): not read yet, wanted at ([\d.]+) to ([\d.]+)", step, re.MULTILINE)
            wanted = [row for row in open_ if f"{row[0]}: {row[1][:1]}" not in step.partition("Keys:")[2]]
            return f"{(float(wanted[0][1]) + float(wanted[0][2])) / 2:.1f}" if wanted else "21.0"
        return "s" if re.search(r"Keys: s (confirms|rings|I am)", self.keys) else ""

    def close(self) -> None:
        self.process.close()


@pytest.fixture
def seat(tmp_path: Path) -> Iterator[Seat]:
    seat = Seat(tmp_path / "data", "60")
    yield seat
    seat.close()


def test_in_the_dark_not_one_byte_is_written_to_the_terminal(seat: Seat) -> None:
    seat.until(lambda: "Keys: " in seat.text)
    seat.lead_to("ENTER goes dark")
    seat.type("")
    seat.until(lambda: not termios.tcgetattr(seat.end)[3] & termios.ECHO)
    while seat.read(0.05):
        pass
    before = len(seat.text)
    for keys in (b"\x04", b"\x03", b"\x1a", b"\x1c", b"x" * 6_000, b"\n"):
        os.write(seat.end, keys)
    assert seat.read(0.5) == ""
    dice = random.Random(7)
    for _ in range(200):
        # every key but the two of the pair: letters, controls (^C, ^D, ^Z, ^S, ^\ too), escape sequences
        os.write(seat.end, bytes([dice.choice([n for n in range(1, 127) if n not in (10, 13, 32)])]))
    os.write(seat.end, b"\x1b[A\x1b[200~pasted\x1b[201~\n\n\n")
    assert seat.read(1.0) == ""
    assert len(seat.text) == before
    assert seat.process.isalive()
    seat.type("s")
    assert seat.read(0.3) == ""
    seat.type("")
    if not seat.read(1.0):  # in its first ten seconds the pair is wanted twice
        seat.type("s")
        assert seat.read(0.3) == ""
        seat.type("")
    seat.until(lambda: "Look at the closed tank" in seat.text[before:])
    seat.until(lambda: termios.tcgetattr(seat.end) == seat.attributes)


def test_several_lines_at_once_are_not_taken_as_an_answer(seat: Seat) -> None:
    seat.until(lambda: "Keys: " in seat.text)
    os.write(seat.end, b"s\n\ns\n\ns\n")
    seat.until(lambda: "lines came at once, and none was taken" in seat.text)
    assert "done: " not in seat.text


def test_the_end_of_input_leaves_the_session_open(seat: Seat) -> None:
    seat.until(lambda: "Keys: " in seat.text)
    os.write(seat.end, b"\x04")
    seat.until(lambda: "The session stays open" in seat.text)
    seat.process.wait()
    assert seat.process.exitstatus == 0


@pytest.mark.parametrize("dark", [False, True])
def test_a_signal_restores_the_terminal(seat: Seat, dark: bool) -> None:
    seat.until(lambda: "Keys: " in seat.text)
    if dark:
        seat.lead_to("ENTER goes dark")
        seat.type("")
        seat.until(lambda: not termios.tcgetattr(seat.end)[3] & termios.ECHO)
    seat.process.kill(signal.SIGTERM)
    seat.process.wait()
    assert seat.process.exitstatus == 128 + signal.SIGTERM
    assert termios.tcgetattr(seat.end) == seat.attributes


def test_the_session_ends_when_its_terminal_goes_away(seat: Seat) -> None:
    seat.until(lambda: "Keys: " in seat.text)
    seat.process.hang_up()
    seat.process.wait()
    assert seat.process.exitstatus in (0, 128 + signal.SIGHUP)
