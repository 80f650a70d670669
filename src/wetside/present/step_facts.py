"""The texts of a step's screen besides the act and the clock: facts, temperature rows, the safe way out. Pure.

The act and the clock are in `step_act.py`; instructions, statements and cautions come from the process's own file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, Literal

from wetside.domain.planning.bottles import rolls_through
from wetside.domain.planning.plan import BATH_READING, Batch, Plan, PlannedReading, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.gates import beside_range
from wetside.domain.session.readings import OLDEST_S, valid_readings
from wetside.domain.session.state import State, StepClock
from wetside.present.actions import LOOK_STAGE
from wetside.present.message_words import in_words
from wetside.present.view_model import ReadingRow
from wetside.present.water_text import corrected_bath
from wetside.present.wording import minutes_seconds, span, temperature, temperatures, the, trimmed, volume

SHORT_LOADING_S: Final = 20.0
"""Winding one roll on its reel takes longer than this; a shorter loading is questioned (our own number)."""


def facts_of(state: State, step: PlannedStep, waits_for: PlannedStep | None, at: float) -> tuple[str, ...]:
    """The sentences beside the act, in order. waits_for: the background step whose time must be up first."""
    plan = state.plan
    facts = [in_words(step.about, plan.units)] if step.about is not None else []
    facts += _short_loading(state, plan, step)
    facts += _developer_reading(state, plan, step, at)
    facts += _tank_temperature(plan, step)
    facts += _pour(state, plan, step)
    facts += _wash_water(plan, step)
    if waits_for is not None and waits_for.kind is Kind.HANG:
        facts.append("The guide may be left meanwhile, key q: 'wetside' goes on from here.")
    facts += _bottle_labels(state, plan, step)
    facts += _rolls_before_loading(plan, step)
    if step.stage == LOOK_STAGE and step.id == plan.steps[-1].id:
        rolls, noted = len(plan.setup.rolls), len(rolls_looked_at(state))
        how = f"Key r, or the menu, notes how a roll came out: {noted} of {rolls} noted."
        facts.append(how if noted < rolls else "How each roll came out is noted.")
    if plan.water is not None and any(plan.bath_to_mix_c(step, ask.of) for ask in step.readings):
        from wetside.present.tempering_text import bath_water  # of a forecast: not on the way to the first paint

        facts.append(_bath_correction(state, plan, step) or bath_water(plan)[0])
    moves = [move for move in state.moves if move.step == step.id]
    if moves:
        unsure = f" ± {moves[-1].uncertainty_s:.0f} s for the thermometer." if moves[-1].uncertainty_s else ""
        # Imported with the first reading: a resumed guide draws its first screen 5 ms sooner.
        from wetside.present.developer_words import end_words

        facts.append(end_words(plan, moves[-1]) + unsure)
    for correction in state.corrections:
        if correction.step == step.id:
            late = "late" if correction.by_s > 0 else "early"
            facts.append(f"Clock corrected: it was started {abs(correction.by_s):.0f} s {late}.")
    return tuple(facts)


def _batch_of(plan: Plan, step: PlannedStep) -> Batch | None:
    return next((batch for batch in plan.batches if batch.number == step.batch), None)


def _short_loading(state: State, plan: Plan, step: PlannedStep) -> Iterator[str]:
    """After a loading that was too short for its rolls: the question whether all of them are in the tank."""
    number = plan.number(step.id)
    before, batch = plan.steps[number - 1], _batch_of(plan, step)
    clock = state.clocks.get(before.id)
    if (
        number == 0
        or before.kind is not Kind.DARK
        or clock is None
        or batch is None
        or before.id not in state.ended
    ):
        return
    lasted_s, rolls = state.ended[before.id] - clock.t0, len(batch.rolls)
    if lasted_s < SHORT_LOADING_S * rolls:
        loaded = "Is the roll in the tank" if rolls == 1 else f"Are all {rolls} rolls in the tank"
        yield f"The loading took {span(lasted_s)}. {loaded}, the lid locked?"


def _bath_correction(state: State, plan: Plan, step: PlannedStep) -> str:
    """How to correct a warm bath that was read outside its range; "" where it is not needed."""
    read = next((r for r in reversed(state.readings) if r.of == BATH_READING and r.step == step.id), None)
    wanted = plan.bath_to_mix_c(step, BATH_READING)
    if read is None or wanted is None:
        return ""
    return corrected_bath(plan.setup.water, read.temperature_c, wanted, plan.unit, plan.volume_unit)


def rolls_looked_at(state: State) -> frozenset[int]:
    """The rolls, counted from 0, with a note on how they came out."""
    return frozenset(note.roll for note in state.notes if note.about == "look" and note.roll is not None)


def _tank_temperature(plan: Plan, step: PlannedStep) -> Iterator[str]:
    """While the developer is warmed: how far the tank cools it, and the bottle temperature that compensates."""
    read = {ask.of for ask in step.readings if ask.range_c is not None}
    if step.kind is not Kind.WAIT or not read:
        return
    # imported here: resuming any other step does not wait for it
    from wetside.domain.session.developer import pours
    from wetside.present.developer_words import pour_words

    number = plan.number(step.id)
    for pour in pours(plan):
        solution = plan.step(pour.step).solution or ""
        if plan.number(pour.step) > number and solution in read:
            if step.batch in (None, pour.batch) and (words := pour_words(plan, pour)):
                yield f"{plan.title_of(solution)}: {words}"
            return


def _pour(state: State, plan: Plan, step: PlannedStep) -> Iterator[str]:
    """Before a bath: its volume, solution and temperature, and when its clock starts."""
    if step.id in state.clocks:
        return
    if step.volume_ml is not None and step.solution is not None and step.timed and not wash_water_ml(step):
        target = f" at {temperature(step.target_c, plan.unit)}" if step.target_c is not None else ""
        yield f"{volume(step.volume_ml, plan.volume_unit)} of {step.solution_title}{target}."
    # A roll lowered into a jar is neither poured nor drained.
    if step.kind is Kind.BATH and not step.background and step.planned_s is not None:
        start = "when you begin to pour" if step.clock_starts == "pour begins" else "when the tank is full"
        counts = "draining counts" if step.draining_counts else "draining does not count"
        yield f"The clock starts {start}; {counts}."


# the warm water of the washes


def wash_water_ml(step: PlannedStep) -> float:
    """The water of all tank fills of a wash, in ml; 0 where the process states no change of water."""
    return step.fills_of_water(step.planned_s) * (step.volume_ml or 0.0)


def plan_wash_water(plan: Plan) -> tuple[str, ...]:
    """A sentence for each wash that changes its water, then one on keeping it warm; () without such a wash."""
    washes = [step for step in plan.steps if wash_water_ml(step)]
    if not washes:
        return ()
    batches = len(plan.batches) > 1
    named = (f"Batch {step.batch}: " * batches + _wash_water_words(plan, step) for step in washes)
    return (*named, _kept_warm(plan))


def _wash_water_words(plan: Plan, step: PlannedStep) -> str:
    each, in_all = (volume(ml, plan.volume_unit) for ml in (step.volume_ml or 0.0, wash_water_ml(step)))
    warm = f" at {temperatures(step.range_c, plan.unit)}" if step.range_c is not None else ""
    return f"{step.title}: {step.fills_of_water(step.planned_s)} fills of {each}, {in_all} of water{warm} in all."


def _kept_warm(plan: Plan) -> str:
    bucket = "the bucket that warmed the bottles" if plan.water is not None else "a bucket of warm water"
    return f"Keep it warm in jugs that stand in {bucket}."


def _wash_water(plan: Plan, step: PlannedStep) -> Iterator[str]:
    """At a wash that changes its water, and at the bath before it: how much warm water must be ready."""
    number = plan.number(step.id)
    coming = (each for each in plan.steps[number : number + 2] if each.batch == step.batch and wash_water_ml(each))
    wash = next(coming, None)
    if wash is not None and step.timed:
        yield f"{_wash_water_words(plan, wash)} {_kept_warm(plan)}"


# which rolls, and what to write on the bottles


def into_this_fill(plan: Plan, step: PlannedStep) -> str:
    """The sentence with the rolls of this step's tank fill; "" where the evening has one fill."""
    batch = _batch_of(plan, step)
    return f"This fill: {_rolls(plan, batch.rolls)}." if batch is not None and len(plan.batches) > 1 else ""


def _rolls_before_loading(plan: Plan, step: PlannedStep) -> Iterator[str]:
    """In the steps around the loading: which rolls go into this fill, and which stay in their cans."""
    batch = _batch_of(plan, step)
    stages = [each.stage for each in plan.steps if each.kind is Kind.DARK and each.batch == step.batch]
    if batch is None or len(plan.batches) < 2 or step.stage not in stages or step.kind is Kind.DARK:
        return
    later = [roll for each in plan.batches if each.number > batch.number for roll in each.rolls]
    if later:
        yield f"In their cans until their own fill: {_rolls(plan, later)}."
    yield into_this_fill(plan, step)


def _rolls(plan: Plan, rolls: Iterable[int]) -> str:
    named = (plan.setup.rolls[roll] for roll in rolls)
    return "; ".join(f"{roll.label} (push {roll.push:+g})" if roll.push else roll.label for roll in named)


def _bottle_labels(state: State, plan: Plan, step: PlannedStep) -> Iterator[str]:
    """In the step after all film has been hung: the rolls to write on each bottle's label."""
    number = plan.number(step.id)
    before = plan.steps[number - 1]
    if number == 0 or before.kind is not Kind.HANG or before.batch is not None or before.roll is not None:
        return
    # imported here: resuming any other step does not wait for it
    from wetside.domain.session.film import begun_with

    done = []
    for bottle in plan.setup.poured_from:
        begun = [each for each in begun_with(state, bottle.solution) if each.storage == "bottle"]
        if begun:
            rolls = bottle.used_rolls + rolls_through(plan.setup, plan.batches, begun)
            done.append(f"{plan.title_of(bottle.solution)} {trimmed(rolls, 1)}")
    if done:
        yield f"For the labels, rolls of 135-36 so far: {', '.join(done)}."


# temperatures that were read


def reading_rows(state: State, plan: Plan, step: PlannedStep, at: float) -> tuple[ReadingRow, ...]:
    """One row for each temperature the step asks for, in its order."""
    rows = []
    for ask in step.readings:
        range_c = wanted_c(plan, step, ask)
        wanted = temperatures(range_c, plan.unit) if range_c is not None else ""
        reading = state.last_reading(ask.of)
        # An optional reading may be from an earlier step; a required one is read in this step.
        oldest = state.opened_at if ask.required else at - OLDEST_S
        if reading is None or reading.at < oldest:
            never = reading is None or ask.required
            missing: Literal["not read", "not read lately"] = "not read" if never else "not read lately"
            rows.append(ReadingRow(ask.of, ask.title, "", wanted, missing, ask.required))
            continue
        verdict: Literal["in range", "too cold", "too hot", "read"] = "read"
        if ask.range_c is not None:
            verdict = beside_range(reading.temperature_c, ask.range_c) or "in range"
        shown = "probe " * (reading.by == "probe") + temperature(reading.temperature_c, plan.unit)
        rows.append(ReadingRow(ask.of, ask.title, shown, wanted, verdict, ask.required))
    return tuple(rows)


def wanted_c(plan: Plan, step: PlannedStep, ask: PlannedReading) -> tuple[float, float] | None:
    """The range in which a reading must lie, °C; for the warm bath, the range it is mixed to. None for any."""
    return ask.range_c or plan.bath_to_mix_c(step, ask.of)


def seconds_if_started(state: State, step: PlannedStep, at: float) -> float | None:
    """The duration of this bath if it started now, s: as planned, or by its last reading. None without a time."""
    read = _reading_for_time(state, step)
    if read is None or at - read.at > OLDEST_S or step.planned_s is None:
        return step.planned_s
    # imported here: only a developer with a table of times needs it
    from wetside.domain.session.developer import end_by_readings

    found = end_by_readings(state, step, StepClock(t0=at, first_t0=at, end_s=step.planned_s))
    return step.planned_s if found is None else found.end_s


def _reading_for_time(state: State, step: PlannedStep) -> ReadingTaken | None:
    """The last reading of a developer that has not begun and has a time for more than one temperature."""
    if step.id in state.clocks or step.planned_s is None or step.ends != "on time" or len(step.table) < 2:
        return None
    return next((r for r in reversed(valid_readings(state.readings)) if r.of == step.solution), None)


def _developer_reading(state: State, plan: Plan, step: PlannedStep, at: float) -> Iterator[str]:
    """Before a developer: its time by the last reading, or that the reading is too old to count."""
    read, planned_s = _reading_for_time(state, step), step.planned_s
    if read is None or planned_s is None:
        return
    shown, ago = temperature(read.temperature_c, plan.unit), span(at - read.at)
    if at - read.at > OLDEST_S:
        yield f"{shown} was read {ago} ago, too long to count: read {the(step.solution_title)} again."
        return
    seconds = seconds_if_started(state, step, at)
    if seconds is not None and abs(seconds - planned_s) >= 1.0:
        yield f"Read {shown} {ago} ago: so {minutes_seconds(seconds)}, not {minutes_seconds(planned_s)}."


# leaving


def way_out(state: State, step: PlannedStep) -> str:
    """How to stop safely in this step. Until its bath is poured in, that is the way out of the bath before it."""
    plan = state.plan
    if step.kind is not Kind.BATH or step.background or step.id in state.clocks:
        return in_words(step.safe_way_out, plan.units)
    before = plan.steps[plan.number(step.id) - 1]
    wet = before.kind.traits.wets and before.batch == step.batch and before.id in state.clocks
    return in_words(before.safe_way_out if wet else step.safe_way_out, plan.units)
