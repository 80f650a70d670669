"""The list of past sessions: how each ended, planned against actual; ENTER opens the record of one.

It reads no journal: sessions are passed in, and a record's Markdown page comes from a callback. On screen headings
are strong, and each row of a table becomes lines of words.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from wetside.app.terminal import Terminal
from wetside.errors import WetsideError
from wetside.frozen import dataclass
from wetside.present.prompts import BOTH_WAYS, Keys
from wetside.present.view_model import NOT_FINISHED
from wetside.tui.frame import OPTION_EDGE, WIDEST, Body, Edge, PageView, moved, option, page_view
from wetside.tui.page_screen import PageScreen, WidgetScreen, first_sentence
from wetside.tui.rows import RowList, StyledText, TextLayout, width

_ESCAPED: Final = re.compile(r"\\([!-/:-@\[-`{-~])")
_CELL: Final = re.compile(r"(?<!\\)\|")
_RULE: Final = re.compile(r"^(?:\|[ :]*-+[ :]*)+\|?$")


def record_rows(page: str, layout: TextLayout, cells: int) -> RowList:
    """A Markdown page in rows of at most `cells` cells."""
    rows: RowList = []
    head: list[str] | None = None
    for line in page.splitlines():
        if line.startswith("|"):
            if _RULE.match(line):
                continue
            names = _cells(line)
            if head is None:
                head = names
                continue
            rows += _table_row(head, names, layout, cells)
            continue
        head = None
        rows += _line(line, layout, cells)
    return rows


def _cells(line: str) -> list[str]:
    return [_plain(cell.strip()) for cell in _CELL.split(line.strip().strip("|"))]


def _plain(text: str) -> str:
    return _ESCAPED.sub(r"\1", text)


def _table_row(head: list[str], values: list[str], layout: TextLayout, cells: int) -> RowList:
    """One table row: "name: value" if the table has no header, else the first cell, then the others with names."""
    if not any(head):
        return layout.hanging(f"{values[0]}: {', '.join(values[1:])}", cells)
    parts = [f"{name.lower()} {value}" for name, value in zip(head[1:], values[1:], strict=False) if value]
    return layout.hanging(f"{values[0]}: {'; '.join(parts)}" if parts else values[0], cells)


def _line(line: str, layout: TextLayout, cells: int) -> RowList:
    marks = len(line) - len(line.lstrip("#"))
    if marks and line[marks : marks + 1] == " ":
        return layout.lines(_plain(line[marks + 1 :]), cells, "strong")
    if not line.strip():
        return [()]
    return layout.hanging(_plain(line), cells)


LEAST_LISTED = 10
"""The least rows of the list; trends are drawn only if there are more."""

_WIDE = 64
"""The least columns at which the outcome has a column of its own."""


@dataclass(frozen=True, slots=True)
class PastSession:
    """One session in words. began: "2031-03-01 19:00"; planned, actual: "1 h 14 min", "" where unknown.

    outcome: "complete", "abandoned", … or NOT_FINISHED. went: how it went, one sentence each, where that was
    looked up. trouble: why it cannot be read, "" when it can.
    """

    session: str
    title: str
    began: str
    outcome: str
    planned: str = ""
    actual: str = ""
    practice: bool = False
    trouble: str = ""
    went: tuple[str, ...] = ()


class PastScreen(WidgetScreen):
    """Lists `sessions` in their order, newest first. page_of: returns a session's Markdown page, or raises.

    exports: one sentence on where exports are written. left: goes back. revisit: reopens a closed session, to note
    how its negatives came out. trends: the person's own, one line each, drawn if there is room.
    """

    def __init__(
        self,
        terminal: Terminal,
        sessions: tuple[PastSession, ...],
        page_of: Callable[[str], str],
        left: Callable[[], None],
        *,
        exports: str = "",
        revisit: Callable[[str], None] | None = None,
        trends: tuple[str, ...] = (),
    ) -> None:
        super().__init__(terminal)
        self.sessions = sessions
        self.index = 0
        self._terminal = terminal
        self._page_of = page_of
        self._left = left
        self._exports = exports
        self._revisit = revisit
        self._trends = trends

    def draw(self, columns: int, rows: int) -> PageView:
        """The list, and details of the marked session."""
        count = len(self.sessions)
        right = f"{self.index + 1} of {count}" if count else ""
        keys = Keys("moves", "opens its record", "leaves", BOTH_WAYS) if count else Keys("", "leaves", "leaves")
        return page_view(
            Edge("Past sessions", right, keys, self.message), self.text_layout, columns, rows, self._body
        )

    def press_page(self, key: str) -> None:
        """ENTER opens the marked record, BACKSPACE leaves, the others move."""
        count = len(self.sessions)
        if key in ("backspace", "escape") or (key == "enter" and not count):
            self._left()
        elif key == "enter":
            self._open(self.sessions[self.index])
        elif count:
            self.index = moved(self.index, key, count)

    def _open(self, chosen: PastSession) -> None:
        page = self._page_of(chosen.session)
        exports = export_words(chosen.session, self._exports)

        def body(layout: TextLayout, cells: int) -> RowList:
            return [*layout.paragraphs(exports, cells), (), *record_rows(page, layout, cells)]

        closed = not (chosen.practice or chosen.trouble or chosen.outcome == NOT_FINISHED)
        act = "opens it to note how the film came out" if closed and self._revisit is not None else ""

        def read(acted: bool | None) -> None:
            try:
                if acted and self._revisit is not None:
                    self._revisit(chosen.session)
            except WetsideError as problem:
                self.message = first_sentence(problem)
                self.redraw()

        title = f"Record of session {chosen.session}"
        self.app.push_screen(PageScreen(self._terminal, title, body, act), read)

    def _body(self, columns: int, rows: int) -> Body:
        cells = min(columns, WIDEST)
        if not self.sessions:
            words = "No session yet. Plan an evening, or practise: a practice is listed nowhere."
            return Body(self.text_layout.lines(words, cells))
        about = about_rows(self.sessions[self.index], self.text_layout, cells)
        if self._trends and rows >= len(about) + len(self._trends) + LEAST_LISTED:
            about += [(), *((StyledText(self.text_layout.cut(line, cells)),) for line in self._trends)]
        room = max(1, rows - len(about) - 1)
        # Only visible lines are laid out: there may be thousands.
        top = min(max(0, self.index - room // 2), max(0, len(self.sessions) - room))
        shown = range(top, min(len(self.sessions), top + room))
        listed: RowList = [
            option(
                line_of(self.sessions[number], cells - OPTION_EDGE), number == self.index, self.text_layout, cells
            )
            for number in shown
        ]
        return Body([], listed, self.index - top, len(listed), [(), *about])


def line_of(session: PastSession, cells: int) -> str:
    """One session in one line: when, what, how it ended."""
    title = f"PRACTICE {session.title}" if session.practice else session.title or f"session {session.session}"
    if cells < _WIDE:
        return f"{session.began[:10]}  {title}"
    room = cells - 18 - 29
    cut = title if width(title) <= room else title[: room - 1] + "…"
    filled = cut + " " * (room - width(cut))
    return f"{session.began:<16}  {filled} {session.outcome}"


def about_rows(session: PastSession, layout: TextLayout, cells: int) -> RowList:
    """The marked session in up to four rows: its id, outcome, planned against actual, how it came out."""
    parts = [f"Session {session.session}: {session.outcome}"]
    if session.planned and session.actual:
        parts.append(f"planned {session.planned}, took {session.actual}")
    elif session.planned:
        parts.append(f"planned {session.planned}")
    if session.trouble:
        parts.append(session.trouble)
    words = " ".join((f"{'; '.join(parts)}.", *session.went))
    return layout.lines(words, cells, most=4 if session.went else 3)


def export_words(session: str, where: str) -> tuple[str, ...]:
    """The lines on how to export this record."""
    command = f"wetside export {session} --format markdown --output FILE"
    words = ("To keep this page with the film (or as toml, csv or jsonl):", f"  {command}")
    return (*words, where) if where else words
