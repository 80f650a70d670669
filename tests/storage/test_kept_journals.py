"""Journals of earlier versions, kept in tests/journals: they replay, and their exports come out to the byte."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from wetside.commands.arguments import FORMATS
from wetside.commands.export import exported
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.files.settings import JOURNAL, Places
from wetside.storage.codec import encode, kind_of, session_codec
from wetside.storage.sessions import append_events, load, summaries
from wetside.storage.shelf import load_shelf
from wetside.storage.store import Store, open_store

decode = session_codec().decode

KEPT = Path(__file__).parents[1] / "journals"
VERSIONS_KEPT = sorted(folder.name for folder in KEPT.iterdir() if (folder / f"{JOURNAL}.gz").is_file())


def unpacked(version: str, name: str) -> bytes:
    return gzip.decompress((KEPT / version / f"{name}.gz").read_bytes())


@pytest.fixture(params=VERSIONS_KEPT)
def version(request: pytest.FixtureRequest) -> str:
    """Each version that left a journal."""
    return str(request.param)


@pytest.fixture
def places(version: str, tmp_path: Path) -> Places:
    """A data folder that holds nothing but that journal."""
    data = tmp_path / "data"
    data.mkdir(mode=0o700)
    (data / JOURNAL).write_bytes(unpacked(version, JOURNAL))
    (data / JOURNAL).chmod(0o600)
    return Places(data, tmp_path / "settings.toml")


@pytest.fixture
def store(places: Places) -> Iterator[Store]:
    with open_store(places) as opened:
        yield opened


def test_the_first_version_has_a_kept_journal() -> None:
    assert "0.1.0" in VERSIONS_KEPT


def test_a_kept_journal_replays_to_a_closed_session(version: str, store: Store) -> None:
    (row,) = summaries(store)
    events = load(store, row.stream)
    began = events[0]
    assert isinstance(began, e.SessionBegan)
    assert (began.version, began.practice) == (version, False)
    state = replay(events)
    assert row.outcome == state.outcome == "complete with deviations"
    assert state.plan == began.plan
    assert set(state.ended) == {step.id for step in began.plan.steps}
    assert row.rolls == tuple(roll.label for roll in began.plan.setup.rolls)
    assert (began.plan.unit, began.plan.volume_unit) == ("°F", "US fl oz")


def test_kept_journal_contains_most_event_kinds(version: str, store: Store) -> None:
    (row,) = summaries(store)
    kinds = {event.kind for event in load(store, row.stream)}
    rare = {"pause_began", "pause_ended", "hold_began", "hold_ended", "gate_overridden", "tick_undone"}
    assert {kind_of(cls) for cls in get_args(e.Event)} - kinds <= rare | {
        "cue_missed",
        "cue_answered",
        "drain_taken_back",
        "mishap_happened",
    }


def test_entries_of_a_kept_journal_in_todays_version_are_written_the_same(version: str, store: Store) -> None:
    (row,) = summaries(store)
    rows = [each for each in store.read(row.stream) if each.version == session_codec().version(each.kind)]
    assert len(rows) > 100
    assert all(encode(decode(each.kind, each.version, each.data))[2] == each.data for each in rows)


def test_kept_shelf_was_debited(version: str, store: Store) -> None:
    bottles = load_shelf(store).bottles
    assert set(bottles) == {"1-developer", "1-bleach-fix", "1-stabiliser"}
    (session,) = (row.session for row in summaries(store))
    assert all([use.session for use in bottle.uses] == [session] for bottle in bottles.values())


@pytest.mark.parametrize("form", FORMATS)
def test_the_exports_of_a_kept_journal_are_the_same_to_the_byte(version: str, places: Places, form: str) -> None:
    assert exported(places, "last", form).encode("utf-8") == unpacked(version, form)


def test_new_session_is_appended_to_a_kept_journal(store: Store) -> None:
    (row,) = summaries(store)
    before = load(store, row.stream)
    note = e.NoteAdded(before[-1].at + 60.0, "Printed since")
    assert append_events(store, row.stream, len(before), (note,), "2032-01-01T12:00:00Z") == len(before) + 1
    assert load(store, row.stream) == (*before, note)
