"""A wash calls each change of its water, and says how much warm water it takes and where that is kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.checking import check_profile
from tests.session.walker import guide_for
from tests.shipped import plan_for, read_shipped, shipped_plan, shipped_profile, shipped_setups

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.cues import schedule
from wetside.domain.session.state import State, StepClock
from wetside.files.profile_places import profiles_by_name
from wetside.files.setup_file import read_setup
from wetside.present.announcements import announced
from wetside.present.plan_text import plan_lines
from wetside.present.presenter import build_view, next_tick

WALL = "2031-03-01T18:00:00Z"


def running(plan: Plan, step: PlannedStep, **more: object) -> State:
    made = {tick.id: 1.0 for each in plan.steps[: plan.number(step.id)] for tick in each.ticks}
    made |= {tick.id: 1.0 for tick in step.ticks if tick.due_at == "start"}
    clocks = {step.id: StepClock(0.0, 0.0, step.planned_s)}
    return State(plan=plan, current=step.id, wall=WALL, clocks=clocks, ticks=made, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_the_calls_of_a_wash_follow_the_interval_in_its_instruction(path: Path) -> None:
    washes = [step for step in read_shipped(path).steps if step.kind is Kind.WASH]
    assert any("every half minute" in step.instruction for step in washes)
    for step in washes:
        assert (step.water_every_s == 30.0) is ("every half minute" in step.instruction), step.id


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_each_change_of_water_is_called_at_its_moment_and_the_end_after_the_last(path: Path) -> None:
    setup = read_setup(path)
    plan = plan_for(setup)
    washes = [step for step in plan.steps if step.water_every_s]
    assert washes
    for step in washes:
        assert step.planned_s is not None
        calls = schedule(running(plan, step), step)
        changes = [cue for cue in calls if cue.call == "change"]
        fills = len(changes) + 1
        assert [cue.at for cue in changes] == [30.0 * n for n in range(1, fills)]
        assert 30.0 * (fills - 1) < step.planned_s <= 30.0 * fills
        assert announced(changes[-1]).text == f"Pour the water away and fill again: water {fills} of {fills}."
        assert calls[-1].call == "ready"
        assert calls[-1].at == step.planned_s


def test_changes_of_water_are_counted_and_after_an_answer_space_confirms_items_again() -> None:
    plan = shipped_plan("three-rolls")
    step = plan.step("b1.wash")
    state = running(plan, step)
    assert build_view(state, 29.0).act.startswith("Water 1 of 6. Fill the tank")
    assert build_view(state, 31.0).act.startswith("Water 2 of 6. ")
    assert build_view(state, 400.0).act.startswith("Water 6 of 6. ")
    assert next_tick(state, step, 32.0) is None
    heard = replace(state, answered=frozenset({(step.id, "change", 31.0)}))
    assert next_tick(heard, step, 32.0) in step.ticks
    assert next_tick(heard, step, 61.0) is None


def test_answering_a_change_of_water_does_not_count_as_the_first_key_of_a_gate() -> None:
    guide = guide_for(shipped_plan("three-rolls")).running("b1.wash")
    clock = guide.state.clocks["b1.wash"]
    guide.wait(clock.t0 + 31.0 - guide.now)
    assert guide.keys.space == "answers the call"
    guide.press("space")
    assert guide.message == "Heard."
    assert not guide.controller.key_state.moved


def test_the_warm_water_that_a_wash_needs_is_shown_before_it_and_at_it() -> None:
    plan = shipped_plan("three-rolls")
    words = (
        "Wash in the open tank: 6 fills of 850 ml, 5.1 l of water at 35.0 to 40.5 °C in all. "
        "Keep it warm in jugs that stand in the bucket that warmed the bottles."
    )
    for id_ in ("b1.bleach-fix", "b1.wash"):
        assert words in build_view(running(plan, plan.step(id_)), 5.0).facts
    assert not any("fills of" in fact for fact in build_view(running(plan, plan.step("b1.developer")), 5.0).facts)
    text = " ".join(" ".join(plan_lines(plan, 100, False, None)).split())
    assert "Warm water for the washes" in text
    assert "6 fills of 850 ml" in text


def test_each_fill_has_its_own_water_in_the_plan() -> None:
    text = " ".join(" ".join(plan_lines(shipped_plan("five-rolls-two-batches"), 100, False, None)).split())
    assert "Batch 1: Wash in the open tank: 6 fills" in text
    assert "Batch 2: Wash in the open tank: 6 fills" in text


def test_check_refuses_changes_of_water_where_none_can_be_called() -> None:
    profile = shipped_profile("two-bath")
    steps = tuple(replace(s, water_every_s=30.0) if s.id == "prewet" else s for s in profile.steps)
    found = check_profile(replace(profile, steps=steps))
    assert any('Step "prewet"' in each and "leave water_every out" in each for each in found)
