"""What stands around every picture of a session: the top line, the notices, the bottom line. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from wetside.frozen import dataclass
from wetside.present.key_legend import Keys
from wetside.tui.styled_rows import Row, StyledText
from wetside.tui.text_layout import TextLayout, row_width

if TYPE_CHECKING:
    from wetside.present.view_model import View


@dataclass(frozen=True, slots=True)
class Notices:
    """What must be said now. trouble: what is not being kept; message: the answer to a key; cue: a call's words.

    following: this terminal only follows. failure: a call's own program could not be run.
    """

    trouble: str = ""
    message: str = ""
    cue: str = ""
    following: bool = False
    failure: str = ""


def top_line(view: View, notices: Notices, pen: TextLayout, columns: int) -> Row:
    """Session, batch, stage; at the right practice or following, and the wall clock."""
    left = "  ".join(part for part in (view.stage, view.batch, f"Session {view.session}") if part)
    marks = []
    if view.practice:
        marks.append(f"PRACTICE ×{view.speed:g}" if columns >= 60 else "PRACTICE")
    if notices.following:
        marks.append("FOLLOWING")
    if view.held:
        marks.append("ON HOLD")
    return pen.bar(f" {left}", "  ".join([*marks, view.wall]) + " ", columns)


def notice_rows(notices: Notices, pen: TextLayout, columns: int, most: int, *, large: bool = False) -> list[Row]:
    """One to three notices, the gravest first; at most `most` rows each. large: a call stands out as a block."""
    rows: list[Row] = []
    if notices.trouble:
        rows += [(StyledText(line, "signal"),) for line in pen.wrap(notices.trouble, columns, most)]
    if notices.cue:
        called = call_block(notices.cue, pen, columns, most) if large else None
        rows += called or _called("CALL", notices.cue, pen, columns, most)
    if notices.message and notices.message != notices.trouble:
        rows += [(StyledText(line, "strong"),) for line in pen.wrap(notices.message, columns, most)]
    if notices.failure:
        rows += [(StyledText(line, "faint"),) for line in pen.wrap(notices.failure, columns, 1)]
    return rows


ARROWS_FROM: Final = 72
"""Columns from which the arrows may take a row of their own: a narrower window is often a low one too."""


def bottom_rows(keys: Keys, pen: TextLayout, columns: int) -> list[Row]:
    """What the keys do now, in one row where it fits, else in up to three; the arrows where there is room."""
    three = _keys_in_rows(keys, "", pen, columns)
    more = _keys_in_rows(keys, keys.arrows, pen, columns)
    wide = columns >= ARROWS_FROM and len(more) <= 3
    return more if wide or len(more) == len(three) else three


def _keys_in_rows(keys: Keys, arrows: str, pen: TextLayout, columns: int) -> list[Row]:
    pairs = [("SPACE", keys.space), ("ARROWS", arrows), ("ENTER", keys.enter), ("BACKSPACE", keys.backspace)]
    said: list[Row] = [
        (StyledText(name, "mark"), StyledText(" " + pen.cut(words, columns - len(name) - 1)))
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


def call_block(words: str, pen: TextLayout, columns: int, most: int) -> list[Row]:
    """A call for somebody who hears no bell: a block in reverse video from edge to edge, seen from the sink."""
    lines = [pen.cut(line, columns).center(columns) for line in pen.wrap(f"CALL: {words}", columns - 2, most)]
    edge: Row = (StyledText(" " * columns, "signal"),)
    return [edge, *((StyledText(line, "signal"),) for line in lines), edge]


def _called(word: str, words: str, pen: TextLayout, columns: int, most: int) -> list[Row]:
    lines = pen.wrap(words, columns - len(word) - 2, most)
    first: Row = (StyledText(word, "signal"), StyledText("  " + lines[0], "strong"))
    indent = " " * (len(word) + 2)
    return [first, *((StyledText(indent + line, "strong"),) for line in lines[1:])]
