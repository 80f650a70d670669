"""A hand in water: only where the profile says so, never above what a hand bears, and never into water not read.

Source of the limit: the scald table in `domain/calc/water.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from wetside.domain.calc.water import CAUTION_ABOVE_C
from wetside.domain.profile.model import Kind, Profile, Step
from wetside.domain.proof.finding import Finding

SLACK_C = 0.05
"""Half of what is shown."""
WRITTEN_SLACK_C = 0.5
"""In words the limit is 110 °F as well, which is 43.3 °C."""

_DEGREES = re.compile(r"(\d+(?:[.,]\d+)?) ?°([CF])")


def hand_findings(profile: Profile) -> Iterator[Finding]:
    """Every step where a hand goes into water that is too hot, or that nobody reads first."""
    basins = {vessel.id for vessel in profile.vessels if vessel.kind == "basin"}
    before: Step | None = None
    for step in profile.steps:
        if step.hand_in_water:
            yield from _too_hot(profile, step)
            if not _read_first(step, before):
                yield _finding(
                    step,
                    "unread water",
                    "a hand goes into water that nobody is asked to read first: give it a tick with killer ="
                    " true and"
                    f' due = "start" that says how warm it may be, at most {CAUTION_ABOVE_C:g} °C (110 °F).',
                )
        elif step.kind is Kind.WASH and step.into in basins:
            words = "film is washed by hand in a basin: say hand_in_water = true, so that the water is read first."
            yield _finding(step, "hand in water", words)
        before = step


def _finding(step: Step, code: str, words: str) -> Finding:
    return Finding(code, ("steps", step.id), f'Step "{step.id}" ({step.title}): {words}')


def _too_hot(profile: Profile, step: Step) -> Iterator[Finding]:
    wanted = [ask.range_c[1] for ask in step.readings if ask.range_c is not None]
    if step.solution is not None:
        solution = profile.solution(step.solution)
        wanted += [solution.target_c] if solution.target_c is not None else []
        wanted += [solution.range_c[1]] if solution.range_c is not None else []
    hottest_c = max(wanted, default=0.0)
    if hottest_c > CAUTION_ABOVE_C + SLACK_C:
        yield _finding(
            step,
            "hot water",
            f"a hand goes in here, and {hottest_c:g} °C is asked for; no hand goes in above {CAUTION_ABOVE_C:g} °C"
            " (110 °F): lower target and range, or give this step water of its own.",
        )


def _read_first(step: Step, before: Step | None) -> bool:
    """Whether a tick that stands in the way names how warm the water may be, or the step before reads it."""
    for tick in step.ticks:
        named_c = [_celsius(number, unit) for number, unit in _DEGREES.findall(tick.text)]
        if tick.killer and tick.due == "start" and named_c and max(named_c) <= CAUTION_ABOVE_C + WRITTEN_SLACK_C:
            return True
    return (
        before is not None
        and before.kind is Kind.MEASURE
        and before.scope == step.scope
        and before.when == step.when
        and any(ask.of == step.solution and ask.required and ask.range_c is not None for ask in before.readings)
    )


def _celsius(number: str, unit: str) -> float:
    value = float(number.replace(",", "."))
    return value if unit == "C" else (value - 32.0) / 1.8
