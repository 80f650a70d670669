"""Consistency of a profile as it stands: its figures, the order of its steps, and what no step uses.

All checks that need no path. The reader of the file has already made sure that ids exist,
figures are of a possible size and texts fit the screen (`files/profile_forms.py`, `files/profile_file.py`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetside.domain.profile.model import Kind, Profile, Solution, Step
from wetside.domain.proof.bounds import bound_findings
from wetside.domain.proof.developer import developer_sense, developing_findings
from wetside.domain.proof.findings import SLACK_C, Finding, of_solution, of_step
from wetside.domain.proof.light import light_safe_findings
from wetside.domain.proof.safety import hand_findings, safety_findings

LONGEST_S: Final = 86_400.0
LEAST_INTERVAL_S: Final = 5.0
"""The shortest distance of two calls to agitate (our own number), below which they sound like one."""


def consistency_findings(profile: Profile) -> tuple[Finding, ...]:
    """The inconsistencies of figures, ticks and the order of steps."""
    found = [
        *_unused(profile),
        *_dedicated(profile),
        *safety_findings(profile),
        *developing_findings(profile),
        *light_safe_findings(profile),
        *bound_findings(profile),
        *hand_findings(profile),
    ]
    for solution in profile.solutions:
        found += [of_solution(solution, "sense", words) for words in _solution(profile, solution)]
    number = {step.id: number for number, step in enumerate(profile.steps)}
    for step in profile.steps:
        as_it_stands = (*_kind(profile, step), *_figures(profile, step), *developer_sense(profile, step))
        found += [of_step(step, "sense", words) for words in (*as_it_stands, *_order(profile, step, number))]
    return tuple(dict.fromkeys(found))


def _unused(profile: Profile) -> Iterator[Finding]:
    """What no step uses, which most often means that a line of a step was forgotten."""
    steps = profile.steps
    touched = {id_ for step in steps for id_ in (step.through, step.into, step.back_through, *step.touches)}
    for what, table, things, used, words in (
        ("Solution", "solutions", profile.solutions, {step.solution for step in steps}, "pours it"),
        ("Vessel", "vessels", profile.vessels, touched, "pours anything into it or through it"),
        ("Caution", "cautions", profile.cautions, {id_ for step in steps for id_ in step.cautions}, "shows it"),
        ("Gear", "gear", profile.gear, {tick.id for step in steps for tick in step.ticks}, "lists it"),
        ("Stage", "stages", profile.stages, {step.stage for step in steps}, "belongs to it"),
    ):
        for thing in things:
            if thing.id not in used:
                yield Finding("unused", (table, thing.id), f'{what} "{thing.id}": no step {words}.')


def _dedicated(profile: Profile) -> Iterator[Finding]:
    """Every pour through or into a vessel that is kept for another solution."""
    kept = {each.id: each for each in profile.vessels if each.dedicated_to is not None}
    for step in profile.steps:
        for id_ in (step.through, step.into, step.back_through, *step.touches):
            vessel = kept.get(id_ or "")
            if vessel is not None and step.solution is not None and step.solution != vessel.dedicated_to:
                carried = profile.solution(step.solution).title.lower()
                own = profile.solution(vessel.dedicated_to or "").title.lower()
                words = f"{carried} goes into {vessel.title}, which is kept for {own} alone."
                yield of_step(step, "dedicated", words)


# ------------------------------------------------------------ solutions


def _solution(profile: Profile, solution: Solution) -> Iterator[str]:
    if solution.target_c is not None and solution.range_c is not None:
        low, high = solution.range_c
        if not low - SLACK_C <= solution.target_c <= high + SLACK_C:
            yield "its target lies outside its own range."
    yield from _table(solution)
    if solution.hazards and not solution.gloves and any(each.code.startswith("H") for each in solution.hazards):
        yield "it is hazardous and says that no gloves are needed."
    if solution.storage == "bottle":
        yield from _life(solution)
    timed = [s for s in profile.steps if s.solution == solution.id and s.kind is Kind.BATH and s.time_s is None]
    if solution.ends != "when done" and timed and not solution.table:
        yield f'"{timed[0].id}" takes its time from it, and it has no table of times.'


def _table(solution: Solution) -> Iterator[str]:
    if not solution.table:
        return
    for value_c, seconds in solution.table:
        if seconds > LONGEST_S:
            yield f"its table has a time of {seconds:g} s at {value_c:g} °C; a bath ends within a day."
    if solution.ends != "on time":
        return
    low_c = solution.table[0][0] - solution.table_tolerance_c - SLACK_C
    high_c = solution.table[-1][0] + solution.table_tolerance_c + SLACK_C
    wanted = (solution.target_c, *(solution.range_c or ()))
    if any(value is not None and not low_c <= value <= high_c for value in wanted):
        yield "its target or range reaches outside its table, where no time is known."
    if solution.table[0][1] < solution.shortest_s:
        yield "every time in its table is shorter than its own shortest sensible time."


def _life(solution: Solution) -> Iterator[str]:
    capacity, stretch = solution.capacity_per_l, solution.stretch_per_l
    if capacity is not None and not capacity > 0:
        yield "its capacity is more than 0 rolls per litre."
    if capacity is not None and stretch is not None and stretch < capacity:
        yield "its stretch is less than its capacity."
    full, part = solution.life_full_days, solution.life_part_days
    if full is not None and part is not None and part > full:
        yield "it cannot keep longer in a part-full bottle than in a full one."


# ---------------------------------------------------------------- steps


def _kind(profile: Profile, step: Step) -> Iterator[str]:
    """What a step of its kind lacks, or has and cannot have."""
    traits = step.kind.traits
    if step.kind is Kind.BATH and (step.solution is None or step.into is None):
        yield "a bath needs a solution and something to pour it into."
    if not traits.solution and step.solution is not None:
        yield f"a {step.kind.value} step pours nothing; make it a bath or a wash."
    if traits.reads and not step.readings:
        yield "it measures nothing: name what is read."
    if traits.needs_time and step.time_s is None:
        yield "hanging needs a time." if step.kind is Kind.HANG else f"a {step.kind.value} step needs a time."
    if traits.needs_ticks and not step.ticks:
        yield "it has no tick, so there is nothing to confirm."
    if step.kind is Kind.BATH and step.solution is not None:
        solution = profile.solution(step.solution)
        ends = step.ends or solution.ends
        if ends == "on time" and not solution.table:
            yield f"it ends on time, and {solution.title.lower()} has no table of times."
        elif ends == "not before" and not solution.table and step.time_s is None:
            yield "it may not end before its time, and no time is given."
    if step.water_every_s is not None and not (step.kind is Kind.WASH and step.time_s and step.into):
        yield "only a wash in a vessel, with a time, calls its changes of water: leave water_every out."
    if step.background and not traits.solution:
        yield "only a step with a clock can run in the background."


def _figures(profile: Profile, step: Step) -> Iterator[str]:
    moved = step.agitation
    if moved is not None and moved.for_s > moved.every_s:
        yield "its agitation takes longer than its own interval, or starts before the clock."
    if moved is not None and 0 < moved.every_s < LEAST_INTERVAL_S:
        yield (
            f"its agitation is called every {moved.every_s:g} s; write at least {LEAST_INTERVAL_S:g} s,"
            " and a longer first where it goes on without a pause."
        )
    for ask in step.readings:
        own = profile.solution(ask.of).range_c if ask.of not in ("bath", "room") else None
        if ask.range_c is None or own is None:
            continue
        if not (own[0] - SLACK_C <= ask.range_c[0] and ask.range_c[1] <= own[1] + SLACK_C):
            yield f"{ask.title} is accepted here outside its own range of {own[0]:g} to {own[1]:g} °C."


def _order(profile: Profile, step: Step, place: dict[str, int]) -> Iterator[str]:
    here = place[step.id]
    for tick in step.ticks:
        if tick.due not in ("start", "end") and place[tick.due] <= here:
            due = profile.step(tick.due)
            yield f'"{tick.text}" falls due before "{due.id}" ({due.title}), which comes before it can be made.'
        if tick.closes is not None and profile.solution(tick.closes).storage == "tap":
            yield f'"{tick.text}" closes {tick.closes}, which comes from the tap.'
    if len({tick.id for tick in step.ticks}) < len(step.ticks):
        yield "two of its ticks share an id."
    if step.joins is None:
        return
    joined = profile.step(step.joins)
    if place[step.joins] >= here:
        yield f'it joins "{joined.id}", which comes later.'
    if not joined.background:
        yield f'it joins "{joined.id}", which does not run in the background.'
