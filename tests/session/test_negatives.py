"""Looking at the negatives: edge markings first, then what is seen; kept with the session, causes shown."""

from __future__ import annotations

import re
from typing import get_args

import pytest
from tests.session.walker import Guide, guide_for
from tests.shipped import shipped_plan

from wetside.domain.profile.model import Sure, Yield
from wetside.domain.session import commands as c
from wetside.domain.session.events import OWN_WORDS, WELL, Edge, Look, NoteAdded
from wetside.present.film_faults import (
    Group,
    edges,
    fault,
    faults,
    faults_with,
    group_choices,
    look_choices,
    look_lines,
)
from wetside.present.message_words import note_text
from wetside.present.prompts import Choice, Page, Words

YIELDS: tuple[Yield, ...] = ("negative", "positive")
EDGES = [(yields, edge) for yields in YIELDS for edge, _ in edges(yields)]


@pytest.mark.parametrize("yields", YIELDS)
def test_every_row_of_the_fault_tables_says_how_sure_it_is(yields: Yield) -> None:
    assert len({each.id for each in faults(yields)}) == len(faults(yields))
    for each in faults(yields):
        assert each.causes
        assert each.change
        assert each.edges
        assert each.source
        assert each.group in get_args(Group), each.id
        assert set(each.edges) <= set(get_args(Edge)), each.id
        assert not any(text.endswith((".", ";")) for text in (*each.causes, each.tell)), each.id
        assert all(text.endswith(".") for text in each.change), each.id
        unread = each.source == "no print seen"
        assert unread == (each.sure is Sure.MEMORY)
        assert not re.search(r"[.;]$", each.words)
        assert len(each.words) <= 76, "cut in a list of 80 columns"


@pytest.mark.parametrize("yields", YIELDS)
def test_every_state_of_the_edges_and_every_group_has_its_words(yields: Yield) -> None:
    assert [id_ for id_, _ in edges(yields)] == list(get_args(Edge))
    asked = {id_ for edge in get_args(Edge) for id_, _ in group_choices(yields, edge)}
    assert asked == {*get_args(Group), WELL, OWN_WORDS}


def test_the_edge_numbers_tell_processing_from_exposure() -> None:
    """Reference: NAVEDTRA 14209 table 10-1 and CIS-254 (read in print) for weak edges; the rest from memory."""
    assert faults_with("negative", "weak")[0].id == "thin-processing"
    assert "thin-exposure" not in {each.id for each in faults_with("negative", "weak")}
    assert {"thin-exposure", "unexposed", "fog-frames"} <= {each.id for each in faults_with("negative", "normal")}
    assert "thin-processing" not in {each.id for each in faults_with("negative", "normal")}
    assert faults_with("negative", "missing")[0].id == "blank"
    assert faults_with("negative", "fogged")[0].id == "fog-all"


@pytest.mark.parametrize("yields", YIELDS)
def test_fogged_edges_by_the_camera_are_told_from_those_by_the_tank(yields: Yield) -> None:
    """US Army subcourse SS0509-8, p. 84 (read in print): streaks from one corner or along the side."""
    back = fault(yields, "fog-back")
    assert {"fogged", "normal"} == set(back.edges)
    assert "p. 84" in back.source
    page = " ".join(look_lines(yields, "fog-back"))
    assert "camera" in page
    assert "frame to frame" in page
    assert "worst on the outer turns" in page


@pytest.mark.parametrize("yields", YIELDS)
@pytest.mark.parametrize(
    "id_",
    [
        *("scratch-camera", "scratch-wiping", "scratch-loading", "static", "dust-camera", "dust-after"),
        *("fingerprints-before", "fingerprints-after", "x-ray", "stain", "band-edge", "creep"),
    ],
)
def test_every_fault_has_a_cause_and_a_remedy(yields: Yield, id_: str) -> None:
    assert fault(yields, id_).causes
    assert fault(yields, id_).change


@pytest.mark.parametrize(("yields", "edge"), EDGES)
def test_whatever_the_edges_look_like_there_is_something_to_choose(yields: Yield, edge: Edge) -> None:
    groups = [id_ for id_, _ in group_choices(yields, edge)]
    assert len(groups) >= 2
    assert groups[-1] == "own words"
    assert (groups[0] == "well") == (edge == "normal")
    reached = set()
    for group in groups:
        for id_, _ in look_choices(yields, edge, group)[:-1]:
            assert look_lines(yields, id_)
            note = NoteAdded(0.0, "", "look", 0, Look(id_, edge, yields))
            assert note_text(note) == f"{fault(yields, id_).words}; edge numbers {edge}"
            reached.add(id_)
    assert reached == {each.id for each in faults_with(yields, edge)}


@pytest.mark.parametrize("yields", YIELDS)
def test_no_list_needs_more_than_twelve_presses(yields: Yield) -> None:
    for edge, _ in edges(yields):
        for group, _ in group_choices(yields, edge):
            assert len(look_choices(yields, edge, group)) <= 12


def closed_session(setup: str = "three-rolls", profile: str = "two-bath") -> Guide:
    """A controller with a closed session."""
    guide = guide_for(shipped_plan(setup))
    guide.dispatch(c.Abandon(guide.now, "for a test"))
    guide.clock.advance(86_400.0)
    return guide


def choose(guide: Guide, words: str) -> None:
    """Mark the option that begins with these words by SPACE, and take it by ENTER."""
    panel = guide.panel
    assert isinstance(panel, Choice)
    number = next(n for n, (_, title) in enumerate(panel.options) if title.startswith(words))
    for _ in range(number + 1):
        guide.wait(0.5)
        guide.press("space")
    guide.wait(0.5)
    guide.press("enter")


def test_slides_have_a_fault_table_of_their_own() -> None:
    guide = closed_session("reversal-two-rolls", "one-shot-reversal")
    guide.press("r")
    for words in (
        guide.state.plan.setup.rolls[0].label,
        "Dark, hard to read",
        "Too thin",
        "Dark and heavy",
    ):
        choose(guide, words)
    page = guide.panel
    assert isinstance(page, Page)
    assert "First developer too short, too cold" in " ".join(page.lines)
    (note,) = guide.state.notes
    assert (note.text, note.look) == ("", Look("dark-processing", "weak", "positive"))
    assert note_text(note) == "Dark and heavy all over; edge numbers weak"


def test_after_the_close_three_keys_note_how_a_roll_came_out() -> None:
    guide = closed_session()
    guide.press("r")
    choose(guide, "Harbour, evening")
    asked = guide.panel
    assert isinstance(asked, Choice)
    assert asked.title == "How do the edge numbers look?"
    choose(guide, "Weak")
    choose(guide, "Too thin")
    choose(guide, "Thin all over")
    page = guide.panel
    assert isinstance(page, Page)
    assert page.title == "Thin all over"
    assert "Developer too short" in " ".join(page.lines)
    (note,) = guide.state.notes
    assert (note.about, note.roll, note.text) == ("look", 1, "")
    assert note_text(note) == "Thin all over; edge numbers weak"
    guide.wait(0.5)
    guide.press("enter")
    assert guide.panel is None


def test_own_words_are_kept_with_the_edges() -> None:
    guide = closed_session()
    guide.press("r")
    choose(guide, "Garden")
    choose(guide, "Clear and sharp")
    choose(guide, "Something else")
    assert isinstance(guide.panel, Words)
    for letter in "green":
        guide.press(letter)
    guide.wait(0.5)
    guide.press("enter")
    (note,) = guide.state.notes
    assert (note.about, note.roll, note.look) == ("look", 2, Look(OWN_WORDS, "normal", "negative"))
    assert (note.text, note_text(note)) == ("green", "green; edge numbers normal")


def test_enter_alone_notes_nothing() -> None:
    guide = closed_session()
    guide.press("r")
    for _ in range(20):
        guide.wait(0.5)
        guide.press("enter")
    assert guide.state.notes == ()


def test_noting_how_film_came_out_is_offered_only_when_there_is_developed_film() -> None:
    guide = guide_for(shipped_plan("three-rolls"))
    guide.wait(2.0)
    guide.press("r")
    assert guide.panel is None


def test_the_page_says_what_is_from_memory() -> None:
    assert any("from memory" in line for line in look_lines("negative", "blank"))
    assert any("read in print" in line for line in look_lines("negative", "air-bells"))
    assert fault("negative", "reticulation").causes[0].startswith("A step of more than 2.8 °C (5 °F)")
