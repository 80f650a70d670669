"""What stands around every picture of a session: the top line, the notices, the bottom line. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetside.frozen import dataclass
from wetside.screens.pen import Pen, row_width
from wetside.screens.picture import Row, Span
from wetside.session.keys import Keys

if TYPE_CHECKING:
    from wetside.session.view import View


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


def top_line(view: View, notices: Notices, pen: Pen, columns: int) -> Row:
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


def notice_rows(notices: Notices, pen: Pen, columns: int, most: int) -> list[Row]:
    """One to three notices, the gravest first; at most `most` rows each."""
    rows: list[Row] = []
    if notices.trouble:
        rows += [(Span(line, "signal"),) for line in pen.wrap(notices.trouble, columns, most)]
    if notices.cue:
        rows += _called("CALL", notices.cue, pen, columns, most)
    if notices.message and notices.message != notices.trouble:
        rows += [(Span(line, "strong"),) for line in pen.wrap(notices.message, columns, most)]
    if notices.failure:
        rows += [(Span(line, "faint"),) for line in pen.wrap(notices.failure, columns, 1)]
    return rows


def bottom_rows(keys: Keys, pen: Pen, columns: int) -> list[Row]:
    """What SPACE, ENTER and BACKSPACE do now, in one row where it fits, else in up to three."""
    pairs = [("SPACE", keys.space), ("ENTER", keys.enter), ("BACKSPACE", keys.backspace)]
    said: list[Row] = [
        (Span(name, "mark"), Span(" " + pen.cut(words, columns - len(name) - 1))) for name, words in pairs if words
    ]
    rows: list[Row] = []
    for one in said:
        if rows and row_width(rows[-1]) + 2 + row_width(one) <= columns:
            rows[-1] = (*rows[-1], Span("  "), *one)
        else:
            rows.append(one)
    return rows or [(Span(""),)]


def _called(word: str, words: str, pen: Pen, columns: int, most: int) -> list[Row]:
    lines = pen.wrap(words, columns - len(word) - 2, most)
    first: Row = (Span(word, "signal"), Span("  " + lines[0], "strong"))
    indent = " " * (len(word) + 2)
    return [first, *((Span(indent + line, "strong"),) for line in lines[1:])]
