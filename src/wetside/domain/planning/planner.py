"""Works a plan out: profile x setup -> ordered steps with tonight's figures. Pure.

`make_plan` is the only way in. What it cannot plan it refuses, all findings at once; what should worry the
person it puts into the plan's warnings.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from wetside.domain.calc.water import drying_s, drying_sentence
from wetside.domain.calc.wording import Units, said
from wetside.domain.planning.adjusted_profile import like_the_developer, meant_tonight
from wetside.domain.planning.agitation import agitated
from wetside.domain.planning.batching import batches_of, tank_findings
from wetside.domain.planning.bath_figures import BathFigures, bath_figures, bottle_worries
from wetside.domain.planning.cost import evening_cost
from wetside.domain.planning.drain_lead import drain_worries
from wetside.domain.planning.expansion import Placed, expand, facts_of, joined, joiner, poured_for, together
from wetside.domain.planning.ordering import arranged
from wetside.domain.planning.plan import (
    Batch,
    Factors,
    Plan,
    PlannedReading,
    PlannedStep,
    PlannedTick,
    RuleText,
    TemperatureUnit,
    VolumeUnit,
    Worry,
)
from wetside.domain.planning.process_worries import late_worries, process_worries, water_worries
from wetside.domain.planning.scheduling import Laid, lay_out
from wetside.domain.planning.setup import Loading, Setup
from wetside.domain.planning.tempering_plan import tempering_plan
from wetside.domain.profile.model import Kind, Profile, ReadingAsk, Solution, Step, Tick, holds
from wetside.errors import CheckFailed, Refused
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Habits:
    """The person's own leads and units: from settings, and learned from past sessions."""

    lead_in_s: float = 5.0
    drain_lead_s: float = 10.0
    unit: TemperatureUnit = "°C"
    volume_unit: VolumeUnit = "ml"
    dark_bell_every_s: float = 0.0

    @property
    def units(self) -> Units:
        """What the person reads."""
        return Units(self.unit, self.volume_unit)


def make_plan(profile: Profile, setup: Setup, habits: Habits | None = None, today: date | None = None) -> Plan:
    """Tonight's plan. CheckFailed with every finding when profile and setup do not go together.

    `today` decides the age of the bottles; without it no age is judged.
    """
    habits = habits or Habits()
    _refuse_unfit(profile, setup)
    sheet, profile = profile, _tonight(profile, setup, habits)
    batches = batches_of(profile, setup)
    tempering, water = tempering_plan(profile, setup, habits.unit, habits.volume_unit)
    ready_s = tempering.ready_s if tempering is not None else None

    def arrange(loading: Loading) -> _Arranged:
        return _arranged(profile, sheet, replace(setup, loading=loading), batches, habits, ready_s)

    evening, loading = arranged(profile, setup, tempering, arrange)
    steps, timeline, worries = evening.steps, evening.chart, list(evening.worries)
    worries += _bottle_worries(profile, setup, batches, steps, today, habits.volume_unit)
    worries += [
        *water_worries(setup, tempering, water, habits.units),
        *process_worries(profile, setup, tempering, habits.unit),
    ]
    worries += drain_worries(steps)
    return Plan(
        profile_id=profile.id,
        profile_title=profile.title,
        profile_sha256=profile.sha256,
        setup=setup,
        stages=tuple((stage.id, stage.title) for stage in profile.stages),
        batches=batches,
        steps=steps,
        rules=tuple(
            RuleText(rule.residue, rule.solution, rule.why) for rule in profile.residue_rules if not rule.harmless
        ),
        titles=_titles(profile, batches),
        first_aid=profile.first_aid,
        water=water,
        tempering=tempering,
        timeline=timeline.rows,
        total_s=timeline.total_s,
        dark_s=timeline.dark_s,
        warnings=tuple(dict.fromkeys(worries)),
        sources=tuple((source.id, source.title, source.sure.value) for source in profile.sources),
        notes=profile.notes,
        unit=habits.unit,
        hands_done_s=timeline.hands_done_s,
        volume_unit=habits.volume_unit,
        yields=profile.yields,
        loading=loading,
        cost=evening_cost(profile, setup, batches, steps),
    )


@dataclass(frozen=True, slots=True)
class _Arranged:
    """Tonight's steps in one order, their chart, and what they worry about."""

    steps: tuple[PlannedStep, ...]
    chart: Laid
    worries: tuple[Worry, ...]


def _arranged(
    profile: Profile,
    sheet: Profile,
    setup: Setup,
    batches: tuple[Batch, ...],
    habits: Habits,
    ready_s: float | None,
) -> _Arranged:
    placed, handwork = expand(profile, setup, batches)
    worries = late_worries(setup, batches, handwork)
    steps = _steps(profile, sheet, setup, batches, placed, habits, worries)
    tanks = frozenset(vessel.id for vessel in profile.vessels if vessel.kind == "tank")
    return _Arranged(steps, lay_out(placed, steps, handwork, tanks, ready_s), tuple(worries))


def _tonight(profile: Profile, setup: Setup, habits: Habits) -> Profile:
    try:
        return meant_tonight(profile, setup)
    except Refused as refusal:
        raise Refused(said(refusal, habits.units)) from refusal


def _refuse_unfit(profile: Profile, setup: Setup) -> None:
    """CheckFailed with all that keeps this setup from being planned with this profile."""
    found = []
    if not setup.rolls:
        found.append("The setup has no roll: add one under [[rolls]].")
    for roll in setup.rolls:
        if roll.kind not in profile.accepts:
            accepts = ", ".join(profile.accepts)
            found.append(f"{roll.label}: {profile.title} does not take {roll.kind} film; it takes {accepts}.")
    solutions = {solution.id for solution in profile.solutions}
    for bottle in setup.bottles:
        if bottle.solution not in solutions:
            known = ", ".join(sorted(solutions))
            unknown = f'{profile.title} has no "{bottle.solution}"'
            found.append(f"{bottle.label}: {unknown}; a bottle holds one of {known}.")
    held = {bottle.solution for bottle in setup.bottles}
    kinds = frozenset(roll.kind for roll in setup.rolls)
    for solution in profile.solutions:
        if solution.storage == "tap" or solution.id in held or not poured_for(profile, solution.id, kinds):
            continue
        found.append(f"There is no bottle of {solution.title.lower()} tonight: add one under [[bottles]].")
    found += tank_findings(setup)
    if found:
        raise CheckFailed(tuple(found))


def _steps(
    profile: Profile,
    sheet: Profile,
    setup: Setup,
    batches: tuple[Batch, ...],
    placed: tuple[Placed, ...],
    habits: Habits,
    worries: list[Worry],
) -> tuple[PlannedStep, ...]:
    steps = []
    for number, place in enumerate(placed):
        figures = _figures(sheet, setup, batches, place, habits.unit)
        worries += figures.worries
        facts = facts_of(setup, batches, place.batch, place.roll)
        planned = like_the_developer(sheet, _planned(profile, setup, place, figures, placed, habits), setup)
        ticks = _ticks(profile, placed, number, facts)
        steps.append(replace(planned, ticks=ticks, readings=_readings(place.step, facts)))
    return tuple(steps)


def _figures(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], place: Placed, unit: TemperatureUnit
) -> BathFigures:
    step = place.step
    if step.solution is None:
        words = _drying_words(setup, unit, step.time_s) if step.kind is Kind.HANG else ""
        seconds = _hanging_s(setup, step.time_s) if step.kind is Kind.HANG else step.time_s
        return BathFigures(seconds, Factors(), 1.0, words, None)
    solution = profile.solution(step.solution)
    if step.time_s is not None:
        return BathFigures(step.time_s, Factors(), 1.0, "", solution.target_c)
    try:
        return bath_figures(solution, setup, batches, place.batch, unit)
    except Refused as refusal:
        raise CheckFailed((f"{solution.title}: {said(refusal, Units(unit))}",)) from refusal


def _hanging_s(setup: Setup, least_s: float | None) -> float | None:
    """How long film hangs: the larger of the least time and the guess from tonight's room, to five minutes."""
    if least_s is None:
        return None
    try:
        guess_s = 300.0 * round(drying_s(setup.water.room_c, setup.water.humidity) / 300.0)
    except Refused:
        return least_s
    return max(least_s, guess_s)


def _drying_words(setup: Setup, unit: TemperatureUnit, least_s: float | None) -> str:
    """The guess from tonight's room, or why there is none."""
    try:
        return drying_sentence(setup.water.room_c, setup.water.humidity, least_s, unit)
    except Refused as refusal:
        return said(refusal, Units(unit))


def _planned(
    profile: Profile,
    setup: Setup,
    place: Placed,
    figures: BathFigures,
    placed: tuple[Placed, ...],
    habits: Habits,
) -> PlannedStep:
    """The step at its place with tonight's figures; what it asks for is added later."""
    step = place.step
    solution = profile.solution(step.solution) if step.solution is not None else None
    default_ends = solution.ends if solution is not None else "not before" if figures.seconds else "when done"
    dosed = solution is not None and step.time_s is None and solution.ends == "on time"
    planned = replace(
        _of_profile(profile, place),
        roll_label=setup.rolls[place.roll].label if place.roll is not None else "",
        agitation=agitated(step.agitation, setup),
        planned_s=figures.seconds,
        ends=step.ends or default_ends,
        target_c=figures.target_c,
        factors=figures.factors,
        in_words=figures.words,
        factor=figures.factor,
        lead_in_s=step.lead_in_s if step.lead_in_s is not None else habits.lead_in_s,
        drain_lead_s=habits.drain_lead_s,
        joins=joined(place, placed),
        in_the_dark=step.kind == "dark" and setup.place == "dark room",
        bell_every_s=_bell_every_s(step, habits),
    )
    return planned if solution is None else _with_solution(planned, solution, dosed)


def _with_solution(planned: PlannedStep, solution: Solution, dosed: bool) -> PlannedStep:
    """The step with what it needs to know of its solution; `dosed` where readings move its end."""
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


def _bell_every_s(step: Step, habits: Habits) -> float | None:
    """As the process says; else, while film is loaded, as the person asks; most ask for none."""
    if step.bell_every_s is not None or step.kind != "dark":
        return step.bell_every_s
    return habits.dark_bell_every_s or None


def _of_profile(profile: Profile, place: Placed) -> PlannedStep:
    """What of a step is the same on any evening."""
    step = place.step
    return PlannedStep(
        id=place.id,
        of=step.id,
        title=step.title,
        stage=step.stage,
        kind=step.kind,
        instruction=step.instruction,
        safe_way_out=step.safe_way_out,
        source=step.source,
        batch=place.batch.number if place.batch is not None else None,
        roll=place.roll,
        cautions=tuple(profile.caution(caution) for caution in step.cautions),
        solution=step.solution,
        pour=_things(place, (step.through, step.into, *step.touches)),
        back=_things(place, (step.back_through,)),
        rinses=_things(place, step.rinses),
        volume_ml=_volume_ml(place),
        clock_starts=step.clock_starts,
        draining_counts=step.draining_counts,
        background=step.background,
        pausable=step.pausable,
        hand_in_water=step.hand_in_water,
        remember=step.remember,
        lid=step.lid,
        water_every_s=step.water_every_s,
    )


def _volume_ml(place: Placed) -> float | None:
    """What covers the reels, for a step poured into the tank; a jar for single rolls is filled as it is."""
    in_tank = place.batch is not None and place.roll is None and place.step.into is not None
    return place.batch.volume_ml if in_tank and place.batch is not None else None


def _things(place: Placed, ids: tuple[str | None, ...]) -> tuple[str, ...]:
    """Vessel ids; "film" becomes this batch's film, so that a new batch comes with clean film."""
    film = f"film-b{place.batch.number}" if place.batch is not None else "film"
    return tuple(film if id_ == "film" else id_ for id_ in ids if id_ is not None)


def _readings(step: Step, facts: frozenset[str]) -> tuple[PlannedReading, ...]:
    """What is read at this place tonight."""
    return tuple(planned_reading(ask) for ask in step.readings if holds(ask.when, facts))


def planned_reading(ask: ReadingAsk) -> PlannedReading:
    """The reading as it is asked for on an evening on which its conditions hold."""
    return PlannedReading(ask.of, ask.title, ask.range_c, ask.required)


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
            PlannedTick(
                id=f"{place.id}/{tick.id}",
                text=tick.text,
                due_step=due_step,
                due_at="start" if due_at == "start" else "end",
                killer=tick.killer,
                asks=tick.asks,
                clears=_things(place, tick.clears),
                closes=tick.closes,
                lid=tick.lid,
                gloves=tick.gloves,
            )
        )
    return tuple(found)


def _due(profile: Profile, placed: tuple[Placed, ...], number: int, tick: Tick) -> tuple[str, str]:
    """The gate a tick falls due at: (planned step, "start" or "end").

    A background step's end is where it is joined. Where the named step is left out tonight, the tick falls due
    before the next step that stands later in the profile, and at the very end if there is none.
    """
    place = placed[number]
    if tick.due == "start":
        return place.id, "start"
    if tick.due == "end":
        ends_it = joiner(placed, number) if place.step.background else None
        return (place.id, "end") if ends_it is None else (ends_it.id, "start")
    later = placed[number + 1 :]
    named = [other for other in later if other.step.id == tick.due]
    nearest = [other for other in named if together(other, place)]
    order = {step.id: position for position, step in enumerate(profile.steps)}
    after = [other for other in later if _comes_after(order, other.step, tick.due, place)]
    for candidates in (nearest, named, after):
        if candidates:
            return candidates[0].id, "start"
    return placed[-1].id, "end"


def _comes_after(order: dict[str, int], step: Step, due: str, host: Placed) -> bool:
    return order[step.id] >= order.get(due, 0) > order[host.step.id]


def _titles(profile: Profile, batches: tuple[Batch, ...]) -> tuple[tuple[str, str], ...]:
    titles = [(solution.id, solution.title) for solution in profile.solutions]
    titles += [(vessel.id, vessel.title) for vessel in profile.vessels]
    titles += [(f"film-b{batch.number}", "The film") for batch in batches]
    return tuple(titles)


def _bottle_worries(
    profile: Profile,
    setup: Setup,
    batches: tuple[Batch, ...],
    steps: tuple[PlannedStep, ...],
    today: date | None,
    unit: VolumeUnit,
) -> tuple[Worry, ...]:
    """What should worry about the bottles, by what tonight's steps pour and what of it has to cover the reels."""
    used = frozenset(step.solution for step in steps if step.solution is not None)
    covering = frozenset(
        (s.solution, s.batch) for s in steps if s.solution and s.batch and s.volume_ml is not None
    )
    return bottle_worries(profile, setup, batches, used, covering, today, unit)
