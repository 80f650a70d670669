"""The list of past sessions: how each ended, planned against actual; ENTER opens the record of one.

It reads no journal: sessions are passed in, and a record's Markdown comes from a callback.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial

from textual.widget import Widget
from textual.widgets import Static

from wetside.app.terminal import Terminal
from wetside.errors import WetsideError
from wetside.memo import remembers_last
from wetside.present.prompts import Keys
from wetside.present.view_model import outcome_words
from wetside.storage.sessions import SessionSummary
from wetside.tui.frame import WIDEST
from wetside.tui.list_screen import ListLine, ListScreen
from wetside.tui.page_screen import Edge, PageScreen, first_sentence
from wetside.tui.table import LEAST_TALL, Column, Table

LEAST_LISTED = 10
"""The least rows of the list; trends are drawn only if there are more."""

_WIDE = 64
"""The least columns at which the day has its hour."""


class PastScreen(ListScreen):
    """Lists `sessions` in their order, newest first. page_of: returns a session's Markdown page, or raises.

    revisit: reopens a closed session, to note how its negatives came out. went: how a session went, in sentences,
    by its id. trends: the person's own, one line each, drawn if there is room.
    """

    def __init__(
        self,
        terminal: Terminal,
        sessions: tuple[SessionSummary, ...],
        page_of: Callable[[str], str],
        revisit: Callable[[str], None],
        went: Mapping[str, tuple[str, ...]],
        trends: tuple[str, ...] = (),
    ) -> None:
        super().__init__(terminal)
        self.sessions = sessions
        self._page_of = page_of
        self._revisit = revisit
        self._went = went
        self._trends = trends

    def contents(self) -> Iterable[Widget]:
        self._table = Table(self.text_layout)
        self._about, self._drawn = Static(id="about"), Static(id="trends")
        return self._table, self._about, self._drawn

    def edge(self) -> Edge:
        count = len(self.sessions)
        right = f"{self.index + 1} of {count}" if count else ""
        keys = self.keys("leaves") if count else Keys("", "leaves", "leaves")
        return Edge("Past sessions", right, keys)

    def fill(self, columns: int, rows: int) -> None:
        cells, layout = min(columns, WIDEST), self.text_layout
        self._table.display = bool(self.sessions)
        if not self.sessions:
            words = "No session yet. Plan an evening, or practise: a practice is listed nowhere."
            self.put(self._about, layout.lines(words, cells))
            self.put(self._drawn, [])
            return
        self._table.show_header = rows >= LEAST_TALL
        self._table.show(session_columns(self.sessions, cells), self.index, cells)
        marked = self.sessions[self.index]
        went = self._went.get(marked.session, ()) if not marked.practice else ()
        outcome = outcome_words(marked.outcome, marked.deviations)
        trouble = f"; {marked.trouble}" if marked.trouble else ""
        words = " ".join((f"Session {marked.session}: {outcome}{trouble}.", *went))
        about = layout.lines(words, cells, most=4 if went else 3)
        self.put(self._about, about)
        roomy = rows >= len(about) + len(self._trends) + LEAST_LISTED
        self.put(self._drawn, [layout.row(line, cells) for line in self._trends] if roomy else [])

    def lines(self) -> list[ListLine]:
        found = [ListLine(each.title, "opens its record", partial(self._open, each)) for each in self.sessions]
        return found or [ListLine("", "leaves", self.leave)]

    def _open(self, chosen: SessionSummary) -> None:
        page = self._page_of(chosen.session)
        closed = not (chosen.practice or chosen.trouble or chosen.outcome is None)
        act = "opens it to note how the film came out" if closed else ""

        def read(acted: bool | None) -> None:
            try:
                if acted:
                    self._revisit(chosen.session)
            except WetsideError as problem:
                self.say(first_sentence(problem))

        self.app.push_screen(RecordScreen(self.terminal, chosen.session, page, act), read)


class RecordScreen(PageScreen):
    """The record of one session, in Markdown."""

    def __init__(self, terminal: Terminal, session: str, page: str, act: str) -> None:
        super().__init__(terminal, f"Record of session {session}", lambda layout, cells: [], act)
        self._page = page
        self._exports = Static(id="exports")
        self._export_words = (
            "To keep this page with the film (or as html, toml, csv or jsonl):",
            f"  wetside export {session} --format markdown --output FILE",
        )

    def text(self) -> Iterable[Widget]:
        from textual.widgets import Markdown

        self._markdown = Markdown(id="record")
        return self._exports, self._markdown

    async def on_mount(self) -> None:
        """Lay the page out; it can be read to its end only when it is whole."""
        await self._markdown.update("\n".join(map(self.text_layout.text, self._page.split("\n"))))
        self.is_whole = True
        self.redraw()

    def fill(self, columns: int, rows: int) -> None:
        self.hold_keys(columns)
        self.put(self._exports, [*self.text_layout.paragraphs(self._export_words, min(columns, WIDEST)), ()])


@remembers_last
def session_columns(sessions: tuple[SessionSummary, ...], cells: int) -> tuple[Column, ...]:
    """When each began, its title, and how it ended if there is room."""
    titles = (
        f"PRACTICE {each.title}" if each.practice else each.title or f"session {each.session}" for each in sessions
    )
    return (
        Column("Began", tuple(each.began if cells >= _WIDE else each.began[:10] for each in sessions)),
        Column("Evening", tuple(titles), least=20),
        Column("Outcome", tuple(outcome_words(each.outcome, each.deviations) for each in sessions)),
    )
