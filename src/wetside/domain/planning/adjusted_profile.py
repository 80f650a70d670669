"""A profile as it is meant tonight: a developer wanted cooler or warmer than its sheet's target. Pure.

Everything downstream (readings, tempering, figures) then asks for tonight's temperature and nothing else.
"""

from __future__ import annotations

from dataclasses import replace

from wetside.domain.calc.developer_time import TimeTable, served_range_c
from wetside.domain.calc.wording import Between, Celsius, phrase
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile, ReadingAsk, Solution
from wetside.errors import Refused

SAME_C = 0.2
"""Water meant as warm as a developer has its figure to this: 41 °C for 41.1 °C."""


def meant_tonight(profile: Profile, setup: Setup) -> Profile:
    """The profile with the developer's target and range moved to `setup.developer_c`; itself where that is None.

    The range keeps its width around the new target, cut to what the table serves. Refused outside the table.
    """
    wanted_c, developer = setup.developer_c, _developer(profile)
    if wanted_c is None or developer is None or developer.target_c == wanted_c:
        return profile
    moved = _moved(developer, wanted_c)
    steps = tuple(
        replace(step, readings=tuple(_asked(ask, developer, moved) for ask in step.readings))
        for step in profile.steps
    )
    solutions = tuple(moved if solution.id == moved.id else solution for solution in profile.solutions)
    return replace(profile, solutions=solutions, steps=steps)


def like_the_developer(profile: Profile, step: PlannedStep, setup: Setup) -> PlannedStep:
    """Water that the sheet wants as warm as the developer follows it to tonight's temperature, up to its pour.

    `profile` is the sheet as it is. Water that has a temperature of its own keeps it.
    """
    wanted_c, developer = setup.developer_c, _developer(profile)
    if wanted_c is None or step.storage != "tap" or step.target_c is None or developer is None:
        return step
    order = [each.id for each in profile.steps]
    first = next((each.id for each in profile.steps if each.solution == developer.id), order[-1])
    sheet_c = developer.target_c
    if sheet_c is None or abs(step.target_c - sheet_c) > SAME_C or order.index(step.of) > order.index(first):
        return step
    by_c = wanted_c - sheet_c
    range_c = None if step.range_c is None else (step.range_c[0] + by_c, step.range_c[1] + by_c)
    return replace(step, target_c=wanted_c, range_c=range_c)


def _developer(profile: Profile) -> Solution | None:
    return next((s for s in profile.solutions if s.ends == "on time" and s.table), None)


def _moved(developer: Solution, wanted_c: float) -> Solution:
    low_c, high_c = served_range_c(TimeTable(developer.table, developer.table_tolerance_c))
    if not low_c <= wanted_c <= high_c:
        raise Refused(
            phrase(
                "{} at {}: the sheet gives times from {} only; choose a temperature in there.",
                developer.title,
                Celsius(wanted_c),
                Between(low_c, high_c),
            )
        )
    span = developer.range_c or (wanted_c, wanted_c)
    half_c = (span[1] - span[0]) / 2
    return replace(
        developer, target_c=wanted_c, range_c=(max(low_c, wanted_c - half_c), min(high_c, wanted_c + half_c))
    )


def _asked(ask: ReadingAsk, developer: Solution, moved: Solution) -> ReadingAsk:
    if ask.of != developer.id or ask.range_c is None:
        return ask
    return replace(ask, range_c=moved.range_c)
