"""The dark outlives the program's own failure: film lies open, and a terminal given back would light the room.

Nothing of the screens is left then. The terminal stays as it is, silent and cleared, until somebody says with the
leave pair that the lid is on.
"""

from __future__ import annotations

import os
import select
import time
from typing import Final

from textual import events

from wetside.app.signals import arrived, signal_line
from wetside.tui.key_parser import Keyboard

_LOOKS_EVERY_S: Final = 0.1
_PIECE: Final = 4096


def hold_until_leave_pair(terminal: int) -> None:
    """Wait for SPACE, then ENTER, on this descriptor; a signal that ends the program, or a hang-up, ends it."""
    keyboard, pair = Keyboard(), False
    with signal_line() as signals:
        while not arrived(signals):
            looked_at = time.monotonic()
            ready = select.select([terminal, signals], [], [], _LOOKS_EVERY_S)[0]
            try:
                data = os.read(terminal, _PIECE) if terminal in ready else b""
            except OSError:
                return  # the terminal is gone
            if terminal in ready and not data:
                return
            for event in keyboard.heard(data, time.monotonic()) if data else keyboard.waited(looked_at):
                if not isinstance(event, events.Key):
                    continue
                if pair and event.key == "enter":
                    return
                pair = event.key == "space"
