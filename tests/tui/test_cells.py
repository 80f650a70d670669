"""What changes from one picture to the next: enough of it, and little."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.color import ColorType
from rich.segment import Segment
from rich.style import Style
from textual.app import App, ComposeResult
from textual.geometry import Region

from wetside.tui.canvas import Canvas, Cells, cells_of, changed_regions, stretches
from wetside.tui.rows import Picture, StyledText
from wetside.tui.theme import Role, Theme, styles

COLUMNS, ROWS = 30, 4
ROLES: tuple[Role, ...] = ("", "strong", "bar", "late", "done")

spans = st.builds(StyledText, st.text("ab \u2500°湯の½\u0301", max_size=8), st.sampled_from(ROLES))
rows = st.lists(spans, max_size=6).map(tuple)
pictures = st.lists(rows, min_size=ROWS, max_size=ROWS).map(tuple)


def cells(picture: Picture) -> list[Cells]:
    return [cells_of(row, COLUMNS) for row in picture]


@given(pictures, pictures)
def test_the_changed_regions_turn_one_picture_into_the_next(first: Picture, second: Picture) -> None:
    before, after = cells(first), cells(second)
    for region in changed_regions(first, second, COLUMNS):
        assert region.height == 1
        before[region.y][region.x : region.right] = after[region.y][region.x : region.right]
    assert before == after


@given(pictures)
def test_the_same_picture_changes_no_region(picture: Picture) -> None:
    assert list(changed_regions(picture, tuple(picture), COLUMNS)) == []


@given(rows, rows)
def test_every_changed_cell_is_redrawn_and_no_wide_character_is_cut(
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


def test_a_second_of_the_clock_redraws_only_its_last_digit() -> None:
    before, after = (((StyledText(f"   1:2{digit} to go", "strong"),),) for digit in "98")
    assert list(changed_regions(before, after, COLUMNS)) == [Region(6, 0, 1, 1)]


def test_two_changes_far_apart_are_sent_apart_and_near_ones_together() -> None:
    row = [cells_of((StyledText(text),), COLUMNS) for text in ("a.........b....c", "A.........B....C")]
    assert stretches(*row) == [(0, 1), (10, 16)]


async def test_a_wide_character_cut_by_the_edge_is_a_space_and_a_row_is_filled() -> None:
    canvas = Canvas("none")

    class Host(App[None]):
        def compose(self) -> ComposeResult:
            yield canvas

    async with Host().run_test(size=(4, 2)):
        canvas.show(((StyledText("a"), StyledText("bc湯")), (StyledText("d"),)), 4)
        assert [list(canvas.render_line(y)) for y in range(3)] == [
            [Segment("abc ", Style.null())],
            [Segment("d   ", Style.null())],
            [Segment("    ", Style.null())],
        ]


@pytest.mark.parametrize("theme", ["light", "dark", "high contrast"])
def test_a_theme_sets_both_colours_of_every_style_and_none_without_colours(theme: Theme) -> None:
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
