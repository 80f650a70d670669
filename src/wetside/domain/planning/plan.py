"""The plan of one evening: ordered steps with tonight's figures. Data only; `planning.py` works it out.

The plan goes whole into a session's first event, so that a record explains itself; therefore everything a
running session needs is here and nothing points back to a profile file.
"""

from __future__ import annotations

import math
from typing import Literal

from wetside.domain.calc.wording import TemperatureUnit as TemperatureUnit
from wetside.domain.calc.wording import VolumeUnit as VolumeUnit
from wetside.domain.planning.setup import KitToMix, Loading, Setup
from wetside.domain.profile.model import Agitation, Caution, ClockStarts, Ends, Kind, Lid, Yield
from wetside.frozen import dataclass, remembers_last


@dataclass(frozen=True, slots=True)
class PlannedTick:
    """A tick of a planned step. `id` is unique in the plan ("b1.developer/lid-on").

    due_step and due_at say which gate it belongs to: the start or the end of that planned step.
    """

    id: str
    text: str
    due_step: str
    due_at: Literal["start", "end"]
    killer: bool = False
    asks: Literal["yes", "bells", "look"] = "yes"
    clears: tuple[str, ...] = ()
    closes: str | None = None
    lid: Lid | None = None
    gloves: bool = False


@dataclass(frozen=True, slots=True)
class PlannedReading:
    """A temperature to be read in a planned step: `of` is a solution id, "bath" or "room"; no range, any value."""

    of: str
    title: str
    range_c: tuple[float, float] | None = None
    required: bool = True


@dataclass(frozen=True, slots=True)
class Factors:
    """What lengthens or shortens a timed bath; 1.0 where nothing does."""

    temperature: float = 1.0
    use: float = 1.0
    push: float = 1.0


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One screen of tonight. `of` is the profile's step id; `id` is unique ("b1.r2.backing").

    planned_s: the bath's time (on time) or minimum (not before); None when the step has no clock of its own.
    table, factor: what the running dose needs; factor is use x push (temperature comes from readings).
    push: rows of (stops, factor) of what is developed by the clock; what a time too long is worth is read from it.
    drift_table: another kit's times, for advice where the table has one row.
    sources: ids of what the bath's time, temperature, use and push come from; the step's own time from `source`.
    pour: everything the solution touches on its way in (funnel, vessel, others); back: on its way out.
    """

    id: str
    of: str
    title: str
    stage: str
    kind: Kind
    instruction: str
    safe_way_out: str
    source: str
    batch: int | None = None
    roll: int | None = None
    roll_label: str = ""
    cautions: tuple[Caution, ...] = ()
    ticks: tuple[PlannedTick, ...] = ()
    readings: tuple[PlannedReading, ...] = ()
    solution: str | None = None
    solution_title: str = ""
    storage: Literal["bottle", "one-shot", "tap"] | None = None
    pour: tuple[str, ...] = ()
    back: tuple[str, ...] = ()
    rinses: tuple[str, ...] = ()
    volume_ml: float | None = None
    planned_s: float | None = None
    ends: Ends = "when done"
    target_c: float | None = None
    range_c: tuple[float, float] | None = None
    factors: Factors = Factors()
    in_words: str = ""
    table: tuple[tuple[float, float], ...] = ()
    table_tolerance_c: float = 0.15
    factor: float = 1.0
    shortest_s: float = 0.0
    agitation: Agitation | None = None
    clock_starts: ClockStarts = "pour begins"
    draining_counts: bool = True
    lead_in_s: float = 5.0
    drain_lead_s: float = 10.0
    background: bool = False
    joins: str | None = None
    pausable: bool = False
    hand_in_water: bool = False
    in_the_dark: bool = False
    water_every_s: float | None = None
    bell_every_s: float | None = None
    remember: tuple[str, ...] = ()
    lid: Lid | None = None
    makes_light_safe: bool = False
    bleaches: bool = False
    push: tuple[tuple[float, float], ...] = ()
    drift_table: tuple[tuple[float, float], ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def timed(self) -> bool:
        """Whether the person starts a clock here (baths, washes, hanging, and the dark)."""
        return self.kind in (Kind.BATH, Kind.WASH, Kind.HANG, Kind.DARK)

    def fills_of_water(self, length_s: float | None) -> int:
        """How often a wash of `length_s` is filled, the first time included; 0 where no change is called."""
        if self.kind is not Kind.WASH or not self.water_every_s or not length_s:
            return 0
        return math.ceil(length_s / self.water_every_s - 1e-9)


@dataclass(frozen=True, slots=True)
class Batch:
    """Rolls that share a tank fill. `rolls` are indices into the setup's rolls.

    backing_on: they go through the developer with their backing on.
    """

    number: int
    rolls: tuple[int, ...]
    push: float
    volume_ml: float
    backing_on: bool = False


@dataclass(frozen=True, slots=True)
class WarningText:
    """A warning to be read before the evening begins; `code` is stable."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class TimeRow:
    """One bar of the evening's chart, in seconds from the start of the evening."""

    row: str
    label: str
    start_s: float
    end_s: float
    dark: bool = False


@dataclass(frozen=True, slots=True)
class Tempering:
    """The forecast before any reading: when all bottles are in range and when the first leaves it.

    curve rows: (t_s, bath_c, developer_c). bottles: the solutions that stand in the warm bath, read or not; none
    in a plan of an earlier version. ready_span_s: earliest and latest of ready_s as far as it is known (no latest
    where they may never be in range); None in a plan of an earlier version.
    """

    ready_s: float | None
    leaves_range_s: float | None
    curve: tuple[tuple[float, float, float], ...]
    words: tuple[str, ...]
    starting_bath_c: float | None = None
    bottles: tuple[str, ...] = ()
    ready_span_s: tuple[float, float | None] | None = None


@dataclass(frozen=True, slots=True)
class LoadingOrder:
    """When the first fill's film is loaded, of a process that can do it while the bottles warm or after.

    why: "room" (the forecast leaves room for loading meanwhile), "chosen" (the setup asks for warming first), "too
    warm" (`over`, a bottle's title, may pass the upper end of its range `over_s` into the loading), "never ready"
    (not all bottles come into range) or "no forecast". saved_s: how much sooner the hands are done than in the
    other order. unseen: (step id, seconds from its gate until the bottles are read again).
    """

    order: Loading
    why: Literal["room", "chosen", "too warm", "never ready", "no forecast"]
    saved_s: float = 0.0
    over: str = ""
    over_s: float | None = None
    unseen: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class WaterPlan:
    """How the tempering bath is mixed. None where the taps cannot make it; `words` says what is missing."""

    target_c: float
    volume_ml: float
    hot_ml: float | None
    cold_ml: float | None
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cost:
    """Tonight's share of the price of the bottles, in the person's own currency; `per_roll`: of each roll of film.

    without: titles of what is poured and has no price or no capacity.
    """

    evening: float
    per_roll: float
    without: tuple[str, ...] = ()


LATEST_S = 3600.0
"""A roll is in its last bath at most this long after the handwork begins, as wet film softens (common practice, no
source; the ways out of the shipped processes say "within the hour")."""

MIXED_WITHIN_C = 0.5
"""A bath mixed from two taps in a bucket comes out about this near (our own number)."""


@dataclass(frozen=True, slots=True)
class RuleText:
    """A residue rule with the titles a sentence needs."""

    residue: str
    solution: str
    why: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Profile x setup x shelf, worked out.

    loading: None where the process has one order only, and in a plan of an earlier version. cost: None where no
    bottle has a price, and in a plan of an earlier version. kit: what a mixing evening mixes; there is no film in
    it then. None where film is developed.
    """

    profile_id: str
    profile_title: str
    profile_sha256: str
    setup: Setup
    stages: tuple[tuple[str, str], ...]
    batches: tuple[Batch, ...]
    steps: tuple[PlannedStep, ...]
    rules: tuple[RuleText, ...]
    titles: tuple[tuple[str, str], ...]
    first_aid: tuple[str, ...]
    water: WaterPlan | None
    tempering: Tempering | None
    timeline: tuple[TimeRow, ...]
    total_s: float
    dark_s: float
    warnings: tuple[WarningText, ...]
    sources: tuple[tuple[str, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    unit: TemperatureUnit = "°C"
    hands_done_s: float = 0.0
    volume_unit: VolumeUnit = "ml"
    yields: Yield = "negative"
    loading: LoadingOrder | None = None
    kit: KitToMix | None = None
    cost: Cost | None = None

    def step(self, id_: str) -> PlannedStep:
        """The planned step with this id; KeyError when there is none."""
        return self.steps[self.number(id_)]

    def number(self, id_: str) -> int:
        """Where the step stands in the order (0 first); KeyError when there is none."""
        return _numbers(self.steps)[id_]

    def bath_to_mix_c(self, step: PlannedStep, of: str) -> tuple[float, float] | None:
        """How warm the tempering bath is to be where it is first read, °C; None elsewhere. No gate hangs on it."""
        if of != "bath" or step.kind is not Kind.MEASURE or self.water is None or self.tempering is None:
            return None
        return (self.water.target_c - MIXED_WITHIN_C, self.water.target_c + MIXED_WITHIN_C)

    def title_of(self, thing: str) -> str:
        """What a solution or vessel is called on screen; its id where it has no title."""
        return dict(self.titles).get(thing, thing)


@remembers_last
def _numbers(steps: tuple[PlannedStep, ...]) -> dict[str, int]:
    return {step.id: number for number, step in enumerate(steps)}
