"""The dark at the desk: lost drives and full disks light nothing too soon, and leave nobody without a way on."""

from __future__ import annotations

from tests.session.walker import Bench, Walker, bench_for, shipped_plan

from wetside.domain.session import events as e
from wetside.errors import Unusable
from wetside.present.key_legend import Keys


def dark(bench: Bench) -> bool:
    return bench.desk.dark


def in_the_dark() -> Bench:
    """A session in its dark step, driven here."""
    bench = bench_for(shipped_plan("three-rolls"))
    walker = Walker(bench)
    while not dark(bench):
        assert walker.step()
    bench.wait(15.0)
    return bench


def test_a_drive_lost_in_the_dark_leaves_the_dark_dark_until_the_leave_pair() -> None:
    bench = in_the_dark()
    bench.keeper.mine = False
    bench.wait(3.0)
    assert bench.desk.read_only
    assert dark(bench), "film may be open beside this screen"
    assert bench.desk.keys() == Keys("", "", "")
    bench.press("backspace", "q", "enter")
    assert dark(bench)
    bench.press("space", "enter")
    assert not dark(bench), "lit by the person's own word"
    assert "Another terminal has taken this session over" in bench.desk.hand.message
    assert bench.desk.press("backspace") == "leave"


def test_a_drive_lost_in_the_dark_is_lit_by_the_leave_pair_of_the_other_terminal() -> None:
    bench = in_the_dark()
    step = bench.desk.state.current
    assert step is not None
    bench.keeper.mine = False
    bench.wait(1.0)
    plan = bench.desk.state.plan
    assert plan is not None
    after = plan.steps[plan.number(step) + 1].id
    bench.keeper.others = [e.StepEnded(bench.desk.now(), step), e.StepOpened(bench.desk.now(), after)]
    bench.wait(1.0)
    assert not dark(bench)
    assert bench.desk.view().step == after


def test_a_leave_pair_that_cannot_be_kept_lights_the_screen_and_says_why() -> None:
    bench = in_the_dark()
    bench.keeper.failure = Unusable("The disk is full.")
    bench.press("space", "enter")
    assert not dark(bench), "the person has said that the lid is on"
    assert bench.desk.trouble == "NOT KEPT: The disk is full."
    assert bench.desk.view().act.startswith("Film is being loaded in the dark."), "no word of pressing ENTER again"
    assert bench.desk.keys().space == "the lid is on and locked"
    bench.press("space")
    assert bench.desk.keys().enter == "tries again to keep it"
    bench.keeper.failure = None
    bench.press("enter")
    assert bench.desk.trouble == ""
    assert not bench.desk.view().dark
    assert bench.desk.press("backspace") is None, "the menu again, and no way out"


def test_a_dark_step_that_cannot_be_kept_can_be_left() -> None:
    bench = in_the_dark()
    bench.keeper.failure = Unusable("The disk is full.")
    bench.press("space", "enter")
    assert bench.desk.press("backspace") == "leave"
