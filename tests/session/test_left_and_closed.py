"""The end of an evening: the safe way out, the closed screen, and the wait between two baths."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.session.guides import in_bath
from tests.session.small_evening import changed, small_plan
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.session import commands as c
from wetside.domain.session.cues import APART_S, all_cues
from wetside.domain.session.state import LONGEST_CHANGE_S
from wetside.export.session_log import session_log
from wetside.plain.wording import PlainSnapshot, step_lines
from wetside.present.prompts import Choice


def led_to(title: str, setup: str = "three-rolls") -> Guide:
    guide = guide_for(shipped_plan(setup))
    return guide.until(lambda: guide.view.title == title)


def test_between_two_baths_the_way_out_is_that_of_the_bath_before() -> None:
    guide = led_to("Bleach-fix")
    developer = next(step for step in guide.state.plan.steps if step.title == "Developer")
    bleach_fix = next(step for step in guide.state.plan.steps if step.title == "Bleach-fix")
    guide.press("w")
    panel = guide.panel
    assert isinstance(panel, Choice)
    assert panel.lines == (developer.safe_way_out,), "there is nothing in the tank to be left in it"
    assert guide.view.safe_way_out == developer.safe_way_out
    guide.press("backspace")
    while bleach_fix.id not in guide.state.clocks:
        Walker(guide).step()
    assert guide.view.safe_way_out == bleach_fix.safe_way_out


def test_an_abandoned_session_still_says_what_the_film_needs() -> None:
    guide = in_bath("b1.fix")
    assert guide.dispatch(c.Abandon(guide.now, "tired"))
    view = guide.view
    assert view.act == "Outcome: abandoned. Way out of bleach-fix."


def test_the_closed_screen_says_where_numbers_are_once_film_was_developed() -> None:
    for guide, said in ((in_bath("b1.dev"), True), (guide_for(small_plan()), False)):
        assert guide.dispatch(c.Abandon(guide.now, "tired"))
        assert any("wetside rolls" in fact for fact in guide.view.facts) is said


def test_a_note_on_the_closed_screen_is_labelled_as_a_note() -> None:
    guide = in_bath("b1.fix")
    assert guide.dispatch(c.AddNote(guide.now, "hi"))
    assert guide.dispatch(c.Abandon(guide.now, "tired"))
    assert guide.view.facts[2:] == ("Note: hi",)


def test_a_stage_begun_is_shown_as_done_in_part_and_one_without_steps_is_not_shown() -> None:
    guide = in_bath("b1.fix")
    assert guide.dispatch(c.Abandon(guide.now, "tired"))
    assert [row.mark for row in guide.view.rail] == ["in part"]


def test_a_stage_whose_film_still_hangs_is_shown_as_running() -> None:
    guide = led_to("Bottles away")
    marks = {row.text: row.mark for row in guide.view.rail}
    assert marks["Dry"] == "running"


@pytest.mark.parametrize(("waits_s", "told"), [(LONGEST_CHANGE_S - 5.0, False), (28 * 60.0, True)])
def test_a_developer_left_waiting_in_the_film_is_a_deviation(waits_s: float, told: bool) -> None:
    guide = led_to("Bleach-fix")
    plan = guide.state.plan
    developer = next(step for step in plan.steps if step.title == "Developer")
    fix = next(step for step in plan.steps if step.title == "Bleach-fix")
    drained_at = guide.state.clocks[developer.id].drained_at
    assert drained_at is not None
    guide.wait(drained_at + waits_s - guide.now - 1.0)
    for tick in guide.view.ticks:
        if not tick.made:
            guide.dispatch(c.MakeTick(guide.now, tick.id))
    assert guide.dispatch(c.StartStep(guide.now, fix.id, 0.0)), guide.message
    assert guide.state.deviations == int(told)
    log = session_log(guide.events)
    assert [row.what for row in log.deviations] == ["wait"] * int(told)
    if told:
        assert log.deviations[0].text == "in 27:59 after the bath before it was poured out"


def test_the_loading_step_names_its_rolls_and_those_that_stay_out() -> None:
    guide = guide_for(shipped_plan("five-rolls-two-batches"))
    plan, walker = guide.state.plan, Walker(guide)
    assert plan.batches[0].rolls != plan.batches[1].rolls
    beside_the_act, facts = set(), set()
    while not guide.view.closed:
        view = guide.view
        beside_the_act |= {view.fill} - {""}
        facts |= {fact for fact in view.facts if fact.startswith(("This fill", "In their cans"))}
        if view.fill:
            assert view.fill in step_lines(PlainSnapshot(view, guide.keys))
        assert walker.step()
    labels = [[plan.setup.rolls[roll].label for roll in batch.rolls] for batch in plan.batches]
    for said in (beside_the_act, {fact for fact in facts if fact.startswith("This fill")}):
        assert len(said) == 2
        assert all(any(all(label in words for label in batch) for words in said) for batch in labels)
    (cans,) = (fact for fact in facts if fact.startswith("In their cans"))
    assert all(label in cans for label in labels[1])
    assert not any(label in cans for label in labels[0])


def test_confirming_an_item_early_ends_no_bath_that_still_needs_its_time() -> None:
    """A process may let something be confirmed at a step that joins a bath, before that bath has had its time."""
    plan = shipped_plan("three-rolls")
    (joining, *_) = (
        step for step in plan.steps if step.joins is not None and step.ticks and step.joins != "drying"
    )
    first, *rest = joining.ticks
    early = replace(joining, ticks=(replace(first, due_at="start"), *rest))
    guide = guide_for(
        replace(plan, steps=tuple(early if step.id == joining.id else step for step in plan.steps))
    ).at_step(joining.id, eager=False)
    assert joining.joins is not None
    left = guide.state.clocks[joining.joins].remaining(guide.now)
    assert left is not None
    assert left > 5.0
    assert guide.dispatch(c.MakeTick(guide.now, first.id)), guide.message
    assert joining.joins not in guide.state.ended
    guide.wait(left + 1.0)
    for tick in rest:
        assert guide.dispatch(c.MakeTick(guide.now, tick.id)), guide.message
    assert joining.joins in guide.state.ended


def test_the_calls_to_pour_out_and_that_time_is_over_are_never_at_one_moment() -> None:
    """Where draining does not count, or takes no time, the call to pour out comes at the end itself."""
    guide = guide_for(changed(small_plan(), "b1.dev", draining_counts=False)).running("b1.dev")
    calls = {cue.call: cue.at for cue in all_cues(guide.state) if cue.step == "b1.dev"}
    clock = guide.state.clocks["b1.dev"]
    assert clock.end_s is not None
    assert calls["drain"] == pytest.approx(clock.t0 + clock.end_s)
    assert calls["over"] - calls["drain"] == pytest.approx(APART_S)
