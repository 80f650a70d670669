"""The commands of a session, decided in `decide.py`. `at` is in seconds on the session's clock."""

from __future__ import annotations

from msgspec import Struct

from wetside.domain.messages import Text
from wetside.domain.session import events as e
from wetside.domain.session.events import MishapId, Reader, Sureness


class MakeTick(Struct, frozen=True):
    """Confirm a tick. `typed` and `expected` are for ticks that ask for a number (bells heard, bells rung).

    also: plain ticks of the same screen that the same answer confirms; never a critical one.
    """

    at: float
    tick: str
    typed: str = ""
    expected: str = ""
    also: tuple[str, ...] = ()


class Override(e.OfStep, frozen=True):
    """Pass a gate against the rule. `what` is a blocker's key, see `gates.Blocker`."""

    what: str
    reason: Text


class TakeReading(Struct, frozen=True):
    """A temperature was read. confirmed: the person was asked about a large move of the end and said yes.

    by: the person, or a probe that reads by itself.
    """

    at: float
    of: str
    temperature_c: float
    text: str
    confirmed: bool = False
    by: Reader = "person"


class StartStep(e.OfStep, frozen=True):
    """Start the current step's clock after a lead-in."""

    lead_in_s: float
    confirmed: bool = False


class BeginDrain(e.OfStep, frozen=True):
    """Start pouring out. early: the person has confirmed that an on-time bath ends before its time.

    began_at: when it really began, as stated afterwards; `sure` then says how well that is known.
    """

    early: bool = False
    began_at: float | None = None
    sure: Sureness = "stated"


class EndStep(e.OfStep, frozen=True):
    """End the current step and open the next one.

    also: open plain ticks due by then that the same answer confirms first; never a critical one.
    """

    keys_ignored: int = 0
    also: tuple[str, ...] = ()


class NoteMishap(Struct, frozen=True):
    """Something went wrong in the light. about: one of `mishaps.choices_about`, or ""."""

    at: float
    what: MishapId
    about: str


class Abandon(Struct, frozen=True):
    """Stop the evening for good; the record is closed as abandoned."""

    at: float
    reason: str


# A command that asks for one event, as it is, is that event, here by a name that asks.
AddNote = e.NoteAdded
AnswerCue = e.CueAnswered
CorrectClock = e.ClockCorrected
Hold = e.HoldBegan
Pause = e.PauseBegan
Release = e.HoldEnded
TakeBackDrain = e.DrainTakenBack
UndoTick = e.TickUndone
Unpause = e.PauseEnded

Report = e.SessionBegan | e.SessionResumed | e.ClockJumped | e.CueGiven | e.CueMissed
"""What the guide reports, by the event itself: begun, gone on with, a jump of the clock, a call made or missed."""

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

Command = InStep | Report | TakeReading | AnswerCue | Release | AddNote | NoteMishap | Abandon
