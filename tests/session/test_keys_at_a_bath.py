"""Keys beside a running bath: what ends early, what is taken back, and answers that stay true."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.session.guides import in_bath, open_panel, remaining
from tests.session.small_evening import small_plan
from tests.session.walker import Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.session import commands as c
from wetside.domain.session.readings import OLDEST_S
from wetside.export.pages import export_markdown
from wetside.export.session_log import session_log
from wetside.present.key_handler import ANSWER_S
from wetside.present.key_state import KeyState
from wetside.present.prompts import Choice, Menu, Number, Page
from wetside.present.view_model import ClockView
from wetside.tui.step_rows import shown_clock


def test_a_message_disappears_when_it_may_no_longer_be_true() -> None:
    guide = in_bath("b1.fix", 2.0)
    guide.controller.press("enter")
    said = guide.message
    assert "has not had its time yet" in said
    guide.wait(ANSWER_S - 1.0)
    assert guide.message == said
    guide.wait(2.0)
    assert guide.message == ""


def test_keys_held_down_in_the_field_of_a_late_clock_move_it_by_less_than_two_minutes() -> None:
    guide = in_bath(for_s=20.0)
    t0 = guide.state.clocks["b1.dev"].t0
    guide.press("l")
    for key in ("space", "enter"):
        for _ in range(40):
            guide.controller.press(key)
            guide.clock.advance(1 / 30)
        guide.wait(1.0)
    panel = guide.panel
    assert isinstance(panel, Choice)
    assert panel.title.startswith("120 s late? Developer was on the screen for 0:")
    assert guide.state.clocks["b1.dev"].t0 == t0
    guide.press("space")
    guide.press("space")
    guide.press("enter")
    assert guide.state.clocks["b1.dev"].t0 == t0 - 120.0


def test_a_clock_late_by_no_longer_than_its_step_was_on_screen_is_corrected_without_a_question() -> None:
    guide = guide_for(small_plan()).at_step("b1.dev")
    guide.wait(100.0)
    guide.running("b1.dev")
    t0 = guide.state.clocks["b1.dev"].t0
    guide.wait(20.0)
    for key in ("l", "6", "0", "enter"):
        guide.press(key)
    assert guide.state.clocks["b1.dev"].t0 == t0 - 60.0


def test_the_last_key_label_says_that_it_closes_the_session() -> None:
    guide = guide_for(small_plan())
    walker, said = Walker(guide), ""
    while guide.state.current is not None:
        before = guide.keys.enter
        said = before or said
        assert walker.step()
    assert said == "closes the session"


def test_a_menu_line_that_no_longer_applies_does_nothing_and_says_so() -> None:
    guide = in_bath("b1.fix")
    guide.press("backspace")
    assert isinstance(guide.panel, Menu)
    assert any(each.id == "against" for each in guide.panel.items)
    guide.wait(remaining(guide, "b1.fix") + 1.0)
    before = guide.state
    guide.press("g")
    assert open_panel(guide) is None
    assert guide.message == "That has settled itself meanwhile: nothing was done."
    guide.press("space")
    assert guide.state.overrides == before.overrides == ()


def test_a_clock_that_was_not_late_is_left_unchanged() -> None:
    guide = in_bath()
    t0 = guide.state.clocks["b1.dev"].t0
    guide.press("l", "backspace", "backspace")
    assert guide.keys.enter == "keeps the clock as it is"
    guide.press("enter")
    assert guide.panel is None
    assert guide.state.clocks["b1.dev"].t0 == t0
    assert guide.state.corrections == ()
    guide.press("l", *["backspace"] * 5)
    assert guide.keys.backspace == "leaves"
    guide.press("backspace")
    assert guide.panel is None


def test_a_field_opened_while_bells_ring_stays_open() -> None:
    guide = in_bath()
    guide.press("n", "a")
    panel = guide.panel
    guide.controller.bells_rung(3)
    assert guide.panel == panel


def test_a_pouring_out_marked_by_mistake_can_be_taken_back_and_the_clock_has_run_on() -> None:
    guide = in_bath(for_s=70.0)
    left = remaining(guide)
    guide.press("e", "space", "space")
    guide.wait(1.0)
    guide.press("enter")
    guide.wait(10.0)
    assert guide.view.clock == ClockView("since", 10, "since pouring out began", total_s=241, elapsed_s=81)
    guide.press("i", "enter")
    assert guide.state.clocks["b1.dev"].drained_at is None
    assert remaining(guide) == pytest.approx(left - 11.0)
    guide.wait(remaining(guide) - 5.0)
    assert "drain" in guide.cues
    guide.press("space")
    guide.wait(5.0)
    guide.press("space")
    guide.wait(0.5)
    guide.press("enter")
    assert guide.state.early == (), "poured out at its time"
    log = session_log(guide.events)
    assert [note.text for note in log.notes] == ["Developer: pouring out was marked by mistake"]
    (developer,) = (step for step in log.steps if step.id == "b1.dev")
    assert developer.verdict == "on time"


def test_refusal_is_worded_for_the_present_moment() -> None:
    guide = in_bath("b1.wash", for_s=100.0)
    while guide.view.ticks[-1].made is False:
        guide.press("space")
        guide.wait(1.2)
    guide.press("enter")
    said = "Not yet: Wash has not had its time, which is a minimum."
    assert guide.message == said, "how long it still needs, the digits say"
    guide.wait(remaining(guide, "b1.wash") - 3.0)
    guide.press("enter")
    assert guide.message == said
    guide.wait(4.0)
    assert guide.message == "", "it stands in the way no more"


def test_enter_on_a_list_with_nothing_marked_is_explained() -> None:
    guide = in_bath()
    guide.press("q", "enter")
    assert guide.message == "Nothing is marked yet: SPACE marks."
    assert isinstance(open_panel(guide), Choice)


@pytest.mark.parametrize("opened", ["l", "q", "t"])
def test_one_letter_opens_first_aid_in_a_question_and_in_a_number(opened: str) -> None:
    guide = in_bath()
    guide.press(opened)
    assert isinstance(open_panel(guide), Choice | Number)
    guide.press("a")
    panel = open_panel(guide)
    assert isinstance(panel, Page)
    assert panel.what == "first aid"


def test_on_hold_the_digits_go_on_and_space_does_nothing() -> None:
    guide = in_bath(for_s=55.0)
    guide.press("u", "enter")
    assert any(row.up for row in guide.view.meanwhile)
    left = guide.view.clock
    assert left is not None
    assert guide.dispatch(c.Hold(guide.now))
    view = guide.view
    assert view.clock is not None
    held = shown_clock(view.clock, view.held)
    assert (held.face, held.digits) == ("down", left.digits)
    assert held.words == "left; the guide waits, the bath does not"
    assert not any(row.up for row in (*view.ticks, *view.meanwhile))
    assert (guide.keys.space, guide.keys.enter) == ("", "lets the guide go on")
    guide.wait(remaining(guide) + 97.0)
    late = guide.view.clock
    assert late is not None
    assert shown_clock(late, held=True).words == "OVER; the guide waits, the bath does not"


def test_a_clock_set_further_back_than_the_bath_before_left_the_tank_is_asked_about() -> None:
    guide = guide_for(small_plan()).running("b1.fix")
    guide.wait(20.0)
    state = guide.state
    t0 = state.clocks["b1.fix"].t0
    passed_s = t0 - state.ended["b1.dev"]
    assert 0.0 < passed_s < 13.0
    guide.press("l", "1", "3", "enter")
    panel = guide.panel
    assert isinstance(panel, Choice)
    assert panel.title.startswith("13 s late? Developer left the tank 0:")
    guide.press("space", "enter")
    assert guide.state.clocks["b1.fix"].t0 == t0, "No is the first answer"
    for key in ("l", str(int(passed_s)), "enter"):
        guide.press(key)
    assert guide.state.clocks["b1.fix"].t0 == t0 - int(passed_s), "what is possible is set unasked"


def test_choosing_to_watch_the_screen_is_recorded_and_is_not_a_deviation() -> None:
    guide = guide_for(small_plan()).at_step("sound")
    guide.wait(2.0)
    guide.press("space", "2", "enter")
    assert "No sound? Type 0." in guide.message
    guide.wait(1.0)
    guide.press("space", "0", "enter", "space", "space", "enter")
    state = guide.state
    assert "sound/bells" in state.ticks
    assert state.by_eye
    assert (state.overrides, state.deviations) == ((), 0)
    (row,) = (row for row in guide.view.ticks if row.id == "sound/bells")
    assert row.text == "The screen is watched instead of the bells"
    assert "the screen was watched instead" in export_markdown(session_log(guide.events), ticks=True)


def test_calls_stay_on_screen_as_long_as_they_apply_for_a_person_who_hears_no_bell() -> None:
    guide = in_bath()
    guide.controller.state = replace(guide.state, by_eye_tick="sound/bells")
    guide.wait(remaining(guide) - 10.0)
    guide.wait(25.0)
    assert guide.view.by_eye
    assert guide.controller.cue_words() != ""
    guide.press("space")
    assert guide.controller.cue_words() == ""


def test_after_a_restart_a_step_whose_readings_are_all_taken_is_left_by_space_and_enter() -> None:
    """No second reading is needed for it: SPACE opened the field again, and ENTER asked for SPACE."""
    guide = guide_for(shipped_plan("three-rolls")).at_step("warm-bath")
    guide.until(lambda: guide.keys.enter == "goes on")
    guide.controller.key_state = KeyState()
    guide.wait(2.0)
    assert (guide.keys.space, guide.keys.enter) == ("I am ready", "")
    guide.press("space")
    assert guide.panel is None
    guide.press("enter")
    assert guide.view.step != "warm-bath"


def test_an_old_reading_is_not_shown_as_never_taken() -> None:
    guide = guide_for(shipped_plan("three-rolls")).running("b1.bleach-fix")
    (row,) = guide.view.readings
    assert row.verdict == "read"
    guide.wait(OLDEST_S + 60.0)
    (row,) = guide.view.readings
    assert (row.value, row.verdict) == ("", "not read lately")


def test_a_step_with_only_optional_readings_is_left_by_space_and_enter() -> None:
    plan = shipped_plan("three-rolls")
    warm = plan.step("warm-bath")
    offered = replace(warm, ticks=(), readings=tuple(replace(each, required=False) for each in warm.readings))
    guide = guide_for(replace(plan, steps=tuple(offered if step is warm else step for step in plan.steps)))
    guide.at_step("warm-bath").wait(2.0)
    assert guide.keys.space == "I am ready", "the field is key t, as its row says"
    guide.press("space", "enter")
    assert guide.view.step != "warm-bath"
