"""The proof that each film gets what its kind needs, and each bath the care it needs, on one plan.

One job: backed film loses its backing or keeps it on purpose; a negative film meets one developer alone; a bath
that is warmed is read before it is poured; film is washed between the bath that fixes it and what comes after.
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.planning.plan import Batch, Plan
from wetside.domain.profile.model import Kind, Profile
from wetside.domain.profile.roles import developers
from wetside.domain.proof.findings import ProofFault, into_tank, named, pours, tank_ids

LEAST_LAST_WASH_S = 60.0
"""Our own number; 1:05 is the shortest wash of the standard cycle (Z-131 table 2-1, second-hand)."""


def kind_faults(plan: Plan, profile: Profile) -> Iterator[ProofFault]:
    """What a kind of film, or a bath, does not get on this plan."""
    for batch in plan.batches:
        yield from _backing(plan, profile, batch)
        yield from _developers(plan, profile, batch)
        yield from _washed(plan, profile, batch.number)
    yield from _unread(plan, profile)


def _backing(plan: Plan, profile: Profile, batch: Batch) -> Iterator[ProofFault]:
    """A roll with a backing that no step takes off, or keeps on it on purpose."""
    own = [(number, step) for number, step in enumerate(plan.steps) if step.batch == batch.number]
    handled = [(number, step.roll) for number, step in own if profile.step(step.of).backing is not None]
    for roll in batch.rolls:
        if plan.setup.rolls[roll].kind != "backed" or any(of in (None, roll) for _, of in handled):
            continue
        number, step = next((each for each in own if each[1].kind is Kind.DARK), own[0])
        text = (
            f"{named(step)}: backed film is taken here, and no step of its path takes the backing off or"
            " keeps it on"
            ' purpose: say backing = "off" (or "kept") at the step that does, or take "backed" out of accepts.'
        )
        yield ProofFault(number, text, number, ("backing",))
        return


def _developers(plan: Plan, profile: Profile, batch: Batch) -> Iterator[ProofFault]:
    """Two developers make a slide of a film: a negative film meets one."""
    kinds = {plan.setup.rolls[roll].kind for roll in batch.rolls}
    known = {each.id for each in developers(profile)}
    own = [(number, step) for number, step in enumerate(plan.steps) if step.batch == batch.number]
    met = {step.solution: number for number, step in own if step.solution in known}
    if len(met) > 1 and kinds & {"standard", "backed"}:
        first, second = sorted(met.values())[:2]
        text = (
            f"{named(plan.steps[second])}: it is the second developer, after {plan.steps[first].title}: two"
            " of them"
            ' are for slide film, and this path takes negative film: let accepts be ["slide"].'
        )
        yield ProofFault(second, text, first, ("two developers", plan.steps[second].of))


def _washed(plan: Plan, profile: Profile, batch: int) -> Iterator[ProofFault]:
    """After the bath that makes film safe, water in the tank for a minute, before anything else is poured."""
    tanks = tank_ids(profile)
    own = [(number, step) for number, step in enumerate(plan.steps) if step.batch == batch]
    fixed = next((number for number, step in own if step.makes_light_safe and pours(step)), None)
    if fixed is None:
        return
    washed_s = 0.0
    after = fixed
    for after, step in own:
        if after <= fixed:
            continue
        if pours(step) and step.storage != "tap":
            break
        if into_tank(step, tanks) and step.planned_s is None and step.kind is Kind.WASH:
            return  # it ends by its ticks alone
        washed_s += (step.planned_s or 0.0) if into_tank(step, tanks) else 0.0
    if washed_s < LEAST_LAST_WASH_S - 0.5:
        step = plan.steps[after]
        text = (
            f"{named(step)}: after {plan.steps[fixed].title} the film has been washed {washed_s:g} s by now;"
            " wash it"
            f" in the tank for {LEAST_LAST_WASH_S:g} s at least, or what fixed it fades it."
        )
        yield ProofFault(after, text, fixed, ("not washed", step.of))


def _unread(plan: Plan, profile: Profile) -> Iterator[ProofFault]:
    """A bath that is warmed for its pour, and that nothing asks the temperature of; developers have their own."""
    known = {each.id for each in developers(profile)}
    warmed = {each.id for each in profile.solutions if each.tempered and each.storage != "tap"} - known
    asked: set[tuple[str, int | None]] = set()
    for number, step in enumerate(plan.steps):
        if step.kind in (Kind.MEASURE, Kind.WAIT):
            readings = (ask for ask in step.readings if ask.required and ask.range_c is not None)
            asked |= {(ask.of, step.batch) for ask in readings}
        of = step.solution
        if of in warmed and pours(step) and not {(of, None), (of, step.batch)} & asked:
            text = (
                f"{named(step)}: {step.solution_title.lower()} is warmed, and nothing asks for its"
                " temperature before"
                f' this pour: read "{of}", with a range, in a step of the kind "measure" or "wait".'
            )
            yield ProofFault(number, text, number, ("never read", step.of))
