"""The line to the terminal: it can be silenced, and it notices when the terminal is gone.

Nothing else writes to the terminal while the full screen runs. Silenced, not one byte goes out, whatever the
screens do: that is how a dark step is kept dark. When the terminal vanishes the app is told once, and all
writing stops, since a write to a terminal that is gone would never return.
"""

from __future__ import annotations

import asyncio
import errno
import os
import re
import select
import signal
import sys
import time
from threading import Thread
from typing import Any, Protocol

from textual.drivers.linux_driver import LinuxDriver

from wetside.tui.held_dark import hold_until_leave_pair
from wetside.tui.key_parser import Keyboard

# The shape of a mouse pointer is nothing to a guide without a mouse, and holds a bell character.
_POINTER_SHAPE = "\x1b]22;"

# What asks a terminal what it can do, and nothing else: older ones print a part of it.
_QUESTION = re.compile(r"\x1b\[[<=>?]?[0-9;]*(?:\$p|u)")
_SIMPLE_TERMINALS = ("linux", "vt", "cons")

# The library's own: an escape key pressed alone is told from a sequence by so long a silence, and a read.
_LISTENS_S = 0.1
_PIECE = 4096

_CLEAR_AND_HIDE = "\x1b[0m\x1b[2J\x1b[H\x1b[?25l"


def is_question(data: str) -> bool:
    """Whether this is a question to the terminal alone; a picture may end in the same letter."""
    return _QUESTION.fullmatch(data) is not None


class LineHost(Protocol):
    """What the line tells its app, and asks it."""

    failure: Exception | None

    def call_later(self, callback: Any) -> object:
        """Call back between two messages."""

    def draw_anew(self) -> None:
        """Draw the whole screen: the terminal may show anything."""

    def input_failed(self, problem: Exception) -> None:
        """Reading keys has failed."""

    def terminal_gone(self) -> None:
        """The terminal has vanished."""


class TerminalLine(LinuxDriver):
    """Writes and reads the terminal for the app, which is a `LineHost`."""

    def __init__(
        self, app: Any, *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None
    ) -> None:
        # No pointer is used with wet gloves, and a moving mouse would only send bytes.
        super().__init__(app, debug=debug, mouse=False, size=size)
        self._host: LineHost = app
        if sys.__stdout__ is not None:
            # The terminal that was examined is the one behind stdout; stderr may lead to a file.
            self._file = sys.__stdout__
        self._simple = os.environ.get("TERM", "").startswith(_SIMPLE_TERMINALS)
        self._silent = False
        self._silent_again = False
        self._taken = False
        self._taken_before = False
        self._gone = False
        self._watcher: Thread | None = None
        self._stop_watching: int | None = None

    @property
    def silent(self) -> bool:
        """Whether nothing may be written now."""
        return self._silent

    def write(self, data: str) -> None:
        """Send `data`, never what this terminal would print as text.

        Nothing goes out while silenced, while the terminal is not ours, or once it is gone.
        """
        ours = self._taken and self._writer_thread is not None
        if self._silent or self._gone or not ours or data.startswith(_POINTER_SHAPE):
            return
        if self._simple and is_question(data):
            return
        super().write(data)

    def silence(self) -> None:
        """Clear the screen, hide the cursor; from then on write nothing."""
        if not self._silent:
            self.write(_CLEAR_AND_HIDE)
            self._silent = True

    def speak(self) -> None:
        """Write again. What is on the screen has to be drawn anew."""
        self._silent = False

    def ring(self, *, even_silent: bool = False) -> None:
        """One bell; into the silence only where it was asked for."""
        if even_silent and self._taken and not self._gone:
            super().write("\a")
        else:
            self.write("\a")

    def start_application_mode(self) -> None:
        """Take the terminal and watch whether it stays."""
        # Between two steps of the loop, not between any two bytecodes: a handler that writes while the queue of
        # writes is held would wait for ever.
        loop = asyncio.get_running_loop()
        loop.add_signal_handler(signal.SIGTSTP, self._sigtstp_application)
        loop.add_signal_handler(signal.SIGCONT, self._sigcont_application)
        self._taken = True
        super().start_application_mode()  # type: ignore[no-untyped-call]  # the library has no types here
        reading, self._stop_watching = os.pipe()
        self._watcher = Thread(target=self._watch, args=(reading,), name="terminal-watch", daemon=True)
        self._watcher.start()
        if self._silent_again:
            self.silence()
        if self._taken_before:
            # After a stop the terminal shows nothing of ours any more.
            self._host.call_later(self._host.draw_anew)
        self._taken_before = True

    def stop_application_mode(self) -> None:
        """Give the terminal back as it was found; a silence begins again when the terminal is taken again.

        After an error nobody expected, in the dark, the terminal is given back only at the leave pair.
        """
        if self._silent and self._host.failure is not None and not self._gone:
            self.disable_input()
            hold_until_leave_pair(self.fileno)
        was_silent, self._silent = self._silent, False
        if self._stop_watching is not None:
            os.close(self._stop_watching)
            self._stop_watching = None
        super().stop_application_mode()
        # A screen that is being closed may still draw: over what the shell has written by then.
        self._taken = False
        self._silent_again = was_silent

    def _watch(self, stop: int) -> None:
        """Wait, at no cost, until the terminal hangs up or the watching is stopped."""
        poll = select.poll()
        poll.register(self.fileno, 0)
        poll.register(stop, 0)
        try:
            while True:
                for descriptor, _ in poll.poll():
                    if descriptor == self.fileno:
                        self._hung_up()
                    return
        finally:
            os.close(stop)

    def _run_input_thread(self) -> None:
        try:
            self.run_input_thread()
        except OSError:
            # Reading a terminal that has gone away fails with EIO.
            self._hung_up()
        except Exception as problem:
            self._host.input_failed(problem)

    def run_input_thread(self) -> None:
        """Hear keys until the screens are left."""
        keyboard = Keyboard()
        while not self.exit_event.is_set():
            looked_at = time.monotonic()  # before the look, after which the program may stand still
            ready, _, _ = select.select([self.fileno], [], [], _LISTENS_S)
            data = os.read(self.fileno, _PIECE) if ready else b""
            if ready and not data:
                raise OSError(errno.EIO, "the terminal is gone")
            for event in keyboard.heard(data, time.monotonic()) if data else keyboard.waited(looked_at):
                self.process_message(event)

    def _hung_up(self) -> None:
        self._gone = True
        self._host.terminal_gone()
