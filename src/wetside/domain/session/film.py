"""The film of a session: the rolls of some steps, the rolls developed, and how long wet film has waited."""

from __future__ import annotations

from wetside.domain.planning.bottles import rolls_of
from wetside.domain.planning.plan import LATEST_S, Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.state import State


def begun_with(state: State, solution: str) -> list[PlannedStep]:
    """The steps with this solution whose clock was started; no other has used its bottle."""
    return [step for step in state.plan.steps if step.solution == solution and step.id in state.clocks]


def develops(step: PlannedStep) -> bool:
    """Whether this bath is a developer: ended on time, and no tap water."""
    return step.kind is Kind.BATH and step.ends == "on time" and step.storage != "tap"


def developers_of(plan: Plan) -> tuple[PlannedStep, ...]:
    """The baths that develop, in order."""
    return tuple(step for step in plan.steps if develops(step))


def developed(state: State) -> tuple[int, ...]:
    """The rolls (places in the setup) that a developer was poured on, in their order."""
    plan = state.plan
    begun = (step for step in developers_of(plan) if step.id in state.clocks)
    return rolls_of(plan.setup, plan.batches, begun)


def backing_on(plan: Plan, step: PlannedStep) -> bool:
    """Whether film goes through this bath with its backing on, which comes off roll by roll after the tank."""
    fills = {batch.number for batch in plan.batches if batch.backing_on}
    return step.batch in fills and step.roll is None


def wait_left_s(state: State, at: float) -> float | None:
    """Seconds until film of the fill on screen has waited `LATEST_S` in water; negative beyond; None: none waits.

    The wait begins with the end of the fill's last bath or wash in the tank, and lasts until each of its rolls is
    in its last bath: a roll in a jar does not end it for the others.
    """
    batch = state.step.batch if state.step is not None else None
    if batch is None:
        return None
    wet = [step for step in state.plan.steps if step.batch == batch and step.kind.traits.wets and step.solution]
    if all(step.id in state.clocks for step in wet):
        return None
    freed = [_free_at(state, step, at) for step in wet if step.roll is None and step.id in state.clocks]
    since = max((each for each in freed if each is not None), default=None)
    return None if since is None or None in freed else LATEST_S - (at - since)


def _free_at(state: State, step: PlannedStep, at: float) -> float | None:
    """When a bath that was begun ended, or came to its time; None while it still needs time."""
    left_s = state.clocks[step.id].remaining(at)
    return state.ended.get(step.id, at + left_s if left_s is not None and left_s <= 0.0 else None)
