"""The rows of a session log: what it says about each step, reading, tick, call and so on.

One job: name what the log holds, as frozen values. `log.py` and `steps.py` fill them; `toml.py`, `csv.py` and
`markdown.py` write them down. Nothing is worked out here.
"""

from __future__ import annotations

from wetside.domain.session.events import Reader, Sureness
from wetside.export.wall_times import WallTime
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Correction:
    """A clock's start moved by `by_s` (positive: it had been marked late). `sure`: the person said so."""

    when: WallTime
    by_s: float
    text: str
    marked: WallTime
    corrected: WallTime
    sure: Sureness = "stated"


@dataclass(frozen=True, slots=True)
class EndMove:
    """A reading moved the planned end, in seconds after the start."""

    when: WallTime
    old_s: float
    new_s: float
    uncertainty_s: float
    why: str


@dataclass(frozen=True, slots=True)
class StepSpan:
    """From when to when; `ended` is None where the record does not say."""

    began: WallTime
    ended: WallTime | None


@dataclass(frozen=True, slots=True)
class StepLog:
    """One planned step beside what happened.

    planned_start: by the plan's chart of the evening, from its beginning on; None where the chart has no bar of
    this step alone. planned_s: on the plan; last_planned_s: after readings moved it. first_marked: the start as
    first marked; started: as corrected. ended: where a bath is poured out, the moment pouring out began, else the
    moment the step was left; planned_end is the same moment as planned (where draining counts, the drain lead
    before the time is over). left: when the guide went on. due_s, actual_s: from started to planned_end and to
    ended, less pauses; difference_s is between them. Each is None where there was none.
    read_before_c: the bath's solution as last read within 20 min before `started`; read_within_c: as read in it.
    doses: (s in the bath, share of the developer's work done by then, 1 for all of it), as its readings tell; the
    last is at its end, the draining counted where that counts.
    """

    id: str
    title: str
    stage: str
    kind: str
    batch: int | None
    roll: int | None
    roll_label: str
    solution: str | None
    ends: str
    verdict: str
    planned_s: float | None
    last_planned_s: float | None
    due_s: float | None
    actual_s: float | None
    difference_s: float | None
    opened: WallTime | None
    planned_start: WallTime | None
    first_marked: WallTime | None
    started: WallTime | None
    started_sure: Sureness | None
    planned_end: WallTime | None
    ended: WallTime | None
    ended_sure: Sureness | None
    left: WallTime | None
    keys_ignored: int
    read_before_c: float | None
    read_within_c: tuple[float, ...]
    corrections: tuple[Correction, ...]
    end_moves: tuple[EndMove, ...]
    pauses: tuple[StepSpan, ...]
    doses: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingLog:
    """A temperature: the text as typed or as the probe gave it, its value in `unit`, and who read it."""

    when: WallTime
    step: str
    of: str
    title: str
    text: str
    value: float
    unit: str
    wanted: tuple[float, float] | None
    verdict: str
    by: Reader = "person"


@dataclass(frozen=True, slots=True)
class TickLog:
    """A statement that was confirmed, and when it was taken back, if it was.

    during: the step that stood open then. step: the one it belongs to; `during` where the plan does not know it.
    """

    when: WallTime
    id: str
    text: str
    step: str
    during: str
    killer: bool
    sure: Sureness
    typed: str
    taken_back: WallTime | None


@dataclass(frozen=True, slots=True)
class DeviationLog:
    """One recorded difference from the plan.

    what: "override", "early or late", "correction", "wait" or "mishap".
    """

    when: WallTime
    step: str
    what: str
    key: str
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class CueLog:
    """A call: when it was planned, and when it was given or found missed, and answered."""

    step: str
    call: str
    planned: WallTime
    given: WallTime | None
    missed: WallTime | None
    why_missed: str
    answered: WallTime | None


@dataclass(frozen=True, slots=True)
class JumpLog:
    """A suspend or a step of the wall clock."""

    when: WallTime
    what: str
    seconds: float


@dataclass(frozen=True, slots=True)
class ResumeLog:
    """The guide was opened again after `gap_s`, told by which clock; took_over: from another terminal.

    how: "same boot", "wall clock", or "not known" where no clock tells; `gap_s` is 0 then.
    """

    when: WallTime
    gap_s: float
    how: str
    took_over: bool


@dataclass(frozen=True, slots=True)
class NoteLog:
    """Free words, about the evening or one roll: `roll` counts from 0 in the plan."""

    when: WallTime
    about: str
    roll: int | None
    roll_label: str
    text: str


@dataclass(frozen=True, slots=True)
class Debit:
    """What the session took from one bottle on the shelf, as plain words and numbers."""

    bottle: str
    solution: str
    rolls: float
    text: str = ""
