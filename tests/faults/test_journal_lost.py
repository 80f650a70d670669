"""A journal cut short, written over or deleted under a running evening: noticed at once, and kept beside it."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from shlex import quote

import pytest
from tests.faults.evening import SESSION, keep, places, running
from tests.robot.program import ROOT, run

from wetside.app.controller import SessionController
from wetside.app.session_factory import resume_session
from wetside.domain.session import commands as c
from wetside.domain.session.events import NoteAdded
from wetside.errors import JournalDamaged
from wetside.files.settings import JOURNAL, Settings
from wetside.storage.copies import FOLDER, KEPT, copies_in
from wetside.storage.sessions import load
from wetside.storage.store import Entry, Store, open_store

BATH = "b1.developer"
STREAM = f"session/{SESSION}"
AT = "2024-03-01T20:00:00Z"


def grown(path: Path) -> None:
    """Another whole journal, larger than the evening's."""
    with Store.open(path) as store:
        for number in range(200):
            entry = Entry("note_added", 1, '{"text":"' + "x" * 2000 + '"}')
            store.append({"session/other": (number, (entry,))}, AT)


def cut(data: Path) -> None:
    os.truncate(data / JOURNAL, 3 * 4096)


def emptied(data: Path) -> None:
    os.truncate(data / JOURNAL, 0)


def garbage(data: Path) -> None:
    length = (data / JOURNAL).stat().st_size
    with (data / JOURNAL).open("r+b") as file:
        file.write(b"\xa5" * length)


def another(data: Path) -> None:
    grown(data.parent / "other.sqlite3")
    with (data / JOURNAL).open("r+b") as file:
        file.write((data.parent / "other.sqlite3").read_bytes())


def deleted(data: Path) -> None:
    for suffix in ("", "-wal", "-shm"):
        Path(f"{data / JOURNAL}{suffix}").unlink()


def wal_deleted(data: Path) -> None:
    Path(f"{data / JOURNAL}-wal").unlink()


def wal_emptied(data: Path) -> None:
    os.truncate(f"{data / JOURNAL}-wal", 0)


def note(controller: SessionController, text: str) -> bool:
    return controller.dispatch(c.AddNote(controller.now(), text))


@pytest.mark.parametrize(
    "harm", [cut, emptied, garbage, another, deleted, wal_deleted, wal_emptied], ids=lambda harm: harm.__name__
)
def test_after_the_journal_is_lost_the_whole_session_continues_in_a_fresh_one_beside_it(
    tmp_path: Path, harm: Callable[[Path], None]
) -> None:
    data = tmp_path / "data"
    events = running(BATH)
    keep(data, events, passed_s=12.0)
    store = open_store(places(data))
    controller = resume_session(store, places(data), STREAM, Settings(), terminal="t")
    assert note(controller, "before")
    assert (controller.trouble, controller.kept_in) == ("", "")
    harm(data)
    assert note(controller, "after")
    apart = data / f"kept-{SESSION}"
    assert Path(controller.kept_in) == apart
    said = f"The journal is damaged or gone: all of this evening is kept in {apart.name} beside it."
    assert controller.trouble == said
    assert note(controller, "and on")
    assert controller.trouble == said, "it is said as long as it is so"
    with open_store(places(apart), read_only=True) as found:
        kept = load(found, STREAM)
    assert [event.text for event in kept if isinstance(event, NoteAdded)][-3:] == ["before", "after", "and on"]
    assert kept[1 : len(events)] == events[1:]
    assert (apart.stat().st_mode & 0o777, (apart / JOURNAL).stat().st_mode & 0o777) == (0o700, 0o600)
    controller.release()
    shown = run(apart, "sessions")
    assert SESSION in shown.stdout
    assert "not finished" in shown.stdout


def test_an_append_of_another_terminal_and_a_checkpoint_are_no_damage(tmp_path: Path) -> None:
    path = tmp_path / JOURNAL
    grown(path)
    with Store.open(path) as store, Store.open(path) as other:
        for _ in range(10):
            for each in (store, other):
                seen = each.last_seq("session/other")
                each.append({"session/other": (seen, (Entry("note_added", 1, "{}"),))}, AT)
            other._connection.execute("PRAGMA wal_checkpoint(RESTART)")
        assert store.last_seq("session/other") == 220


def test_if_no_fresh_journal_can_be_made_that_is_reported(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running(BATH), passed_s=12.0)
    store = open_store(places(data))
    controller = resume_session(store, places(data), STREAM, Settings(), terminal="t")
    for number in ("", *(f"-{n}" for n in range(2, 101))):
        (data / f"kept-{SESSION}{number}").touch()
    cut(data)
    assert not note(controller, "lost")
    assert controller.trouble.startswith("NOT KEPT: the journal was cut short while this guide was running")
    assert controller.kept_in == ""


def test_nothing_is_written_into_a_journal_that_was_overwritten(tmp_path: Path) -> None:
    path = tmp_path / JOURNAL
    grown(path)
    store = Store.open(path)
    length = path.stat().st_size
    with path.open("r+b") as file:
        file.write(b"\xa5" * length)
    before = path.read_bytes(), Path(f"{path}-wal").read_bytes()
    with pytest.raises(JournalDamaged):
        store.append({"s": (0, (Entry("note_added", 1, "{}"),))}, AT)
    assert (path.read_bytes(), Path(f"{path}-wal").read_bytes()) == before


def test_salvage_joins_the_fresh_journal_with_what_can_be_read_of_the_old_one(tmp_path: Path) -> None:
    """By the commands that salvage prints, run as they stand."""
    data, new = tmp_path / "data", tmp_path / "new.sqlite3"
    keep(data, running(BATH), passed_s=12.0)
    with open_store(places(data)) as store:
        store.append({"session/old": (0, (Entry("note_added", 1, "{}"),))}, AT)
        controller = resume_session(store, places(data), STREAM, Settings(), terminal="t")
        wal_deleted(data)
        assert note(controller, "beside it")
        apart = Path(controller.kept_in)
        controller.release()
        done = controller.state
    words = run(data, "--plain").stdout
    assert str(apart) in words
    salvaged = run(data, "salvage", str(new), "--from", str(data / JOURNAL), "--from", str(apart / JOURNAL))
    commands = [line for line in salvaged.stderr.splitlines() if line.startswith("  m")]
    assert len(commands) == 4, salvaged
    subprocess.run(["sh", "-ec", "\n".join(commands)], check=True, cwd=ROOT)
    assert sorted(
        path.name for path in data.iterdir() if path.name.startswith(("damaged", "journal", "kept"))
    ) == [
        "damaged",
        JOURNAL,
    ]
    with open_store(places(data)) as store:
        assert store.damage() is None
        assert store.last_seq("session/old") == 1
        assert [event for event in load(store, STREAM) if isinstance(event, NoteAdded)] == list(done.notes)
    assert "kept beside" not in run(data, "--plain").stdout


def test_a_truncated_journal_can_still_be_read_and_says_that_more_may_be_lost(tmp_path: Path) -> None:
    data = tmp_path / "it's data"
    keep(data, running(BATH), passed_s=12.0)
    (data / f"kept-{SESSION}").mkdir()
    (data / f"kept-{SESSION}" / JOURNAL).touch()
    os.truncate(data / JOURNAL, (data / JOURNAL).stat().st_size - 2 * 4096)
    said = run(data, "--plain")
    assert said.returncode == 0
    assert "of its pages are missing: more may be lost." in said.stdout
    assert f"`wetside --data {quote(str(data / f'kept-{SESSION}'))} resume` goes on with it" in said.stdout


# --- copies


def closed(store: Store, data: Path) -> SessionController:
    keep(data, running(BATH), passed_s=12.0)
    controller = resume_session(store, places(data), STREAM, Settings(), terminal="t")
    assert controller.dispatch(c.Abandon(controller.now(), "enough"))
    return controller


def test_each_close_makes_a_whole_copy_and_the_last_few_are_kept(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with open_store(places(data)) as store:
        for number in range(KEPT):
            name = data / FOLDER / f"journal-2023010{number}T200000Z.sqlite3"
            name.parent.mkdir(mode=0o700, exist_ok=True)
            name.touch()
        (data / FOLDER / "mine.txt").touch()
        controller = closed(store, data)
        assert controller.trouble == ""
        expected = store.read(STREAM)
        controller.release()
    copies = copies_in(data / FOLDER)
    assert len(copies) == KEPT
    assert {path.name for path in (data / FOLDER).iterdir()} == {*(path.name for path in copies), "mine.txt"}
    assert [path.name for path in copies[:-1]] == [f"journal-2023010{n}T200000Z.sqlite3" for n in range(1, KEPT)]
    assert copies[-1].stat().st_mode & 0o777 == 0o600
    with Store.open(copies[-1], read_only=True) as copy:
        assert copy.damage() is None
        assert copy.read(STREAM) == expected


def test_a_failed_copy_is_reported_and_the_session_closes_all_the_same(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with open_store(places(data)) as store:
        (data / FOLDER).touch()
        controller = closed(store, data)
        assert controller.state.outcome == "abandoned"
        assert controller.trouble == f"No copy of the journal was made: {data / FOLDER} is not a folder."
        controller.release()


def test_a_damaged_journal_is_not_copied_over_sound_copies(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with open_store(places(data)) as store:
        for number in range(60):
            entry = Entry("note_added", 1, '{"text":"' + "x" * 2000 + '"}')
            store.append({"session/2024-01-01-aaaa": (number, (entry,))}, AT)
    with (data / JOURNAL).open("r+b") as file:
        file.seek(10 * 4096)
        file.write(b"\xa5" * 4096)
    with open_store(places(data)) as store:
        controller = closed(store, data)
        assert controller.trouble.startswith("No copy of the journal was made: ")
        controller.release()
    assert copies_in(data / FOLDER) == []


@pytest.mark.parametrize("command", [("salvage", "--help"), ("settings",)])
def test_the_place_of_the_copies_is_named(tmp_path: Path, command: tuple[str, ...]) -> None:
    told = run(tmp_path / "data", *command)
    assert FOLDER in told.stdout + told.stderr
    assert f"the last {KEPT} are kept" in " ".join((told.stdout + told.stderr).split())
