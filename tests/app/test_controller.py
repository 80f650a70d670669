"""The controller with a manual clock: clock jumps, resuming, other terminals."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.session.guides import in_bath, remaining
from tests.session.walker import Guide, MemoryEventSink

from wetside.app.controller import SessionController
from wetside.app.session_start import resume_now
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.errors import Refused
from wetside.present.key_handler import ANSWER_S
from wetside.present.prompts import Choice
from wetside.present.wording import long_span


@pytest.mark.parametrize("step_s", [3600.0, -3600.0, 86400.0, -86400.0, 0.5])
def test_a_step_of_the_wall_clock_moves_no_deadline(step_s: float) -> None:
    guide = in_bath()
    left, shown = remaining(guide), guide.view.wall
    guide.clock.step_wall(step_s)
    guide.controller.poll()
    assert remaining(guide) == pytest.approx(left)
    jumps = [event for event in guide.events if isinstance(event, e.ClockJumped)]
    assert [(jump.what, jump.seconds) for jump in jumps] == ([("wall step", step_s)] if abs(step_s) > 2 else [])
    if abs(step_s) == 3600:
        assert guide.view.wall != shown
    if abs(step_s) > 2:
        direction = "forward" if step_s > 0 else "back"
        by = {3600.0: "1 h 00 min", 86400.0: "1 day"}[abs(step_s)]
        assert f"The wall clock was moved {direction} by {by}. Elapsed" in guide.message


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (40.0, "40 s"),
        (-7500.0, "2 h 05 min"),
        (86_400.0, "1 day"),
        (172_800.4, "2 days"),
        (-190_800.0, "2 days 5 h"),
    ],
)
def test_clock_jumps_are_worded_in_readable_units(seconds: float, words: str) -> None:
    assert long_span(seconds) == words


def test_clock_jump_message_stays_until_the_next_key() -> None:
    guide = in_bath()
    guide.controller.press("enter")
    guide.clock.step_wall(3600.0)
    guide.controller.poll()
    guide.wait(ANSWER_S * 2)
    assert "wall clock was moved" in guide.message


def missed_calls(guide: Guide) -> list[e.CueMissed]:
    return [event for event in guide.events if isinstance(event, e.CueMissed)]


@pytest.mark.parametrize("slept_s", [40.0, 7200.0])
def test_a_suspend_counts_as_time_is_reported_and_its_calls_are_recorded_as_missed(slept_s: float) -> None:
    guide = in_bath()
    left = remaining(guide)
    guide.clock.suspend(slept_s)
    cues = guide.controller.poll()
    assert remaining(guide) == pytest.approx(left - slept_s)
    assert f"The machine slept for {long_span(slept_s)}." in guide.message
    missed = missed_calls(guide)
    assert all(event.planned < guide.now - 1.5 for event in missed)
    assert {event.why for event in missed} == {"asleep"}
    assert "missed meanwhile" in guide.message
    if slept_s > 300:
        assert {"agitate", "ready", "drain", "over"} == {event.call for event in missed}
        assert [cue.call for cue in cues] == ["over"], "the bath is over, and that is said until it is drained"
    else:
        assert {event.call for event in missed} == {"agitate"}
        assert cues == ()


def again(guide: Guide, gone_s: float, reboot: bool = False) -> Guide:
    """Killed now, and resumed `gone_s` later by another process."""
    last_wall = guide.event_sink.written[-1]
    state = replay(guide.events)
    guide.clock.reboot(gone_s) if reboot else guide.clock.advance(gone_s)
    event_sink = MemoryEventSink()
    event_sink.events, event_sink.written = list(guide.events), list(guide.event_sink.written)
    controller = SessionController(state, event_sink, guide.clock)
    assert controller.dispatch(resume_now(state, last_wall, guide.clock, "pts/2"))
    controller.resumed()
    return Guide(controller, guide.clock, event_sink)


@pytest.mark.parametrize("reboot", [False, True])
def test_resume_after_a_kill_keeps_elapsed_time_and_starts_nothing(reboot: bool) -> None:
    guide = in_bath(for_s=60.0)
    left = remaining(guide)
    later = again(guide, 50.0, reboot)
    assert remaining(later) == pytest.approx(left - 50.0, abs=1.0)
    assert later.panel is None
    assert set(later.state.clocks) == set(guide.state.clocks)
    resumed = [event for event in later.events if isinstance(event, e.SessionResumed)]
    assert [event.how for event in resumed] == ["wall clock" if reboot else "same boot"]
    later.controller.poll()
    assert {event.why for event in missed_calls(later)} == {"away"}


@pytest.mark.parametrize(
    ("presses", "sure"), [(("space",), None), (("space",) * 2, "stated"), (("space",) * 3, "unknown")]
)
def test_resume_asks_once_about_an_overdue_bath(presses: tuple[str, ...], sure: str | None) -> None:
    later = again(in_bath(for_s=60.0), 600.0)
    panel = later.panel
    assert isinstance(panel, Choice)
    assert panel.title == "Was the developer poured out?"
    later.press("enter")
    assert later.panel == panel, "ENTER alone chooses nothing"
    later.wait(1.0)
    later.press(*presses)
    later.wait(1.0)
    later.press("enter")
    drained = [event for event in later.events if isinstance(event, e.DrainBegan)]
    assert [event.sure for event in drained] == ([] if sure is None else [sure])
    if sure is not None:
        clock = later.state.clocks["b1.dev"]
        assert clock.end_s is not None
        assert drained[0].at == pytest.approx(clock.t0 + clock.end_s - 10.0)


def test_a_bath_with_a_minimum_can_be_told_to_have_been_poured_out_on_time() -> None:
    later = again(in_bath("b1.fix", 60.0), 600.0)
    later.wait(1.0)
    later.press("space", "space")
    later.wait(1.0)
    later.press("enter")
    assert later.state.clocks["b1.fix"].drained_at is not None, later.message


def test_a_terminal_that_loses_the_session_becomes_a_follower() -> None:
    guide = in_bath()
    guide.event_sink.mine = False
    assert guide.controller.poll() == ()
    assert guide.controller.read_only
    assert "Another terminal has taken this session over" in guide.message
    before = guide.state
    for key in ("space", "enter", "l", "5"):
        guide.press(key)
    assert guide.state == before
    other = e.NoteAdded(guide.now, "from the other terminal")
    guide.event_sink.others = [other]
    guide.controller.poll()
    assert guide.state.notes == (other,)
    assert guide.controller.press("backspace") == "leave"


def test_a_key_right_after_a_takeover_is_answered_before_and_after_the_next_poll() -> None:
    guide = in_bath(for_s=55.0)
    guide.press("u", "enter")
    guide.event_sink.mine = False
    guide.event_sink.failure = Refused("Another terminal has taken this session over.")
    before = guide.state
    guide.press("space")
    assert guide.state == before
    assert guide.controller.read_only
    assert "Another terminal has taken this session over" in guide.message
    assert guide.controller.trouble == ""
    guide.press("space")
    assert guide.message == "This terminal only follows and changes nothing. BACKSPACE leaves."


def test_a_follower_sees_no_line_marked_for_a_key_it_does_not_have() -> None:
    guide = in_bath(for_s=55.0)
    guide.press("u", "enter")
    assert any(row.up for row in guide.view.meanwhile)
    guide.controller.become_follower()
    view = guide.view
    assert not any(row.up for row in (*view.ticks, *view.meanwhile))


def test_space_pressed_at_the_moment_of_resuming_is_answered() -> None:
    guide = in_bath(for_s=55.0)
    later = again(guide, 3.0)
    later.clock.advance(0.1)
    later.press("space")
    assert later.message.startswith("Too soon")


def test_clock_put_back_during_a_restart_never_runs_backward() -> None:
    guide = in_bath()
    at = guide.now
    guide.clock.step_wall(-timedelta(days=1).total_seconds())
    later = again(guide, 5.0, reboot=True)
    assert later.now >= at
