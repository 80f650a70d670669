"""One answer for the plain lines of a screen: what it confirms, what stays single, what it saves."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.session.decided import decided
from tests.session.presses import clean_evening
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.session import commands as c
from wetside.domain.session.events import StepEnded, TickMade
from wetside.errors import Refused
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture, shows_all_marked
from wetside.tui.rows import TextLayout

MOST_PRESSES = 120


def at_step(id_: str, *, one_answer: bool = True) -> Guide:
    """The shipped evening of three rolls, at this step."""
    guide = guide_for(shipped_plan("three-rolls"), one_answer=one_answer).at_step(id_)
    return guide


def test_one_space_confirms_the_plain_lines_after_the_critical_ones() -> None:
    guide = at_step("chemistry")
    view = guide.view
    plain = [tick.id for tick in view.ticks if not tick.killer]
    critical = [tick.id for tick in view.ticks if tick.killer]
    assert (len(critical), len(plain)) == (2, 3)
    for id_ in critical:
        assert [tick.id for tick in guide.view.ticks if tick.up] == [id_]
        assert guide.keys.space == "confirms the marked line"
        guide.wait(1.2)
        guide.press("space")
        assert list(guide.state.ticks)[-1] == id_
    assert [tick.id for tick in guide.view.ticks if tick.up] == plain
    assert guide.keys.space == "confirms the 3 marked lines"
    guide.press("space")
    assert guide.message == "Wait a second and read the marked lines, then SPACE."
    guide.wait(1.2)
    guide.press("space")
    assert set(guide.state.ticks) == {*critical, *plain}
    made = [event for event in guide.events if isinstance(event, TickMade) and event.tick in plain]
    assert len(made) == 3
    assert len({event.at for event in made}) == 1


@pytest.mark.parametrize("hidden", ["far view", "a window that shows only some"])
def test_lines_that_are_not_all_visible_are_confirmed_one_by_one(hidden: str) -> None:
    guide = at_step("negatives")
    assert guide.keys.space == "confirms the 3 marked lines"
    if hidden == "far view":
        guide.press("v")
    else:
        guide.controller.key_state = replace(guide.controller.key_state, roomy=False)
    assert guide.keys.space == "confirms the marked line"
    assert sum(tick.up for tick in guide.view.ticks) == 1
    before = len(guide.state.ticks)
    guide.wait(1.2)
    guide.press("space")
    assert len(guide.state.ticks) == before + 1


def test_without_the_setting_each_line_is_confirmed_by_itself() -> None:
    guide = at_step("negatives", one_answer=False)
    assert guide.keys.space == "confirms the marked line"


def test_an_answer_for_several_lines_never_includes_a_critical_one() -> None:
    state = at_step("chemistry").controller.state
    for first, also in (("developer-looks", "labelled"), ("labelled", "developer-looks")):
        with pytest.raises(Refused, match="by itself"):
            decided(state, c.MakeTick(state.at, f"chemistry/{first}", also=(f"chemistry/{also}",)))


def test_a_clean_evening_takes_fewer_presses_and_leaves_out_no_line() -> None:
    singly, at_once = clean_evening(one_answer=False), clean_evening(one_answer=True)
    assert singly.ticks == at_once.ticks == singly.planned_ticks
    assert at_once.critical_alone == singly.critical_alone > 30
    assert at_once.total < singly.total - 25
    assert at_once.total <= MOST_PRESSES


def with_critical_confirmed(id_: str, *, one_answer: bool = True) -> Guide:
    """This step with its critical lines confirmed by SPACE, its plain ones not yet a second on the screen."""
    guide = at_step(id_, one_answer=one_answer)
    while any(tick.killer and tick.up for tick in guide.view.ticks):
        guide.wait(1.2)
        guide.press("space")
    return guide


def test_enter_that_ends_a_step_confirms_the_plain_lines_after_the_critical_ones() -> None:
    guide = with_critical_confirmed("chemistry")
    plain = {tick.id for tick in guide.view.ticks if tick.up}
    assert guide.keys.enter == "confirms 3 lines and goes on"
    guide.wait(0.5)
    before = len(guide.events)
    guide.press("enter")
    assert guide.message == "Wait a second and read the marked lines, then ENTER."
    assert len(guide.events) == before
    guide.wait(1.0)
    guide.press("enter")
    new = guide.events[before:]
    assert {event.tick for event in new[:3] if isinstance(event, TickMade)} == plain
    assert isinstance(new[3], StepEnded)
    assert len({event.at for event in new}) == 1
    assert guide.view.step == "gear-measure"
    for _ in range(5):
        guide.wait(2.0)
        guide.press("enter")
    assert guide.view.step == "gear-measure"


@pytest.mark.parametrize(("columns", "rows", "whole"), [(80, 24, True), (120, 40, True), (40, 12, False)])
def test_a_window_that_cuts_into_the_first_of_the_marked_lines_does_not_show_them(
    columns: int, rows: int, whole: bool
) -> None:
    controller = with_critical_confirmed("chemistry").controller
    view, notices = controller.view(), Notices("", "", "", False, "")
    picture = guide_picture(
        view, controller.key_state, controller.keys(), notices, TextLayout(True), columns, rows
    )
    first = next(tick.text for tick in view.ticks if tick.up)
    drawn = "\n".join("".join(span.text for span in row) for row in picture)
    assert (f"SPACE  {first[:14]}" in drawn) is whole
    assert shows_all_marked(picture, view) is whole


def test_if_nothing_can_be_stored_no_line_is_confirmed_and_no_step_ends() -> None:
    guide = with_critical_confirmed("chemistry")
    guide.wait(1.2)
    before = guide.state
    guide.event_sink.failure = Refused("The disk is full.")
    guide.press("enter")
    assert guide.state == before


@pytest.mark.parametrize("why", ["no setting", "far view", "small window", "another key", "taken back"])
def test_enter_confirms_no_line_that_space_has_to_confirm(why: str) -> None:
    guide = with_critical_confirmed("chemistry", one_answer=why != "no setting")
    guide.wait(1.2)
    if why == "far view":
        guide.press("v")
    elif why == "small window":
        guide.controller.key_state = replace(guide.controller.key_state, roomy=False)
    elif why == "another key":
        guide.press("x")
    elif why == "taken back":
        guide.press("space")
        guide.dispatch(c.UndoTick(guide.now, "chemistry/in-date"))
    assert guide.keys.enter == ""
    before = guide.state
    guide.wait(1.2)
    guide.press("enter")
    assert guide.state == before


def test_a_screen_without_a_critical_line_needs_space_before_enter() -> None:
    guide = at_step("wash-up")
    guide.wait(5.0)
    assert guide.keys.enter == ""
    guide.press("enter")
    assert guide.view.step == "wash-up"


@pytest.mark.parametrize("id_", ["b1.load-room", "b1.developer", "b1.bleach-fix"])
def test_an_enter_that_starts_a_clock_or_ends_a_bath_confirms_no_line(id_: str) -> None:
    guide = at_step(id_)
    walker = Walker(guide)
    while guide.view.step == id_ and not guide.view.dark:
        assert not guide.keys.enter.startswith("confirms")
        walker.step()


def test_an_answer_that_ends_a_step_never_includes_a_critical_line() -> None:
    state = at_step("chemistry").controller.state
    with pytest.raises(Refused, match="by itself"):
        decided(state, c.EndStep(state.at, "chemistry", also=("chemistry/labelled",)))
