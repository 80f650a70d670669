"""Lays out the frame of a screen: title line, body, message, and the bottom lines that name the keys. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from wetside.present.prompts import Keys
from wetside.tui.rows import Row, RowList, StyledText, TextLayout, row_width, width
from wetside.tui.theme import Role

if TYPE_CHECKING:
    from wetside.present.view_model import View


class Notices(Struct, frozen=True):
    """What must be shown now; "" for none. trouble: events that could not be saved. message: the answer to a key.

    cue: a call's words. following: this terminal only follows. failure: the person's own program for calls failed.
    """

    trouble: str = ""
    message: str = ""
    cue: str = ""
    following: bool = False
    failure: str = ""


def top_line(view: View, notices: Notices, layout: TextLayout, columns: int) -> Row:
    """The title line: session, batch, stage; at the right practice or following, and the time of day."""
    left = "  ".join(part for part in (view.stage, view.batch, f"Session {view.session}") if part)
    marks = []
    if view.practice:
        marks.append(f"PRACTICE ×{view.speed:g}" if columns >= 60 else "PRACTICE")
    if notices.following:
        marks.append("FOLLOWING")
    if view.held:
        marks.append("ON HOLD")
    return layout.bar(f" {left}", "  ".join([*marks, view.wall]) + " ", columns)


def notice_rows(
    notices: Notices, layout: TextLayout, columns: int, most: int, *, large: bool = False
) -> list[Row]:
    """The notices as rows, the most serious first, at most `most` rows each. large: draw a call as a block."""
    rows: list[Row] = []
    if notices.trouble:
        rows += layout.lines(notices.trouble, columns, "signal", most=most)
    if notices.cue:
        called = call_block(notices.cue, layout, columns, most) if large else None
        rows += called or layout.labelled(
            StyledText("CALL", "signal"), notices.cue, columns, "strong", most, gap=2
        )
    if notices.message and notices.message != notices.trouble:
        rows += layout.lines(notices.message, columns, "strong", most=most)
    if notices.failure:
        rows += layout.lines(notices.failure, columns, "faint", most=1)
    return rows


ARROWS_FROM: Final = 72
"""The least columns at which the arrow keys may take a row of their own: narrow windows are often low as well."""


def bottom_rows(keys: Keys, layout: TextLayout, columns: int) -> list[Row]:
    """What the keys do now, in one row if it fits, else in up to three; the arrow keys if there is room."""
    three = _keys_in_rows(keys, "", layout, columns)
    more = _keys_in_rows(keys, keys.arrows, layout, columns)
    wide = columns >= ARROWS_FROM and len(more) <= 3
    return more if wide or len(more) == len(three) else three


def _keys_in_rows(keys: Keys, arrows: str, layout: TextLayout, columns: int) -> list[Row]:
    pairs = [("SPACE", keys.space), ("ARROWS", arrows), ("ENTER", keys.enter), ("BACKSPACE", keys.backspace)]
    said: list[Row] = [
        (StyledText(name, "mark"), StyledText(" " + layout.cut(words, columns - len(name) - 1)))
        for name, words in pairs
        if words
    ]
    rows: list[Row] = []
    for one in said:
        if rows and row_width(rows[-1]) + 2 + row_width(one) <= columns:
            rows[-1] = (*rows[-1], StyledText("  "), *one)
        else:
            rows.append(one)
    return rows or [(StyledText(""),)]


def call_block(words: str, layout: TextLayout, columns: int, most: int) -> list[Row]:
    """A call as a full-width block in reverse video, to be seen from afar by somebody who hears no bell."""
    lines = [
        layout.cut(line, columns).center(columns) for line in layout.wrap(f"CALL: {words}", columns - 2, most)
    ]
    edge: Row = (StyledText(" " * columns, "signal"),)
    return [edge, *((StyledText(line, "signal"),) for line in lines), edge]


WIDEST: Final = 100
"""The most cells of a line of text, since longer ones are hard to read."""


def text_rows(lines: Sequence[str], layout: TextLayout, cells: int) -> RowList:
    """Lines of text as rows: an unindented line is a heading; a long line is wrapped with a hanging indent."""
    rows: RowList = []
    for line in lines:
        indent = len(line) - len(line.lstrip(" "))
        role: Role = "" if indent else "strong"
        if width(layout.text(line)) <= cells:
            rows.append(layout.row(line, cells, role))
        else:
            wrapped = layout.wrap(line, max(8, cells - indent))
            rows += [(StyledText(" " * indent + each, role),) for each in wrapped]
    return rows
