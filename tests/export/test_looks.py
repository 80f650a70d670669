"""What past sessions noted about negatives is shown for the same process or the same bottle, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.manual_clock import ManualClock

from wetside.app.session_factory import revisit_session
from wetside.domain.messages import Message
from wetside.domain.profile.model import Yield
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.errors import Refused
from wetside.export.past_sessions import looks_before, past_looks
from wetside.files.settings import Places
from wetside.present.film_faults import faults, searched_text, seen
from wetside.present.message_words import in_words, note_text
from wetside.storage.sessions import append_events, load
from wetside.storage.store import Store

AT = "2031-03-01T18:00:00Z"


@pytest.fixture(name="unseen")
def evening_nobody_looked_at(evening: tuple[e.Event, ...]) -> tuple[e.Event, ...]:
    """The evening without its own look."""
    return tuple(event for event in evening if not (isinstance(event, e.NoteAdded) and event.about == "look"))


def said(alerts: tuple[Message, ...]) -> tuple[str, ...]:
    return tuple(map(in_words, alerts))


def with_look(
    events: tuple[e.Event, ...], fault: str, edge: e.Edge, text: str = "", shelf_id: str | None = None
) -> tuple[e.Event, ...]:
    """The same evening with a look noted about its second roll, its developer perhaps from the shelf."""
    began = events[0]
    assert isinstance(began, e.SessionBegan)
    setup = began.plan.setup
    bottles = (replace(setup.bottles[0], shelf_id=shelf_id), *setup.bottles[1:])
    plan = replace(began.plan, setup=replace(setup, bottles=bottles))
    look = e.Look(fault, edge, "negative")
    return (replace(began, plan=plan), *events[1:], e.NoteAdded(events[-1].at + 9.0, text, "look", 1, look))


def test_notes_on_the_same_process_and_on_the_same_bottle_are_told_apart(unseen: tuple[e.Event, ...]) -> None:
    plain = with_look(unseen, "thin-processing", "weak")
    shelf = with_look(unseen, e.OWN_WORDS, "normal", "Clear round spots", "1-developer")
    assert said(past_looks((plain, shelf), "small", ("1-developer",))) == (
        "2031-03-01, second (same process): Thin all over; edge numbers weak.",
        "2031-03-01, second (same developer): Clear round spots; edge numbers normal.",
    )
    assert said(past_looks((plain, shelf), "another", ("1-developer",))) == (
        "2031-03-01, second (same developer): Clear round spots; edge numbers normal.",
    )
    assert past_looks((plain, shelf), "another", ("2-developer",)) == ()


def test_good_looks_are_not_mentioned(unseen: tuple[e.Event, ...]) -> None:
    assert past_looks((with_look(unseen, e.WELL, "normal"),), "small") == ()


def test_own_words_that_begin_like_good_news_are_shown(unseen: tuple[e.Event, ...]) -> None:
    noted = "Came out well but for the last frames"
    assert said(past_looks((with_look(unseen, e.OWN_WORDS, "normal", noted),), "small")) == (
        f"2031-03-01, second (same process): {noted}; edge numbers normal.",
    )


@pytest.mark.parametrize("yields", ["negative", "positive"])
def test_a_note_on_how_film_came_out_is_worded_by_its_row_and_found_by_words_row_and_group(yields: Yield) -> None:
    for row in faults(yields):
        note = e.NoteAdded(0.0, "", "look", 0, e.Look(row.id, "weak", yields))
        assert (seen(note.look, ""), note_text(note)) == (row.words, f"{row.words}; edge numbers weak")
        assert all(each in searched_text(note.look, "") for each in (row.words.casefold(), row.id, row.group))


def test_a_fault_that_the_table_has_lost_is_named_by_its_id() -> None:
    note = e.NoteAdded(0.0, "", "look", 0, e.Look("gone", "", "negative"))
    assert (note_text(note), searched_text(note.look, "")) == ("gone", "gone ")


def test_practice_and_other_notes_are_not_counted_as_notes_on_how_film_came_out(
    unseen: tuple[e.Event, ...],
) -> None:
    began = unseen[0]
    assert isinstance(began, e.SessionBegan)
    practice = with_look((replace(began, practice=True), *unseen[1:]), "thin-processing", "weak")
    note = (*unseen, e.NoteAdded(unseen[-1].at + 1.0, "The cat came in"))
    assert past_looks((practice, note), "small") == ()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "journal.sqlite3") as opened:
        yield opened


def test_a_closed_session_can_be_opened_later_to_note_how_film_came_out(
    store: Store, tmp_path: Path, unseen: tuple[e.Event, ...]
) -> None:
    closed = unseen
    if not isinstance(closed[-1], e.SessionClosed):
        closed = (*closed, e.SessionClosed(closed[-1].at, "complete", 0))
    append_events(store, "session/k3v9", 0, closed, AT)
    clock = ManualClock()
    places = Places(tmp_path, tmp_path / "settings.toml")
    controller = revisit_session(store, places, "session/k3v9", terminal="one", clock=clock)
    assert controller.view().closed
    with pytest.raises(Refused, match="look at it there"):
        revisit_session(store, places, "session/k3v9", terminal="two", clock=clock)
    assert controller.dispatch(
        c.AddNote(controller.now(), "", "look", 0, e.Look("air-bells", "normal", "positive"))
    )
    assert not controller.dispatch(c.Hold(controller.now()))
    controller.release()
    assert isinstance(load(store, "session/k3v9")[-1], e.NoteAdded)
    assert said(looks_before(store, "small")) == (
        "2031-03-01, first (same process): Dark round spots with a sharp rim; edge numbers normal.",
    )


def test_an_open_session_cannot_be_opened_to_note_how_film_came_out(
    store: Store, tmp_path: Path, unseen: tuple[e.Event, ...]
) -> None:
    going = tuple(event for event in unseen if not isinstance(event, e.SessionClosed))
    append_events(store, "session/k3v9", 0, going, AT)
    with pytest.raises(Refused, match="not closed"):
        revisit_session(store, Places(tmp_path, tmp_path / "s.toml"), "session/k3v9", terminal="one")
