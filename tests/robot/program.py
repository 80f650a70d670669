"""Starts the real program on a pseudo-terminal, and reads its journal with plain SQLite."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

from tests.robot.forked import run_forked, starts_like
from tests.robot.robot import Robot

ROOT = Path(__file__).parents[2]
COMMAND = (sys.executable, "-m", "wetside")
EVENING = "three-rolls"
JOURNAL = "journal.sqlite3"


def environment(data: Path, **changes: str) -> dict[str, str]:
    """A person's environment with a home of its own: nothing of this machine's settings is read."""
    home = data.parent
    places = {"HOME": str(home), "XDG_CONFIG_HOME": str(home / "config"), "XDG_DATA_HOME": str(home / "share")}
    base = {"PATH": os.environ["PATH"], "LANG": "C.UTF-8", "TERM": "xterm-256color", "WETSIDE_DATA": str(data)}
    return {**places, **base, **changes}


def started(
    data: Path, *arguments: str, columns: int = 80, rows: int = 24, anew: bool = False, **changes: str
) -> Robot:
    """The program with these arguments, its data in `data`; the environment changed where `changes` says so.

    anew: as the command itself, from a new interpreter on.
    """
    return Robot(
        [*COMMAND, *arguments],
        columns=columns,
        rows=rows,
        environment=environment(data, **changes),
        cwd=ROOT,
        anew=anew,
    )


def run(
    data: Path, *arguments: str, typed: str = "", anew: bool = False, **changes: str
) -> subprocess.CompletedProcess[str]:
    """Run the program without a terminal to its end, with `typed` on its standard input."""
    place = environment(data, **changes)
    if not anew and starts_like(place):
        return run_forked([*COMMAND[1:], *arguments], place, ROOT, typed)
    return subprocess.run(
        [*COMMAND, *arguments],
        env=place,
        input=typed,
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=240,
    )


Row = tuple[str, int, str, int, str]
"""A row of the journal: stream, seq, kind, version, data."""


def journal(data: Path) -> tuple[Row, ...]:
    """Every row of every session, practice or real, in order; () while there is no journal."""
    if not (data / JOURNAL).exists():
        return ()
    with closing(sqlite3.connect(f"file:{data / JOURNAL}?mode=ro", uri=True, timeout=30)) as database:
        found = database.execute(
            "SELECT stream, seq, kind, version, data FROM journal"
            " WHERE stream LIKE 'session/%' OR stream LIKE 'practice/%' ORDER BY stream, seq"
        ).fetchall()
    return tuple((str(a), int(b), str(c), int(d), str(e)) for a, b, c, d, e in found)


def kinds(rows: tuple[Row, ...]) -> list[str]:
    """The kinds of event of these rows."""
    return [row[2] for row in rows]


def fields(row: Row) -> dict[str, Any]:
    """The event's own fields."""
    found = json.loads(row[4])
    assert isinstance(found, dict)
    return found
