"""Requirements of a developer as the profile stands, and the proof on each path that it ends on time.

A developer is any bath but tap water that ends on time. On each path its temperature is read before it is poured,
and the next bath follows at once, so that it works neither too long nor at an unknown temperature.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetside.domain.messages import Message, message
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind, Profile, Solution, Step, developers, is_developer, is_process
from wetside.domain.proof.findings import (
    END,
    START,
    Finding,
    ProofFault,
    Timed,
    fault,
    into_tank,
    of_solution,
    of_step,
    tank_ids,
)

WIDEST_TOLERANCE_C: Final = 1.0
"""The largest tolerance (K) of a developer's table (our own number; printed ones are 0.1 to 0.3)."""
MOST_BY_ITS_END: Final = 2
"""The most ticks due by a developer's end (our own number): made in its last half minute or while it drains."""
MOST_LEAD_IN_S: Final = 10.0
"""The longest lead-in while the developer still works in the film (our own number)."""


def developing_findings(profile: Profile) -> Iterator[Finding]:
    """What is wrong with the developers as they stand."""
    if not is_process(profile):
        return
    known = developers(profile)
    if not known and any(step.kind is Kind.DARK for step in profile.steps):
        yield Finding(("solutions",), message("no developer"))
    for solution in known:
        if solution.storage == "tap":
            yield of_solution(solution, message("tap developer"), "storage")
        if solution.makes_light_safe:
            yield of_solution(solution, message("developer light-safe"), "makes_light_safe")
        if solution.table_tolerance_c > WIDEST_TOLERANCE_C:
            what = message("tolerance too wide", tolerance_c=solution.table_tolerance_c, most_c=WIDEST_TOLERANCE_C)
            yield of_solution(solution, what, "table_tolerance")
        for step in profile.steps:
            if step.solution == solution.id and step.kind is Kind.BATH:
                yield from _poured(solution, step)


def _poured(solution: Solution, step: Step) -> Iterator[Finding]:
    ends = step.ends or solution.ends
    if ends != "on time":
        yield of_step(step, message("developer ends", ends=ends), "ends")
    if step.time_s is not None and solution.table:
        yield of_step(step, message("time beside table", time_s=step.time_s), "time")
    elif step.time_s is not None and step.time_s < solution.shortest_s:
        yield of_step(step, message("below shortest", time_s=step.time_s, shortest_s=solution.shortest_s), "time")
    if step.agitation is None:
        yield of_step(step, message("developer not moved"), "agitation")


def developer_sense(profile: Profile, step: Step) -> Iterator[Message]:
    """What is wrong with a developer's step as it stands, without the step's name."""
    if not is_developer(profile, step):
        return
    if step.kind is not Kind.BATH:
        yield message("developer not called", kind=step.kind.value)
    if step.ends not in (None, "on time"):
        yield message("developer's own end", ends=step.ends)
    if step.scope != "batch":
        yield message("developer scope", scope=step.scope)
    if step.into not in tank_ids(profile):
        yield message("developer in the open")
    if step.background:
        yield message("developer in background")
    if step.pausable:
        yield message("developer pausable")


# ------------------------------------------------------------ on each path


def developer_faults(plan: Plan, profile: Profile, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """What is wrong before and after each pour of a developer on this plan."""
    for number, step in enumerate(plan.steps):
        if is_developer(profile, profile.step(step.of)):
            yield from _unread(plan, number)
            yield from _left_working(plan, profile, number, timed)


def _unread(plan: Plan, number: int) -> Iterator[ProofFault]:
    """A developer whose temperature no gate asks for between the loading of its film and its pour."""
    step = plan.steps[number]
    since = 0
    for earlier, before in enumerate(plan.steps[:number]):
        loading = before.kind is Kind.DARK and before.batch == step.batch
        if loading or before.solution == step.solution:
            since = earlier
    asked = [
        ask
        for before in plan.steps[since:number]
        if before.kind.traits.reads and before.batch in (None, step.batch)
        for ask in before.readings
    ]
    if not any(ask.of == step.solution and ask.required and ask.range_c is not None for ask in asked):
        what = message("developer unread", title=step.solution_title, solution=step.solution or "")
        yield fault(plan, number, since, what)


def _left_working(plan: Plan, profile: Profile, number: int, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """What keeps a developer in the film after its time: other steps, ticks, a background bath, a long lead-in."""
    step, tanks = plan.steps[number], tank_ids(profile)
    developer = step.solution_title
    rest = range(number + 1, len(plan.steps))
    after = next((n for n in rest if _stops(plan.steps[n], step, tanks)), None)
    if after is None:
        yield fault(plan, number, number, message("never stopped", developer=developer))
        return
    follows = plan.steps[after]
    if after > number + 1:
        yield _between(plan, number, after)
    for each in timed:
        if (number, END) < each.by <= (after, START):
            what = message("tick between", tick=each.tick.text, step=step.title, developer=developer)
            yield fault(plan, after, number, what, each.tick.text)
    by_its_end = sum(each.by == (number, END) for each in timed)
    if by_its_end > MOST_BY_ITS_END:
        what = message("ticks by its end", count=by_its_end, developer=developer, most=MOST_BY_ITS_END)
        yield fault(plan, number, number, what)
    if follows.joins is not None:
        yield fault(plan, after, number, message("joins between", developer=developer))
    own_s = profile.step(follows.of).lead_in_s
    if follows.kind is Kind.BATH and (own_s is None or own_s > MOST_LEAD_IN_S):
        # Without a lead-in in the profile the person's setting holds, up to a minute; a wash has none.
        words = message("lead-in of the settings", developer=developer, most_s=MOST_LEAD_IN_S)
        if own_s is not None:
            words = message("lead-in too long", time_s=own_s, developer=developer, most_s=MOST_LEAD_IN_S)
        yield fault(plan, after, number, words, "lead-in")


def _between(plan: Plan, number: int, after: int) -> ProofFault:
    """The fault of a step between a developer and the bath or wash that stops it."""
    step, between, follows = plan.steps[number], plan.steps[number + 1], plan.steps[after]
    stops, developer = follows.title, step.solution_title
    if between.batch not in (None, step.batch):
        what = message("fills parted", fill=between.batch, follows=stops, developer=developer)
        return fault(plan, number + 1, number, what, of=number)
    what = message("step between", step=step.title, follows=stops, developer=developer)
    return fault(plan, number + 1, number, what, step.of)


def _stops(step: PlannedStep, developer: PlannedStep, tanks: frozenset[str]) -> bool:
    """Whether this step takes the developer off the film: a bath or wash in the tank, of the same fill."""
    return step.batch == developer.batch and step.kind.traits.wets and into_tank(step, tanks)
