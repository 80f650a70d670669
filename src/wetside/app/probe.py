"""A thermometer that feeds itself: its lines become readings of the session, as if a person had typed them.

A line is "name,temperature" (a solution's name, "bath", "room") or a temperature alone, which is the
developer's; without a unit it is in °C. A line is passed over where its reading is not asked for at the step,
has not settled, or is no news; one that is old or cannot be is refused. Whether a reading fits the session is
decided where a typed one is. The lines come from a file that grows, a pipe or a serial line, and nothing waits
for one.
"""

from __future__ import annotations

import os
import re
import select
import stat
import tty
from dataclasses import dataclass
from typing import Final, Literal, Protocol

from wetside.domain.calc.wording import temperature, the
from wetside.domain.planning.plan import BATH_READING
from wetside.domain.session import commands as c
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State
from wetside.errors import Refused, Unusable, UsageError
from wetside.files.units import temperature_c
from wetside.present.action_effects import measured_here
from wetside.sanitize import escape_controls

SILENT_S: Final = 30.0
"""So long (real seconds) without a line and the probe counts as lost (our own number)."""

LATE_S: Final = 5.0
"""Lines found so long (real seconds) after the last look may be old, as after the machine slept: none counts."""

SETTLED_C: Final = 0.3
"""Two lines so near to each other show that the probe is not on its way to another bottle (our own number)."""

THIN_S: Final = 60.0
SOONEST_S: Final = 10.0
THIN_C: Final = 0.2
"""A reading is kept each minute; sooner, but not within 10 s, where it has moved so far (our own numbers)."""

JUMP_C: Final = 0.5
JUMP_C_PER_S: Final = 0.1
"""Half a litre in a bath 20 °C warmer moves about 1 °C in a minute; what moves six times as fast is a probe that
was taken out. The warm bath may: a jug of hot water moves it at once (our own numbers)."""

FAR_C: Final = 3.0
"""In a bath, what lies so far beside its range is the temperature of something else (our own number)."""

_NAMED: Final = re.compile(r"([^,;\t]*?[^\d\s,;\t.+-][^,;\t]*)[,;\t](.*)")

Trouble = Literal["", "lost", "unreadable", "strange", "refused"]


class Feed(Protocol):
    """The source of the lines; raises OSError when it is gone for good."""

    def fresh(self) -> tuple[str, ...]:
        """The whole lines that have come since the last look."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line, read: the name, which may be empty, the temperature (°C), and its text."""

    name: str
    value_c: float
    text: str


def read_line(line: str) -> Line:
    """A line as a name and a temperature; Refused where it is none."""
    found = _NAMED.fullmatch(line.strip())
    name, text = (found[1].strip(), found[2].strip()) if found is not None else ("", line.strip())
    return Line(name, temperature_c(text, "°C"), text)


class Probe:
    """One thermometer at one session. words: what stands on screen while something is wrong, else empty."""

    def __init__(self, feed: Feed) -> None:
        self.words = ""
        self._feed = feed
        self._trouble: Trouble = ""
        self._news = ""
        self._heard_s: float | None = None
        self._looked_s: float | None = None
        self._gone = False
        self._last: dict[str, tuple[float, float | None]] = {}

    def news(self) -> str:
        """The sentence about a change of the probe's state since the last look; "" without one."""
        news, self._news = self._news, ""
        return news

    def readings(self, state: State, at: float, real_s: float) -> tuple[c.TakeReading, ...]:
        """The readings to keep now, at `at` on the session's clock and `real_s` on one that never runs fast."""
        lines = self._lines(real_s)
        found: dict[str, Line] = {}
        for line in lines:
            try:
                read = read_line(line)
            except Refused:
                shown = escape_controls(line[:20])
                words = f"The probe's line “{shown}” is not understood: it is to be like developer,38.5"
                self._is("unreadable", words)
                continue
            if self._trouble == "unreadable":
                self._is("")
            heard_s, before_c = self._last.get(read.name, (0.0, None))
            self._last[read.name] = (real_s, read.value_c)
            settled = before_c is not None and abs(read.value_c - before_c) <= SETTLED_C
            if settled and real_s - heard_s <= SILENT_S:
                found[read.name] = read
            else:
                found.pop(read.name, None)
        wanted = ((_meant(state, read.name), read) for read in found.values())
        return tuple(
            c.TakeReading(at, of, read.value_c, f"{read.value_c:.2f} °C", by="probe")
            for of, read in wanted
            if of is not None and self._tells(state, of, read, at)
        )

    def refused(self, reading: c.TakeReading, reason: str) -> None:
        """The session has refused this reading."""
        self._is("refused", f"The probe's {reading.text} is not taken: {reason}")

    def kept(self) -> None:
        """The session has taken a reading."""
        if self._trouble == "refused":
            self._is("")

    def _lines(self, real_s: float) -> tuple[str, ...]:
        """The new lines, without those that may be old; notes a probe that is silent or gone."""
        if self._gone:
            return ()
        looked_s, self._looked_s = self._looked_s, real_s
        if self._heard_s is None:
            self._heard_s = real_s
        try:
            lines = self._feed.fresh()
        except OSError as gone:
            self._gone = True
            self._is("lost", f"The probe is lost ({gone.strerror or 'it has ended'}): type what you read, key t.")
            return ()
        late = looked_s is not None and real_s - looked_s > LATE_S
        if lines:
            self._heard_s = real_s
            if self._trouble == "lost":
                self._is("")
                self._news = "The probe is heard again."
        elif late:
            self._heard_s = real_s  # nobody listened meanwhile
        elif real_s - self._heard_s > SILENT_S:
            self._is("lost", "The probe is silent: type what you read, key t.")
        return () if late else lines

    def _tells(self, state: State, of: str, read: Line, at: float) -> bool:
        """Whether a reading is kept; one of something else, or one that jumps as no water does, is refused."""
        last = next((r for r in reversed(state.readings) if r.of == of and r.step == state.current), None)
        strange = _strange(state, of, read.value_c, last, at)
        if strange:
            self._is("strange", f"The probe's {strange}")
            return False
        if self._trouble == "strange":
            self._is("")
        if last is None:
            return True
        since_s = at - last.at
        return since_s >= THIN_S or (since_s >= SOONEST_S and abs(read.value_c - last.temperature_c) >= THIN_C)

    def _is(self, trouble: Trouble, words: str = "") -> None:
        if trouble != self._trouble:
            self._news = words
        self._trouble, self.words = trouble, words


def _strange(state: State, of: str, value_c: float, last: ReadingTaken | None, at: float) -> str:
    """Why this is hardly the temperature of what the probe is to be in; empty when it can be."""
    plan = state.plan
    if plan is None or state.current is None:
        return ""
    step, read = plan.step(state.current), temperature(value_c, plan.unit)
    if step.timed and step.solution == of and step.range_c is not None:
        low_c, high_c = step.range_c
        if not low_c - FAR_C <= value_c <= high_c + FAR_C:
            return f"{read} is not taken: is it in {the(step.solution_title)}?"
    since_s = at - last.at if last is not None else 0.0
    if last is None or of == BATH_READING or abs(value_c - last.temperature_c) <= JUMP_C + JUMP_C_PER_S * since_s:
        return ""
    return f"{temperature(last.temperature_c, plan.unit)} to {read} in {since_s:.0f} s is not taken: too fast."


def _meant(state: State, name: str) -> str | None:
    """The id of what this name means, where it is measured at this step; None else."""
    plan = state.plan
    if plan is None or state.current is None or state.outcome is not None:
        return None
    here = {of for of, _ in measured_here(state, plan.step(state.current))}
    if not name:
        return next((s.solution for s in plan.steps if s.ends == "on time" and s.solution in here), None)
    plain = name.casefold()
    return next((of for of in here if plain in (of.casefold(), plan.title_of(of).casefold())), None)


_MOST_BYTES: Final = 65_536
_LONGEST_LINE: Final = 200


class LineFeed:
    """Lines from a descriptor. ends: whether its end is the end, as of a pipe or a line that has hung up."""

    def __init__(self, fd: int, *, ends: bool) -> None:
        self._fd = fd
        self._ends = ends
        self._part = b""

    def fresh(self) -> tuple[str, ...]:
        """The whole lines that have come since the last look; OSError when no more can come."""
        if not select.select([self._fd], [], [], 0)[0]:
            return ()
        content = os.read(self._fd, _MOST_BYTES)
        if not content and self._ends:
            raise OSError(0, "its line has ended")
        *whole, part = (self._part + content).replace(b"\r", b"\n").split(b"\n")
        self._part = part[:_LONGEST_LINE]
        return tuple(line[:_LONGEST_LINE].decode("utf-8", "replace") for line in whole if line.strip())


def open_feed(where: str) -> LineFeed:
    """The feed of `--readings`: a file, a pipe, a serial line, or "-" for standard input.

    With "-" the keys come from the terminal itself from here on. UsageError where that cannot be; Unusable where
    the file cannot be read.
    """
    if where == "-":
        return _from_standard_input()
    try:
        fd = os.open(os.path.expanduser(where), os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC)
        mode = os.fstat(fd).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(0, "it is a folder")
        if os.isatty(fd):
            if os.fstat(fd).st_rdev in (os.makedev(5, 0), *_own_terminals()):
                raise UsageError(f"{where} is this terminal, where you type: name the probe's own line.")
            tty.setraw(fd)
        elif stat.S_ISREG(mode):
            os.lseek(fd, 0, os.SEEK_END)  # what stands there already was read some other day
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


def _own_terminals() -> tuple[int, ...]:
    return tuple(os.fstat(fd).st_rdev for fd in (0, 1, 2) if os.isatty(fd))
