"""The shelf commands that follow from a session: rolls through its bottles, suspicions, a kit mixed.

Of a closed session, also an abandoned one, every bath whose clock was started counts; of an open session every
bath that has ended. A practice session has none.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from math import fsum

from msgspec.structs import replace

from wetside.domain.planning.bottles import bottle_of, rolls_through
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Bottle, Setup
from wetside.domain.session.film import backing_on, begun_with
from wetside.domain.session.mishaps import told
from wetside.domain.session.state import State
from wetside.domain.shelf.commands import FillFromKit, Suspect, UseBottle


def debits(state: State) -> tuple[UseBottle, ...]:
    """One command for each shelf bottle that film went through, in the order of the setup."""
    if state.practice or not state.begun:
        return ()
    plan = state.plan
    on = _local_day(state, state.wall, state.at - state.anchor_at)
    found = []
    for bottle in plan.setup.poured_from:
        if bottle.shelf_id is None:
            continue
        baths = _counted_baths(state, bottle.solution)
        rolls = rolls_through(plan.setup, plan.batches, baths)
        if rolls > 0:
            lost_ml = fsum(step.volume_ml or 0.0 for step in baths if step.storage == "one-shot")
            backed = rolls_through(plan.setup, plan.batches, [step for step in baths if backing_on(plan, step)])
            found.append(UseBottle(on, bottle.shelf_id, state.session, rolls, lost_ml, backed))
    return tuple(found)


def _local_day(state: State, wall: str, plus_s: float) -> str:
    """The ISO date, where the session is, of the moment `plus_s` seconds after the RFC 3339 instant `wall`."""
    zone = timezone(timedelta(seconds=state.offset_s))
    return (datetime.fromisoformat(wall).astimezone(zone) + timedelta(seconds=plus_s)).date().isoformat()


def _counted_baths(state: State, solution: str) -> list[PlannedStep]:
    """The baths with this solution that count."""
    baths = begun_with(state, solution)
    return baths if state.outcome is not None else [step for step in baths if step.id in state.ended]


def setup_after(state: State) -> Setup:
    """The setup of a session for the next one.

    Bottles that are not on the shelf get the rolls and the suspicions of the session. What holds for one evening
    is dropped: reasons, starting temperatures, the bath's and the developer's temperature, the note.
    """
    setup = state.plan.setup
    bottles = tuple(_bottle_after(state, bottle) for bottle in setup.bottles)
    water = replace(setup.water, bath_c=None)
    return replace(setup, bottles=bottles, water=water, developer_c=None, note="")


def _bottle_after(state: State, bottle: Bottle) -> Bottle:
    plan, bottle = state.plan, replace(bottle, reason="", start_c=None)
    used = bottle_of(plan.setup, bottle.solution)
    if bottle.shelf_id is not None or used is None or used.label != bottle.label:
        return bottle
    doubts = [told(plan, mishap) for mishap in state.mishaps if bottle.solution in mishap.suspects]
    baths = [s for s in _counted_baths(state, bottle.solution) if s.storage != "one-shot"]
    backed = rolls_through(plan.setup, plan.batches, [step for step in baths if backing_on(plan, step)])
    return replace(
        bottle,
        used_rolls=bottle.used_rolls + rolls_through(plan.setup, plan.batches, baths),
        backed_rolls=bottle.backed_rolls + backed,
        suspect=doubts[-1] if doubts else bottle.suspect,
        tested=None if doubts else bottle.tested,
    )


def suspicions(state: State) -> tuple[Suspect, ...]:
    """One command for each shelf bottle and each mishap of the session that makes it doubtful."""
    if state.practice:
        return ()
    plan, found = state.plan, []
    for number, mishap in enumerate(state.mishaps):
        on = _local_day(state, state.wall, mishap.at - state.anchor_at)
        for solution in mishap.suspects:
            bottle = bottle_of(plan.setup, solution)
            if bottle is not None and bottle.shelf_id is not None:
                found.append(Suspect(on, bottle.shelf_id, f"{state.session}/{number}", told(plan, mishap)))
    return tuple(found)


def filled(state: State) -> tuple[FillFromKit, ...]:
    """The bottles that a closed mixing evening has filled, also an abandoned one, dated by the day it began."""
    plan = state.plan
    if plan.kit is None or state.practice or state.outcome is None:
        return ()
    bottles = tuple(bottle for bottle in plan.kit.bottles if bottle.step in state.ended)
    on = _local_day(state, state.began_wall, 0.0)
    kit = replace(plan.kit, bottles=bottles)
    return (FillFromKit(on, plan.profile_id, plan.profile_title, kit),) if bottles else ()


def planned_through(plan: Plan) -> dict[str, float]:
    """Rolls of 135-36 that this plan develops in each shelf bottle, by its id."""
    baths = {
        bottle.shelf_id: [step for step in plan.steps if step.solution == bottle.solution]
        for bottle in plan.setup.poured_from
        if bottle.shelf_id is not None
    }
    return {id_: rolls_through(plan.setup, plan.batches, steps) for id_, steps in baths.items()}
