"""Rows of styled text, laid out for the terminal's cells and characters. Pure.

`Row` is a tuple of styled texts; `TextLayout` cuts and wraps text to cells; `fit` chooses among the forms of the
blocks of a page so that the most important ones fit into its rows.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest
from typing import NamedTuple

from msgspec import Struct
from rich.cells import cell_len, chop_cells

from wetside.sanitize import sendable
from wetside.tui.theme import Role


def width(text: str) -> int:
    """The width of `text` in cells."""
    return len(text) if text.isascii() else cell_len(text)


class StyledText(NamedTuple):
    """A run of text with one role."""

    text: str
    role: Role = ""


Row = tuple[StyledText, ...]
RowList = list[Row]
Picture = tuple[Row, ...]


class TextLayout(Struct, frozen=True):
    """Lays text out in cells. utf8: whether the terminal shows more than ASCII."""

    utf8: bool = True

    def text(self, words: str) -> str:
        """`words` sanitized for the terminal: one line, no control characters, ASCII only without UTF-8."""
        return sendable(words, self.utf8)

    def cut(self, words: str, cells: int) -> str:
        """`words` in at most `cells` cells, with an ellipsis if something was cut."""
        words = self.text(words)
        if width(words) <= cells:
            return words
        kept = chop_cells(words, cells - 1)[0] if cells > 1 else ""
        return kept + ("…" if self.utf8 else "~") if cells > 0 else ""

    def row(self, words: str, cells: int, role: Role = "") -> Row:
        """One row of text, cut to fit."""
        return (StyledText(self.cut(words, cells), role),)

    def wrap(self, words: str, cells: int, most: int | None = None) -> list[str]:
        """`words` in lines of at most `cells` cells; with `most`, at most that many, the last one cut."""
        lines: list[str] = []
        line = ""
        for word in self.text(words).split():
            if line and width(line) + 1 + width(word) > cells:
                lines.append(line)
                line = word
            else:
                line = f"{line} {word}" if line else word
            if width(line) > cells:
                *heads, line = chop_cells(line, cells)
                lines += heads
        lines.append(line)
        if most is not None and len(lines) > most:
            rest = " ".join(lines[most - 1 :])
            return [*lines[: most - 1], self.cut(rest, cells)] if most > 0 else []
        return lines

    def lines(self, words: str, cells: int, role: Role = "", most: int | None = None) -> RowList:
        """`words` as rows of at most `cells` cells, as `wrap` breaks them."""
        return [(StyledText(line, role),) for line in self.wrap(words, cells, most)]

    def paragraphs(self, texts: Iterable[str], cells: int, role: Role = "") -> RowList:
        """Each of `texts` as rows, one below another."""
        return [row for words in texts for row in self.lines(words, cells, role)]

    def hanging(self, words: str, cells: int, role: Role = "") -> RowList:
        """`words` as rows with a hanging indent of two cells."""
        lines = self.wrap(words, cells - 2)
        return [(StyledText(line if number == 0 else f"  {line}", role),) for number, line in enumerate(lines)]

    def labelled(
        self, label: StyledText, words: str, cells: int, role: Role = "", most: int | None = None, gap: int = 1
    ) -> RowList:
        """`words` beside a label, `gap` cells from it; later rows are aligned with the first."""
        edge = width(label.text) + gap
        first, *more = self.wrap(words, cells - edge, most)
        below = [(StyledText(" " * edge + line, role),) for line in more]
        return [(label, StyledText(" " * gap + first, role)), *below]

    def bar(self, left: str, right: str, cells: int) -> Row:
        """A full row: `left` at its start, `right` at its end; the left one is cut when both do not fit."""
        right = self.cut(right, cells)
        left = self.cut(left, max(0, cells - width(right) - (1 if right else 0)))
        return (StyledText(left + " " * (cells - width(left) - width(right)) + right, "bar"),)


def row_width(row: Row) -> int:
    """The width of a row in cells."""
    return sum(width(span.text) for span in row)


def padded(row: Row, cells: int) -> Row:
    """A row filled with spaces to `cells`."""
    missing = cells - row_width(row)
    return (*row, StyledText(" " * missing)) if missing > 0 else row


def beside(left: list[Row], left_cells: int, right: list[Row]) -> list[Row]:
    """Two columns of rows, the left one `left_cells` wide."""
    return [(*padded(a, left_cells), *b) for a, b in zip_longest(left, right, fillvalue=())]


class RowBlock(Struct, frozen=True):
    """A block in several forms. forms: fullest first, at least one.

    weights: the cost of each step from one form to the next, so one fewer than the forms; `fit` takes the cheapest
    step of all blocks first. A single number is the cost of every step.
    """

    weights: int | tuple[int, ...]
    forms: tuple[RowList, ...]

    def cost(self, form: int) -> int | None:
        """The cost of the step to the next shorter form; None for the shortest."""
        if form + 1 >= len(self.forms):
            return None
        return self.weights if isinstance(self.weights, int) else self.weights[min(form, len(self.weights) - 1)]


def fit(blocks: list[RowBlock], rows: int) -> RowList:
    """The blocks' rows in order, in at most `rows` rows; cut at the end if even the shortest forms do not fit."""
    chosen = [0] * len(blocks)
    while _height(blocks, chosen) > rows:
        costs = [(cost, n) for n, block in enumerate(blocks) if (cost := block.cost(chosen[n])) is not None]
        if not costs:
            break
        chosen[min(costs)[1]] += 1
    _grow_back(blocks, chosen, rows)
    shown = [row for block, form in zip(blocks, chosen, strict=True) for row in block.forms[form]]
    return shown[:rows]


def _grow_back(blocks: list[RowBlock], chosen: list[int], rows: int) -> None:
    """Undo steps that turn out to be unnecessary, because a later large one freed more rows than needed."""
    given_up = [(block.cost(form), n, form) for n, block in enumerate(blocks) for form in range(chosen[n])]
    for _, number, form in sorted(given_up, key=lambda step: (-(step[0] or 0), step[1], -step[2])):
        fuller = [*chosen[:number], form, *chosen[number + 1 :]]
        if form == chosen[number] - 1 and _height(blocks, fuller) <= rows:
            chosen[number] = form


def _height(blocks: list[RowBlock], chosen: list[int]) -> int:
    return sum(len(block.forms[form]) for block, form in zip(blocks, chosen, strict=True))


def around(rows: RowList, marked: int, least: int) -> tuple[RowList, ...]:
    """Windows of `rows` of decreasing length down to `least`, each with the row `marked` in it (−1: none)."""
    forms = []
    for height in range(len(rows), least - 1, -1):
        top = min(max(0, marked - height // 2), len(rows) - height) if marked >= 0 else 0
        forms.append(rows[top : top + height])
    return tuple(forms) or (rows,)
