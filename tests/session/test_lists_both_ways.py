"""Lists move both ways, and the bottom line names the keys."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.tui.seen import plain_rows

from wetside.present.actions import ACTIONS
from wetside.present.prompts import Choice, Menu, Number, Page, Words, panel_keys, press_panel
from wetside.tui.frame import bottom_rows
from wetside.tui.rows import TextLayout

MENU = Menu(tuple(each for each in ACTIONS if each.id in ("first aid", "note", "leave")))
CHOICE = Choice("leave", "Leave?", (), (("stay", "Stay"), ("leave", "Leave"), ("more", "More")))


@pytest.mark.parametrize("panel", [MENU, CHOICE], ids=["menu", "choice"])
def test_in_a_list_down_moves_as_space_does_and_up_moves_back(panel: Menu | Choice) -> None:
    assert press_panel(panel, "down") == press_panel(panel, "space")
    last = press_panel(panel, "up")
    assert isinstance(last, Menu | Choice)
    assert last.index == 2
    up = press_panel(last, "up")
    assert isinstance(up, Menu | Choice)
    assert up.index == 1
    for way in ("up", "down"):
        here = up
        for _ in range(3):
            moved = press_panel(here, way)
            assert isinstance(moved, Menu | Choice)
            here = moved
        assert here == up


@pytest.mark.parametrize("columns", [80, 120])
def test_the_bottom_line_names_the_arrow_keys_only_in_a_list(columns: int) -> None:
    layout = TextLayout(True)
    for panel in (MENU, CHOICE):
        said = " ".join(plain_rows(tuple(bottom_rows(panel_keys(panel), layout, columns))))
        assert "ARROWS both ways" in said
        assert len(bottom_rows(panel_keys(panel), layout, columns)) <= 3
    for other in (
        Words("note", "A note", ""),
        Page("help", "Help", ("one",)),
        Number("late", "Late?", "x", "s", 1, 1),
    ):
        assert panel_keys(other).arrows == ""


def test_in_a_narrow_window_the_arrow_keys_take_no_row_from_the_list() -> None:
    layout = TextLayout(True)
    keys = panel_keys(CHOICE)
    assert len(bottom_rows(keys, layout, 40)) == len(bottom_rows(replace(keys, arrows=""), layout, 40))
