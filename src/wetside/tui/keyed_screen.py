"""The base of all screens: it gets every key itself, under one name each, and ignores what is pasted."""

from __future__ import annotations

from abc import abstractmethod

from textual import events
from textual.screen import Screen

from wetside.app.terminal import FEWEST_COLUMNS, FEWEST_ROWS, Terminal
from wetside.tui.app import WetsideApp
from wetside.tui.rows import Picture, StyledText, TextLayout
from wetside.tui.terminal_driver import TerminalDriver


class KeyedScreen(Screen[bool]):
    """Answers keys with `press`, then shows what has changed with `redraw`; subclasses give both."""

    AUTO_FOCUS = ""
    """No widget has the focus: every key is heard here."""

    def __init__(self, terminal: Terminal) -> None:
        super().__init__()
        self.text_layout = TextLayout(terminal.utf8)

    @property
    def line(self) -> TerminalDriver | None:
        """The terminal driver; None in a test without a terminal."""
        return self.app.line if isinstance(self.app, WetsideApp) else None

    @property
    def on_top(self) -> bool:
        """Whether the terminal shows this screen. The library's `is_current` counts the one beneath it too."""
        return self.app.screen_stack[-1:] == [self]

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

    @abstractmethod
    def redraw(self) -> None:
        """Draw what has changed; nothing while another screen lies over this one."""

    def draw_small(self, columns: int, rows: int, answered: str = "no key is") -> Picture:
        """What a window shows that is too small for the picture. answered: which keys are, before it is larger."""
        words = (
            f"This window is {columns} by {rows}; {FEWEST_COLUMNS} by {FEWEST_ROWS} are needed. "
            f"Make it larger: {answered} answered before."
        )
        return tuple((StyledText(line),) for line in self.text_layout.wrap(words, columns, rows))

    def on_resize(self) -> None:
        """Draw for the new size."""
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
        """Ignore what is pasted."""
        event.stop()


def key_name(event: events.Key) -> str:
    """The key under the one name screens use; a printable character stands for itself."""
    if event.key in ("space", "enter", "backspace"):
        return event.key
    if event.character is not None and len(event.character) == 1 and event.is_printable:
        return event.character
    return event.key
