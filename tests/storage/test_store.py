"""The journal's file: what is appended comes back, in order, once, and nothing else gets in."""

from __future__ import annotations

import os
import sqlite3
import stat
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetside.errors import JournalUnusable, Refused
from wetside.storage import journal_file
from wetside.storage.store import Entry, Envelope, Overtaken, Store, StreamSummary

AT = "2026-11-05T19:30:00Z"
LATER = "2026-11-05T19:31:00.250Z"
TICK = Entry("tick_made", 1, '{"tick":"lid on"}')
NOTE = Entry("note_added", 2, '{"text":"größer als 夜"}')


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "journal.db"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with Store.open(path) as opened:
        yield opened


def test_appended_entries_are_read_back(store: Store, path: Path) -> None:
    given_back = store.append({"session:a": (0, (TICK, NOTE))}, AT)
    expected = (
        Envelope("session:a", 1, AT, "tick_made", 1, TICK.data),
        Envelope("session:a", 2, AT, "note_added", 2, NOTE.data),
    )
    assert given_back == store.read("session:a") == expected
    with Store.open(path) as again:
        assert again.read("session:a") == expected
        assert again.read("session:a", after=1) == expected[1:]
        assert again.read("session:b") == ()


def test_the_last_sequence_number_of_a_stream_is_known(store: Store) -> None:
    assert (store.read("s"), store.last_seq("s")) == ((), 0)
    rows = store.append({"s": (0, (TICK, NOTE))}, AT)
    assert (store.read("s"), store.last_seq("s")) == (rows, 2)


def test_append_to_several_streams_is_one_transaction(store: Store) -> None:
    store.append({"bottle:dev": (0, (NOTE,))}, AT)
    with pytest.raises(Overtaken):
        store.append({"session:a": (0, (TICK,)), "bottle:dev": (0, (NOTE,))}, AT)
    assert store.last_seq("session:a") == 0
    store.append({"session:a": (0, (TICK,)), "bottle:dev": (1, (NOTE,))}, AT)
    assert (store.last_seq("session:a"), store.last_seq("bottle:dev")) == (1, 2)


def test_an_append_also_checks_the_streams_it_adds_nothing_to(store: Store) -> None:
    store.append({"bottle:dev": (0, (NOTE,))}, AT)
    with pytest.raises(Overtaken):
        store.append({"session:a": (0, (TICK,)), "bottle:dev": (0, ())}, AT)
    assert store.last_seq("session:a") == 0
    assert store.append({"session:a": (0, ())}, AT) == ()


def test_a_second_writer_is_refused_and_changes_nothing(store: Store, path: Path) -> None:
    with Store.open(path) as other:
        other.append({"session:a": (0, (TICK, TICK))}, AT)
        with pytest.raises(Overtaken, match="Another terminal wrote to session:a first") as caught:
            store.append({"session:a": (0, (NOTE,))}, AT)
        assert (caught.value.expected, caught.value.found) == (0, 2)
        assert isinstance(caught.value, Refused)
        assert [envelope.kind for envelope in other.read("session:a")] == ["tick_made", "tick_made"]
    store.append({"session:a": (2, (NOTE,))}, AT)
    assert store.last_seq("session:a") == 3


def test_missing_entries_are_reported(store: Store) -> None:
    store.append({"session:a": (0, (TICK,))}, AT)
    with pytest.raises(JournalUnusable, match="holds 1 entries of session:a, where 5 had been kept"):
        store.append({"session:a": (5, (TICK,))}, AT)


@pytest.mark.parametrize("at", ["", "2026-11-05", "2026-11-05T19:30:00+01:00", "2026-11-05T19:30:00Z\n"])
def test_only_utc_moments_are_accepted(store: Store, at: str) -> None:
    with pytest.raises(ValueError, match="RFC 3339"):
        store.append({"s": (0, (TICK,))}, at)


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("UPDATE journal SET data = '{}'", "changes no row"),
        ("DELETE FROM journal", "keeps every row"),
        ("INSERT OR REPLACE INTO journal VALUES ('s', 1, 'now', 'other', 1, '{}')", "no row twice"),
        ("INSERT INTO journal VALUES ('s', 1, 'now', 'other', 1, '{}')", "no row twice"),
        ("INSERT INTO journal VALUES ('s', 'two', 'now', 'other', 1, '{}')", "cannot store TEXT"),
        ("INSERT INTO journal VALUES ('s', 0, 'now', 'other', 1, '{}')", "seq > 0"),
    ],
)
def test_database_refuses_changes_of_entries(store: Store, path: Path, statement: str, why: str) -> None:
    before = store.append({"s": (0, (TICK,))}, AT)
    with (
        closing(sqlite3.connect(path, isolation_level=None)) as raw,
        pytest.raises(sqlite3.IntegrityError, match=why),
    ):
        raw.execute(statement)
    assert store.read("s") == before


def test_journal_files_are_for_their_owner_alone(path: Path) -> None:
    before = os.umask(0)
    try:
        with Store.open(path) as store:
            store.append({"s": (0, (TICK,))}, AT)
            modes = {found.name: stat.S_IMODE(found.stat().st_mode) for found in path.parent.iterdir()}
    finally:
        os.umask(before)
    assert modes == {"journal.db": 0o600, "journal.db-wal": 0o600, "journal.db-shm": 0o600}


def test_a_journal_readable_by_others_is_made_private(path: Path) -> None:
    Store.open(path).close()
    path.chmod(0o644)
    Store.open(path).close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_closing_leaves_no_further_file_beside_the_journal(path: Path) -> None:
    Store.open(path).close()
    assert [found.name for found in path.parent.iterdir()] == ["journal.db"]


def test_journal_uses_wal_and_full_sync(store: Store, path: Path) -> None:
    assert store._connection.execute("PRAGMA synchronous").fetchone() == (2,)
    assert store._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA application_id").fetchone() == (0x57455453,)
        assert raw.execute("PRAGMA user_version").fetchone() == (1,)
        assert raw.execute("SELECT strict FROM pragma_table_list WHERE name = 'journal'").fetchone() == (1,)


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("PRAGMA user_version = 2", r"newer Wetside \(its form is 2, this program knows 1\)"),
        ("PRAGMA user_version = 0", "not built as this program builds"),
        ("PRAGMA application_id = 7", "not a journal of Wetside"),
        ("DROP TRIGGER journal_row_stays", "not built as this program builds"),
        ("CREATE TRIGGER more AFTER INSERT ON journal BEGIN SELECT 1; END", "not built as this program"),
    ],
)
def test_a_journal_of_another_format_is_refused_and_left_unchanged(path: Path, statement: str, words: str) -> None:
    Store.open(path).close()
    with closing(sqlite3.connect(path, isolation_level=None)) as raw:
        raw.execute(statement)
    before = path.read_bytes()
    for read_only in (False, True):
        with pytest.raises(JournalUnusable, match=words):
            Store.open(path, read_only=read_only)
    assert path.read_bytes() == before


def test_a_file_that_is_not_a_journal_is_refused_in_a_sentence(tmp_path: Path) -> None:
    def sentence(path: Path, *, read_only: bool = False) -> str:
        with pytest.raises(JournalUnusable) as caught:
            Store.open(path, read_only=read_only)
        assert str(path) in str(caught.value)
        assert str(caught.value).endswith(".")
        return str(caught.value)

    text, empty, link, folder = (tmp_path / name for name in ("text", "empty", "link", "folder"))
    text.write_text("not a database at all, but long enough to have a header of a hundred bytes " * 3)
    empty.touch()
    Store.open(tmp_path / "true.db").close()
    link.symlink_to(tmp_path / "true.db")
    folder.mkdir()
    os.mkfifo(tmp_path / "pipe")
    assert "it is not a journal, or its beginning is damaged" in sentence(text)
    assert "it is empty" in sentence(empty)
    assert "symbolic link" in sentence(link)
    assert "it is a folder" in sentence(folder)
    assert "not a plain file" in sentence(tmp_path / "pipe")
    assert "there is no such file" in sentence(tmp_path / "missing.db", read_only=True)
    assert "folder does not exist" in sentence(tmp_path / "no" / "journal.db")
    assert "cannot be reached" in sentence(text / "journal.db")
    assert empty.stat().st_size == 0
    assert text.read_text().startswith("not a database at all")


def test_no_new_journal_is_created_beside_the_wal_of_a_lost_one(path: Path) -> None:
    Path(f"{path}-wal").write_bytes(b"entries")
    with pytest.raises(JournalUnusable, match=r"still in .*-wal"):
        Store.open(path)
    assert not path.exists()


def test_a_dangling_link_is_not_written_through(tmp_path: Path, path: Path) -> None:
    path.symlink_to(tmp_path / "elsewhere.db")
    with pytest.raises(JournalUnusable, match="symbolic link"):
        Store.open(path)
    with pytest.raises(FileExistsError):
        journal_file.create(path)
    assert not (tmp_path / "elsewhere.db").exists()


def test_a_follower_notices_and_reads_but_does_not_write(store: Store, path: Path) -> None:
    with Store.open(path, read_only=True) as follower:
        seen = follower.data_version()
        assert follower.data_version() == seen
        written = store.append({"s": (0, (TICK,))}, AT)
        assert follower.data_version() != seen
        assert follower.read("s") == written
        with pytest.raises(JournalUnusable, match="reading only"):
            follower.append({"s": (1, (TICK,))}, AT)
    assert store.last_seq("s") == 1


def test_own_appends_do_not_change_the_data_version(store: Store) -> None:
    seen = store.data_version()
    store.append({"s": (0, (TICK,))}, AT)
    assert store.data_version() == seen


def test_streams_are_found_by_prefix(store: Store) -> None:
    store.append({"session:b": (0, (TICK, TICK)), "bottle:x": (0, (NOTE,)), "session:a": (0, (TICK,))}, AT)
    store.append({"session:b": (2, (NOTE,))}, LATER)
    assert store.streams("session:") == (
        StreamSummary("session:a", AT, AT),
        StreamSummary("session:b", AT, LATER),
    )
    assert [summary.stream for summary in store.streams()] == ["bottle:x", "session:a", "session:b"]
    assert store.streams("none:") == ()


def test_missing_sequence_numbers_are_refused_unless_gaps_are_accepted(path: Path) -> None:
    rows = [("s", seq, AT, "tick_made", 1, "{}") for seq in (1, 2, 5)]
    journal_file.create(path, rows)
    with Store.open(path) as store:
        with pytest.raises(JournalUnusable, match="entries 3 to 4 of s are lost"):
            store.read("s")
        assert [envelope.seq for envelope in store.read("s", despite_gaps=True)] == [1, 2, 5]
        assert store.append({"s": (5, (TICK,))}, AT)[0].seq == 6
        assert [envelope.seq for envelope in store.read("s", after=4)] == [5, 6]


def test_a_sound_file_has_no_faults(store: Store) -> None:
    store.append({"s": (0, (TICK, NOTE))}, AT)
    assert store.damage() is None


# a lone surrogate has no UTF-8 form; the codec writes ASCII, so none comes this way
_NAMES = st.text(st.characters(codec="utf-8"), min_size=1, max_size=6)
_ENTRIES = st.lists(st.builds(Entry, _NAMES, st.integers(1, 9), _NAMES), max_size=3).map(tuple)
_STEPS = st.lists(
    st.tuples(st.booleans(), st.dictionaries(st.sampled_from("abc"), st.tuples(st.integers(0, 5), _ENTRIES))),
    max_size=8,
)


@given(_STEPS)
@settings(max_examples=40, deadline=None)
def test_interleaved_writers_equal_one_list(
    steps: list[tuple[bool, dict[str, tuple[int, tuple[Entry, ...]]]]],
) -> None:
    """Whatever two stores append, what is kept is what was accepted, whole transactions in order."""
    model: dict[str, list[Entry]] = {}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        with Store.open(path) as one, Store.open(path) as two:
            for first, streams in steps:
                fits = all(last_seen == len(model.get(name, ())) for name, (last_seen, _) in streams.items())
                accepted = True
                try:
                    (one if first else two).append(streams, AT)
                except (Overtaken, JournalUnusable):
                    accepted = False
                assert accepted == (fits or not any(entries for _, entries in streams.values()))
                if accepted:
                    for name, (_, entries) in streams.items():
                        model.setdefault(name, []).extend(entries)
            for name in "abc":
                kept = [Entry(row.kind, row.version, row.data) for row in two.read(name)]
                assert kept == model.get(name, [])
                assert two.last_seq(name) == len(kept)
            named = [name for name, entries in sorted(model.items()) if entries]
            assert [found.stream for found in one.streams()] == named
