"""One answer for the plain lines of a screen: what it confirms, what stays single, what it saves."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.session.presses import clean_evening
from tests.session.walker import Bench, Walker, bench_for, shipped_plan

from wetside.domain.session import commands as c
from wetside.domain.session.decide import decide
from wetside.domain.session.events import TickMade
from wetside.errors import Refused

MOST_PRESSES = 145


def at_step(id_: str, *, one_answer: bool = True) -> Bench:
    """The shipped evening of three rolls, at this step."""
    bench = bench_for(shipped_plan("three-rolls"), one_answer=one_answer)
    walker = Walker(bench)
    while bench.desk.view().step != id_:
        assert walker.step()
    return bench


def test_one_space_confirms_the_plain_lines_after_the_critical_ones() -> None:
    bench = at_step("chemistry")
    view = bench.desk.view()
    plain = [tick.id for tick in view.ticks if not tick.killer]
    critical = [tick.id for tick in view.ticks if tick.killer]
    assert (len(critical), len(plain)) == (2, 3)
    for id_ in critical:
        assert [tick.id for tick in bench.desk.view().ticks if tick.up] == [id_]
        assert bench.desk.keys().space == "confirms the marked line"
        bench.wait(1.2)
        bench.press("space")
        assert list(bench.desk.state.ticks)[-1] == id_
    assert [tick.id for tick in bench.desk.view().ticks if tick.up] == plain
    assert bench.desk.keys().space == "confirms the 3 marked lines"
    bench.press("space")
    assert bench.desk.hand.message == "Wait a second and read the marked lines, then SPACE."
    bench.wait(1.2)
    bench.press("space")
    assert set(bench.desk.state.ticks) == {*critical, *plain}
    made = [event for event in bench.keeper.events if isinstance(event, TickMade) and event.tick in plain]
    assert len(made) == 3
    assert len({event.at for event in made}) == 1


@pytest.mark.parametrize("hidden", ["far view", "a window that shows only some"])
def test_lines_that_do_not_all_stand_on_the_screen_are_confirmed_one_by_one(hidden: str) -> None:
    bench = at_step("negatives")
    assert bench.desk.keys().space == "confirms the 3 marked lines"
    if hidden == "far view":
        bench.press("v")
    else:
        bench.desk.hand = replace(bench.desk.hand, roomy=False)
    assert bench.desk.keys().space == "confirms the marked line"
    assert sum(tick.up for tick in bench.desk.view().ticks) == 1
    before = len(bench.desk.state.ticks)
    bench.wait(1.2)
    bench.press("space")
    assert len(bench.desk.state.ticks) == before + 1


def test_without_the_setting_each_line_is_confirmed_by_itself() -> None:
    bench = at_step("negatives", one_answer=False)
    assert bench.desk.keys().space == "confirms the marked line"


def test_no_answer_for_several_lines_holds_a_critical_one() -> None:
    state = at_step("chemistry").desk.state
    for first, also in (("developer-looks", "labelled"), ("labelled", "developer-looks")):
        with pytest.raises(Refused, match="by itself"):
            decide(state, c.MakeTick(state.at, f"chemistry/{first}", also=(f"chemistry/{also}",)))


def test_a_clean_evening_takes_fewer_presses_and_leaves_out_no_line() -> None:
    singly, at_once = clean_evening(one_answer=False), clean_evening(one_answer=True)
    assert singly.ticks == at_once.ticks == singly.planned_ticks
    assert at_once.critical_alone == singly.critical_alone > 30
    assert at_once.total < singly.total - 25
    assert at_once.total <= MOST_PRESSES
