"""Which rolls of tonight share a tank fill, by places, by process, and by what each bottle covers. Pure."""

from __future__ import annotations

from wetside.domain.calc.tank import RollSpec, Stock, TankShape, batch_places, cover_volume_ml, covered_batches
from wetside.domain.calc.tank import batches as fewest_batches
from wetside.domain.planning.expansion import FILM_KINDS, keeps_backing, process_path
from wetside.domain.planning.plan import Batch
from wetside.domain.planning.setup import Setup, bottle_of
from wetside.domain.profile.model import Profile, holds
from wetside.errors import Refused


def tank_findings(setup: Setup) -> list[str]:
    """What keeps the rolls from going into this tank, in a sentence each."""
    try:
        shape = TankShape(setup.tank.places, setup.tank.cover_ml)
        fewest_batches(_specs(setup, None), shape, places_for_120=setup.tank.places_for_120)
    except Refused as refusal:
        return [str(refusal)]
    return []


def batches_of(profile: Profile, setup: Setup) -> tuple[Batch, ...]:
    """Tonight's tank fills in order: the fewest that places and bottles allow."""
    specs = _specs(setup, profile)
    shape = TankShape(setup.tank.places, setup.tank.cover_ml)
    wide_places, stocks = setup.tank.places_for_120, _stocks(profile, setup)
    fills = covered_batches(specs, shape, wide_places, stocks, setup.tank.carry_over_ml)
    found = []
    for number, rolls in enumerate(fills, 1):
        volume_ml = cover_volume_ml(shape, batch_places(rolls, specs, wide_places))
        first = rolls[0]
        found.append(Batch(number, rolls, setup.rolls[first].push, volume_ml, specs[first].last))
    return tuple(found)


def _specs(setup: Setup, profile: Profile | None) -> tuple[RollSpec, ...]:
    keeps = profile is not None and keeps_backing(profile)
    return tuple(
        RollSpec(
            roll.label,
            roll.format,
            process_path(profile, roll.kind) if profile else "",
            roll.push,
            last=keeps and roll.kind == "backed",
        )
        for roll in setup.rolls
    )


def _stocks(profile: Profile, setup: Setup) -> tuple[Stock, ...]:
    """What each bottle that is poured into the tank holds, and for which rolls' paths it is poured."""
    kinds = {roll.kind for roll in setup.rolls}
    found = []
    for solution in profile.solutions:
        bottle = bottle_of(setup, solution.id)
        if bottle is None or solution.storage == "tap":
            continue
        into_tank = (s for s in profile.steps if s.scope == "batch" and s.into is not None)
        pours = [step.when for step in into_tank if step.solution == solution.id]
        paths = {process_path(profile, kind) for kind in kinds if any(_may_hold(when, kind) for when in pours)}
        found.append(Stock(bottle.volume_ml, frozenset(paths), solution.storage == "one-shot"))
    return tuple(found)


def _may_hold(when: tuple[str, ...], kind: str) -> bool:
    """Whether a step with these conditions is for this kind of film on some evening."""
    return holds(tuple(name for name in when if name.removeprefix("not ") in FILM_KINDS), frozenset({kind}))
