"""Dark steps: a lost lock or a full disk neither lights the screen too soon nor blocks the keys."""

from __future__ import annotations

from tests.session.walker import Guide, guide_for
from tests.shipped import shipped_plan

from wetside.domain.session import events as e
from wetside.errors import Unusable
from wetside.present.prompts import Keys


def dark(guide: Guide) -> bool:
    return guide.controller.dark


def in_the_dark() -> Guide:
    """A session in its dark step, whose lock this process holds."""
    guide = guide_for(shipped_plan("three-rolls"))
    guide.until(lambda: guide.controller.dark)
    guide.wait(15.0)
    return guide


def test_takeover_in_the_dark_keeps_the_screen_dark_until_the_leave_pair() -> None:
    guide = in_the_dark()
    guide.event_sink.mine = False
    guide.wait(3.0)
    assert guide.controller.read_only
    assert dark(guide), "film may be open beside this screen"
    assert guide.keys == Keys("", "", "")
    guide.press("backspace", "q", "enter")
    assert dark(guide)
    guide.press("space", "enter")
    assert not dark(guide), "lit by the person's own word"
    assert "Another terminal has taken this session over" in guide.message
    assert guide.controller.press("backspace") == "leave"


def test_after_a_takeover_in_the_dark_the_leave_pair_on_the_other_terminal_lights_the_screen() -> None:
    guide = in_the_dark()
    step = guide.state.current
    assert step is not None
    guide.event_sink.mine = False
    guide.wait(1.0)
    plan = guide.state.plan
    assert plan is not None
    after = plan.steps[plan.number(step) + 1].id
    guide.event_sink.others = [
        e.StepEnded(guide.now, step),
        e.StepOpened(guide.now, after),
    ]
    guide.wait(1.0)
    assert not dark(guide)
    assert guide.view.step == after


def test_a_leave_pair_that_cannot_be_stored_lights_the_screen_and_says_why() -> None:
    guide = in_the_dark()
    guide.event_sink.failure = Unusable("The disk is full.")
    guide.press("space", "enter")
    assert not dark(guide), "the person has said that the lid is on"
    assert guide.controller.trouble == "NOT KEPT: The disk is full."
    assert guide.view.act.startswith("Film is being loaded in the dark."), "no word of pressing ENTER again"
    assert guide.keys.space == "the lid is on and locked"
    guide.press("space")
    assert guide.keys.enter == "tries again to keep it"
    guide.event_sink.failure = None
    guide.press("enter")
    assert guide.controller.trouble == ""
    assert not guide.view.dark
    assert guide.controller.press("backspace") is None, "the menu again, and no way out"


def test_a_dark_step_whose_events_cannot_be_stored_can_be_left() -> None:
    guide = in_the_dark()
    guide.event_sink.failure = Unusable("The disk is full.")
    guide.press("space", "enter")
    assert guide.controller.press("backspace") == "leave"
