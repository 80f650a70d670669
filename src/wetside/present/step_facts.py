"""What a step's screen says beside the act: how much of what and how hot, and what has moved its clock. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from wetside.domain.calc.wording import span, temperature, volume
from wetside.domain.planning.bottles import bottle_of
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.state import State
from wetside.domain.session.transitions import plan_of
from wetside.present.actions import LOOK_STAGE
from wetside.present.bath_correction import corrected_bath
from wetside.present.reading_rows import reading_facts
from wetside.present.wash_water import kept_warm, wash_water_ml, wash_water_words

BATH_READING = "bath"
"""What a reading of the warm bath is filed under."""

SHORT_LOADING_S = 20.0
"""Nobody winds a roll on its reel in less (our own number)."""


def facts_of(state: State, step: PlannedStep, waits_for: PlannedStep | None, at: float) -> tuple[str, ...]:
    """One sentence each. `waits_for` is the background step that has to come to its time before this one."""
    plan = plan_of(state)
    facts = [step.in_words] if step.in_words else []
    facts += _of_a_short_loading(state, plan, step)
    facts += reading_facts(state, plan, step, at)
    facts += _of_the_tank(plan, step)
    facts += _of_the_pour(state, plan, step)
    facts += _of_the_wash(plan, step)
    if waits_for is not None and waits_for.kind is Kind.HANG:
        facts.append("The guide may be left meanwhile, key q: 'wetside' goes on from here.")
    facts += _for_the_labels(state, plan, step)
    facts += _of_the_fill(plan, step)
    if step.stage == LOOK_STAGE and step.id == plan.steps[-1].id:
        facts.append(_looked_at(state, plan))
    if plan.water is not None and any(plan.bath_to_mix_c(step, ask.of) for ask in step.readings):
        facts.append(_bath_advice(state, plan, step) or plan.water.words[0])
    moves = [move for move in state.moves if move.step == step.id]
    if moves:
        unsure = f" ± {moves[-1].uncertainty_s:.0f} s for the thermometer." if moves[-1].uncertainty_s else ""
        facts.append(moves[-1].why + unsure)
    for correction in state.corrections:
        if correction.step == step.id:
            late = "late" if correction.by_s > 0 else "early"
            facts.append(f"Clock corrected: it was started {abs(correction.by_s):.0f} s {late}.")
    return tuple(facts)


def _of_a_short_loading(state: State, plan: Plan, step: PlannedStep) -> list[str]:
    """Right after a loading that was too short for its rolls: the question whether all of them are in the tank."""
    number = plan.number(step.id)
    before = plan.steps[number - 1] if number else None
    clock = state.clocks.get(before.id) if before is not None and before.kind is Kind.DARK else None
    batch = next((batch for batch in plan.batches if batch.number == step.batch), None)
    if before is None or clock is None or batch is None or before.id not in state.ended:
        return []
    lasted_s, rolls = state.ended[before.id] - clock.t0, len(batch.rolls)
    if lasted_s >= SHORT_LOADING_S * rolls:
        return []
    loaded = "the roll in the tank" if rolls == 1 else f"all {rolls} rolls in the tank"
    return [f"The loading took {span(lasted_s)}. Is {loaded}, the lid locked?".replace("Is all", "Are all")]


def _bath_advice(state: State, plan: Plan, step: PlannedStep) -> str:
    """What to do at once with a warm bath that was read beside what the plan wants; empty where nothing is."""
    read = next((r for r in reversed(state.readings) if r.of == BATH_READING and r.step == step.id), None)
    wanted_c = plan.bath_to_mix_c(step, BATH_READING)
    if read is None or wanted_c is None:
        return ""
    return corrected_bath(plan.setup.water, read.temperature_c, wanted_c, plan.unit, plan.volume_unit)


def rolls_looked_at(state: State) -> frozenset[int]:
    """The rolls, numbered from 0, of which somebody noted how they came out."""
    return frozenset(note.roll for note in state.notes if note.about == "look" and note.roll is not None)


def _of_the_tank(plan: Plan, step: PlannedStep) -> list[str]:
    """Where the developer is warmed: what the tank will take of it, and the bottle that makes up for it."""
    read = {ask.of for ask in step.readings if ask.range_c is not None}
    if step.kind is not Kind.WAIT or not read:
        return []
    # Loaded where it is wanted: no other picture waits for it.
    from wetside.domain.session.pours import pour_words, pours

    number = plan.number(step.id)
    coming = (pour for pour in pours(plan) if plan.number(pour.step) > number)
    pour = next((pour for pour in coming if plan.step(pour.step).solution in read), None)
    words = pour_words(plan, pour) if pour is not None and step.batch in (None, pour.batch) else ""
    return [f"{plan.title_of(plan.step(pour.step).solution or '')}: {words}"] if pour is not None and words else []


def _of_the_pour(state: State, plan: Plan, step: PlannedStep) -> list[str]:
    facts = []
    poured_in = step.volume_ml is not None and step.solution is not None and step.timed
    if poured_in and not wash_water_ml(step) and step.id not in state.clocks:
        target = f" at {temperature(step.target_c, plan.unit)}" if step.target_c is not None else ""
        facts.append(f"{volume(step.volume_ml or 0.0, plan.volume_unit)} of {step.solution_title}{target}.")
    # A roll lowered into a jar has neither a pour to start from nor a drain to count.
    poured = step.kind is Kind.BATH and not step.background
    if poured and step.id not in state.clocks and step.planned_s is not None:
        start = "when you begin to pour" if step.clock_starts == "pour begins" else "when the tank is full"
        counts = "draining counts" if step.draining_counts else "draining does not count"
        facts.append(f"The clock starts {start}; {counts}.")
    return facts


def _of_the_wash(plan: Plan, step: PlannedStep) -> list[str]:
    """At a wash that changes its water, and at the bath before it: how much warm water has to stand ready."""
    number = plan.number(step.id)
    coming = plan.steps[number : number + 2]
    wash = next((each for each in coming if each.batch == step.batch and wash_water_ml(each)), None)
    if wash is None or not step.timed:
        return []
    return [f"{wash_water_words(plan, wash)} {kept_warm(plan)}"]


def _of_the_fill(plan: Plan, step: PlannedStep) -> list[str]:
    """Where film is loaded: which rolls go into this tank fill, and which stay in their cans."""
    batch = next((each for each in plan.batches if each.number == step.batch), None)
    stages = [each.stage for each in plan.steps if each.kind is Kind.DARK and each.batch == step.batch]
    if batch is None or len(plan.batches) < 2 or step.stage not in stages:
        return []
    if step.kind is Kind.DARK:
        return []  # there it stands beside the act
    later = [roll for each in plan.batches if each.number > batch.number for roll in each.rolls]
    facts = [f"In their cans until their own fill: {_named(plan, later)}."] if later else []
    return [*facts, into_this_fill(plan, step)]


def into_this_fill(plan: Plan, step: PlannedStep) -> str:
    """Which rolls the tank fill of this step holds: a wrong one costs a film. Empty with one fill."""
    batch = next((each for each in plan.batches if each.number == step.batch), None)
    if batch is None or len(plan.batches) < 2:
        return ""
    return f"This fill: {_named(plan, batch.rolls)}."


def _named(plan: Plan, rolls: Iterable[int]) -> str:
    named = (plan.setup.rolls[roll] for roll in rolls)
    return "; ".join(f"{roll.label} (push {roll.push:+g})" if roll.push else roll.label for roll in named)


def _for_the_labels(state: State, plan: Plan, step: PlannedStep) -> list[str]:
    """What to write on the bottles, in the step after all film has been hung: there they are put away."""
    number = plan.number(step.id)
    before = plan.steps[number - 1]
    if number == 0 or before.kind is not Kind.HANG or before.batch is not None or before.roll is not None:
        return []
    # Loaded where it is wanted, at one step of the evening: `resume` waits for none of it.
    from wetside.domain.session.rolls import begun_with, rolls_through

    done = []
    for bottle in plan.setup.bottles:
        begun = [each for each in begun_with(state, plan, bottle.solution) if each.storage == "bottle"]
        if begun and bottle_of(plan.setup, bottle.solution) is bottle:
            rolls = bottle.used_rolls + rolls_through(plan, begun)
            done.append(f"{plan.title_of(bottle.solution)} {rolls:.1f}".removesuffix(".0"))
    return [f"For the labels, rolls of 135-36 so far: {', '.join(done)}."] if done else []


def _looked_at(state: State, plan: Plan) -> str:
    rolls, noted = len(plan.setup.rolls), len(rolls_looked_at(state))
    if noted >= rolls:
        return "How each roll came out is noted."
    return f"Key r, or the menu, notes how a roll came out: {noted} of {rolls} noted."
