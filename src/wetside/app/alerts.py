"""Sounds the calls of a session: bells on the terminal, and a program of the person's own.

It has no loop of its own: `wait_s` says how long until `look` has something to do. The program gets its own
arguments and the words of the call as the last one; no shell reads them. Nothing waits for it, it is ended after
ten seconds, and its failure is said once.
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
from wetside.present.session_words import Announcement

BELL_GAP_S: Final = 0.35
"""Between two bells: near enough to be one call, far enough apart to be counted."""

MOST_BELLS: Final = 4
"""The sound check rings one to four bells."""

LONGEST_RUN_S: Final = 10.0
_MOST_AT_ONCE: Final = 3
"""More programs at a time are not started: one that hangs must not pile up at each call."""

_LOOK_EVERY_S: Final = 0.5


class Alerts:
    """Sounds calls. `ring` sends one bell; `seconds` is a clock that never steps.

    failure: the sentence about the first failure of the program, "" without one.
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
        """Sound one call, as far as the settings want calls by ear; `look` then rings what is due."""
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
        """Ring the bells that are due and see to the programs that run."""
        now = self._seconds()
        while self._bells and self._bells[0] <= now:
            self._bells.popleft()
            self._ring()
        if self._after is not None and not self._bells:
            after, self._after = self._after, None
            after()
        self._running = [(process, end) for process, end in self._running if self._runs_on(process, end, now)]

    def wait_s(self) -> float | None:
        """Seconds until `look` has something to do; None while there is nothing."""
        waits = [max(0.0, self._bells[0] - self._seconds())] if self._bells else []
        waits += [_LOOK_EVERY_S] if self._running else []
        waits += [0.0] if self._after is not None and not self._bells else []
        return min(waits, default=None)

    def close(self) -> None:
        """End what still runs."""
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

    def _runs_on(self, process: subprocess.Popen[bytes], end: float, now: float) -> bool:
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
    """How many bells the sound check rings this time; nobody can know before."""
    return random.SystemRandom().randint(1, MOST_BELLS)
