"""Before a developer: the time its last reading gives is the time that will run."""

from __future__ import annotations

from tests.session.small_evening import small_plan
from tests.session.walker import Guide, guide_for

from wetside.domain.session import commands as c


def at_the_developers_gate(read_c: float, ago_s: float) -> Guide:
    """The small evening before its developer, whose bottle was read so long ago."""
    guide = guide_for(small_plan()).at_step("b1.dev")
    assert guide.dispatch(c.TakeReading(guide.now, "developer", read_c, ""))
    guide.wait(ago_s, poll_s=60.0)
    return guide


def test_before_the_pour_the_developer_time_by_the_last_reading_is_shown() -> None:
    guide = at_the_developers_gate(38.0, 80.0)
    view = guide.view
    assert view.clock is not None
    before = view.clock.digits
    assert before != "3:15", "the plan is for 38.9 °C"
    assert f"Read 38.0 °C 1 min ago: so {before}, not 3:15." in view.facts
    assert [(row.value, row.verdict) for row in view.readings] == [("38.0 °C", "read")]
    assert guide.dispatch(c.StartStep(guide.now, "b1.dev", 0.0))
    end_s = guide.state.clocks["b1.dev"].end_s
    assert end_s is not None
    assert f"{int(end_s) // 60}:{round(end_s) % 60:02d}" == before


def test_an_outdated_reading_is_pointed_out_before_the_pour() -> None:
    guide = at_the_developers_gate(38.0, 28 * 60.0)
    view = guide.view
    assert view.clock is not None
    assert view.clock.digits == "3:15"
    assert any(fact.startswith("38.0 °C was read 28 min ago, too long to count") for fact in view.facts)
    assert [row.verdict for row in view.readings] == ["not read lately"]
