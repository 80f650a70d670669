"""Tonight's figures of one timed step: bath times with their factors, and what should worry about the bottles.

Asks `craft/` and puts its answers beside a profile's solution and a setup's bottle. Pure.
"""

from __future__ import annotations

import math
from datetime import date

from wetside.domain.calc.developer_time import (
    DeveloperTime,
    PushTable,
    TimeTable,
    UseCompensation,
    developer_time,
    factors_in_words,
    held_seconds,
    use_factor,
)
from wetside.domain.calc.stock import CHECKS, Test, age, age_warning, best_before_day, capacity, capacity_warning
from wetside.domain.calc.tank import coverages, roll_equivalents
from wetside.domain.calc.wording import difference, minutes_seconds, temperature, the, volume
from wetside.domain.planning.plan import Batch, Factors, TemperatureUnit, VolumeUnit, Worry
from wetside.domain.planning.setup import Bottle, Setup, bottle_of
from wetside.domain.profile.model import Profile, Solution
from wetside.errors import Refused
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class BathFigures:
    """What a bath comes to tonight: seconds, factors, words, and the product of use and push."""

    seconds: float | None
    factors: Factors
    factor: float
    words: str
    target_c: float | None
    worries: tuple[Worry, ...] = ()


def test_of(solution: Solution) -> Test:
    """How a solution is tried: what ends on time develops, what makes film safe in light fixes."""
    if solution.ends == "on time" and solution.table:
        return "leader"
    if solution.bleaches:
        return "bleach-fix" if solution.makes_light_safe else "bleach"
    return "clearing" if solution.makes_light_safe else "none"


def rolls_per_litre(setup: Setup, bottle: Bottle | None, batches: tuple[Batch, ...], before: int) -> float:
    """Roll equivalents a litre of this bottle has done before batch number `before` (1 is the first)."""
    if bottle is None:
        return 0.0
    tonight = [setup.rolls[i].format for batch in batches if batch.number < before for i in batch.rolls]
    return (bottle.used_rolls + roll_equivalents(tonight)) / (bottle.volume_ml / 1000.0)


def bath_figures(
    solution: Solution, setup: Setup, batches: tuple[Batch, ...], batch: Batch | None, unit: TemperatureUnit
) -> BathFigures:
    """The time of a bath in one batch. Refused where the profile's table does not serve tonight's temperature."""
    if not solution.table:
        return BathFigures(None, Factors(), 1.0, "", solution.target_c)
    table = TimeTable(solution.table, solution.table_tolerance_c)
    use = UseCompensation(solution.use.kind, solution.use.per_roll, solution.use.rows)
    before = rolls_per_litre(setup, bottle_of(setup, solution.id), batches, batch.number if batch else 1)
    if solution.ends != "on time":
        used = use_factor(use, before)
        at_c = solution.target_c if solution.target_c is not None else solution.table[-1][0]
        seconds = held_seconds(table, at_c) * used
        return BathFigures(seconds, Factors(use=used), used, "", solution.target_c)
    return _developing(solution, setup, batch, table, use, before, unit)


def _developing(
    solution: Solution,
    setup: Setup,
    batch: Batch | None,
    table: TimeTable,
    use: UseCompensation,
    before: float,
    unit: TemperatureUnit,
) -> BathFigures:
    """The time of a bath that must be stopped on time, at tonight's temperature."""
    target_c = solution.target_c if solution.target_c is not None else solution.table[-1][0]
    at_c = setup.developer_c if setup.developer_c is not None else target_c
    push = batch.push if batch is not None else 0.0
    found = developer_time(
        table,
        temperature_c=at_c,
        target_c=target_c,
        use=use,
        rolls_per_litre_before=before,
        push_table=PushTable(solution.push),
        push_stops=push,
        thermometer_error_c=setup.thermometer_error_c,
        shortest_s=solution.shortest_s,
    )
    words = factors_in_words(
        found, at_c, rolls_per_litre_before=before, push_stops=push, temperature_words=temperature(at_c, unit)
    )
    factors = Factors(found.temperature_factor, found.use_factor, found.push_factor)
    factor = found.use_factor * found.push_factor
    worries = _time_worries(solution, found, setup.thermometer_error_c, unit)
    return BathFigures(found.seconds, factors, factor, words, at_c, worries)


def _time_worries(
    solution: Solution, found: DeveloperTime, thermometer_error_c: float, unit: TemperatureUnit
) -> tuple[Worry, ...]:
    """A time too short to pour in, and one that the thermometer may have wrong."""
    worries = []
    if found.shorter_than_sensible:
        text = (
            f"{solution.title} comes to {minutes_seconds(found.seconds)}, shorter than"
            f" {minutes_seconds(solution.shortest_s)}: pouring then takes too large a share. Develop cooler."
        )
        worries.append(Worry("short-time", text))
    if found.thermometer_s is not None and found.thermometer_s >= 5:
        text = (
            f"The thermometer's own error of ±{difference(thermometer_error_c, unit)} is worth"
            f" ±{found.thermometer_s:.0f} s of the {minutes_seconds(found.seconds)} in {the(solution.title)}."
        )
        worries.append(Worry("thermometer", text))
    return tuple(worries)


STOPPING = ("too-little",)
"""Worries with which no evening begins, whatever the reason: film that no bottle covers is not developed."""

COVER_FIRST = "Top it up or mix more, or plan fewer rolls."
"""What to do about one of these."""

REASON_FIRST = 'To use it all the same, say why in the setup: reason = "..." under its [[bottles]].'
"""What to do about a bottle that wants a reason, where a file is meant."""

WANTS_REASON = ("expired", "stretch", "beyond-capacity", "spent", "suspect")
"""Worries about a bottle that is used all the same only with a reason."""


def bottle_worries(
    profile: Profile,
    setup: Setup,
    batches: tuple[Batch, ...],
    used: frozenset[str],
    covering: frozenset[tuple[str, int]],
    today: date | None,
    unit: VolumeUnit = "ml",
) -> tuple[Worry, ...]:
    """What should worry about tonight's bottles: too little, used up, too old, unknown.

    `used` are the solutions that are poured tonight, `covering` those that have to cover the reels in
    the tank, each with the number of the batch.
    """
    worries: list[Worry] = []
    for solution in profile.solutions:
        bottle = bottle_of(setup, solution.id)
        if solution.id not in used or solution.storage == "tap" or bottle is None:
            continue
        name = bottle.label or solution.title
        poured = tuple(batch for batch in batches if (solution.id, batch.number) in covering)
        # the age comes first: what is long past is to be mixed fresh, whatever else is said of it
        worn = _age_worries(name, bottle, solution, today)
        worn += _volume_worries(name, bottle, setup, poured, solution, unit)
        worn += _capacity_worries(name, bottle, setup, solution)
        if bottle.spent:
            worn.append(Worry("spent", f"{name}: {bottle.spent}"))
        if bottle.suspect:
            worn.append(Worry("suspect", f"{name} is suspect. {bottle.suspect}"))
        worries += [_with_reason(worry, bottle.reason.strip()) for worry in worn]
    return tuple(worries)


def _with_reason(worry: Worry, reason: str) -> Worry:
    """What is set aside with a reason stays in the plan, with the reason beside it."""
    if not reason or worry.code not in WANTS_REASON:
        return worry
    return Worry("used-all-the-same", f"{worry.text.rstrip('.')}. Used all the same: {reason}")


def _volume_worries(
    name: str, bottle: Bottle, setup: Setup, batches: tuple[Batch, ...], solution: Solution, unit: VolumeUnit
) -> list[Worry]:
    carry = setup.tank.carry_over_ml
    lost = [batch.volume_ml if solution.storage == "one-shot" else carry * len(batch.rolls) for batch in batches]
    fills = tuple((batch.volume_ml, loss) for batch, loss in zip(batches, lost, strict=True))
    return [
        Worry(
            "too-little",
            f"{name}: batch {batch.number} needs {volume(answer.needed_ml, unit)}, the bottle has"
            f" {volume(answer.have_ml, unit)}: {volume(answer.short_ml, unit)} short.",
        )
        for batch, answer in zip(batches, coverages(bottle.volume_ml, fills), strict=True)
        if not answer.enough
    ]


def _capacity_worries(name: str, bottle: Bottle, setup: Setup, solution: Solution) -> list[Worry]:
    if solution.capacity_per_l is None:
        return []
    found = capacity(
        solution.capacity_per_l,
        solution.stretch_per_l or solution.capacity_per_l,
        bottle.volume_ml,
        bottle.used_rolls,
        roll_equivalents([roll.format for roll in setup.rolls]),
    )
    warning = capacity_warning(name, found)
    return [Worry(warning.code, warning.text)] if warning is not None else []


def _age_worries(name: str, bottle: Bottle, solution: Solution, today: date | None) -> list[Worry]:
    if today is None or (solution.life_full_days is None and bottle.best_before is None):
        return []
    if bottle.mixed_on is None:
        check = CHECKS[test_of(solution)]
        text = f"{name}: nobody wrote down when it was mixed. {check[0].upper()}{check[1:]}."
        return [Worry("age-unknown", text)]
    mixed = date.fromisoformat(bottle.mixed_on).toordinal()
    try:
        last_good = _last_good_day(bottle, solution, mixed)
        tested = (
            None if bottle.tested is None else today.toordinal() - date.fromisoformat(bottle.tested).toordinal()
        )
        warning = age_warning(name, age(mixed, today.toordinal(), last_good), test_of(solution), tested)
    except Refused as refusal:
        return [Worry("age-unknown", f"{name}: {refusal}")]
    return [Worry(warning.code, warning.text)] if warning is not None else []


def _last_good_day(bottle: Bottle, solution: Solution, mixed: int) -> float:
    if bottle.best_before is not None:
        return date.fromisoformat(bottle.best_before).toordinal()
    full_days = solution.life_full_days or math.inf
    return best_before_day(mixed, bottle.full, full_days, solution.life_part_days or full_days)
