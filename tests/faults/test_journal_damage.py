"""A damaged journal: cut, flipped and overwritten bytes are refused in words, and what can be read is salvaged."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from tests.faults.journals import AT, PAGE, STREAMS, contents, entry, fill

from wetside.errors import JournalUnusable, Refused
from wetside.storage.salvage import Salvage, salvage
from wetside.storage.store import Envelope, Store


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, dict[str, tuple[Envelope, ...]]]:
    """The bytes of a journal that was closed, and what is in it."""
    path = tmp_path_factory.mktemp("sound") / "journal.db"
    kept = fill(path)
    return path.read_bytes(), kept


def salvaged(path: Path, to: Path) -> tuple[Salvage, dict[str, tuple[Envelope, ...]]]:
    """Salvage, see that the original was only read and that the new file is sound and counted rightly."""
    beside = {found: found.read_bytes() for found in path.parent.glob(f"{path.name}*")}
    report = salvage(path, to)
    assert {found: found.read_bytes() for found in path.parent.glob(f"{path.name}*")} == beside
    with Store.open(to) as store:
        assert store.damage() is None
    kept = contents(to)
    assert {found.stream: found.kept for found in report.streams if found.kept} == {
        name: len(rows) for name, rows in kept.items()
    }
    return report, kept


def test_a_sound_journal_is_salvaged_whole(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    kept = fill(path)
    report, found = salvaged(path, tmp_path / "new.db")
    assert report.whole
    assert report.kept == 180
    assert found == kept


def test_a_journal_cut_at_any_page_is_salvaged(
    tmp_path: Path, sound: tuple[bytes, dict[str, tuple[Envelope, ...]]]
) -> None:
    whole, kept = sound
    path = tmp_path / "journal.db"
    assert len(whole) // PAGE > 15
    counts: list[int] = []
    for pages in range(1, len(whole) // PAGE):
        path.write_bytes(whole[: pages * PAGE])
        for read_only in (False, True):
            with pytest.raises(JournalUnusable, match=r"it is damaged .*; do not delete it"):
                Store.open(path, read_only=read_only)
        assert path.read_bytes() == whole[: pages * PAGE]
        for leftover in ("-wal", "-shm"):
            Path(f"{path}{leftover}").unlink(missing_ok=True)
        to = tmp_path / f"{pages}.db"
        try:
            report, found = salvaged(path, to)
        except JournalUnusable:  # not one row lies on the pages that are left
            assert not to.exists()
            counts.append(0)
            continue
        counts.append(report.kept)
        assert report.missing_pages == len(whole) // PAGE - pages
        assert not report.whole
        for name, rows in found.items():
            assert set(rows) <= set(kept[name])
    # every page more brings more, and with all but the last nearly everything is there
    assert counts == sorted(counts)
    assert (counts[0], counts[-1] > 120) == (0, True)


@pytest.mark.parametrize("cut", [1, 99, PAGE - 1, 3 * PAGE + 17])
def test_a_journal_cut_inside_a_page_is_salvaged(
    tmp_path: Path, sound: tuple[bytes, dict[str, tuple[Envelope, ...]]], cut: int
) -> None:
    path = tmp_path / "journal.db"
    path.write_bytes(sound[0][:cut])
    with pytest.raises(JournalUnusable, match="do not delete it"):
        Store.open(path)
    assert path.read_bytes() == sound[0][:cut]


def test_a_lost_page_costs_only_the_entries_on_it(
    tmp_path: Path, sound: tuple[bytes, dict[str, tuple[Envelope, ...]]]
) -> None:
    """The rows of any one page are named as lost, by number, and every other row is kept."""
    whole, kept = sound
    path = tmp_path / "journal.db"
    named = 0
    for page in range(1, len(whole) // PAGE):
        path.write_bytes(whole[: page * PAGE] + b"\xa5" * PAGE + whole[(page + 1) * PAGE :])
        report, found = salvaged(path, tmp_path / f"{page}.db")
        for stream in report.streams:
            lost = {number for first, last in stream.lost for number in range(first, last + 1)}
            assert tuple(row for row in kept[stream.stream] if row.seq not in lost) == found[stream.stream]
            named += len(lost)
    # the three long first rows lie on three pages each
    assert named == 180 + 3 * 2


def test_a_schema_that_is_no_longer_text_is_refused_and_salvaged(
    tmp_path: Path, sound: tuple[bytes, dict[str, tuple[Envelope, ...]]]
) -> None:
    whole, kept = sound
    path = tmp_path / "journal.db"
    assert whole.count(b"CREATE TABLE journal") == 1
    path.write_bytes(whole.replace(b"CREATE TABLE journal", b"CREATE \xf7ABLE journal"))
    with pytest.raises(JournalUnusable, match="do not delete it"):
        Store.open(path)
    assert salvaged(path, tmp_path / "new.db")[1] == kept


@pytest.mark.parametrize("flips", [60, pytest.param(1_000, marks=pytest.mark.long)])
def test_a_flipped_bit_costs_at_most_the_entries_of_its_page(
    tmp_path: Path, sound: tuple[bytes, dict[str, tuple[Envelope, ...]]], flips: int
) -> None:
    """One bit costs at most the rows of a page, is never a crash, and never changes more than one row unseen."""
    whole, kept = sound
    path = tmp_path / "journal.db"
    chance = random.Random(20261105)
    noticed = 0
    for number in range(flips):
        damaged = bytearray(whole)
        # every third flip in a page's header or cell pointers, where it does most harm
        at = chance.randrange(len(whole))
        at = at - at % PAGE + chance.randrange(40) if number % 3 == 0 else at
        damaged[at] ^= 1 << chance.randrange(8)
        for leftover in ("-wal", "-shm"):
            Path(f"{path}{leftover}").unlink(missing_ok=True)
        path.write_bytes(damaged)
        try:
            with Store.open(path, read_only=True) as store:
                noticed += store.damage() is not None
        except JournalUnusable:
            noticed += 1
        to = tmp_path / f"{number}.db"
        _, found = salvaged(path, to)
        true = {row for rows in kept.values() for row in rows}
        rows = {row for rows in found.values() for row in rows}
        assert len(rows - true) <= 1
        assert len(true - rows) <= 40
    assert noticed > flips // 15


def test_entries_still_in_the_wal_are_read_and_salvaged(tmp_path: Path) -> None:
    """The state a kill leaves: the newest pages are in the -wal file only."""
    path, copy = tmp_path / "journal.db", tmp_path / "copy" / "journal.db"
    copy.parent.mkdir()
    with Store.open(path) as store:
        for number in range(40):
            store.append({"s": (number, (entry(number, 600),))}, AT)
        kept = {"s": store.read("s")}
        for suffix in ("", "-wal"):
            shutil.copyfile(f"{path}{suffix}", f"{copy}{suffix}")
    assert copy.stat().st_size < Path(f"{copy}-wal").stat().st_size
    report, found = salvaged(copy, tmp_path / "new.db")
    assert found == kept
    assert report.whole
    assert contents(copy) == kept


def left_by_a_kill(folder: Path) -> tuple[Path, dict[str, tuple[Envelope, ...]]]:
    """A journal whose main file was written some time ago and whose -wal file holds what came since."""
    path, copy = folder / "journal.db", folder / "copy" / "journal.db"
    copy.parent.mkdir()
    fill(path, 20)
    with Store.open(path) as store:
        for number in range(20, 40):
            store.append({stream: (number, (entry(number, 600),)) for stream in STREAMS}, AT)
        for suffix in ("", "-wal"):
            shutil.copyfile(f"{path}{suffix}", f"{copy}{suffix}")
    return copy, contents(path)


def test_a_wal_cut_at_any_frame_leaves_whole_transactions(tmp_path: Path) -> None:
    path, kept = left_by_a_kill(tmp_path)
    main, wal = path.read_bytes(), Path(f"{path}-wal").read_bytes()
    lengths: list[int] = []
    for frames in range((len(wal) - 32) // (24 + PAGE) + 1):
        path.write_bytes(main)
        Path(f"{path}-shm").unlink(missing_ok=True)
        Path(f"{path}-wal").write_bytes(wal[: 32 + frames * (24 + PAGE)])
        found = contents(path)
        assert found == {name: rows[: len(found[name])] for name, rows in kept.items()}
        assert len({len(rows) for rows in found.values()}) == 1
        assert salvaged(path, tmp_path / f"{frames}.db")[1] == found
        lengths.append(len(found["session:a"]))
    assert lengths == sorted(lengths)
    assert (lengths[0], lengths[-1]) == (20, 40)


def test_the_main_file_cut_while_the_wal_holds_newer_pages(tmp_path: Path) -> None:
    """SQLite believes the -wal file about the size and would not notice before it reads the missing page."""
    path, kept = left_by_a_kill(tmp_path)
    assert contents(path) == kept
    main = path.read_bytes()
    refused = 0
    for pages in range(1, len(main) // PAGE):
        path.write_bytes(main[: pages * PAGE])
        Path(f"{path}-shm").unlink(missing_ok=True)
        try:
            found = contents(path)
        except JournalUnusable:
            refused += 1
            report, found = salvaged(path, tmp_path / f"{pages}.db")
            assert report.missing_pages > 0
            assert len(found["session:a"]) >= 20
        else:
            assert found == kept  # the -wal file holds all that was cut off
    assert refused > 3


def test_a_transaction_that_was_never_accepted_is_not_salvaged(tmp_path: Path) -> None:
    path, copy = tmp_path / "journal.db", tmp_path / "copy" / "journal.db"
    copy.parent.mkdir()
    with Store.open(path) as store:
        kept = {"s": store.append({"s": (0, (entry(0),))}, AT)}
        store._connection.execute("PRAGMA cache_size = 2")
        store._connection.execute("BEGIN IMMEDIATE")
        for number in range(2, 60):
            store._connection.execute(
                "INSERT INTO journal VALUES ('s', ?, ?, 'k', 1, ?)", (number, AT, '"' + "y" * 2000 + '"')
            )
        for suffix in ("", "-wal"):
            shutil.copyfile(f"{path}{suffix}", f"{copy}{suffix}")
        store._connection.execute("ROLLBACK")
    assert b"y" * 1000 in Path(f"{copy}-wal").read_bytes()
    assert salvaged(copy, tmp_path / "new.db")[1] == kept


def test_salvage_overwrites_nothing(tmp_path: Path) -> None:
    path, there = tmp_path / "journal.db", tmp_path / "there.db"
    fill(path, 1)
    there.write_text("mine")
    with pytest.raises(Refused, match="there is such a file already"):
        salvage(path, there)
    with pytest.raises(Refused, match="there is such a file already"):
        salvage(path, path)
    assert there.read_text() == "mine"
    with pytest.raises(JournalUnusable, match="not one row"):
        salvage(there, tmp_path / "new.db")
    with pytest.raises(JournalUnusable, match="cannot be read"):
        salvage(tmp_path / "missing.db", tmp_path / "new.db")
    assert not (tmp_path / "new.db").exists()
