"""A picture as columns of the screen, and where two of them differ. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from rich.cells import cell_len

from wetside.tui.styled_rows import Row
from wetside.tui.theme import Role

NEAR: Final = 8
"""Unchanged columns between two changed ones that are sent again: to pass over them costs as many bytes."""


class Cell(NamedTuple):
    """One column of one row; the right half of a wide character is empty text."""

    text: str
    role: Role


Cells = list[Cell]


def cells_of(row: Row, columns: int) -> Cells:
    """`row` cut or filled to so many columns; what takes no column is left out."""
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


def runs(cells: Cells) -> Iterator[tuple[str, Role]]:
    """Neighbouring cells of one look as one text; a wide character cut by an edge becomes a space."""
    text, role = "", cells[0].role if cells else ""
    for number, cell in enumerate(cells):
        if cell.role != role:
            yield text, role
            text, role = "", cell.role
        cut_left = cell.text == "" and number == 0
        cut_right = number == len(cells) - 1 and not cell.text.isascii() and cell_len(cell.text) > 1
        text += " " if cut_left or cut_right else cell.text
    yield text, role


def stretches(before: Cells, after: Cells) -> list[tuple[int, int]]:
    """From, and one past, the columns that differ between two rows of one length.

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
