"""Calls: when each is made, and that a slow disk, a key or a sleep neither loses nor doubles one."""

from __future__ import annotations

import pytest
from tests.session.guides import digits, in_bath, remaining
from tests.session.small_evening import small_plan
from tests.session.walker import Guide

from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.cues import all_cues, ready_ahead_s
from wetside.errors import Unusable
from wetside.present.announcements import announced


def test_call_words_disappear_with_their_act() -> None:
    guide = in_bath(for_s=89.0)
    guide.wait(2.0)
    assert guide.controller.cue_words() == "Turn it over."
    assert "Until" in guide.view.act
    guide.wait(10.0)
    assert "stand until" in guide.view.act
    assert guide.controller.cue_words() == ""
    guide.wait(remaining(guide) - 10.0)
    assert guide.controller.cue_words() == "Pour the developer out now."
    guide.wait(1.0)
    guide.press("space")
    assert guide.controller.cue_words() == ""


def test_the_ready_call_is_spoken_with_its_seconds_and_shown_without_them() -> None:
    guide = in_bath(for_s=1.0)
    end_s = guide.state.clocks["b1.dev"].end_s
    assert end_s is not None
    guide.wait(remaining(guide) - ready_ahead_s(small_plan().step("b1.dev"), end_s) + 0.5)
    assert guide.controller.cue_words() == "Get ready to pour the developer out, then Bleach-fix."
    assert guide.view.act == "Get ready to pour the developer out."
    (ready,) = (cue for cue in all_cues(guide.state) if cue.call == "ready")
    assert announced(ready).spoken == "Get ready to pour the developer out, then Bleach-fix. In 26 s."
    assert digits(guide) == "0:26"


def test_a_correction_leaves_no_call_that_contradicts_the_instruction() -> None:
    guide = in_bath(for_s=55.0)
    guide.wait(6.0)
    assert guide.controller.cue_words() == "Turn it over."
    assert guide.dispatch(c.CorrectClock(guide.now, "b1.dev", 15.0))
    assert "stand until" in guide.view.act
    assert guide.controller.cue_words() == ""


def test_a_correction_into_the_middle_of_an_agitation_calls_for_it_at_once() -> None:
    guide = in_bath(for_s=55.0)
    guide.cues.clear()
    assert guide.dispatch(c.CorrectClock(guide.now, "b1.dev", 9.0))
    guide.wait(1.0)
    assert guide.cues == ["agitate"]
    assert guide.view.act.startswith("Until ")
    assert guide.controller.cue_words() == "Turn it over."
    guide.wait(10.0)
    assert guide.cues == ["agitate"]


def test_over_call_repeats_until_the_bath_is_poured_out() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) + 35.0)
    assert guide.cues.count("over") == 4
    assert guide.cues.count("drain") == 1
    assert [call for _, call, _ in guide.state.given].count("over") == 1
    guide.press("space")
    guide.cues.clear()
    guide.wait(60.0)
    assert guide.cues == []
    assert guide.state.clocks["b1.dev"].drained_at is not None


def test_over_call_can_be_silenced_from_the_menu() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) + 5.0)
    guide.press("s", "enter")
    guide.cues.clear()
    guide.wait(60.0)
    assert guide.cues == []
    assert guide.keys.space == "pouring out now"


def test_correction_past_the_pour_call_makes_it_at_once() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) - 25.0)
    guide.cues.clear()
    guide.dispatch(c.CorrectClock(guide.now, "b1.dev", 20.0))
    guide.wait(1.0)
    assert guide.cues == ["drain"]
    guide.wait(3.0)
    assert guide.cues == ["drain"]


def test_calls_ring_when_nothing_can_be_saved() -> None:
    guide = in_bath()
    guide.event_sink.failure = Unusable("The disk is full.")
    kept = len(guide.events)
    guide.wait(remaining(guide) - 5.0)
    assert guide.cues.count("drain") == 1
    assert guide.controller.trouble == "NOT KEPT: The disk is full."
    assert len(guide.events) == kept
    before = guide.state
    guide.press("space")
    assert guide.state == before
    assert guide.message == "NOT KEPT: The disk is full."
    left = remaining(guide)
    guide.wait(3.0)
    assert remaining(guide) == pytest.approx(left - 3.0)
    guide.event_sink.failure = None
    guide.press("space")
    assert guide.controller.trouble == ""
    assert guide.state.clocks["b1.dev"].drained_at is not None


def test_wait_ends_at_the_next_shown_second_or_call() -> None:
    guide = in_bath(for_s=60.3)
    for _ in range(5):
        shown = digits(guide)
        wait_s = guide.controller.wait_s()
        assert 0.0 < wait_s <= 1.0
        guide.clock.advance(wait_s - 0.004)
        assert digits(guide) == shown
        guide.clock.advance(0.008)
        assert digits(guide) != shown
    guide.wait(remaining(guide) - 10.25, poll_s=0.1)
    assert guide.controller.wait_s() == pytest.approx(0.2, abs=0.01), "to write the call to pour out down"


def before_the_call_to_pour() -> Guide:
    """A bath 40 ms before its call to pour out, which the last poll has recorded."""
    guide = in_bath()
    guide.wait(remaining(guide) - 10.25, poll_s=0.1)
    guide.cues.clear()
    guide.wait(0.21, poll_s=0.21)
    return guide


def test_call_is_recorded_before_its_moment_and_made_at_it() -> None:
    guide = before_the_call_to_pour()
    assert guide.cues == []
    assert guide.controller.cue_words() == ""
    written = guide.events[-1]
    assert isinstance(written, e.CueGiven)
    assert written.call == "drain"
    assert written.planned - written.at == pytest.approx(0.04, abs=0.01)
    assert guide.controller.wait_s() == pytest.approx(0.04, abs=0.01), "its very moment"
    kept = len(guide.events)
    guide.wait(0.05, poll_s=0.05)
    assert guide.cues == ["drain"]
    assert guide.controller.cue_words().startswith("Pour the developer out now")
    guide.wait(3.0)
    assert guide.cues == ["drain"]
    assert len(guide.events) == kept


def test_recorded_call_is_not_made_after_a_key_cancelled_it() -> None:
    guide = before_the_call_to_pour()
    assert guide.dispatch(c.CorrectClock(guide.now, "b1.dev", -30.0))
    guide.wait(20.0)
    assert "drain" not in guide.cues
    guide.wait(12.0)
    assert guide.cues.count("drain") == 1, "at its new moment"


def test_call_that_cannot_be_recorded_is_made_once_on_time() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) - 10.25, poll_s=0.1)
    guide.event_sink.failure = Unusable("The disk is full.")
    guide.cues.clear()
    guide.wait(0.21, poll_s=0.21)
    assert guide.cues == []
    guide.wait(0.05, poll_s=0.01)
    assert guide.cues == ["drain"]
    guide.wait(3.0)
    assert guide.cues == ["drain"]


def test_awaited_call_moved_into_the_past_is_made_at_once() -> None:
    guide = before_the_call_to_pour()
    assert guide.dispatch(c.CorrectClock(guide.now, "b1.dev", 5.0))
    guide.wait(1.0)
    assert guide.cues == ["drain"]


def test_silenced_over_call_rings_again_at_a_moved_end() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) + 5.0)
    guide.press("s", "enter")
    assert guide.dispatch(c.CorrectClock(guide.now, "b1.dev", -60.0))
    guide.cues.clear()
    guide.wait(remaining(guide) + 25.0)
    assert guide.cues.count("over") == 3, "at the new end, and again every 10 s"


def test_suspend_between_record_and_moment_plays_no_late_call() -> None:
    guide = before_the_call_to_pour()
    guide.clock.suspend(5.0)
    assert guide.controller.poll() == ()
    assert "Calls missed meanwhile, not played late: drain" in guide.message


def test_call_due_while_the_screen_is_made_comes_at_once() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) - 10.25, poll_s=0.1)
    guide.clock.advance(0.3)
    assert guide.controller.wait_s() < 0.01
    assert [cue.call for cue in guide.controller.poll()] == ["drain"]
    assert guide.controller.wait_s() > 0.1
