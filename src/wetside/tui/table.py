"""The table of past sessions and of bottles: the library's, with as many columns as the screen has room for."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from rich.text import Text
from textual.coordinate import Coordinate
from textual.widgets import DataTable

from wetside.tui.rows import TextLayout, width

_SIGN, _GAP = 4, 2
"""Cells of the column of the sign, and of the gap after each column."""

LEAST_TALL = 12
"""The least rows at which a table has its line of titles."""


class Column(Struct, frozen=True):
    """One column. least: the cells that are left to the one that gives way to the others; 0 for those."""

    title: str
    cells: tuple[str, ...]
    least: int = 0

    @property
    def wanted(self) -> int:
        """The cells in which nothing of it is cut, with the gap after it."""
        return max(map(width, (self.title, *self.cells))) + _GAP


class Table(DataTable[Text], can_focus=False, inherit_bindings=False):
    """Shows columns; the screen owns the marked row. The first column takes what is left of the width."""

    def __init__(self, layout: TextLayout) -> None:
        super().__init__(cursor_type="row", cell_padding=0)
        self._layout = layout
        self._built: tuple[Sequence[Column], int] = ((), 0)

    def show(self, columns: Sequence[Column], marked: int, cells: int) -> None:
        """Show these columns in `cells` cells and mark a row; a column for which there is no room is left out."""
        if self._built != (columns, cells):
            self._built = (columns, cells)
            self._build(_fitting(columns, cells - _SIGN), cells)
        if not self.row_count:
            return
        before = self.cursor_row
        self.move_cursor(row=marked, animate=False)
        for row in {before, marked}:
            sign = self._layout.text("→") if row == marked else ""
            self.update_cell_at(Coordinate(row, 0), Text(f" {sign}"))

    def on_resize(self) -> None:
        """Keep the marked row in sight when the keys or a message take a row more."""
        self.move_cursor(row=self.cursor_row, animate=False)

    def _build(self, columns: Sequence[tuple[Column, int]], cells: int) -> None:
        self.clear(columns=True)
        self.add_column("", width=_SIGN)
        for column, room in columns:
            self.add_column(Text(self._layout.cut(column.title, room)), width=room)
        for texts in zip(*(column.cells for column, _ in columns), strict=True):
            cut = (
                Text(self._layout.cut(text, room - _GAP)) for text, (_, room) in zip(texts, columns, strict=True)
            )
            self.add_row(Text(""), *cut)
        self.styles.max_height = self.row_count + self.show_header


def _fitting(columns: Sequence[Column], cells: int) -> list[tuple[Column, int]]:
    """The columns that fit without a cut, each with its cells; the one that gives way takes what they leave."""
    room = cells - min(cells, *(column.least or cells for column in columns))
    found: list[tuple[Column, int]] = []
    for column in columns:
        if column.least or column.wanted <= room:
            found.append((column, 0 if column.least else column.wanted))
            room -= found[-1][1]
    rest = cells - sum(taken for _, taken in found)
    return [(column, taken or min(rest, column.wanted)) for column, taken in found]
