"""What a person sees of a session, as one frozen, comparable value.

The full screen, the far view, the plain form and a follower draw it; none of them derives anything. It holds words
and numbers, no layout and no colour. `presenter.py` builds it; what the keys do now is in `key_handler.py`.
"""

from __future__ import annotations

from typing import Final, Literal

from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.profile.model import Caution, Kind
from wetside.domain.session.outcome import Outcome
from wetside.frozen import dataclass

Mark = Literal["done", "now", "next", "later", "running", "not done", "in part"]
Face = Literal["down", "up", "over", "lead-in", "since", "still"]

NOT_FINISHED: Final = "not finished"


@dataclass(frozen=True, slots=True)
class RailRow:
    """One row of the rail: a stage (depth 0) or a step of the current stage (depth 1)."""

    text: str
    mark: Mark
    depth: int


@dataclass(frozen=True, slots=True)
class TickRow:
    """A statement to confirm. up: SPACE would confirm this one now. due: when it falls due, in words."""

    id: str
    text: str
    made: bool
    killer: bool
    up: bool
    due: str = ""
    overridden: bool = False


@dataclass(frozen=True, slots=True)
class ClockView:
    """The large digits. seconds: what they show (never negative); words: what that number is.

    end_at: the planned end in session seconds; end_clock: its wall time, "" without one. face: how it runs.
    drain_s: where the digits count to the moment pouring out begins, how long draining then takes until the end.
    late: a bath that must be stopped on time is over it.
    """

    face: Face
    seconds: int
    words: str
    end_clock: str = ""
    total_s: int | None = None
    elapsed_s: int = 0
    drain_s: int = 0
    late: bool = False
    end_at: float | None = None

    @property
    def digits(self) -> str:
        """The number as it is shown: "3:07"."""
        return minutes_seconds(self.seconds)


@dataclass(frozen=True, slots=True)
class BackgroundClock:
    """A clock that runs while the guide shows something else."""

    text: str
    seconds: int
    done: bool

    @property
    def words(self) -> str:
        """ "Stabiliser, roll 2: 0:41 to go" or "… time is up"."""
        return f"{self.text}: time is up" if self.done else f"{self.text}: {minutes_seconds(self.seconds)} to go"


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A temperature asked for. verdict in words; wanted "" where any value will do."""

    of: str
    title: str
    value: str
    wanted: str
    verdict: Literal["not read", "in range", "too cold", "too hot", "read"]
    required: bool


@dataclass(frozen=True, slots=True)
class StandingLine:
    """What stays on every screen. rule: it tells of a rule that was overridden."""

    text: str
    rule: bool = False

    @property
    def words(self) -> str:
        """The whole line."""
        return f"Against the rule: {self.text}" if self.rule else self.text


@dataclass(frozen=True, slots=True)
class View:
    """One moment of a session, ready to be drawn; what a closed session has none of has a default.

    in_bath: a bath of this step has been started: its digits keep their place until the tank is empty.
    by_eye: no bell is heard: calls are shown large, and as long as they hold.
    """

    session: str
    practice: bool
    speed: float
    stage: str
    wall: str
    elapsed: str
    rail: tuple[RailRow, ...]
    kind: Kind
    title: str
    instruction: str
    act: str
    facts: tuple[str, ...]
    standing: tuple[StandingLine, ...]
    unit: str
    batch: str = ""
    step: str = ""
    place: str = ""
    cautions: tuple[Caution, ...] = ()
    remember: tuple[str, ...] = ()
    clock: ClockView | None = None
    readings: tuple[ReadingRow, ...] = ()
    ticks: tuple[TickRow, ...] = ()
    meanwhile: tuple[TickRow, ...] = ()
    background: tuple[BackgroundClock, ...] = ()
    next: str = ""
    held: bool = False
    dark: bool = False
    safe_way_out: str = ""
    closed: str = ""
    fill: str = ""
    in_bath: bool = False
    by_eye: bool = False


def outcome_words(outcome: Outcome | None, deviations: int) -> str:
    """How a session ended: "complete", "complete with deviations (2)"; NOT_FINISHED where it has not (None)."""
    if outcome is None:
        return NOT_FINISHED
    return f"{outcome} ({deviations})" if outcome == "complete with deviations" else outcome
