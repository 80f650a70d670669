"""The base of all screens: receives every key, under one name each, and ignores pasted text."""

from __future__ import annotations

from abc import abstractmethod
from typing import Any

from textual import events
from textual.screen import Screen

from wetside.app.terminal import FEWEST_COLUMNS, FEWEST_ROWS, Terminal
from wetside.tui.app import WetsideApp
from wetside.tui.rows import Picture, StyledText, TextLayout
from wetside.tui.terminal_driver import TerminalDriver


class KeyedScreen(Screen[Any]):
    """Calls `press` for each key, then `redraw`; subclasses implement both."""

    AUTO_FOCUS = ""
    """No widget has the focus, so that the screen receives every key."""

    def __init__(self, terminal: Terminal) -> None:
        super().__init__()
        self.text_layout = TextLayout(terminal.utf8)

    @property
    def line(self) -> TerminalDriver | None:
        """The terminal driver; None in a test without a terminal."""
        return self.app.line if isinstance(self.app, WetsideApp) else None

    @property
    def on_top(self) -> bool:
        """Whether the terminal shows this screen; the library's `is_current` also holds for the one beneath."""
        return self.app.screen_stack[-1:] == [self]

    @abstractmethod
    def press(self, key: str) -> None:
        """Answer a key: "space", "enter", "backspace", "up", "tab" …, or the one character typed."""

    def press_unseen(self, key: str) -> None:
        """Answer a key while the window is too small; ignored here, because its effect cannot be shown."""

    @property
    def too_small(self) -> bool:
        """Whether the window is too small for the picture."""
        columns, rows = self.app.size
        return columns < FEWEST_COLUMNS or rows < FEWEST_ROWS

    @abstractmethod
    def redraw(self) -> None:
        """Draw what has changed; does nothing while another screen is on top."""

    def draw_small(self, columns: int, rows: int, answered: str = "No key works.") -> Picture:
        """The picture for a window that is too small. answered: which keys work there, in a sentence."""
        words = (
            f"Make this window {FEWEST_COLUMNS} by {FEWEST_ROWS} or larger (it is {columns} by {rows}). {answered}"
        )
        return tuple((StyledText(line),) for line in self.text_layout.wrap(words, columns, rows))

    def on_resize(self) -> None:
        self.redraw()

    def on_key(self, event: events.Key) -> None:
        """Pass every key to `press` under one name; no other handler gets it."""
        event.stop()
        event.prevent_default()
        name = key_name(event)
        if name:
            answer = self.press_unseen if self.too_small else self.press
            answer(name)
            self.redraw()

    def on_paste(self, event: events.Paste) -> None:
        """Ignore pasted text."""
        event.stop()


def key_name(event: events.Key) -> str:
    """The key's name as screens use it; a printable character is its own name."""
    if event.key in ("space", "enter", "backspace"):
        return event.key
    if event.character is not None and len(event.character) == 1 and event.is_printable:
        return event.character
    return event.key
