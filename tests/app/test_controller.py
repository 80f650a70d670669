"""The desk with a clock set by hand: jumps of the clocks, going on, other terminals."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.session.bathside import in_bath, remaining
from tests.session.walker import Bench, MemoryKeeper

from wetside.app.controller import SessionController
from wetside.app.session_start import resume_now
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.errors import Refused
from wetside.files.settings import Settings
from wetside.present.clock_warnings import days
from wetside.present.key_handler import ANSWER_S
from wetside.present.prompts import Choice


@pytest.mark.parametrize("step_s", [3600.0, -3600.0, 86400.0, -86400.0, 0.5])
def test_a_step_of_the_wall_clock_moves_no_deadline(step_s: float) -> None:
    bench = in_bath()
    left, shown = remaining(bench), bench.desk.view().wall
    bench.clock.step_wall(step_s)
    bench.desk.beat()
    assert remaining(bench) == pytest.approx(left)
    jumps = [event for event in bench.keeper.events if isinstance(event, e.ClockJumped)]
    assert [(jump.what, jump.seconds) for jump in jumps] == ([("wall step", step_s)] if abs(step_s) > 2 else [])
    if abs(step_s) == 3600:
        assert bench.desk.view().wall != shown
    if abs(step_s) > 2:
        direction = "forward" if step_s > 0 else "back"
        by = {3600.0: "1 h 00 min", 86400.0: "1 day"}[abs(step_s)]
        assert f"The wall clock was moved {direction} by {by}. Elapsed" in bench.desk.hand.message


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
def test_a_jump_is_told_in_the_units_people_count_in(seconds: float, words: str) -> None:
    assert days(seconds) == words


def test_what_a_jump_of_the_clock_says_stays_until_the_next_key() -> None:
    bench = in_bath()
    bench.desk.press("enter")
    bench.clock.step_wall(3600.0)
    bench.desk.beat()
    bench.wait(ANSWER_S * 2)
    assert "wall clock was moved" in bench.desk.hand.message


@pytest.mark.parametrize("slept_s", [40.0, 7200.0])
def test_a_suspend_counts_is_said_and_its_calls_are_missed_not_played_late(slept_s: float) -> None:
    bench = in_bath()
    left = remaining(bench)
    bench.clock.suspend(slept_s)
    cues = bench.desk.beat()
    assert remaining(bench) == pytest.approx(left - slept_s)
    assert f"The machine slept for {days(slept_s)}." in bench.desk.hand.message
    missed = bench.desk.state.missed
    assert all(event.planned < bench.desk.now() - 1.5 for event in missed)
    assert {event.why for event in missed} == {"the machine slept"}
    assert "missed meanwhile" in bench.desk.hand.message
    if slept_s > 300:
        assert {"agitate", "ready", "drain", "over"} == {event.call for event in missed}
        assert [cue.call for cue in cues] == ["over"], "the bath is over, and that is said until it is drained"
    else:
        assert {event.call for event in missed} == {"agitate"}
        assert cues == ()


def again(bench: Bench, gone_s: float, reboot: bool = False) -> Bench:
    """Killed now, and gone on with `gone_s` later by another process."""
    last_wall = bench.keeper.written[-1]
    state = replay(bench.keeper.events)
    bench.clock.reboot(gone_s) if reboot else bench.clock.advance(gone_s)
    keeper = MemoryKeeper()
    keeper.events, keeper.written = list(bench.keeper.events), list(bench.keeper.written)
    desk = SessionController(state, keeper, bench.clock, Settings())
    assert desk.dispatch(resume_now(state, last_wall, bench.clock, "pts/2"))
    desk.resumed()
    return Bench(desk, bench.clock, keeper)


@pytest.mark.parametrize("reboot", [False, True])
def test_killed_and_gone_on_with_elapsed_is_right_and_nothing_starts(reboot: bool) -> None:
    bench = in_bath(for_s=60.0)
    left = remaining(bench)
    later = again(bench, 50.0, reboot)
    assert remaining(later) == pytest.approx(left - 50.0, abs=1.0)
    assert later.desk.hand.panel is None
    assert set(later.desk.state.clocks) == set(bench.desk.state.clocks)
    resumed = [event for event in later.keeper.events if isinstance(event, e.SessionResumed)]
    assert [event.how for event in resumed] == ["wall clock" if reboot else "same boot"]
    later.desk.beat()
    assert {event.why for event in later.desk.state.missed} == {"the guide was not there"}


@pytest.mark.parametrize(
    ("presses", "sure"), [(("space",), None), (("space",) * 2, "stated"), (("space",) * 3, "unknown")]
)
def test_one_question_when_a_bath_should_have_been_poured_out_meanwhile(
    presses: tuple[str, ...], sure: str | None
) -> None:
    later = again(in_bath(for_s=60.0), 600.0)
    panel = later.desk.hand.panel
    assert isinstance(panel, Choice)
    assert panel.title == "Was the developer poured out?"
    later.press("enter")
    assert later.desk.hand.panel == panel, "ENTER alone chooses nothing"
    later.wait(1.0)
    later.press(*presses)
    later.wait(1.0)
    later.press("enter")
    drained = [event for event in later.keeper.events if isinstance(event, e.DrainBegan)]
    assert [event.sure for event in drained] == ([] if sure is None else [sure])
    if sure is not None:
        clock = later.desk.state.clocks["b1.dev"]
        assert clock.end_s is not None
        assert drained[0].at == pytest.approx(clock.t0 + clock.end_s - 10.0)


def test_a_bath_with_a_minimum_can_be_told_to_have_been_poured_out_on_time() -> None:
    later = again(in_bath("b1.fix", 60.0), 600.0)
    later.wait(1.0)
    later.press("space", "space")
    later.wait(1.0)
    later.press("enter")
    assert later.desk.state.clocks["b1.fix"].drained_at is not None, later.desk.hand.message


def test_the_drive_taken_by_another_terminal_leaves_a_follower() -> None:
    bench = in_bath()
    bench.keeper.mine = False
    assert bench.desk.beat() == ()
    assert bench.desk.read_only
    assert "Another terminal has taken this session over" in bench.desk.hand.message
    before = bench.desk.state
    for key in ("space", "enter", "l", "5"):
        bench.press(key)
    assert bench.desk.state == before
    other = e.NoteAdded(bench.desk.now(), "from the other terminal")
    bench.keeper.others = [other]
    bench.desk.beat()
    assert bench.desk.state.notes == (other,)
    assert bench.desk.press("backspace") == "leave"


def test_a_key_right_after_a_takeover_is_answered_before_and_after_the_next_look() -> None:
    bench = in_bath(for_s=55.0)
    bench.press("u", "enter")
    bench.keeper.mine = False
    bench.keeper.failure = Refused("Another terminal has taken this session over.")
    before = bench.desk.state
    bench.press("space")
    assert bench.desk.state == before
    assert bench.desk.read_only
    assert "Another terminal has taken this session over" in bench.desk.hand.message
    assert bench.desk.trouble == ""
    bench.press("space")
    assert bench.desk.hand.message == "This terminal only follows and changes nothing. BACKSPACE leaves."


def test_a_follower_sees_no_line_marked_for_a_key_that_it_has_not() -> None:
    bench = in_bath(for_s=55.0)
    bench.press("u", "enter")
    assert any(row.up for row in bench.desk.view().meanwhile)
    bench.desk.become_follower()
    view = bench.desk.view()
    assert not any(row.up for row in (*view.ticks, *view.meanwhile))


def test_space_at_the_moment_a_session_is_gone_on_with_is_answered() -> None:
    bench = in_bath(for_s=55.0)
    later = again(bench, 3.0)
    later.clock.advance(0.1)
    later.press("space")
    assert later.desk.hand.message.startswith("Too soon")


def test_a_clock_put_back_while_the_machine_was_off_never_runs_backward() -> None:
    bench = in_bath()
    at = bench.desk.now()
    bench.clock.step_wall(-timedelta(days=1).total_seconds())
    later = again(bench, 5.0, reboot=True)
    assert later.desk.now() >= at
