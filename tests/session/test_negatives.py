"""Looking at the negatives: edge markings first, then what is seen; kept with the session, causes shown."""

from __future__ import annotations

import re

import pytest
from tests.session.walker import Bench, bench_for, shipped_plan

from wetside.domain.profile.model import Sure
from wetside.domain.session import commands as c
from wetside.present.fault_table import EDGES, FAULTS, fault, faults_with, look_choices, look_lines, look_note
from wetside.present.prompts import Choice, Page, Words


def test_every_row_says_how_sure_it_is() -> None:
    assert len({each.id for each in FAULTS}) == len(FAULTS)
    for each in FAULTS:
        assert each.causes
        assert each.change
        assert each.edges
        assert each.source
        unread = each.source == "no print seen"
        assert unread == (each.sure is Sure.MEMORY)
        assert not re.search(r"[.;]$", each.words)


def test_the_edge_numbers_tell_processing_from_exposure() -> None:
    """Reference: NAVEDTRA 14209 table 10-1 and CIS-254 (read in print) for weak edges; the rest from memory."""
    assert faults_with("weak")[0].id == "thin-processing"
    assert "thin-exposure" not in {each.id for each in faults_with("weak")}
    assert {"thin-exposure", "unexposed", "fog-frames"} <= {each.id for each in faults_with("normal")}
    assert "thin-processing" not in {each.id for each in faults_with("normal")}
    assert faults_with("missing")[0].id == "blank"
    assert faults_with("fogged")[0].id == "fog-all"


@pytest.mark.parametrize("edge", [edge for edge, _ in EDGES])
def test_whatever_the_edges_look_like_there_is_something_to_choose(edge: str) -> None:
    choices = [id_ for id_, _ in look_choices(edge)]
    assert len(choices) >= 2
    assert choices[-1] == "own words"
    assert (choices[0] == "well") == (edge == "normal")
    for id_ in choices[:-1]:
        assert look_lines(id_)
        assert edge in look_note(edge, id_)


def closed_bench() -> Bench:
    """An evening that was closed, at the desk."""
    bench = bench_for(shipped_plan("three-rolls"))
    bench.desk.dispatch(c.Abandon(bench.desk.now(), "for a test"))
    bench.clock.advance(86_400.0)
    return bench


def choose(bench: Bench, words: str) -> None:
    """Mark the option that begins with these words by SPACE, and take it by ENTER."""
    panel = bench.desk.hand.panel
    assert isinstance(panel, Choice)
    number = next(n for n, (_, title) in enumerate(panel.options) if title.startswith(words))
    for _ in range(number + 1):
        bench.wait(0.5)
        bench.press("space")
    bench.wait(0.5)
    bench.press("enter")


def test_after_the_close_a_roll_is_looked_at_with_three_keys() -> None:
    bench = closed_bench()
    bench.press("r")
    choose(bench, "Harbour, evening")
    asked = bench.desk.hand.panel
    assert isinstance(asked, Choice)
    assert asked.title == "How do the edge numbers look?"
    choose(bench, "Weak")
    choose(bench, "Thin all over")
    page = bench.desk.hand.panel
    assert isinstance(page, Page)
    assert page.title == "Thin all over"
    assert "Developer too short" in " ".join(page.lines)
    (note,) = bench.desk.state.notes
    assert (note.about, note.roll, note.text) == ("look", 1, "Thin all over; edge numbers weak")
    bench.wait(0.5)
    bench.press("enter")
    assert bench.desk.hand.panel is None


def test_own_words_are_kept_with_the_edges() -> None:
    bench = closed_bench()
    bench.press("r")
    choose(bench, "Garden")
    choose(bench, "Clear and sharp")
    choose(bench, "Something else")
    assert isinstance(bench.desk.hand.panel, Words)
    for letter in "green":
        bench.press(letter)
    bench.wait(0.5)
    bench.press("enter")
    (note,) = bench.desk.state.notes
    assert (note.about, note.roll, note.text) == ("look", 2, "green; edge numbers normal")


def test_enter_alone_notes_nothing() -> None:
    bench = closed_bench()
    bench.press("r")
    for _ in range(20):
        bench.wait(0.5)
        bench.press("enter")
    assert bench.desk.state.notes == ()


def test_it_is_offered_when_there_is_something_to_look_at() -> None:
    bench = bench_for(shipped_plan("three-rolls"))
    bench.wait(2.0)
    bench.press("r")
    assert bench.desk.hand.panel is None


def test_from_memory_is_said_on_the_page() -> None:
    assert any("from memory" in line for line in look_lines("blank"))
    assert any("read in print" in line for line in look_lines("air-bells"))
    assert fault("reticulation").causes[0].startswith("A step of more than 2.8 °C (5 °F)")
