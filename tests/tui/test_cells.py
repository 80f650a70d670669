"""What is sent from one picture to the next: enough, and little."""

from __future__ import annotations

import pyte
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.color import ColorType

from wetside.tui.cells import Cells, cells_of, repainting, runs, stretches
from wetside.tui.styled_rows import Picture, StyledText
from wetside.tui.theme import Role, Theme, styles

COLUMNS, ROWS = 30, 4
LOOKS = styles("16")
ROLES: tuple[Role, ...] = ("", "strong", "bar", "late", "done")

spans = st.builds(StyledText, st.text("ab \u2500°湯の½\u0301", max_size=8), st.sampled_from(ROLES))
rows = st.lists(spans, max_size=6).map(tuple)
pictures = st.lists(rows, min_size=ROWS, max_size=ROWS).map(tuple)


def cells(picture: Picture) -> list[Cells]:
    return [cells_of(row, COLUMNS) for row in picture]


def fresh(drawn: list[Cells]) -> pyte.Screen:
    """A terminal on which all of it is painted from nothing."""
    screen = pyte.Screen(COLUMNS, ROWS)
    stream = pyte.Stream(screen)
    for y, row in enumerate(drawn, start=1):
        stream.feed(f"\x1b[{y}H" + "".join(LOOKS[role].render(text) for text, role in runs(row)))
    return screen


def shown(screen: pyte.Screen) -> list[list[tuple[str, bool, bool, str]]]:
    """Each column's character and look; the right half of a wide one is empty text in both."""
    return [
        [(c.data, c.bold, c.reverse, c.fg) for c in (screen.buffer[y][x] for x in range(COLUMNS))]
        for y in range(ROWS)
    ]


@given(pictures, pictures)
def test_a_terminal_ends_up_with_the_next_picture(first: Picture, second: Picture) -> None:
    before, after = cells(first), cells(second)
    terminal = fresh(before)
    pyte.Stream(terminal).feed(repainting(before, after, LOOKS))
    assert shown(terminal) == shown(fresh(after))


@given(pictures)
def test_the_same_picture_sends_nothing(picture: Picture) -> None:
    assert repainting(cells(picture), cells(picture), LOOKS) == ""


@given(rows, rows)
def test_every_difference_is_in_a_stretch_and_every_stretch_begins_and_ends_whole(
    first: tuple[StyledText, ...], second: tuple[StyledText, ...]
) -> None:
    before, after = cells_of(first, COLUMNS), cells_of(second, COLUMNS)
    found = stretches(before, after)
    for x in range(COLUMNS):
        if before[x] != after[x]:
            assert any(start <= x < end for start, end in found)
    for start, end in found:
        assert start == 0 or (before[start].text and after[start].text)
        assert end == COLUMNS or (before[end].text and after[end].text)


def test_a_second_of_a_clock_sends_its_last_digit_alone() -> None:
    before, after = (cells(((StyledText(f"   1:2{digit} to go", "strong"),),)) for digit in "98")
    assert repainting(before, after, LOOKS) == "\x1b[1;7H\x1b[1m8\x1b[0m\x1b[H"


def test_two_changes_far_apart_are_sent_apart_and_near_ones_together() -> None:
    row = [cells_of((StyledText(text),), COLUMNS) for text in ("a.........b....c", "A.........B....C")]
    assert stretches(*row) == [(0, 1), (10, 16)]


def test_a_wide_character_cut_by_the_edge_is_a_space() -> None:
    assert list(runs(cells_of((StyledText("ab湯"),), 3))) == [("ab ", "")]


@pytest.mark.parametrize("theme", ["light", "dark", "high contrast"])
def test_a_theme_sets_both_colours_of_every_look_and_none_without_colours(theme: Theme) -> None:
    looks = styles("16", theme)
    assert looks.keys() == styles("16").keys()
    for role, look in looks.items():
        assert look.color is not None, role
        assert look.bgcolor is not None, role
        assert {look.color.type, look.bgcolor.type} == {ColorType.STANDARD}, "the sixteen of every terminal"
        assert look.color != look.bgcolor
    assert not (theme == "high contrast" and looks["faint"].dim)
    assert styles("none", theme) == styles("none")
    assert all(look.bgcolor is None for look in styles("16").values()), "the terminal's own ground"
