"""A controller with a manual clock and events kept in memory, at any step of the shipped evening."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import cache

import pytest
from msgspec.structs import replace
from tests.manual_clock import ManualClock
from tests.session.decided import decided
from tests.shipped import shipped_profile, shipped_setup

from wetside.app.controller import SessionController
from wetside.app.session_start import begin_now
from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.session.events import Event
from wetside.domain.session.state import State, StepClock, replay
from wetside.errors import Unusable
from wetside.present.evening_plan import make_plan


class Memory:
    """An event sink that keeps a list. failing: every append raises. mine: whether this terminal has the lock."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.failing = False
        self.warning = self.kept_in = ""
        self.mine = True
        self.released = 0

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        if self.failing:
            raise Unusable("The disk is full; make room, then press the key again.")
        self.events += events

    def fresh(self) -> tuple[Event, ...]:
        return ()

    def still_mine(self) -> bool:
        return self.mine

    def release(self) -> None:
        self.released += 1


@cache
def evening(place: str = "dark room") -> Plan:
    """The plan of the shipped two-bath profile with the shipped setup of three rolls."""
    setup = shipped_setup("three-rolls")
    profile = shipped_profile("two-bath")
    return make_plan(profile, replace(setup, place="changing bag" if place == "changing bag" else "dark room"))


def standing_at(
    plan: Plan, step_id: str, *, running_s: float | None = None, ready: bool = False, at: float = 1000.0
) -> State:
    """The state at a step with all earlier ticks made.

    running_s: its clock has run so long (None: not started). ready: the ticks due at its start are made, too.
    """
    number = plan.number(step_id)
    begun = replay(decided(State(), begin_now("evening", plan, "", ManualClock(), "test")))
    running = running_s is not None
    ticks = {
        tick.id: 1.0
        for step in plan.steps[: number + 1]
        for tick in step.ticks
        if plan.number(tick.due_step) < number
        or ((running or ready) and plan.number(tick.due_step) == number and tick.due_at == "start")
    }
    step = plan.step(step_id)
    t0 = at - (running_s or 0.0)
    clocks = {step_id: StepClock(t0, t0, step.planned_s)} if running else {}
    return replace(begun, current=step_id, opened_at=at - 60.0, at=at, anchor_at=at, ticks=ticks, clocks=clocks)


ControllerAt = Callable[..., tuple[SessionController, ManualClock, Memory]]


@pytest.fixture
def controller_at() -> ControllerAt:
    """Makes a controller at a step: `controller_at("b1.developer", running_s=20)`."""

    def make(
        step_id: str, *, running_s: float | None = None, plan: Plan | None = None
    ) -> tuple[SessionController, ManualClock, Memory]:
        clock, memory = ManualClock(), Memory()
        state = standing_at(plan or evening(), step_id, running_s=running_s)
        controller = SessionController(state, memory, clock)
        clock.advance(2.0)  # no key was meant for the step before, and what is asked has been read
        return controller, clock, memory

    return make


@pytest.fixture
def plan() -> Plan:
    """Tonight's plan."""
    return evening()


@pytest.fixture
def bag_plan() -> Plan:
    """The same plan with a changing bag."""
    return evening("changing bag")


@pytest.fixture
def standing() -> Callable[..., State]:
    """Makes a state at a step: `standing(plan, "b1.developer", running_s=20)`."""
    return standing_at


@pytest.fixture
def terminal() -> Terminal:
    """A terminal of 80 by 24 cells."""
    return Terminal(80, 24, True, "16", True, "xterm")
