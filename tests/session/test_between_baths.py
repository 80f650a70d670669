"""What is said between a pour and the next: where a bath goes, how long the film has waited, what ENTER starts."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.session.walker import Walker, guide_for
from tests.shipped import plan_for, shipped_plan, shipped_setups
from tests.tui.seen import plain_rows

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Place
from wetside.domain.profile.model import Kind
from wetside.domain.session.cues import schedule
from wetside.domain.session.events import ClockStarted, DrainBegan
from wetside.domain.session.state import State, StepClock
from wetside.files.setup_file import read_setup
from wetside.plain.wording import PlainSnapshot, step_lines
from wetside.present.announcements import announced
from wetside.present.key_handler import keys
from wetside.present.key_state import KeyState
from wetside.present.message_words import in_words
from wetside.present.presenter import build_view, next_tick
from wetside.present.prompts import Keys
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture
from wetside.tui.rows import TextLayout

WALL = "2031-03-01T18:00:00Z"


def draining(plan: Plan, step: PlannedStep) -> State:
    return State(
        plan=plan, current=step.id, wall=WALL, clocks={step.id: StepClock(0.0, 0.0, 60.0, drained_at=60.0)}
    )


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_the_instruction_to_pour_out_names_where_the_bath_goes(path: Path) -> None:
    plan = shipped_plan(path.stem)
    for step in plan.steps:
        if step.kind is not Kind.BATH or step.background:
            continue
        act = build_view(draining(plan, step), 65.0).act
        assert act.startswith("Pour it away.") == (step.storage == "tap")
        assert act.startswith("Pour it into its waste container.") == (step.storage == "one-shot")
        assert act.startswith("Pour it back into its bottle.") == (step.storage == "bottle")


def before_and_wash(plan: Plan, wash: str) -> tuple[State, str]:
    number = next(n for n, step in enumerate(plan.steps) if step.id == wash)
    before = plan.steps[number - 1]
    clocks = {before.id: StepClock(0.0, 0.0, 360.0, drained_at=355.0)}
    return State(
        plan=plan, current=wash, wall=WALL, clocks=clocks, last_ended=before.id
    ), before.solution_title or ""


@pytest.mark.parametrize("place", ["dark room", "changing bag"])
@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_three_presses_lead_from_pouring_out_to_the_next_clock(path: Path, place: Place) -> None:
    setup = replace(read_setup(path), place=place)
    plan = plan_for(setup)
    guide = guide_for(plan)
    walker = Walker(guide)
    found: list[list[str]] = []
    developers = sum(step.ends == "on time" for step in plan.steps)
    while len(found) < developers and walker.step():
        if not any(isinstance(event, DrainBegan) for event in guide.events[-1:]):
            continue
        if plan.step(guide.view.step).ends != "on time":
            continue
        pressed, events = len(guide.presses) - 1, len(guide.events)
        while not any(isinstance(event, ClockStarted) for event in guide.events[events:]):
            assert walker.step()
        found.append([key for key, _ in guide.presses[pressed:]])
    assert len(found) == developers
    assert all(keys == ["space", "enter", "enter"] for keys in found), found


def test_bouncing_enter_on_the_empty_tank_starts_no_clock() -> None:
    guide = guide_for(shipped_plan("three-rolls"))
    guide.until(lambda: guide.keys.enter == "the tank is empty" and guide.view.title == "Developer")
    guide.press("enter")
    guide.wait(0.4)
    guide.press("enter")
    assert "b1.bleach-fix" not in guide.state.clocks
    assert guide.message == "ENTER again as the bleach-fix goes in."
    guide.wait(1.0)
    assert guide.keys == Keys("", "starts the bleach-fix", "menu")
    guide.press("enter")
    assert "b1.bleach-fix" in guide.state.clocks


def test_the_call_before_pouring_out_says_that_items_are_open() -> None:
    plan = shipped_plan("three-rolls")
    step = next(step for step in plan.steps if step.ends == "on time")
    clocks = {step.id: StepClock(0.0, 0.0, step.planned_s)}
    earlier = {tick.id: 1.0 for each in plan.steps[: plan.number(step.id)] for tick in each.ticks}
    state = State(plan=plan, current=step.id, wall=WALL, clocks=clocks, ticks=earlier)
    (call,) = (cue for cue in schedule(state, step) if cue.call == "ready")
    assert announced(call).text.endswith(", then Bleach-fix. First confirm 2 lines.")
    made = earlier | {tick.id: 1.0 for tick in step.ticks}
    (call,) = (cue for cue in schedule(replace(state, ticks=made), step) if cue.call == "ready")
    assert announced(call).text.endswith(", then Bleach-fix.")


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_items_due_before_the_pour_are_confirmed_on_their_call(path: Path) -> None:
    plan = shipped_plan(path.stem)
    for step in plan.steps:
        lines = [tick for tick in step.ticks if (tick.due_step, tick.due_at) == (step.id, "end")]
        if step.kind is not Kind.BATH or step.ends != "on time" or not lines:
            continue
        earlier = {tick.id: 1.0 for each in plan.steps[: plan.number(step.id)] for tick in each.ticks}
        earlier |= {tick.id: 1.0 for tick in step.ticks if tick.due_at == "start"}
        clocks = {step.id: StepClock(0.0, 0.0, step.planned_s)}
        state = State(plan=plan, current=step.id, wall=WALL, clocks=clocks, ticks=earlier)
        (call,) = (cue for cue in schedule(state, step) if cue.call == "ready")
        after = min(cue.at for cue in schedule(state, step) if cue.at > call.at)
        assert next_tick(state, step, call.at + 1.0) is None  # the first SPACE answers the call
        heard = replace(state, answered=frozenset({(step.id, "ready", call.at + 2.0)}))
        assert next_tick(heard, step, call.at + 2.0) in lines
        assert after - call.at >= 10.0
        made = replace(heard, ticks=earlier | {tick.id: 1.0 for tick in lines})
        assert next_tick(made, step, call.at + 5.0) is None  # none but those it asks for


def test_an_answered_call_is_replaced_by_the_item_it_asks_for() -> None:
    plan = shipped_plan("three-rolls")
    guide = guide_for(plan)
    step = next(step for step in plan.steps if step.ends == "on time")
    guide.running(step.id, eager=False)
    (call,) = (cue for cue in schedule(guide.state, step) if cue.call == "ready")
    guide.wait(call.at + 1.0 - guide.now)
    assert guide.controller.cue_words().endswith("First confirm 2 lines.")
    guide.press("space")
    guide.wait(1.5)
    assert guide.controller.cue_words() == ""
    picture = guide_picture(
        guide.view,
        guide.controller.key_state,
        guide.keys,
        Notices("", guide.message, guide.controller.cue_words(), False, ""),
        TextLayout(True),
        40,
        12,
    )
    assert any("Bleach-fix label read" in row for row in plain_rows(picture))
    assert guide.keys.space == "confirms the marked line"


def test_a_wash_that_stops_a_developer_shows_how_long_the_film_has_waited() -> None:
    state, title = before_and_wash(shipped_plan("reversal-two-rolls"), "b1.first-wash")
    clock = build_view(state, 375.0).clock
    assert title == "First developer"
    assert clock is not None
    assert (clock.seconds, clock.words) == (20, "since the first developer was poured out")


def test_a_wash_after_a_bath_that_may_go_on_shows_its_own_time() -> None:
    state, title = before_and_wash(shipped_plan("reversal-two-rolls"), "b1.wash")
    clock = build_view(state, 375.0).clock
    assert title == "Fixer"
    assert clock is not None
    assert (clock.seconds, clock.words) == (240, "at least, at 38.0 °C")


def test_enter_starts_a_bath_by_its_name_and_water_by_what_it_is_for() -> None:
    plan = shipped_plan("reversal-two-rolls")
    for id_, words in (("b1.prewet", "starts: Prewet"), ("b1.reversal", "starts the reversal bath")):
        step = plan.step(id_)
        made = {tick.id: 0.0 for step in plan.steps for tick in step.ticks}
        state = State(plan=plan, current=step.id, wall=WALL, ticks=made)
        key_state = KeyState(step=step.id, moved=True)
        assert keys(state, key_state, 1.0).enter == words


def test_in_plain_mode_a_reading_without_a_range_accepts_any_value() -> None:
    plan = shipped_plan("reversal-two-rolls")
    view = build_view(State(plan=plan, current="warm-bath", wall=WALL), 0.0)
    lines = step_lines(PlainSnapshot(view, Keys("", "", "")))
    assert "First developer now: not read yet, any value" in lines
    assert not any(line.endswith("wanted") for line in lines)


def test_the_effect_of_the_thermometer_error_is_stated_for_each_time() -> None:
    plan = shipped_plan("five-rolls-two-batches")
    said = [in_words(worry) for worry in plan.warnings if worry.code == "thermometer"]
    assert len(said) == 2
    assert said[0].endswith("s of the 3:37 in the developer.")
    assert said[1].endswith("s of the 4:36 in the developer.")
