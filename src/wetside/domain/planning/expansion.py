"""A profile's steps laid out for tonight's batches and rolls, in the order they are worked through. Pure.

Runs of batch and roll steps form one block that is repeated for each batch; the roll steps inside it are laid
out in the order that finishes soonest, so that one roll's stabiliser runs while the next loses its backing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from wetside.domain.calc.timeline import Order, RollWork, shortest_order
from wetside.domain.planning.plan import Batch
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Kind, Profile, Step, holds
from wetside.frozen import dataclass

HANDWORK_S = 240.0
"""A wash without a time of its own, by hand: four minutes a roll (common practice, no source)."""

HANG_UP_S = 60.0
"""Wiping and hanging one roll (common practice, no source)."""


LATEST_S = 3600.0
"""A roll is in its last bath at most this long after the handwork begins: wet film softens (common practice, no
source; the ways out of the shipped processes say "within the hour")."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One step of the profile at its place tonight."""

    step: Step
    id: str
    batch: Batch | None = None
    roll: int | None = None


@dataclass(frozen=True, slots=True)
class Handwork:
    """The order of one batch's roll steps, for the chart: placed steps `first` up to `last` (not included)."""

    batch: int
    order: Order
    first: int
    last: int


def facts_of(setup: Setup, batches: tuple[Batch, ...], batch: Batch | None, roll: int | None) -> frozenset[str]:
    """The conditions that hold for a roll, a batch, or (neither given) the whole evening."""
    rolls = (roll,) if roll is not None else batch.rolls if batch is not None else range(len(setup.rolls))
    facts: set[str] = {setup.place}
    facts |= {setup.rolls[i].kind for i in rolls}
    if any(setup.rolls[i].push for i in rolls):
        facts.add("pushed")
    if setup.loading == "after warming" and (batch is None or batch.number == 1):
        facts.add("warmed before loading")
    if batch is not None:
        facts.add("first batch" if batch.number == 1 else "later batch")
        if batch.number == len(batches):
            facts.add("last batch")
    return frozenset(facts)


FILM_KINDS = ("standard", "backed", "slide")


def poured_for(profile: Profile, solution: str, kinds: frozenset[str]) -> bool:
    """Whether any step that these kinds of film may go through uses the solution."""
    return any(
        step.solution == solution
        and all(name not in FILM_KINDS or name in kinds for name in step.when if not name.startswith("not "))
        for step in profile.steps
    )


def together(one: Placed, other: Placed) -> bool:
    """Whether two placed steps are of the same batch and roll, as far as both have one."""
    same_batch = one.batch is None or other.batch is None or one.batch.number == other.batch.number
    return same_batch and (one.roll is None or other.roll is None or one.roll == other.roll)


def joined(place: Placed, placed: tuple[Placed, ...]) -> str | None:
    """The id of the background step that ends where this one starts."""
    if place.step.joins is None:
        return None
    return next((o.id for o in placed if o.step.id == place.step.joins and together(o, place)), None)


def joiner(placed: tuple[Placed, ...], number: int) -> Placed | None:
    """The later step that ends this background step."""
    place = placed[number]
    return next((o for o in placed[number + 1 :] if o.step.joins == place.step.id and together(o, place)), None)


def keeps_backing(profile: Profile) -> bool:
    """Whether backed film meets the developer with its backing on: no bath or wash of its own comes before."""
    if "backed" not in profile.accepts:
        return False
    for step in profile.steps:
        if step.solution is not None and profile.solution(step.solution).ends == "on time":
            return True
        if step.scope == "batch" and "backed" in step.when and step.kind in (Kind.BATH, Kind.WASH):
            return False
    return False


def process_path(profile: Profile, kind: str) -> str:
    """What rolls must share to share the tank: the batch steps up to the developer that this kind goes through."""
    path = []
    for step in profile.steps:
        about_film = tuple(name for name in step.when if name.removeprefix("not ") in FILM_KINDS)
        if step.scope == "batch" and about_film and holds(about_film, frozenset({kind})):
            path.append(step.id)
        if step.solution is not None and profile.solution(step.solution).ends == "on time":
            break
    return "+".join(path)


def expand(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...]
) -> tuple[tuple[Placed, ...], tuple[Handwork, ...]]:
    """Every step of tonight in order, and the order of handwork of each batch."""
    placed: list[Placed] = []
    handwork: list[Handwork] = []
    for per_batch, run in groupby(profile.steps, key=lambda step: step.scope != "session"):
        steps = tuple(run)
        if not per_batch:
            facts = facts_of(setup, batches, None, None)
            placed += [Placed(step, step.id) for step in steps if holds(step.when, facts)]
            continue
        for batch in batches:
            for placement, work in _batch(profile, setup, batches, batch, steps):
                first = len(placed)
                placed += placement
                if work is not None:
                    handwork.append(Handwork(batch.number, work, first, len(placed)))
    return tuple(placed), tuple(handwork)


def _batch(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], batch: Batch, steps: tuple[Step, ...]
) -> Iterator[tuple[list[Placed], Order | None]]:
    for per_roll, run in groupby(steps, key=lambda step: step.scope == "roll"):
        if per_roll:
            yield _rolls(profile, setup, batches, batch, tuple(run))
        else:
            facts = facts_of(setup, batches, batch, None)
            yield (
                [Placed(s, f"b{batch.number}.{s.id}", batch) for s in run if holds(s.when, facts)],
                None,
            )


def _rolls(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], batch: Batch, steps: tuple[Step, ...]
) -> tuple[list[Placed], Order | None]:
    """The roll steps of one batch. Before the background step: hands; from the step that joins it: hands again."""
    own = {
        roll: tuple(s for s in steps if holds(s.when, facts_of(setup, batches, batch, roll)))
        for roll in batch.rolls
    }

    def place(roll: int, chosen: tuple[Step, ...]) -> list[Placed]:
        return [Placed(s, f"b{batch.number}.r{roll + 1}.{s.id}", batch, roll) for s in chosen]

    if not all(any(step.background for step in mine) for mine in own.values()):
        return [p for roll, mine in own.items() for p in place(roll, mine)], None
    parts = {roll: _parts(mine) for roll, mine in own.items()}
    works = tuple(
        RollWork(
            label=str(roll),
            wash_s=sum(handwork_s(step) for step in before),
            stabilise_s=seconds_of(profile, middle) or 0.0,
            hang_s=sum(handwork_s(step) for step in after) or HANG_UP_S,
            latest_s=LATEST_S,
        )
        for roll, (before, middle, after) in parts.items()
    )
    order = shortest_order(works, profile.stabiliser_room)
    placed: list[Placed] = []
    for roll, act in _acts(order):
        before, middle, after = parts[roll]
        chosen = {"rub": before, "move": (middle,), "hang": after}[act]
        already = {p.id for p in placed}
        if act == "move":
            # A roll without handwork has no "rub" act; its other steps still come first.
            placed += [p for p in place(roll, before) if p.id not in already]
        placed += [p for p in place(roll, chosen) if p.id not in already]
    return placed, _named(order, setup)


def _named(order: Order, setup: Setup) -> Order:
    rows = tuple(replace(row, label=setup.rolls[int(row.label)].label) for row in order.rows)
    return replace(order, rows=rows)


def _acts(order: Order) -> list[tuple[int, str]]:
    """What the hands do in order of time: (roll, act). The works were labelled with their rolls' numbers."""
    hands = sorted((row for row in order.rows if row.name == "hands"), key=lambda row: row.start_s)
    return [(int(row.label), row.act) for row in hands]


def _parts(steps: tuple[Step, ...]) -> tuple[tuple[Step, ...], Step, tuple[Step, ...]]:
    number = next(n for n, step in enumerate(steps) if step.background)
    return steps[:number], steps[number], steps[number + 1 :]


def handwork_s(step: Step) -> float:
    """How long the hands are busy with a roll step: its own time, or the practice of the trade."""
    if step.time_s is not None:
        return step.time_s
    return HANDWORK_S if step.kind is Kind.WASH else HANG_UP_S


def seconds_of(profile: Profile, step: Step) -> float | None:
    """A step's time as the profile gives it: its own, else the table's at the solution's target."""
    if step.time_s is not None:
        return step.time_s
    if step.solution is None or not (table := profile.solution(step.solution).table):
        return None
    return table[-1][1]
