"""What matters most keeps its room longest; nothing is ever higher than the room."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from tests.session.walker import guide_for
from tests.shipped import shipped_plan
from tests.tui.seen import plain_rows

from wetside.domain.session import commands as c
from wetside.present.key_state import KeyState
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture
from wetside.tui.rows import RowBlock, RowList, StyledText, TextLayout, around, fit


def _form(height: int, name: str) -> RowList:
    return [(StyledText(f"{name}{number}"),) for number in range(height)]


_blocks = st.lists(
    st.tuples(st.integers(0, 9), st.lists(st.integers(0, 8), min_size=1, max_size=4)).map(
        lambda made: RowBlock(made[0], tuple(_form(height, "x") for height in sorted(made[1], reverse=True)))
    ),
    max_size=6,
)


@given(_blocks, st.integers(0, 30))
def test_blocks_never_exceed_the_available_rows(blocks: list[RowBlock], rows: int) -> None:
    assert len(fit(blocks, rows)) <= rows


@given(_blocks, st.integers(0, 60))
def test_with_enough_room_everything_is_shown_whole(blocks: list[RowBlock], spare: int) -> None:
    whole = [row for block in blocks for row in block.forms[0]]
    assert fit(blocks, len(whole) + spare) == whole


def test_block_of_lower_cost_is_cut_first() -> None:
    light, heavy = RowBlock(1, (_form(3, "light"), [])), RowBlock(9, (_form(3, "heavy"), []))
    assert fit([light, heavy], 4) == _form(3, "heavy")


def test_rows_left_over_go_to_blocks_that_were_cut() -> None:
    small, large = RowBlock(1, (_form(1, "small"), [])), RowBlock(2, (_form(5, "large"), _form(1, "large")))
    assert fit([small, large], 4) == [*_form(1, "small"), *_form(1, "large")]


def test_each_step_of_a_block_may_have_its_own_cost() -> None:
    first = RowBlock((1, 9), (_form(3, "a"), _form(2, "a"), []))
    second = RowBlock(5, (_form(2, "b"), []))
    assert fit([first, second], 4) == [*_form(2, "a"), *_form(2, "b")]
    assert fit([first, second], 3) == _form(3, "a")


@given(st.integers(1, 20), st.data())
def test_every_window_contains_the_marked_row(height: int, data: st.DataObject) -> None:
    rows = _form(height, "row")
    marked = data.draw(st.integers(0, height - 1))
    forms = around(rows, marked, 1)
    assert forms[0] == rows
    assert all(rows[marked] in form for form in forms)


def test_a_rule_set_aside_is_told_whole_where_there_is_room() -> None:
    guide = guide_for(shipped_plan("three-rolls")).at_step("take-down")
    assert guide.dispatch(c.Override(guide.now, "take-down", "time:drying", "Not needed tonight"))
    picture = guide_picture(guide.view, KeyState(), guide.keys, Notices(), TextLayout(), 80, 24)
    shown = "\n".join(row.partition("│")[2].strip() for row in plain_rows(picture))
    assert "Against the rule: Dry has not had its time, which is a\nminimum. (Not needed tonight)" in shown
