"""Guides a session line by line: for a screen reader, a serial line, or a log.

It uses the controller, view model and keys of the full screen, without cursor movement or colour. In a dark step
no byte is written: the terminal's echo is off, and the keys that would stop or end the program are ordinary input
until SPACE, then ENTER (the leave pair). Whatever ends it (end of input, a signal, a lost terminal) leaves the
session open.
"""

from __future__ import annotations

import errno
import signal
import textwrap
import time
from collections.abc import Callable, Sequence
from typing import Final, TextIO

from msgspec.structs import replace

from wetside.app.alerts import Alerts, bells_to_count
from wetside.app.console import program_for
from wetside.app.controller import SessionController
from wetside.app.terminal import Terminal, signal_line
from wetside.files.settings import Settings
from wetside.plain.lines import LONGEST_LINE, Lines, keys_of
from wetside.plain.wording import (
    FOLLOW_HOW_TO,
    HOW_TO,
    PlainSnapshot,
    changes,
    clock_line,
    clocks_lines,
    everything,
)
from wetside.present.key_handler import FLUSH_S
from wetside.present.key_state import Wish
from wetside.present.prompts import Number, Page, Words
from wetside.present.temperature_plot import LEAST_WIDTH, plot
from wetside.present.tempering_forecast import bath_course, tempering_forecast
from wetside.sanitize import sendable

_GONE: Final = frozenset({errno.EIO, errno.ENXIO, errno.EBADF})
_HELD_LOOKS_EVERY_S: Final = 1.0
PLOT_ROWS: Final = 9

STARTED_ANEW: Final = (
    "This session is in its dark step, and this screen may be the only light: cover it now if film is open.",
    "Lid on and locked, light on: a line with s, and after it an empty line. Until then nothing more is written.",
)


class PlainGuide:
    """One session as lines. `write` gets text to send; `begin` first, then `line` and `poll` until `left`."""

    def __init__(
        self,
        controller: SessionController,
        settings: Settings,
        write: Callable[[str], None],
        *,
        utf8: bool = True,
        columns: int | None = None,
        pick_bells: Callable[[], int] | None = None,
        seconds: Callable[[], float] = time.monotonic,
    ) -> None:
        self.controller = controller
        self.left = False
        self.calls = Alerts(settings, self._ring, seconds)
        self._write = write
        self._utf8 = utf8
        self._columns = columns
        self._pick_bells = pick_bells or bells_to_count
        self._said: PlainSnapshot | None = None
        self._failure_said = False
        self._forecast_as_of: tuple[object, ...] = ()
        self._forecast_lines: tuple[str, ...] = ()

    def begin(self) -> None:
        """Write the running clocks, how to type answers, and the step."""
        if self.controller.dark:
            self._send(STARTED_ANEW)
            return
        view = self.controller.view()
        if view.clock is not None and view.clock.face != "still":
            self._send((f"{view.title}. {clock_line(view.clock)}",))
        self._send(FOLLOW_HOW_TO if self.controller.read_only else HOW_TO)
        self._tell()

    def line(self, line: str) -> None:
        """Act on one typed line."""
        if self.controller.dark:
            self._wish(self.controller.press(_dark_key(line)))
        elif len(line) > LONGEST_LINE:
            self._send((f"That line is longer than {LONGEST_LINE} letters: it was not read.",))
        elif line.strip() in ("?", "c") and not isinstance(self.controller.key_state.panel, Words):
            moment = replace(self._moment(), forecast=self._forecast(anew=True))
            lines = everything(moment) if line.strip() == "?" else clocks_lines(moment.view) + moment.forecast
            self._send(lines)
            self._said = moment
        else:
            self._act(line)
        self._tell()

    def pasted(self, lines: int) -> None:
        """Reject lines that came at once; in a dark step each counts as a wrong key."""
        if self.controller.dark:
            for _ in range(lines):
                self.controller.press("x")
        else:
            self._send((f"{lines} lines came at once, and none was taken: type one, and wait for the answer.",))

    def poll(self) -> None:
        """Sound the calls that are due and write what has changed."""
        called = ""
        for cue in self.controller.poll():
            if not self.controller.dark:
                called = f"CALL: {cue.spoken}"
                self._send((called,))
                self.calls.sound(cue)
            elif cue.step == self.controller.state.current:
                # A dark step has calls of its own only if the settings ask for bells.
                self._ring()
        self.calls.look()
        if self.calls.failure and not self._failure_said and not self.controller.dark:
            self._failure_said = True
            self._send((self.calls.failure,))
        self._tell(called)

    def wait_s(self) -> float:
        """Real seconds until the next poll."""
        wait_s, calls_s = self.controller.wait_s(), self.calls.wait_s()
        return wait_s if calls_s is None else min(wait_s, calls_s)

    def farewell(self) -> None:
        """Write how to come back; in a dark step nothing."""
        state, program = self.controller.state, program_for(self.controller.kept_in)
        if self.controller.read_only:
            words = "You have stopped watching. The session goes on without this terminal."
        elif state.outcome is not None:
            words = f"The record of it: {program} export {state.session} --format markdown"
        else:
            words = f"The session stays open and its clocks run on. Go on with: {program} resume {state.session}"
        self._send((words,))

    def _act(self, line: str) -> None:
        controller = self.controller
        if self._too_soon():
            self._send(("Too soon: this step has only just opened. Read it, then type.",))
            return
        view = controller.view()
        wanted = view.kind.traits.reads and bool(view.readings)
        keys = keys_of(line, controller.key_state.panel, wanted, view.unit)
        if isinstance(keys, str):
            self._send((keys,))
            return
        if self._said is not None:
            # A refusal is written each time, even if it is the same as before.
            self._said = replace(self._said, message="")
        digits = len(keys) > 1 and controller.key_state.panel is None
        for number, key in enumerate(keys):
            self._wish(controller.press(key))
            if digits and number == 0 and not isinstance(controller.key_state.panel, Number):
                return  # no field has opened for the other digits
        if isinstance(controller.key_state.panel, Page):
            # The whole page is written at once, so it is closed.
            self._tell()
            controller.press("enter")

    def _too_soon(self) -> bool:
        controller = self.controller
        open_s = controller.now() - controller.key_state.opened_at
        return controller.key_state.panel is None and not controller.read_only and 0 < open_s < FLUSH_S

    def _wish(self, wish: Wish | None) -> None:
        match wish:
            case "leave":
                self.left = True
            case "ring":
                self._sound_check()
            case "far":
                self._send(("The far view is a thing of the full screen; here c says the clocks.",))
            case None:
                pass

    def _sound_check(self) -> None:
        if not self.calls.counting:
            bells = self._pick_bells()
            self._send(("Count the bells.",))
            self.calls.count(bells, lambda: self.controller.bells_rung(bells))

    def _moment(self) -> PlainSnapshot:
        controller, view = self.controller, self.controller.view()
        step = controller.state.step
        to_come = step is not None and step.in_the_dark
        return PlainSnapshot(
            view=view,
            keys=controller.keys(),
            message=controller.key_state.message,
            panel=controller.key_state.panel,
            trouble=controller.trouble,
            read_only=controller.read_only,
            dark_to_come=to_come,
            readings=controller.state.readings,
            forecast=self._forecast(),
        )

    def _forecast(self, anew: bool = False) -> tuple[str, ...]:
        """The temperatures in words, for a follower with their curve; worked out at each reading, or if `anew`.

        The person at the tank gets the warming bottles only, and no picture: a screen reader would read it out.
        """
        state, now, follows = self.controller.state, self.controller.now(), self.controller.read_only
        clock = state.clocks.get(state.current or "")
        as_of = (state.current, len(state.readings), clock is not None and now >= clock.t0)
        if anew or as_of != self._forecast_as_of:
            found = tempering_forecast(state, now) or (bath_course(state, now) if follows else None)
            self._forecast_as_of, self._forecast_lines = as_of, found.words if found is not None else ()
            columns = self._columns or 0
            if follows and columns >= LEAST_WIDTH and found is not None and found.lines:
                drawn = plot(found.lines, found.now_s, columns, PLOT_ROWS, not self._utf8, found.unit)
                self._forecast_lines += drawn
        return self._forecast_lines

    def _tell(self, called: str = "") -> None:
        """Write what is new, except what the call has just said; in a dark step nothing."""
        if self.controller.dark:
            return
        moment = self._moment()
        news = changes(self._said, moment)
        self._send(tuple(line for line in news if not line or line not in called))
        self._said = moment

    def _send(self, lines: Sequence[str]) -> None:
        if lines:
            self._write("".join(f"{row}\n" for line in lines for row in self._rows(line)))

    def _rows(self, line: str) -> list[str]:
        line = sendable(line, self._utf8)
        if self._columns is None:
            return [line]
        return textwrap.wrap(line, self._columns, subsequent_indent="  ", break_on_hyphens=False) or [""]

    def _ring(self) -> None:
        self._write("\a")


def run_plain(
    controller: SessionController, terminal: Terminal, settings: Settings, stdin: TextIO | None, stdout: TextIO
) -> int:
    """Run the session over two streams until it is left; returns the exit code.

    0: left, or the input ended. 128 + n: ended by signal n; a lost terminal counts as a hang-up. The session's
    lock is released in any case. Raises BrokenPipeError if the output is closed.
    """
    columns = terminal.columns if terminal.is_tty else None

    def write(text: str) -> None:
        stdout.write(text)
        stdout.flush()

    guide = PlainGuide(controller, settings, write, utf8=terminal.utf8, columns=columns)
    try:
        with signal_line() as signals, Lines(stdin) as lines:
            try:
                return _run(guide, lines, signals)
            except Exception as problem:
                if guide.controller.dark and not isinstance(problem, OSError):
                    _hold_until_leave_pair(lines, signals)
                raise
    except OSError as problem:
        if problem.errno in _GONE:
            return 128 + signal.SIGHUP
        raise
    finally:
        guide.calls.close()
        controller.release()


def _hold_until_leave_pair(lines: Lines, signals: int) -> None:
    """After an unexpected error in a dark step: wait for the leave pair before the error is written."""
    pair = False
    while lines.waiting or not lines.ended:
        if lines.wait(0.0 if lines.waiting else _HELD_LOOKS_EVERY_S, signals):
            return
        if lines.pasted():
            pair = False
        elif lines.waiting:
            key = _dark_key(lines.take())
            if pair and key == "enter":
                return
            pair = key == "space"


def _dark_key(line: str) -> str:
    return "enter" if not line else "space" if line.strip() in ("", "s", "S") else "x"


def _run(guide: PlainGuide, lines: Lines, signals: int) -> int:
    lines.set_echo(guide.controller.dark)
    guide.begin()
    while not guide.left:
        number = lines.wait(0.0 if lines.waiting and not guide.calls.counting else guide.wait_s(), signals)
        if number:
            if number != signal.SIGHUP and not guide.controller.dark:
                guide.farewell()
            return 128 + number
        if not guide.calls.counting:
            if at_once := lines.pasted():
                guide.pasted(at_once)
            elif lines.waiting:
                guide.line(lines.take())
        if lines.ended and not lines.waiting and not guide.calls.counting:
            break
        if not guide.left:
            guide.poll()
        lines.set_echo(guide.controller.dark)
    if not guide.controller.dark:
        guide.farewell()
    return 0
