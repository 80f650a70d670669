"""The plans of both shipped evenings: every roll hung once, every gate after its tick, background steps joined."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from tests.session.walker import PROFILES, SETUPS, shipped_plan

from wetside.errors import CheckFailed
from wetside.profile.model import Kind, Profile
from wetside.profile.read import read_profile
from wetside.session.plan import Plan
from wetside.session.planning import make_plan
from wetside.session.setup import Roll, Setup
from wetside.setup_file import read_setup


@cache
def profile() -> Profile:
    return read_profile(PROFILES / "two-bath.toml")


def setup_of(name: str) -> Setup:
    return read_setup(PROFILES / "setups" / f"{name}.toml")


def turned(name: str) -> Plan:
    """The shipped evening loaded in the other place."""
    setup = setup_of(name)
    place = "dark room" if setup.place == "changing bag" else "changing bag"
    return make_plan(profile(), replace(setup, place="dark room" if place == "dark room" else "changing bag"))


def plans() -> dict[str, Plan]:
    found = {name: shipped_plan(name) for name in SETUPS}
    return found | {f"{name}, other place": turned(name) for name in SETUPS}


PLANS = plans()


@pytest.fixture(params=PLANS)
def plan(request: pytest.FixtureRequest) -> Plan:
    return PLANS[str(request.param)]


def test_every_roll_is_stabilised_once_and_hung_once_after_it(plan: Plan) -> None:
    for roll in range(len(plan.setup.rolls)):
        mine = [step for step in plan.steps if step.roll == roll]
        kinds = [step.of for step in mine]
        assert kinds.count("stabiliser") == kinds.count("hang-up") == 1
        assert kinds.count("backing") == (plan.setup.rolls[roll].kind == "backed")
        assert kinds == sorted(kinds, key=["backing", "stabiliser", "hang-up"].index)


def test_every_roll_is_in_one_batch_and_its_steps_are_that_batch_s(plan: Plan) -> None:
    assert sorted(roll for batch in plan.batches for roll in batch.rolls) == list(range(len(plan.setup.rolls)))
    for step in plan.steps:
        if step.roll is not None:
            assert [b.number for b in plan.batches if step.roll in b.rolls] == [step.batch]


def test_every_tick_falls_due_at_or_after_the_step_it_stands_in(plan: Plan) -> None:
    ids = [tick.id for step in plan.steps for tick in step.ticks]
    assert len(ids) == len(set(ids))
    for number, step in enumerate(plan.steps):
        for tick in step.ticks:
            assert plan.number(tick.due_step) >= number, tick.id
            due = plan.step(tick.due_step)
            assert due.batch in (None, step.batch) or step.batch is None, tick.id


def test_every_background_step_is_joined_once_and_later(plan: Plan) -> None:
    for number, step in enumerate(plan.steps):
        if step.background:
            assert [plan.number(other.id) > number for other in plan.steps if other.joins == step.id] == [True]
    assert len({step.id for step in plan.steps}) == len(plan.steps)


def test_the_jar_never_holds_more_rolls_than_it_has_room_for(plan: Plan) -> None:
    inside: set[str] = set()
    for step in plan.steps:
        if step.of == "stabiliser":
            inside.add(step.id)
        inside.discard(step.joins or "")
        assert len(inside) <= profile().stabiliser_room


def test_one_roll_is_in_the_stabiliser_while_the_next_loses_its_backing() -> None:
    order = [step.id.removeprefix("b1.") for step in PLANS["three-rolls"].steps if step.roll is not None]
    assert order.index("r3.stabiliser") < order.index("r1.backing") < order.index("r3.hang-up")


def test_the_place_decides_which_way_of_loading_is_shown(plan: Plan) -> None:
    dark = [step for step in plan.steps if step.kind is Kind.DARK]
    room = plan.setup.place == "dark room"
    assert len(dark) == len(plan.batches)
    assert {step.of for step in dark} == {"load-room" if room else "load-bag"}
    assert all(step.in_the_dark == room for step in dark)
    assert all(len(step.remember) <= 3 for step in dark)
    assert all(any(tick.killer and tick.due_at == "start" for tick in step.ticks) for step in dark)


def test_a_dark_step_asks_nothing_before_its_own_end(plan: Plan) -> None:
    for step in plan.steps:
        if step.in_the_dark:
            assert all(tick.due_at == "start" for tick in step.ticks if tick.due_step == step.id)


def test_the_developer_has_its_table_and_a_pushed_batch_takes_longer() -> None:
    plan = PLANS["five-rolls-two-batches"]
    first, second = plan.step("b1.developer"), plan.step("b2.developer")
    assert first.planned_s is not None
    assert second.planned_s is not None
    assert plan.batches[1].push == 1.0
    assert second.factors.push == 1.25
    assert second.factors.use > first.factors.use
    assert second.planned_s / first.planned_s == pytest.approx(
        second.factors.push * second.factors.use / first.factors.use
    )


def test_nobody_takes_the_film_down_before_it_is_dry(plan: Plan) -> None:
    dry = next(row for row in plan.timeline if row.label == "Dry")
    down = next(row for row in plan.timeline if row.label == "Take the film down")
    assert down.start_s >= dry.end_s
    assert plan.hands_done_s <= dry.end_s
    assert plan.total_s == max(row.end_s for row in plan.timeline)


def test_no_hands_are_in_two_places(plan: Plan) -> None:
    hands = sorted((row.start_s, row.end_s) for row in plan.timeline if row.row == "hands")
    assert all(before[1] <= after[0] + 1e-6 for before, after in pairwise(hands))


def test_everything_that_does_not_go_together_is_said_at_once() -> None:
    setup = setup_of("three-rolls")
    bad = replace(setup, bottles=setup.bottles[:1], rolls=(*setup.rolls, Roll("Odd", "slide")))
    only_negative = replace(profile(), accepts=("standard", "backed"))
    with pytest.raises(CheckFailed) as failure:
        make_plan(only_negative, bad)
    text = str(failure.value)
    for part in ("Odd: ", "does not take slide film", "no bottle of bleach-fix", "no bottle of stabiliser"):
        assert part in text
