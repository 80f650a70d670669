"""Writes one screen of cells as an SVG picture that any viewer shows alike.

One job: strips of styled text to one file, without a font, a network reference or a date in it. Every word stands
at its own column and is stretched to the cells it takes, so another font moves nothing; blocks and lines are drawn
as shapes, so nothing gapes between rows. It must not know what is on the screen.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final
from xml.sax.saxutils import escape

from msgspec import Struct
from rich.cells import cell_len
from rich.style import Style
from textual.geometry import Region
from textual.screen import Screen
from textual.strip import Strip

CELL: Final = 9.6
"""Width of a cell in pixels; a monospaced letter is 0.6 of its height wide in nearly every font."""
ROW: Final = 20
LETTER: Final = 16
MARGIN: Final = 14
FONTS: Final = "'DejaVu Sans Mono', Menlo, Consolas, 'Liberation Mono', monospace"

PAPER: Final = "#14161a"
INK: Final = "#e4e2dc"
FAINT: Final = "#9a988f"
COLOURS: Final = {"red": "#ff7b6b", "green": "#8fce8b", "yellow": "#e8c46a"}

# Left, upper, right and lower halves of a cell, as parts of it.
BLOCKS: Final = {"█": (0.0, 1.0), "▀": (0.0, 0.5), "▄": (0.5, 1.0)}
# To which sides a line goes from the middle of the cell.
LINES: Final = {
    "│": "ud", "─": "lr", "┌": "rd", "┐": "ld", "└": "ru", "┘": "lu",
    "├": "udr", "┤": "udl", "┬": "lrd", "┴": "lru", "┼": "lrud",
}  # fmt: skip


class _Look(Struct, frozen=True):
    """How a cell is drawn: colours of ink and paper, and whether it is bold."""

    ink: str
    paper: str
    bold: bool


def svg(strips: Sequence[Strip], columns: int, title: str) -> str:
    """The picture of these rows. `title` is what is read aloud in its place."""
    width = round(columns * CELL + 2 * MARGIN)
    height = len(strips) * ROW + 2 * MARGIN
    shapes: list[str] = []
    for number, strip in enumerate(strips):
        shapes += _row(strip, number)
    body = "\n".join(shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img">\n<title>{escape(title)}</title>\n'
        f'<rect width="{width}" height="{height}" rx="8" fill="{PAPER}"/>\n'
        f'<g font-family="{FONTS}" font-size="{LETTER}" xml:space="preserve">\n{body}\n</g>\n</svg>\n'
    )


def painted(screen: Screen[Any]) -> list[Strip]:
    """The rows of this screen, put together from the rows that its widgets draw."""
    rows = [Strip([])] * screen.size.height
    leaves = [each for each in screen.walk_children() if not each.children and each.region]
    for leaf in sorted(leaves, key=lambda leaf: leaf.region.x):
        clip = screen.find_widget(leaf).visible_region
        for y in range(max(clip.y, 0), min(clip.bottom, len(rows))):
            (strip,) = leaf.render_lines(Region(0, y - leaf.region.y, leaf.size.width, 1))
            rows[y] = Strip.join([rows[y].adjust_cell_length(leaf.region.x), strip])
    return [row.adjust_cell_length(screen.size.width) for row in rows]


def _row(strip: Strip, number: int) -> Iterator[str]:
    top = MARGIN + number * ROW
    column = 0
    for text, look in _runs(strip):
        if look.paper != PAPER:
            yield _rectangle(column, cell_len(text), top, 0.0, 1.0, look.paper)
        yield from _marks(text, column, top, look)
        column += cell_len(text)


def _runs(strip: Strip) -> Iterator[tuple[str, _Look]]:
    """Neighbouring cells of one look."""
    text, look = "", None
    for segment in strip:
        found = _look(segment.style)
        if look is not None and found != look:
            yield text, look
            text = ""
        text, look = text + segment.text, found
    if look is not None:
        yield text, look


def _look(style: Style | None) -> _Look:
    if style is None:
        return _Look(INK, PAPER, False)
    name = style.color.name if style.color is not None else ""
    ink = COLOURS.get(name, INK)
    if style.dim:
        ink = FAINT
    return _Look(PAPER, ink, bool(style.bold)) if style.reverse else _Look(ink, PAPER, bool(style.bold))


def _marks(text: str, column: int, top: int, look: _Look) -> Iterator[str]:
    """Words, blocks and lines of one run."""
    drawn = "".join(BLOCKS) + "".join(LINES)
    for found in re.finditer(rf"([{drawn}])\1*|[^ {drawn}]+(?: [^ {drawn}]+)*", text):
        at = column + cell_len(text[: found.start()])
        words = found[0]
        if words[0] in BLOCKS:
            yield _rectangle(at, len(words), top, *BLOCKS[words[0]], look.ink)
        elif words[0] in LINES:
            yield from (_line(at + each, top, LINES[words[0]], look.ink) for each in range(len(words)))
        else:
            yield from _words(words.split(" "), at, top, look)


def _words(words: Iterable[str], column: int, top: int, look: _Look) -> Iterator[str]:
    bold = ' font-weight="bold"' if look.bold else ""
    for word in words:
        cells = cell_len(word)
        yield (
            f'<text x="{MARGIN + column * CELL:.1f}" y="{top + 15}" textLength="{cells * CELL:.1f}" '
            f'lengthAdjust="spacingAndGlyphs" fill="{look.ink}"{bold}>{escape(word)}</text>'
        )
        column += cells + 1


def _rectangle(column: int, cells: int, top: int, above: float, below: float, fill: str) -> str:
    return (
        f'<rect x="{MARGIN + column * CELL:.1f}" y="{top + above * ROW:g}" width="{cells * CELL:.1f}" '
        f'height="{(below - above) * ROW:g}" fill="{fill}" shape-rendering="crispEdges"/>'
    )


def _line(column: int, top: int, sides: str, ink: str) -> str:
    x, y = MARGIN + (column + 0.5) * CELL, top + ROW / 2
    ends = {"l": (x - CELL / 2, y), "r": (x + CELL / 2, y), "u": (x, top), "d": (x, top + ROW)}
    path = " ".join(f"M{x:.1f} {y:g}L{ends[side][0]:.1f} {ends[side][1]:g}" for side in sides)
    return f'<path d="{path}" stroke="{ink}" stroke-width="1.4"/>'
