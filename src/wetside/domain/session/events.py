"""The events of a session: past tense, flat, plain numbers in base units.

`at` is seconds on the session's own clock (0 when it began; suspend counts, wall-clock steps do not).
`sure` says how a thing is known: "measured" by the tool, "stated" by the person, "inferred", "unknown".
A change of shape needs a new version and an upcaster in `storage/upcasters.py`.
"""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

from wetside.domain.messages import Message, Text, message
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Yield
from wetside.domain.session.outcome import Outcome

MishapId = Literal[
    "wrong bath",
    "lid off",
    "overrun",
    "not covered",
    "contaminated",
    "forgotten",
    "spill",
    "off reel",
    "thermometer",
]
"""What can go wrong in the light, in the order it is offered: the most urgent first."""

Reader = Literal["person", "probe"]
"""Who read a temperature."""

Sureness = Literal["measured", "stated", "inferred", "unknown"]

Edge = Literal["normal", "weak", "dense", "missing", "fogged"]
"""How the edge markings of developed film look."""

WELL: Final = "well"
OWN_WORDS: Final = "own words"


class Look(Struct, frozen=True):
    """How film came out. fault: `WELL`, `OWN_WORDS` (the text of the note), or the id of a row of
    `present/film_faults.toml` for film that yields `yields`. edge: "" where it was not noted."""

    fault: str
    edge: Literal[Edge, ""]
    yields: Yield


class SessionBegan(Struct, frozen=True):
    """The first event: everything needed to understand the rest. `wall` is RFC 3339 UTC, `offset_s` the zone's."""

    at: float
    session: str
    wall: str
    offset_s: int
    boot_id: str
    boot_s: float
    version: str
    profile_text: str
    plan: Plan
    practice: bool
    speed: float
    terminal: str
    kind: Literal["session_began"] = "session_began"


class SessionResumed(Struct, frozen=True):
    """The guide was opened again after `gap_s`. how: by which clock the gap is known.

    "not known": after a restart with a wall clock that had been put back; `gap_s` is then 0.
    """

    at: float
    wall: str
    offset_s: int
    boot_id: str
    boot_s: float
    terminal: str
    gap_s: float
    how: Literal["same boot", "wall clock", "not known"]
    took_over: bool = False
    kind: Literal["session_resumed"] = "session_resumed"


class ClockJumped(Struct, frozen=True):
    """A suspend, or a step of the wall clock; elapsed times are right in both cases."""

    at: float
    what: Literal["suspend", "wall step", "zone"]
    seconds: float
    kind: Literal["clock_jumped"] = "clock_jumped"


class OfStep(Struct, frozen=True):
    """An event of one step."""

    at: float
    step: str


class StepOpened(OfStep, frozen=True):
    kind: Literal["step_opened"] = "step_opened"


BY_EYE = "by eye"
"""Stored instead of the number of bells where the person hears none and watches the screen."""


class TickMade(Struct, frozen=True):
    """A tick was confirmed. `typed`: the answer to a tick that asks for one, or `BY_EYE` for a person who watches
    the screen instead of counting bells."""

    at: float
    tick: str
    sure: Sureness = "stated"
    typed: str = ""
    kind: Literal["tick_made"] = "tick_made"


class TickUndone(Struct, frozen=True):
    at: float
    tick: str
    kind: Literal["tick_undone"] = "tick_undone"


REASONS: Final = (
    message("done in another order"),
    message("not possible tonight"),
    message("not needed tonight"),
    message("sheet says otherwise"),
)
"""The reasons to go on against a rule that are offered, besides one's own words."""


class GateOverridden(OfStep, frozen=True):
    """A gate was passed against the rule, with a reason. what: the tick, reading, time or residue it was about.

    why: why it was shut. reason: typed, or one of `REASONS`.
    """

    what: str
    why: Message
    reason: Text
    kind: Literal["gate_overridden"] = "gate_overridden"


class ReadingTaken(OfStep, frozen=True):
    """A temperature: `of` is a solution id, "bath" or "room"; `text` as it was typed, or as the probe gave it."""

    of: str
    temperature_c: float
    text: str
    by: Reader = "person"
    kind: Literal["reading_taken"] = "reading_taken"


class ClockStarted(OfStep, frozen=True):
    """A step's clock: `t0` is at + the lead-in."""

    t0: float
    kind: Literal["clock_started"] = "clock_started"


class ClockCorrected(OfStep, frozen=True):
    """The clock was started late (by_s > 0) or early (by_s < 0). The first mark stays."""

    by_s: float
    text: str = ""
    kind: Literal["clock_corrected"] = "clock_corrected"


class EndReading(Struct, frozen=True):
    """The reading that moved a developer's end, or left it.

    at_s: when it was made in the tank (s after the start), None of one in the bottle. drop_c: the drop in the tank
    at the pour (K). passed: the new end is over already. left_table_at_s: when the forecast leaves the sheet's
    table (s after the start); None when it does not. stays: why the table does not serve it, so that the end
    stays; one_row: the sheet has one temperature, so that there is no time for this one.
    """

    read_c: float
    at_s: float | None = None
    drop_c: float = 0.0
    passed: bool = False
    left_table_at_s: float | None = None
    stays: Message | None = None
    one_row: bool = False


class EndMoved(OfStep, frozen=True):
    """A reading moved a bath's planned end (seconds after t0), or left it.

    by: the reading; None where an earlier version kept `why` in words.
    """

    old_s: float
    new_s: float
    uncertainty_s: float
    why: Message | None = None
    by: EndReading | None = None
    kind: Literal["end_moved"] = "end_moved"


class PauseBegan(OfStep, frozen=True):
    kind: Literal["pause_began"] = "pause_began"


class PauseEnded(OfStep, frozen=True):
    kind: Literal["pause_ended"] = "pause_ended"


class DrainBegan(OfStep, frozen=True):
    """Pouring out began. `sure` is "stated" where the person said so afterwards."""

    sure: Sureness = "measured"
    kind: Literal["drain_began"] = "drain_began"


class DrainTakenBack(OfStep, frozen=True):
    """Pouring out was marked by mistake: the bath is still in the tank, and its clock has run on."""

    kind: Literal["drain_taken_back"] = "drain_taken_back"


class StepEnded(OfStep, frozen=True):
    """A step ended. `early_s`: how much too early (below zero: too late) an on-time bath was poured out."""

    early_s: float = 0.0
    keys_ignored: int = 0
    kind: Literal["step_ended"] = "step_ended"


class CueGiven(OfStep, frozen=True):
    """A call was made at `at`; `planned` is its planned moment."""

    call: str
    planned: float
    kind: Literal["cue_given"] = "cue_given"


class CueMissed(OfStep, frozen=True):
    """A call was not made at its moment, and is not made late. why: the machine was asleep, or the guide away."""

    call: str
    planned: float
    why: Literal["asleep", "away"] | Message
    kind: Literal["cue_missed"] = "cue_missed"


class CueAnswered(OfStep, frozen=True):
    call: str
    kind: Literal["cue_answered"] = "cue_answered"


class HoldBegan(Struct, frozen=True):
    """The guide is on hold; the clocks of the baths run on."""

    at: float
    kind: Literal["hold_began"] = "hold_began"


class HoldEnded(Struct, frozen=True):
    at: float
    kind: Literal["hold_ended"] = "hold_ended"


DARK_TROUBLES: Final = (
    message("light got in"),
    message("film fell down"),
    message("reel jammed"),
    message("hurt"),
)
"""What may go wrong in the dark, as it is offered and noted."""


class NoteAdded(Struct, frozen=True):
    """A note. `about`: "note", "dark" (something went wrong in the dark) or "look" (how a roll came out).

    text: typed, one of `DARK_TROUBLES`, or "not kept" of a reading; "" where `look` says it all. look: None of one
    that an earlier version kept in words alone.
    """

    at: float
    text: Text
    about: Literal["note", "dark", "look"] = "note"
    roll: int | None = None
    look: Look | None = None
    kind: Literal["note_added"] = "note_added"


class MishapHappened(OfStep, frozen=True):
    """Something went wrong in the light. case, suspects: as `mishaps.find` judged it then.

    suspects: solutions whose bottle it makes doubtful. text: words of an earlier version.
    """

    what: MishapId
    case: str
    about: str
    suspects: tuple[str, ...]
    text: Message | None = None
    kind: Literal["mishap_happened"] = "mishap_happened"


class SessionClosed(Struct, frozen=True):
    """The session was closed. reason: of an abandoned session, typed, or "safe way out"."""

    at: float
    outcome: Outcome
    deviations: int
    reason: str = ""
    kind: Literal["session_closed"] = "session_closed"


Addition = GateOverridden | ReadingTaken | NoteAdded | CueGiven | CueMissed | CueAnswered
"""Events that only append to a collection of the state."""

ClockChange = ClockCorrected | EndMoved | PauseBegan | PauseEnded | DrainBegan | DrainTakenBack
"""Events that change a running clock."""

Change = (
    SessionResumed
    | ClockJumped
    | StepOpened
    | TickMade
    | TickUndone
    | ClockStarted
    | ClockChange
    | StepEnded
    | HoldBegan
    | HoldEnded
    | MishapHappened
    | SessionClosed
)
"""All other events."""

Event = SessionBegan | Addition | Change
