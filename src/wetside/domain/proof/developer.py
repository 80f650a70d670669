"""Requirements of a developer as the profile stands, and the proof on each path that it ends on time.

A developer is any bath but tap water that ends on time. On each path its temperature is read before it is poured,
and the next bath follows at once, so that it works neither too long nor at an unknown temperature.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

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
    named,
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
        words = 'No bath develops: none ends "on time", and the film is loaded for nothing.'
        yield Finding("no developer", ("solutions",), words)
    for solution in known:
        if solution.storage == "tap":
            yield of_solution(solution, "tap developer", "a developer does not come from the tap.", "storage")
        if solution.makes_light_safe:
            words = "a developer never makes film safe for light: leave makes_light_safe out."
            yield of_solution(solution, "developer light-safe", words, "makes_light_safe")
        if solution.table_tolerance_c > WIDEST_TOLERANCE_C:
            words = (
                f"its times are taken as known {solution.table_tolerance_c:g} °C beside its table; no developer"
                f" allows more than {WIDEST_TOLERANCE_C:g} °C: write further rows."
            )
            yield of_solution(solution, "tolerance", words, "table_tolerance")
        for step in profile.steps:
            if step.solution == solution.id and step.kind is Kind.BATH:
                yield from _poured(solution, step)


def _poured(solution: Solution, step: Step) -> Iterator[Finding]:
    ends = step.ends or solution.ends
    if ends != "on time":
        words = f'a developer is ended on time, here it ends "{ends}": too long is as bad as too short.'
        yield of_step(step, "developer ends", words, "ends")
    if step.time_s is not None and solution.table:
        words = (
            f"it has a time of its own, {step.time_s:g} s, beside the developer's table: leave time out, so"
            " that temperature, use and push count."
        )
        yield of_step(step, "developer time", words, "time")
    elif step.time_s is not None and step.time_s < solution.shortest_s:
        words = f"its time of {step.time_s:g} s is below the shortest sensible one, {solution.shortest_s:g} s."
        yield of_step(step, "developer time", words, "time")
    if step.agitation is None:
        words = "a developer that is not moved works in streaks: say how it is agitated."
        yield of_step(step, "developer agitation", words, "agitation")


def developer_sense(profile: Profile, step: Step) -> Iterator[str]:
    """What is wrong with a developer's step as it stands, without the step's name."""
    if not is_developer(profile, step):
        return
    if step.kind is not Kind.BATH:
        yield f'a {step.kind.value} is not called out on time, and a developer must be: make it kind = "bath".'
    if step.ends not in (None, "on time"):
        yield f'a developer is ended on time, here it ends "{step.ends}": leave its ends out.'
    if step.scope != "batch":
        yield f'a developer with scope = "{step.scope}" is not poured for each tank fill: make it scope = "batch".'
    if step.into not in tank_ids(profile):
        yield "a developer goes into a closed tank, the film minds light: let into name a vessel of the kind tank."
    if step.background:
        yield "a developer in the background is poured out by nobody: leave background out."
    if step.pausable:
        yield "a developer works on while its clock is paused: leave pausable out."


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
        words = (
            f"between the loading and this pour nothing asks for the temperature of the"
            f' {step.solution_title.lower()}: put a step of the kind "measure" or "wait" there that reads'
            f' "{step.solution}", with a range.'
        )
        yield fault(plan, number, since, words, "never read")


def _left_working(plan: Plan, profile: Profile, number: int, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """What keeps a developer in the film after its time: other steps, ticks, a background bath, a long lead-in."""
    step, tanks = plan.steps[number], tank_ids(profile)
    name = f"the {step.solution_title.lower()}"
    works = f"while {name} still works in the film"
    rest = range(number + 1, len(plan.steps))
    after = next((n for n in rest if _stops(plan.steps[n], step, tanks)), None)
    if after is None:
        words = f"no bath or wash in the tank ends the work of {name}: put one right after it."
        yield fault(plan, number, number, words, "never stopped")
        return
    follows = plan.steps[after]
    if after > number + 1:
        yield _between(plan, number, after, works)
    for each in timed:
        if (number, END) < each.by <= (after, START):
            words = (
                f'"{each.tick.text}" stands between {step.title} and it {works}: put the tick'
                f' into {step.title} with due = "end", or let it fall due later.'
            )
            yield fault(plan, after, number, words, "tick between", each.tick.text)
    by_its_end = sum(each.by == (number, END) for each in timed)
    if by_its_end > MOST_BY_ITS_END:
        words = (
            f"{by_its_end} ticks are due by its end {works}; at most {MOST_BY_ITS_END} may: let the"
            " others fall due later."
        )
        yield fault(plan, number, number, words, "ticks by its end")
    if follows.joins is not None:
        words = f"it waits for a bath in the background while {name} still works: join it earlier."
        yield fault(plan, after, number, words, "joins between")
    own_s = profile.step(follows.of).lead_in_s
    if follows.kind is Kind.BATH and (own_s is None or own_s > MOST_LEAD_IN_S):
        # Without a lead-in in the profile the person's setting holds, up to a minute; a wash has none.
        says = "its lead-in is left to the settings" if own_s is None else f"its lead-in is {own_s:g} s"
        words = f'{says} {works}: write lead_in = "0 s", at most {MOST_LEAD_IN_S:g} s.'
        yield fault(plan, after, number, words, "lead-in")


def _between(plan: Plan, number: int, after: int, works: str) -> ProofFault:
    """The fault of a step between a developer and the bath or wash that stops it."""
    step, between, follows = plan.steps[number], plan.steps[number + 1], plan.steps[after]
    if between.batch not in (None, step.batch):
        text = (
            f"{named(step)}: tank fill {between.batch} is begun between it and {follows.title}, {works}: no step"
            ' of scope "session" may part the two.'
        )
        return ProofFault(number + 1, text, number, ("parted", step.of))
    text = (
        f"{named(between)}: it stands between {step.title} and {follows.title} {works}: move it before the"
        " developer or after what follows it."
    )
    return ProofFault(number + 1, text, number, ("between", step.of, between.of))


def _stops(step: PlannedStep, developer: PlannedStep, tanks: frozenset[str]) -> bool:
    """Whether this step takes the developer off the film: a bath or wash in the tank, of the same fill."""
    return step.batch == developer.batch and step.kind.traits.wets and into_tank(step, tanks)
