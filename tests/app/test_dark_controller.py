"""The controller in dark steps: a lost lock or a full disk neither lights the screen too soon nor blocks keys."""

from __future__ import annotations

from tests.session.walker import Bench, Walker, bench_for, shipped_plan

from wetside.domain.session import events as e
from wetside.errors import Unusable
from wetside.present.prompts import Keys


def dark(bench: Bench) -> bool:
    return bench.controller.dark


def in_the_dark() -> Bench:
    """A session in its dark step, its lock held here."""
    bench = bench_for(shipped_plan("three-rolls"))
    walker = Walker(bench)
    while not dark(bench):
        assert walker.step()
    bench.wait(15.0)
    return bench


def test_a_session_lost_in_the_dark_leaves_the_dark_dark_until_the_leave_pair() -> None:
    bench = in_the_dark()
    bench.event_sink.mine = False
    bench.wait(3.0)
    assert bench.controller.read_only
    assert dark(bench), "film may be open beside this screen"
    assert bench.controller.keys() == Keys("", "", "")
    bench.press("backspace", "q", "enter")
    assert dark(bench)
    bench.press("space", "enter")
    assert not dark(bench), "lit by the person's own word"
    assert "Another terminal has taken this session over" in bench.controller.key_state.message
    assert bench.controller.press("backspace") == "leave"


def test_a_session_lost_in_the_dark_is_lit_by_the_leave_pair_of_the_other_terminal() -> None:
    bench = in_the_dark()
    step = bench.controller.state.current
    assert step is not None
    bench.event_sink.mine = False
    bench.wait(1.0)
    plan = bench.controller.state.plan
    assert plan is not None
    after = plan.steps[plan.number(step) + 1].id
    bench.event_sink.others = [
        e.StepEnded(bench.controller.now(), step),
        e.StepOpened(bench.controller.now(), after),
    ]
    bench.wait(1.0)
    assert not dark(bench)
    assert bench.controller.view().step == after


def test_a_leave_pair_that_cannot_be_kept_lights_the_screen_and_says_why() -> None:
    bench = in_the_dark()
    bench.event_sink.failure = Unusable("The disk is full.")
    bench.press("space", "enter")
    assert not dark(bench), "the person has said that the lid is on"
    assert bench.controller.trouble == "NOT KEPT: The disk is full."
    assert bench.controller.view().act.startswith("Film is being loaded in the dark."), (
        "no word of pressing ENTER again"
    )
    assert bench.controller.keys().space == "the lid is on and locked"
    bench.press("space")
    assert bench.controller.keys().enter == "tries again to keep it"
    bench.event_sink.failure = None
    bench.press("enter")
    assert bench.controller.trouble == ""
    assert not bench.controller.view().dark
    assert bench.controller.press("backspace") is None, "the menu again, and no way out"


def test_a_dark_step_that_cannot_be_kept_can_be_left() -> None:
    bench = in_the_dark()
    bench.event_sink.failure = Unusable("The disk is full.")
    bench.press("space", "enter")
    assert bench.controller.press("backspace") == "leave"
