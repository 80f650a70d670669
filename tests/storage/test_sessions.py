"""Sessions in the journal: stored whole, listed without being read, found by what a person types."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.factories import bare_plan, session_began

from wetside.domain.messages import as_written
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.errors import JournalUnusable, Refused
from wetside.storage.codec import encode
from wetside.storage.sessions import (
    CONTENTS,
    append_events,
    is_experienced,
    load,
    load_state,
    resolve,
    session_index,
    stream_of,
    summaries,
)
from wetside.storage.store import Entry, Envelope, Overtaken, Store

AT = "2031-03-01T18:00:00Z"
LATER = "2031-03-01T21:00:00Z"


def began(session: str, practice: bool = False, title: str = "Evening") -> e.SessionBegan:
    """A first event with a plan of one step."""
    step = PlannedStep("gear", "gear", "Gear", "bench", Kind.CHECK, "Look.", "Stop.", "practice")
    plan = bare_plan(setup=replace(bare_plan().setup, title=title), stages=(("bench", "Bench"),), steps=(step,))
    return session_began(
        plan, session, AT, offset_s=3600, profile_text='title = "x" # "setup":{', practice=practice
    )


def some(session: str, closed: bool = True, practice: bool = False) -> tuple[e.Event, ...]:
    """A short session with one deviation."""
    events: tuple[e.Event, ...] = (
        began(session, practice),
        e.StepOpened(0.0, "gear"),
        e.GateOverridden(5.0, "gear", "tick:x", as_written("Thermometer"), "none in the house"),
        e.StepEnded(9.0, "gear"),
    )
    return (*events, e.SessionClosed(9.0, "complete with deviations", 1)) if closed else events


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty journal."""
    with Store.open(tmp_path / "journal.sqlite") as opened:
        yield opened


def test_a_session_is_loaded_as_it_was_stored(store: Store) -> None:
    events = some("k3v9")
    assert append_events(store, "session/k3v9", 0, events[:2], AT) == 2
    assert append_events(store, "session/k3v9", 2, events[2:], LATER) == 5
    assert load(store, "session/k3v9") == events
    assert load_state(store, "session/k3v9") == replay(events)


def test_practice_has_streams_of_its_own() -> None:
    assert stream_of("k3v9", practice=False) == "session/k3v9"
    assert stream_of("k3v9", practice=True) == "practice/k3v9"


def test_a_second_writer_is_refused_and_nothing_is_stored(store: Store) -> None:
    append_events(store, "session/a", 0, some("a", closed=False), AT)
    with pytest.raises(Overtaken):
        append_events(store, "session/a", 2, (e.SessionClosed(9.0, "abandoned", 1),), AT)
    assert load(store, "session/a") == some("a", closed=False)
    assert session_index(store).is_open("session/a")


def test_what_is_appended_with_the_events_is_stored_with_them_or_not_at_all(store: Store) -> None:
    debit = {"shelf": (0, (Entry("bottle_used", 1, "{}"),))}
    append_events(store, "session/a", 0, some("a"), AT, also=debit)
    assert store.last_seq("shelf") == 1
    with pytest.raises(Overtaken):
        append_events(store, "session/b", 0, some("b"), AT, also=debit)
    assert load(store, "session/b") == ()
    assert session_index(store).began("session/b") is None


def test_the_list_summarises_each_session(store: Store) -> None:
    append_events(store, "session/a", 0, some("a"), AT)
    append_events(store, "practice/p", 0, some("p", practice=True), LATER)
    append_events(store, "session/b", 0, some("b", closed=False), "2031-03-02T18:00:00Z")
    unfinished, practice, complete = summaries(store)
    assert (complete.session, complete.title, complete.began_wall) == ("a", "Evening", AT)
    assert (complete.outcome, complete.deviations, complete.rolls) == (
        "complete with deviations",
        1,
        ("First", "Second"),
    )
    assert (complete.stream, complete.practice, complete.last_at) == ("session/a", False, AT)
    assert (practice.session, practice.practice, practice.last_at) == ("p", True, LATER)
    assert (unfinished.session, unfinished.outcome, unfinished.deviations) == ("b", None, 1)
    assert not any(row.trouble for row in (unfinished, practice, complete))


def test_a_closed_session_is_listed_without_being_read(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    append_events(store, "session/a", 0, some("a"), AT)
    append_events(store, "session/a", 5, (e.NoteAdded(20.0, "thin", "look", 0),), LATER)
    read: list[str] = []
    really = Store.read

    def watched(self: Store, stream: str, after: int = 0, *, despite_gaps: bool = False) -> tuple[Envelope, ...]:
        read.append(stream)
        return really(self, stream, after, despite_gaps=despite_gaps)

    monkeypatch.setattr(Store, "read", watched)
    assert summaries(store)[0].outcome == "complete with deviations"
    assert read == [CONTENTS]


def test_a_summary_missing_from_the_contents_is_read_from_the_session(store: Store) -> None:
    events = some("a")
    store.append({"session/a": (0, tuple(Entry(*encode(event)) for event in events))}, AT)
    store.append({CONTENTS: (0, (Entry("session_listed", 9, "{}"), Entry("scribble", 1, "?")))}, AT)
    (row,) = summaries(store)
    assert (row.title, row.outcome, row.deviations, row.rolls) == (
        "Evening",
        "complete with deviations",
        1,
        ("First", "Second"),
    )


def test_a_session_that_cannot_be_read_is_listed_with_its_trouble(store: Store) -> None:
    append_events(store, "session/a", 0, some("a"), AT)
    kind, version, data = encode(began("b"))
    store.append({"session/b": (0, (Entry(kind, version + 1, data),))}, LATER)
    store.append({"session/c": (0, (Entry(*encode(e.HoldBegan(1.0))),))}, LATER)
    c, b, a = summaries(store)
    assert (a.trouble, a.outcome) == ("", "complete with deviations")
    assert "update Wetside" in b.trouble
    assert "session/b 1" in b.trouble
    assert (b.outcome, b.title, b.began_wall) == ("unknown", "", LATER)
    assert "does not start with its beginning" in c.trouble
    with pytest.raises(JournalUnusable, match="update Wetside"):
        load(store, "session/b")


def test_two_sessions_begun_at_once_are_both_listed(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    really = Store.last_seq
    slow = {CONTENTS: 1}

    def outrun(self: Store, stream: str) -> int:
        seen = really(self, stream)
        if slow.pop(stream, 0):
            with Store.open(self.path) as other:
                append_events(other, "session/other", 0, some("other"), AT)
        return seen

    monkeypatch.setattr(Store, "last_seq", outrun)
    append_events(store, "session/mine", 0, some("mine"), AT)
    assert session_index(store).began("session/mine") is not None
    assert session_index(store).began("session/other") is not None
    assert load(store, "session/mine") == some("mine")


def test_a_session_is_found_by_id_by_beginning_and_by_last(store: Store) -> None:
    for number, name in enumerate(("k3v9", "k3", "m0")):
        append_events(store, f"session/{name}", 0, some(name), f"2031-03-0{number + 1}T18:00:00Z")
    append_events(store, "practice/z1", 0, some("z1", practice=True), "2031-03-09T18:00:00Z")
    assert resolve(store, "k3v9") == "session/k3v9"
    assert resolve(store, "k3v") == "session/k3v9"
    assert resolve(store, "k3") == "session/k3"
    assert resolve(store, "m") == "session/m0"
    assert resolve(store, "z") == "practice/z1"
    assert resolve(store, "last") == "session/m0"


def test_last_means_a_practice_only_where_there_is_nothing_else(store: Store) -> None:
    with pytest.raises(Refused, match="no session yet"):
        resolve(store, "last")
    append_events(store, "practice/z1", 0, some("z1", practice=True), AT)
    assert resolve(store, "last") == "practice/z1"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("k", r"'k' begins 4 ids \(k1, k2, k3, …\): type more"),
        ("x", "begins with 'x'"),
        ("", "begins with ''"),
        ("\x1b[2J\u202e", r"'\\x1b\[2J\\u202e'"),
        ("k%", "begins with 'k%'"),
    ],
)
def test_an_unknown_or_ambiguous_session_is_refused_in_a_sentence(store: Store, text: str, said: str) -> None:
    for name in ("k1", "k2", "k3", "k4"):
        append_events(store, f"session/{name}", 0, some(name), AT)
    with pytest.raises(Refused, match=said):
        resolve(store, text)


def test_hostile_titles_come_back_from_the_list_as_typed(store: Store) -> None:
    for number, title in enumerate(("[red]x", '"}],"title":"y', "\u202e", "a\nb", "\ud800")):
        append_events(
            store, f"session/s{number}", 0, (began(f"s{number}", title=title),), f"2031-03-0{number + 1}T18:00:00Z"
        )
    assert {row.title for row in summaries(store)} == {"[red]x", '"}],"title":"y', "\u202e", "a\nb", "\ud800"}


def test_three_complete_own_sessions_count_as_experience(store: Store) -> None:
    def keep(name: str, *, practice: bool = False, invented: bool = False, outcome: str = "complete") -> None:
        first = began(name, practice)
        plan = replace(first.plan, setup=replace(first.plan.setup, invented=invented))
        end = e.SessionClosed(9.0, "abandoned" if outcome == "abandoned" else "complete", 0)
        append_events(store, stream_of(name, practice), 0, (replace(first, plan=plan), end), AT)

    for number in range(2):
        keep(f"own-{number}")
        keep(f"practice-{number}", practice=True)
        keep(f"example-{number}", invented=True)
        keep(f"left-{number}", outcome="abandoned")
    assert not is_experienced(store)
    append_events(store, stream_of("third", False), 0, some("third", closed=False), AT)
    assert not is_experienced(store)
    append_events(store, stream_of("third", False), 4, some("third")[-1:], LATER)
    assert is_experienced(store)
