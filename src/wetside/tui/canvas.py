"""A surface of text that sends only the cells that changed, and the screen that draws on it.

The library repaints whole widgets through a queue of messages; over a thin line, and under a wet thumb, that is
too many bytes and too late. So the surface is one widget that the library paints in full when it must, and what
changes from one picture to the next goes straight to the terminal. This module must not know a session.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable

from rich.segment import Segment
from textual import events
from textual.app import ComposeResult
from textual.geometry import Region
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

from wetside.app.terminal import FEWEST_COLUMNS, FEWEST_ROWS, Colours, Terminal
from wetside.tui.app import WetsideApp
from wetside.tui.cells import Cells, cells_of, repainting, runs
from wetside.tui.glyphs import Glyphs
from wetside.tui.styled_rows import Picture, StyledText
from wetside.tui.terminal_driver import TerminalLine
from wetside.tui.text_layout import TextLayout
from wetside.tui.theme import Theme, styles


class Canvas(Widget):
    """The surface. `send` writes to the terminal; None where there is none, as in most tests."""

    def __init__(self, colours: Colours) -> None:
        super().__init__()
        self.send: Callable[[str], None] | None = None
        self._colours = colours
        self._theme: Theme = "terminal"
        self._looks = styles(colours)
        self._picture: Picture = ()
        self._rows: list[Cells] = []
        self._stands = False

    @property
    def picture(self) -> Picture:
        """What is drawn now."""
        return self._picture

    def wear(self, theme: Theme) -> None:
        """Draw in the colours of this theme from now on."""
        if theme != self._theme:
            self._theme, self._looks = theme, styles(self._colours, theme)
            self.draw_anew()

    def show(self, picture: Picture, columns: int) -> None:
        """Draw `picture`, each row cut or filled to `columns`."""
        before, drawn = self._picture, self._rows
        # Most rows are as they were; cells for 24 rows anew would cost 1 ms at each key and each second.
        kept = dict(zip(before, drawn, strict=True)) if drawn and len(drawn[0]) == columns else {}
        self._picture = picture
        self._rows = [kept[row] if row in kept else cells_of(row, columns) for row in picture]
        alike = bool(kept) and len(drawn) == len(picture)
        if alike and self._stands and self.send is not None:
            if sent := repainting(drawn, self._rows, self._looks):
                self.send(sent)
        elif self._rows != drawn or not self._stands:
            self.draw_anew()

    def draw_anew(self) -> None:
        """Have the library paint the whole, because the terminal may show anything."""
        self._stands = False
        self.refresh()

    def render_lines(self, crop: Region) -> list[Strip]:
        """The rows for the library; nothing is kept between two calls, since it does not know what was sent."""
        if crop.height >= len(self._rows):
            self._stands = True
        return [self._strip(y).crop(crop.x, crop.right) for y in crop.line_range]

    def _strip(self, y: int) -> Strip:
        if y >= len(self._rows):
            return Strip.blank(self.size.width, self._looks[""])
        segments = [Segment(text, self._looks[role]) for text, role in runs(self._rows[y])]
        return Strip(segments, len(self._rows[y])).adjust_cell_length(self.size.width, self._looks[""])


class DrawnScreen(Screen[None]):
    """A screen that draws one picture and answers keys. Subclasses give `draw` and `press`."""

    def __init__(self, terminal: Terminal) -> None:
        super().__init__()
        self.pen = TextLayout(Glyphs(terminal.utf8))
        self.canvas = Canvas(terminal.colours)

    def compose(self) -> ComposeResult:
        """The surface alone."""
        yield self.canvas

    def on_mount(self) -> None:
        """Let the surface reach the terminal."""
        if self.line is not None:
            self.canvas.send = self.line.write

    @property
    def line(self) -> TerminalLine | None:
        """The line to the terminal; None in a test without one."""
        return self.app.line if isinstance(self.app, WetsideApp) else None

    @property
    def on_top(self) -> bool:
        """Whether the terminal shows this screen. The library's `is_current` counts the one beneath it too."""
        return self.app.screen_stack[-1:] == [self]

    @abstractmethod
    def draw(self, columns: int, rows: int) -> Picture:
        """The picture for this size; pure but for what the screen remembers."""

    @abstractmethod
    def press(self, key: str) -> None:
        """Answer a key: "space", "enter", "backspace", "up", "tab" …, or the one character typed."""

    def press_unseen(self, key: str) -> None:
        """Answer a key while the window is too small for the picture: not at all, as nobody reads what it does."""

    @property
    def too_small(self) -> bool:
        """Whether the window has no room for the picture."""
        columns, rows = self.app.size
        return columns < FEWEST_COLUMNS or rows < FEWEST_ROWS

    def redraw(self) -> None:
        """Draw what has changed; nothing while another screen lies over this one."""
        if not self.on_top:
            return
        if isinstance(self.app, WetsideApp):
            self.canvas.wear(self.app.settings.theme)
        columns, rows = self.app.size
        picture = self.draw_small(columns, rows) if self.too_small else self.draw(columns, rows)
        self.canvas.show(picture, columns)

    def draw_small(self, columns: int, rows: int, answered: str = "no key is") -> Picture:
        """What a window shows that is too small for the picture. answered: which keys are, before it is larger."""
        words = (
            f"This window is {columns} by {rows}; {FEWEST_COLUMNS} by {FEWEST_ROWS} are needed. "
            f"Make it larger: {answered} answered before."
        )
        return tuple((StyledText(line),) for line in self.pen.wrap(words, columns, rows))

    def on_resize(self) -> None:
        """Another size, another picture."""
        self.redraw()

    def on_screen_resume(self) -> None:
        """Back on top of the others, whose pictures the terminal shows."""
        self.canvas.draw_anew()
        self.redraw()

    def on_key(self, event: events.Key) -> None:
        """Hand every key to `press` under one name; nothing else sees it."""
        event.stop()
        event.prevent_default()
        name = key_name(event)
        if name:
            answer = self.press_unseen if self.too_small else self.press
            answer(name)
            self.redraw()

    def on_paste(self, event: events.Paste) -> None:
        """A paste is no key press: ignored."""
        event.stop()


def key_name(event: events.Key) -> str:
    """The key under the one name screens use; a printable character stands for itself."""
    if event.key in ("space", "enter", "backspace"):
        return event.key
    if event.character is not None and len(event.character) == 1 and event.is_printable:
        return event.character
    return event.key
