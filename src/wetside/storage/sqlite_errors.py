"""What SQLite complains of, said in words: one sentence with what, where and what to do.

One job: turn an exception of the database into a `JournalUnusable`. It must not decide what happens next.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from wetside.errors import JournalDamaged, JournalUnusable
from wetside.files.atomic_write import shown_path

KEEP_AND_SALVAGE: Final = (
    "do not delete it: `wetside salvage NEW` copies what can be read into a new journal and says how that is put "
    "to use; sound copies made at each close are in the folder copies beside it"
)

NOT_OURS: Final = (
    "if it is something else, choose another data folder with --data; if it was a journal, " + KEEP_AND_SALVAGE
)

# primary result codes of SQLite (the low byte of an extended code) -> what is the matter; what to do
_WORDS: Final = {
    sqlite3.SQLITE_BUSY: (
        "another program holds it and did not let go in time",
        "close what else has it open, then try again",
    ),
    sqlite3.SQLITE_LOCKED: (
        "another part of this program holds it",
        "try again",
    ),
    sqlite3.SQLITE_FULL: (
        "the disk is full, and what you just entered is not kept",
        "make room, then enter it again",
    ),
    sqlite3.SQLITE_READONLY: (
        "it or its folder may not be written to",
        "give yourself leave to write there, or choose another data folder with --data",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "it cannot be opened",
        "see that you may read and write it and its folder, or choose another data folder with --data",
    ),
    sqlite3.SQLITE_PERM: (
        "you may not open it",
        "give yourself leave to read and write it",
    ),
    sqlite3.SQLITE_NOTADB: (
        "it is not a journal, or its beginning is damaged",
        NOT_OURS,
    ),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", KEEP_AND_SALVAGE),
    sqlite3.SQLITE_IOERR: (
        "the disk would not read or write it, and what you just entered is not kept",
        "see to the disk, its room and your quota, then enter it again",
    ),
    sqlite3.SQLITE_NOMEM: (
        "there is no memory left to work with it",
        "close other programs, then try again",
    ),
}


def unusable(path: Path, why: str, what_to_do: str, brief: str = "", *, damaged: bool = False) -> JournalUnusable:
    """The one form of sentence about a journal; `brief` says it without the place, for one line of a screen."""
    kind = JournalDamaged if damaged else JournalUnusable
    return kind(f"Journal {shown_path(path)}: {why}; {what_to_do}.", brief or f"the journal: {why}; {what_to_do}.")


def is_damage(problem: sqlite3.Error) -> bool:
    """Whether the database complains of bytes that are gone or wrong."""
    code: int | None = getattr(problem, "sqlite_errorcode", None)
    if code is None:
        # a text that is not UTF-8 is found by the Python module, whose errors carry no code
        return isinstance(problem, sqlite3.OperationalError)
    return (
        code & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) or code == sqlite3.SQLITE_IOERR_SHORT_READ
    )


def in_words(path: Path, problem: sqlite3.Error) -> JournalUnusable:
    """The sentence for one complaint of the database."""
    # errors raised by the Python module itself (a text that is not UTF-8) carry no code
    code: int | None = getattr(problem, "sqlite_errorcode", None)
    if code is None:
        why = f"a row of it cannot be read ({problem})"
        return unusable(path, why, KEEP_AND_SALVAGE, damaged=is_damage(problem))
    if (words := _WORDS.get(code & 0xFF)) is not None:
        return unusable(
            path, f"{words[0]} ({problem})", words[1], f"{words[0]}; {words[1]}.", damaged=is_damage(problem)
        )
    return unusable(path, f"the database refused ({problem})", KEEP_AND_SALVAGE)


@contextmanager
def said(path: Path) -> Iterator[None]:
    """Whatever the database complains of inside is raised as a `JournalUnusable`."""
    try:
        yield
    except sqlite3.Error as problem:
        raise in_words(path, problem) from problem
