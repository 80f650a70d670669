"""Whether a profile warns of its chemistry and of water that hands go into.

All that must be stated before a bottle is opened: hazards, cautions, gloves, first aid, and residues that spoil
a developer. Hands go into water only where the profile says so, and it must be read first and not be too hot
(the scald table of `domain/calc/water.py`). Whether it is shown in time is proved on every path
(`contact.py`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from wetside.domain.calc.water import NO_HAND_ABOVE_C
from wetside.domain.messages import message
from wetside.domain.profile.model import Kind, Profile, Solution, Step, developers, is_process
from wetside.domain.proof.findings import SLACK_C, Finding, of_solution, of_step

LEAST_LETTERS: Final = 3
"""A text with fewer letters counts as missing (our own number)."""
LEAST_FIRST_AID: Final = 4
"""Routes into the body that first aid must cover: eyes, skin, swallowed, breathed in (GHS P301 to P342)."""
WRITTEN_SLACK_C: Final = 0.5
"""Added to the limit in texts, where it may be written as 110 °F, which is 43.3 °C."""


def safety_findings(profile: Profile) -> Iterator[Finding]:
    """Missing warnings, and warnings without content."""
    if not is_process(profile):
        return
    known = developers(profile)
    yield from _first_aid(profile)
    for solution in profile.solutions:
        for number, hazard in enumerate(solution.hazards):
            if _says_nothing(hazard.text):
                yield of_solution(solution, message("blank hazard", hazard=hazard.code), "hazards", str(number))
        yield from _tap(solution) if solution.storage == "tap" else _chemistry(solution, solution in known)
    for caution in profile.cautions:
        for key in ("hazard", "consequence", "avoid"):
            if _says_nothing(getattr(caution, key)):
                yield Finding(("cautions", caution.id, key), message("blank caution", caution=caution.id, key=key))
    yield from _residue(profile, known)


def _says_nothing(text: str) -> bool:
    return sum(letter.isalnum() for letter in text) < LEAST_LETTERS


def _first_aid(profile: Profile) -> Iterator[Finding]:
    lines = [line for line in profile.first_aid if not _says_nothing(line)]
    if len(lines) < len(profile.first_aid):
        yield Finding(("first_aid",), message("blank first aid"))
    if len(lines) < LEAST_FIRST_AID:
        yield Finding(("first_aid",), message("first aid too short", lines=len(lines), least=LEAST_FIRST_AID))


def _chemistry(solution: Solution, develops: bool) -> Iterator[Finding]:
    states = [each.code for each in solution.hazards]
    works = solution.makes_light_safe or develops
    if not states:
        yield of_solution(solution, message("no hazard"), "hazards")
    elif not any(code.startswith("H") for code in states) and (solution.gloves or works):
        yield of_solution(solution, message("hazard without H code"), "hazards")
    elif not solution.gloves and works:
        yield of_solution(solution, message("works without gloves"), "gloves")
    if not solution.needs_caution and (states or works):
        yield of_solution(solution, message("no caution"), "needs_caution")


def _tap(solution: Solution) -> Iterator[Finding]:
    """Properties of chemistry that plain water must not have."""
    has = {
        "ends": solution.ends == "on time",
        "hazards": solution.hazards,
        "needs_caution": solution.needs_caution,
        "push": solution.push,
        "use": solution.use.kind != "none",
        "capacity": solution.capacity_per_l is not None,
        "life_full": solution.life_full_days is not None,
        "mixing": solution.mixing,
    }
    for key, wrong in has.items():
        if wrong:
            words = message("tap ends on time") if key == "ends" else message("tap with chemistry", key=key)
            yield of_solution(solution, words, key)


def _residue(profile: Profile, known: tuple[Solution, ...]) -> Iterator[Finding]:
    """Every pair (other bath, developer) has a rule, or a stated reason for none."""
    ruled = {(rule.residue, rule.solution) for rule in profile.residue_rules}
    poured = {step.solution for step in profile.steps if step.kind.traits.wets}
    for rule in profile.residue_rules:
        if _says_nothing(rule.why):
            what = message("blank rule", residue=rule.residue, solution=rule.solution)
            yield Finding(("residue", f"{rule.residue}>{rule.solution}", "why"), what)
    for developer in known:
        for other in profile.solutions:
            unruled = other is not developer and (other.id, developer.id) not in ruled
            if unruled and other.storage != "tap" and other.id in poured:
                yield of_solution(developer, message("no residue rule", other=other.id, residue=other.id))


# --------------------------------------------------------- hands in water


def hand_findings(profile: Profile) -> Iterator[Finding]:
    """Every step where a hand goes into water that is too hot, or is not read first."""
    basins = {vessel.id for vessel in profile.vessels if vessel.kind == "basin"}
    for before, step in zip((None, *profile.steps), profile.steps, strict=False):
        if step.hand_in_water:
            hottest_c = _hottest_c(profile, step)
            if hottest_c > NO_HAND_ABOVE_C + SLACK_C:
                yield of_step(step, message("hand in hot water", hottest_c=hottest_c, most_c=NO_HAND_ABOVE_C))
            if not _read_first(step, before):
                yield of_step(step, message("unread water", most_c=NO_HAND_ABOVE_C))
        elif step.kind is Kind.WASH and step.into in basins:
            yield of_step(step, message("hand in water"))


def _hottest_c(profile: Profile, step: Step) -> float:
    """The highest temperature (°C) that is asked for in a step."""
    ranges = [ask.range_c for ask in step.readings]
    wanted: list[float | None] = []
    if step.solution is not None:
        solution = profile.solution(step.solution)
        wanted.append(solution.target_c)
        ranges.append(solution.range_c)
    wanted += [each[1] for each in ranges if each is not None]
    return max((value for value in wanted if value is not None), default=0.0)


def _read_first(step: Step, before: Step | None) -> bool:
    """Whether a critical tick at the start names the highest temperature, or the step before reads the water."""
    for tick in step.ticks:
        found = re.findall(r"(\d+(?:[.,]\d+)?) ?°([CF])", tick.text)
        named = ((float(number.replace(",", ".")), unit) for number, unit in found)
        named_c = [value if unit == "C" else (value - 32.0) / 1.8 for value, unit in named]
        if tick.killer and tick.due == "start" and named_c and max(named_c) <= NO_HAND_ABOVE_C + WRITTEN_SLACK_C:
            return True
    return (
        before is not None
        and before.kind is Kind.MEASURE
        and before.scope == step.scope
        and before.when == step.when
        and any(ask.of == step.solution and ask.required and ask.range_c is not None for ask in before.readings)
    )
