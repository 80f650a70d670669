"""The commands of a session, decided in `decide.py`. `at` is in seconds on the session's clock."""

from __future__ import annotations

from typing import Literal

from wetside.domain.session.events import (
    ClockJumped,
    CueGiven,
    CueMissed,
    Look,
    MishapId,
    Reader,
    SessionBegan,
    SessionResumed,
    Sureness,
)
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Begin:
    """Begin a session with the plan of `began`; opens its first step."""

    began: SessionBegan


@dataclass(frozen=True, slots=True)
class Record:
    """Record an event that needs no decision: a resume, a jump of the clock, a call that was made or missed."""

    event: SessionResumed | ClockJumped | CueGiven | CueMissed


@dataclass(frozen=True, slots=True)
class MakeTick:
    """Confirm a tick. `typed` and `expected` are for ticks that ask for a number (bells heard, bells rung).

    also: plain ticks of the same screen that the same answer confirms; never a critical one.
    """

    at: float
    tick: str
    sure: Sureness = "stated"
    typed: str = ""
    expected: str = ""
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UndoTick:
    at: float
    tick: str


@dataclass(frozen=True, slots=True)
class Override:
    """Pass a gate against the rule. `what` is a blocker's key, see `gates.Blocker`."""

    at: float
    step: str
    what: str
    reason: str


@dataclass(frozen=True, slots=True)
class TakeReading:
    """A temperature was read. confirmed: the person was asked about a large move of the end and said yes.

    by: the person, or a probe that reads by itself.
    """

    at: float
    of: str
    temperature_c: float
    text: str
    confirmed: bool = False
    by: Reader = "person"


@dataclass(frozen=True, slots=True)
class StartStep:
    """Start the current step's clock after a lead-in."""

    at: float
    step: str
    lead_in_s: float
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class CorrectClock:
    """The clock was started late (by_s > 0) or early."""

    at: float
    step: str
    by_s: float
    text: str = ""


@dataclass(frozen=True, slots=True)
class Pause:
    at: float
    step: str


@dataclass(frozen=True, slots=True)
class Unpause:
    at: float
    step: str


@dataclass(frozen=True, slots=True)
class BeginDrain:
    """Start pouring out. early: the person has confirmed that an on-time bath ends before its time.

    began_at: when it really began, as stated afterwards; `sure` then says how well that is known.
    """

    at: float
    step: str
    early: bool = False
    began_at: float | None = None
    sure: Sureness = "stated"


@dataclass(frozen=True, slots=True)
class TakeBackDrain:
    """Pouring out was marked by mistake: the bath is still in the tank."""

    at: float
    step: str


@dataclass(frozen=True, slots=True)
class EndStep:
    """End the current step and open the next one.

    also: open plain ticks due by then that the same answer confirms first; never a critical one.
    """

    at: float
    step: str
    keys_ignored: int = 0
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AnswerCue:
    """Answer a call; one that repeats is silent from then on."""

    at: float
    step: str
    call: str


@dataclass(frozen=True, slots=True)
class Hold:
    """Hold the guide; the chemistry goes on."""

    at: float


@dataclass(frozen=True, slots=True)
class Release:
    at: float


@dataclass(frozen=True, slots=True)
class AddNote:
    """Add a note. roll: the roll it is about, as its place in the setup. look: of a note on how film came out."""

    at: float
    text: str
    about: Literal["note", "dark", "look"] = "note"
    roll: int | None = None
    look: Look | None = None


@dataclass(frozen=True, slots=True)
class NoteMishap:
    """Something went wrong in the light. about: one of `mishaps.choices_about`, or ""."""

    at: float
    what: MishapId
    about: str


@dataclass(frozen=True, slots=True)
class Abandon:
    """Stop the evening for good; the record is closed as abandoned."""

    at: float
    reason: str


InStep = (
    Hold
    | MakeTick
    | UndoTick
    | Override
    | StartStep
    | CorrectClock
    | Pause
    | Unpause
    | BeginDrain
    | TakeBackDrain
    | EndStep
)
"""Commands about the current step; refused while the guide is on hold."""

Command = InStep | Begin | Record | TakeReading | AnswerCue | Release | AddNote | NoteMishap | Abandon
