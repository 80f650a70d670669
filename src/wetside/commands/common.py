"""Shared by the commands: the terminal, the journal opened for reading, output."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from wetside.app.console import write_lines
from wetside.app.terminal import Terminal, examine, refuse_reason
from wetside.errors import Refused, UsageError
from wetside.files.settings import JOURNAL, Places

if TYPE_CHECKING:
    from wetside.app.probe import Probe
    from wetside.storage.store import Store

Ask = Callable[[str], str]
"""Puts a question to the person at the terminal and returns the answer."""

JSON_FORMAT: Final = 2
"""The first value in all JSON output; a change that would mislead programs reading it raises the number."""


def open_probe(source: str | None) -> Probe | None:
    """The thermometer of `--readings`; None without that option.

    Call it before the terminal is examined, as "-" replaces standard input.
    """
    if source is None:
        return None
    from wetside.app.probe import Probe, open_feed

    return Probe(open_feed(source).fresh)


def this_terminal() -> Terminal:
    """The terminal this program runs on, as examined now."""
    return examine(os.environ, sys.stdin, sys.stdout)


def usable_terminal(plain: bool) -> Terminal:
    """The terminal. Raises UsageError, which names `--plain`, where it cannot show the full screen."""
    terminal = this_terminal()
    reason = None if plain else refuse_reason(terminal)
    if reason is not None:
        raise UsageError(reason)
    return terminal


def text_width(terminal: Terminal) -> int:
    """The columns to write text in: the terminal's, at most 100; 80 for a file or a pipe."""
    return min(terminal.columns, 100) if terminal.is_tty else 80


def has_journal(places: Places) -> bool:
    """Whether there is a journal.

    True also where that cannot be determined, as in another user's folder: opening it then raises the reason.
    """
    try:
        os.lstat(places.data / JOURNAL)
    except (FileNotFoundError, ValueError):
        return False
    except OSError:
        return True
    return True


def require_journal(places: Places) -> None:
    if not has_journal(places):
        raise Refused("There is no session yet: `wetside` begins one.")


@contextmanager
def journal_to_read(places: Places) -> Iterator[Store | None]:
    """The journal opened read-only; None where there is none: none is created."""
    if not has_journal(places):
        yield None
        return
    from wetside.storage.store import open_store

    with open_store(places, read_only=True) as store:
        yield store


def print_lines(lines: tuple[str, ...]) -> None:
    write_lines(lines, sys.stdout)


def in_columns(rows: Iterable[Sequence[str]]) -> list[str]:
    """Rows of cells as lines: each column as wide as its widest cell, the last one as it is."""
    table = [*rows]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)][:-1]
    return ["  ".join((*map(str.ljust, row, widths), row[-1])) for row in table]


def json_text(data: dict[str, Any]) -> str:
    """`data` as JSON, with the format number first and the keys in their order."""
    import json

    return json.dumps({"format": JSON_FORMAT, **data}, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def write_utf8(text: str) -> None:
    """Write text to stdout as UTF-8, whatever the locale."""
    sys.stdout.flush()
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(text)
    else:
        binary.write(text.encode("utf-8"))
        binary.flush()
