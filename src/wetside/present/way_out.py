"""How to stop safely where the session stands. Pure."""

from __future__ import annotations

from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.state import State


def way_out(state: State, step: PlannedStep) -> str:
    """The step's own way out. Before its bath is in, film is as the bath before left it, and that one's holds."""
    plan = state.plan
    if plan is None or step.kind is not Kind.BATH or step.background or step.id in state.clocks:
        return step.safe_way_out
    before = plan.steps[plan.number(step.id) - 1]
    wet = before.kind in (Kind.BATH, Kind.WASH) and before.batch == step.batch and before.id in state.clocks
    return before.safe_way_out if wet else step.safe_way_out
