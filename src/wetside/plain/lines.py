"""Lines as they arrive from a terminal, a pipe or a file, and signals as they arrive beside them.

One job: wait for either without ever blocking the clock. What a line means is not known here. While the session
is dark the terminal's own echo is off, and the keys that would stop or end the program are plain letters.
"""

from __future__ import annotations

import os
import select
import termios
from collections import deque
from contextlib import suppress
from typing import Final, TextIO

from wetside.app.signals import arrived
from wetside.plain.keys import LONGEST_LINE

_READ_BYTES: Final = 65_536


class Lines:
    """Lines from a file, a pipe or a terminal, without ever blocking.

    A person at a terminal types one line at a time, so lines that come together there are a paste; from a pipe
    each counts.
    """

    def __init__(self, stream: TextIO | None) -> None:
        self._fd = _descriptor(stream)
        self.ended = self._fd is None
        self._is_tty = self._fd is not None and os.isatty(self._fd)
        self._part = b""
        self._lines: deque[str] = deque()
        self._as_found = termios.tcgetattr(self._fd) if self._fd is not None and self._is_tty else None
        self._echo_off = False

    def __enter__(self) -> Lines:
        return self

    def __exit__(self, *_: object) -> None:
        self.settle(False)

    @property
    def waiting(self) -> bool:
        """Whether a whole line is there."""
        return bool(self._lines)

    def take(self) -> str:
        """The next whole line."""
        return self._lines.popleft()

    def pasted(self) -> int:
        """How many lines came together at a terminal, which are dropped; 0 when there was no such paste."""
        if not self._is_tty or not self._lines:
            return 0
        while self._fd is not None and not self.ended and select.select([self._fd], [], [], 0)[0]:
            self._read()
        if len(self._lines) < 2:
            return 0
        count = len(self._lines)
        self._lines.clear()
        return count

    def wait(self, seconds: float, signals: int) -> int:
        """Wait for input, a signal, or so many seconds; gives the signal's number, or 0."""
        watched = [signals] if self.ended or self._fd is None else [signals, self._fd]
        ready = select.select(watched, [], [], seconds)[0]
        # Woken by a signal when input has just come too, the system names the input alone: so look once more.
        number = arrived(signals)
        if not number and self._fd in ready:
            self._read()
        return number

    def settle(self, dark: bool) -> None:
        """Let the terminal show what is typed, or nothing at all in the dark."""
        if self._fd is None or self._as_found is None or dark == self._echo_off:
            return
        self._echo_off = dark
        with suppress(termios.error):  # a terminal that is gone needs no putting back
            termios.tcsetattr(self._fd, termios.TCSANOW, _without_echo(self._fd) if dark else self._as_found)

    def _read(self) -> None:
        if self._fd is None:
            return
        content = os.read(self._fd, _READ_BYTES)
        if not content:
            self.ended = True
            return
        *whole, self._part = (self._part + content).split(b"\n")
        self._part = self._part[: 4 * LONGEST_LINE + 4]
        self._lines.extend(line.rstrip(b"\r").decode("utf-8", "replace") for line in whole)


def _descriptor(stream: TextIO | None) -> int | None:
    try:
        return stream.fileno() if stream is not None else None
    except (ValueError, OSError):  # closed, or no file behind it
        return None


def _without_echo(fd: int) -> list[int | list[bytes | int]]:
    """The terminal's settings for the dark: no echo, no bell of its own, no key that stops or ends anything."""
    found = termios.tcgetattr(fd)
    found[0] &= ~(termios.IXON | termios.IMAXBEL)
    found[3] &= ~(termios.ECHO | termios.ECHONL | termios.ISIG | termios.IEXTEN)
    found[6][termios.VEOF] = b"\0"
    return found
