"""A profile as it is meant tonight: a developer wanted cooler or warmer than its sheet's target. Pure.

Everything downstream (readings, tempering, figures) then asks for tonight's temperature and nothing else.
"""

from __future__ import annotations

from dataclasses import replace

from wetside.domain.calc.developer_time import TimeTable, served_range_c
from wetside.domain.calc.wording import Between, Celsius, phrase
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile, ReadingAsk, Solution
from wetside.errors import Refused


def meant_tonight(profile: Profile, setup: Setup) -> Profile:
    """The profile with the developer's target and range moved to `setup.developer_c`; itself where that is None.

    The range keeps its width around the new target, cut to what the table serves. Refused outside the table.
    """
    wanted_c = setup.developer_c
    developer = next((s for s in profile.solutions if s.ends == "on time" and s.table), None)
    if wanted_c is None or developer is None or developer.target_c == wanted_c:
        return profile
    moved = _moved(developer, wanted_c)
    steps = tuple(
        replace(step, readings=tuple(_asked(ask, developer, moved) for ask in step.readings))
        for step in profile.steps
    )
    solutions = tuple(moved if solution.id == moved.id else solution for solution in profile.solutions)
    return replace(profile, solutions=solutions, steps=steps)


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
