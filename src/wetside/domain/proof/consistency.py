"""Consistency of a profile as it stands: its figures, the order of its steps, and what no step uses.

All checks that need no path. The reader of the file has already made sure that ids exist,
figures are of a possible size and texts fit the screen (`files/profile_forms.py`, `files/profile_file.py`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetside.domain.messages import Message, message
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
        found += [of_solution(solution, words) for words in _solution(profile, solution)]
    number = {step.id: number for number, step in enumerate(profile.steps)}
    for step in profile.steps:
        as_it_stands = (*_kind(profile, step), *_figures(profile, step), *developer_sense(profile, step))
        found += [of_step(step, words) for words in (*as_it_stands, *_order(profile, step, number))]
    return tuple(dict.fromkeys(found))


def _unused(profile: Profile) -> Iterator[Finding]:
    """What no step uses, which most often means that a line of a step was forgotten."""
    steps = profile.steps
    touched = {id_ for step in steps for id_ in (step.through, step.into, step.back_through, *step.touches)}
    for table, things, used in (
        ("solutions", profile.solutions, {step.solution for step in steps}),
        ("vessels", profile.vessels, touched),
        ("cautions", profile.cautions, {id_ for step in steps for id_ in step.cautions}),
        ("gear", profile.gear, {tick.id for step in steps for tick in step.ticks}),
        ("stages", profile.stages, {step.stage for step in steps}),
    ):
        for thing in things:
            if thing.id not in used:
                yield Finding((table, thing.id), message("unused", table=table, id=thing.id))


def _dedicated(profile: Profile) -> Iterator[Finding]:
    """Every pour through or into a vessel that is kept for another solution."""
    kept = {each.id: each for each in profile.vessels if each.dedicated_to is not None}
    for step in profile.steps:
        for id_ in (step.through, step.into, step.back_through, *step.touches):
            vessel = kept.get(id_ or "")
            if vessel is not None and step.solution is not None and step.solution != vessel.dedicated_to:
                carried = profile.solution(step.solution).title
                own = profile.solution(vessel.dedicated_to or "").title
                yield of_step(step, message("kept for another", solution=carried, vessel=vessel.title, own=own))


# ------------------------------------------------------------ solutions


def _solution(profile: Profile, solution: Solution) -> Iterator[Message]:
    if solution.target_c is not None and solution.range_c is not None:
        low, high = solution.range_c
        if not low - SLACK_C <= solution.target_c <= high + SLACK_C:
            yield message("target outside range")
    yield from _table(solution)
    if solution.hazards and not solution.gloves and any(each.code.startswith("H") for each in solution.hazards):
        yield message("hazard without gloves")
    if solution.storage == "bottle":
        yield from _life(solution)
    timed = [s for s in profile.steps if s.solution == solution.id and s.kind is Kind.BATH and s.time_s is None]
    if solution.ends != "when done" and timed and not solution.table:
        yield message("no table", step=timed[0].id)


def _table(solution: Solution) -> Iterator[Message]:
    if not solution.table:
        return
    for value_c, seconds in solution.table:
        if seconds > LONGEST_S:
            yield message("longer than a day", time_s=seconds, at_c=value_c)
    if solution.ends != "on time":
        return
    low_c = solution.table[0][0] - solution.table_tolerance_c - SLACK_C
    high_c = solution.table[-1][0] + solution.table_tolerance_c + SLACK_C
    wanted = (solution.target_c, *(solution.range_c or ()))
    if any(value is not None and not low_c <= value <= high_c for value in wanted):
        yield message("range outside table")
    if solution.table[0][1] < solution.shortest_s:
        yield message("table too short")


def _life(solution: Solution) -> Iterator[Message]:
    capacity, stretch = solution.capacity_per_l, solution.stretch_per_l
    if capacity is not None and not capacity > 0:
        yield message("no capacity")
    if capacity is not None and stretch is not None and stretch < capacity:
        yield message("stretch below capacity")
    full, part = solution.life_full_days, solution.life_part_days
    if full is not None and part is not None and part > full:
        yield message("keeps longer part-full")


# ---------------------------------------------------------------- steps


def _kind(profile: Profile, step: Step) -> Iterator[Message]:
    """What a step of its kind lacks, or has and cannot have."""
    traits = step.kind.traits
    if step.kind is Kind.BATH and (step.solution is None or step.into is None):
        yield message("bath without solution")
    if not traits.solution and step.solution is not None:
        yield message("pours nothing", kind=step.kind.value)
    if traits.reads and not step.readings:
        yield message("measures nothing")
    if traits.needs_time and step.time_s is None:
        yield (
            message("hanging without time")
            if step.kind is Kind.HANG
            else message("step without time", kind=step.kind.value)
        )
    if traits.needs_ticks and not step.ticks:
        yield message("nothing to confirm")
    if step.kind is Kind.BATH and step.solution is not None:
        solution = profile.solution(step.solution)
        ends = step.ends or solution.ends
        if ends == "on time" and not solution.table:
            yield message("ends on time without table", solution=solution.title)
        elif ends == "not before" and not solution.table and step.time_s is None:
            yield message("no least time")
    if step.water_every_s is not None and not (step.kind is Kind.WASH and step.time_s and step.into):
        yield message("water_every without wash")
    if step.background and not traits.solution:
        yield message("background without clock")


def _figures(profile: Profile, step: Step) -> Iterator[Message]:
    moved = step.agitation
    if moved is not None and moved.for_s > moved.every_s:
        yield message("agitation longer than interval")
    if moved is not None and 0 < moved.every_s < LEAST_INTERVAL_S:
        yield (message("agitated too often", every_s=moved.every_s, least_s=LEAST_INTERVAL_S))
    for ask in step.readings:
        own = profile.solution(ask.of).range_c if ask.of not in ("bath", "room") else None
        if ask.range_c is None or own is None:
            continue
        if not (own[0] - SLACK_C <= ask.range_c[0] and ask.range_c[1] <= own[1] + SLACK_C):
            yield message("read outside range", reading=ask.title, low_c=own[0], high_c=own[1])


def _order(profile: Profile, step: Step, place: dict[str, int]) -> Iterator[Message]:
    here = place[step.id]
    for tick in step.ticks:
        if tick.due not in ("start", "end") and place[tick.due] <= here:
            due = profile.step(tick.due)
            yield message("due before made", tick=tick.text, step=due.id, title=due.title)
        if tick.closes is not None and profile.solution(tick.closes).storage == "tap":
            yield message("closes tap water", tick=tick.text, solution=tick.closes)
    if len({tick.id for tick in step.ticks}) < len(step.ticks):
        yield message("same tick id")
    if step.joins is None:
        return
    joined = profile.step(step.joins)
    if place[step.joins] >= here:
        yield message("joins a later step", step=joined.id)
    if not joined.background:
        yield message("joins no background", step=joined.id)
