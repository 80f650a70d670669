"""The base of screens outside a session: title line, contents, message, keys; and a page of text.

They are widgets of the library, placed by `style.tcss`. Keys are ignored once another screen is on top or this one
was left: keys that come faster than screens change (a stuck or wet key) are queued for the screen that was on top,
and three BACKSPACEs would leave three screens unseen.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from wetside.app.terminal import Terminal
from wetside.errors import WetsideError
from wetside.present.prompts import Keys
from wetside.tui.frame import WIDEST, bottom_rows, text_rows
from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.rows import Row, RowList, TextLayout
from wetside.tui.theme import Theme, content_styles, wear

TWO_COLUMNS_FROM = 72
"""The least columns at which two things stand side by side."""

HELD_S = 0.15
"""BACKSPACE again within this time (s) counts as held down (consoles repeat 10 to 30 times a second)."""


class Edge(Struct, frozen=True):
    """The words around the contents: the two ends of the title line, and what the keys do."""

    left: str
    right: str
    keys: Keys


_Breakpoints = list[tuple[int, str]] | None
"""The least cells from which on the screen has this class, as the library declares them."""


class WidgetScreen(KeyedScreen):
    """Subclasses implement `contents`, `fill`, `edge` and `press_page`.

    message: the answer to the last key, "" for none.
    """

    HORIZONTAL_BREAKPOINTS: _Breakpoints = [(0, "-narrow"), (TWO_COLUMNS_FROM, "-wide"), (100, "-widest")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS: _Breakpoints = [(0, "-low"), (16, "-tall")]  # noqa: RUF012

    message: str = ""
    _rubbed_at: float | None = None

    def __init__(self, terminal: Terminal) -> None:
        super().__init__(terminal)
        self.terminal = terminal
        self._shown: dict[Static, Sequence[Row]] = {}
        self._title, self._message, self._keys = Static(id="title"), Static(id="message"), Static(id="keys")

    @abstractmethod
    def contents(self) -> Iterable[Widget]:
        """The widgets between title line and message."""

    @abstractmethod
    def fill(self, columns: int, rows: int) -> None:
        """Show what has changed in the contents, which have so many columns and rows."""

    @abstractmethod
    def edge(self) -> Edge:
        """The title line and the keys."""

    @abstractmethod
    def press_page(self, key: str) -> None:
        """Answer a key; a WetsideError becomes the message."""

    @property
    def typed(self) -> bool:
        """Whether BACKSPACE would rub out typed text."""
        return False

    def compose(self) -> ComposeResult:
        yield self._title
        yield Vertical(*self.contents(), id="body")
        yield self._message
        yield self._keys
        self._refill()  # before mounting, so that the first layout already has the contents

    def press(self, key: str) -> None:
        self.message = ""
        try:
            self.press_page(key)
        except WetsideError as problem:
            self.message = first_sentence(problem)

    def redraw(self) -> None:
        """Show what has changed; does nothing while another screen is on top."""
        if self.on_top and self.is_mounted:
            self._refill()

    def say(self, words: str) -> None:
        """Show a message until the next key."""
        self.message = words
        self.redraw()

    def put(self, part: Static, rows: Sequence[Row]) -> None:
        """Show these rows in `part`, which takes no room without any."""
        before = self._shown.get(part)
        if rows == before:
            return
        self._shown[part] = rows
        part.set_class(not rows, "-empty")
        looks = content_styles(self.terminal.colours, self._theme)
        lines = (Content.assemble(*((text, looks[role]) for text, role in row)) for row in rows)
        part.update(Content("\n").join(lines), layout=before is None or len(before) != len(rows))

    def _refill(self) -> None:
        columns, rows = self.app.size
        if wear(self.app, self._theme, self.terminal.colours):
            self._shown.clear()
        self.set_class(self.too_small, "-small")
        if self.too_small:
            self.put(self._message, self.draw_small(columns, rows))
            return
        edge, layout = self.edge(), self.text_layout
        keys = bottom_rows(edge.keys, layout, columns)
        said = layout.lines(self.message, columns, "strong", most=3 if rows >= 16 else 2) if self.message else []
        self.fill(columns, rows - 1 - len(said) - len(keys))
        self.put(self._title, [layout.bar(f" {edge.left}", f"{edge.right} " if edge.right else "", columns)])
        self.put(self._message, said)
        self.put(self._keys, keys)

    @property
    def _theme(self) -> Theme:
        settings = getattr(self.app, "settings", None)
        return settings.theme if settings is not None else "terminal"

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
        back, typed = event.key == "backspace", self.typed
        held = back and self._rubbed_at is not None and event.time < self._rubbed_at + HELD_S
        self._rubbed_at = event.time if back and (typed or held) else None
        return held and not typed


def first_sentence(problem: WetsideError) -> str:
    """The error in one sentence; of several findings the first."""
    return str(problem).partition("\n")[0]


PageText = Callable[[TextLayout, int], RowList]
"""Returns the page's rows for a layout and a width in cells."""


def text_of(lines: Sequence[str]) -> PageText:
    """The page of lines whose unindented ones are headings."""
    return lambda layout, cells: text_rows(lines, layout, cells)


class PageScreen(WidgetScreen):
    """Shows one page of rows. Its result is whether ENTER was pressed for `act` after it was read to its end.

    act: what ENTER then does, for the bottom line; if "", ENTER leaves as BACKSPACE does. SPACE is needed first
    even on a page that fits the screen, so that a stuck ENTER does nothing. is_whole: all of it is laid out.
    """

    def __init__(self, terminal: Terminal, title: str, body: PageText, act: str = "") -> None:
        super().__init__(terminal)
        self._page_title = title
        self._body = body
        self._act = act
        self._text = Static(id="text")
        self._answered = False
        self.is_whole = False
        self.read_to_end = False

    def finish(self, acted: bool) -> None:
        """Close the page with this result."""
        self.dismiss(acted)

    def contents(self) -> Iterable[Widget]:
        self._scroll = VerticalScroll(*self.text(), can_focus=False)
        yield self._scroll

    def text(self) -> Iterable[Widget]:
        self.is_whole = True
        return (self._text,)

    async def on_mount(self) -> None:
        """Follow what is scrolled and laid out: title line and keys tell it."""
        for name in ("scroll_y", "virtual_size"):
            self.watch(self._scroll, name, self.redraw, init=False)

    def fill(self, columns: int, rows: int) -> None:
        self.hold_keys(columns)
        self.put(self._text, self._body(self.text_layout, min(columns - 1, WIDEST)))

    def hold_keys(self, columns: int) -> None:
        """Keep the rows of the fullest keys: another row at the end would push the end out of sight again."""
        fullest = Keys("back to the top", self._act or "leaves", "leaves")
        self._keys.styles.min_height = len(bottom_rows(fullest, self.text_layout, columns))

    def edge(self) -> Edge:
        room, length = self._scroll.size.height, self._scroll.virtual_size.height
        at_end = 0 < length <= self._scroll.scroll_offset.y + room
        self.read_to_end = self.read_to_end or (at_end and self.is_whole)
        place = f"{min(length, self._scroll.scroll_offset.y + room)} of {length} lines" if length > room else ""
        space = "reads on" if not at_end else "back to the top" if length > room else ""
        if not self._act:
            keys = Keys(space, "leaves", "leaves")
        elif self.read_to_end and not self._answered:
            keys = Keys(space or "I have read it", "", "leaves")
        else:
            keys = Keys(space, self._act if self.read_to_end else "", "leaves")
        return Edge(self._page_title, place, keys)

    def press_page(self, key: str) -> None:
        """SPACE and the arrows move; ENTER acts or leaves; BACKSPACE leaves."""
        scroll = self._scroll
        at, last, page = scroll.scroll_offset.y, scroll.max_scroll_y, max(1, scroll.size.height - 1)
        match key:
            case "space":
                self._answered = True
                self._move(0 if at >= last else at + page)
            case "enter":
                self._enter()
            case "backspace" | "escape":
                self.finish(False)
            case _:
                moves = {"down": at + 1, "up": at - 1, "pagedown": at + page, "pageup": at - page}
                self._move({"home": 0, "end": last, **moves}.get(key, at))

    def _move(self, line: int) -> None:
        self._scroll.scroll_to(y=line, animate=False, immediate=True)

    def _enter(self) -> None:
        if self._act and not self.read_to_end:
            self.message = "Read to the end first: SPACE reads on."
        elif self._act and not self._answered:
            self.message = "First SPACE, then ENTER: so that a stuck key does nothing."
        else:
            self.finish(bool(self._act))
