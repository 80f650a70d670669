"""The proof of the developer: read before it is poured, ended by its own call, and followed at once.

One job: everything that leaves a developer at work in the film longer than its time, or at a temperature nobody
knows. A developer is any bath but tap water that ends on time.
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind, Profile, Step
from wetside.domain.profile.roles import is_developer
from wetside.domain.proof.findings import END, START, ProofFault, Timed, into_tank, named, tank_ids

MOST_BY_ITS_END = 2
"""Design number of our own: they are read in the developer's last half minute, or while it drains."""

MOST_LEAD_IN_S = 10.0
"""Design number of our own: the longest lead-in while the developer still works in the film."""


def developer_sense(profile: Profile, step: Step) -> Iterator[str]:
    """What is wrong with a developer's step as it stands, without the step's name."""
    if not is_developer(profile, step):
        return
    tanks = tank_ids(profile)
    if step.kind is not Kind.BATH:
        yield f'a {step.kind.value} is not called out on time, and a developer must be: make it kind = "bath".'
    if step.ends not in (None, "on time"):
        yield f'a developer is ended on time, here it ends "{step.ends}": leave its ends out.'
    if step.scope != "batch":
        yield f'a developer with scope = "{step.scope}" is not poured for each tank fill: make it scope = "batch".'
    if step.into not in tanks:
        yield "a developer goes into a closed tank, the film minds light: let into name a vessel of the kind tank."
    if step.background:
        yield "a developer in the background is poured out by nobody: leave background out."
    if step.pausable:
        yield "a developer works on while its clock is paused: leave pausable out."


def developer_faults(plan: Plan, profile: Profile, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """What is wrong before and after each pour of a developer on this plan."""
    for number, step in enumerate(plan.steps):
        if is_developer(profile, profile.step(step.of)):
            yield from _unread(plan, number)
            yield from _left_working(plan, profile, number, timed)


def _unread(plan: Plan, number: int) -> Iterator[ProofFault]:
    """A developer whose temperature no gate asks for, from the loading of its film to its pour."""
    step = plan.steps[number]
    since = 0
    for earlier in range(number):
        before = plan.steps[earlier]
        loading = before.kind is Kind.DARK and before.batch == step.batch
        if loading or before.solution == step.solution:
            since = earlier
    asking = (
        ask
        for before in plan.steps[since:number]
        if before.kind in (Kind.MEASURE, Kind.WAIT) and before.batch in (None, step.batch)
        for ask in before.readings
    )
    if any(ask.of == step.solution and ask.required and ask.range_c is not None for ask in asking):
        return
    text = (
        f"{named(step)}: between the loading and this pour nothing asks for the temperature of"
        f' the {step.solution_title.lower()}: put a step of the kind "measure" or "wait" there that reads'
        f' "{step.solution}", with a range.'
    )
    yield ProofFault(number, text, since, ("never read", step.of))


def _left_working(plan: Plan, profile: Profile, number: int, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """What keeps a developer in the film after its time: other steps, ticks, a background bath, a long lead-in."""
    step, tanks = plan.steps[number], tank_ids(profile)
    name = f"the {step.solution_title.lower()}"
    after = next((n for n in range(number + 1, len(plan.steps)) if _stops(plan.steps[n], step, tanks)), None)
    if after is None:
        text = f"{named(step)}: no bath or wash in the tank ends the work of {name}: put one right after it."
        yield ProofFault(number, text, number, ("never stopped", step.of))
        return
    follows = plan.steps[after]
    if after > number + 1:
        yield _between(plan, number, after)
    yield from _ticks_in_the_way(plan, number, after, timed)
    if follows.joins is not None:
        text = (
            f"{named(follows)}: it waits for a bath in the background while {name} still works: join it earlier."
        )
        yield ProofFault(after, text, number, ("joins between", follows.of))
    yield from _late_start(profile, step, follows, number, after)


def _ticks_in_the_way(plan: Plan, number: int, after: int, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """Ticks that nobody has time for: any between the end of a developer and what follows, too many by its end."""
    step, follows = plan.steps[number], plan.steps[after]
    works = f"while the {step.solution_title.lower()} still works in the film"
    for each in timed:
        if (number, END) < each.by <= (after, START):
            text = (
                f'{named(follows)}: "{each.tick.text}" stands between {step.title} and it {works}: put the tick'
                f' into {step.title} with due = "end", or let it fall due later.'
            )
            yield ProofFault(after, text, number, ("tick between", follows.of, each.tick.text))
    by_its_end = sum(each.by == (number, END) for each in timed)
    if by_its_end > MOST_BY_ITS_END:
        text = (
            f"{named(step)}: {by_its_end} ticks are due by its end {works}; at most {MOST_BY_ITS_END} may: let the"
            " others fall due later."
        )
        yield ProofFault(number, text, number, ("ticks by its end", step.of))


def _between(plan: Plan, number: int, after: int) -> ProofFault:
    """What is done between a developer and the bath or wash that follows it: nothing may be."""
    step, between, follows = plan.steps[number], plan.steps[number + 1], plan.steps[after]
    works = f"while the {step.solution_title.lower()} still works in the film"
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
    kinds = (Kind.BATH, Kind.WASH)
    return step.batch == developer.batch and step.kind in kinds and into_tank(step, tanks)


def _late_start(
    profile: Profile, step: PlannedStep, follows: PlannedStep, number: int, after: int
) -> Iterator[ProofFault]:
    """The lead-in of the bath that follows; a wash has none. One left out is the person's own, up to a minute."""
    if follows.kind is not Kind.BATH:
        return
    own_s = profile.step(follows.of).lead_in_s
    if own_s is not None and own_s <= MOST_LEAD_IN_S:
        return
    says = "its lead-in is left to the settings" if own_s is None else f"its lead-in is {own_s:g} s"
    text = (
        f"{named(follows)}: {says} while the {step.solution_title.lower()} still works in the film:"
        f' write lead_in = "0 s", at most {MOST_LEAD_IN_S:g} s.'
    )
    yield ProofFault(after, text, number, ("lead-in", follows.of))
