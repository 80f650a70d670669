"""Keys beside a running bath: what ends early, what is taken back, and answers that stay true."""

from __future__ import annotations

import pytest
from tests.session.bathside import in_bath, open_panel, remaining
from tests.session.small_evening import small_plan
from tests.session.walker import Walker, bench_for

from wetside.domain.session import commands as c
from wetside.export.session_log import session_log
from wetside.present.key_handler import ANSWER_S
from wetside.present.prompts import Choice, Menu, Number, Page
from wetside.present.view_model import ClockView
from wetside.tui.step_rows import shown_clock


def test_the_answer_to_a_key_does_not_outlive_its_truth() -> None:
    bench = in_bath("b1.fix", 2.0)
    bench.desk.press("enter")
    said = bench.desk.hand.message
    assert "needs another" in said
    bench.wait(ANSWER_S - 1.0)
    assert bench.desk.hand.message == said
    bench.wait(2.0)
    assert bench.desk.hand.message == ""


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


def test_a_pour_out_marked_by_mistake_is_taken_back_and_the_clock_has_run_on() -> None:
    bench = in_bath(for_s=70.0)
    left = remaining(bench)
    bench.press("e", "space", "space")
    bench.wait(1.0)
    bench.press("enter")
    bench.wait(10.0)
    assert bench.desk.view().clock == ClockView("since", 10, "since pouring out began", elapsed_s=81)
    bench.press("i", "enter")
    assert bench.desk.state.clocks["b1.dev"].drained_at is None
    assert remaining(bench) == pytest.approx(left - 11.0)
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


@pytest.mark.parametrize("opened", ["l", "q", "t"])
def test_first_aid_is_one_letter_away_in_a_question_and_in_a_number(opened: str) -> None:
    bench = in_bath()
    bench.press(opened)
    assert isinstance(open_panel(bench), Choice | Number)
    bench.press("a")
    panel = open_panel(bench)
    assert isinstance(panel, Page)
    assert panel.what == "first aid"


def test_on_hold_the_bath_tells_what_has_passed_what_to_do_and_that_it_is_over() -> None:
    bench = in_bath(for_s=70.0)
    assert bench.desk.dispatch(c.Hold(bench.desk.now()))
    view = bench.desk.view()
    assert view.act == "At each call: Turn it over.", "no clock that counts down is on the screen"
    assert view.clock is not None
    assert shown_clock(view.clock, held=True).digits == "1:10"
    bench.wait(remaining(bench) + 97.0)
    late = bench.desk.view().clock
    assert late is not None
    held = shown_clock(late, held=True)
    assert held.words == "have passed: OVER its time by 1:37"
    assert held.digits == late_digits(late)


def late_digits(clock: ClockView) -> str:
    return f"{clock.elapsed_s // 60}:{clock.elapsed_s % 60:02d}"
