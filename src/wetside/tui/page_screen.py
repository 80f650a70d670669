"""A page of text to read with three keys: SPACE reads on, BACKSPACE leaves, ENTER may do one act at its end."""

from __future__ import annotations

from collections.abc import Callable

from wetside.app.terminal import Terminal
from wetside.frozen import dataclass
from wetside.present.key_legend import Keys
from wetside.tui.fitting import Form
from wetside.tui.page_base import PaperScreen
from wetside.tui.page_frame import WIDEST, Body, Edge, PageView, page_view
from wetside.tui.text_layout import TextLayout

PageText = Callable[[TextLayout, int], Form]
"""The page's rows for a pen and a width."""


@dataclass(frozen=True, slots=True)
class Act:
    """What ENTER does once the page was read to its end. words: for the bottom line; first: what is missing.

    SPACE comes before it also on a page that needs no turning, so that a stuck ENTER does nothing.
    """

    words: str
    do: Callable[[], None]
    first: str = "Read to the end first: SPACE reads on."
    unsaid: str = "First SPACE, then ENTER: so that a stuck key does nothing."


class PageScreen(PaperScreen):
    """Shows one page. `left` is called when the person leaves it."""

    def __init__(
        self, terminal: Terminal, title: str, body: PageText, left: Callable[[], None], act: Act | None = None
    ) -> None:
        super().__init__(terminal)
        self._page_title = title
        self._body = body
        self._left = left
        self._act = act
        self._top = 0
        self._room = 1
        self._length = 0
        self._message = ""
        self._answered = False
        self.read_to_end = False

    def draw(self, columns: int, rows: int) -> PageView:
        """The part of the page that is open."""
        cells = min(columns - 1, WIDEST)
        page = self._body(self.pen, cells)
        self._length = len(page)
        keys = self._keys()
        edge = Edge(self._page_title, self._place(), keys, self._message)

        def shown(_columns: int, room: int) -> Body:
            self._room = room
            self._top = max(0, min(self._top, len(page) - room))
            return Body(page[self._top : self._top + room])

        view = page_view(edge, self.pen, columns, rows, shown)
        if self._top + self._room >= len(page) and not self.read_to_end:
            # The bottom line changes with it, so the view is put together once more.
            self.read_to_end = True
            return self.draw(columns, rows)
        if edge.right != self._place():
            edge = Edge(self._page_title, self._place(), keys, self._message)
            return page_view(edge, self.pen, columns, rows, shown)
        return view

    def press(self, key: str) -> None:
        """SPACE and the arrows move; ENTER acts or leaves; BACKSPACE leaves."""
        self._message = ""
        match key:
            case "space" | "pagedown":
                self._read_on(key == "space")
            case "down":
                self._top += 1
            case "up":
                self._top = max(0, self._top - 1)
            case "pageup":
                self._top = max(0, self._top - max(1, self._room - 1))
            case "home":
                self._top = 0
            case "end":
                self._top = self._length
            case "enter":
                self._enter()
            case "backspace" | "escape":
                self._left()

    def _read_on(self, round_again: bool) -> None:
        self._answered = True
        if self._top + self._room < self._length:
            self._top += max(1, self._room - 1)
        elif round_again:
            self._top = 0

    def _enter(self) -> None:
        if self._act is None:
            self._left()
        elif not self.read_to_end:
            self._message = self._act.first
        elif not self._answered:
            self._message = self._act.unsaid
        else:
            self._act.do()

    def _keys(self) -> Keys:
        at_end = self._top + self._room >= self._length > 0
        space = "reads on" if not at_end else "back to the top" if self._length > self._room else ""
        if self._act is None:
            return Keys(space, "leaves", "leaves")
        if self.read_to_end and not self._answered:
            return Keys(space or "I have read it", "", "leaves")
        return Keys(space, self._act.words if self.read_to_end else "", "leaves")

    def _place(self) -> str:
        """How far one has read."""
        if self._length <= self._room:
            return ""
        return f"{min(self._length, self._top + self._room)} of {self._length} lines"
