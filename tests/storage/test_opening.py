"""Making controllers: unreadable events are reported to a follower, and a failed opening leaves no lock."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.manual_clock import ManualClock
from tests.session.small_evening import small_plan

from wetside.app.controller import SessionController
from wetside.app.journal_writer import JournalWriter
from wetside.app.session_factory import (
    begin_session,
    follow_session,
    resume_session,
    revisit_session,
)
from wetside.domain.session import commands as c
from wetside.errors import JournalUnusable
from wetside.files.settings import Places, Settings
from wetside.storage.session_lock import SessionLock
from wetside.storage.store import Entry, Store, open_store

AT = "2031-03-01T18:00:00Z"


@pytest.fixture
def places(tmp_path: Path) -> Places:
    return Places(tmp_path, tmp_path / "settings.toml")


@pytest.fixture
def store(places: Places) -> Iterator[Store]:
    with open_store(places) as opened:
        yield opened


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock()


def begun(store: Store, places: Places, clock: ManualClock) -> tuple[SessionController, str]:
    """A small evening just begun, and its stream."""
    controller = begin_session(store, places, small_plan(), "text", Settings(), terminal="one", clock=clock)
    return controller, f"session/{controller.state.session}"


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        (Entry("note_added", 1, '{"at":"?"}'), r'session/.* 4 \("note_added"\) is damaged'),
        (Entry("note_added", 99, "{}"), "is written in version 99, .*: update Wetside"),
        (Entry("song_sung", 1, "{}"), "is of a kind this Wetside does not know"),
    ],
    ids=["damaged", "newer", "unknown"],
)
def test_a_row_that_a_follower_cannot_read_is_reported_and_later_rows_are_not_shown(
    store: Store, places: Places, clock: ManualClock, entry: Entry, why: str
) -> None:
    holder, stream = begun(store, places, clock)
    with open_store(places, read_only=True) as other:
        follower = follow_session(other, stream, clock=clock)
        holder.dispatch(c.AddNote(1.0, "before"))
        note = store.read(stream)[-1]
        store.append({stream: (note.seq, (entry, Entry(note.kind, note.version, note.data)))}, AT)
        follower.poll()
        assert [each.text for each in follower.state.notes] == ["before"]
        told = follower.trouble
        assert re.match(f"NOT SHOWN FROM HERE ON: Journal entry .*{why}", told)

        store.append({stream: (note.seq + 2, (Entry(note.kind, note.version, note.data),))}, AT)
        follower.poll()
        assert (follower.trouble, len(follower.state.notes)) == (told, 1)


def test_a_failed_opening_leaves_no_lock(
    store: Store, places: Places, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    controller, stream = begun(store, places, clock)
    controller.dispatch(c.Abandon(1.0, "enough"))
    controller.release()
    open_desk, open_stream = begun(store, places, clock)
    open_desk.release()

    def fails(self: JournalWriter, *_: object, **__: object) -> None:
        raise JournalUnusable("The disk is gone.")

    monkeypatch.setattr(JournalWriter, "__init__", fails)
    with pytest.raises(JournalUnusable):
        revisit_session(store, places, stream, terminal="one", clock=clock)
    with pytest.raises(JournalUnusable):
        resume_session(store, places, open_stream, Settings(), terminal="one", clock=clock)
    with pytest.raises(JournalUnusable):
        begun(store, places, clock)
    assert list(places.data.glob("drive-*.lock")) == []
    assert SessionLock(places.data, stream, terminal="two").holder() is None
