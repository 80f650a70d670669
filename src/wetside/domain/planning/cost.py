"""What an evening takes: its share of the price of the bottles, and its water from both taps. Pure."""

from __future__ import annotations

from math import fsum

from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.calc.water import portions
from wetside.domain.planning.plan import Batch, Cost, Plan, PlannedStep
from wetside.domain.planning.setup import Bottle, Setup, bottle_of
from wetside.domain.profile.model import Profile
from wetside.errors import Refused
from wetside.frozen import dataclass


def evening_cost(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], steps: tuple[PlannedStep, ...]
) -> Cost | None:
    """Tonight's share of what the bottles cost; None where none of them has a price.

    A bottle that comes back gives the share of its price that tonight's film is of its capacity, one that is used
    once what is poured of it. Bottles of one kit of the shelf bear the price of their set: the largest share
    counts, once. No share is above the whole.
    """
    sets: dict[str, tuple[float, float]] = {}
    without = []
    for number, bottle in enumerate(setup.bottles):
        mine = tuple(step for step in steps if step.solution == bottle.solution)
        if not mine or bottle_of(setup, bottle.solution) is not bottle:
            continue
        share = _share(profile, setup, batches, bottle, mine)
        if bottle.price is None or share is None:
            without.append(profile.solution(bottle.solution).title)
            continue
        bought = f"bottle {number}" if bottle.shelf_id is None else bottle.shelf_id.partition("-")[0]
        sets[bought] = (bottle.price, max(share, sets.get(bought, (0.0, 0.0))[1]))
    if not sets:
        return None
    evening = fsum(price * min(share, 1.0) for price, share in sets.values())
    return Cost(evening, evening / len(setup.rolls), tuple(without))


def _share(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], bottle: Bottle, steps: tuple[PlannedStep, ...]
) -> float | None:
    """What tonight takes of a bottle, as a share of it; None without a capacity."""
    solution = profile.solution(bottle.solution)
    if solution.storage == "one-shot":
        return fsum(step.volume_ml or 0.0 for step in steps) / bottle.volume_ml
    if not solution.capacity_per_l:
        return None
    whole = {batch.number: batch.rolls for batch in batches}
    every = tuple(range(len(setup.rolls)))
    rolls = {
        roll
        for step in steps
        for roll in ((step.roll,) if step.roll is not None else whole.get(step.batch or 0, every))
    }
    through = roll_equivalents(setup.rolls[roll].format for roll in sorted(rolls))
    return through / (solution.capacity_per_l * bottle.volume_ml / 1000.0)


@dataclass(frozen=True, slots=True)
class WaterInAll:
    """Water drawn over the evening, ml from each tap; what boils is counted as hot."""

    hot_ml: float
    cold_ml: float

    @property
    def volume_ml(self) -> float:
        """All of it."""
        return self.hot_ml + self.cold_ml


def water_in_all(plan: Plan) -> WaterInAll:
    """The warm bath and every fill of the tank with water, each mixed to its temperature, without basins."""
    fills = [
        (step.volume_ml * max(1, step.fills_of_water(step.planned_s)), step.target_c)
        for step in plan.steps
        if step.storage == "tap" and step.volume_ml is not None
    ]
    if plan.water is not None:
        fills.append((plan.water.volume_ml, plan.water.target_c))
    drawn = [_drawn(plan.setup, volume_ml, target_c) for volume_ml, target_c in fills]
    return WaterInAll(fsum(hot for hot, _ in drawn), fsum(cold for _, cold in drawn))


def _drawn(setup: Setup, volume_ml: float, target_c: float | None) -> tuple[float, float]:
    """(hot, cold) in ml; water that the taps cannot make is drawn from the nearer one, of any warmth cold."""
    water = setup.water
    if target_c is None:
        return 0.0, volume_ml
    try:
        found = portions(target_c, volume_ml, water.hot_c, water.cold_c)
    except Refused:
        return (volume_ml, 0.0) if target_c > water.hot_c else (0.0, volume_ml)
    return found.hot_ml, found.cold_ml
