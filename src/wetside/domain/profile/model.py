"""What a process is, as data: solutions, vessels, cautions and the ordered steps of one profile.

Frozen values in base units (seconds, °C, millilitres). `files/profile_file.py` fills them from TOML, by the names
of the fields; `domain/planning/planner.py` makes a plan of them.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Literal, TypeVar, get_args

from msgspec import Struct

from wetside.domain.calc.developer_time import Use as Use
from wetside.domain.messages import Message, Text

FORMAT = 1

FilmKind = Literal["standard", "backed", "slide"]
Yield = Literal["negative", "positive"]
SignalWord = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
GRAVITY: tuple[SignalWord, ...] = get_args(SignalWord)  # the gravest first
Ends = Literal["on time", "not before", "when done"]
Storage = Literal["bottle", "one-shot", "tap"]
Asks = Literal["yes", "bells", "look"]
Gate = Literal["start", "end"]
"""Where a tick falls due in its step."""
Lid = Literal["on", "off"]
ClockStarts = Literal["pour begins", "tank full"]
Scope = Literal["session", "batch", "roll"]
Backing = Literal["off", "kept"]
Role = Literal["developer", "stop", "bleach", "fixer", "bleach-fix", "stabiliser", "prebath"]


class Sure(StrEnum):
    """How well a figure is known."""

    PRINT = "read in print"
    SECOND_HAND = "seen second-hand"
    MEMORY = "from memory"
    PRACTICE = "common practice"
    KIT = "kit sheet"
    OWN = "own measurement"


class Kind(StrEnum):
    """The kinds of step (one screen each)."""

    CHECK = "check"  # a list of ticks
    MEASURE = "measure"  # one or more readings with an accepted range
    WAIT = "wait"  # tempering: a forecast that follows readings
    DARK = "dark"  # nothing is drawn in a dark room; guided in the light with a changing bag
    BATH = "bath"  # pour in, clock, agitation, drain, pour out
    WASH = "wash"  # changes of water or handwork until its ticks, with or without a minimum time
    HANG = "hang"  # a long clock that runs on after the guide has moved on

    @property
    def traits(self) -> KindTraits:
        """What steps of this kind have in common."""
        return TRAITS[self]


class KindTraits(Struct, frozen=True):
    """What the steps of one kind have in common. A kind has only what its row in `TRAITS` states.

    timed: the person starts a clock in it. needs_time: the profile must state its time. held: it cannot end before
    its time is over. says_over: "time is up" is called at its end. lead_in: its clock starts a while after ENTER,
    for the bottle to be taken up. wets: film is in a liquid. solution: it may name a solution and may run in the
    background. reads: it asks for temperatures, at least one, and they are its gate. needs_ticks: at least one.
    """

    timed: bool = False
    needs_time: bool = False
    held: bool = False
    says_over: bool = False
    lead_in: bool = False
    wets: bool = False
    solution: bool = False
    reads: bool = False
    needs_ticks: bool = False


TRAITS: dict[Kind, KindTraits] = {
    Kind.CHECK: KindTraits(needs_ticks=True),
    Kind.MEASURE: KindTraits(reads=True),
    Kind.WAIT: KindTraits(reads=True),
    Kind.DARK: KindTraits(timed=True),
    Kind.BATH: KindTraits(timed=True, lead_in=True, wets=True, solution=True),
    Kind.WASH: KindTraits(timed=True, held=True, says_over=True, wets=True, solution=True),
    Kind.HANG: KindTraits(timed=True, needs_time=True, says_over=True, solution=True),
}
"""The one table of the kinds. What belongs to a single kind alone (pouring out, the dark) is asked by its name."""


LEAST_BELL_S = 10.0
"""The shortest distance of two bells in the dark (our own number); 0 is none."""
MOST_ID, MOST_LABEL, MOST_TITLE, MOST_TICK, MOST_SENTENCE = 40, 40, 32, 60, 150
"""Characters of an id, a label, a title, a line to be confirmed and a sentence that fit a screen of 80 by 24."""
MOST_TICKS = 7
"""Lines to be confirmed that fit one screen."""
MOST_CAUTIONS, MOST_CAUTION, MOST_TO_REMEMBER = 2, 150, 3
"""Cautions of a step, characters of one in all, things to remember in the dark (our own numbers)."""
BLEACHING: tuple[Role, ...] = ("bleach", "bleach-fix")

# Conditions that a step, tick, reading or gear item may name in `when`; all must hold. "not " negates one.
# "another roll", of a tick alone: the same step comes again tonight.
# "warmed before loading": the bottles are brought into range before film is loaded. It holds for the session and
# the first fill where that order is wanted; a process whose steps do not name it has that order only.
CONDITIONS = (
    "standard", "backed", "slide", "dark room", "changing bag", "first batch", "later batch", "last batch",
    "another roll", "pushed", "warmed before loading",
)  # fmt: skip


class Source(Struct, frozen=True):
    """Where figures come from: `title` names a publication by number or title, never a person or brand."""

    id: str
    title: str
    sure: Sure


class Caution(Struct, frozen=True):
    """One hazard statement: what it is, what it does, how to avoid it. Shown before the act it belongs to."""

    id: str
    signal: SignalWord
    hazard: str
    consequence: str
    avoid: str
    source: str = ""

    @property
    def sentence(self) -> str:
        """All of it, without the signal word."""
        return f"{self.hazard} {self.consequence} {self.avoid}"


class Hazard(Struct, frozen=True):
    """One UN GHS code of the pure substance in our own plain words; the kit's data sheet decides."""

    code: str
    text: str


class Solution(Struct, frozen=True):
    """A bath's chemistry, or water.

    storage: "bottle" goes back into its bottle, "one-shot" is used once, "tap" is plain water.
    table: rows of (temperature_c, seconds), ascending temperature; one row or more when it is timed.
    drift_table: rows as in `table`, borrowed from another kit: advice on a drift where `table` has one row.
    range_c: accepted temperatures. Capacities are rolls of 135-36 per litre. Lives are days.
    makes_light_safe: once a step with it has ended, the film is no longer sensitive to light.
    bleaches: it turns the developed silver back into silver salt (a bleach, or a bleach-fix).
    needs_caution: ids of cautions that must be shown before it is first poured.
    sources: pairs (what, source id) for figures that do not come from `source`; what is "target", "table",
    "range", "drift", "use", "push", "capacity", "life", "hazards", "looks", "disposal" or "mixing".
    role: what the bath is, where the profile says so.
    """

    id: str
    title: str
    storage: Storage
    ends: Ends
    source: str
    target_c: float | None = None
    range_c: tuple[float, float] | None = None
    table: tuple[tuple[float, float], ...] = ()
    table_tolerance_c: float = 0.15
    drift_table: tuple[tuple[float, float], ...] = ()
    tempered: bool = False
    use: Use = Use()
    push: tuple[tuple[float, float], ...] = ()
    shortest_s: float = 180.0
    capacity_per_l: float | None = None
    stretch_per_l: float | None = None
    life_full_days: float | None = None
    life_part_days: float | None = None
    looks_healthy: str = ""
    looks_spent: str = ""
    hazards: tuple[Hazard, ...] = ()
    needs_caution: tuple[str, ...] = ()
    gloves: bool = True
    makes_light_safe: bool = False
    bleaches: bool = False
    disposal: str = ""
    mixing: tuple[str, ...] = ()
    sources: tuple[tuple[str, str], ...] = ()
    role: Role | None = None


class Vessel(Struct, frozen=True):
    """Something a solution touches: the tank, a funnel, a graduate, a basin."""

    id: str
    title: str
    kind: Literal["tank", "funnel", "graduate", "basin"]
    dedicated_to: str | None = None


class ResidueRule(Struct, frozen=True):
    """`residue` (a solution id) must not reach `solution`; where it is `harmless` it may, and `why` says why."""

    residue: str
    solution: str
    why: str
    harmless: bool = False


class Gear(Struct, frozen=True):
    """What must lie ready before the evening starts."""

    id: str
    text: str
    killer: bool = False
    when: tuple[str, ...] = ()


class Tick(Struct, frozen=True):
    """A statement the person confirms, naming the wanted condition.

    due: "start" (before its step starts), "end" (before it ends), or the id of a later step it is due before.
    asks: "yes"; "bells": the person types how many bells they heard; "look": as "yes", and confirmed as well once
    it is noted of every roll how it came out.
    clears: vessels this rinses. closes: solution whose bottle is capped by it. lid: the lid goes on or off.
    gloves: it states that gloves are on.
    """

    id: str
    text: str
    due: str = "end"
    killer: bool = False
    asks: Asks = "yes"
    when: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    closes: str | None = None
    lid: Lid | None = None
    gloves: bool = False


class ReadingAsk(Struct, frozen=True):
    """A temperature to be read: `of` is a solution id, "bath" or "room". No range: any sensible value will do.

    when: conditions that must all hold, or it is not read tonight.
    """

    of: str
    title: str
    range_c: tuple[float, float] | None = None
    required: bool = True
    when: tuple[str, ...] = ()


class Agitation(Struct, frozen=True):
    """Continuous for `first_s`, then every `every_s` (counted from the clock's start) for `for_s`.

    every_s is 0 where nothing follows the first stretch. fixed: the process needs it so, whatever is preferred.
    """

    first_s: float
    every_s: float
    for_s: float
    words: Text = "Turn the tank over gently, then tap it once on the sink."
    fixed: bool = False


class Step(Struct, frozen=True):
    """One screen of the guide. See `Kind` for what each kind does with these.

    pours: the solution goes through `through` into `into`, and comes back through `back_through` if it is kept.
    touches: other things that the solution reaches. rinses: vessels that this step's water clears when it ends.
    time_s: planned or minimum time when it is not the solution's own.
    water_every_s: from one change of water to the next in a wash with a time, each called; None: not called.
    bell_every_s: from bell to bell in the dark; 0 for none at all; None leaves it to the person's settings.
    joins: id of the background step that ends when this one starts.
    backing: what backed film loses its backing by ("off"), or where it is left on it on purpose ("kept").
    safe_way_out: what to do with film and chemistry if the evening is abandoned here.
    """

    id: str
    title: str
    stage: str
    kind: Kind
    scope: Scope
    instruction: str
    safe_way_out: str
    source: str = "practice"
    when: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    ticks: tuple[Tick, ...] = ()
    readings: tuple[ReadingAsk, ...] = ()
    solution: str | None = None
    through: str | None = None
    into: str | None = None
    back_through: str | None = None
    touches: tuple[str, ...] = ()
    rinses: tuple[str, ...] = ()
    time_s: float | None = None
    ends: Ends | None = None
    agitation: Agitation | None = None
    clock_starts: ClockStarts = "pour begins"
    draining_counts: bool = True
    lead_in_s: float | None = None
    background: bool = False
    joins: str | None = None
    pausable: bool = False
    hand_in_water: bool = False
    backing: Backing | None = None
    lid: Lid | None = None
    water_every_s: float | None = None
    bell_every_s: float | None = None
    remember: tuple[str, ...] = ()

    def conditions(self) -> frozenset[str]:
        """Every condition that the step, one of its ticks or one of its readings names, without "not "."""
        parts: tuple[Step | Tick | ReadingAsk, ...] = (self, *self.ticks, *self.readings)
        return frozenset(name.removeprefix("not ") for part in parts for name in part.when)


class Stage(Struct, frozen=True):
    """A chapter of the session."""

    id: str
    title: str


class Profile(Struct, frozen=True):
    """A whole process. `text` is the whole of it as TOML and `sha256` its digest: a record explains itself.

    remarks: what in its file should be checked again, by the codes of `present/alerts.toml`.
    yields: what the film is when it is dry, a negative or (reversal) a positive. backed_instead: the id of the
    process that takes a backing off before the developer, where this one does not.
    """

    id: str
    title: str
    accepts: tuple[FilmKind, ...]
    notes: tuple[str, ...]
    sources: tuple[Source, ...]
    stages: tuple[Stage, ...]
    solutions: tuple[Solution, ...]
    vessels: tuple[Vessel, ...]
    residue_rules: tuple[ResidueRule, ...]
    gear: tuple[Gear, ...]
    cautions: tuple[Caution, ...]
    steps: tuple[Step, ...]
    first_aid: tuple[str, ...] = ()
    stabiliser_room: int = 1
    backed_instead: str = ""
    yields: Yield = "negative"
    text: str = ""
    sha256: str = ""
    remarks: tuple[Message, ...] = ()

    def solution(self, id_: str) -> Solution:
        """The solution with this id; KeyError when there is none (a checked profile has it)."""
        return _of_id(self.solutions, id_)

    def caution(self, id_: str) -> Caution:
        """The caution with this id; KeyError when there is none."""
        return _of_id(self.cautions, id_)

    def step(self, id_: str) -> Step:
        """The step with this id; KeyError when there is none."""
        return _of_id(self.steps, id_)


_Thing = TypeVar("_Thing", Solution, Caution, Step)


def _of_id(things: tuple[_Thing, ...], id_: str) -> _Thing:
    for thing in things:
        if thing.id == id_:
            return thing
    raise KeyError(id_)


def holds(conditions: tuple[str, ...], facts: frozenset[str]) -> bool:
    """Whether every condition holds among `facts`; "not x" holds when x is absent."""
    return all((name.removeprefix("not ") in facts) != name.startswith("not ") for name in conditions)


def is_process(profile: Profile) -> bool:
    """Whether film is developed at all: there is chemistry or a tank. A tour of the keys has neither."""
    chemistry = any(each.storage != "tap" for each in profile.solutions)
    return chemistry or any(each.kind == "tank" for each in profile.vessels)


def called(solution: Solution, name: str) -> bool:
    """Whether this word (as "developer") occurs in the solution's role, id or title.

    A match only makes the checks stricter; a bath without one is held to the widest bounds.
    """
    return name in f"{solution.role or ''} {solution.id} {solution.title}".casefold()


def is_developer(profile: Profile, step: Step) -> bool:
    """Whether the step pours a bath that must be stopped on time; plain water never is one."""
    if step.solution is None:
        return False
    solution = profile.solution(step.solution)
    return solution.storage != "tap" and "on time" in (solution.ends, step.ends)


def developers(profile: Profile) -> tuple[Solution, ...]:
    """Every solution that develops: ended on time somewhere, with factors for a push, or called a developer.

    The last two count so that a mistake in the words "on time" alone does not exempt a developer from its checks.
    """
    on_time = {step.solution for step in profile.steps if is_developer(profile, step)}
    poured = {step.solution for step in profile.steps if step.kind is Kind.BATH}
    return tuple(
        each
        for each in profile.solutions
        if each.id in on_time
        or (each.id in poured and (any(stops for stops, _ in each.push) or called(each, "developer")))
    )
