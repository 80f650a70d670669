"""What the proofs of a plan share: a fault, the moments of a plan, and when each tick can and must be made.

A tick can be made from the moment its step is open (with a clock: running, unless it is due before the start)
until the gate it is due at. What a tick rinses is therefore clean for certain only from that gate on, and
only of what was there when the tick could first be made. What it opens is open from the first of these moments.
"""

from __future__ import annotations

from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.profile.model import Profile
from wetside.frozen import dataclass

OPEN, START, RUNNING, END = range(4)
Moment = tuple[int, int]
"""A planned step's number and one of the four."""


@dataclass(frozen=True, slots=True)
class ProofFault:
    """Something that goes wrong at planned step `at`; `since` is the step it began at, for the account."""

    at: int
    sentence: str
    since: int
    key: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Timed:
    """A tick of planned step `host`: it can be made from `first` on, and is made by `by` for certain."""

    host: int
    tick: PlannedTick
    first: Moment
    by: Moment


def timed_ticks(plan: Plan) -> tuple[Timed, ...]:
    """Every tick with its two moments. The live rules are `gates.cannot_make` and `gates.open_ticks`."""
    numbers = {step.id: number for number, step in enumerate(plan.steps)}
    found = []
    for number, step in enumerate(plan.steps):
        for tick in step.ticks:
            own_start = tick.due_step == step.id and tick.due_at == "start"
            first = (number, RUNNING if step.timed and not own_start else OPEN)
            by = (numbers[tick.due_step], START if tick.due_at == "start" else END)
            found.append(Timed(number, tick, first, by))
    return tuple(found)


def pours(step: PlannedStep) -> bool:
    """Whether a solution is poured in this step."""
    return step.timed and step.solution is not None and bool(step.pour)


def tank_ids(profile: Profile) -> frozenset[str]:
    """The vessels that keep light off the film."""
    return frozenset(vessel.id for vessel in profile.vessels if vessel.kind == "tank")


def into_tank(step: PlannedStep, tanks: frozenset[str]) -> bool:
    """Whether a solution is poured into a tank in this step."""
    return pours(step) and any(thing in tanks for thing in step.pour)


def named(step: PlannedStep) -> str:
    """The step as every finding names it."""
    return f'Step "{step.of}" ({step.title})'
