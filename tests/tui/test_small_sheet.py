"""At 40 by 12 what is left of a step is whole: ways to avoid, what is wanted, and sentences about the warming."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_setup
from tests.tui.seen import plain_rows

from wetside.domain.planning.plan import Plan
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State, StepClock
from wetside.present.presenter import build_view
from wetside.present.tempering_forecast import tempering_forecast
from wetside.tui.rows import TextLayout
from wetside.tui.step_rows import step_rows

CELLS, ROWS = 40, 9
"""What the heading and the keys leave of 40 by 12."""


@pytest.fixture(scope="module", params=["after warming", "while warming"])
def plan(request: pytest.FixtureRequest) -> Plan:
    setup = shipped_setup("motion-picture-short-ends")
    setup = replace(setup, loading=request.param)
    return plan_for(setup)


def rows_of(state: State, at: float) -> list[str]:
    drawn = step_rows(build_view(state, at), TextLayout(True), CELLS, ROWS, forecast=tempering_forecast(state, at))
    return list(plain_rows(tuple(drawn)))


def state_at(plan: Plan, step: str, *readings: ReadingTaken) -> State:
    made = {tick.id: 0.0 for other in plan.steps[: plan.number(step)] for tick in other.ticks}
    wall = "2031-03-01T18:00:00Z"
    return State(plan=plan, current=step, wall=wall, opened_at=600.0, ticks=made, readings=readings)


@pytest.mark.parametrize(
    "step", ["chemistry", "room", "protect", "warm-bath", "b1.load-room", "b1.prebath", "b1.stop"]
)
def test_how_to_avoid_the_hazard_is_not_cut(plan: Plan, step: str) -> None:
    shown = " ".join(" ".join(rows_of(state_at(plan, step), 600.0)).split())
    caution = build_view(state_at(plan, step), 600.0).cautions[0]
    assert f"{caution.signal} " in shown
    assert caution.avoid in shown


def warming(plan: Plan) -> str:
    """The step in which the bottles come into range: of its own, or after the loading."""
    return "temper" if plan.setup.loading == "after warming" else "b1.warm-again"


@pytest.mark.parametrize("read_c", [33.0, 45.0])
def test_the_wanted_range_of_a_reading_is_not_cut(plan: Plan, read_c: float) -> None:
    reading = ReadingTaken(700.0, warming(plan), "developer", read_c, "")
    shown = rows_of(state_at(plan, warming(plan), reading), 700.0)
    (row,) = (line for line in shown if line.startswith("Developer: "))
    assert "41.0 to 41.2 °C" in row
    assert ("too cold" if read_c < 41.0 else "too hot") in row


def test_while_a_bottle_warms_its_minutes_are_shown_whole(plan: Plan) -> None:
    read = (
        ReadingTaken(500.0, "warm-bath", "developer", 21.0, ""),
        ReadingTaken(510.0, "warm-bath", "bath", 47.3, ""),
        ReadingTaken(900.0, warming(plan), "developer", 33.0, ""),
    )
    state = state_at(plan, warming(plan), *read)
    forecast = tempering_forecast(state, 900.0)
    assert forecast is not None
    shown = " ".join(" ".join(rows_of(state, 900.0)).split())
    assert forecast.words[0] in shown


@pytest.mark.parametrize("at", [600.0, 900.0, 1800.0, 5400.0])
def test_a_sentence_about_the_warming_is_shown_whole_or_not_at_all(plan: Plan, at: float) -> None:
    for step in {warming(plan), "b1.warm-again"}:
        state = state_at(plan, step)
        forecast = tempering_forecast(state, at)
        assert forecast is not None
        shown = " ".join(" ".join(rows_of(state, at)).split())
        for sentence in forecast.words:
            begins = " ".join(sentence.split()[:3])
            assert (sentence in shown) or (begins not in shown)


def test_the_forecast_takes_no_room_from_the_readings(plan: Plan) -> None:
    for step in {warming(plan), "b1.warm-again"}:
        shown = rows_of(state_at(plan, step), 600.0)
        assert any(row.startswith("Developer: wanted 41.0 to 41.2 °C") for row in shown)
        assert any(row.startswith("Developer ready in") for row in shown)


def test_between_two_baths_the_hazard_is_shown_beside_the_running_seconds(plan: Plan) -> None:
    """Acid goes onto developer here; no statement is asked between the two."""
    before = plan.steps[plan.number("b1.stop") - 1]
    state = state_at(plan, "b1.stop")
    drained = {before.id: StepClock(0.0, 0.0, 60.0, drained_at=590.0)}
    state = replace(state, clocks=drained, ended={before.id: 595.0}, last_ended=before.id)
    view = build_view(state, 600.0)
    assert not any(tick.up for tick in view.ticks)
    rows = rows_of(state, 600.0)
    shown = " ".join(" ".join(rows).split())
    assert view.cautions[0].avoid in shown
    assert any(row.startswith("0:10 since") for row in rows)


@pytest.mark.parametrize("rows", range(4, 24))
def test_a_sentence_about_the_step_is_shown_whole_or_not_at_all(plan: Plan, rows: int) -> None:
    layout = TextLayout(True)
    for step in plan.steps:
        view = build_view(state_at(plan, step.id), 600.0)
        drawn = plain_rows(tuple(step_rows(view, layout, CELLS, rows)))
        for fact in view.facts:
            lines = layout.wrap(fact, CELLS)
            assert sum(line in drawn for line in lines) in (0, len(lines)), (step.id, fact)
