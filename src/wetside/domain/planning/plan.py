"""The plan of one evening: ordered steps with tonight's figures. Data only; `planner.py` works it out.

The whole plan is stored in a session's first event, so it has everything a session needs and refers to no file. A
change of its shape needs a version and an upcaster.
"""

from __future__ import annotations

import math
from typing import Final, Literal

from msgspec import Struct

from wetside.domain.calc.residue import Rule
from wetside.domain.calc.timeline import TimeRow
from wetside.domain.messages import Message, Text
from wetside.domain.planning.setup import KitToMix, Loading, Setup, Tank, TemperatureUnit, Units, VolumeUnit
from wetside.domain.profile.model import (
    Agitation,
    Asks,
    ClockStarts,
    Ends,
    Gate,
    Kind,
    Lid,
    SignalWord,
    Storage,
    Yield,
)
from wetside.memo import remembers_last


class PlannedTick(Struct, frozen=True):
    """A tick (checklist item) of a planned step; `id` is unique in the plan ("b1.developer/lid-on").

    due_step, due_at: its gate, the start or the end of that planned step. killer: a critical item.
    """

    id: str
    text: Text
    due_step: str
    due_at: Gate
    killer: bool = False
    asks: Asks = "yes"
    clears: tuple[str, ...] = ()
    closes: str | None = None
    lid: Lid | None = None
    gloves: bool = False


class PlannedCaution(Struct, frozen=True):
    """A caution of a planned step; see `Caution`."""

    id: str
    signal: SignalWord
    hazard: Text
    consequence: Text
    avoid: Text
    source: str = ""


BATH_READING: Final = "bath"
"""The `of` of a reading of the warm bath, as profiles and the journal have it."""


class PlannedReading(Struct, frozen=True):
    """A temperature to be read: `of` is a solution id, "bath" or "room"; without a range any value will do."""

    of: str
    title: str
    range_c: tuple[float, float] | None = None
    required: bool = True


class Factors(Struct, frozen=True):
    """The factors of a bath's time."""

    temperature: float = 1.0
    use: float = 1.0
    push: float = 1.0


class PlannedStep(Struct, frozen=True):
    """One screen of the evening; `of` is the profile's step id, `id` is unique ("b1.r2.backing").

    planned_s: the time (on time) or minimum (not before); None when the step has no clock. table, factor: for the
    running dose; factor is use × push. push: rows of (stops, factor), for the stops that a time too long is worth.
    about: why its time is what it is; in a mixing evening its hazards, its water or its label.
    drift_table: another kit's times, for advice where the table has one row. sources: ids of the sources of the
    bath's figures; that of the step's own time is `source`. pour, back: all that the solution touches on its way
    in and out.
    """

    id: str
    of: str
    title: str
    stage: str
    kind: Kind
    instruction: Text
    safe_way_out: Text
    source: str
    batch: int | None = None
    roll: int | None = None
    roll_label: str = ""
    cautions: tuple[PlannedCaution, ...] = ()
    ticks: tuple[PlannedTick, ...] = ()
    readings: tuple[PlannedReading, ...] = ()
    solution: str | None = None
    solution_title: str = ""
    storage: Storage | None = None
    pour: tuple[str, ...] = ()
    back: tuple[str, ...] = ()
    rinses: tuple[str, ...] = ()
    volume_ml: float | None = None
    planned_s: float | None = None
    ends: Ends = "when done"
    target_c: float | None = None
    range_c: tuple[float, float] | None = None
    factors: Factors = Factors()
    about: Message | None = None
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
        """Whether the person starts a clock here."""
        return self.kind.traits.timed

    def fills_of_water(self, length_s: float | None) -> int:
        """How often a wash of `length_s` is filled, the first time included; 0 where no change is announced."""
        if self.kind is not Kind.WASH or not self.water_every_s or not length_s:
            return 0
        return math.ceil(length_s / self.water_every_s - 1e-9)


class Batch(Struct, frozen=True):
    """Rolls (indices into the setup's) that share a tank fill. backing_on: developed with their backing on."""

    number: int
    rolls: tuple[int, ...]
    push: float
    volume_ml: float
    backing_on: bool = False


class BottleForecast(Struct, frozen=True):
    """When a bottle in the warm bath is in its range, in s from the instant of the forecast.

    now_c, nearest_c: its temperature then, and the one nearest to the range that it comes to. enters_s: None where
    it does not come into it; span_s: the earliest and the latest enters_s, as in `Tempering`. leaves_s: None where
    it stays in it; too_hot: it leaves it by becoming too hot.
    """

    title: str
    range_c: tuple[float, float]
    now_c: float
    nearest_c: float
    enters_s: float | None
    span_s: tuple[float, float | None] | None
    leaves_s: float | None
    too_hot: bool


class WaterToAdd(Struct, frozen=True):
    """The water that brings the bottle with the narrowest range to its middle.

    what: "hot" or "cold": `ml` from that tap, stirred in, at once or when the bottle `once` is in its range;
    "anew": the bath made anew, `ml` at `at_c`; "none helps": `why`.
    """

    what: Literal["hot", "cold", "anew", "none helps"]
    ml: float = 0.0
    once: str = ""
    at_c: float | None = None
    why: Message | None = None


class Tempering(Struct, frozen=True):
    """A forecast of the bottles in the warm bath: when all are in range and when the first leaves it.

    curve: rows of (t_s, bath_c, developer_c). bottles: the solutions in the warm bath. ready_span_s: the earliest
    and the latest ready_s (None where they may never be in range); None without an error to reckon with.
    forecasts: of each bottle with a range. Plans of earlier versions lack the last four, and have `words` instead.
    """

    ready_s: float | None
    leaves_range_s: float | None
    curve: tuple[tuple[float, float, float], ...] = ()
    words: tuple[Message, ...] = ()
    starting_bath_c: float | None = None
    bottles: tuple[str, ...] = ()
    ready_span_s: tuple[float, float | None] | None = None
    forecasts: tuple[BottleForecast, ...] | None = None
    add: WaterToAdd | None = None


class LoadingOrder(Struct, frozen=True):
    """Whether the first fill's film is loaded while the bottles warm or after, for a process that can do both.

    why: "room" (the forecast leaves time to load meanwhile), "chosen" (by the setup), "too warm" (`over`, a
    bottle's title, may pass the upper end of its range `over_s` into the loading), "never ready" (not all bottles
    come into range) or "no forecast". saved_s: how much sooner the hands are done than in the other order. unseen:
    (step id, seconds from its gate until the bottles are read again).
    """

    order: Loading
    why: Literal["room", "chosen", "too warm", "never ready", "no forecast"]
    saved_s: float = 0.0
    over: str = ""
    over_s: float | None = None
    unseen: tuple[tuple[str, float], ...] = ()


class WaterPlan(Struct, frozen=True):
    """How the tempering bath is mixed; hot_ml and cold_ml are None where the taps cannot make it.

    too_small: why no bath of this size does. words: what earlier versions kept of it.
    """

    target_c: float
    volume_ml: float
    hot_ml: float | None
    cold_ml: float | None
    words: tuple[Message, ...] = ()
    too_small: Message | None = None


class Cost(Struct, frozen=True):
    """Tonight's share of the price of the bottles, in the person's own currency; per_roll: for each roll of film.

    without: titles of the solutions that have no price or no capacity.
    """

    evening: float
    per_roll: float
    without: tuple[str, ...] = ()


LATEST_S = 3600.0
"""A roll is in its last bath at most this long after the handwork begins, as wet film softens (common practice, no
source; the ways out of the shipped processes say "within the hour")."""

MIXED_WITHIN_C = 0.5
"""The accuracy of a bath mixed from two taps in a bucket (our own number)."""


class Plan(Struct, frozen=True):
    """The plan. loading: None where the process has one order only; cost: None where no bottle has a price; kit:
    of a mixing evening, which has no film. Plans of earlier versions have None in all three.

    warnings: to be read before the evening begins, by the codes of `present/alerts.toml`.
    """

    profile_id: str
    profile_title: str
    profile_sha256: str
    setup: Setup
    stages: tuple[tuple[str, str], ...]
    batches: tuple[Batch, ...]
    steps: tuple[PlannedStep, ...]
    rules: tuple[Rule, ...]
    titles: tuple[tuple[str, str], ...]
    first_aid: tuple[str, ...]
    water: WaterPlan | None
    tempering: Tempering | None
    timeline: tuple[TimeRow, ...]
    total_s: float
    dark_s: float
    warnings: tuple[Message, ...]
    sources: tuple[tuple[str, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    unit: TemperatureUnit = "°C"
    hands_done_s: float = 0.0
    volume_unit: VolumeUnit = "ml"
    yields: Yield = "negative"
    loading: LoadingOrder | None = None
    kit: KitToMix | None = None
    cost: Cost | None = None

    @property
    def units(self) -> Units:
        """The units in which the person reads it."""
        return Units(self.unit, self.volume_unit)

    def step(self, id_: str) -> PlannedStep:
        """The planned step with this id; KeyError when there is none."""
        return self.steps[self.number(id_)]

    def number(self, id_: str) -> int:
        """Where the step stands in the order (0 first); KeyError when there is none."""
        return _numbers(self.steps)[id_]

    def tick(self, id_: str) -> PlannedTick | None:
        """The tick with this id; None when there is none."""
        return next((tick for step in self.steps for tick in step.ticks if tick.id == id_), None)

    def bath_to_mix_c(self, step: PlannedStep, of: str) -> tuple[float, float] | None:
        """The wanted range (°C) of the tempering bath where it is first read; None elsewhere. No gate needs it."""
        if of != BATH_READING or step.kind is not Kind.MEASURE or self.water is None or self.tempering is None:
            return None
        return (self.water.target_c - MIXED_WITHIN_C, self.water.target_c + MIXED_WITHIN_C)

    def title_of(self, thing: str) -> str:
        """The title of a solution or vessel; its id where it has none."""
        return dict(self.titles).get(thing, thing)


@remembers_last
def _numbers(steps: tuple[PlannedStep, ...]) -> dict[str, int]:
    return {step.id: number for number, step in enumerate(steps)}


NO_PLAN: Final = Plan(
    "", "", "", Setup("", "", (), Tank(0, ()), ()), (), (), (), (), (), (), None, None, (), 0.0, 0.0, ()
)
"""The plan of a session that has not begun, in which nothing is done."""
