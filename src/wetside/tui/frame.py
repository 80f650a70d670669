"""Lays out the frame of a screen: title line, body, message, and the bottom lines that name the keys. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from typing import TYPE_CHECKING, Final

from wetside.frozen import dataclass
from wetside.present.prompts import Keys
from wetside.tui.rows import Row, RowBlock, RowList, StyledText, TextLayout, fit, row_width, width
from wetside.tui.theme import Role

if TYPE_CHECKING:
    from wetside.present.view_model import View


@dataclass(frozen=True, slots=True)
class Notices:
    """What must be shown now; "" for none. trouble: events that could not be saved. message: the answer to a key.

    cue: a call's words. following: this terminal only follows. failure: the person's own program for calls failed.
    """

    trouble: str = ""
    message: str = ""
    cue: str = ""
    following: bool = False
    failure: str = ""


def top_line(view: View, notices: Notices, layout: TextLayout, columns: int) -> Row:
    """The title line: session, batch, stage; at the right practice or following, and the time of day."""
    left = "  ".join(part for part in (view.stage, view.batch, f"Session {view.session}") if part)
    marks = []
    if view.practice:
        marks.append(f"PRACTICE ×{view.speed:g}" if columns >= 60 else "PRACTICE")
    if notices.following:
        marks.append("FOLLOWING")
    if view.held:
        marks.append("ON HOLD")
    return layout.bar(f" {left}", "  ".join([*marks, view.wall]) + " ", columns)


def notice_rows(
    notices: Notices, layout: TextLayout, columns: int, most: int, *, large: bool = False
) -> list[Row]:
    """The notices as rows, the most serious first, at most `most` rows each. large: draw a call as a block."""
    rows: list[Row] = []
    if notices.trouble:
        rows += layout.lines(notices.trouble, columns, "signal", most=most)
    if notices.cue:
        called = call_block(notices.cue, layout, columns, most) if large else None
        rows += called or layout.labelled(
            StyledText("CALL", "signal"), notices.cue, columns, "strong", most, gap=2
        )
    if notices.message and notices.message != notices.trouble:
        rows += layout.lines(notices.message, columns, "strong", most=most)
    if notices.failure:
        rows += layout.lines(notices.failure, columns, "faint", most=1)
    return rows


ARROWS_FROM: Final = 72
"""The least columns at which the arrow keys may take a row of their own: narrow windows are often low as well."""


def bottom_rows(keys: Keys, layout: TextLayout, columns: int) -> list[Row]:
    """What the keys do now, in one row if it fits, else in up to three; the arrow keys if there is room."""
    three = _keys_in_rows(keys, "", layout, columns)
    more = _keys_in_rows(keys, keys.arrows, layout, columns)
    wide = columns >= ARROWS_FROM and len(more) <= 3
    return more if wide or len(more) == len(three) else three


def _keys_in_rows(keys: Keys, arrows: str, layout: TextLayout, columns: int) -> list[Row]:
    pairs = [("SPACE", keys.space), ("ARROWS", arrows), ("ENTER", keys.enter), ("BACKSPACE", keys.backspace)]
    said: list[Row] = [
        (StyledText(name, "mark"), StyledText(" " + layout.cut(words, columns - len(name) - 1)))
        for name, words in pairs
        if words
    ]
    rows: list[Row] = []
    for one in said:
        if rows and row_width(rows[-1]) + 2 + row_width(one) <= columns:
            rows[-1] = (*rows[-1], StyledText("  "), *one)
        else:
            rows.append(one)
    return rows or [(StyledText(""),)]


def call_block(words: str, layout: TextLayout, columns: int, most: int) -> list[Row]:
    """A call as a full-width block in reverse video, to be seen from afar by somebody who hears no bell."""
    lines = [
        layout.cut(line, columns).center(columns) for line in layout.wrap(f"CALL: {words}", columns - 2, most)
    ]
    edge: Row = (StyledText(" " * columns, "signal"),)
    return [edge, *((StyledText(line, "signal"),) for line in lines), edge]


WIDEST: Final = 100
"""The most cells of a line of text, since longer ones are hard to read."""

OPTION_EDGE: Final = 5
"""Cells of a list's line besides its words."""

_TITLES: Final = 11
"""Cells of the titles column in a list of titles and values."""


@dataclass(frozen=True, slots=True)
class Edge:
    """The words around the page. message: the answer to the last key, "" for none."""

    left: str
    right: str
    keys: Keys
    message: str = ""


@dataclass(frozen=True, slots=True)
class Body:
    """What is between title line and bottom line: rows, below them a list, below it more rows.

    marked: the index of the marked entry in `listed`. room: rows for the list. aside: rows beside all three, from
    the column `aside_at` on.
    """

    head: RowList = field(default_factory=list)
    listed: RowList = field(default_factory=list)
    marked: int = 0
    room: int = 0
    foot: RowList = field(default_factory=list)
    aside: RowList = field(default_factory=list)
    aside_at: int = 0


@dataclass(frozen=True, slots=True)
class PageView:
    """A whole screen as data: its title line, its body, and below it the message and what the keys do."""

    title: Row
    body: Body
    bottom: RowList


def page_view(
    edge: Edge, layout: TextLayout, columns: int, rows: int, body: Callable[[int, int], Body]
) -> PageView:
    """The whole screen; `body(cells, rows)` returns the body for at most that room."""
    bottom = bottom_rows(edge.keys, layout, columns)
    said: RowList = []
    if edge.message:
        most = 3 if rows >= 16 else 2
        said = layout.lines(edge.message, columns, "strong", most=most)
    room = max(1, rows - 1 - len(said) - len(bottom))
    title = layout.bar(f" {edge.left}", f"{edge.right} " if edge.right else "", columns)
    return PageView(title, body(columns, room), [*said, *bottom])


_LISTED: Final[Row] = (StyledText("a row of the list"),)


def around_list(
    before: Sequence[RowBlock], listed: RowList, marked: int, after: Sequence[RowBlock], rows: int, weight: int
) -> Body:
    """A list between blocks, fitted together into `rows` rows. weight: the cost of losing a row of the list."""
    # The list takes part in the fitting as placeholder rows.
    rooms = tuple([_LISTED] * room for room in range(len(listed), 0, -1))
    fitted = fit([*before, RowBlock(weight, rooms), *after], rows)
    if _LISTED not in fitted:
        return Body(fitted)
    at, room = fitted.index(_LISTED), fitted.count(_LISTED)
    return Body(fitted[:at], listed, marked, room, fitted[at + room :])


def text_rows(lines: Sequence[str], layout: TextLayout, cells: int) -> RowList:
    """Lines of text as rows: an unindented line is a heading; a long line is wrapped with a hanging indent."""
    rows: RowList = []
    for line in lines:
        indent = len(line) - len(line.lstrip(" "))
        role: Role = "" if indent else "strong"
        if width(layout.text(line)) <= cells:
            rows.append(layout.row(line, cells, role))
        else:
            wrapped = layout.wrap(line, max(8, cells - indent))
            rows += [(StyledText(" " * indent + each, role),) for each in wrapped]
    return rows


def option(words: str, marked: bool, layout: TextLayout, cells: int) -> Row:
    """One entry of a list; the marked one is in reverse video with a sign before it."""
    sign = layout.text("→") if marked else ""
    text = layout.cut(words, cells - OPTION_EDGE)
    filled = text + " " * (cells - OPTION_EDGE - width(text))
    return (StyledText(f" {sign:<3}{filled} ", "mark" if marked else ""),)


def moved(index: int, key: str, count: int) -> int:
    """The marked index of a list of `count` after a key: SPACE and the arrows wrap around, other keys do not."""
    match key:
        case "space" | "down":
            return (index + 1) % count
        case "up":
            return (index - 1) % count
        case "pagedown":
            return min(count - 1, index + 10)
        case "pageup":
            return max(0, index - 10)
        case "home":
            return 0
        case "end":
            return count - 1
        case _:
            return index


def titled(
    lines: Sequence[tuple[str, str]], marked: int, layout: TextLayout, cells: int, room: int, titles: int = _TITLES
) -> Body:
    """A list of titles and values. Below it the marked one in full, if it was cut and there is room.

    titles: cells of the titles column.
    """
    drawn = [
        option(f"{title:<{titles}} {value}", number == marked, layout, cells)
        for number, (title, value) in enumerate(lines)
    ]
    title, value = lines[marked]
    whole: RowList = []
    if OPTION_EDGE + titles + 1 + width(value) > cells:
        whole = [(), *layout.lines(f"{title}: {value}", cells, "faint")]
    foot = whole if len(drawn) + len(whole) <= room else []
    return Body(listed=drawn, marked=marked, room=min(room, len(drawn)), foot=foot)
