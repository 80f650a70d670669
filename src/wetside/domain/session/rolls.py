"""How much film some steps are about, in the rolls that bottles are rated in. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.state import State


def rolls_through(plan: Plan, steps: Iterable[PlannedStep]) -> float:
    """The rolls these steps are about, each counted once, in rolls of 135-36."""
    rolls = {roll for step in steps for roll in _rolls(plan, step)}
    return roll_equivalents(plan.setup.rolls[roll].format for roll in sorted(rolls))


def begun_with(state: State, plan: Plan, solution: str) -> list[PlannedStep]:
    """The steps with this solution whose clock was started: one that never was took nothing from a bottle."""
    return [step for step in plan.steps if step.solution == solution and step.id in state.clocks]


def developers_of(plan: Plan) -> tuple[PlannedStep, ...]:
    """The baths that develop: ended on time, and no tap water."""
    return tuple(s for s in plan.steps if s.kind is Kind.BATH and s.ends == "on time" and s.storage != "tap")


def developed(state: State) -> tuple[int, ...]:
    """The rolls (places in the setup) that a developer was poured on, in their order."""
    plan = state.plan
    if plan is None:
        return ()
    begun = (step for step in developers_of(plan) if step.id in state.clocks)
    return tuple(sorted({roll for step in begun for roll in _rolls(plan, step)}))


def backing_on(plan: Plan, step: PlannedStep) -> bool:
    """Whether film goes through this bath with its backing on: it does in the tank, and loses it roll by roll."""
    fills = {batch.number for batch in plan.batches if batch.backing_on}
    return step.batch in fills and step.roll is None


def _rolls(plan: Plan, step: PlannedStep) -> tuple[int, ...]:
    """The rolls a step is about: its own, its batch's, or all."""
    if step.roll is not None:
        return (step.roll,)
    if step.batch is not None:
        return next(batch.rolls for batch in plan.batches if batch.number == step.batch)
    return tuple(range(len(plan.setup.rolls)))
