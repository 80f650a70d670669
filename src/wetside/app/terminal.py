"""Examines the terminal before any full-screen library is loaded.

`refuse_reason` returns a sentence on why the full screen cannot be used, or None. Only the standard library is
imported, so that a refusal is quick.
"""

from __future__ import annotations

import os
import select
import signal
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Final, Literal, Protocol

from msgspec import Struct

FEWEST_COLUMNS: Final = 40
FEWEST_ROWS: Final = 12

Colours = Literal["none", "16", "256", "full"]

# The size assumed where the terminal does not know its own; a serial line reports 0 by 0.
_ASSUMED: Final = (80, 24)
# Monochrome terminals, by the beginning of their name in the terminfo data base.
_ONE_COLOUR: Final = ("vt1", "vt2", "vt3", "vt4", "vt5", "ansi-m")
_CANNOT_DRAW: Final = ("", "dumb", "unknown")
_PLAIN_ADVICE: Final = "use --plain for the same session line by line"


class Stream(Protocol):
    """The part of an open text file that is used here."""

    @property
    def encoding(self) -> str: ...
    def isatty(self) -> bool: ...
    def fileno(self) -> int: ...


class Terminal(Struct, frozen=True):
    """What was found: size in characters, whether UTF-8 may be sent, colours, which streams are terminals."""

    columns: int
    rows: int
    utf8: bool
    colours: Colours
    is_tty: bool
    term: str


def examine(environ: Mapping[str, str], stdin: Stream | None, stdout: Stream | None) -> Terminal:
    """Examine the terminal. A stream that is closed, or was never open (None), counts as no terminal."""
    is_tty = _is_tty(stdin) and _is_tty(stdout)
    term = environ.get("TERM", "").strip()
    columns, rows = _size(environ, stdout)
    return Terminal(columns, rows, _utf8(environ, stdout), _colours(environ, term, is_tty), is_tty, term)


def refuse_reason(terminal: Terminal) -> str | None:
    """Why the full screen cannot be used on this terminal and what to do instead, or None when it can."""
    if not terminal.is_tty:
        return f"The full screen needs a terminal, and input or output is a file or a pipe: {_PLAIN_ADVICE}."
    if terminal.term in _CANNOT_DRAW:
        named = f'TERM is "{terminal.term}"' if terminal.term else "TERM is not set"
        return f"The full screen cannot be drawn here, since {named}: {_PLAIN_ADVICE}."
    if terminal.columns < FEWEST_COLUMNS or terminal.rows < FEWEST_ROWS:
        return (
            f"This terminal is {terminal.columns} columns by {terminal.rows} rows, and the full screen needs "
            f"{FEWEST_COLUMNS} by {FEWEST_ROWS}: enlarge the window or choose smaller letters, or {_PLAIN_ADVICE}."
        )
    return None


def _is_tty(stream: Stream | None) -> bool:
    try:
        return stream is not None and stream.isatty()
    except ValueError:  # the stream is closed
        return False


def _size(environ: Mapping[str, str], stdout: Stream | None) -> tuple[int, int]:
    """Columns and rows: COLUMNS and LINES where set, as the screen library does, else as the terminal reports."""
    columns, rows = _ASSUMED
    if stdout is not None and _is_tty(stdout):
        size = os.get_terminal_size(stdout.fileno())
        columns, rows = size.columns or columns, size.lines or rows
    return _positive(environ.get("COLUMNS")) or columns, _positive(environ.get("LINES")) or rows


def _positive(text: str | None) -> int:
    """A size from the environment; 0 if it is no number of at most four digits."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) <= 4 else 0


def _utf8(environ: Mapping[str, str], stdout: Stream | None) -> bool:
    """Whether UTF-8 may be sent: Python would send it, and the locale does not contradict.

    In the C locale, too, Python sends UTF-8 and sets LC_CTYPE accordingly (PEP 538 and 540). That tells nothing
    about the terminal, so an LC_CTYPE with the value Python sets, beside an absent or C locale, is ignored.
    PYTHONUTF8=1 counts.
    """
    if stdout is None or not _is_utf8(stdout.encoding or ""):
        return False
    if environ.get("PYTHONUTF8") == "1":
        return True
    language = environ.get("LANG", "")
    coerced = environ.get("LC_CTYPE") in ("C.UTF-8", "C.utf8") and language in ("", "C", "POSIX")
    ctype = "" if coerced else environ.get("LC_CTYPE", "")
    locale = environ.get("LC_ALL") or ctype or language
    _, _, encoding = locale.partition("@")[0].rpartition(".")
    return _is_utf8(encoding)


def _is_utf8(encoding: str) -> bool:
    return encoding.lower().replace("-", "").replace("_", "") == "utf8"


def _colours(environ: Mapping[str, str], term: str, is_tty: bool) -> Colours:
    """How many colours may be used. NO_COLOR counts if it is set and not empty."""
    one_colour = term.startswith(_ONE_COLOUR) or term.endswith(("-m", "-mono"))
    if environ.get("NO_COLOR") or not is_tty or term in _CANNOT_DRAW or one_colour:
        return "none"
    if environ.get("COLORTERM", "").lower() in ("truecolor", "24bit") or term.endswith("-direct"):
        return "full"
    return "256" if "256color" in term else "16"


ENDING: Final = (signal.SIGHUP, signal.SIGTERM, signal.SIGINT, signal.SIGQUIT)
"""The signals that end the program: a lost terminal, a request from outside, and the keyboard's two."""


@contextmanager
def signal_line() -> Iterator[int]:
    """Yields a file descriptor from which `ENDING` signals can be read; meanwhile they have no other effect."""
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    old = {number: signal.signal(number, lambda *_: None) for number in ENDING}
    old_line = signal.set_wakeup_fd(writing, warn_on_full_buffer=False)
    try:
        yield reading
    finally:
        signal.set_wakeup_fd(old_line)
        for number, handler in old.items():
            signal.signal(number, handler)
        os.close(reading)
        os.close(writing)


def arrived(signals: int) -> int:
    """The number of a signal that has arrived on a descriptor of `signal_line`; 0 for none."""
    if not select.select([signals], [], [], 0)[0]:
        return 0
    return next((number for number in os.read(signals, 64) if number in ENDING), 0)
