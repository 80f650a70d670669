"""Wet film waits an hour at most between two baths: the guide counts the end of it down."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_plan

from wetside.domain.planning.plan import Plan
from wetside.domain.session.state import State, StepClock
from wetside.present.presenter import build_view


@pytest.fixture(scope="module")
def plan() -> Plan:
    return shipped_plan("three-rolls")


def after(plan: Plan, last: str, current: str) -> State:
    """A session in which every bath and wash up to `last` ended at 1000 s."""
    done = [step.id for step in plan.steps[: plan.number(last) + 1] if step.timed]
    clocks = {id_: StepClock(0.0, 0.0, 60.0) for id_ in done}
    ended = dict.fromkeys(done, 1000.0)
    return State(plan=plan, current=current, wall="2031-03-01T18:00:00Z", clocks=clocks, ended=ended)


def shown(state: State, at: float) -> list[str]:
    return [clock.words for clock in build_view(state, at).background]


@pytest.mark.parametrize(("last", "current"), [("b1.prewet", "b1.developer"), ("b1.bleach-fix", "b1.wash")])
def test_between_two_baths_the_last_part_of_the_hour_for_wet_film_is_counted_down(
    plan: Plan, last: str, current: str
) -> None:
    state = after(plan, last, current)
    assert shown(state, 1000.0 + 2399.0) == []
    assert shown(state, 1000.0 + 2401.0) == ["Wet film to its next bath: 19:59 to go"]
    assert shown(state, 1000.0 + 3600.0) == ["Wet film to its next bath: time is up"]


def test_film_in_a_bath_does_not_count_as_waiting_until_its_time_is_over(plan: Plan) -> None:
    state = after(plan, "b1.bleach-fix", "b1.wash")
    washing = replace(state, clocks={**state.clocks, "b1.wash": StepClock(2000.0, 2000.0, 180.0)})
    assert shown(washing, 2100.0) == []
    assert "Wet film to its next bath: time is up" in shown(washing, 2180.0 + 3600.0)


def test_during_handwork_wet_film_counts_until_the_last_roll_is_in_its_bath(plan: Plan) -> None:
    baths = [step.id for step in plan.steps if step.of == "stabiliser"]
    state = after(plan, "b1.wash", plan.steps[plan.number("b1.wash") + 1].id)
    assert shown(state, 4650.0) == ["Wet film to its next bath: time is up"]
    some = {**state.clocks, baths[0]: StepClock(4000.0, 4000.0, 60.0)}
    waiting = replace(state, clocks=some, ended={**state.ended, baths[0]: 4060.0})
    assert shown(waiting, 4650.0) == ["Wet film to its next bath: time is up"]
    every = [step.id for step in plan.steps if step.batch == 1 and step.timed]
    in_them = {id_: state.clocks.get(id_, StepClock(4000.0, 4000.0, 60.0)) for id_ in every}
    assert shown(replace(state, clocks=in_them, ended=dict.fromkeys(every, 4060.0)), 9000.0) == []


def test_dry_film_does_not_count_as_waiting(plan: Plan) -> None:
    assert shown(after(plan, "b1.load-room", "b1.prewet"), 90000.0) == []
