"""What a developer must be, and which bath makes film safe for light, as the profile stands.

One job: the statements about these two that hold on every path. What happens before and after their pours is
proved on each path (`proof_developer.py`, `proof_light.py`).
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.profile.model import Kind, Profile, Solution, Step
from wetside.domain.profile.roles import developers, is_developer, is_process
from wetside.domain.proof.finding import Finding
from wetside.domain.proof.findings import tank_ids

WIDEST_TOLERANCE_C = 1.0
"""How far from its table a developer's time is taken as known (our own number; printed ones say 0.1 to 0.3)."""


def developing_findings(profile: Profile) -> Iterator[Finding]:
    """What is wrong with the developers and with the bath that makes film safe for light."""
    if not is_process(profile):
        return
    known = developers(profile)
    loads = any(step.kind is Kind.DARK for step in profile.steps)
    if loads and not known:
        words = 'No bath develops: none ends "on time", and the film is loaded for nothing.'
        yield Finding("no developer", ("solutions",), words)
    for solution in known:
        yield from _developer(profile, solution)
    if loads or any(each.makes_light_safe for each in profile.solutions):
        yield from _light_safe(profile, known)


def _developer(profile: Profile, solution: Solution) -> Iterator[Finding]:
    name, place = f'Solution "{solution.id}"', ("solutions", solution.id)
    if solution.storage == "tap":
        yield Finding("tap developer", (*place, "storage"), f"{name}: a developer does not come from the tap.")
    if solution.makes_light_safe:
        words = f"{name}: a developer never makes film safe for light: leave makes_light_safe out."
        yield Finding("developer light-safe", (*place, "makes_light_safe"), words)
    if solution.table_tolerance_c > WIDEST_TOLERANCE_C:
        words = (
            f"{name}: its times are taken as known {solution.table_tolerance_c:g} °C beside its table; no"
            " developer"
            f" allows more than {WIDEST_TOLERANCE_C:g} °C: write further rows."
        )
        yield Finding("tolerance", (*place, "table_tolerance"), words)
    for step in profile.steps:
        if step.solution == solution.id and step.kind is Kind.BATH:
            yield from _its_step(solution, step)


def _its_step(solution: Solution, step: Step) -> Iterator[Finding]:
    name, place = f'Step "{step.id}" ({step.title})', ("steps", step.id)
    ends = step.ends or solution.ends
    if ends != "on time":
        words = f'{name}: a developer is ended on time, here it ends "{ends}": too long is as bad as too short.'
        yield Finding("developer ends", (*place, "ends"), words)
    if step.time_s is not None and solution.table:
        words = (
            f"{name}: it has a time of its own, {step.time_s:g} s, beside the developer's table: leave time"
            " out, so"
            " that temperature, use and push count."
        )
        yield Finding("developer time", (*place, "time"), words)
    elif step.time_s is not None and step.time_s < solution.shortest_s:
        words = (
            f"{name}: its time of {step.time_s:g} s is below the shortest sensible one, {solution.shortest_s:g} s."
        )
        yield Finding("developer time", (*place, "time"), words)
    if step.agitation is None:
        words = f"{name}: a developer that is not moved works in streaks: say how it is agitated."
        yield Finding("developer agitation", (*place, "agitation"), words)


def _light_safe(profile: Profile, known: tuple[Solution, ...]) -> Iterator[Finding]:
    safe = [each for each in profile.solutions if each.makes_light_safe]
    if not safe:
        words = "No bath makes the film safe for light: give the one that fixes it makes_light_safe = true."
        yield Finding("no light-safe bath", ("solutions",), words)
    for each in safe[1:]:
        words = (
            f'Solution "{each.id}": it makes film safe for light, and so does "{safe[0].id}": exactly one'
            " bath does,"
            " the one that fixes."
        )
        yield Finding("two light-safe baths", ("solutions", each.id, "makes_light_safe"), words)
    order = {step.id: number for number, step in enumerate(profile.steps)}
    developing = [step for step in profile.steps if step.solution in {each.id for each in known}]
    last = max((order[step.id] for step in developing), default=-1)
    for each in safe:
        name, place = f'Solution "{each.id}"', ("solutions", each.id)
        if each.storage == "tap":
            words = f"{name}: tap water makes no film safe for light: leave makes_light_safe out."
            yield Finding("light-safe water", (*place, "makes_light_safe"), words)
        if each.ends != "not before":
            words = f'{name}: it makes film safe for light, so it ends "not before", not "{each.ends}".'
            yield Finding("light-safe ends", (*place, "ends"), words)
        for step in profile.steps:
            if step.solution == each.id:
                yield from _safe_step(profile, step, order[step.id] < last)


def _safe_step(profile: Profile, step: Step, before_the_developer: bool) -> Iterator[Finding]:
    name, place = f'Step "{step.id}" ({step.title})', ("steps", step.id)
    if step.kind is not Kind.BATH or step.into not in tank_ids(profile):
        words = f"{name}: what makes film safe for light is a bath in the closed tank: make it one."
        yield Finding("light-safe bath", (*place, "into"), words)
    if step.ends not in (None, "not before") and not is_developer(profile, step):
        words = f'{name}: it makes film safe for light, so it ends "not before", not "{step.ends}".'
        yield Finding("light-safe ends", (*place, "ends"), words)
    if before_the_developer:
        words = f"{name}: it makes film safe for light and comes before the last developer: put it after."
        yield Finding("light-safe order", place, words)
