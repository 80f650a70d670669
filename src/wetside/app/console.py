"""Writes lines outside the full screen, wrapped between words to the width of a terminal.

A file or a pipe gets each line unwrapped, so that programs can read line by line. Only the standard library is
imported.
"""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Iterable
from typing import TextIO

from wetside.sanitize import printable


def columns_of(stream: TextIO | None) -> int | None:
    """The width of the terminal behind `stream`; None without a terminal, or if its width is unknown."""
    try:
        if stream is None or not stream.isatty():
            return None
        return os.get_terminal_size(stream.fileno()).columns or None
    except (OSError, ValueError):  # closed, or no file behind it
        return None


def rows_of(line: str, columns: int | None) -> list[str]:
    """`line` wrapped to `columns` between words (not at all for None); a longer word is not broken."""
    if columns is None or len(line) <= columns:
        return [line]
    begins = line[: len(line) - len(line.lstrip())]
    return textwrap.wrap(
        line,
        columns,
        subsequent_indent=f"{begins}  ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def write_lines(lines: Iterable[str], stream: TextIO) -> None:
    """Write each line to `stream`, wrapped between words where that is a terminal."""
    columns = columns_of(stream)
    stream.write("".join(f"{row}\n" for line in lines for row in rows_of(line, columns)))


def say(text: str) -> None:
    """Write a sentence to stderr, after "wetside: "; does nothing where stderr is closed or gone."""
    if sys.stderr is None:
        return
    try:
        write_lines((f"wetside: {printable(text)}",), sys.stderr)
    except (OSError, ValueError):
        give_up(sys.stderr)


def give_up(stream: TextIO | None) -> None:
    """Point a stream that nobody reads any more to the null device, so that flushing it at exit raises nothing."""
    try:
        if stream is not None:
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    except (OSError, ValueError, AttributeError):
        return


def program_for(kept_in: str) -> str:
    """The command that finds a session again. kept_in: its data folder if its journal was lost, else ""."""
    from shlex import quote

    return f"wetside --data {quote(kept_in)}" if kept_in else "wetside"
