"""The steps of an evening: the profile's steps repeated for the batches, each with tonight's figures and ticks.

A run of batch and roll steps is repeated for each batch. The roll steps of a batch are put into the order that
finishes soonest, so that one roll's stabiliser runs while the next loses its backing.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import get_args

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.timeline import Order, RollWork, shortest_order
from wetside.domain.messages import Message, Refusal, Unfit, message
from wetside.domain.planning.baths import (
    BathFigures,
    agitated,
    at_developer_temperature,
    bath_figures,
    hanging_figures,
)
from wetside.domain.planning.plan import LATEST_S, Batch, PlannedCaution, PlannedReading, PlannedStep, PlannedTick
from wetside.domain.planning.setup import Setup, TemperatureUnit, Units, VolumeUnit
from wetside.domain.profile.model import (
    FilmKind,
    Gate,
    Kind,
    Profile,
    Solution,
    Step,
    Tick,
    holds,
)
from wetside.structs import made_of

HANDWORK_S = 240.0
"""A wash by hand without a time of its own: four minutes a roll (common practice, no source)."""

HANG_UP_S = 60.0
"""Wiping and hanging one roll (common practice, no source)."""

FILM_KINDS = get_args(FilmKind)


class Habits(Struct, frozen=True):
    """The person's own leads and units: from settings, and learned from past sessions."""

    lead_in_s: float = 5.0
    drain_lead_s: float = 10.0
    unit: TemperatureUnit = "°C"
    volume_unit: VolumeUnit = "ml"
    dark_bell_every_s: float = 0.0

    @property
    def units(self) -> Units:
        """Both units."""
        return Units(self.unit, self.volume_unit)


class Placed(Struct, frozen=True):
    """One step of the profile at its place in the evening; `id` is unique in the plan."""

    step: Step
    id: str
    batch: Batch | None = None
    roll: int | None = None


class Handwork(Struct, frozen=True):
    """The order of one batch's roll steps: the placed steps from `first` up to `last` (not included)."""

    batch: Batch
    order: Order
    first: int
    last: int


def poured_for(profile: Profile, solution: str, kinds: frozenset[str]) -> bool:
    """Whether any step that these kinds of film may go through uses the solution."""
    return any(
        step.solution == solution
        and all(name not in FILM_KINDS or name in kinds for name in step.when if not name.startswith("not "))
        for step in profile.steps
    )


class Evening(Struct, frozen=True):
    """What the steps are planned from. sheet: the profile before the developer's temperature was chosen."""

    profile: Profile
    sheet: Profile
    setup: Setup
    batches: tuple[Batch, ...]
    habits: Habits


def _facts(evening: Evening, batch: Batch | None, roll: int | None) -> frozenset[str]:
    """The conditions that hold for a roll, a batch, or (neither given) the whole evening."""
    setup = evening.setup
    rolls = (roll,) if roll is not None else batch.rolls if batch is not None else range(len(setup.rolls))
    facts: set[str] = {setup.place}
    facts |= {setup.rolls[i].kind for i in rolls}
    if any(setup.rolls[i].push for i in rolls):
        facts.add("pushed")
    if setup.loading == "after warming" and (batch is None or batch.number == 1):
        facts.add("warmed before loading")
    if batch is not None:
        facts.add("first batch" if batch.number == 1 else "later batch")
        if batch.number == len(evening.batches):
            facts.add("last batch")
    return frozenset(facts)


def place_steps(evening: Evening) -> tuple[tuple[Placed, ...], tuple[Handwork, ...]]:
    """Every step of tonight in order, and the order of handwork of each batch."""
    placed: list[Placed] = []
    handwork: list[Handwork] = []
    for per_batch, run in groupby(evening.profile.steps, key=lambda step: step.scope != "session"):
        steps = tuple(run)
        if not per_batch:
            facts = _facts(evening, None, None)
            placed += [Placed(step, step.id) for step in steps if holds(step.when, facts)]
            continue
        for batch in evening.batches:
            for per_roll, part in groupby(steps, key=lambda step: step.scope == "roll"):
                first = len(placed)
                if per_roll:
                    own, order = _roll_steps(evening, batch, tuple(part))
                    placed += own
                    if order is not None:
                        handwork.append(Handwork(batch, order, first, len(placed)))
                else:
                    facts = _facts(evening, batch, None)
                    placed += [Placed(s, f"b{batch.number}.{s.id}", batch) for s in part if holds(s.when, facts)]
    return tuple(placed), tuple(handwork)


def _roll_steps(evening: Evening, batch: Batch, steps: tuple[Step, ...]) -> tuple[list[Placed], Order | None]:
    """The roll steps of one batch, in the shortest order where each roll has a background step.

    The steps before the background step and from the one that joins it need the hands.
    """
    own = {roll: tuple(s for s in steps if holds(s.when, _facts(evening, batch, roll))) for roll in batch.rolls}

    def place(roll: int, chosen: tuple[Step, ...]) -> Iterator[Placed]:
        return (Placed(s, f"b{batch.number}.r{roll + 1}.{s.id}", batch, roll) for s in chosen)

    if not all(any(step.background for step in mine) for mine in own.values()):
        return [p for roll, mine in own.items() for p in place(roll, mine)], None
    parts = {}
    for roll, mine in own.items():
        stays = next(n for n, step in enumerate(mine) if step.background)
        parts[roll] = (mine[:stays], mine[stays], mine[stays + 1 :])
    works = tuple(
        RollWork(
            label=evening.setup.rolls[roll].label,
            wash_s=sum(map(_handwork_s, before)),
            stabilise_s=_profile_s(evening.profile, middle) or 0.0,
            hang_s=sum(map(_handwork_s, after)) or HANG_UP_S,
            latest_s=LATEST_S,
        )
        for roll, (before, middle, after) in parts.items()
    )
    order = shortest_order(works, evening.profile.stabiliser_room)
    placed: dict[str, Placed] = {}
    rolls = tuple(parts)
    for act in order.acts:
        roll = rolls[act.index]
        before, middle, after = parts[roll]
        # a roll without handwork has no "rub"; its other steps still come before the "move"
        chosen = {"rub": before, "move": (*before, middle), "hang": after}[act.name]
        for each in place(roll, chosen):
            placed.setdefault(each.id, each)
    return list(placed.values()), order


def _handwork_s(step: Step) -> float:
    """The time (s) that a roll step needs the hands: its own, or that of common practice."""
    if step.time_s is not None:
        return step.time_s
    return HANDWORK_S if step.kind is Kind.WASH else HANG_UP_S


def _profile_s(profile: Profile, step: Step) -> float | None:
    """A step's time (s) in the profile: its own, else that of the table's last row."""
    if step.time_s is not None:
        return step.time_s
    table = profile.solution(step.solution).table if step.solution is not None else ()
    return table[-1][1] if table else None


def planned_steps(evening: Evening, placed: tuple[Placed, ...]) -> tuple[tuple[PlannedStep, ...], list[Message]]:
    """The placed steps with tonight's figures, ticks and readings, and the alerts about their times.

    Raises Unfit for a bath without a time.
    """
    figures = [_figures(evening, place) for place in placed]
    steps = (_planned(evening, placed, number, each) for number, each in enumerate(figures))
    alerts = [alert for each in figures for alert in each.alerts]
    return tuple(at_developer_temperature(evening.sheet, step, evening.setup) for step in steps), alerts


def _figures(evening: Evening, place: Placed) -> BathFigures:
    step, setup = place.step, evening.setup
    if step.kind is Kind.HANG and step.solution is None:
        return hanging_figures(setup.water, step.time_s)
    if step.solution is None:
        return BathFigures(step.time_s)
    solution = evening.sheet.solution(step.solution)
    if step.time_s is not None:
        return BathFigures(step.time_s, target_c=solution.target_c)
    try:
        return bath_figures(solution, setup, evening.batches, place.batch)
    except Refusal as refusal:
        raise Unfit((message("bath refused", bath=solution.title, why=refusal.why),)) from refusal


def _planned(evening: Evening, placed: tuple[Placed, ...], number: int, figures: BathFigures) -> PlannedStep:
    """The step at its place with tonight's figures."""
    profile, setup, habits, place = evening.profile, evening.setup, evening.habits, placed[number]
    facts = _facts(evening, place.batch, place.roll)
    step, batch = place.step, place.batch
    solution = profile.solution(step.solution) if step.solution is not None else None
    default_ends = solution.ends if solution is not None else "not before" if figures.seconds else "when done"
    in_tank = batch is not None and place.roll is None and step.into is not None
    bell_every_s = step.bell_every_s
    if step.kind == "dark" and bell_every_s is None:
        bell_every_s = habits.dark_bell_every_s or None
    planned = made_of(
        step,
        PlannedStep,
        id=place.id,
        of=step.id,
        batch=batch.number if batch is not None else None,
        roll=place.roll,
        roll_label=setup.rolls[place.roll].label if place.roll is not None else "",
        cautions=tuple(made_of(profile.caution(id_), PlannedCaution) for id_ in step.cautions),
        ticks=_ticks(profile, placed, number, facts),
        readings=tuple(made_of(ask, PlannedReading) for ask in step.readings if holds(ask.when, facts)),
        pour=_things(place, (step.through, step.into, *step.touches)),
        back=_things(place, (step.back_through,)),
        rinses=_things(place, step.rinses),
        # what covers the reels; a jar for single rolls is filled as it is
        volume_ml=batch.volume_ml if in_tank and batch is not None else None,
        planned_s=figures.seconds,
        ends=step.ends or default_ends,
        target_c=figures.target_c,
        factors=figures.factors,
        about=figures.about,
        factor=figures.factors.use * figures.factors.push,
        agitation=agitated(step.agitation, setup),
        lead_in_s=step.lead_in_s if step.lead_in_s is not None else habits.lead_in_s,
        drain_lead_s=habits.drain_lead_s,
        joins=next((o.id for o in placed if o.step.id == step.joins and _together(o, place)), None),
        in_the_dark=step.kind == "dark" and setup.place == "dark room",
        bell_every_s=bell_every_s,
    )
    if solution is None:
        return planned
    dosed = step.time_s is None and solution.ends == "on time"
    return _with_solution(planned, solution, dosed)


def _with_solution(planned: PlannedStep, solution: Solution, dosed: bool) -> PlannedStep:
    """The step with the figures of its solution; `dosed` where readings move its end."""
    figures = (id_ for what, id_ in solution.sources if what in ("table", "range", "use", "push"))
    return replace(
        planned,
        solution_title=solution.title,
        storage=solution.storage,
        range_c=solution.range_c,
        table=solution.table if dosed else (),
        table_tolerance_c=solution.table_tolerance_c,
        shortest_s=solution.shortest_s,
        makes_light_safe=solution.makes_light_safe,
        bleaches=solution.bleaches,
        push=solution.push if dosed else (),
        drift_table=solution.drift_table if dosed else (),
        sources=tuple(dict.fromkeys((solution.source, *figures))),
    )


def _things(place: Placed, ids: tuple[str | None, ...]) -> tuple[str, ...]:
    """Vessel ids; "film" becomes this batch's film, so that each batch begins with clean film."""
    film = f"film-b{place.batch.number}" if place.batch is not None else "film"
    return tuple(film if id_ == "film" else id_ for id_ in ids if id_ is not None)


def _ticks(
    profile: Profile, placed: tuple[Placed, ...], number: int, facts: frozenset[str]
) -> tuple[PlannedTick, ...]:
    place = placed[number]
    if any(later.step.id == place.step.id for later in placed[number + 1 :]):
        facts |= {"another roll"}
    found = []
    for tick in place.step.ticks:
        if not holds(tick.when, facts):
            continue
        due_step, due_at = _due(profile, placed, number, tick)
        found.append(
            made_of(
                tick,
                PlannedTick,
                id=f"{place.id}/{tick.id}",
                due_step=due_step,
                due_at=due_at,
                clears=_things(place, tick.clears),
            )
        )
    return tuple(found)


def _due(profile: Profile, placed: tuple[Placed, ...], number: int, tick: Tick) -> tuple[str, Gate]:
    """The gate a tick falls due at: (planned step, its start or end).

    The end of a background step is where it is joined. Where the named step is left out tonight, the tick falls
    due before the next step that stands later in the profile, and at the very end if there is none.
    """
    place, later = placed[number], placed[number + 1 :]
    if tick.due == "start":
        return place.id, "start"
    if tick.due == "end":
        joiner = (o for o in later if place.step.background and o.step.joins == place.step.id)
        ends_it = next((other for other in joiner if _together(other, place)), None)
        return (place.id, "end") if ends_it is None else (ends_it.id, "start")
    named = [other for other in later if other.step.id == tick.due]
    nearest = [other for other in named if _together(other, place)]
    order = {step.id: position for position, step in enumerate(profile.steps)}
    due = order.get(tick.due, 0)
    after = [other for other in later if order[other.step.id] >= due > order[place.step.id]]
    for candidates in (nearest, named, after):
        if candidates:
            return candidates[0].id, "start"
    return placed[-1].id, "end"


def _together(one: Placed, other: Placed) -> bool:
    """Whether two placed steps are of the same batch and roll, as far as both have one."""
    same_batch = one.batch is None or other.batch is None or one.batch.number == other.batch.number
    return same_batch and (one.roll is None or other.roll is None or one.roll == other.roll)
