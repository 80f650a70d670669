"""Makes the calls heard: bells on the terminal, and a program of the person's own.

How many bells a call is stands in one table, `session.cues.BELLS`; its words are on screen in any case. The
program gets its own arguments and the words of the call as the last one; no shell reads them. It never holds
the guide up, is ended after ten seconds, and its failure is said once.
"""

from __future__ import annotations

import asyncio
import os
import signal
from collections.abc import Callable
from contextlib import suppress
from typing import Final

from wetside.domain.session.cues import BELLS
from wetside.files.settings import Settings
from wetside.present.session_words import Announcement

BELL_GAP_S: Final = 0.35
"""Between two bells: near enough to be one call, far enough apart to be counted."""

LONGEST_RUN_S: Final = 10.0
_MOST_AT_ONCE: Final = 3
"""So many programs at a time: one that hangs must not pile up at each call."""

Later = Callable[[float, Callable[[], None]], object]


class Calls:
    """Sounds calls. `ring` sends one bell; `later` runs something after so many seconds; `failed` is told once."""

    def __init__(
        self, settings: Settings, ring: Callable[[], None], later: Later, failed: Callable[[str], None]
    ) -> None:
        self._settings = settings
        self._ring = ring
        self._later = later
        self._failed = failed
        self._said = False
        self._running: set[asyncio.Task[None]] = set()

    def sound(self, cue: Announcement) -> None:
        """Make one call heard, as far as the person wants calls by ear."""
        if not self._settings.calls:
            return
        if self._settings.bell:
            self.bells(BELLS[cue.call])
        if self._settings.cue_command and len(self._running) < _MOST_AT_ONCE:
            task = asyncio.get_running_loop().create_task(self._speak(cue.spoken))
            self._running.add(task)
            task.add_done_callback(self._running.discard)

    def bells(self, number: int, after: Callable[[], None] | None = None) -> None:
        """Ring so many bells, evenly spaced, then do `after`."""
        for each in range(number):
            if each == 0:
                self._ring()
            else:
                self._later(each * BELL_GAP_S, self._ring)
        if after is not None:
            self._later(number * BELL_GAP_S, after)

    async def close(self) -> None:
        """End what still runs."""
        for task in tuple(self._running):
            task.cancel()
        await asyncio.gather(*self._running, return_exceptions=True)

    async def _speak(self, words: str) -> None:
        command = (*self._settings.cue_command, words)
        try:
            process = await asyncio.create_subprocess_exec(
                *command,
                stdin=asyncio.subprocess.DEVNULL,
                stdout=asyncio.subprocess.DEVNULL,
                stderr=asyncio.subprocess.DEVNULL,
                start_new_session=True,
            )
        except (OSError, ValueError) as problem:
            self._say(f"could not be started ({getattr(problem, 'strerror', None) or problem})")
            return
        try:
            code = await asyncio.wait_for(process.wait(), LONGEST_RUN_S)
        except TimeoutError:
            self._say(f"ran longer than {LONGEST_RUN_S:.0f} s and was ended")
        else:
            if code != 0:
                self._say(f"ended with {code}")
        finally:
            if process.returncode is None:
                with suppress(ProcessLookupError):
                    os.killpg(process.pid, signal.SIGKILL)
                await process.wait()

    def _say(self, what: str) -> None:
        if not self._said:
            self._said = True
            self._failed(f"cue_command: {self._settings.cue_command[0]} {what}. Said once; bells and words go on.")
