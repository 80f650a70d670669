"""What a solution is to the film, as far as a profile tells: a developer, the bath that makes film safe for light.

A developer is known by how it is ended (on time) and, so that a slip in that one word is not believed, by its
push table, its role and the name the trade gives it. A name only ever makes the check stricter; a bath with a
name of its own is held to the widest bounds.
"""

from __future__ import annotations

from wetside.domain.profile.model import Kind, Profile, Solution, Step


def is_process(profile: Profile) -> bool:
    """Whether film is developed at all: there is chemistry or a tank. A tour of the keys has neither."""
    return any(each.storage != "tap" for each in profile.solutions) or any(
        each.kind == "tank" for each in profile.vessels
    )


def called(solution: Solution, *names: str) -> bool:
    """Whether one of these words of the trade stands in the solution's role, id or title."""
    words = f"{solution.role or ''} {solution.id} {solution.title}".casefold()
    return any(name in words for name in names)


def is_developer(profile: Profile, step: Step) -> bool:
    """Whether the step pours a bath that must be stopped on time; plain water never is one."""
    if step.solution is None:
        return False
    solution = profile.solution(step.solution)
    return solution.storage != "tap" and "on time" in (solution.ends, step.ends)


def developers(profile: Profile) -> tuple[Solution, ...]:
    """Every solution that develops: ended on time somewhere, with factors for a push, or called a developer."""
    on_time = {step.solution for step in profile.steps if is_developer(profile, step)}
    poured = {step.solution for step in profile.steps if step.kind is Kind.BATH}
    return tuple(
        each
        for each in profile.solutions
        if each.id in on_time
        or (each.id in poured and (any(stops for stops, _ in each.push) or called(each, "developer")))
    )
