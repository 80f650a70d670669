"""The signals that end the program, as something to wait for beside a terminal's bytes."""

from __future__ import annotations

import os
import select
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

ENDING: Final = (signal.SIGHUP, signal.SIGTERM, signal.SIGINT, signal.SIGQUIT)
"""A terminal that is gone, a word from outside, and the person's own two."""


@contextmanager
def signal_line() -> Iterator[int]:
    """A descriptor on which the numbers of `ENDING` arrive, instead of what they would do."""
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    old = {number: signal.signal(number, lambda *_: None) for number in ENDING}
    old_line = signal.set_wakeup_fd(writing, warn_on_full_buffer=False)
    try:
        yield reading
    finally:
        signal.set_wakeup_fd(old_line)
        for number, handler in old.items():
            signal.signal(number, handler)
        os.close(reading)
        os.close(writing)


def arrived(signals: int) -> int:
    """The number of a signal that has arrived on such a descriptor; 0 when there is none."""
    if not select.select([signals], [], [], 0)[0]:
        return 0
    return next((number for number in os.read(signals, 64) if number in ENDING), 0)
