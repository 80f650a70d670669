"""The desk with a clock set by hand: jumps, calls, and what happens when nothing can be kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.session.small_evening import small_plan
from tests.session.walker import Bench, MemoryKeeper, Walker, bench_for, shipped_plan

from wetside.begin_resume import resume_now
from wetside.desk import Desk
from wetside.errors import Unusable
from wetside.record.log import session_log
from wetside.session import commands as c
from wetside.session import events as e
from wetside.session.cues import ready_ahead_s
from wetside.session.hand import ANSWER_S, ARMED_S, Hand, keys, press
from wetside.session.keys import Keys
from wetside.session.panels import Choice, Menu, Number, Page, Panel
from wetside.session.state import replay
from wetside.session.view import Clock
from wetside.settings import Settings


def in_bath(step: str = "b1.dev", for_s: float = 60.0) -> Bench:
    """The small evening led into a bath that has run `for_s`."""
    bench = bench_for(small_plan())
    walker = Walker(bench)
    while step not in bench.desk.state.clocks:
        assert walker.step()
    clock = bench.desk.state.clocks[step]
    bench.wait(clock.t0 + for_s - bench.desk.now())
    bench.cues.clear()
    return bench


def remaining(bench: Bench, step: str = "b1.dev") -> float:
    left = bench.desk.state.clocks[step].remaining(bench.desk.now())
    assert left is not None
    return left


def digits(bench: Bench) -> str:
    clock = bench.desk.view().clock
    assert clock is not None
    return clock.digits


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
        assert "wall clock was moved by 3600 s" in bench.desk.hand.message


def test_the_answer_to_a_key_does_not_outlive_its_truth() -> None:
    bench = in_bath("b1.fix", 2.0)
    bench.desk.press("enter")
    said = bench.desk.hand.message
    assert "needs another" in said
    bench.wait(ANSWER_S - 1.0)
    assert bench.desk.hand.message == said
    bench.wait(2.0)
    assert bench.desk.hand.message == ""


def test_the_offer_to_end_a_bath_early_goes_when_enter_no_longer_does_it() -> None:
    bench = in_bath(for_s=70.0)
    bench.press("space")
    assert "ENTER pours it out NOW" in bench.desk.hand.message
    bench.wait(ARMED_S + 1.0)
    assert bench.desk.hand.message == ""
    assert bench.desk.keys().enter == ""
    bench.wait(remaining(bench) - 15.0)
    bench.press("space")
    bench.wait(remaining(bench) - 8.0)
    assert bench.desk.hand.message == ""
    assert (bench.desk.keys().space, bench.desk.keys().enter) == ("pouring out now", "")


def test_the_offer_to_end_a_bath_early_is_as_long_to_the_person_on_a_fast_clock() -> None:
    state = replace(in_bath(for_s=60.0).desk.state, practice=True, speed=10.0)
    at = state.clocks["b1.dev"].t0 + 115.0
    hand = press(state, Hand(), "space", at).hand
    assert keys(state, hand, at + 5.0 * 10.0).enter == "POURS OUT NOW, too early"
    assert keys(state, hand, at + 11.0 * 10.0).enter == ""


def test_keys_held_down_in_the_field_of_a_late_clock_move_it_by_no_two_minutes() -> None:
    bench = in_bath(for_s=20.0)
    t0 = bench.desk.state.clocks["b1.dev"].t0
    bench.press("l")
    for key in ("space", "enter"):
        for _ in range(40):
            bench.desk.press(key)
            bench.clock.advance(1 / 30)
        bench.wait(1.0)
    panel = bench.desk.hand.panel
    assert isinstance(panel, Choice)
    assert panel.title.startswith("120 s late? Developer was on the screen for 0:")
    assert bench.desk.state.clocks["b1.dev"].t0 == t0
    bench.press("space")
    bench.press("space")
    bench.press("enter")
    assert bench.desk.state.clocks["b1.dev"].t0 == t0 - 120.0


def test_a_clock_late_by_no_longer_than_its_step_was_on_screen_is_set_right_unasked() -> None:
    bench = bench_for(small_plan())
    walker = Walker(bench)
    while bench.desk.state.current != "b1.dev":
        assert walker.step()
    bench.wait(100.0)
    while "b1.dev" not in bench.desk.state.clocks:
        assert walker.step()
    t0 = bench.desk.state.clocks["b1.dev"].t0
    bench.wait(20.0)
    for key in ("l", "6", "0", "enter"):
        bench.press(key)
    assert bench.desk.state.clocks["b1.dev"].t0 == t0 - 60.0


def test_the_last_act_of_all_says_that_it_closes_the_session() -> None:
    bench = bench_for(small_plan())
    walker, said = Walker(bench), ""
    while bench.desk.state.current is not None:
        before = bench.desk.keys().enter
        said = before or said
        assert walker.step()
    assert said == "closes the session"


def test_the_words_of_a_call_do_not_outlive_what_is_to_be_done() -> None:
    bench = in_bath(for_s=89.0)
    bench.wait(2.0)
    assert bench.desk.cue_words() == "Turn it over."
    assert "Until" in bench.desk.view().act
    bench.wait(10.0)
    assert "stand until" in bench.desk.view().act
    assert bench.desk.cue_words() == ""
    bench.wait(remaining(bench) - 10.0)
    assert bench.desk.cue_words() == "Pour the developer out now."
    bench.press("space")
    assert bench.desk.cue_words() == ""


def test_the_call_to_get_ready_does_not_say_other_seconds_than_the_act() -> None:
    bench = in_bath(for_s=1.0)
    end_s = bench.desk.state.clocks["b1.dev"].end_s
    assert end_s is not None
    bench.wait(remaining(bench) - ready_ahead_s(small_plan().step("b1.dev"), end_s) + 0.5)
    assert bench.desk.cue_words().startswith("Get ready: pour the developer out in 26 s")
    bench.wait(4.0)
    assert bench.desk.cue_words() == ""
    assert bench.desk.view().act == "Get ready to pour the developer out in 22 s."


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
    assert f"The machine slept by {slept_s:.0f} s" in bench.desk.hand.message
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


def test_over_comes_again_until_the_bath_is_poured_out() -> None:
    bench = in_bath()
    bench.wait(remaining(bench) + 35.0)
    assert bench.cues.count("over") == 4
    assert bench.cues.count("drain") == 1
    assert [call for _, call, _ in bench.desk.state.given].count("over") == 1
    bench.press("space")
    bench.cues.clear()
    bench.wait(60.0)
    assert bench.cues == []
    assert bench.desk.state.clocks["b1.dev"].drained_at is not None


def test_over_is_silenced_by_the_menu_and_the_bath_still_waits() -> None:
    bench = in_bath()
    bench.wait(remaining(bench) + 5.0)
    bench.press("s", "enter")
    bench.cues.clear()
    bench.wait(60.0)
    assert bench.cues == []
    assert bench.desk.keys().space == "pouring out now"


def test_a_correction_that_overtakes_the_call_to_pour_makes_it_at_once() -> None:
    bench = in_bath()
    bench.wait(remaining(bench) - 25.0)
    bench.cues.clear()
    bench.desk.dispatch(c.CorrectClock(bench.desk.now(), "b1.dev", 20.0))
    bench.wait(1.0)
    assert bench.cues == ["drain"]
    bench.wait(3.0)
    assert bench.cues == ["drain"]


def test_calls_ring_although_nothing_can_be_kept() -> None:
    bench = in_bath()
    bench.keeper.failure = Unusable("The disk is full.")
    kept = len(bench.keeper.events)
    bench.wait(remaining(bench) - 5.0)
    assert bench.cues.count("drain") == 1
    assert bench.desk.trouble == "NOT KEPT: The disk is full."
    assert len(bench.keeper.events) == kept
    before = bench.desk.state
    bench.press("space")
    assert bench.desk.state == before
    assert bench.desk.hand.message == "NOT KEPT: The disk is full."
    left = remaining(bench)
    bench.wait(3.0)
    assert remaining(bench) == pytest.approx(left - 3.0)
    bench.keeper.failure = None
    bench.press("space")
    assert bench.desk.trouble == ""
    assert bench.desk.state.clocks["b1.dev"].drained_at is not None


def again(bench: Bench, gone_s: float, reboot: bool = False) -> Bench:
    """Killed now, and gone on with `gone_s` later by another process."""
    last_wall = bench.keeper.written[-1]
    state = replay(bench.keeper.events)
    bench.clock.reboot(gone_s) if reboot else bench.clock.advance(gone_s)
    keeper = MemoryKeeper()
    keeper.events, keeper.written = list(bench.keeper.events), list(bench.keeper.written)
    desk = Desk(state, keeper, bench.clock, Settings())
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


def test_the_desk_wakes_when_the_shown_second_changes_or_at_the_next_call() -> None:
    bench = in_bath(for_s=60.3)
    for _ in range(5):
        shown = digits(bench)
        wait_s = bench.desk.wait_s()
        assert 0.0 < wait_s <= 1.0
        bench.clock.advance(wait_s - 0.004)
        assert digits(bench) == shown
        bench.clock.advance(0.008)
        assert digits(bench) != shown
    bench.wait(remaining(bench) - 10.25, beat_s=0.1)
    assert bench.desk.wait_s() == pytest.approx(0.2, abs=0.01), "to write the call to pour out down"


def before_the_call_to_pour() -> Bench:
    """A bath 40 ms before its call to pour out, the call written down by the last beat."""
    bench = in_bath()
    bench.wait(remaining(bench) - 10.25, beat_s=0.1)
    bench.cues.clear()
    bench.wait(0.21, beat_s=0.21)
    return bench


def test_a_call_is_written_down_before_its_moment_and_made_at_it() -> None:
    bench = before_the_call_to_pour()
    assert bench.cues == []
    assert bench.desk.cue_words() == ""
    written = bench.keeper.events[-1]
    assert isinstance(written, e.CueGiven)
    assert written.call == "drain"
    assert written.planned - written.at == pytest.approx(0.04, abs=0.01)
    assert bench.desk.wait_s() == pytest.approx(0.04, abs=0.01), "its very moment"
    kept = len(bench.keeper.events)
    bench.wait(0.05, beat_s=0.05)
    assert bench.cues == ["drain"]
    assert bench.desk.cue_words().startswith("Pour the developer out now")
    bench.wait(3.0)
    assert bench.cues == ["drain"]
    assert len(bench.keeper.events) == kept


def test_a_call_written_down_is_not_made_when_a_key_has_taken_its_reason_away() -> None:
    bench = before_the_call_to_pour()
    assert bench.desk.dispatch(c.CorrectClock(bench.desk.now(), "b1.dev", -30.0))
    bench.wait(20.0)
    assert "drain" not in bench.cues
    bench.wait(12.0)
    assert bench.cues.count("drain") == 1, "at its new moment"


def test_a_call_that_cannot_be_written_down_ahead_is_made_once_and_at_its_moment() -> None:
    bench = in_bath()
    bench.wait(remaining(bench) - 10.25, beat_s=0.1)
    bench.keeper.failure = Unusable("The disk is full.")
    bench.cues.clear()
    bench.wait(0.21, beat_s=0.21)
    assert bench.cues == []
    bench.wait(0.05, beat_s=0.01)
    assert bench.cues == ["drain"]
    bench.wait(3.0)
    assert bench.cues == ["drain"]


def test_a_call_moved_into_the_past_while_it_was_awaited_is_made_at_once() -> None:
    bench = before_the_call_to_pour()
    assert bench.desk.dispatch(c.CorrectClock(bench.desk.now(), "b1.dev", 5.0))
    bench.wait(1.0)
    assert bench.cues == ["drain"]


def test_over_silenced_rings_again_at_an_end_that_has_moved() -> None:
    bench = in_bath()
    bench.wait(remaining(bench) + 5.0)
    bench.press("s", "enter")
    assert bench.desk.dispatch(c.CorrectClock(bench.desk.now(), "b1.dev", -60.0))
    bench.cues.clear()
    bench.wait(remaining(bench) + 25.0)
    assert bench.cues.count("over") == 3, "at the new end, and again every 10 s"


def test_a_machine_that_sleeps_between_the_writing_and_the_moment_plays_nothing_late() -> None:
    bench = before_the_call_to_pour()
    bench.clock.suspend(5.0)
    assert bench.desk.beat() == ()
    assert "Calls missed meanwhile, not played late: drain" in bench.desk.hand.message


def test_a_call_that_fell_due_while_the_screen_was_made_is_not_kept_waiting() -> None:
    bench = in_bath()
    bench.wait(remaining(bench) - 10.25, beat_s=0.1)
    bench.clock.advance(0.3)
    assert bench.desk.wait_s() < 0.01
    assert [cue.call for cue in bench.desk.beat()] == ["drain"]
    assert bench.desk.wait_s() > 0.1


def test_a_clock_put_back_while_the_machine_was_off_never_runs_backward() -> None:
    bench = in_bath()
    at = bench.desk.now()
    bench.clock.step_wall(-timedelta(days=1).total_seconds())
    later = again(bench, 5.0, reboot=True)
    assert later.desk.now() >= at


def test_a_menu_line_that_has_settled_itself_does_nothing_and_says_so() -> None:
    bench = in_bath("b1.fix")
    bench.press("backspace")
    assert isinstance(bench.desk.hand.panel, Menu)
    assert any(id_ == "against" for id_, _, _ in bench.desk.hand.panel.items)
    bench.wait(remaining(bench, "b1.fix") + 1.0)
    before = bench.desk.state
    bench.press("g")
    assert open_panel(bench) is None
    assert bench.desk.hand.message == "That has settled itself meanwhile: nothing was done."
    bench.press("space")
    assert bench.desk.state.overrides == before.overrides == ()


def test_a_clock_that_was_not_late_is_left_as_it_is() -> None:
    bench = in_bath()
    t0 = bench.desk.state.clocks["b1.dev"].t0
    bench.press("l", "backspace", "backspace")
    assert bench.desk.keys().enter == "keeps the clock as it is"
    bench.press("enter")
    assert bench.desk.hand.panel is None
    assert bench.desk.state.clocks["b1.dev"].t0 == t0
    assert bench.desk.state.corrections == ()
    bench.press("l", *["backspace"] * 5)
    assert bench.desk.keys().backspace == "leaves"
    bench.press("backspace")
    assert bench.desk.hand.panel is None


def test_what_was_opened_while_the_bells_rang_stays_open() -> None:
    bench = in_bath()
    bench.press("n", "a")
    panel = bench.desk.hand.panel
    bench.desk.bells_rung(3)
    assert bench.desk.hand.panel == panel


def open_panel(bench: Bench) -> Panel | None:
    return bench.desk.hand.panel


def test_the_two_keys_of_an_early_end_are_a_second_apart() -> None:
    bench = in_bath(for_s=70.0)
    bench.press("space", "enter", "enter")
    assert bench.desk.state.clocks["b1.dev"].drained_at is None, "two thumbs pour nothing out"
    assert bench.desk.keys().enter == ""
    bench.wait(1.1, beat_s=1.1)
    assert bench.desk.keys().enter == "POURS OUT NOW, too early"
    shown = bench.desk.hand.message
    bench.wait(2.0)
    assert bench.desk.hand.message != shown, "its seconds run"
    assert bench.desk.hand.message.startswith("ENTER pours it out NOW, ")
    bench.press("enter")
    assert bench.desk.state.clocks["b1.dev"].drained_at is not None


@pytest.mark.parametrize("key", ["backspace", "a", "x", "5"])
def test_any_other_key_disarms_an_early_end(key: str) -> None:
    bench = in_bath(for_s=70.0)
    bench.press("space")
    bench.wait(1.5)
    bench.press(key)
    assert bench.desk.hand.armed_at is None
    bench.press("escape")
    bench.wait(0.3)
    bench.press("enter")
    assert bench.desk.state.clocks["b1.dev"].drained_at is None


def test_space_after_a_call_answers_it_and_is_no_half_of_an_early_end() -> None:
    bench = in_bath(for_s=61.0)
    assert bench.desk.cue_words() == "Turn it over."
    assert bench.desk.keys().space == "answers the call"
    bench.press("space")
    bench.wait(1.5)
    bench.press("enter")
    assert bench.desk.state.clocks["b1.dev"].drained_at is None
    assert bench.desk.hand.armed_at is None
    bench.wait(4.0)
    assert bench.desk.keys().space == "to end it early"


def test_a_pour_out_marked_by_mistake_is_taken_back_and_the_clock_has_run_on() -> None:
    bench = in_bath(for_s=70.0)
    left = remaining(bench)
    bench.press("space")
    bench.wait(1.5)
    bench.press("enter")
    bench.wait(10.0)
    assert bench.desk.view().clock == Clock("since", 10, "since pouring out began", elapsed_s=81)
    bench.press("i", "enter")
    assert bench.desk.state.clocks["b1.dev"].drained_at is None
    assert remaining(bench) == pytest.approx(left - 11.5)
    bench.wait(remaining(bench) - 5.0)
    assert "drain" in bench.cues
    bench.press("space")
    bench.wait(5.0)
    bench.press("space")
    bench.wait(0.5)
    bench.press("enter")
    assert bench.desk.state.early == (), "poured out at its time"
    log = session_log(bench.keeper.events)
    assert [note.text for note in log.notes] == ["Developer: pouring out was marked by mistake"]
    (developer,) = (step for step in log.steps if step.id == "b1.dev")
    assert developer.verdict == "on time"


def test_what_is_not_yet_is_said_as_it_is_now() -> None:
    bench = in_bath("b1.wash", for_s=100.0)
    while bench.desk.view().ticks[-1].made is False:
        bench.press("space")
        bench.wait(1.2)
    bench.press("enter")
    shown = bench.desk.hand.message
    assert shown.startswith("Not yet: Wash needs 1:")
    bench.wait(2.0)
    assert bench.desk.hand.message.startswith("Not yet: Wash needs 1:")
    assert bench.desk.hand.message != shown
    bench.wait(remaining(bench, "b1.wash") - 3.0)
    bench.press("enter")
    assert bench.desk.hand.message == "Not yet: Wash needs 0:03 more; its time is a minimum."
    bench.wait(4.0)
    assert bench.desk.hand.message == "", "it stands in the way no more"


def test_enter_on_a_list_with_nothing_marked_says_so() -> None:
    bench = in_bath()
    bench.press("q", "enter")
    assert bench.desk.hand.message == "Nothing is marked yet: SPACE marks."
    assert isinstance(open_panel(bench), Choice)


def dark(bench: Bench) -> bool:
    return bench.desk.dark


def in_the_dark() -> Bench:
    """A session in its dark step, driven here."""
    bench = bench_for(shipped_plan("three-rolls"))
    walker = Walker(bench)
    while not dark(bench):
        assert walker.step()
    bench.wait(5.0)
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


def at_the_developers_gate(read_c: float, ago_s: float) -> Bench:
    """The small evening before its developer, whose bottle was read so long ago."""
    bench = bench_for(small_plan())
    walker = Walker(bench)
    while bench.desk.view().step != "b1.dev":
        assert walker.step()
    assert bench.desk.dispatch(c.TakeReading(bench.desk.now(), "developer", read_c, ""))
    bench.wait(ago_s, beat_s=60.0)
    return bench


def test_the_gate_of_a_developer_shows_the_time_that_will_run() -> None:
    bench = at_the_developers_gate(38.0, 80.0)
    view = bench.desk.view()
    assert view.clock is not None
    before = view.clock.digits
    assert before != "3:15", "the plan is for 38.9 °C"
    assert f"Read 38.0 °C 1 min ago: so {before}, not 3:15." in view.facts
    assert [(row.value, row.verdict) for row in view.readings] == [("38.0 °C", "read")]
    assert bench.desk.dispatch(c.StartStep(bench.desk.now(), "b1.dev", 0.0))
    end_s = bench.desk.state.clocks["b1.dev"].end_s
    assert end_s is not None
    assert f"{int(end_s) // 60}:{round(end_s) % 60:02d}" == before


def test_a_reading_too_old_to_count_is_named_before_the_pour() -> None:
    bench = at_the_developers_gate(38.0, 28 * 60.0)
    view = bench.desk.view()
    assert view.clock is not None
    assert view.clock.digits == "3:15"
    assert any(fact.startswith("38.0 °C was read 28 min ago, too long to count") for fact in view.facts)
    assert [row.verdict for row in view.readings] == ["not read"]


@pytest.mark.parametrize("opened", ["l", "q", "t"])
def test_first_aid_is_one_letter_away_in_a_question_and_in_a_number(opened: str) -> None:
    bench = in_bath()
    bench.press(opened)
    assert isinstance(open_panel(bench), Choice | Number)
    bench.press("a")
    panel = open_panel(bench)
    assert isinstance(panel, Page)
    assert panel.what == "first aid"
