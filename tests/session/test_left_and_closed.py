"""Where an evening is left: the safe way out, the closed screen, and the wait between two baths."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.session.bathside import in_bath
from tests.session.small_evening import changed, small_plan
from tests.session.walker import Bench, Walker, bench_for, shipped_plan

from wetside.domain.planning.plan import Plan
from wetside.domain.session import commands as c
from wetside.domain.session.cues import APART_S, all_cues
from wetside.domain.session.state import LONGEST_CHANGE_S
from wetside.export.session_log import session_log
from wetside.plain.wording import PlainSnapshot, step_lines
from wetside.present.prompts import Choice


def led_to(title: str, setup: str = "three-rolls") -> Bench:
    bench = bench_for(shipped_plan(setup))
    walker = Walker(bench)
    while bench.controller.view().title != title:
        assert walker.step()
    return bench


def plan_of(bench: Bench) -> Plan:
    plan = bench.controller.state.plan
    assert plan is not None
    return plan


def test_between_two_baths_the_way_out_is_that_of_the_bath_that_is_in_the_film() -> None:
    bench = led_to("Bleach-fix")
    developer = next(step for step in plan_of(bench).steps if step.title == "Developer")
    bleach_fix = next(step for step in plan_of(bench).steps if step.title == "Bleach-fix")
    bench.press("w")
    panel = bench.controller.key_state.panel
    assert isinstance(panel, Choice)
    assert panel.lines == (developer.safe_way_out,), "there is nothing in the tank to be left in it"
    assert bench.controller.view().safe_way_out == developer.safe_way_out
    bench.press("backspace")
    while bleach_fix.id not in bench.controller.state.clocks:
        Walker(bench).step()
    assert bench.controller.view().safe_way_out == bleach_fix.safe_way_out


def test_an_abandoned_evening_goes_on_saying_what_the_film_needs() -> None:
    bench = in_bath("b1.fix")
    assert bench.controller.dispatch(c.Abandon(bench.controller.now(), "tired"))
    view = bench.controller.view()
    assert view.act == "Outcome: abandoned. Way out of bleach-fix."


def test_the_closed_screen_says_where_numbers_are_once_film_was_developed() -> None:
    for bench, said in ((in_bath("b1.dev"), True), (bench_for(small_plan()), False)):
        assert bench.controller.dispatch(c.Abandon(bench.controller.now(), "tired"))
        assert any("wetside rolls" in fact for fact in bench.controller.view().facts) is said


def test_a_note_on_the_closed_screen_is_called_one() -> None:
    bench = in_bath("b1.fix")
    assert bench.controller.dispatch(c.AddNote(bench.controller.now(), "hi"))
    assert bench.controller.dispatch(c.Abandon(bench.controller.now(), "tired"))
    assert bench.controller.view().facts[2:] == ("Note: hi",)


def test_a_stage_of_which_something_was_done_is_done_in_part_and_one_without_steps_is_not_shown() -> None:
    bench = in_bath("b1.fix")
    assert bench.controller.dispatch(c.Abandon(bench.controller.now(), "tired"))
    assert [row.mark for row in bench.controller.view().rail] == ["in part"]


def test_a_stage_whose_film_still_hangs_runs() -> None:
    bench = led_to("Bottles away")
    marks = {row.text: row.mark for row in bench.controller.view().rail}
    assert marks["Dry"] == "running"


@pytest.mark.parametrize(("waits_s", "told"), [(LONGEST_CHANGE_S - 5.0, False), (28 * 60.0, True)])
def test_a_developer_left_waiting_in_the_film_is_a_deviation(waits_s: float, told: bool) -> None:
    bench = led_to("Bleach-fix")
    plan = plan_of(bench)
    developer = next(step for step in plan.steps if step.title == "Developer")
    fix = next(step for step in plan.steps if step.title == "Bleach-fix")
    drained_at = bench.controller.state.clocks[developer.id].drained_at
    assert drained_at is not None
    bench.wait(drained_at + waits_s - bench.controller.now() - 1.0)
    for tick in bench.controller.view().ticks:
        if not tick.made:
            bench.controller.dispatch(c.MakeTick(bench.controller.now(), tick.id))
    assert bench.controller.dispatch(c.StartStep(bench.controller.now(), fix.id, 0.0)), (
        bench.controller.key_state.message
    )
    assert bench.controller.state.deviations == int(told)
    log = session_log(bench.event_sink.events)
    assert [row.what for row in log.deviations] == ["wait"] * int(told)
    if told:
        assert log.deviations[0].text == "in 27:59 after the bath before it was poured out"


def test_where_film_is_loaded_its_rolls_are_named_and_so_are_those_that_stay() -> None:
    bench = bench_for(shipped_plan("five-rolls-two-batches"))
    plan, walker = plan_of(bench), Walker(bench)
    assert plan.batches[0].rolls != plan.batches[1].rolls
    beside_the_act, facts = set(), set()
    while not bench.controller.view().closed:
        view = bench.controller.view()
        beside_the_act |= {view.fill} - {""}
        facts |= {fact for fact in view.facts if fact.startswith(("This fill", "In their cans"))}
        if view.fill:
            assert view.fill in step_lines(PlainSnapshot(view, bench.controller.keys()))
        assert walker.step()
    labels = [[plan.setup.rolls[roll].label for roll in batch.rolls] for batch in plan.batches]
    for said in (beside_the_act, {fact for fact in facts if fact.startswith("This fill")}):
        assert len(said) == 2
        assert all(any(all(label in words for label in batch) for words in said) for batch in labels)
    (cans,) = (fact for fact in facts if fact.startswith("In their cans"))
    assert all(label in cans for label in labels[1])
    assert not any(label in cans for label in labels[0])


def test_a_statement_made_too_soon_ends_no_bath_that_still_needs_its_time() -> None:
    """A process may let something be confirmed at a step that joins a bath, before that bath has had its time."""
    plan = shipped_plan("three-rolls")
    (joining, *_) = (
        step for step in plan.steps if step.joins is not None and step.ticks and step.joins != "drying"
    )
    first, *rest = joining.ticks
    early = replace(joining, ticks=(replace(first, due_at="start"), *rest))
    bench = bench_for(replace(plan, steps=tuple(early if step.id == joining.id else step for step in plan.steps)))
    walker = Walker(bench, eager=False)
    while bench.controller.state.current != joining.id:
        assert walker.step()
    assert joining.joins is not None
    left = bench.controller.state.clocks[joining.joins].remaining(bench.controller.now())
    assert left is not None
    assert left > 5.0
    assert bench.controller.dispatch(c.MakeTick(bench.controller.now(), first.id)), (
        bench.controller.key_state.message
    )
    assert joining.joins not in bench.controller.state.ended
    bench.wait(left + 1.0)
    for tick in rest:
        assert bench.controller.dispatch(c.MakeTick(bench.controller.now(), tick.id)), (
            bench.controller.key_state.message
        )
    assert joining.joins in bench.controller.state.ended


def test_the_call_to_pour_and_the_call_that_it_is_over_are_never_one() -> None:
    """Where draining does not count, or takes no time, the call to pour out comes at the end itself."""
    bench = bench_for(changed(small_plan(), "b1.dev", draining_counts=False))
    walker = Walker(bench)
    while "b1.dev" not in bench.controller.state.clocks:
        assert walker.step()
    calls = {cue.call: cue.at for cue in all_cues(bench.controller.state) if cue.step == "b1.dev"}
    clock = bench.controller.state.clocks["b1.dev"]
    assert clock.end_s is not None
    assert calls["drain"] == pytest.approx(clock.t0 + clock.end_s)
    assert calls["over"] - calls["drain"] == pytest.approx(APART_S)
