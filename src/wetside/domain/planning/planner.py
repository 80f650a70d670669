"""Works out the plan of an evening from a profile and a setup. `make_plan` is the entry.

A setup that cannot be planned is refused with all findings at once; lesser problems become the plan's warnings.
"""

from __future__ import annotations

from datetime import date
from math import fsum
from typing import assert_never

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.residue import Rule
from wetside.domain.calc.timeline import Block, Order, RowName, Timeline, end_to_end
from wetside.domain.messages import Message, Unfit, alert, message
from wetside.domain.planning.baths import at_chosen_temperature, drain_alerts, keeps_backing
from wetside.domain.planning.bottles import bottle_alerts, bottle_of, evening_cost, film_alerts
from wetside.domain.planning.fills import RollSpec, Stock, cover_volume_ml, covered_batches, places_needed
from wetside.domain.planning.plan import (
    LATEST_S,
    Batch,
    LoadingOrder,
    Plan,
    PlannedStep,
    Tempering,
)
from wetside.domain.planning.setup import Loading, Setup
from wetside.domain.planning.steps import (
    FILM_KINDS,
    HANDWORK_S,
    Evening,
    Habits,
    Handwork,
    Placed,
    place_steps,
    planned_steps,
    poured_for,
)
from wetside.domain.planning.warm_bath import (
    LOAD_BESIDE,
    bath_alerts,
    loading_order,
    tempered,
    tempering_plan,
)
from wetside.domain.profile.model import Kind, Profile, Step, holds

READ_S = 20.0
TICK_S = 10.0
MEASURE_S = 60.0
TEMPER_S = 900.0
AGAIN_S = 600.0
LOAD_ROLL_S = 150.0
POUR_S = 20.0
"""Common practice, no source: reading a screen, one tick, one reading, tempering from cold, tempering again what
is still warm, loading a roll, pouring."""


def make_plan(
    profile: Profile,
    setup: Setup,
    habits: Habits | None = None,
    today: date | None = None,
) -> Plan:
    """Tonight's plan. Raises Unfit with every finding when profile and setup do not go together, Refusal for a
    temperature of the developer that its sheet has no time for.

    `today` decides the age of the bottles; without it no age is judged.
    """
    habits = habits or Habits()
    _refuse_unfit(profile, setup)
    sheet = profile
    profile = at_chosen_temperature(profile, setup)
    batches = batches_of(profile, setup)
    tempering, water, water_alerts = tempering_plan(profile, setup)
    tonight, loading = _in_order(Evening(profile, sheet, setup, batches, habits), tempering)
    alerts = [
        *tonight.alerts,
        *bottle_alerts(profile, setup, batches, tonight.steps, today),
        *water_alerts,
        *film_alerts(profile, setup, keeps_backing(profile)),
        *bath_alerts(tempering),
        *drain_alerts(tonight.steps),
    ]
    titles = [(solution.id, solution.title) for solution in profile.solutions]
    titles += [(vessel.id, vessel.title) for vessel in profile.vessels]
    return Plan(
        profile_id=profile.id,
        profile_title=profile.title,
        profile_sha256=profile.sha256,
        setup=setup,
        stages=tuple((stage.id, stage.title) for stage in profile.stages),
        batches=batches,
        steps=tonight.steps,
        rules=tuple(
            Rule(rule.residue, rule.solution, rule.why) for rule in profile.residue_rules if not rule.harmless
        ),
        titles=(*titles, *((f"film-b{batch.number}", "The film") for batch in batches)),
        first_aid=profile.first_aid,
        water=water,
        tempering=tempering,
        timeline=tonight.chart.rows,
        total_s=tonight.chart.total_s,
        dark_s=tonight.chart.dark_s,
        warnings=tuple(dict.fromkeys(alerts)),
        sources=tuple((source.id, source.title, source.sure.value) for source in profile.sources),
        notes=profile.notes,
        unit=habits.unit,
        hands_done_s=tonight.chart.hands_done_s,
        volume_unit=habits.volume_unit,
        yields=profile.yields,
        loading=loading,
        cost=evening_cost(profile, setup, batches, tonight.steps),
    )


def _refuse_unfit(profile: Profile, setup: Setup) -> None:
    """Raise Unfit with every reason why this setup cannot be planned with this profile."""
    process = profile.title
    found = [] if setup.rolls else [message("no roll")]
    for roll in setup.rolls:
        if roll.kind not in profile.accepts:
            takes = profile.accepts
            found.append(message("film not taken", roll=roll.label, process=process, kind=roll.kind, takes=takes))
    known = tuple(sorted(solution.id for solution in profile.solutions))
    for bottle in setup.bottles:
        label, of = bottle.label, bottle.solution
        if of not in known:
            found.append(message("unknown solution", bottle=label, process=process, solution=of, known=known))
    kinds = frozenset(roll.kind for roll in setup.rolls)
    for solution in profile.solutions:
        held = solution.storage == "tap" or bottle_of(setup, solution.id) is not None
        if not held and poured_for(profile, solution.id, kinds):
            found.append(message("no bottle of it", solution=solution.title.lower()))
    places = setup.tank.places
    wide = next((roll for roll in setup.rolls if places_needed(roll.format, setup.tank) > places), None)
    if wide is not None:
        needed = places_needed(wide.format, setup.tank)
        found.append(message("tank too small", roll=wide.label, format=wide.format, needed=needed, places=places))
    if found:
        raise Unfit(tuple(found))


def batches_of(profile: Profile, setup: Setup) -> tuple[Batch, ...]:
    """Tonight's tank fills in order: the fewest that places and bottles allow."""
    specs = _roll_specs(setup, profile)
    fills = covered_batches(specs, setup.tank, _stocks(profile, setup))
    found = []
    for number, rolls in enumerate(fills, 1):
        volume_ml, first = cover_volume_ml(rolls, specs, setup.tank), rolls[0]
        found.append(Batch(number, rolls, setup.rolls[first].push, volume_ml, specs[first].last))
    return tuple(found)


def _roll_specs(setup: Setup, profile: Profile) -> tuple[RollSpec, ...]:
    """The rolls as they are grouped into fills."""
    keeps = keeps_backing(profile)
    return tuple(
        RollSpec(roll.format, _path_of(profile, roll.kind), roll.push, last=keeps and roll.kind == "backed")
        for roll in setup.rolls
    )


def _stocks(profile: Profile, setup: Setup) -> tuple[Stock, ...]:
    """The content of each bottle that is poured into the tank, and the paths of the rolls it is poured for."""
    kinds = {roll.kind for roll in setup.rolls}
    found = []
    for solution in profile.solutions:
        bottle = bottle_of(setup, solution.id)
        if bottle is None or solution.storage == "tap":
            continue
        into_tank = (s for s in profile.steps if s.scope == "batch" and s.into is not None)
        pours = [_about_film(step) for step in into_tank if step.solution == solution.id]
        paths = {
            _path_of(profile, kind) for kind in kinds if any(holds(when, frozenset({kind})) for when in pours)
        }
        found.append(Stock(bottle.volume_ml, frozenset(paths), solution.storage == "one-shot"))
    return tuple(found)


def _about_film(step: Step) -> tuple[str, ...]:
    """The conditions of a step that name a kind of film."""
    return tuple(name for name in step.when if name.removeprefix("not ") in FILM_KINDS)


def _path_of(profile: Profile, kind: str) -> str:
    """The batch steps up to the developer that depend on the film, as a key that rolls of one fill share."""
    path = []
    for step in profile.steps:
        about_film = _about_film(step)
        if step.scope == "batch" and about_film and holds(about_film, frozenset({kind})):
            path.append(step.id)
        if step.solution is not None and profile.solution(step.solution).ends == "on time":
            break
    return "+".join(path)


class _LaidOut(Struct, frozen=True):
    """Tonight's steps in one order of loading and warming, their chart, and the alerts about them.

    unseen: as `LoadingOrder.unseen`.
    """

    steps: tuple[PlannedStep, ...]
    chart: Timeline
    unseen: tuple[tuple[str, float], ...]
    alerts: tuple[Message, ...]


def _laid_out(evening: Evening, loading: Loading, ready_s: float | None) -> _LaidOut:
    """The evening in this order. ready_s: when the bottles are in range."""
    evening = replace(evening, setup=replace(evening.setup, loading=loading))
    placed, handwork = place_steps(evening)
    steps, alerts = planned_steps(evening, placed)
    tanks = frozenset(vessel.id for vessel in evening.profile.vessels if vessel.kind == "tank")
    late = _late_alerts(evening.setup, handwork)
    return _LaidOut(steps, *_chart(placed, steps, handwork, tanks, ready_s), (*late, *alerts))


def _in_order(evening: Evening, tempering: Tempering | None) -> tuple[_LaidOut, LoadingOrder | None]:
    """The evening in the order of loading and warming that is wanted and safe, and why that order.

    The reason is None where the process has one order only.
    """
    ready_s, setup = tempering.ready_s if tempering is not None else None, evening.setup
    after = _laid_out(evening, "after warming", ready_s)
    if not any(LOAD_BESIDE in step.conditions() for step in evening.profile.steps):
        return after, None
    beside = _laid_out(evening, "while warming", ready_s)
    if not tempered(evening.profile, setup):
        return after if setup.loading == "after warming" else beside, LoadingOrder(setup.loading, "chosen")
    found = loading_order(setup, tempering, beside.unseen)
    saved_s = after.chart.hands_done_s - beside.chart.hands_done_s
    if found.order == "while warming":
        return beside, replace(found, saved_s=saved_s)
    return after, replace(found, saved_s=-saved_s if found.why == "chosen" else 0.0)


def _late_alerts(setup: Setup, handwork: tuple[Handwork, ...]) -> list[Message]:
    """The alerts about rolls that no order of the handwork brings into their last bath in time."""
    found = []
    for work in handwork:
        labels = tuple(setup.rolls[work.batch.rolls[index]].label for index in sorted(work.order.late))
        if labels:
            found.append(alert("handwork-late", rolls=labels, latest_h=LATEST_S / 3600.0))
    return found


def _chart(
    placed: tuple[Placed, ...],
    steps: tuple[PlannedStep, ...],
    handwork: tuple[Handwork, ...],
    tanks: frozenset[str],
    ready_s: float | None,
) -> tuple[Timeline, tuple[tuple[str, float], ...]]:
    """The chart of these steps, and `LoadingOrder.unseen`.

    tanks: ids of the vessels that are tanks; ready_s: when the bottles are in range. What joins the hanging waits
    for it, so it begins a new part, and each part begins when the one before is over.
    """
    blocks = [_block(step, place, tanks, ready_s) for step, place in zip(steps, placed, strict=True)]
    unseen: tuple[tuple[str, float], ...] = ()
    waits = next((number for number, step in enumerate(steps) if step.kind is Kind.WAIT), -1)
    loads = next((number for number, step in enumerate(steps) if step.kind is Kind.DARK), len(steps))
    stands = max((n for n, step in enumerate(steps[:loads]) if step.kind is Kind.MEASURE), default=None)
    if stands is not None and loads < waits:
        # film is loaded while the bottles warm: the wait is what is left after it, or the reading
        since_s = fsum(block.duration_s for block in blocks[stands + 1 : waits])
        read_s = READ_S + MEASURE_S * sum(ask.required for ask in steps[waits].readings)
        left_s = max(read_s, (TEMPER_S if ready_s is None else ready_s) - since_s)
        blocks[waits] = Block("basin", steps[waits].title, left_s, hands=True, begun_s=since_s)
        loading_s = fsum(block.duration_s for block in blocks[loads:waits])
        unseen = ((steps[stands].id, since_s), (steps[loads].id, loading_s))
    parts: list[list[Block | Order]] = [[]]
    orders = {work.first: work for work in handwork}
    hanging = {step.id for step in steps if step.kind is Kind.HANG}
    number = 0
    while number < len(steps):
        work = orders.get(number)
        if work is not None:
            parts[-1].append(work.order)
            number = work.last
            continue
        if steps[number].joins in hanging:
            parts.append([])
        parts[-1].append(blocks[number])
        number += 1
    return end_to_end(*map(tuple, parts)), unseen


def _block(step: PlannedStep, placed: Placed, tanks: frozenset[str], ready_s: float | None) -> Block:
    reading = READ_S + TICK_S * len(step.ticks)
    row: RowName = "hands"
    match step.kind:
        case Kind.CHECK:
            seconds = reading
        case Kind.MEASURE:
            seconds = reading + MEASURE_S * len(step.readings)
        case Kind.WAIT:
            # the forecast is for cold bottles; before a later tank fill they have only cooled a little
            seconds = AGAIN_S if placed.batch is not None else TEMPER_S if ready_s is None else ready_s
            row = "basin"
        case Kind.DARK:
            seconds = LOAD_ROLL_S * (len(placed.batch.rolls) if placed.batch is not None else 1)
            row = "tank"
        case Kind.BATH:
            seconds = (step.planned_s or 0.0) + POUR_S
            row = "tank"
        case Kind.WASH:
            seconds = step.planned_s or HANDWORK_S
            # film of a tank fill is washed in the tank unless the step names another vessel
            of_fill = placed.batch is not None and placed.roll is None
            row = "tank" if (placed.step.into in tanks if placed.step.into is not None else of_fill) else "basin"
        case Kind.HANG:
            seconds = step.planned_s or 0.0
            row = "hanging"
        case _:
            assert_never(step.kind)
    return Block(row, step.title, seconds, dark=step.kind is Kind.DARK, hands=row in ("tank", "basin"))
