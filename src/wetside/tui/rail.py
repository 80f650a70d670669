"""The rail at the left: the stages, the current one unfolded into its steps. Pure."""

from __future__ import annotations

from typing import Final

from wetside.present.view_model import Mark, RailRow
from wetside.tui.fitting import Form
from wetside.tui.glyphs import width
from wetside.tui.styled_rows import Row, StyledText
from wetside.tui.text_layout import TextLayout
from wetside.tui.theme import Role

WORDS: Final[dict[Mark, str]] = {
    "done": "done",
    "now": "now",
    "next": "next",
    "later": "",
    "running": "runs",
    "not done": "not done",
    "in part": "in part",
}
_ROLES: Final[dict[Mark, Role]] = {
    "done": "done",
    "now": "strong",
    "next": "",
    "later": "faint",
    "running": "strong",
    "not done": "faint",
    "in part": "faint",
}


def rail_rows(rail: tuple[RailRow, ...], pen: TextLayout, cells: int, rows: int) -> Form:
    """The rail in at most `rows` rows, the current step always among them."""
    drawn: list[Row] = []
    now = 0
    for row in rail:
        if row.mark == "now":
            now = len(drawn)
        drawn += _rows(row, pen, cells)
    top = min(max(0, now - rows // 2), max(0, len(drawn) - rows))
    return drawn[top : top + rows]


def _rows(row: RailRow, pen: TextLayout, cells: int) -> list[Row]:
    """The title with its word at the right of the first row; a long title goes on below itself."""
    word, indent = WORDS[row.mark], "  " * row.depth
    first, *more = pen.wrap(row.text, cells - len(indent) - max(len(word) + 1, 2)) or [""]
    spare = " " * (cells - len(indent) - width(first) - len(word))
    role = _ROLES[row.mark]
    return [
        (StyledText(f"{indent}{first}{spare}{word}", role),),
        *((StyledText(f"{indent}  {line}", role),) for line in more),
    ]
