"""A surface of text that sends only the cells that changed, and the screen that draws on it.

The library repaints whole widgets through a queue of messages; over a thin line, and under a wet thumb, that is
too many bytes and too late. So the surface is one widget that the library paints in full when it must, and what
changes from one picture to the next goes straight to the terminal. This module must not know a session.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable

from rich.segment import Segment
from textual.app import ComposeResult
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from wetside.app.terminal import Colours, Terminal
from wetside.tui.app import WetsideApp
from wetside.tui.cells import Cells, cells_of, repainting, runs
from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.styled_rows import Picture
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


class DrawnScreen(KeyedScreen):
    """A screen that draws one picture and answers keys. Subclasses give `draw` and `press`."""

    def __init__(self, terminal: Terminal) -> None:
        super().__init__(terminal)
        self.canvas = Canvas(terminal.colours)

    def compose(self) -> ComposeResult:
        """The surface alone."""
        yield self.canvas

    def on_mount(self) -> None:
        """Let the surface reach the terminal."""
        if self.line is not None:
            self.canvas.send = self.line.write

    @abstractmethod
    def draw(self, columns: int, rows: int) -> Picture:
        """The picture for this size; pure but for what the screen remembers."""

    def redraw(self) -> None:
        """Draw what has changed; nothing while another screen lies over this one."""
        if not self.on_top:
            return
        if isinstance(self.app, WetsideApp):
            self.canvas.wear(self.app.settings.theme)
        columns, rows = self.app.size
        picture = self.draw_small(columns, rows) if self.too_small else self.draw(columns, rows)
        self.canvas.show(picture, columns)

    def on_screen_resume(self) -> None:
        """Back on top of the others, whose pictures the terminal shows."""
        self.canvas.draw_anew()
        self.redraw()
