"""The rows of a screen outside a session: from its view as data, or as Textual has painted it."""

from __future__ import annotations

from typing import Any

from rich.segment import Segment
from textual.geometry import Region
from textual.strip import Strip

from wetside.tui.page_screen import WidgetScreen
from wetside.tui.rows import Picture, beside


def plain_rows(picture: Picture) -> tuple[str, ...]:
    """The words of a picture, row by row."""
    return tuple("".join(span.text for span in row) for row in picture)


def stacked(screen: WidgetScreen, columns: int = 80, rows: int = 24) -> Picture:
    """The rows of a screen at this size, one below another, the list cut to its room around the marked one."""
    view = screen.draw(columns, rows)
    body = view.body
    top = min(max(0, body.marked - body.room // 2), max(0, len(body.listed) - body.room))
    left = [*body.head, *body.listed[top : top + body.room], *body.foot]
    middle = beside(left, body.aside_at, body.aside) if body.aside else left
    room = rows - 1 - len(view.bottom)
    assert len(middle) <= room, "rows that nobody would see"
    return (view.title, *middle, *[()] * (room - len(middle)), *view.bottom)


def text_of(screen: WidgetScreen, columns: int = 80, rows: int = 24) -> tuple[str, ...]:
    """The same rows as plain text."""
    return plain_rows(stacked(screen, columns, rows))


def painted(app: Any) -> tuple[str, ...]:
    """The rows of the top screen as Textual has painted them, as plain text."""
    return tuple("".join(segment.text for segment in row) for row in painted_rows(app))


def painted_rows(app: Any) -> list[list[Segment]]:
    """The same rows with their styles."""
    screen = app.screen
    ground = screen.rich_style
    rows = [Strip([])] * screen.size.height
    leaves = [each for each in screen.walk_children() if not each.children and each.region]
    for leaf in sorted(leaves, key=lambda leaf: leaf.region.x):
        for y, strip in enumerate(leaf.render_lines(Region(0, 0, *leaf.size)), leaf.region.y):
            if y < len(rows):  # while a screen grows smaller, what is on it may still be too large
                rows[y] = Strip.join([rows[y].adjust_cell_length(leaf.region.x, ground), strip])
    return [list(row.adjust_cell_length(screen.size.width, ground)) for row in rows]
