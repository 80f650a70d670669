"""A widget of drawn rows that refreshes only the regions that changed.

The library asks for the rows line by line, and only regions that differ from the last picture are refreshed, so
that its compositor sends a few rows and not a whole screen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from wetside.app.terminal import Colours
from wetside.tui.rows import Picture, Row
from wetside.tui.theme import Role, Theme, styles

NEAR: Final = 8
"""So many unchanged columns between two changed ones are sent again, since skipping them costs as many bytes."""


class Cell(NamedTuple):
    """One column of one row; the right half of a wide character is empty text."""

    text: str
    role: Role


Cells = list[Cell]


def cells_of(row: Row, columns: int) -> Cells:
    """`row` cut or filled to so many columns; characters of no width are left out."""
    cells: Cells = []
    for text, role in row:
        for character in text:
            wide = 1 if character.isascii() else cell_len(character)
            if wide == 0:
                continue
            cells.append(Cell(character, role))
            cells += [Cell("", role)] * (wide - 1)
    cells += [Cell(" ", "")] * (columns - len(cells))
    return cells[:columns]


def stretches(before: Cells, after: Cells) -> list[tuple[int, int]]:
    """The ranges of columns (first, end) that differ between two rows of one length.

    Stretches that lie near each other are one, and no wide character is cut in two.
    """
    found: list[tuple[int, int]] = []
    for x, (old, new) in enumerate(zip(before, after, strict=True)):
        if old != new:
            if found and x - found[-1][1] <= NEAR:
                found[-1] = (found[-1][0], x + 1)
            else:
                found.append((x, x + 1))
    return [_whole(before, after, first, end) for first, end in found]


def _whole(before: Cells, after: Cells, first: int, end: int) -> tuple[int, int]:
    while first > 0 and "" in (before[first].text, after[first].text):
        first -= 1
    while end < len(after) and "" in (before[end].text, after[end].text):
        end += 1
    return first, end


class Canvas(Widget):
    """Draws one picture, one row on each line."""

    def __init__(self, colours: Colours, theme: Theme = "terminal") -> None:
        super().__init__()
        self._looks = styles(colours, theme)
        self.picture: Picture = ()
        self._columns = 0

    def show(self, picture: Picture, columns: int) -> None:
        """Draw `picture`, each row cut or filled to `columns`."""
        before, columns_before = self.picture, self._columns
        self.picture, self._columns = picture, columns
        if (len(before), columns_before) != (len(picture), columns):
            self.refresh()
        elif changed := list(changed_regions(before, picture, columns)):
            self.refresh(*changed)

    def render_line(self, y: int) -> Strip:
        """Row `y` as the library's Strip; neighbours of one role are joined, since each is sent with its style."""
        row = self.picture[y] if y < len(self.picture) else ()
        strip = Strip(Segment(text, self._looks[role]) for text, role in row)
        return strip.adjust_cell_length(self.size.width, self._looks[""]).simplify()


def changed_regions(before: Picture, after: Picture, columns: int) -> Iterator[Region]:
    """The regions, each one row high, in which two pictures of one size differ."""
    for y, (old, new) in enumerate(zip(before, after, strict=True)):
        if old != new:
            for first, end in stretches(cells_of(old, columns), cells_of(new, columns)):
                yield Region(first, y, end - first, 1)
