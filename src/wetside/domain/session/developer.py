"""The developer in the tank: its drop in temperature at the pour, and how readings move its end.

Applies a session's plan and readings to `domain/calc/pouring.py` and `domain/calc/running_dose.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.developer_time import TimeTable, serves
from wetside.domain.calc.pouring import TANK_J_PER_K, at_the_pour_c, bottle_for_c, drift, rinsed_tank_c
from wetside.domain.calc.running_dose import (
    Reading,
    TemperaturePath,
    dose,
    end_of_dose,
    left_table_at_s,
    moves_far,
    temperature_at,
    uncertainty_s,
)
from wetside.domain.calc.tempering import tank_drop_c
from wetside.domain.messages import Refusal
from wetside.domain.planning.baths import drift_seconds
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.session.events import EndReading, ReadingTaken
from wetside.domain.session.readings import OLDEST_S, valid_readings
from wetside.domain.session.state import State, StepClock

TO_THE_DEVELOPER_S = 30.0
"""From pouring out a rinse to pouring in what follows, where no clock measured it (our own number)."""


class Pour(Struct, frozen=True):
    """A solution poured into a tank of `tank_c` (°C): how far it drops there, and the bottle that makes up for it.

    dry_drop_c: the drop in a tank that was not rinsed warm before. bottle_c: how warm the bottle must be for
    `wanted_c` in the tank, None where that lies beyond its range. All drops in K, above zero when the tank is the
    cooler of the two.
    """

    step: str
    batch: int
    volume_ml: float
    tank_c: float
    wanted_c: float
    drop_c: float
    dry_drop_c: float
    bottle_c: float | None


def pours(plan: Plan) -> tuple[Pour, ...]:
    """The pours of tonight's developers at their planned temperature, in order of the steps."""
    as_planned = State(plan=plan, clocks={step.id: StepClock(0.0, 0.0, None) for step in plan.steps})
    wanted = ((step, step.target_c) for step in plan.steps if step.table and step.target_c is not None)
    found = (pour_of(as_planned, step, target_c) for step, target_c in wanted)
    return tuple(pour for pour in found if pour is not None)


def pour_of(state: State, step: PlannedStep, poured_c: float) -> Pour | None:
    """The pour of a developer from a bottle of `poured_c`, by what has happened in the session.

    None for a step that is not a tank filled for this batch, as far as the plan tells.
    """
    if step.volume_ml is None or step.batch is None or step.ends != "on time":
        return None
    heat = TANK_J_PER_K[state.plan.setup.tank.material]
    air_c = _room_c(state)
    tank_c = _tank_c(state, step, air_c, heat)
    wanted_c = step.target_c if step.target_c is not None else poured_c
    bottle_c = bottle_for_c(wanted_c, step.volume_ml, tank_c, heat)
    beyond = step.range_c is not None and not step.range_c[0] <= bottle_c <= step.range_c[1]
    return Pour(
        step.id,
        step.batch,
        step.volume_ml,
        tank_c,
        wanted_c,
        drop_c=tank_drop_c(step.volume_ml, poured_c, tank_c, heat),
        dry_drop_c=tank_drop_c(step.volume_ml, poured_c, air_c, heat),
        bottle_c=None if beyond else bottle_c,
    )


def follows_readings(step: PlannedStep) -> bool:
    """Whether this step's end is a dose that temperature readings move."""
    return step.ends == "on time" and len(step.table) > 1


def rinses_before(plan: Plan, step: PlannedStep) -> tuple[PlannedStep, ...]:
    """The steps that fill the tank of this batch before the developer (prewet, prebath, washes), in order."""
    before = plan.steps[: plan.number(step.id)]
    mine = (each for each in before if each.batch == step.batch and each.volume_ml is not None)
    return tuple(each for each in mine if each.kind.traits.wets)


def rinse_c(plan: Plan, rinse: PlannedStep) -> float:
    """The planned temperature of a rinse (°C): its own target, else that of the developer that it comes before."""
    if rinse.target_c is not None:
        return rinse.target_c
    later = plan.steps[plan.number(rinse.id) :]
    developer = next((s for s in later if s.batch == rinse.batch and s.table and s.ends == "on time"), None)
    wanted_c = developer.target_c if developer is not None else None
    return wanted_c if wanted_c is not None else plan.setup.water.room_c


def _tank_c(state: State, step: PlannedStep, air_c: float, heat: float) -> float:
    tank_c = air_c
    rinses = rinses_before(state.plan, step)
    for number, rinse in enumerate(rinses):
        if rinse.id not in state.clocks:
            continue  # left out, or not begun yet when the drop is asked for in advance
        drained_at = state.clocks[rinse.id].drained_at
        last = number + 1 == len(rinses)
        empty_s = max(0.0, state.at - drained_at) if last and drained_at is not None else TO_THE_DEVELOPER_S
        volume_ml = rinse.volume_ml or step.volume_ml or 1.0
        tank_c = rinsed_tank_c(_read_c(state, rinse), volume_ml, tank_c, heat, air_c, empty_s)
    return tank_c


def _read_c(state: State, rinse: PlannedStep) -> float:
    """The rinse's temperature (°C) as read in its own step, else as planned."""
    read = [r.temperature_c for r in state.readings if r.step == rinse.id and r.of == rinse.solution]
    return read[-1] if read else rinse_c(state.plan, rinse)


def _room_c(state: State) -> float:
    """The room's temperature (°C) as last read, else that of the setup."""
    read = state.last_reading("room")
    return read.temperature_c if read is not None else state.plan.setup.water.room_c


MIXED_S = 15.0
"""A straight fall over this long stands for the exchange with the tank: 0.1 m² of wall and reels at 300 W/m²K have
a time constant of half of it (computed)."""


class _Course(Struct, frozen=True):
    """The developer's temperature, its last reading (s since t0), and the pour where that was of the bottle."""

    path: TemperaturePath
    last: Reading
    poured: Pour | None


class FoundEnd(Struct, frozen=True):
    """The end of a developer (s after its start), its uncertainty (± s), and the reading it is by.

    ask_first: it moves so far that the person is asked to confirm the reading.
    """

    end_s: float
    uncertainty_s: float
    by: EndReading
    ask_first: bool = False


def end_by_readings(state: State, step: PlannedStep, clock: StepClock) -> FoundEnd | None:
    """The end that the readings so far give; None without a reading.

    A reading the table does not serve leaves the end where it is.
    """
    course = _course(state, step, clock)
    if course is None or clock.end_s is None:
        return None
    table = TimeTable(step.table, step.table_tolerance_c)
    try:
        new_s = end_of_dose(table, step.factor, course.path)
        unsure_s = uncertainty_s(table, step.factor, course.path, state.plan.setup.thermometer_error_c) or 0.0
        ask = _doubtful(course, table, step.factor, clock.end_s, new_s)
    except Refusal as refusal:
        return FoundEnd(clock.end_s, 0.0, EndReading(course.last.temperature_c, stays=refusal.why))
    by = EndReading(
        read_c=course.last.temperature_c,
        at_s=course.last.at_s if course.poured is None else None,
        drop_c=course.poured.drop_c if course.poured is not None else 0.0,
        passed=new_s <= course.path.readings[-1].at_s and course.poured is None,
        left_table_at_s=left_table_at_s(table, course.path, new_s),
    )
    return FoundEnd(new_s, unsure_s, by, ask)


def _doubtful(course: _Course, table: TimeTable, factor: float, old_s: float, new_s: float) -> bool:
    """Whether the person is asked to confirm the reading; the drop at the pour alone is no reason to doubt it."""
    if course.poured is None:
        return moves_far(old_s, new_s)
    held = TemperaturePath((Reading(0.0, course.last.temperature_c),), None, None)
    return moves_far(old_s, end_of_dose(table, factor, held))


def doses(
    state: State, step: PlannedStep, clock: StepClock, instants: Sequence[float]
) -> tuple[tuple[float, float], ...]:
    """(s since t0, share of the developer's work done by then) at these instants, by the readings of `state`.

    () without a reading, or when one lies outside the table.
    """
    path = path_of(state, step, clock)
    if path is None:
        return ()
    table = TimeTable(step.table, step.table_tolerance_c)
    try:
        return tuple((at_s, dose(table, step.factor, path, at_s)) for at_s in instants)
    except Refusal:
        return ()


def path_of(state: State, step: PlannedStep, clock: StepClock) -> TemperaturePath | None:
    """The developer's temperature from its start on, by the readings of `state`; None without any."""
    course = _course(state, step, clock)
    return None if course is None else course.path


def end_advised(state: State, step: PlannedStep, clock: StepClock) -> FoundEnd | None:
    """The unchanged end of a bath whose sheet has one row, with advice about its drift as the reason.

    None within the row's tolerance, and where the profile has no other kit's times for advice.
    """
    last = state.last_reading(step.solution or "")
    if last is None or clock.end_s is None or not step.table:
        return None
    read_c = last.temperature_c
    if serves(TimeTable(step.table, step.table_tolerance_c), read_c) or drift_seconds(step, read_c) is None:
        return None
    return FoundEnd(clock.end_s, 0.0, EndReading(read_c, one_row=True))


def _course(state: State, step: PlannedStep, clock: StepClock) -> _Course | None:
    """The course of the temperature by the readings; None without any."""
    mine = [reading for reading in valid_readings(state.readings) if reading.of == step.solution]
    # Of two readings at one instant the later one counts.
    latest = {reading.at: reading for reading in mine if reading.at >= clock.t0}
    within = tuple(_since(latest[at], clock) for at in sorted(latest))
    before = [reading for reading in mine if clock.t0 - OLDEST_S <= reading.at < clock.t0]
    bottle = _since(before[-1], clock) if before else None
    if not within and bottle is None:
        return None
    last = within[-1] if within else bottle
    assert last is not None
    poured_c = bottle.temperature_c if bottle is not None else last.temperature_c
    pour = pour_of(replace(state, at=clock.t0), step, poured_c)
    if pour is None:
        first = (Reading(0.0, poured_c),) if bottle is not None and (not within or within[0].at_s > 0) else ()
        return _Course(TemperaturePath((*first, *within), None, None), last, None)
    return _Course(_poured(state, pour, bottle, within), last, pour if not within else None)


def _poured(state: State, pour: Pour, bottle: Reading | None, within: tuple[Reading, ...]) -> TemperaturePath:
    """A step at the pour, over the seconds it takes to mix, then the drift that the tank's own readings show.

    With a reading of the tank the step is what lies between the bottle and that reading carried back to t0; it
    ends between the bottle and the tank it was poured into. Without one it is computed from the two.
    """
    air_c, heat = _room_c(state), TANK_J_PER_K[state.plan.setup.tank.material]
    bath = state.last_reading("bath")
    found = drift(within, pour.volume_ml, heat, air_c, bath.temperature_c if bath is not None else None)
    if within:
        start_c = at_the_pour_c(within[0], found)
    else:
        start_c = (bottle.temperature_c if bottle is not None else pour.wanted_c) - pour.drop_c
    surroundings_c, rate = (found.surroundings_c, found.rate_per_s) if found is not None else (None, None)
    if bottle is None:
        start = (Reading(0.0, start_c),) if within[0].at_s > 0.0 else ()
        return TemperaturePath((*start, *within), surroundings_c, rate)
    low_c, high_c = sorted((bottle.temperature_c, pour.tank_c))
    start_c = min(max(start_c, low_c), high_c)
    later = tuple(reading for reading in within if reading.at_s > MIXED_S)
    mixed_c = TemperaturePath((Reading(0.0, start_c),), surroundings_c, rate)
    first = (Reading(0.0, bottle.temperature_c), Reading(MIXED_S, temperature_at(mixed_c, MIXED_S)))
    return TemperaturePath((*first, *later), surroundings_c, rate)


def _since(reading: ReadingTaken, clock: StepClock) -> Reading:
    return Reading(reading.at - clock.t0, reading.temperature_c)
