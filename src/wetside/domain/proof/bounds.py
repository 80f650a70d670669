"""Bounds that no process known to us goes beyond: times, capacities, lives, temperatures, agitation.

A figure beyond its bound is a typing error. Every bound is our own number, set wide; beside each stands the
nearest figure we know of, with its source (the lists of published values, in the words used there). A figure
inside its bound may still be wrong: the kit's own sheet decides.
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.messages import Message, message
from wetside.domain.profile.model import Kind, Profile, Solution, Step, called, developers, is_process
from wetside.domain.proof.findings import Finding, named, of_solution, of_step, tank_ids

LEAST_DEVELOPER_S = 60.0  # 3:00 at 41.1 °C, H-24.07 (second-hand)
MOST_DEVELOPER_S = 3600.0  # 12:45 at 29.4 °C, a kit's table (from memory); about 40 min at 20 °C by its own slope
MOST_WARM_DEVELOPER_S, WARM_C = 900.0, 35.0  # 6:00 at 38 °C, first developer (second-hand)
LEAST_FIXING_S = 60.0  # 2:00 motion-picture fixer (second-hand)
LEAST_BLEACH_S = 45.0  # 0:45, the quickest minilab bleach we know of (from memory)
LEAST_TANK_BATH_S = 20.0  # 0:30, stop bath (second-hand)
LEAST_BATH_S = 10.0  # 0:10, motion-picture final rinse (second-hand)
LEAST_WASH_S = 20.0  # 0:30, motion-picture wash after the stop (second-hand)
MOST_BATH_S = 7200.0
LEAST_DRYING_S = 900.0  # 10 to 20 min in a heated cabinet (common practice, no source)
AGITATED_FROM_S = 60.0  # shorter baths are agitated continuously or not at all
LEAST_AGITATION_S = 1.0  # one inversion
MOST_ROLLS_PER_L = 60.0  # 16 a litre and stretched 24 (common practice, no source)
DAYS_A_YEAR = 365.25
MOST_LIFE_DAYS = 3 * DAYS_A_YEAR  # bleach, a year (from memory)
DEVELOPER_C = (18.0, 46.0)  # 20 to 41.1 °C
BATH_C = (15.0, 50.0)
MOST_PER_ROLL = 0.20  # 2 % (from memory)
STEP_OF_TABLE = 0.5
"""The least share of its solution's least time that a step may give, as where two baths of one kind follow."""


def bound_findings(profile: Profile) -> Iterator[Finding]:
    """Every figure beyond its bound."""
    if not is_process(profile):
        return
    known = developers(profile)
    for solution in profile.solutions:
        if solution.storage != "tap":
            for key, what in _solution(solution, solution in known):
                yield of_solution(solution, what, key)
    tanks = tank_ids(profile)
    for step in profile.steps:
        yield from _agitation(profile, step, known, tanks)
        yield from _time(profile, step, known, tanks)


def _solution(solution: Solution, develops: bool) -> Iterator[tuple[str, Message]]:
    """Each key of a solution that is beyond its bound, and how."""
    for key, rolls in (("capacity", solution.capacity_per_l), ("stretch", solution.stretch_per_l)):
        if rolls is not None and rolls > MOST_ROLLS_PER_L:
            yield key, message("rolls beyond belief", key=key, rolls_per_l=rolls, most=MOST_ROLLS_PER_L)
    for key, days in (("life_full", solution.life_full_days), ("life_part", solution.life_part_days)):
        if days is not None and days > MOST_LIFE_DAYS:
            yield key, message("life beyond belief", years=days / DAYS_A_YEAR)
    low_c, high_c = DEVELOPER_C if develops else BATH_C
    wanted = (("target", solution.target_c), *(("table", at_c) for at_c, _ in solution.table))
    for key, value_c in wanted:
        if value_c is not None and not low_c <= value_c <= high_c:
            what = "developer" if develops else "bath"
            yield key, message("temperature beyond belief", at_c=value_c, bath=what, low_c=low_c, high_c=high_c)
            break
    if solution.use.per_roll > MOST_PER_ROLL:
        yield "use", message("use beyond belief", per_roll=solution.use.per_roll)
    for stops, factor in solution.push:
        shortens, lengthens = stops > 0 and factor <= 1.0, stops < 0 and factor >= 1.0
        if shortens or lengthens or (stops == 0 and abs(factor - 1.0) > 0.01):
            yield "push", message("push beyond belief", stops=stops, factor=factor)
    if develops:
        yield from _developer_times(solution)


def _developer_times(solution: Solution) -> Iterator[tuple[str, Message]]:
    least_s = LEAST_DEVELOPER_S
    if solution.shortest_s < least_s:
        yield "shortest", message("shortest beyond belief", time_s=solution.shortest_s, least_s=least_s)
    for at_c, seconds in solution.table:
        most_s = MOST_WARM_DEVELOPER_S if at_c >= WARM_C else MOST_DEVELOPER_S
        if not least_s <= seconds <= most_s:
            what = message(
                "developer time beyond belief", time_s=seconds, at_c=at_c, least_s=least_s, most_s=most_s
            )
            yield "table", what
            return


def _least_s(solution: Solution, in_tank: bool) -> float:
    """The lower bound (s) of a bath's time."""
    if solution.storage == "tap" or not in_tank:
        return LEAST_BATH_S
    if solution.makes_light_safe:
        return LEAST_FIXING_S
    return LEAST_BLEACH_S if solution.bleaches or called(solution, "bleach") else LEAST_TANK_BATH_S


def _time(profile: Profile, step: Step, known: tuple[Solution, ...], tanks: frozenset[str]) -> Iterator[Finding]:
    time_s = step.time_s
    if step.kind is Kind.HANG and time_s is not None and time_s < LEAST_DRYING_S:
        yield of_step(step, message("drying beyond belief", time_s=time_s, least_s=LEAST_DRYING_S), "time")
    if step.kind is Kind.WASH and step.into in tanks and time_s is not None and time_s < LEAST_WASH_S:
        yield of_step(step, message("wash beyond belief", time_s=time_s, least_s=LEAST_WASH_S), "time")
    if step.kind is not Kind.BATH or step.solution is None:
        return
    solution = profile.solution(step.solution)
    if solution in known:
        return
    least_s = _least_s(solution, step.into in tanks)
    own_s = min((seconds for _, seconds in solution.table), default=None)
    for seconds, where in ((time_s, ("steps", step.id, "time")), (own_s, ("solutions", solution.id, "table"))):
        if seconds is not None and not least_s <= seconds <= MOST_BATH_S:
            what = message(
                "bath time beyond belief", bath=solution.title, time_s=seconds, least_s=least_s, most_s=MOST_BATH_S
            )
            yield Finding(where, what, named(step.id, step.title))
            return
    if own_s is not None and time_s is not None and time_s < STEP_OF_TABLE * own_s:
        what = message("step time beyond belief", time_s=time_s, solution=solution.id, table_s=own_s)
        yield of_step(step, what, "time")


def _agitation(
    profile: Profile, step: Step, known: tuple[Solution, ...], tanks: frozenset[str]
) -> Iterator[Finding]:
    if step.kind is not Kind.BATH or step.solution is None:
        return
    solution, moved = profile.solution(step.solution), step.agitation
    times = [step.time_s] if step.time_s is not None else [seconds for _, seconds in solution.table]
    longest_s = max(times, default=0.0)
    if moved is None:
        kept_still = solution.storage == "tap" or step.into not in tanks or solution in known
        if not kept_still and longest_s >= AGITATED_FROM_S:
            yield of_step(step, message("not moved", time_s=longest_s), "agitation")
        return
    if moved.first_s >= longest_s:
        return
    if moved.for_s < LEAST_AGITATION_S:
        yield of_step(step, message("agitation beyond belief", for_s=moved.for_s), "agitation")
    again = moved.every_s < longest_s if solution in known else moved.every_s <= longest_s
    if longest_s and not again:
        yield of_step(step, message("moved once", every_s=moved.every_s, time_s=longest_s), "agitation")
