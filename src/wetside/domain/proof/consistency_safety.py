"""Whether a profile warns of what it pours: hazards, cautions, gloves, first aid, and what kills a developer.

One job: all that must be stated before anybody opens a bottle, read as it stands. Whether it is shown in time is
proved on every path (`proof.py`).
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.profile.model import Kind, Profile, Solution
from wetside.domain.profile.roles import developers, is_process
from wetside.domain.proof.finding import Finding

LEAST_LETTERS = 3
"""Fewer letters than this say nothing (our own number)."""

LEAST_FIRST_AID = 4
"""Ways into the body that first aid is written for: eyes, skin, swallowed, breathed in (GHS P301 to P342)."""


def safety_findings(profile: Profile) -> Iterator[Finding]:
    """What is not warned of, or warned of in words that say nothing."""
    if not is_process(profile):
        return
    yield from _first_aid(profile)
    for solution in profile.solutions:
        yield from _solution(profile, solution)
    for caution in profile.cautions:
        for key, text in (
            ("hazard", caution.hazard),
            ("consequence", caution.consequence),
            ("avoid", caution.avoid),
        ):
            if _says_nothing(text):
                words = f'Caution "{caution.id}": its {key} says nothing: write it in words.'
                yield Finding("blank caution", ("cautions", caution.id, key), words)
    yield from _residue(profile)


def _says_nothing(text: str) -> bool:
    return sum(letter.isalnum() for letter in text) < LEAST_LETTERS


def _first_aid(profile: Profile) -> Iterator[Finding]:
    lines = [line for line in profile.first_aid if not _says_nothing(line)]
    if len(lines) < len(profile.first_aid):
        yield Finding(
            "blank first aid", ("first_aid",), "A line of the first aid says nothing: write it in words."
        )
    if len(lines) < LEAST_FIRST_AID:
        yield Finding(
            "first aid",
            ("first_aid",),
            f"Its solutions are chemistry and its first aid has {len(lines)} lines: write what to do for"
            " eyes, skin,"
            f" a swallow and breath, {LEAST_FIRST_AID} lines at least.",
        )


def _solution(profile: Profile, solution: Solution) -> Iterator[Finding]:
    name, place = f'Solution "{solution.id}"', ("solutions", solution.id)
    for number, hazard in enumerate(solution.hazards):
        if _says_nothing(hazard.text):
            words = f"{name}: its hazard {hazard.code} says nothing: write it in words."
            yield Finding("blank hazard", (*place, "hazards", str(number)), words)
    if solution.storage == "tap":
        yield from _tap(solution)
        return
    states = [each.code for each in solution.hazards]
    works = solution.makes_light_safe or solution in developers(profile)
    if not states:
        words = f"{name}: it is chemistry and states no hazard: copy the codes of the kit's own data sheet."
        yield Finding("no hazard", (*place, "hazards"), words)
    elif not any(code.startswith("H") for code in states) and (solution.gloves or works):
        words = f"{name}: it states no hazard (H code), only what to do about one: copy the kit's own data sheet."
        yield Finding("no hazard", (*place, "hazards"), words)
    elif not solution.gloves and works:
        yield Finding(
            "no gloves", (*place, "gloves"), f"{name}: it works on film and says that no gloves are needed."
        )
    if not solution.needs_caution and (states or works):
        words = f"{name}: no caution has to be shown before it is opened: name one in needs_caution."
        yield Finding("no caution", (*place, "needs_caution"), words)


def _tap(solution: Solution) -> Iterator[Finding]:
    """Plain water has nothing that only chemistry has."""
    name, place = f'Solution "{solution.id}"', ("solutions", solution.id)
    has = {
        "ends": solution.ends == "on time",
        "hazards": bool(solution.hazards),
        "needs_caution": bool(solution.needs_caution),
        "push": bool(solution.push),
        "use": solution.use.kind != "none",
        "capacity": solution.capacity_per_l is not None,
        "life_full": solution.life_full_days is not None,
        "mixing": bool(solution.mixing),
    }
    for key, wrong in has.items():
        if wrong:
            said = 'ends "on time"' if key == "ends" else f"has {key}"
            words = f"{name}: it comes from the tap and {said}, which water has not: is it a bottle or one-shot?"
            yield Finding("tap", (*place, key), words)


def _residue(profile: Profile) -> Iterator[Finding]:
    """Every pair (other bath, developer) has a rule, or a stated reason for none."""
    ruled = {(rule.residue, rule.solution) for rule in profile.residue_rules}
    poured = {step.solution for step in profile.steps if step.kind in (Kind.BATH, Kind.WASH)}
    others = [each for each in profile.solutions if each.storage != "tap" and each.id in poured]
    for rule in profile.residue_rules:
        if _says_nothing(rule.why):
            words = f"The residue rule for {rule.residue} in {rule.solution} gives no reason: write why."
            yield Finding("blank rule", ("residue", f"{rule.residue}>{rule.solution}", "why"), words)
    for developer in developers(profile):
        for other in others:
            if other is not developer and (other.id, developer.id) not in ruled:
                yield Finding(
                    "no rule",
                    ("solutions", developer.id),
                    f'Solution "{developer.id}": no residue rule says what {other.id} does to it: add'
                    " [[residue]] with"
                    f' residue = "{other.id}" and why, and with harmless = true if a trace of it may get in.',
                )
