"""The terminal driver: output can be suppressed, pastes are dropped, and a lost terminal is detected.

Nothing else writes to the terminal while the full screen runs. While silent it writes no byte, whatever the
screens draw, so that the screen stays dark in dark steps. It requests from the terminal only keys, bracketed
pastes and, where safe, synchronised output: no mouse, no focus reports, no reports of size.
"""

from __future__ import annotations

import asyncio
import errno
import os
import select
import shutil
import signal
import sys
import termios
import time
from collections.abc import Callable
from contextlib import suppress
from queue import SimpleQueue
from threading import Thread
from typing import Any, Final, Protocol

from textual.driver import Driver
from textual.events import Key, Resize
from textual.geometry import Size
from textual.message import Message

from wetside.app.terminal import arrived, signal_line
from wetside.tui.key_parser import ALONE_S, Keyboard

_SIMPLE_TERMINALS: Final = ("linux", "vt", "cons")
"""Terminals whose older versions print parts of an unknown query."""

_POINTER_SHAPE: Final = "\x1b]22;"
"""The library's sequence for the mouse pointer's shape: not sent, because it contains a BEL."""

_PIECE: Final = 4096

_CLEAR_AND_HIDE: Final = "\x1b[0m\x1b[2J\x1b[H\x1b[?25l"
_TAKE: Final = "\x1b[?1049h\x1b[?25l\x1b[?2004h\x1b[?7l"
_ASK_FOR_SYNCHRONISED_OUTPUT: Final = "\x1b[?2026$p"
_GIVE_BACK: Final = "\x1b[?2004l\x1b[?7h\x1b[?1049l\x1b[?25h"


class DriverHost(Protocol):
    """The part of the app that the driver uses."""

    line: TerminalDriver | None
    failure: Exception | None

    def call_later(self, callback: Any) -> object: ...

    def post_message(self, message: Message) -> bool: ...

    def draw_anew(self) -> None: ...

    def fail(self, problem: Exception) -> None: ...

    def terminal_gone(self) -> None: ...


class TerminalDriver(Driver):
    """Writes and reads the terminal for the app, which is a `DriverHost`."""

    def __init__(
        self, app: Any, *, debug: bool = False, mouse: bool = False, size: tuple[int, int] | None = None
    ) -> None:
        super().__init__(app, debug=debug, mouse=False, size=size)
        self._host: DriverHost = app
        self._host.line = self
        # stdout is the terminal that was examined; stderr may be a file.
        assert sys.__stdin__ is not None
        assert sys.__stdout__ is not None
        self._input, self._output = sys.__stdin__.fileno(), sys.__stdout__.fileno()
        self._encoding = sys.__stdout__.encoding
        self._simple = os.environ.get("TERM", "").startswith(_SIMPLE_TERMINALS)
        self._silent = False
        self._silent_again = False
        self._taken = False
        self._taken_before = False
        self._gone = False
        self._found: list[Any] | None = None
        self._writer: _Writer | None = None
        self._keyboard = Keyboard()
        self._looking: asyncio.TimerHandle | None = None

    @property
    def silent(self) -> bool:
        return self._silent

    def write(self, data: str) -> None:
        """Send `data`, unless output is suppressed, the terminal is not taken, or it is gone."""
        if not (self._silent or data.startswith(_POINTER_SHAPE)):
            self._send(data)

    def _send(self, data: str) -> None:
        if self._taken and not self._gone and self._writer is not None:
            self._writer.waiting.put(data.encode(self._encoding, "replace"))

    def silence(self) -> None:
        """Clear the screen, hide the cursor, and suppress further output."""
        if not self._silent:
            self.write(_CLEAR_AND_HIDE)
            self._silent = True

    def speak(self) -> None:
        """Allow output again; the caller redraws the screen."""
        self._silent = False

    def ring(self, *, even_silent: bool = False) -> None:
        """Sound one bell; while output is suppressed, only if `even_silent`."""
        if even_silent or not self._silent:
            self._send("\a")

    def start_application_mode(self) -> None:
        """Take the terminal: raw mode, the alternate screen, keys and changes of size."""
        loop = asyncio.get_running_loop()
        loop.add_signal_handler(signal.SIGTSTP, self._stop)
        loop.add_signal_handler(signal.SIGCONT, self._go_on)
        try:
            found = termios.tcgetattr(self._input)
            # Continued in the background, the process is stopped here by SIGTTOU until it is in the foreground.
            termios.tcsetattr(self._input, termios.TCSANOW, _raw(found))
        except termios.error as problem:
            if problem.args[0] != errno.EINTR:
                self._hung_up()
            return
        self._found, self._taken = found, True
        self._writer = _Writer(self._output, self._hung_up)
        self._writer.start()
        self.write(_TAKE if self._simple else _TAKE + _ASK_FOR_SYNCHRONISED_OUTPUT)
        if self._silent_again:
            self.silence()
        loop.add_signal_handler(signal.SIGWINCH, self._window_changed)
        loop.add_reader(self._input, self._guarded, self._read)
        self._resized()
        if self._taken_before:
            # After a stop the terminal shows other output.
            self._host.call_later(self._host.draw_anew)
        self._taken_before = True

    def disable_input(self) -> None:
        """Stop reading keys and discard unread ones."""
        loop = asyncio.get_running_loop()
        if loop.remove_reader(self._input):
            loop.remove_signal_handler(signal.SIGWINCH)
            with suppress(termios.error):
                termios.tcflush(self._input, termios.TCIFLUSH)
        if self._looking is not None:
            self._looking.cancel()

    def stop_application_mode(self) -> None:
        """Restore the terminal; suppressed output stays suppressed when it is taken again.

        After an unexpected error in a dark step it is restored only after SPACE, then ENTER.
        """
        self.disable_input()
        if self._silent and self._host.failure is not None and not self._gone:
            hold_until_leave_pair(self._input)
        self._silent_again, self._silent = self._silent, False
        if self._taken and self._found is not None:
            with suppress(termios.error):
                termios.tcsetattr(self._input, termios.TCSANOW, self._found)
        self.write(_GIVE_BACK)
        # A screen that is being closed may still draw, over what the shell has written by then.
        self._taken = False

    def close(self) -> None:
        """Wait until everything is written."""
        if self._writer is not None:
            self._writer.waiting.put(None)
            self._writer.join()
            self._writer = None

    def give_back_at_once(self) -> None:
        """Restore the terminal as far as possible, if the orderly exit hangs. May be called from any thread."""
        with suppress(OSError, termios.error):  # where the terminal is gone there is nothing to restore
            os.set_blocking(self._output, False)
            os.write(self._output, _GIVE_BACK.encode())
            if self._found is not None:
                termios.tcsetattr(self._input, termios.TCSANOW, self._found)

    def send_message(self, message: Message) -> None:
        """Queue a message for the app; everything is read in the app's own loop."""
        self._host.post_message(message)

    def _stop(self) -> None:
        self.suspend_application_mode()
        os.kill(os.getpid(), signal.SIGSTOP)

    def _go_on(self) -> None:
        if not self._taken:
            self.resume_application_mode()
        elif self._found is not None:
            # Stopped by SIGSTOP, which no program sees: the shell has its own modes back and wrote on the screen.
            with suppress(termios.error):
                termios.tcsetattr(self._input, termios.TCSANOW, _raw(self._found))
            silent, self._silent = self._silent, False
            self.write(_TAKE)
            if silent:
                self.silence()
            else:
                self._host.call_later(self._host.draw_anew)

    def _window_changed(self) -> None:
        self._resized()
        # Back at its old size within one turn of the loop, the window has cut or moved what it showed, while the
        # library finds nothing to draw.
        self._host.call_later(self._host.draw_anew)

    def _resized(self) -> None:
        size = Size(*shutil.get_terminal_size())
        self.process_message(Resize(size, size))

    def _guarded(self, read: Callable[[], list[Message]]) -> None:
        """Process the events that `read` returns; look again later if a sequence or paste is unfinished."""
        try:
            for event in read():
                self.process_message(event)
        except Exception as problem:  # the loop would only log it
            self._host.fail(problem)
            return
        if self._looking is not None:
            self._looking.cancel()
        if self._keyboard.waiting:
            loop = asyncio.get_running_loop()
            self._looking = loop.call_later(ALONE_S, self._guarded, self._look)

    def _read(self) -> list[Message]:
        data = _read_piece(self._input)
        if data is None:
            asyncio.get_running_loop().remove_reader(self._input)
            self._hung_up()
            return []
        return self._keyboard.heard(data, time.monotonic())

    def _look(self) -> list[Message]:
        looked_at = time.monotonic()  # before the look, after which the process may be suspended
        readable = select.select([self._input], [], [], 0)[0]
        return [] if readable else self._keyboard.waited(looked_at)

    def _hung_up(self) -> None:
        self._gone = True
        self._host.terminal_gone()


class _Writer(Thread):
    """Writes what is put into `waiting` until None comes; a thread, so that a slow line does not block the app."""

    def __init__(self, descriptor: int, gone: Callable[[], None]) -> None:
        super().__init__(daemon=True, name="terminal-output")
        self.waiting: SimpleQueue[bytes | None] = SimpleQueue()
        self._descriptor = descriptor
        self._hung_up = gone

    def run(self) -> None:
        while (data := self.waiting.get()) is not None:
            while data:
                try:
                    data = data[os.write(self._descriptor, data) :]
                except BlockingIOError:
                    select.select([], [self._descriptor], [])
                except OSError:
                    self._hung_up()
                    return


def hold_until_leave_pair(terminal: int) -> None:
    """Wait for SPACE, then ENTER, on this file descriptor, or for an ending signal or a hang-up.

    Film is in the open, and a terminal restored after an error would light the room.
    """
    keyboard, pair = Keyboard(), False
    with signal_line() as signals:
        while not arrived(signals):
            looked_at = time.monotonic()
            data: bytes | None = b""
            if terminal in select.select([terminal, signals], [], [], ALONE_S)[0]:
                data = _read_piece(terminal)
            if data is None:
                return
            for event in keyboard.heard(data, time.monotonic()) if data else keyboard.waited(looked_at):
                if not isinstance(event, Key):
                    continue
                if pair and event.key == "enter":
                    return
                pair = event.key == "space"


def _raw(found: list[Any]) -> list[Any]:
    """These terminal attributes in raw mode: keys are read at once, unchanged and without echo."""
    flags, local = found[0], found[3]
    flags &= ~(termios.IXON | termios.IXOFF | termios.ICRNL | termios.INLCR | termios.IGNCR)
    local &= ~(termios.ECHO | termios.ICANON | termios.IEXTEN | termios.ISIG)
    characters = [*found[6]]
    characters[termios.VMIN], characters[termios.VTIME] = 1, 0
    return [flags, *found[1:3], local, *found[4:6], characters]


def _read_piece(descriptor: int) -> bytes | None:
    """The available bytes; None if the terminal is gone."""
    try:
        return os.read(descriptor, _PIECE) or None
    except BlockingIOError:
        return b""  # another process has read it
    except OSError:
        return None
