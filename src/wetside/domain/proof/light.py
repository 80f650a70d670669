"""The proof of the light: film that minds light stays in a closed tank, and one film at a time does.

One job: follow each tank fill of a plan from its loading to the bath that makes its film safe. When ticks can be
made is told in `moments.py`.
"""

from __future__ import annotations

from collections.abc import Iterator

from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Kind, Profile, Step
from wetside.domain.proof.findings import (
    END,
    OPEN,
    START,
    Moment,
    ProofFault,
    Timed,
    into_tank,
    named,
    pours,
    tank_ids,
)


def light_faults(plan: Plan, profile: Profile, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    """Film that minds light and meets it, and another fill begun before this one's film no longer minds it."""
    tanks = tank_ids(profile)
    for batch in plan.batches:
        yield from _lid_faults(plan, batch.number, tanks, timed)
        yield from _open_pour_faults(plan, batch.number, tanks)
        yield from _alone_faults(plan, profile, batch.number, tanks)
        yield from _still_working_faults(plan, batch.number, tanks, timed)
    for number, step in enumerate(plan.steps):
        if step.kind is Kind.DARK and not any(each.tick.killer and each.by == (number, START) for each in timed):
            text = (
                f"{named(step)}: film is bare here, and nothing is confirmed first that keeps light from it: give"
                ' it a tick with killer = true and due = "start", such as "Display covered, phones outside".'
            )
            yield ProofFault(number, text, number, ("unguarded dark", step.of))


def _lid_faults(plan: Plan, batch: int, tanks: frozenset[str], timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    own = [(number, step) for number, step in enumerate(plan.steps) if step.batch == batch]
    on = _lid_moments(plan, timed, batch, "on")
    off = _lid_moments(plan, timed, batch, "off")
    closed = min((by for _, by in on), default=None)
    ended = _safe_step(plan, batch)
    safe = (ended, END) if ended is not None else None
    for number, step in own:
        if not into_tank(step, tanks) or (safe is not None and number > safe[0]):
            continue
        if closed is None or closed > (number, START):
            text = f"{named(step)}: it is poured into the tank before the lid is on; the film still minds light."
            yield ProofFault(number, text, 0, ("lid on", step.of))
            break
    for first, _ in off:
        if safe is None or first < (safe[0], END) or first[0] <= safe[0]:
            step = plan.steps[first[0]]
            until = f"until {plan.steps[safe[0]].title} has ended" if safe is not None else "to the very end"
            text = f"{named(step)}: the lid comes off here, but the film minds light {until}."
            yield ProofFault(first[0], text, closed[0] if closed is not None else 0, ("lid off", step.of))
    opened = min((by for _, by in off), default=None)
    handled = next((number for number, step in own if step.roll is not None), None)
    if closed is not None and opened is None:
        at = handled if handled is not None else own[-1][0]
        text = f"{named(plan.steps[at])}: the lid went on and no step or tick takes it off again."
        yield ProofFault(at, text, closed[0], ("lid stays", plan.steps[at].of))
    elif opened is not None and handled is not None and opened > (handled, START):
        step = plan.steps[handled]
        text = f"{named(step)}: single rolls are handled here, and the lid comes off only later."
        yield ProofFault(handled, text, closed[0] if closed is not None else 0, ("lid late", step.of))


def _lid_moments(plan: Plan, timed: tuple[Timed, ...], batch: int, lid: str) -> list[tuple[Moment, Moment]]:
    """From when, and by when at the latest, the lid goes on or off in this batch."""
    found = []
    for number, step in enumerate(plan.steps):
        if step.batch == batch and step.lid == lid:
            found.append(((number, OPEN), (number, OPEN)) if lid == "off" else ((number, END), (number, END)))
    for each in timed:
        if plan.steps[each.host].batch == batch and each.tick.lid == lid:
            found.append((each.first, each.by))
    return found


def _safe_step(plan: Plan, batch: int) -> int | None:
    """The planned step at whose end this batch's film no longer minds light."""
    safe = (number for number, step in enumerate(plan.steps) if step.batch == batch and step.makes_light_safe)
    return next((number for number in safe if pours(plan.steps[number])), None)


def _open_pour_faults(plan: Plan, batch: int, tanks: frozenset[str]) -> Iterator[ProofFault]:
    """A bath beside the tank for film that still minds light."""
    safe = _safe_step(plan, batch)
    loaded = next((n for n, step in enumerate(plan.steps) if step.batch == batch and step.lid == "on"), None)
    if safe is None or loaded is None:
        return  # said by the lid's own proof
    for number in range(loaded + 1, safe + 1):
        step = plan.steps[number]
        if step.batch == batch and pours(step) and not into_tank(step, tanks):
            where = plan.title_of(step.pour[-1]).lower()
            text = (
                f"{named(step)}: it is poured into {where}, which keeps no light out; the film minds light until"
                f" {plan.steps[safe].title} has ended: pour it into the tank."
            )
            yield ProofFault(number, text, loaded, ("open pour", step.of))


def _still_working_faults(
    plan: Plan, batch: int, tanks: frozenset[str], timed: tuple[Timed, ...]
) -> Iterator[ProofFault]:
    """Chemistry in the closed tank after the bath that is said to make film safe: that bath was not the fixer."""
    safe = _safe_step(plan, batch)
    off = min((by for _, by in _lid_moments(plan, timed, batch, "off")), default=(len(plan.steps), OPEN))
    if safe is None:
        return
    for number in range(safe + 1, min(off[0] + 1, len(plan.steps))):
        step = plan.steps[number]
        again = step.solution == plan.steps[safe].solution
        if step.batch == batch and step.storage != "tap" and into_tank(step, tanks) and not again:
            text = (
                f"{named(step)}: it is poured into the closed tank after {plan.steps[safe].title}, which is"
                " said to"
                " make the film safe for light: only the last bath in the closed tank does that, the one"
                " that fixes;"
                " if it was, let the lid come off before this one."
            )
            yield ProofFault(number, text, safe, ("safe too soon", step.of))
            return


def _alone_faults(plan: Plan, profile: Profile, batch: int, tanks: frozenset[str]) -> Iterator[ProofFault]:
    """A step of another fill, or of the whole session, among the baths of film that still minds light.

    A step of the session parts the steps of a fill, and every fill then does the first part before any does the
    second: two films and one tank. Before the first pour it does so only where there are two fills.
    """
    safe = _safe_step(plan, batch)
    own = [number for number, step in enumerate(plan.steps) if step.batch == batch]
    poured = next((number for number in own if into_tank(plan.steps[number], tanks)), None)
    if safe is None or poured is None:
        return
    begun = next((number for number in own if plan.steps[number].kind is Kind.DARK), poured)
    begun = min(begun, poured)
    for number in range(begun, safe):
        step = plan.steps[number]
        if step.batch == batch or (step.batch is None and number < poured):
            continue
        first, last = plan.steps[begun], plan.steps[safe]
        parting = _parting(profile, first.of, last.of) or profile.step(step.of)
        text = (
            f'Step "{parting.id}" ({parting.title}): it is done once for the whole session and stands between'
            f" {first.title} and {last.title}: with two tank fills the next film is begun while this one still"
            ' minds light. Give it scope = "batch", or move it before the loading or after the film is safe.'
        )
        yield ProofFault(number, text, begun, ("not alone", parting.id))
        return


def _parting(profile: Profile, first: str, last: str) -> Step | None:
    """The first step of the whole session between two others of the profile."""
    ids = [step.id for step in profile.steps]
    between = profile.steps[ids.index(first) : ids.index(last)]
    return next((step for step in between if step.scope == "session"), None)
