"""How the guide goes from step to step: what ends with it, what opens next, and when the session closes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.session.events import Event, SessionClosed, StepEnded, StepOpened
from wetside.domain.session.gates import Blocker, shut_by
from wetside.domain.session.messages import CommandRefused, refused
from wetside.domain.session.state import State, evolve


def plan_of(state: State) -> Plan:
    """The plan. Raises CommandRefused when no session has begun."""
    if state.plan is None:
        raise refused("no session")
    return state.plan


def current_step(state: State) -> PlannedStep:
    """The step on screen. Raises CommandRefused when there is none."""
    if state.current is None:
        raise refused("no step open")
    return plan_of(state).step(state.current)


def refuse_if_shut(blockers: Sequence[Blocker]) -> None:
    """Raises CommandRefused with the first blocker and how many more there are."""
    if blockers:
        raise CommandRefused(shut_by(blockers))


def end_joined(state: State, step: PlannedStep, at: float) -> tuple[Event, ...]:
    """The end of the background step that `step` joins, unless that has ended."""
    if step.joins is None or step.joins in state.ended or step.joins not in state.clocks:
        return ()
    return (StepEnded(at, step.joins),)


def go_on(state: State, step: PlannedStep, at: float) -> tuple[Event, ...]:
    """Open the step after `step`, or close the session after the last one.

    Background clocks that nothing joins end with the session, so that no clock is left open.
    """
    plan = plan_of(state)
    number = plan.number(step.id) + 1
    if number < len(plan.steps):
        return (StepOpened(at, plan.steps[number].id),)
    left = tuple(StepEnded(at, running) for running in state.clocks if running not in state.ended)
    deviations = reduce(evolve, left, state).deviations
    return (*left, SessionClosed(at, "complete with deviations" if deviations else "complete", deviations))
