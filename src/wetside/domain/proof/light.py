"""The bath that makes film safe for light, and the proof that film is kept from light until then.

On each path a tank fill is followed from its loading to the bath that makes its film safe.
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.messages import message
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Kind, Profile, Step, developers, is_developer, is_process
from wetside.domain.proof.findings import (
    END,
    OPEN,
    START,
    Finding,
    Moment,
    ProofFault,
    Timed,
    fault,
    into_tank,
    named,
    of_solution,
    of_step,
    pours,
    steps_of,
    tank_ids,
)


def light_safe_findings(profile: Profile) -> Iterator[Finding]:
    """What is wrong with the bath that makes film safe for light, as the profile stands."""
    safe = [each for each in profile.solutions if each.makes_light_safe]
    if not is_process(profile) or not (safe or any(step.kind is Kind.DARK for step in profile.steps)):
        return
    if not safe:
        yield Finding(("solutions",), message("no light-safe bath"))
    for each in safe[1:]:
        yield of_solution(each, message("two light-safe baths", other=safe[0].id), "makes_light_safe")
    known = {each.id for each in developers(profile)}
    last = max((number for number, step in enumerate(profile.steps) if step.solution in known), default=-1)
    for each in safe:
        if each.storage == "tap":
            yield of_solution(each, message("light-safe water"), "makes_light_safe")
        if each.ends != "not before":
            yield of_solution(each, message("light-safe ends", ends=each.ends), "ends")
        for number, step in enumerate(profile.steps):
            if step.solution == each.id:
                yield from _light_safe_step(profile, step, number < last)


def _light_safe_step(profile: Profile, step: Step, before_the_developer: bool) -> Iterator[Finding]:
    if step.kind is not Kind.BATH or step.into not in tank_ids(profile):
        yield of_step(step, message("light-safe in the open"), "into")
    if step.ends not in (None, "not before") and not is_developer(profile, step):
        yield of_step(step, message("light-safe ends", ends=step.ends), "ends")
    if before_the_developer:
        yield of_step(step, message("light-safe order"))


# ------------------------------------------------------------ on each path


def light_faults(plan: Plan, profile: Profile, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """Light-sensitive film exposed to light, and another fill begun before this one's film is light-safe."""
    tanks = tank_ids(profile)
    for batch in plan.batches:
        yield from _lid_faults(plan, batch.number, tanks, timed)
        yield from _open_pour_faults(plan, batch.number, tanks)
        yield from _alone_faults(plan, profile, batch.number, tanks)
        yield from _still_working_faults(plan, batch.number, tanks, timed)
    for number, step in enumerate(plan.steps):
        if step.kind is Kind.DARK and not any(each.tick.killer and each.by == (number, START) for each in timed):
            yield fault(plan, number, number, message("unguarded dark"))


def _safe_step(plan: Plan, batch: int) -> int | None:
    """The number of the planned step at whose end this batch's film is light-safe; None without one."""
    safe = (number for number, step in steps_of(plan, batch) if step.makes_light_safe and pours(step))
    return next(safe, None)


def _lid_moments(plan: Plan, timed: tuple[Timed, ...], batch: int, lid: str) -> list[tuple[Moment, Moment]]:
    """From when, and by when at the latest, the lid goes on or off in this batch."""
    at = OPEN if lid == "off" else END
    found = [((number, at), (number, at)) for number, step in steps_of(plan, batch) if step.lid == lid]
    ticks = (each for each in timed if plan.steps[each.host].batch == batch and each.tick.lid == lid)
    return [*found, *((each.first, each.by) for each in ticks)]


def _lid_faults(plan: Plan, batch: int, tanks: frozenset[str], timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    own, safe = steps_of(plan, batch), _safe_step(plan, batch)
    off = _lid_moments(plan, timed, batch, "off")
    closed = min((by for _, by in _lid_moments(plan, timed, batch, "on")), default=None)
    since = 0 if closed is None else closed[0]
    for number, step in own:
        baths = into_tank(step, tanks) and (safe is None or number <= safe)
        if baths and (closed is None or closed > (number, START)):
            yield fault(plan, number, 0, message("lid not on"))
            break
    for first, _ in off:
        if safe is None or first[0] <= safe:
            until = None if safe is None else plan.steps[safe].title
            what = message("lid off in the end") if until is None else message("lid off", until=until)
            yield fault(plan, first[0], since, what)
    opened = min((by for _, by in off), default=None)
    handled = next((number for number, step in own if step.roll is not None), None)
    if closed is not None and opened is None:
        at = own[-1][0] if handled is None else handled
        yield fault(plan, at, since, message("lid stays"))
    elif opened is not None and handled is not None and opened > (handled, START):
        yield fault(plan, handled, since, message("lid late"))


def _open_pour_faults(plan: Plan, batch: int, tanks: frozenset[str]) -> Iterator[ProofFault]:
    """A bath outside the tank for film that is still light-sensitive."""
    own, safe = steps_of(plan, batch), _safe_step(plan, batch)
    loaded = next((number for number, step in own if step.lid == "on"), None)
    if safe is None or loaded is None:
        return  # found by the proof of the lid
    for number, step in own:
        if loaded < number <= safe and pours(step) and not into_tank(step, tanks):
            where = plan.title_of(step.pour[-1])
            yield fault(plan, number, loaded, message("open pour", where=where, until=plan.steps[safe].title))


def _still_working_faults(
    plan: Plan, batch: int, tanks: frozenset[str], timed: tuple[Timed, ...]
) -> Iterator[ProofFault]:
    """Chemistry in the closed tank after the bath marked as light-safe, which shows that it was not the fixer."""
    safe = _safe_step(plan, batch)
    off = min((by for _, by in _lid_moments(plan, timed, batch, "off")), default=(len(plan.steps), OPEN))
    if safe is None:
        return
    for number, step in steps_of(plan, batch):
        again = step.solution == plan.steps[safe].solution
        if safe < number <= off[0] and step.storage != "tap" and into_tank(step, tanks) and not again:
            yield fault(plan, number, safe, message("safe too soon", fixer=plan.steps[safe].title))
            return


def _alone_faults(plan: Plan, profile: Profile, batch: int, tanks: frozenset[str]) -> Iterator[ProofFault]:
    """A step of another fill, or of the whole session, among the baths of film that is still light-sensitive.

    A session step splits the steps of a fill, and every fill then does the first part before any does the second,
    so that two fills need the tank at once. Before the first pour it matters only where there are two fills.
    """
    own, safe = steps_of(plan, batch), _safe_step(plan, batch)
    poured = next((number for number, step in own if into_tank(step, tanks)), None)
    if safe is None or poured is None:
        return
    begun = min(next((number for number, step in own if step.kind is Kind.DARK), poured), poured)
    for number, step in enumerate(plan.steps[begun:safe], begun):
        if step.batch == batch or (step.batch is None and number < poured):
            continue
        first, last = plan.steps[begun], plan.steps[safe]
        ids = [each.id for each in profile.steps]
        between = profile.steps[ids.index(first.of) : ids.index(last.of)]
        parting = next((each for each in between if each.scope == "session"), None) or profile.step(step.of)
        what = message("not alone", first=first.title, last=last.title)
        yield ProofFault(number, begun, what, named(parting.id, parting.title), (what.code, parting.id))
        return
