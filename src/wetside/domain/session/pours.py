"""What a tank takes from the developer that is poured in: by the plan, and by a session as it goes. Pure."""

from __future__ import annotations

from wetside.domain.calc.pouring import TANK_J_PER_K, bottle_for_c, rinsed_tank_c
from wetside.domain.calc.tempering import tank_drop_c
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.state import State
from wetside.frozen import dataclass

TO_THE_DEVELOPER_S = 30.0
"""From pouring out a rinse to pouring in what follows, where no clock tells (our own number)."""


@dataclass(frozen=True, slots=True)
class Pour:
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
    found = (pour_of(plan, step, step.target_c) for step in plan.steps if step.table and step.target_c is not None)
    return tuple(pour for pour in found if pour is not None)


def pour_of(plan: Plan, step: PlannedStep, poured_c: float, state: State | None = None) -> Pour | None:
    """The pour of a developer from a bottle of `poured_c`; with `state` by what has happened in the session.

    None for a step that is not a tank filled for this batch, as far as the plan tells.
    """
    if step.volume_ml is None or step.batch is None or step.ends != "on time":
        return None
    heat = TANK_J_PER_K[plan.setup.tank.material]
    air_c = room_c(plan, state)
    tank_c = _tank_c(plan, step, state, air_c, heat)
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
    """What fills the tank of this batch before the developer: prewet, prebath, washes; in order."""
    before = plan.steps[: plan.number(step.id)]
    mine = (each for each in before if each.batch == step.batch and each.volume_ml is not None)
    return tuple(each for each in mine if each.kind in (Kind.BATH, Kind.WASH))


def rinse_c(plan: Plan, rinse: PlannedStep) -> float:
    """How warm a rinse is meant to be (°C): its own target, else as the developer that it comes before."""
    if rinse.target_c is not None:
        return rinse.target_c
    later = plan.steps[plan.number(rinse.id) :]
    developer = next((s for s in later if s.batch == rinse.batch and s.table and s.ends == "on time"), None)
    wanted_c = developer.target_c if developer is not None else None
    return wanted_c if wanted_c is not None else plan.setup.water.room_c


def _tank_c(plan: Plan, step: PlannedStep, state: State | None, air_c: float, heat: float) -> float:
    tank_c = air_c
    rinses = rinses_before(plan, step)
    for number, rinse in enumerate(rinses):
        if state is not None and rinse.id not in state.clocks:
            continue  # left out, or not reached yet by a press that asks beforehand
        last = number + 1 == len(rinses)
        empty_s = _empty_s(rinse, state) if last else TO_THE_DEVELOPER_S
        tank_c = rinsed_tank_c(
            _read_c(plan, rinse, state), rinse.volume_ml or step.volume_ml or 1.0, tank_c, heat, air_c, empty_s
        )
    return tank_c


def _read_c(plan: Plan, rinse: PlannedStep, state: State | None) -> float:
    """As read in its own step, else as it is meant."""
    read = (
        [r for r in state.readings if r.step == rinse.id and r.of == rinse.solution] if state is not None else []
    )
    return read[-1].temperature_c if read else rinse_c(plan, rinse)


def _empty_s(rinse: PlannedStep, state: State | None) -> float:
    clock = state.clocks.get(rinse.id) if state is not None else None
    if state is None or clock is None or clock.drained_at is None:
        return TO_THE_DEVELOPER_S
    return max(0.0, state.at - clock.drained_at)


def room_c(plan: Plan, state: State | None) -> float:
    """The air of the bench (°C): as last read, else as the setup says."""
    read = state.last_reading("room") if state is not None else None
    return read.temperature_c if read is not None else plan.setup.water.room_c
