"""The shipped setups, planned and led into their developer."""

from __future__ import annotations

import copy
from functools import cache

from tests.session.walker import PROFILES, Guide, MemoryEventSink, Walker, guide_for
from tests.shipped import read_shipped

from wetside.app.controller import SessionController
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.files.settings import Settings
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan

ALL_SETUPS = tuple(sorted(path.stem for path in (PROFILES / "setups").glob("*.toml")))


@cache
@cache
def plan_of_setup(name: str) -> Plan:
    """The plan of a shipped setup with the process it names."""
    setup = read_setup(PROFILES / "setups" / f"{name}.toml")
    return make_plan(read_shipped(PROFILES / f"{setup.profile}.toml"), setup)


def is_developer(step: PlannedStep) -> bool:
    """Whether this is a bath that must end on time."""
    return step.kind is Kind.BATH and step.ends == "on time"


@cache
def _in_developer(name: str) -> Guide:
    guide = guide_for(plan_of_setup(name))
    walker = Walker(guide)
    developer = next(step.id for step in plan_of_setup(name).steps if is_developer(step))
    while developer not in guide.controller.state.clocks:
        assert walker.step()
    return guide


def in_developer(name: str) -> Guide:
    """A new session at the moment at which the developer of this setup has begun."""
    led = _in_developer(name)
    clock = copy.copy(led.clock)
    return Guide(
        SessionController(led.controller.state, MemoryEventSink(), clock, Settings()), clock, MemoryEventSink()
    )
