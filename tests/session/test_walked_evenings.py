"""Both shipped evenings completed by a simulated person who reads only what is shown."""

from __future__ import annotations

import pytest
from tests.session.walker import TWO_BATH, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.planning.steps import Habits
from wetside.domain.session.events import StepEnded, StepOpened
from wetside.domain.session.state import replay


@pytest.mark.parametrize("setup", TWO_BATH)
@pytest.mark.parametrize("eager", [True, False], ids=["three keys", "typed numbers"])
def test_a_person_who_reads_only_the_screen_completes_the_evening(setup: str, eager: bool) -> None:
    plan = shipped_plan(setup)
    guide = guide_for(plan)
    Walker(guide, eager).lead(15_000)
    state = guide.state
    assert state.outcome == "complete"
    assert state.deviations == 0
    assert [event.step for event in guide.events if isinstance(event, StepOpened)] == [
        step.id for step in plan.steps
    ]
    ended = [event.step for event in guide.events if isinstance(event, StepEnded)]
    assert sorted(ended) == sorted(step.id for step in plan.steps)
    assert set(state.ticks) == {tick.id for step in plan.steps for tick in step.ticks}
    assert replay(guide.events) == state


def test_a_person_with_fahrenheit_and_a_slow_drain_completes_the_evening() -> None:
    guide = guide_for(shipped_plan("five-rolls-two-batches", Habits(lead_in_s=0.0, drain_lead_s=40.0, unit="°F")))
    Walker(guide).lead(15_000)
    assert guide.state.outcome == "complete"


def test_every_call_of_the_developer_is_made_once() -> None:
    guide = guide_for(shipped_plan("three-rolls"))
    Walker(guide).lead(15_000)
    step = guide.state.plan.step("b1.developer") if guide.state.plan else None
    assert step is not None
    assert step.agitation is not None
    calls = [call for name, call, _ in sorted(guide.state.given, key=lambda g: g[2]) if name == step.id]
    end_s = guide.state.clocks[step.id].end_s
    assert end_s is not None
    last_s = end_s - step.drain_lead_s - step.agitation.for_s
    times = [0.0, *(t for t in (60.0 + 30.0 * n for n in range(20)) if t < last_s)]
    assert calls.count("agitate") == len(times)
    assert calls.count("ready") == 1
    # Pouring out may begin two seconds before its call, and is then not called any more.
    assert calls.count("drain") <= 1
    assert "over" not in calls
    assert not any(event.kind == "cue_missed" for event in guide.events)


@pytest.mark.parametrize(
    ("setup", "rolls"),
    [
        ("three-rolls", "Developer 6.7, Bleach-fix 6.7, Stabiliser 6.7."),
        ("five-rolls-two-batches", "Developer 10.7, Bleach-fix 10.7, Stabiliser 6.7."),
    ],
)
def test_the_last_steps_say_what_to_write_on_the_bottles(setup: str, rolls: str) -> None:
    """The setups say 4 rolls of each bottle, and 6, 6 and 2; three rolls go through (2.7), and five (4.7)."""
    guide = guide_for(shipped_plan(setup))
    walker = Walker(guide)
    while guide.view.title != "Bottles away":
        assert not any(fact.startswith("For the labels") for fact in guide.view.facts)
        assert walker.step()
    (said,) = (fact for fact in guide.view.facts if fact.startswith("For the labels"))
    assert said == f"For the labels, rolls of 135-36 so far: {rolls}"
