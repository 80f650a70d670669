"""What a session takes from the shelf when it closes, and what a plan would: which rolls, which bottle.

Pure. What counts is a bath whose clock was started; a bath that was never begun took nothing, also when the
evening was abandoned. Practice takes nothing. Nothing is kept here.
"""

from __future__ import annotations

from math import fsum

from wetside.domain.planning.formatting import wall_at
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import bottle_of
from wetside.domain.session.rolls import begun_with, rolls_through
from wetside.domain.session.state import State
from wetside.domain.shelf.commands import UseBottle


def debits(state: State) -> tuple[UseBottle, ...]:
    """One command for each shelf bottle that film went through, in the order the setup names them."""
    plan = state.plan
    if plan is None or state.practice:
        return ()
    on = wall_at(state.wall, state.offset_s, state.at - state.anchor_at).date().isoformat()
    found = []
    for bottle in plan.setup.bottles:
        if bottle.shelf_id is None or bottle_of(plan.setup, bottle.solution) is not bottle:
            continue
        begun = begun_with(state, plan, bottle.solution)
        rolls = rolls_through(plan, begun)
        if rolls > 0:
            lost_ml = fsum(step.volume_ml or 0.0 for step in begun if step.storage == "one-shot")
            found.append(UseBottle(on, bottle.shelf_id, state.session, rolls, lost_ml))
    return tuple(found)


def planned_through(plan: Plan) -> dict[str, float]:
    """Rolls of 80 in² that this plan, led to its end, sends through each shelf bottle: by its id."""
    found = {}
    for bottle in plan.setup.bottles:
        if bottle.shelf_id is None or bottle_of(plan.setup, bottle.solution) is not bottle:
            continue
        found[bottle.shelf_id] = rolls_through(plan, [s for s in plan.steps if s.solution == bottle.solution])
    return found
