"""The large digits: our own shapes, scaled to the room there is. Pure.

A digit is four dots wide and five high, a colon one dot wide. With UTF-8 two dots share a row (half blocks);
in ASCII a dot takes whole rows. What changes from one second to the next is mostly the last digit.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from wetside.tui.rows import TextLayout

SHAPES: Final[dict[str, tuple[str, ...]]] = {
    "0": (" ## ", "#  #", "#  #", "#  #", " ## "),
    "1": ("  # ", " ## ", "  # ", "  # ", " ###"),
    "2": ("### ", "   #", " ## ", "#   ", "####"),
    "3": ("### ", "   #", " ## ", "   #", "### "),
    "4": ("#  #", "#  #", "####", "   #", "   #"),
    "5": ("####", "#   ", "### ", "   #", "### "),
    "6": (" ###", "#   ", "### ", "#  #", " ## "),
    "7": ("####", "   #", "  # ", " #  ", " #  "),
    "8": (" ## ", "#  #", " ## ", "#  #", " ## "),
    "9": (" ## ", "#  #", " ###", "   #", "### "),
    ":": (" ", "#", " ", "#", " "),
    ".": (" ", " ", " ", " ", "#"),
    "-": ("   ", "   ", "###", "   ", "   "),
}
HIGH: Final = 5
_NARROWEST: Final = 3
"""The least width of a dot for its height (cells to half rows): thinner digits cannot be read."""


class Scale(Struct, frozen=True):
    """The size of one dot: cells across and half rows down."""

    across: int
    half_rows: int

    @property
    def rows(self) -> int:
        """Rows that digits of this scale take."""
        return -(-HIGH * self.half_rows // 2)


def columns(text: str, scale: Scale) -> int:
    """Cells that `text` takes at this scale, one dot between two shapes."""
    dots = sum(len(SHAPES[character][0]) for character in text) + len(text) - 1
    return dots * scale.across


def scales(text: str, cells: int, rows: int, layout: TextLayout) -> tuple[Scale, ...]:
    """Every scale at which `text` fits, the tallest first, with dots as near to square as the width allows."""
    found = []
    for half_rows in range(2 * rows // HIGH, 0, -1):
        if not layout.utf8 and half_rows % 2:
            continue
        across = min(half_rows, cells // max(1, columns(text, Scale(1, 1))))
        if across >= 1 and across * _NARROWEST >= half_rows:
            found.append(Scale(across, half_rows))
    return tuple(found)


def rows_of(text: str, scale: Scale, layout: TextLayout) -> tuple[str, ...]:
    """`text` in large digits, row by row."""
    dots = [" ".join(SHAPES[character][line] for character in text) for line in range(HIGH)]
    halves = [line for line in dots for _ in range(scale.half_rows)]
    if len(halves) % 2:
        halves.append(" " * len(dots[0]))
    pairs = zip(halves[::2], halves[1::2], strict=True)
    return tuple(_row(upper, lower, scale.across, layout) for upper, lower in pairs)


def _row(upper: str, lower: str, across: int, layout: TextLayout) -> str:
    blocks = {("#", "#"): "█", ("#", " "): "▀", (" ", "#"): "▄", (" ", " "): " "}
    row = "".join(blocks[pair] * across for pair in zip(upper, lower, strict=True))
    return layout.text(row) if not layout.utf8 else row
