"""The rail at the left: the stages, the current one unfolded into its steps. Pure."""

from __future__ import annotations

from typing import Final

from wetside.screens.fitting import Form
from wetside.screens.pen import Pen
from wetside.screens.picture import Row, Span
from wetside.screens.signs import width
from wetside.screens.theme import Role
from wetside.session.view import Mark, RailRow

WORDS: Final[dict[Mark, str]] = {
    "done": "done",
    "now": "now",
    "next": "next",
    "later": "",
    "running": "runs",
    "not done": "not done",
}
_ROLES: Final[dict[Mark, Role]] = {
    "done": "done",
    "now": "strong",
    "next": "",
    "later": "faint",
    "running": "strong",
    "not done": "faint",
}


def rail_rows(rail: tuple[RailRow, ...], pen: Pen, cells: int, rows: int) -> Form:
    """The rail in at most `rows` rows, the current step always among them."""
    drawn = [_row(row, pen, cells) for row in rail]
    now = max((number for number, row in enumerate(rail) if row.mark == "now"), default=0)
    top = min(max(0, now - rows // 2), max(0, len(drawn) - rows))
    return drawn[top : top + rows]


def _row(row: RailRow, pen: Pen, cells: int) -> Row:
    word = WORDS[row.mark]
    text = pen.cut("  " * row.depth + row.text, cells - len(word) - 1)
    return (Span(text + " " * (cells - width(text) - len(word)) + word, _ROLES[row.mark]),)
