"""A session led into a bath, and parts of its screen, for tests of the controller."""

from __future__ import annotations

from tests.session.small_evening import small_plan
from tests.session.walker import Guide, Walker, guide_for

from wetside.present.prompts import Panel


def in_bath(step: str = "b1.dev", for_s: float = 60.0) -> Guide:
    """The small evening led into a bath that has run `for_s`."""
    guide = guide_for(small_plan())
    walker = Walker(guide)
    while step not in guide.controller.state.clocks:
        assert walker.step()
    clock = guide.controller.state.clocks[step]
    guide.wait(clock.t0 + for_s - guide.controller.now())
    guide.cues.clear()
    return guide


def remaining(guide: Guide, step: str = "b1.dev") -> float:
    left = guide.controller.state.clocks[step].remaining(guide.controller.now())
    assert left is not None
    return left


def digits(guide: Guide) -> str:
    clock = guide.controller.view().clock
    assert clock is not None
    return clock.digits


def open_panel(guide: Guide) -> Panel | None:
    return guide.controller.key_state.panel
