"""The base of screens outside a session, made of the library's widgets: title line, rows, list, rows, keys.

It ignores keys once another screen is on top or it was left: keys that come faster than screens change (a stuck or
wet key) are queued for the screen that was on top, and three BACKSPACEs would leave three screens unseen.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import OptionList, Static

from wetside.app.terminal import Terminal
from wetside.errors import WetsideError
from wetside.present.prompts import Keys
from wetside.tui.frame import WIDEST, Body, Edge, PageView, page_view
from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.rows import Row, RowList, TextLayout
from wetside.tui.theme import Theme, content_styles

if TYPE_CHECKING:
    from wetside.present.prompts import Asked


HELD_S = 0.15
"""BACKSPACE again within this time (s) counts as held down (consoles repeat 10 to 30 times a second)."""


class WidgetScreen(KeyedScreen):
    """Subclasses implement `draw` and `press_page`.

    question: the open question, if any. message: the answer to the last key, "" for none.
    """

    question: Asked | None = None
    message: str = ""
    _rubbed_at: float | None = None

    def __init__(self, terminal: Terminal) -> None:
        super().__init__(terminal)
        self._colours = terminal.colours
        self._parts = {name: Static(id=name) for name in ("title", "head", "foot", "aside", "bottom")}
        self._options = OptionList(id="list", compact=True)
        self._options.can_focus = False
        self._shown: dict[str, RowList] = {}
        self._then: Callable[[str], None] = lambda answer: None

    @abstractmethod
    def draw(self, columns: int, rows: int) -> PageView:
        """The screen as data at this size."""

    @abstractmethod
    def press_page(self, key: str) -> None:
        """Answer a key while no question is open; a WetsideError becomes the message."""

    def press(self, key: str) -> None:
        """Pass a key to the open question, else to the page."""
        self.message = ""
        try:
            if self.question is None:
                self.press_page(key)
            else:
                self.press_question(self.question, key)
        except WetsideError as problem:
            self.message = first_sentence(problem)

    def ask(self, question: Asked, then: Callable[[str], None]) -> None:
        """Open a question; `then` is called with the answer."""
        self.question, self._then = question, then

    def press_question(self, question: Asked, key: str) -> None:
        """Answer a key of the open question: a refused answer can be corrected, an empty one changes nothing."""
        from wetside.present.prompts import Answer, press_asked

        after = press_asked(question, key)
        if isinstance(after, Answer):
            self._then(after.value)
            after = None
        self.question = after

    def compose(self) -> ComposeResult:
        """Title line, body, bottom line."""
        self._fill()  # before mounting, so that the first layout already has the contents
        parts = self._parts
        yield parts["title"]
        yield Horizontal(
            Vertical(parts["head"], self._options, parts["foot"], id="main"), parts["aside"], id="body"
        )
        yield parts["bottom"]

    def redraw(self) -> None:
        """Show what has changed; does nothing while another screen is on top."""
        if self.on_top:
            self._fill()

    def _fill(self) -> None:
        columns, rows = self.app.size
        if self.too_small:
            view = PageView((), Body(head=list(self.draw_small(columns, rows))), [])
        else:
            view = self.draw(columns, rows)
        self._apply_theme()
        body = view.body
        parts = {"title": [view.title] if view.title else [], "bottom": view.bottom}
        for name, lines in {**parts, "head": body.head, "foot": body.foot, "aside": body.aside}.items():
            self._show(name, lines)
        if body.aside:
            self._parts["aside"].styles.width = columns - body.aside_at
        self._show_list(body)

    def _show(self, name: str, rows: RowList) -> None:
        """Update one widget; the layout is refreshed only if its number of rows has changed."""
        before = self._shown.get(name)
        if rows == before:
            return
        self._shown[name] = rows
        part = self._parts[name]
        part.display = bool(rows)
        lines = Content("\n").join(self._content(row) for row in rows)
        part.update(lines, layout=before is None or len(before) != len(rows))

    def _show_list(self, body: Body) -> None:
        """Update the list. The library scrolls to the marked option, which has its own sign and style."""
        before, listed = self._shown.get("list"), body.listed
        options = self._options
        if before is None or len(before) != len(listed):
            options.display = bool(listed)
            options.set_options([self._content(row) for row in listed])
        else:
            for number, (old, row) in enumerate(zip(before, listed, strict=True)):
                if old != row:
                    options.replace_option_prompt_at_index(number, self._content(row))
        self._shown["list"] = listed
        if options.styles.height is None or options.styles.height.value != body.room:
            options.styles.height = body.room
        options.highlighted = body.marked if listed and body.marked >= 0 else None

    def _content(self, row: Row) -> Content:
        looks = content_styles(self._colours, self._theme)
        return Content.assemble(*((text, looks[role]) for text, role in row))

    @property
    def _theme(self) -> Theme:
        settings = getattr(self.app, "settings", None)
        return settings.theme if settings is not None else "terminal"

    def _apply_theme(self) -> None:
        """Set the theme's CSS class, which sets the background, if the terminal has colours."""
        worn = f"-{self._theme.replace(' ', '-')}" if self._colours != "none" else "-terminal"
        if not self.has_class(worn):
            self.set_classes(worn)
            self._shown.clear()

    def on_screen_resume(self) -> None:
        """Show what changed while another screen was on top."""
        self.redraw()

    def on_key(self, event: events.Key) -> None:
        """Pass the key on, unless another screen is on top."""
        if self.on_top and not self._is_held_backspace(event):
            super().on_key(event)
        else:
            event.stop()
            event.prevent_default()

    def _is_held_backspace(self, event: events.Key) -> bool:
        """Whether this is BACKSPACE held down beyond the start of a field: it must not leave the page as well."""
        back = event.key == "backspace"
        held = back and self._rubbed_at is not None and event.time < self._rubbed_at + HELD_S
        typed = bool(getattr(self.question, "typed", ""))  # a choice has no `typed`
        self._rubbed_at = event.time if back and (typed or held) else None
        return held and not typed


def first_sentence(problem: WetsideError) -> str:
    """The error in one sentence; of several findings the first."""
    return str(problem).partition("\n")[0]


PageText = Callable[[TextLayout, int], RowList]
"""Returns the page's rows for a layout and a width in cells."""


class PageScreen(WidgetScreen):
    """Shows one page. Its result is whether ENTER was pressed for `act` after the page was read to its end.

    act: what ENTER then does, for the bottom line; if "", ENTER leaves as BACKSPACE does. SPACE is needed first
    even on a page that fits the screen, so that a stuck ENTER does nothing.
    """

    def __init__(self, terminal: Terminal, title: str, body: PageText, act: str = "") -> None:
        super().__init__(terminal)
        self._page_title = title
        self._body = body
        self._act = act
        self._top = 0
        self._room = 1
        self._length = 0
        self._answered = False
        self.read_to_end = False

    def finish(self, acted: bool) -> None:
        """Close the page with this result."""
        self.dismiss(acted)

    def draw(self, columns: int, rows: int) -> PageView:
        """The part of the page that is scrolled to."""
        cells = min(columns - 1, WIDEST)
        page = self._body(self.text_layout, cells)
        self._length = len(page)
        keys = self._keys()
        edge = Edge(self._page_title, self._place(), keys, self.message)

        def shown(_columns: int, room: int) -> Body:
            self._room = room
            self._top = max(0, min(self._top, len(page) - room))
            return Body(page[self._top : self._top + room])

        view = page_view(edge, self.text_layout, columns, rows, shown)
        if self._top + self._room >= len(page) and not self.read_to_end:
            # The bottom line depends on it, so the view is made again.
            self.read_to_end = True
            return self.draw(columns, rows)
        if edge.right != self._place():
            edge = Edge(self._page_title, self._place(), keys, self.message)
            return page_view(edge, self.text_layout, columns, rows, shown)
        return view

    def press_page(self, key: str) -> None:
        """SPACE and the arrows move; ENTER acts or leaves; BACKSPACE leaves."""
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
                self.finish(False)

    def _read_on(self, round_again: bool) -> None:
        self._answered = True
        if self._top + self._room < self._length:
            self._top += max(1, self._room - 1)
        elif round_again:
            self._top = 0

    def _enter(self) -> None:
        if self._act and not self.read_to_end:
            self.message = "Read to the end first: SPACE reads on."
        elif self._act and not self._answered:
            self.message = "First SPACE, then ENTER: so that a stuck key does nothing."
        else:
            self.finish(bool(self._act))

    def _keys(self) -> Keys:
        at_end = self._top + self._room >= self._length > 0
        space = "reads on" if not at_end else "back to the top" if self._length > self._room else ""
        if not self._act:
            return Keys(space, "leaves", "leaves")
        if self.read_to_end and not self._answered:
            return Keys(space or "I have read it", "", "leaves")
        return Keys(space, self._act if self.read_to_end else "", "leaves")

    def _place(self) -> str:
        """The position in the page, for the title line."""
        if self._length <= self._room:
            return ""
        return f"{min(self._length, self._top + self._room)} of {self._length} lines"
