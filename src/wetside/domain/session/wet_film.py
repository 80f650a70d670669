"""How long wet film has waited for its next bath, against the longest that it may. Pure."""

from __future__ import annotations

from wetside.domain.planning.plan import LATEST_S, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.state import State


def wait_left_s(state: State, at: float) -> float | None:
    """Seconds until film of the fill on screen has waited `LATEST_S` in water; negative beyond; None: none waits.

    The wait begins with the end of the fill's last bath or wash in the tank, and lasts until each of its rolls is
    in its last bath: a roll in a jar does not end it for the others.
    """
    plan = state.plan
    batch = plan.step(state.current).batch if plan is not None and state.current is not None else None
    if plan is None or batch is None:
        return None
    wet = [step for step in plan.steps if step.batch == batch and _wets(step)]
    if all(step.id in state.clocks for step in wet):
        return None
    freed = [_free_at(state, step, at) for step in wet if step.roll is None and step.id in state.clocks]
    since = max((each for each in freed if each is not None), default=None)
    return None if since is None or None in freed else LATEST_S - (at - since)


def _wets(step: PlannedStep) -> bool:
    return step.kind in (Kind.BATH, Kind.WASH) and step.solution is not None


def _free_at(state: State, step: PlannedStep, at: float) -> float | None:
    """When a bath that was begun ended, or came to its time; None while it still needs time."""
    left_s = state.clocks[step.id].remaining(at)
    return state.ended.get(step.id, at + left_s if left_s is not None and left_s <= 0.0 else None)
