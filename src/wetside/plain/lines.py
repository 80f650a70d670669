"""Reads lines without blocking, and turns a line into the key presses the full screen would get."""

from __future__ import annotations

import os
import re
import select
import termios
from collections import deque
from contextlib import suppress
from typing import Final, TextIO

from wetside.app.terminal import arrived
from wetside.errors import Refused
from wetside.files.units import quoted, temperature_c
from wetside.present.actions import by_letter
from wetside.present.prompts import LONGEST_NUMBER, Choice, Menu, Number, Page, Panel, Words
from wetside.present.wording import on_scale

LONGEST_LINE: Final = 400
"""Longer lines are rejected: no valid answer is that long."""

_NUMBER: Final = re.compile(r"[-−]?\d+(?:[.,]\d+)?", re.ASCII)
_NAMED: Final = {"s": "space", "b": "backspace"}


def keys_of(line: str, panel: Panel | None, number_wanted: bool, unit: str) -> tuple[str, ...] | str:
    """The key presses a line stands for, in order, or a sentence on why it is not understood.

    panel: the open one, if any. number_wanted: whether a number may be typed without opening a field, as a
    temperature in `unit`.
    """
    if isinstance(panel, Words):
        return (*("space" if letter == " " else letter for letter in line.strip()), "enter")
    text = line.strip().casefold()
    if not text:
        return ("space",) if line else ("enter",)
    if text in _NAMED:
        return (_NAMED[text],)
    match panel:
        case Menu() | Choice():
            return _chosen(panel, text)
        case Number():
            return _typed(text, panel.unit, panel.what == "temperature")
        case Page():
            return ("enter",)
        case None:
            if number_wanted and text[0].isdecimal():
                return _typed(text, unit, temperature=True)
            return (text,) if by_letter(text) is not None else _not_understood(text, number_wanted)


def _chosen(panel: Menu | Choice, text: str) -> tuple[str, ...] | str:
    rows = len(panel.items) if isinstance(panel, Menu) else len(panel.options)
    if text.isascii() and text.isdigit() and 1 <= int(text[:4]) <= rows:
        moves = (int(text) - 1 - panel.index) % rows
        if moves == 0 and panel.index < 0:
            moves = rows
        return (*("space",) * moves, "enter")
    if isinstance(panel, Menu) and any(text == each.letter for each in panel.items):
        return (text,)
    return f'"{quoted(text)}" is none of them: type a number from 1 to {rows}, or b to leave.'


def _typed(text: str, unit: str, temperature: bool) -> tuple[str, ...] | str:
    """A number's digits and ENTER; a temperature with a unit is converted to `unit`."""
    bare = text.replace("−", "-")
    if not _NUMBER.fullmatch(bare):
        if not temperature:
            bare = bare.removesuffix(unit).strip()
        else:
            try:
                celsius = temperature_c(text)
            except Refused as refusal:
                return str(refusal)
            bare = f"{on_scale(celsius, '°C' if unit == '°C' else '°F'):.1f}"
    if not _NUMBER.fullmatch(bare) or len(bare) > LONGEST_NUMBER:
        return f'"{quoted(text)}" is not a number that can be meant here.'
    return (*bare, "enter")


def _not_understood(text: str, number_wanted: bool) -> str:
    number = "a number, " if number_wanted else ""
    return f'"{quoted(text)}" is not understood: {number}s, b, k for the letters, ? to hear everything again.'


_READ_BYTES: Final = 65_536


class Lines:
    """Reads lines from a file, a pipe or a terminal without blocking.

    At a terminal people type one line at a time, so lines that come together are a paste; from a pipe each counts.
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
        self.set_echo(False)

    @property
    def waiting(self) -> bool:
        """Whether a complete line is available."""
        return bool(self._lines)

    def take(self) -> str:
        return self._lines.popleft()

    def pasted(self) -> int:
        """Drop lines that came together at a terminal; returns how many, 0 if there was no such paste."""
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
        """Wait for input, a signal, or so many seconds; returns the signal's number, or 0.

        signals: a descriptor of `signal_line`.
        """
        watched = [signals] if self.ended or self._fd is None else [signals, self._fd]
        ready = select.select(watched, [], [], seconds)[0]
        # If a signal and input come together, only the input may be reported: look for the signal again.
        number = arrived(signals)
        if not number and self._fd in ready:
            self._read()
        return number

    def set_echo(self, dark: bool) -> None:
        """Switch the terminal's echo off in the dark, and on again."""
        if self._fd is None or self._as_found is None or dark == self._echo_off:
            return
        self._echo_off = dark
        with suppress(termios.error):  # a lost terminal need not be restored
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
    """The terminal's attributes for a dark step: no echo, no bell, no keys for signals or flow control."""
    found = termios.tcgetattr(fd)
    found[0] &= ~(termios.IXON | termios.IMAXBEL)
    found[3] &= ~(termios.ECHO | termios.ECHONL | termios.ISIG | termios.IEXTEN)
    found[6][termios.VEOF] = b"\0"
    return found
