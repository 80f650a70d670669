"""Sounds the calls of a session: bells on the terminal, and the program named by the setting `cue_command`.

There is no loop here: `wait_s` returns the time until `look` is to be called again. The program is started without
a shell, with its own arguments and the words of the call as the last one. Nothing waits for it; it is killed after
ten seconds (`LONGEST_RUN_S`), and only its first failure is reported.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from typing import Final

from wetside.domain.session.cues import BELLS
from wetside.files.settings import Settings
from wetside.present.announcements import Announcement

BELL_GAP_S: Final = 0.35
"""Seconds from bell to bell: near enough to be one call, far enough apart to be counted."""

MOST_BELLS: Final = 4
"""The sound check rings one to four bells."""

LONGEST_RUN_S: Final = 10.0
_MOST_AT_ONCE: Final = 3
"""No more programs than this run at once, so that programs that hang do not pile up at each call."""

_LOOK_EVERY_S: Final = 0.5


class Alerts:
    """Sounds calls. `ring` sends one bell; `seconds` reads a monotonic clock.

    failure: a sentence about the first failure of the program; "" while there was none.
    """

    def __init__(self, settings: Settings, ring: Callable[[], None], seconds: Callable[[], float]) -> None:
        self.failure = ""
        self._settings = settings
        self._ring = ring
        self._seconds = seconds
        self._bells: deque[float] = deque()
        self._after: Callable[[], None] | None = None
        self._running: list[tuple[subprocess.Popen[bytes], float]] = []

    @property
    def counting(self) -> bool:
        """Whether bells are being rung for the person to count."""
        return self._after is not None

    def sound(self, cue: Announcement) -> None:
        """Plan the bells of one call and start the program, as the settings say; `look` rings the bells."""
        if not self._settings.calls:
            return
        if self._settings.bell:
            self._plan(BELLS[cue.call])
        if self._settings.cue_command and len(self._running) < _MOST_AT_ONCE:
            self._start(cue.spoken)

    def count(self, bells: int, after: Callable[[], None]) -> None:
        """Ring bells to be counted, then call `after`."""
        self._plan(bells)
        self._after = after

    def look(self) -> None:
        """Ring the bells that are due, and kill programs that have run too long."""
        now = self._seconds()
        while self._bells and self._bells[0] <= now:
            self._bells.popleft()
            self._ring()
        if self._after is not None and not self._bells:
            after, self._after = self._after, None
            after()
        self._running = [(process, end) for process, end in self._running if self._is_running(process, end, now)]

    def wait_s(self) -> float | None:
        """Seconds until `look` is to be called again; None when nothing is pending."""
        waits = [max(0.0, self._bells[0] - self._seconds())] if self._bells else []
        waits += [_LOOK_EVERY_S] if self._running else []
        waits += [0.0] if self._after is not None and not self._bells else []
        return min(waits, default=None)

    def close(self) -> None:
        """Kill the programs that still run."""
        for process, _ in self._running:
            _end(process)
        self._running = []

    def _plan(self, bells: int) -> None:
        first = max(self._seconds(), self._bells[-1] + 2 * BELL_GAP_S if self._bells else 0.0)
        self._bells.extend(first + number * BELL_GAP_S for number in range(bells))

    def _start(self, words: str) -> None:
        nothing = subprocess.DEVNULL
        try:
            process = subprocess.Popen(
                (*self._settings.cue_command, words),
                stdin=nothing,
                stdout=nothing,
                stderr=nothing,
                start_new_session=True,
            )
        except (OSError, ValueError) as problem:
            self._failed(f"could not be started ({getattr(problem, 'strerror', None) or problem})")
            return
        self._running.append((process, self._seconds() + LONGEST_RUN_S))

    def _is_running(self, process: subprocess.Popen[bytes], end: float, now: float) -> bool:
        code = process.poll()
        if code is None and now < end:
            return True
        if code is None:
            _end(process)
            self._failed(f"ran longer than {LONGEST_RUN_S:.0f} s and was ended")
        elif code != 0:
            self._failed(f"ended with {code}")
        return False

    def _failed(self, what: str) -> None:
        if not self.failure:
            program = self._settings.cue_command[0]
            self.failure = f"cue_command: {program} {what}. Said once; bells and words go on."


def _end(process: subprocess.Popen[bytes]) -> None:
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def bells_to_count() -> int:
    """The number of bells for one sound check, chosen at random, so that only a person who hears them knows it."""
    return random.SystemRandom().randint(1, MOST_BELLS)
