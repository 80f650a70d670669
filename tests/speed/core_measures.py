"""What the core, the journal and the commands cost."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from msgspec.structs import replace
from tests.faults.evening import SESSION
from tests.robot.program import environment
from tests.shipped import shipped_profile, shipped_setup
from tests.speed.journals import keep_long, keep_many
from tests.speed.pseudo_terminal import ROOT
from tests.speed.table import Measured

from wetside.app.session_start import rfc3339
from wetside.domain.session.events import NoteAdded
from wetside.files.settings import JOURNAL
from wetside.files.setup_file import write_setup
from wetside.present.evening_plan import make_plan
from wetside.storage.sessions import append_events, load_state, stream_of
from wetside.storage.store import Store

VERSION: Final = ("-m", "wetside", "--version")
IMPORTS: Final = (
    "-c",
    "import wetside.cli, wetside.app.clock, wetside.commands.plan, wetside.commands.tonight; "
    "import wetside.app.terminal; "
    "import wetside.present.plan_text, wetside.present.plan_json",
)
WALL: Final = rfc3339(datetime(2031, 3, 2, 19, tzinfo=UTC))


def commit(times: int) -> Measured:
    """One event kept, checks and all, against one row inserted by SQLite alone with the same promises."""
    with TemporaryDirectory(dir=ROOT / "tests") as folder:
        raw = sqlite3.connect(Path(folder) / "raw.sqlite3", isolation_level=None)
        with closing(raw), Store.open(Path(folder) / JOURNAL) as store:
            raw.execute("PRAGMA journal_mode=WAL")
            raw.execute("PRAGMA synchronous=FULL")
            raw.execute("CREATE TABLE journal(stream TEXT, seq INTEGER, data TEXT, PRIMARY KEY(stream, seq))")
            ours, theirs = [], []
            for number in range(times):
                event = NoteAdded(float(number), "a note of some words")
                ours.append(_timed(partial(append_events, store, "session/s", number, (event,), WALL)))
                row = ("session/s", number, '{"at":1.0,"text":"a note of some words"}')
                theirs.append(_timed(partial(raw.execute, "INSERT INTO journal VALUES (?,?,?)", row)))
    return Measured("one event on disk", "ms", _ms(ours), "sqlite3 alone", _ms(theirs))


def replayed(times: int, sizes: tuple[int, ...]) -> Iterator[Measured]:
    """A session read, decoded and folded, for each 10,000 events; against its rows read and parsed as JSON."""
    for size in sizes:
        with TemporaryDirectory() as folder:
            data = Path(folder) / "data"
            keep_long(data, size)
            with Store.open(data / JOURNAL, read_only=True) as store:
                stream = stream_of(SESSION, False)
                ours = [_timed(partial(load_state, store, stream)) for _ in range(times)]
                theirs = [_timed(partial(_parsed, store, stream)) for _ in range(times)]
        part = 10_000 / size
        yield Measured(
            f"replay for each 10,000 events, of {size:,}",
            "ms",
            tuple(each * part for each in _ms(ours)),
            "rows read and parsed alone",
            tuple(each * part for each in _ms(theirs)),
        )


def worked_out(times: int) -> Measured:
    """Everything the trade works out for the shipped evening, files read already."""
    profile = shipped_profile("two-bath")
    setup = shipped_setup("three-rolls")
    samples = [_timed(partial(make_plan, profile, setup)) for _ in range(times)]
    return Measured("an evening worked out", "ms", _ms(samples), aim="≤ 20 ms")


def plan_command(times: int) -> Measured:
    """`wetside plan` for twelve rolls against the same imports alone."""
    setup = shipped_setup("three-rolls")
    with TemporaryDirectory() as folder:
        file, data = Path(folder) / "twelve.toml", Path(folder) / "data"
        twelve = tuple(replace(roll, label=f"{roll.label} {n}") for n in range(1, 5) for roll in setup.rolls)
        file.write_text(write_setup(replace(setup, rolls=twelve)), "utf-8")
        arguments = ("-m", "wetside", "plan", str(file))
        return _command("`wetside plan`, 12 rolls", arguments, IMPORTS, "its imports", data, times, "≤ 1.3 ×")


def export_command(times: int, events: int) -> Measured:
    """The Markdown record of one very long session against `--version`."""
    with TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        keep_long(data, events)
        arguments = ("-m", "wetside", "export", "last", "--format", "markdown")
        what = f"`wetside export`, {events:,} events"
        return _command(what, arguments, VERSION, "`wetside --version`", data, times, "")


def sessions_command(times: int, sessions: int, events: int) -> Measured:
    """`wetside sessions` over an old journal against an empty data folder."""
    with TemporaryDirectory() as folder:
        full, empty = Path(folder) / "full", Path(folder) / "empty"
        keep_many(full, sessions, events)
        empty.mkdir(mode=0o700)
        arguments = ("-m", "wetside", "sessions")
        pairs = [(_run_s(arguments, full), _run_s(arguments, empty)) for _ in range(times)]
    many, none = zip(*pairs, strict=True)
    return Measured(
        f"`wetside sessions`, {sessions:,} of {events} events",
        "ms", _ms(list(many)), "no session", _ms(list(none)), "≤ 1.5 ×",
    )  # fmt: skip


def _command(
    what: str, arguments: tuple[str, ...], yard: tuple[str, ...], name: str, data: Path, times: int, aim: str
) -> Measured:
    pairs = [(_run_s(arguments, data), _run_s(yard, data)) for _ in range(times)]
    ours, theirs = zip(*pairs, strict=True)
    return Measured(what, "ms", _ms(list(ours)), name, _ms(list(theirs)), aim)


def _run_s(arguments: tuple[str, ...], data: Path) -> float:
    def run() -> None:
        subprocess.run(
            [sys.executable, *arguments], env=environment(data), cwd=ROOT, check=True, capture_output=True
        )

    return _timed(run)


def _parsed(store: Store, stream: str) -> list[object]:
    return [json.loads(row.data) for row in store.read(stream)]


def _timed(act: Callable[[], object]) -> float:
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def _ms(seconds: list[float]) -> tuple[float, ...]:
    return tuple(each * 1000 for each in seconds)
