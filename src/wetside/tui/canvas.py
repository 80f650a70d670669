"""A widget of drawn rows that refreshes only the regions that changed, and the screen that draws on it.

One job: hand rows to the library line by line, and tell it which regions differ from the last picture, so that its
compositor sends a few rows and not a whole screen. It must not know a session.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator, Sequence

from rich.segment import Segment
from textual.app import ComposeResult
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from wetside.app.terminal import Colours, Terminal
from wetside.tui.app import WetsideApp
from wetside.tui.cells import Cells, cells_of, runs, stretches
from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.styled_rows import Picture
from wetside.tui.theme import Theme, styles


class Canvas(Widget):
    """Draws one picture, a row a line."""

    def __init__(self, colours: Colours) -> None:
        super().__init__()
        self._colours = colours
        self._theme: Theme = "terminal"
        self._looks = styles(colours)
        self._picture: Picture = ()
        self._rows: list[Cells] = []

    @property
    def picture(self) -> Picture:
        """What is drawn now."""
        return self._picture

    def wear(self, theme: Theme) -> None:
        """Draw in the colours of this theme from now on."""
        if theme != self._theme:
            self._theme, self._looks = theme, styles(self._colours, theme)
            self.refresh()

    def show(self, picture: Picture, columns: int) -> None:
        """Draw `picture`, each row cut or filled to `columns`."""
        before, drawn = self._picture, self._rows
        # Most rows are as they were; cells for 24 rows anew would cost 1 ms at each key and each second.
        kept = dict(zip(before, drawn, strict=True)) if drawn and len(drawn[0]) == columns else {}
        self._picture = picture
        self._rows = [kept[row] if row in kept else cells_of(row, columns) for row in picture]
        if not kept or len(drawn) != len(picture):
            self.refresh()
        elif changed := list(changed_regions(drawn, self._rows)):
            self.refresh(*changed)

    def render_line(self, y: int) -> Strip:
        """Row `y` for the library."""
        if y >= len(self._rows):
            return Strip.blank(self.size.width, self._looks[""])
        segments = [Segment(text, self._looks[role]) for text, role in runs(self._rows[y])]
        return Strip(segments, len(self._rows[y])).adjust_cell_length(self.size.width, self._looks[""])


def changed_regions(before: Sequence[Cells], after: Sequence[Cells]) -> Iterator[Region]:
    """Where two pictures of one size differ, as regions one row high."""
    for y, (old, new) in enumerate(zip(before, after, strict=True)):
        if old is not new:
            for first, end in stretches(old, new):
                yield Region(first, y, end - first, 1)


class DrawnScreen(KeyedScreen):
    """A screen that draws one picture and answers keys. Subclasses give `draw` and `press`."""

    def __init__(self, terminal: Terminal) -> None:
        super().__init__(terminal)
        self.canvas = Canvas(terminal.colours)

    def compose(self) -> ComposeResult:
        """The surface alone."""
        yield self.canvas

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
        self.canvas.refresh()
        self.redraw()
