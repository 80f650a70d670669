"""A list of titles and values: what is cut can be read, and the list keeps its room."""

from __future__ import annotations

import pytest
from tests.tui.seen import plain_rows

from wetside.tui.frame import titled
from wetside.tui.rows import TextLayout

PEN = TextLayout(True)
LISTED = [("Process", "Two-bath"), ("Roll 1", "Harbour, morning, backed, 135-36")]


def test_marked_cut_value_is_shown_whole_below_the_list() -> None:
    body = titled(LISTED, 1, PEN, 34, 6)
    assert "…" in plain_rows(tuple(body.listed))[1]
    assert " ".join(" ".join(plain_rows(tuple(body.foot))).split()) == "Roll 1: Harbour, morning, backed, 135-36"
    assert titled(LISTED, 0, PEN, 34, 6).foot == [], "nothing was cut"
    assert titled(LISTED, 1, PEN, 60, 6).foot == []


@pytest.mark.parametrize("room", [1, 2, 3, 4])
def test_list_keeps_its_rows_over_what_stands_below(room: int) -> None:
    body = titled(LISTED, 1, PEN, 34, room)
    assert (body.room, body.foot) == (min(room, 2), [])
    assert "→" in "".join(plain_rows(tuple(body.listed)))
