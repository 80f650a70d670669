"""The full-screen app: owns the stack of screens, the terminal and the signal handlers.

It starts with the screen that `first` returns; other screens are pushed on top and popped. HUP, TERM, INT and QUIT
restore the terminal and exit with 128 + n; accepted input is on disk already. An unexpected error also restores
the terminal, and is raised again by `run_screens`.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import Callable
from threading import Timer
from typing import Any, Final

from rich.console import Console, RenderableType
from textual.app import App
from textual.screen import Screen

from wetside.app.console import say
from wetside.app.terminal import ENDING, Terminal
from wetside.files.settings import Settings
from wetside.tui.terminal_driver import TerminalDriver

_EXIT_WITHIN_S: Final = 1.5
"""Seconds that an orderly exit may take after a signal, before the process is ended."""


class WetsideApp(App[int], inherit_bindings=False):
    """The Textual app. `first` makes the screen at the bottom of the stack.

    line: the terminal driver; None in a test without one. failure: the first unexpected error, if any.
    """

    CSS_PATH = "style.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "Wetside"

    line: TerminalDriver | None = None
    failure: Exception | None = None

    def __init__(self, terminal: Terminal, settings: Settings, first: Callable[[], Screen[Any]]) -> None:
        super().__init__(driver_class=TerminalDriver, ansi_color=True)
        # Set before anything is drawn: set later, an ANSI theme can give black on black.
        self.theme = "ansi-dark"
        self.animation_level = "none"
        # The library's traceback would show all local variables, over a terminal that may be dark.
        self.error_console = Console(quiet=True)
        self.terminal = terminal
        self.settings = settings
        self.farewell = ""
        self._first = first
        self._loop_of_screens: asyncio.AbstractEventLoop | None = None

    def get_default_screen(self) -> Screen[Any]:
        """The first screen, in place of the library's blank one, so that nothing is drawn twice at the start."""
        return self._first()

    def on_load(self) -> None:
        """Install the signal handlers before the terminal is taken."""
        self._loop_of_screens = asyncio.get_running_loop()
        if self.is_headless:
            return
        for number in ENDING:
            self._loop_of_screens.add_signal_handler(number, self.ended_by, number)

    def leave(self, code: int = 0, words: str = "") -> None:
        """Exit with `code`; `words` are written after the terminal is restored."""
        self.farewell = words
        self.exit(code, return_code=code)

    def ended_by(self, number: int) -> None:
        """Exit because of a signal: in order if that takes at most two seconds, else by force."""
        code = 128 + number
        last = Timer(_EXIT_WITHIN_S, self._end_now, (code,))
        last.daemon = True
        last.start()
        self.leave(code)

    def terminal_gone(self) -> None:
        """Exit as after a hang-up, because the terminal has vanished. May be called from any thread."""
        loop = self._loop_of_screens
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self.ended_by, signal.SIGHUP)

    def fail(self, problem: Exception) -> None:
        """End the program because of an unexpected error, which `run_screens` raises again."""
        self.failure = self.failure or problem
        self.exit(return_code=1)

    def bell(self) -> None:
        """Ring; or keep an unexpected error, as the library rings before it makes a traceback of one."""
        if not self._failed():
            super().bell()

    def panic(self, *renderables: RenderableType) -> None:
        """End the program because of an error that brings its own text, and keep it."""
        self._failed()
        super().panic(*renderables)

    def _failed(self) -> bool:
        """Whether the library is handling an unexpected error, which becomes `failure`."""
        problem = sys.exception()
        if self.return_code != 1 or not isinstance(problem, Exception):
            return False
        self.failure = self.failure or problem
        return True

    def draw_anew(self) -> None:
        """Redraw the whole screen, because the terminal may show anything."""
        self.screen.refresh()

    def _end_now(self, code: int) -> None:
        """Restore the terminal as far as possible and end the process, because the orderly exit hangs."""
        if self.line is not None:
            self.line.give_back_at_once()
        os._exit(code)


def run_screens(terminal: Terminal, settings: Settings, first: Callable[[], Screen[Any]]) -> int:
    """Run the full screen until it is left; returns the exit code.

    Raises an unexpected error, after the terminal has been restored.
    """
    app = WetsideApp(terminal, settings, first)
    result = app.run(mouse=False)
    if app.failure is not None:
        raise app.failure
    if app.farewell:
        say(app.farewell)
    return app.return_code or result or 0
