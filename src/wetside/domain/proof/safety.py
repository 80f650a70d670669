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
                words = f"its hazard {hazard.code} says nothing: write it in words."
                yield of_solution(solution, "blank hazard", words, "hazards", str(number))
        yield from _tap(solution) if solution.storage == "tap" else _chemistry(solution, solution in known)
    for caution in profile.cautions:
        for key in ("hazard", "consequence", "avoid"):
            if _says_nothing(getattr(caution, key)):
                words = f'Caution "{caution.id}": its {key} says nothing: write it in words.'
                yield Finding("blank caution", ("cautions", caution.id, key), words)
    yield from _residue(profile, known)


def _says_nothing(text: str) -> bool:
    return sum(letter.isalnum() for letter in text) < LEAST_LETTERS


def _first_aid(profile: Profile) -> Iterator[Finding]:
    lines = [line for line in profile.first_aid if not _says_nothing(line)]
    if len(lines) < len(profile.first_aid):
        words = "A line of the first aid says nothing: write it in words."
        yield Finding("blank first aid", ("first_aid",), words)
    if len(lines) < LEAST_FIRST_AID:
        words = (
            f"Its solutions are chemistry and its first aid has {len(lines)} lines: write what to do for eyes,"
            f" skin, a swallow and breath, {LEAST_FIRST_AID} lines at least."
        )
        yield Finding("first aid", ("first_aid",), words)


def _chemistry(solution: Solution, develops: bool) -> Iterator[Finding]:
    states = [each.code for each in solution.hazards]
    works = solution.makes_light_safe or develops
    if not states:
        words = "it is chemistry and states no hazard: copy the codes of the kit's own data sheet."
        yield of_solution(solution, "no hazard", words, "hazards")
    elif not any(code.startswith("H") for code in states) and (solution.gloves or works):
        words = "it states no hazard (H code), only what to do about one: copy the kit's own data sheet."
        yield of_solution(solution, "no hazard", words, "hazards")
    elif not solution.gloves and works:
        yield of_solution(solution, "no gloves", "it works on film and says that no gloves are needed.", "gloves")
    if not solution.needs_caution and (states or works):
        words = "no caution has to be shown before it is opened: name one in needs_caution."
        yield of_solution(solution, "no caution", words, "needs_caution")


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
            said = 'ends "on time"' if key == "ends" else f"has {key}"
            words = f"it comes from the tap and {said}, which water has not: is it a bottle or one-shot?"
            yield of_solution(solution, "tap", words, key)


def _residue(profile: Profile, known: tuple[Solution, ...]) -> Iterator[Finding]:
    """Every pair (other bath, developer) has a rule, or a stated reason for none."""
    ruled = {(rule.residue, rule.solution) for rule in profile.residue_rules}
    poured = {step.solution for step in profile.steps if step.kind.traits.wets}
    for rule in profile.residue_rules:
        if _says_nothing(rule.why):
            words = f"The residue rule for {rule.residue} in {rule.solution} gives no reason: write why."
            yield Finding("blank rule", ("residue", f"{rule.residue}>{rule.solution}", "why"), words)
    for developer in known:
        for other in profile.solutions:
            unruled = other is not developer and (other.id, developer.id) not in ruled
            if unruled and other.storage != "tap" and other.id in poured:
                words = (
                    f"no residue rule says what {other.id} does to it: add [[residue]] with"
                    f' residue = "{other.id}" and why, and with harmless = true if a trace of it may get in.'
                )
                yield of_solution(developer, "no rule", words)


# --------------------------------------------------------- hands in water


def hand_findings(profile: Profile) -> Iterator[Finding]:
    """Every step where a hand goes into water that is too hot, or is not read first."""
    basins = {vessel.id for vessel in profile.vessels if vessel.kind == "basin"}
    for before, step in zip((None, *profile.steps), profile.steps, strict=False):
        if step.hand_in_water:
            hottest_c = _hottest_c(profile, step)
            if hottest_c > NO_HAND_ABOVE_C + SLACK_C:
                words = (
                    f"a hand goes in here, and {hottest_c:g} °C is asked for; no hand goes in above"
                    f" {NO_HAND_ABOVE_C:g} °C (110 °F): lower target and range, or give this step water of its"
                    " own."
                )
                yield of_step(step, "hot water", words)
            if not _read_first(step, before):
                words = (
                    "a hand goes into water that nobody is asked to read first: give it a tick with killer = true"
                    f' and due = "start" that says how warm it may be, at most {NO_HAND_ABOVE_C:g} °C (110 °F).'
                )
                yield of_step(step, "unread water", words)
        elif step.kind is Kind.WASH and step.into in basins:
            words = "film is washed by hand in a basin: say hand_in_water = true, so that the water is read first."
            yield of_step(step, "hand in water", words)


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
