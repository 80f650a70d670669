"""Findings as values, the moments of a plan, and when each tick is made: shared by the checks of a profile.

A tick can be made from the moment its step is open (with a clock: running, unless it is due before the start)
until the gate it is due at. What a tick rinses is therefore clean for certain only from that gate on, and
only of what was there when the tick could first be made. What it opens is open from the first of these moments.
"""

from __future__ import annotations

from msgspec import Struct

from wetside.domain.messages import Message, Text, message
from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.planning.setup import Loading
from wetside.domain.planning.setup import Place as LoadingPlace
from wetside.domain.profile.model import FilmKind, Profile, Solution, Step

Place = tuple[str, ...]
"""("steps", its id, a key of it), ("solutions", its id, a key of it) and so on; () for the file as a whole.

Things are named by their ids, so that a place holds for a profile made without a file as well. Rolls of a setup
are named by their label, bottles by their solution.
"""
SLACK_C = 0.05
"""Half of the last digit shown: 39.0 °C and 38.97 °C are the same figure."""
OPEN, START, RUNNING, END = range(4)
Moment = tuple[int, int]
"""A planned step's number and one of the four."""


class PathName(Struct, frozen=True):
    """Which path of a process. fills: for each tank fill its groups of film kinds, and whether it is pushed."""

    fills: tuple[tuple[tuple[tuple[FilmKind, ...], ...], bool], ...]
    place: LoadingPlace
    loading: Loading | None


class PathStep(Struct, frozen=True):
    """A planned step on the path of a fault. number: from 0; acts: what the proof depends on in it."""

    number: int
    title: str
    batch: int | None
    roll_label: str
    acts: tuple[Message, ...]


class Account(Struct, frozen=True):
    """The path that breaks, step by step: the steps from where it began to where it breaks.

    path: which one; None for that of a setup. times: the number of paths on which it occurs.
    """

    path: PathName | None
    steps: tuple[PathStep, ...] = ()
    times: int = 1


class Finding(Struct, frozen=True):
    """One thing that is wrong.

    what: what is wrong and what to do. about: the step or solution, if it is said of one. account: the path that
    breaks; None where it is wrong on every path.
    """

    place: Place
    what: Message
    about: Message | None = None
    account: Account | None = None


def named(id_: str, title: str) -> Message:
    """A step as every finding names it."""
    return message("step", id=id_, title=title)


def of_step(step: Step, what: Message, *key: str) -> Finding:
    """A finding about a step, or about a key of it."""
    return Finding(("steps", step.id, *key), what, named(step.id, step.title))


def of_solution(solution: Solution, what: Message, *key: str) -> Finding:
    """A finding about a solution, or about a key of it."""
    return Finding(("solutions", solution.id, *key), what, message("solution", id=solution.id))


class ProofFault(Struct, frozen=True):
    """Something that goes wrong at planned step `at`; `since` is the step it began at, for the account.

    what, about: as of a finding. key: what distinguishes this fault from others, whatever path it is met on.
    """

    at: int
    since: int
    what: Message
    about: Message
    key: tuple[Text, ...]


def fault(plan: Plan, at: int, since: int, what: Message, *key: Text, of: int | None = None) -> ProofFault:
    """A fault of planned step `at`, said of that one or of step `of`; its key: what is wrong, of what, `key`."""
    step = plan.steps[at if of is None else of]
    return ProofFault(at, since, what, named(step.of, step.title), (what.code, step.of, *key))


class Timed(Struct, frozen=True):
    """A tick of planned step `host`: it can be made from `first` on, and is made by `by` for certain."""

    host: int
    tick: PlannedTick
    first: Moment
    by: Moment


def timed_ticks(plan: Plan) -> tuple[Timed, ...]:
    """Every tick with its two moments. The live rules are those of `session/gates.py`."""
    numbers = {step.id: number for number, step in enumerate(plan.steps)}
    found = []
    for number, step in enumerate(plan.steps):
        for tick in step.ticks:
            own_start = tick.due_step == step.id and tick.due_at == "start"
            first = (number, RUNNING if step.timed and not own_start else OPEN)
            by = (numbers[tick.due_step], START if tick.due_at == "start" else END)
            found.append(Timed(number, tick, first, by))
    return tuple(found)


def steps_of(plan: Plan, batch: int) -> list[tuple[int, PlannedStep]]:
    """The planned steps of one tank fill, with their numbers."""
    return [(number, step) for number, step in enumerate(plan.steps) if step.batch == batch]


def pours(step: PlannedStep) -> bool:
    """Whether a solution is poured in this step."""
    return step.timed and step.solution is not None and bool(step.pour)


def tank_ids(profile: Profile) -> frozenset[str]:
    """The vessels that keep light off the film."""
    return frozenset(vessel.id for vessel in profile.vessels if vessel.kind == "tank")


def into_tank(step: PlannedStep, tanks: frozenset[str]) -> bool:
    """Whether a solution is poured into a tank in this step."""
    return pours(step) and any(thing in tanks for thing in step.pour)
