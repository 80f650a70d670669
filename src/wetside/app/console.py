"""What is said outside the full screen: lines broken between words where a terminal would break inside one.

A file or a pipe gets each line whole, so that what reads it finds one line for each thing said. It loads the
standard library only.
"""

from __future__ import annotations

import argparse
import os
import sys
import textwrap
from collections.abc import Iterable
from typing import Final, TextIO

from wetside.sanitize import printable

_LONG: Final = 80


def columns_of(stream: TextIO | None) -> int | None:
    """The width of the terminal behind `stream`; None where there is none, or it does not know."""
    try:
        if stream is None or not stream.isatty():
            return None
        return os.get_terminal_size(stream.fileno()).columns or None
    except (OSError, ValueError):  # closed, or no file behind it
        return None


def rows_of(line: str, columns: int | None) -> list[str]:
    """`line` in rows of at most `columns`, broken between words; a word that is longer stays whole."""
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


class HelpInWords(argparse.HelpFormatter):
    """Keeps the paragraphs of a description or epilog, each in rows of the terminal's width.

    A line of the source goes on in the next one when it is long and ends in mid-sentence.
    """

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        paragraphs: list[str] = []
        goes_on = False
        for line in text.splitlines():
            if goes_on:
                paragraphs[-1] += f" {line.strip()}"
            else:
                paragraphs.append(f"{indent}{line}")
            goes_on = len(line) > _LONG and not line.endswith((".", ":", ";"))
        return "\n".join(row for line in paragraphs for row in rows_of(line, width))


def write_lines(lines: Iterable[str], stream: TextIO) -> None:
    """Write each line to `stream`, broken between words where that is a terminal."""
    columns = columns_of(stream)
    stream.write("".join(f"{row}\n" for line in lines for row in rows_of(line, columns)))


def say(text: str) -> None:
    """A sentence to the person, on stderr; where that is closed or gone, it is not said."""
    if sys.stderr is None:
        return
    try:
        write_lines((f"wetside: {printable(text)}",), sys.stderr)
    except (OSError, ValueError):
        give_up(sys.stderr)


def give_up(stream: TextIO | None) -> None:
    """Nobody reads this any more; keep Python from saying so when it ends."""
    try:
        if stream is not None:
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    except (OSError, ValueError, AttributeError):
        return


def program_for(kept_in: str) -> str:
    """How the program is called to find a session again. kept_in: where it went on when its journal was lost."""
    from shlex import quote

    return f"wetside --data {quote(kept_in)}" if kept_in else "wetside"
