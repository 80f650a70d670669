"""The temperature of a running developer as a curve, for whoever follows from a second terminal."""

from __future__ import annotations

import pytest
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.session import commands as c
from wetside.present.tempering_forecast import bath_course


def in_the_developer() -> Guide:
    """A developer that has run 90 s, read after 30 s and after a minute."""
    guide = guide_for(shipped_plan("three-rolls"))
    walker = Walker(guide)
    while "b1.developer" not in guide.state.clocks:
        assert bath_course(guide.state, guide.now) is None
        assert walker.step()
    guide.wait(guide.state.clocks["b1.developer"].t0 - guide.now + 30.0)
    for value_c in (38.6, 38.4):
        assert guide.dispatch(c.TakeReading(guide.now, "developer", value_c, f"{value_c}"))
        guide.wait(30.0)
    return guide


def test_bath_curve_passes_through_the_readings() -> None:
    guide = in_the_developer()
    state = guide.state
    course = bath_course(state, guide.now)
    assert course is not None
    (line,) = course.lines
    clock = state.clocks["b1.developer"]
    assert clock.end_s is not None
    assert [(round(at - clock.t0), value) for at, value in line.readings] == [(30, 38.6), (60, 38.4)]
    drawn = dict(line.points)
    assert all(drawn[at] == pytest.approx(value) for at, value in line.readings)
    assert line.points[0][0] == clock.t0
    assert line.points[-1][0] >= clock.t0 + clock.end_s
    assert line.range_c == shipped_plan("three-rolls").step("b1.developer").range_c
    assert course.words == ("Developer about 38.3 °C now.",)
