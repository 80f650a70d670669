"""What a person sees of a session, as one frozen, comparable value.

The full screen, the far view, the plain form and a follower draw it without computing anything. It holds words and
numbers, no layout and no colour. `presenter.py` builds it; the labels of the keys come from `key_handler.py`.
"""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

from wetside.domain.profile.model import Caution, Kind
from wetside.domain.session.outcome import Outcome
from wetside.present.wording import minutes_seconds

Mark = Literal["done", "now", "next", "later", "running", "not done", "in part"]
Face = Literal["down", "up", "over", "lead-in", "since", "still"]

NOT_FINISHED: Final = "not finished"


class RailRow(Struct, frozen=True):
    """One row of the rail: a stage (depth 0) or a step of the current stage (depth 1)."""

    text: str
    mark: Mark
    depth: int


class TickRow(Struct, frozen=True):
    """A statement to confirm. up: SPACE would confirm this one now. due: when it falls due, in words."""

    id: str
    text: str
    made: bool
    killer: bool
    up: bool
    due: str = ""
    overridden: bool = False


class ClockView(Struct, frozen=True):
    """The large digits. seconds: the number shown (never negative); words: its meaning. face: how it runs.

    end_at: the planned end in session seconds; end_clock: its time of day, "" without one. drain_s: where the
    digits count to the moment pouring out begins, the time from then to the end. late: a bath that must end on
    time is past its end.
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
        """The number in minutes and seconds: "3:07"."""
        return minutes_seconds(self.seconds)


class BackgroundClock(Struct, frozen=True):
    """A clock that runs in the background."""

    text: str
    seconds: int
    done: bool

    @property
    def words(self) -> str:
        """The line of the clock: "Stabiliser, roll 2: 0:41 to go" or "… time is up"."""
        return f"{self.text}: time is up" if self.done else f"{self.text}: {minutes_seconds(self.seconds)} to go"


class ReadingRow(Struct, frozen=True):
    """A temperature the step asks for. wanted: the range in words, "" where any value is accepted."""

    of: str
    title: str
    value: str
    wanted: str
    verdict: Literal["not read", "not read lately", "in range", "too cold", "too hot", "read"]
    required: bool


class StandingLine(Struct, frozen=True):
    """A line that stays on every screen. rule: it is about an overridden rule."""

    text: str
    rule: bool = False

    @property
    def words(self) -> str:
        """The whole line."""
        return f"Against the rule: {self.text}" if self.rule else self.text


class View(Struct, frozen=True):
    """A session at one moment, ready to be drawn. A closed session leaves the fields with a default empty.

    in_bath: the bath of this step has been started; its digits keep their place until the tank is empty. by_eye:
    the person cannot hear the bell, so calls are shown large for as long as they are valid.
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
    if outcome in ("complete", "complete with deviations"):
        return f"complete with deviations ({deviations})" if deviations else "complete"
    return outcome
