"""Copies of the journal, one at each close of a session: the last few, in a folder beside it.

A copy is made with SQLite's backup while the journal is in use, gets its name when it is complete, and is a
journal itself. A failure is returned as a sentence, so that it does not keep a session from closing.
"""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from wetside.errors import JournalUnusable
from wetside.files.atomic_write import shown_path, take_free_name
from wetside.storage.journal_file import remove_database, unfinished_file

if TYPE_CHECKING:
    from wetside.storage.store import Store

FOLDER: Final = "copies"
KEPT: Final = 5
"""The number of copies kept (our own number)."""
_NAME: Final = re.compile(r"journal-[\dTZ.]+\.sqlite3")


def copy_journal(store: Store, at: str) -> str:
    """Copy the journal to FOLDER beside it and delete the oldest copies. Returns "", or why that failed.

    at: RFC 3339, UTC; the copy is named after it. A damaged journal is not copied, so that no sound copy is
    deleted for it.
    """
    folder = store.path.parent / FOLDER
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        with unfinished_file(folder) as part:
            store.back_up(part)
            take_free_name(part, folder / f"journal-{re.sub('[-:]', '', at)}.sqlite3")
        for old in copies_in(folder)[:-KEPT]:
            remove_database(old)
    except FileExistsError:
        return "" if folder.is_dir() else f"No copy of the journal was made: {shown_path(folder)} is not a folder."
    except OSError as problem:
        why = problem.strerror or str(problem)
        return f"No copy of the journal was made in {shown_path(folder)} ({why}): see to that folder and its room."
    except JournalUnusable as problem:
        return f"No copy of the journal was made: {problem.brief}"
    return ""


def copies_in(folder: Path) -> list[Path]:
    """The copies in this folder, the oldest first; [] where there is no such folder."""
    with suppress(OSError):
        return sorted(path for path in folder.iterdir() if _NAME.fullmatch(path.name))
    return []
