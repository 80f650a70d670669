"""What the journal survives: kills, two writers, full and closed disks, a file gone."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tests.faults.journals import AT, PAGE, contents, entry, fill, fill_up

from wetside.errors import JournalUnusable
from wetside.storage import journal_file
from wetside.storage.store import Envelope, Store

CHILD = """
import sys
from pathlib import Path
from wetside.errors import JournalUnusable
from wetside.storage.store import Entry, Overtaken, Store
AT = "2026-11-05T19:30:00Z"
path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
def add(store, stream, after, *more):
    try:
        store.append({stream: (after, (Entry("tick_made", 1, '{"by":"%s"}' % name),)), **dict(more)}, AT)
    except Overtaken:
        return False
    return True
"""


def child(code: str, *arguments: str, before: tuple[str, ...] = ()) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*before, sys.executable, "-c", CHILD + code, *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def line_of(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()


# --- two at once, and kills


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    code = """
with Store.open(path) as store:
    for mine in range(count):
        while not add(store, "shared", store.last_seq("shared"), (name, (mine, (Entry("own", 1, "{}"),)))):
            pass
"""
    both = [child(code, str(path), name, "60") for name in ("one", "two")]
    for process in both:
        _, problems = process.communicate()
        assert (process.returncode, problems) == (0, "")
    kept = contents(path)
    assert {name: len(rows) for name, rows in kept.items()} == {"one": 60, "shared": 120, "two": 60}
    assert sum('"one"' in row.data for row in kept["shared"]) == 60


@pytest.mark.parametrize("seed", range(6))
def test_a_kill_loses_no_accepted_entry(tmp_path: Path, seed: int) -> None:
    path = tmp_path / "journal.db"
    code = """
with Store.open(path) as store:
    for number in range(count):
        if add(store, name, number, ("bottle", (number, (Entry("debit", 1, "{}"),)))):
            print(number + 1, flush=True)
"""
    accepted = 0
    with child(code, str(path), "session", "100000") as process:
        for _ in range(random.Random(seed).randint(1, 120)):
            accepted = int(line_of(process))
        process.kill()
        # what was on its way in the pipe when the kill came was accepted too
        assert process.stdout is not None
        rest = process.stdout.read().split()
        accepted = int(rest[-1]) if rest else accepted
    kept = contents(path)
    assert len(kept["session"]) in (accepted, accepted + 1)
    assert len(kept["bottle"]) == len(kept["session"])
    with Store.open(path) as store:
        assert store.damage() is None


def test_a_kill_while_a_journal_is_created_leaves_none_or_a_whole_one(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    code = """
import os
from wetside.storage import journal_file
journal_file.take_free_name = lambda part, path: os.kill(os.getpid(), 9)
Store.open(path)
"""
    with child(code, str(path), "", "0") as process:
        assert process.wait() == -9
    assert not path.exists()
    fill(path, 1)


# --- locked, full, closed


def test_a_journal_locked_by_another_is_reported_until_it_is_free(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "journal.db"
    monkeypatch.setattr(journal_file, "BUSY_TIMEOUT_S", 0.05)
    code = """
import sqlite3
held = sqlite3.connect(path, isolation_level=None)
held.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.readline()
"""
    with Store.open(path) as store, child(code, str(path), "", "0") as holder:
        store.append({"s": (0, (entry(1),))}, AT)
        assert line_of(holder) == "held"
        with pytest.raises(JournalUnusable, match=r"another program holds it .* then try again"):
            store.append({"s": (1, (entry(2),))}, AT)
        with pytest.raises(JournalUnusable, match="another program holds it"):
            Store.open(path)
        assert store.last_seq("s") == 1
        holder.communicate("\n")
        store.append({"s": (1, (entry(2),))}, AT)
    assert len(contents(path)["s"]) == 2


def append_for_ever(store: Store, kept: list[Envelope]) -> None:
    while True:
        kept += store.append({"s": (len(kept), (entry(len(kept)),))}, AT)


def test_a_full_disk_is_reported_and_the_store_goes_on_afterwards(small_disk: Path) -> None:
    path = small_disk / "journal.db"
    filler = small_disk / "filler"
    kept: list[Envelope] = []
    with Store.open(path) as store:
        kept += store.append({"s": (0, (entry(0),))}, AT)
        for _ in range(3):
            fill_up(filler)
            with pytest.raises(JournalUnusable, match="the disk is full, and nothing new is kept"):
                append_for_ever(store, kept)  # what room the -wal file has left is used up first
            assert store.read("s") == tuple(kept)
            with Store.open(path, read_only=True) as follower:
                assert follower.read("s") == tuple(kept)
            filler.unlink()
            kept += store.append({"s": (len(kept), (entry(len(kept)),))}, AT)
    assert contents(path) == {"s": tuple(kept)}


def test_on_a_full_disk_no_journal_is_created(small_disk: Path) -> None:
    path = small_disk / "journal.db"
    fill_up(small_disk / "filler")
    with pytest.raises(JournalUnusable, match="full"):
        Store.open(path)
    assert [found.name for found in small_disk.iterdir()] == ["filler"]


def test_a_used_up_quota_is_reported_and_the_store_goes_on_afterwards(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    code = """
import resource
with Store.open(path) as store:
    number = 0
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))
    try:
        while add(store, "s", number):
            number += 1
    except JournalUnusable as problem:
        print(number, problem, flush=True)
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    assert store.last_seq("s") == number
    assert add(store, "s", number)
"""
    with child(code, str(path), "", "0") as process:
        said, problems = process.communicate()
    assert (process.returncode, problems) == (0, "")
    number, _, sentence = said.strip().partition(" ")
    assert int(number) > 0
    assert "nothing new is kept" in sentence
    assert sentence.endswith(".")
    assert len(contents(path)["s"]) == int(number) + 1


def test_a_folder_closed_to_writing_is_reported(tmp_path: Path) -> None:
    bound: tuple[str, ...] = ()
    if os.geteuid() == 0:
        # root is bound by modes only without these two capabilities
        bound = ("setpriv", "--bounding-set=-dac_override,-dac_read_search")
        if shutil.which("setpriv") is None or subprocess.run([*bound, "true"], capture_output=True).returncode:
            pytest.skip("root is not bound by modes, and cannot be made so here")
    folder = tmp_path / "closed"
    folder.mkdir()
    path = folder / "journal.db"
    fill(path, 3)
    before = path.read_bytes()
    code = """
for name in ("journal.db", "other.db"):
    try:
        Store.open(path / name)
    except JournalUnusable as problem:
        print(problem)
with Store.open(path / "journal.db", read_only=True) as store:
    print(store.last_seq("session:a"))
"""
    folder.chmod(0o500)
    try:
        with child(code, str(folder), "", "0", before=bound) as process:
            said, problems = process.communicate()
    finally:
        folder.chmod(0o700)
    assert (process.returncode, problems) == (0, "")
    old, new, count = said.splitlines()
    assert "choose another data folder with --data" in old
    assert "cannot be made in its folder (Permission denied)" in new
    assert count == "3"
    assert path.read_bytes() == before


def test_a_journal_whose_last_entries_cannot_be_read_is_refused(tmp_path: Path) -> None:
    """A reader that can make no -wal file must not show the journal without what is in the one there."""
    path = tmp_path / "journal.db"
    fill(path, 1)
    Path(f"{path}-wal").write_bytes(b"\0" * 100)
    with pytest.raises(JournalUnusable, match="last entries are in the -wal file"):
        journal_file._connect_immutable(path)


# --- gone or replaced


@pytest.mark.parametrize("suffix", ["", "-wal", "-shm"])
def test_a_journal_deleted_while_running_is_reported(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / "journal.db"
    with Store.open(path) as store:
        store.append({"s": (0, (entry(1),))}, AT)
        away = tmp_path / "away"
        Path(f"{path}{suffix}").rename(away)
        for act in (
            lambda: store.append({"s": (1, (entry(2),))}, AT),
            lambda: store.read("s"),
            lambda: store.data_version(),
            lambda: store.streams(),
        ):
            with pytest.raises(JournalUnusable, match="nothing entered from now on is kept"):
                act()
        away.rename(f"{path}{suffix}")
        store.append({"s": (1, (entry(2),))}, AT)
    assert len(contents(path)["s"]) == 2


def test_a_journal_replaced_while_running_is_reported_and_the_new_file_left_alone(tmp_path: Path) -> None:
    path, other = tmp_path / "journal.db", tmp_path / "other.db"
    kept = fill(other, 2)
    before = other.read_bytes()
    with Store.open(path) as store:
        store.append({"s": (0, (entry(1),))}, AT)
        other.replace(path)
        with pytest.raises(JournalUnusable, match="replaced while this guide was running"):
            store.append({"s": (1, (entry(2),))}, AT)
    assert path.read_bytes() == before
    assert Path(f"{path}-wal").exists()
    Path(f"{path}-wal").unlink()
    assert contents(path) == kept


def test_a_journal_deleted_right_before_the_commit_is_reported(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An entry that went into a file without a name is not called kept."""
    path = tmp_path / "journal.db"
    with Store.open(path) as store:
        check = store._check_last

        def check_and_lose(stream: str, last_seen: int) -> None:
            check(stream, last_seen)
            path.unlink()

        monkeypatch.setattr(store, "_check_last", check_and_lose)
        with pytest.raises(JournalUnusable, match="deleted, moved or replaced"):
            store.append({"s": (0, (entry(1),))}, AT)


@pytest.mark.parametrize("name", ["an evening", "größe 夜 – 100% #1?x=y&z", "-wal", "o'clock;\nnext"])
def test_a_journal_opens_under_unusual_paths(tmp_path: Path, name: str) -> None:
    path = tmp_path / name / "journal.db"
    path.parent.mkdir()
    kept = fill(path, 2)
    assert contents(path) == kept
    assert [found.name for found in path.parent.iterdir() if found.suffix == ".db"] == ["journal.db"]
    path.write_bytes(path.read_bytes()[:PAGE])
    with pytest.raises(JournalUnusable) as caught:
        Store.open(path)
    assert "\n" not in str(caught.value)
