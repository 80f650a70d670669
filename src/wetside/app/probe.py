"""Turns the lines of a connected thermometer (a probe) into readings of the session, as if they had been typed.

A line is "name,temperature" (a solution's name, "bath", "room") or a temperature alone, which is the
developer's; without a unit it is in °C. A line is ignored if the step does not ask for its reading, if the value
has not settled, or if it adds nothing to the last one; an old or impossible one is refused. Whether a reading fits
the session is decided where a typed one is. Lines are read without blocking, from a growing file, a pipe or a
serial line.
"""

from __future__ import annotations

import os
import re
import select
import stat
import tty
from collections.abc import Callable
from typing import Final, Literal

from msgspec import Struct

from wetside.domain.planning.plan import BATH_READING
from wetside.domain.session import commands as c
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State
from wetside.errors import Refused, Unusable, UsageError
from wetside.files.units import temperature_c
from wetside.present.action_effects import measured_here
from wetside.present.wording import temperature, the
from wetside.sanitize import escape_controls

SILENT_S: Final = 30.0
"""After so long (real seconds) without a line the probe counts as lost (our own number)."""

LATE_S: Final = 5.0
"""If the last look is longer ago (real seconds), as after a suspend, lines may be old and are dropped."""

SETTLED_C: Final = 0.3
"""Two consecutive values at most so far apart count as settled: the probe is not being moved (our own number)."""

THIN_S: Final = 60.0
SOONEST_S: Final = 10.0
THIN_C: Final = 0.2
"""One reading a minute is kept (`THIN_S`); after 10 s already if it differs by `THIN_C` (our own numbers)."""

JUMP_C: Final = 0.5
JUMP_C_PER_S: Final = 0.1
"""The largest change that is believed: `JUMP_C`, and `JUMP_C_PER_S` for each second since the last reading. Half a
litre in a bath 20 °C warmer changes by about 1 °C in a minute; a probe that changes six times as fast was taken
out. The warm bath is exempt: a jug of hot water changes it at once (our own numbers)."""

FAR_C: Final = 3.0
"""During a bath, a value further outside its range is taken for that of something else (our own number)."""

WAITS_S: Final = 2.0
"""From then on (real seconds) a value that waits for a second one is shown as waiting (our own number)."""

_LOST: Final = "lost probe"
_HEARD: Final = "The probe is heard again."
_NAMED: Final = re.compile(r"([^,;\t]*?[^\d\s,;\t.+-][^,;\t]*)[,;\t](.*)")

Trouble = Literal["lost", "unreadable", "strange", "refused"]


Feed = Callable[[], tuple[str, ...]]
"""Returns the complete lines since the last call. Raises OSError when no more can come."""


class Line(Struct, frozen=True):
    """One parsed line: the name, which may be empty, the temperature (°C), and its text."""

    name: str
    value_c: float
    text: str


def read_line(line: str) -> Line:
    """Parse a line into a name and a temperature. Raises Refused if it is not understood."""
    name, text = _parts(line)
    return Line(name, temperature_c(text, "°C"), text)


def _parts(line: str) -> tuple[str, str]:
    found = _NAMED.fullmatch(line.strip())
    return (found[1].strip(), found[2].strip()) if found is not None else ("", line.strip())


class Probe:
    """One connected thermometer in one session.

    words: what is wrong with it now, or what it waits for, for the screen; "" for nothing. said: the sentence
    about its last change, for the message; "" once that no longer holds.
    """

    def __init__(self, feed: Feed) -> None:
        self.words = ""
        self.said = ""
        self._feed = feed
        self._wrong: dict[str, tuple[Trouble, str]] = {}  # by a line's name or what was read, the newest last
        self._heard_s: float | None = None
        self._looked_s: float | None = None
        self._gone = False
        self._last: dict[str, tuple[float, float | None]] = {}
        self._waiting: dict[str, Line] = {}

    def readings(self, state: State, at: float, real_s: float) -> tuple[c.TakeReading, ...]:
        """The readings to keep now. at: on the session's clock (s). real_s: on a monotonic clock."""
        self._word()
        lines = self._lines(real_s)
        found: dict[str, Line] = {}
        for line in lines:
            try:
                read = read_line(line)
            except Refused:
                shown = escape_controls(line[:20])
                words = f"The probe's line “{shown}” is not taken: it is to be like developer,38.5, -10 to 110 °C."
                self._set_trouble(_parts(line)[0], "unreadable", words)
                continue
            self._understood(state, read.name)
            heard_s, before_c = self._last.get(read.name, (0.0, None))
            self._last[read.name] = (real_s, read.value_c)
            settled = before_c is not None and abs(read.value_c - before_c) <= SETTLED_C
            if settled and real_s - heard_s <= SILENT_S:
                found[read.name] = read
                self._waiting.pop(read.name, None)
            else:
                found.pop(read.name, None)
                self._waiting[read.name] = read
        wanted = ((_meant(state, read.name), read) for read in found.values())
        taken = tuple(
            c.TakeReading(at, of, read.value_c, f"{read.value_c:.2f} °C", by="probe")
            for of, read in wanted
            if of is not None and self._accepts(state, of, read, at)
        )
        self._show(state, real_s)
        return taken

    def refused(self, reading: c.TakeReading, reason: str) -> None:
        """Note that the session has refused this reading."""
        self._set_trouble(reading.of, "refused", f"The probe's {reading.text} is not taken: {reason}")

    def kept(self, reading: c.TakeReading, title: str) -> None:
        """Note that the session has taken a reading, of what is called `title`."""
        self._over(reading.of)
        if self.said == _HEARD:
            self.said = f"The probe is heard again: {the(title)} has {reading.text}."

    def _lines(self, real_s: float) -> tuple[str, ...]:
        """The new lines, unless they may be old; notes a probe that is silent or gone."""
        if self._gone:
            return ()
        looked_s, self._looked_s = self._looked_s, real_s
        if self._heard_s is None:
            self._heard_s = real_s
        try:
            lines = self._feed()
        except OSError as gone:
            self._gone = True
            self._lost(f"The probe is lost ({gone.strerror or 'it has ended'}): type what you read, key t.")
            return ()
        late = looked_s is not None and real_s - looked_s > LATE_S
        if lines:
            self._heard_s = real_s
            if _LOST in self._wrong:
                self._over(_LOST)
                self.said = _HEARD
        elif late:
            self._heard_s = real_s  # nothing was read meanwhile, so the probe was not silent
        elif real_s - self._heard_s > SILENT_S:
            self._lost("The probe is silent: type what you read, key t.")
        return () if late else lines

    def _accepts(self, state: State, of: str, read: Line, at: float) -> bool:
        """Whether to keep a reading; an implausible one (see `_strange`) is refused and noted."""
        last = next((r for r in reversed(state.readings) if r.of == of and r.step == state.current), None)
        strange = _strange(state, of, read.value_c, last, at)
        if strange:
            self._set_trouble(of, "strange", f"The probe's {strange}")
            return False
        self._over(of)
        if last is None:
            return True
        since_s = at - last.at
        changed = self.said == _HEARD or abs(read.value_c - last.temperature_c) >= THIN_C
        return since_s >= (SOONEST_S if changed else THIN_S)

    def _show(self, state: State, real_s: float) -> None:
        """Forget complaints about what this step does not ask for, and say what waits for a second value."""
        for name, (trouble, _) in tuple(self._wrong.items()):
            if trouble in ("strange", "refused") and _meant(state, name) is None:
                self._over(name)
        for name, read in self._waiting.items():
            of, waits_s = _meant(state, name), real_s - self._last[name][0]
            if not self.words and of is not None and WAITS_S <= waits_s <= SILENT_S:
                # so short that a row of 40 columns cuts only its end
                shown = temperature(read.value_c, state.plan.unit)
                self.words = f"Probe: {state.plan.title_of(of)} {shown}, not yet taken; once more."

    def _lost(self, words: str) -> None:
        if _LOST not in self._wrong:
            self._wrong.clear()
            self._waiting.clear()
            self._set_trouble(_LOST, "lost", words)

    def _understood(self, state: State, name: str) -> None:
        """End the complaints about lines of this name, and about those whose name means nothing in this step."""
        for other, (trouble, _) in tuple(self._wrong.items()):
            if trouble == "unreadable" and (other in ("", name) or _meant(state, other) is None):
                self._over(other)

    def _over(self, name: str) -> None:
        """End the complaint of this name, and with the last one what was said of it."""
        if self._wrong.pop(name, None) is not None and not self._wrong:
            self.said = ""
        self._word()

    def _set_trouble(self, name: str, trouble: Trouble, words: str) -> None:
        before = self._wrong.pop(name, None)
        self._wrong[name] = (trouble, words)
        if before is None or before[0] != trouble:
            self.said = words
        self._word()

    def _word(self) -> None:
        self.words = next((words for _, words in reversed(self._wrong.values())), "")


def _strange(state: State, of: str, value_c: float, last: ReadingTaken | None, at: float) -> str:
    """Why this cannot be the temperature of `of`, as the end of a sentence; "" if it can."""
    plan, step = state.plan, state.step
    if step is None:
        return ""
    read = temperature(value_c, plan.unit)
    if step.timed and step.solution == of and step.range_c is not None:
        low_c, high_c = step.range_c
        if not low_c - FAR_C <= value_c <= high_c + FAR_C:
            return f"{read} is not taken: is it in {the(step.solution_title)}?"
    since_s = at - last.at if last is not None else 0.0
    if last is None or of == BATH_READING or abs(value_c - last.temperature_c) <= JUMP_C + JUMP_C_PER_S * since_s:
        return ""
    return f"{temperature(last.temperature_c, plan.unit)} to {read} in {since_s:.0f} s is not taken: too fast."


def _meant(state: State, name: str) -> str | None:
    """The id of what a line's name means; None if the present step does not ask for its temperature."""
    plan = state.plan
    if state.step is None or state.outcome is not None:
        return None
    here = {of for of, _ in measured_here(state, state.step)}
    if not name:
        return next((s.solution for s in plan.steps if s.ends == "on time" and s.solution in here), None)
    plain = name.casefold()
    return next((of for of in here if plain in (of.casefold(), plan.title_of(of).casefold())), None)


_MOST_BYTES: Final = 65_536
_LONGEST_LINE: Final = 200


class LineFeed:
    """Lines from a file descriptor. ends: whether end of file is final (a pipe, a serial line) or it may grow."""

    def __init__(self, fd: int, *, ends: bool) -> None:
        self._fd = fd
        self._ends = ends
        self._part = b""

    def fresh(self) -> tuple[str, ...]:
        if not select.select([self._fd], [], [], 0)[0]:
            return ()
        content = os.read(self._fd, _MOST_BYTES)
        if not content and self._ends:
            raise OSError(0, "its line has ended")
        *whole, part = (self._part + content).replace(b"\r", b"\n").split(b"\n")
        self._part = part[:_LONGEST_LINE]
        return tuple(line[:_LONGEST_LINE].decode("utf-8", "replace") for line in whole if line.strip())


def open_feed(where: str) -> LineFeed:
    """Open the feed of `--readings`: a file, a pipe, a serial line, or "-" for standard input.

    With "-" keys are read from the controlling terminal from then on. Raises UsageError if there is none, Unusable
    if the file cannot be read.
    """
    if where == "-":
        return _from_standard_input()
    try:
        fd = os.open(os.path.expanduser(where), os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC)
        mode = os.fstat(fd).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(0, "it is a folder")
        if os.isatty(fd):
            own = (os.fstat(each).st_rdev for each in (0, 1, 2) if os.isatty(each))
            if os.fstat(fd).st_rdev in (os.makedev(5, 0), *own):
                raise UsageError(f"{where} is this terminal, where you type: name the probe's own line.")
            tty.setraw(fd)
        elif stat.S_ISREG(mode):
            os.lseek(fd, 0, os.SEEK_END)  # skip what the file already holds: it is old
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise Unusable(
            f"--readings {where} cannot be read ({why}): name a file, a pipe or a serial line."
        ) from None
    return LineFeed(fd, ends=os.isatty(fd))


def _from_standard_input() -> LineFeed:
    if os.isatty(0):
        raise UsageError("--readings - takes a pipe on standard input, and that is the keyboard here.")
    try:
        keyboard = os.open("/dev/tty", os.O_RDWR)
    except OSError:
        raise UsageError(
            "--readings - needs a terminal for the keys beside the pipe, and there is none."
        ) from None
    fd = os.dup(0)
    os.dup2(keyboard, 0)
    os.close(keyboard)
    return LineFeed(fd, ends=True)
