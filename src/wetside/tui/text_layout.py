"""Lays words into cells: cut, wrap, pad, beside one another. Pure; every text passes through `Glyphs` here."""

from __future__ import annotations

from rich.cells import cell_len

from wetside.frozen import dataclass
from wetside.tui.glyphs import Glyphs, width
from wetside.tui.styled_rows import Row, StyledText
from wetside.tui.theme import Role


@dataclass(frozen=True, slots=True)
class TextLayout:
    """Writes rows of at most so many cells with the signs of this terminal."""

    signs: Glyphs

    def cut(self, words: str, cells: int) -> str:
        """`words` in at most `cells` cells, with a sign at the end when something was left out."""
        words = self.signs.text(words)
        if width(words) <= cells:
            return words
        kept, used = "", 0
        for character in words:
            wide = cell_len(character)
            if used + wide > cells - 1:
                break
            kept, used = kept + character, used + wide
        return kept + self.signs.cut if cells > 0 else ""

    def row(self, words: str, cells: int, role: Role = "") -> Row:
        """One row of text, cut to fit."""
        return (StyledText(self.cut(words, cells), role),)

    def wrap(self, words: str, cells: int, most: int | None = None) -> list[str]:
        """`words` in lines of at most `cells` cells; with `most`, the last line is cut where there is more."""
        lines: list[str] = []
        line = ""
        for word in self.signs.text(words).split():
            if line and width(line) + 1 + width(word) > cells:
                lines.append(line)
                line = word
            else:
                line = f"{line} {word}" if line else word
            while width(line) > cells:
                head, line = _split(line, cells)
                lines.append(head)
        lines.append(line)
        if most is not None and len(lines) > most:
            rest = " ".join(lines[most - 1 :])
            return [*lines[: most - 1], self.cut(rest, cells)] if most > 0 else []
        return lines

    def bar(self, left: str, right: str, cells: int, role: Role = "bar") -> Row:
        """A full row: `left` at its start, `right` at its end; the left one is cut when both do not fit."""
        right = self.cut(right, cells)
        left = self.cut(left, max(0, cells - width(right) - (1 if right else 0)))
        return (StyledText(left + " " * (cells - width(left) - width(right)) + right, role),)


def row_width(row: Row) -> int:
    """How many cells a row takes."""
    return sum(width(span.text) for span in row)


def padded(row: Row, cells: int) -> Row:
    """A row filled with spaces to `cells`."""
    missing = cells - row_width(row)
    return (*row, StyledText(" " * missing)) if missing > 0 else row


def beside(left: list[Row], left_cells: int, right: list[Row]) -> list[Row]:
    """Two columns of rows, the left one `left_cells` wide."""
    rows = max(len(left), len(right))
    lefts = [*left, *[()] * (rows - len(left))]
    rights = [*right, *[()] * (rows - len(right))]
    return [(*padded(a, left_cells), *b) for a, b in zip(lefts, rights, strict=True)]


def _split(word: str, cells: int) -> tuple[str, str]:
    used = 0
    for number, character in enumerate(word):
        used += cell_len(character)
        if used > cells:
            return word[: max(1, number)], word[max(1, number) :]
    return word, ""
