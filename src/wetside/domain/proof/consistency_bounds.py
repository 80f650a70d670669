"""Bounds that no process known to us goes beyond: times, capacities, lives, temperatures, agitation.

One job: refuse a figure that is a slip of the pen. Every bound is our own number, set wide; beside each stands the
nearest figure we know of, with its source (the lists of published values, in the words used there). A figure
inside its bound may still be wrong: the kit's own sheet decides.
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.profile.model import Kind, Profile, Solution, Step
from wetside.domain.profile.roles import called, developers, is_process
from wetside.domain.proof.finding import Finding
from wetside.domain.proof.findings import tank_ids

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
AGITATED_FROM_S = 60.0  # shorter baths are moved all the while or not at all
LEAST_AGITATION_S = 1.0  # one inversion
MOST_ROLLS_PER_L = 60.0  # 16 a litre and stretched 24 (common practice, no source)
MOST_LIFE_DAYS = 3 * 365.25  # bleach, a year (from memory)
DEVELOPER_C = (18.0, 46.0)  # 20 to 41.1 °C
BATH_C = (15.0, 50.0)
MOST_PER_ROLL = 0.20  # 2 % (from memory)
STEP_OF_TABLE = 0.5
"""A step may give less than its solution's own least time, as where two baths of one kind follow, but not half."""


def bound_findings(profile: Profile) -> Iterator[Finding]:
    """Every figure beyond its bound."""
    if not is_process(profile):
        return
    known = developers(profile)
    for solution in profile.solutions:
        if solution.storage != "tap":
            yield from _solution(solution, solution in known)
            yield from _table(solution, solution in known)
    for step in profile.steps:
        yield from _agitation(profile, step, known)
        yield from _time(profile, step, known)


def _beyond(words: str, *place: str) -> Finding:
    return Finding("beyond belief", place, f"{words} Look at the kit's own sheet again.")


def _solution(solution: Solution, develops: bool) -> Iterator[Finding]:
    name, place = f'Solution "{solution.id}"', ("solutions", solution.id)
    for key, rolls in (("capacity", solution.capacity_per_l), ("stretch", solution.stretch_per_l)):
        if rolls is not None and rolls > MOST_ROLLS_PER_L:
            yield _beyond(
                f"{name}: its {key} is {rolls:g} rolls per litre; no bath we know of takes {MOST_ROLLS_PER_L:g}.",
                *place, key,
            )  # fmt: skip
    for key, days in (("life_full", solution.life_full_days), ("life_part", solution.life_part_days)):
        if days is not None and days > MOST_LIFE_DAYS:
            yield _beyond(f"{name}: it keeps {days / 365.25:.1f} years; no mixed bath keeps three.", *place, key)
    low_c, high_c = DEVELOPER_C if develops else BATH_C
    wanted = (("target", solution.target_c), *(("table", row[0]) for row in solution.table))
    for key, value_c in wanted:
        if value_c is not None and not low_c <= value_c <= high_c:
            what = "developer" if develops else "bath"
            yield _beyond(
                f"{name}: it is wanted at {value_c:.1f} °C; a {what} works between {low_c:g} and {high_c:g} °C.",
                *place, key,
            )  # fmt: skip
            break
    if solution.use.per_roll > MOST_PER_ROLL:
        yield _beyond(f"{name}: each roll makes its time {solution.use.per_roll:.0%} longer.", *place, "use")
    for stops, factor in solution.push:
        if (
            (stops > 0 and factor <= 1.0)
            or (stops == 0 and abs(factor - 1.0) > 0.01)
            or (stops < 0 and factor >= 1)
        ):
            yield _beyond(f"{name}: {stops:g} stops of push make its time {factor:g} fold.", *place, "push")


def _table(solution: Solution, develops: bool) -> Iterator[Finding]:
    name, place = f'Solution "{solution.id}"', ("solutions", solution.id, "table")
    if develops and solution.shortest_s < LEAST_DEVELOPER_S:
        yield _beyond(
            f"{name}: its shortest sensible time is {solution.shortest_s:g} s; no developer evens out in less than"
            f" {LEAST_DEVELOPER_S:g} s.",
            "solutions", solution.id, "shortest",
        )  # fmt: skip
    for at_c, seconds in solution.table if develops else ():
        most_s = MOST_WARM_DEVELOPER_S if at_c >= WARM_C else MOST_DEVELOPER_S
        if not LEAST_DEVELOPER_S <= seconds <= most_s:
            yield _beyond(
                f"{name}: it develops {seconds:g} s at {at_c:.1f} °C; that is between {LEAST_DEVELOPER_S:g} and"
                f" {most_s:g} s.",
                *place,
            )
            return


def _least_s(profile: Profile, solution: Solution, step: Step) -> float:
    """The least time of a bath that we believe."""
    if step.into not in tank_ids(profile):
        return LEAST_BATH_S
    if solution.storage == "tap":
        return LEAST_BATH_S
    if solution.makes_light_safe:
        return LEAST_FIXING_S
    bleaches = solution.bleaches or called(solution, "bleach")
    return LEAST_BLEACH_S if bleaches else LEAST_TANK_BATH_S


def _time(profile: Profile, step: Step, known: tuple[Solution, ...]) -> Iterator[Finding]:
    name, place = f'Step "{step.id}" ({step.title})', ("steps", step.id)
    if step.kind is Kind.HANG and step.time_s is not None and step.time_s < LEAST_DRYING_S:
        yield _beyond(
            f"{name}: film hangs {step.time_s:g} s; it is not dry before {LEAST_DRYING_S:g} s.", *place, "time"
        )
    washes = step.kind is Kind.WASH and step.into in tank_ids(profile)
    if washes and step.time_s is not None and step.time_s < LEAST_WASH_S:
        words = f"{name}: it washes {step.time_s:g} s; one change of water takes {LEAST_WASH_S:g} s."
        yield _beyond(words, *place, "time")
    if step.kind is not Kind.BATH or step.solution is None:
        return
    solution = profile.solution(step.solution)
    if solution in known:
        return
    least_s = _least_s(profile, solution, step)
    own_s = min((seconds for _, seconds in solution.table), default=None)
    for seconds, where in ((step.time_s, (*place, "time")), (own_s, ("solutions", solution.id, "table"))):
        if seconds is not None and not least_s <= seconds <= MOST_BATH_S:
            title = solution.title.lower()
            words = f"{name}: {title} for {seconds:g} s; believed are {least_s:g} to {MOST_BATH_S:g} s."
            yield _beyond(words, *where)
            return
    if own_s is not None and step.time_s is not None and step.time_s < STEP_OF_TABLE * own_s:
        words = f"{name}: it gives {step.time_s:g} s; the table of {solution.id} says {own_s:g} s."
        yield _beyond(words, *place, "time")


def _agitation(profile: Profile, step: Step, known: tuple[Solution, ...]) -> Iterator[Finding]:
    if step.kind is not Kind.BATH or step.solution is None:
        return
    name, place = f'Step "{step.id}" ({step.title})', ("steps", step.id, "agitation")
    solution, moved = profile.solution(step.solution), step.agitation
    times = [step.time_s] if step.time_s is not None else [seconds for _, seconds in solution.table]
    longest_s = max(times, default=0.0)
    if moved is None:
        kept_still = solution.storage == "tap" or step.into not in tank_ids(profile) or solution in known
        if not kept_still and longest_s >= AGITATED_FROM_S:
            words = f"{name}: a bath of {longest_s:g} s in the tank is moved now and then: say how it is agitated."
            yield Finding("agitation", place, words)
        return
    if moved.for_s < LEAST_AGITATION_S and moved.first_s < longest_s:
        yield _beyond(f"{name}: it is agitated for {moved.for_s:g} s at a time.", *place)
    again = moved.every_s < longest_s if solution in known else moved.every_s <= longest_s
    if longest_s and moved.first_s < longest_s and not again:
        words = (
            f"{name}: agitation never comes again: it is called every {moved.every_s:g} s, and the bath ends after"
            f" {longest_s:g} s."
        )
        yield Finding("agitation", place, words)
