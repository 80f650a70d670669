"""Sessions led into a bath, for tests of the controller and its keys."""

from __future__ import annotations

import copy
from functools import cache

from tests.session.small_evening import small_plan
from tests.session.walker import Guide, MemoryEventSink, guide_for
from tests.shipped import shipped_plan

from wetside.app.controller import SessionController
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.present.prompts import Panel


def in_bath(step: str = "b1.dev", for_s: float = 60.0) -> Guide:
    """The small evening in a bath that has run `for_s`."""
    guide = guide_for(small_plan()).running(step, for_s=for_s)
    guide.cues.clear()
    return guide


def is_developer(step: PlannedStep) -> bool:
    """Whether this is a bath that must end on time."""
    return step.kind is Kind.BATH and step.ends == "on time"


@cache
def _in_developer(setup: str) -> Guide:
    plan = shipped_plan(setup)
    return guide_for(plan).running(next(step.id for step in plan.steps if is_developer(step)))


def in_developer(setup: str) -> Guide:
    """A new session at the moment at which the developer of this shipped setup has begun."""
    led = _in_developer(setup)
    clock, event_sink = copy.copy(led.clock), MemoryEventSink()
    return Guide(SessionController(led.state, event_sink, clock), clock, event_sink)


def remaining(guide: Guide, step: str = "b1.dev") -> float:
    left = guide.state.clocks[step].remaining(guide.now)
    assert left is not None
    return left


def digits(guide: Guide) -> str:
    clock = guide.view.clock
    assert clock is not None
    return clock.digits


def open_panel(guide: Guide) -> Panel | None:
    return guide.panel
