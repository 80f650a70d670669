"""The temperature drop of the developer in the tank: where it is shown, and how it moves the end."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_plan, shipped_setups

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.steps import Habits
from wetside.domain.session.developer import FoundEnd, end_by_readings, pours
from wetside.domain.session.events import EndMoved, ReadingTaken
from wetside.domain.session.state import State, StepClock
from wetside.present.developer_words import end_words
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import plan_lines
from wetside.present.presenter import build_view


@pytest.fixture(scope="module")
def five() -> Plan:
    return shipped_plan("five-rolls-two-batches")


def test_each_fill_has_its_own_temperature_drop_at_the_pour(five: Plan) -> None:
    """Four rolls and one: the small fill has less heat to give."""
    large, small = pours(five)
    assert large.volume_ml > 3 * small.volume_ml
    assert small.drop_c > 2.5 * large.drop_c
    assert small.dry_drop_c > small.drop_c > 0.5
    text = " ".join(" ".join(plan_lines(five, 80, False, None)).split())
    assert "At the pour it drops about 0.2 °C in the rinsed tank (in a dry one 1.0 °C)" in text
    assert "0.6 °C in the rinsed tank (in a dry one 3.0 °C)" in text


def test_the_plan_asks_for_no_bottle_above_its_range(five: Plan) -> None:
    text = " ".join(" ".join(plan_lines(five, 80, False, None)).split())
    assert "The bottle cannot make up for it: keep it at 37.8 to 39.0 °C, and the guide reckons its time" in text
    assert "39.6 °C" not in text
    found = plan_json(five)["pours"]
    assert [pour["batch"] for pour in found] == [1, 2]
    assert [pour["bottle_c"] for pour in found] == [None, None]


@pytest.mark.parametrize("setup", sorted(path.stem for path in shipped_setups()))
def test_the_bottle_advised_for_a_pour_lies_within_its_range(setup: str) -> None:
    """One advice: what the pour asks of a bottle lies within what the warming asks of it."""
    plan = shipped_plan(setup)
    for pour in pours(plan):
        range_c = plan.step(pour.step).range_c
        assert range_c is not None
        assert pour.bottle_c is None or range_c[0] <= pour.bottle_c <= range_c[1]


def test_the_drop_at_the_pour_is_shown_at_the_step_that_warms_the_bottles(five: Plan) -> None:
    """Loading beside the warming or after it: each fill's own drop, where its developer is brought into range."""
    plans = (five, shipped_plan("five-rolls-two-batches", loading="after warming"))
    for plan, waits in zip(plans, (("b1.warm-again", "b2.warm-again"), ("temper", "b2.warm-again")), strict=True):
        for wait, drop in zip(waits, ("0.2", "0.6"), strict=True):
            facts = build_view(State(plan=plan, current=wait, wall="2031-03-01T18:00:00Z"), 0.0).facts
            assert any(fact.startswith(f"Developer: At the pour it drops about {drop} °C") for fact in facts)


def test_without_a_rinse_the_tank_is_as_cold_as_the_room() -> None:
    plan = shipped_plan("three-bath-two-rolls")
    (pour,) = pours(plan)
    assert pour.drop_c == pour.dry_drop_c > 1.0
    assert "warm the closed tank first" in " ".join(" ".join(plan_lines(plan, 80, False, None)).split())


def moved(step: PlannedStep, found: FoundEnd) -> EndMoved:
    """The event of this end of a developer of 3:30."""
    return EndMoved(0.0, step.id, 210.0, found.end_s, found.uncertainty_s, by=found.by)


def test_at_the_start_the_drop_into_the_tank_is_shown_and_needs_no_confirmation(five: Plan) -> None:
    """A small fill into a tank that was not rinsed: the move is large and is the tank's doing."""
    step = replace(five.step("b2.developer"), volume_ml=250.0)
    plan = replace(five, steps=tuple(step if each.id == step.id else each for each in five.steps))
    clock = StepClock(100.0, 100.0, 210.0)
    reading = ReadingTaken(60.0, "temper", "developer", 38.9, "")
    state = State(plan=plan, current=step.id, clocks={step.id: clock}, readings=(reading,), at=100.0)
    found = end_by_readings(state, replace(step, factor=1.0), clock)
    assert found is not None
    assert found.end_s > 270.0
    assert not found.ask_first
    assert end_words(plan, moved(step, found)).startswith(
        "Read 38.9 °C in the bottle, and the tank takes about 3.4 °C: the developer runs"
    )


def test_a_reading_in_the_tank_is_worded_with_its_moment(five: Plan) -> None:
    step = five.step("b1.developer")
    clock = StepClock(100.0, 100.0, 210.0)
    reading = ReadingTaken(190.0, step.id, "developer", 37.9, "")
    state = State(plan=five, current=step.id, clocks={step.id: clock}, readings=(reading,), at=190.0)
    found = end_by_readings(state, step, clock)
    assert found is not None
    assert not found.by.passed
    assert end_words(five, moved(step, found)).startswith(
        "Read 37.9 °C at 1:30: the developer runs cooler than the clock had assumed, so the end moves from 3:30 to"
    )
    late = StepClock(-100.0, -100.0, 210.0)
    passed = end_by_readings(replace(state, clocks={step.id: late}), replace(step, factor=0.8), late)
    assert passed is not None
    assert end_words(five, moved(step, passed)).endswith("That moment has passed: drain now.")


def test_in_fahrenheit_the_drop_is_converted_as_a_difference() -> None:
    plan = shipped_plan("five-rolls-two-batches", Habits(unit="°F", volume_unit="US fl oz"))
    text = " ".join(" ".join(plan_lines(plan, 80, False, None)).split())
    small = pours(plan)[1]
    drop, dry = (f"{c * 1.8:.1f} °F" for c in (small.drop_c, small.dry_drop_c))
    assert f"drops about {drop} in the rinsed tank (in a dry one {dry})" in text
