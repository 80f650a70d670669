"""The plans of both shipped evenings: every roll hung once, every gate after its tick, background steps joined."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.session.walker import TWO_BATH
from tests.shipped import shipped_plan, shipped_profile, shipped_setup, shipped_setups

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Roll
from wetside.domain.profile.model import FilmKind, Kind
from wetside.domain.session.state import State
from wetside.errors import CheckFailed
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan
from wetside.present.tempering_forecast import tempering_forecast
from wetside.present.tempering_text import plan_answers

OTHER = ", other place"


@cache
def turned(name: str) -> Plan:
    """The shipped evening loaded in the other place."""
    setup = shipped_setup(name)
    place = "dark room" if setup.place == "changing bag" else "changing bag"
    return make_plan(
        shipped_profile("two-bath"), replace(setup, place="dark room" if place == "dark room" else "changing bag")
    )


@pytest.fixture(params=[f"{name}{other}" for other in ("", OTHER) for name in TWO_BATH])
def plan(request: pytest.FixtureRequest) -> Plan:
    name = str(request.param)
    return turned(name.removesuffix(OTHER)) if name.endswith(OTHER) else shipped_plan(name)


def test_every_roll_is_stabilised_once_and_hung_once_after_it(plan: Plan) -> None:
    for roll in range(len(plan.setup.rolls)):
        mine = [step for step in plan.steps if step.roll == roll]
        kinds = [step.of for step in mine]
        assert kinds.count("stabiliser") == kinds.count("hang-up") == 1
        assert kinds.count("backing") == (plan.setup.rolls[roll].kind == "backed")
        assert kinds == sorted(kinds, key=["off-reel", "backing", "stabiliser", "hang-up"].index)


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
        assert len(inside) <= shipped_profile("two-bath").stabiliser_room


def test_one_roll_is_in_the_stabiliser_while_the_next_loses_its_backing() -> None:
    setup = shipped_setup("three-rolls")
    plan = make_plan(
        shipped_profile("two-bath"), replace(setup, rolls=(Roll("one", "backed"), Roll("two", "backed")))
    )
    order = [step.id.removeprefix("b1.") for step in plan.steps if step.roll is not None]
    assert order.index("r1.stabiliser") < order.index("r2.backing") < order.index("r1.hang-up")


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
    plan = shipped_plan("five-rolls-two-batches")
    first, second = plan.step("b1.developer"), plan.step("b2.developer")
    assert first.planned_s is not None
    assert second.planned_s is not None
    assert plan.batches[1].push == 1.0
    assert second.factors.push == 1.25
    assert second.factors.use > first.factors.use
    assert second.planned_s / first.planned_s == pytest.approx(
        second.factors.push * second.factors.use / first.factors.use
    )


def test_film_is_not_taken_down_before_it_is_dry(plan: Plan) -> None:
    dry = next(row for row in plan.timeline if row.label == "Dry")
    down = next(row for row in plan.timeline if row.label == "Take the film down")
    assert down.start_s >= dry.end_s
    assert plan.hands_done_s <= dry.end_s
    assert plan.total_s == max(row.end_s for row in plan.timeline)


def test_handwork_never_overlaps(plan: Plan) -> None:
    hands = sorted((row.start_s, row.end_s) for row in plan.timeline if row.row == "hands")
    assert all(before[1] <= after[0] + 1e-6 for before, after in pairwise(hands))


PREBATH = "prebath-four-rolls"
"""Two backed rolls in the first tank fill, two that are not in the second."""


def prebath_plan(*kinds: FilmKind) -> Plan:
    """The shipped evening with a prebath; with `kinds`, its rolls are of these instead."""
    setup = shipped_setup(PREBATH)
    if kinds:
        setup = replace(setup, rolls=tuple(Roll(f"Roll {n}", kind) for n, kind in enumerate(kinds, 1)))
    return make_plan(shipped_profile("two-bath-prebath"), replace(setup, loading="after warming"))


def read_in(plan: Plan, step: str) -> list[str]:
    return [ask.of for ask in plan.step(step).readings]


def test_the_prebath_is_read_where_it_is_warmed_and_before_its_own_pour() -> None:
    plan = prebath_plan()
    assert [len(batch.rolls) for batch in plan.batches] == [2, 2]
    for step in ("warm-bath", "temper", "b1.read-again"):
        asked = read_in(plan, step)
        assert asked.index("developer") < asked.index("prebath") < asked.index("bleach-fix"), step
    assert plan.number("b1.read-again") + 1 == plan.number("b1.prebath")
    ranges = {ask.range_c for step in ("temper", "b1.read-again") for ask in plan.step(step).readings[1:2]}
    assert ranges == {(35.0, 40.0)}
    # the second fill has no backing: nothing of the prebath is asked for again
    assert "prebath" not in read_in(plan, "b2.warm-again")
    assert "b2.prebath" not in [step.id for step in plan.steps]


def test_a_later_fill_of_backed_film_reads_the_prebath_again() -> None:
    plan = prebath_plan("backed", "backed", "backed")
    assert "prebath" in read_in(plan, "b2.warm-again")
    assert plan.number("b2.warm-again") + 1 == plan.number("b2.prebath")


def test_without_backed_film_the_prebath_is_neither_read_nor_warmed() -> None:
    plan = prebath_plan("standard", "slide")
    assert all("prebath" not in read_in(plan, step.id) for step in plan.steps)
    assert "set-out-prebath" not in [step.id for step in plan.steps]
    assert plan.tempering is not None
    assert not any("Prebath" in words for words in plan_answers(plan))


@pytest.mark.parametrize("kinds", [(), ("standard", "slide")], ids=["backed", "not backed"])
def test_plan_and_screen_agree_on_when_the_bottles_are_ready_and_how_long_they_stay(
    kinds: tuple[FilmKind, ...],
) -> None:
    plan = prebath_plan(*kinds)
    screen = tempering_forecast(State(plan=plan, current="temper", opened_at=600.0), 600.0)
    assert plan.tempering is not None
    assert screen is not None
    assert (screen.ready_s, screen.leaves_s) == pytest.approx(
        (plan.tempering.ready_s, plan.tempering.leaves_range_s), abs=10.0
    )
    assert set(screen.words) <= {*plan.tempering.words, *(sentence(words) for words in plan_answers(plan))}


def sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}".rstrip(".") + "."


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_a_wash_in_the_tank_is_drawn_in_the_row_of_the_tank(path: Path) -> None:
    """The row of the basin would read as opening the tank: no wash of film that minds light stands there."""
    setup = read_setup(path)
    profile = shipped_profile(setup.profile)
    plan = make_plan(profile, setup)
    washes = {s.title for s in profile.steps if s.kind is Kind.WASH and s.scope == "batch"}
    rows = {row.label: row.row for row in plan.timeline if row.label in washes and row.row != "hands"}
    assert rows
    assert set(rows) == washes & {step.title for step in plan.steps}
    assert set(rows.values()) == {"tank"}


def test_a_wash_in_a_basin_is_drawn_in_the_row_of_the_basin() -> None:
    steps = tuple(
        replace(step, into="basin") if step.id == "wash" else step for step in shipped_profile("two-bath").steps
    )
    plan = make_plan(replace(shipped_profile("two-bath"), steps=steps), shipped_setup("three-rolls"))
    names = {row.label: row.row for row in plan.timeline if row.row != "hands"}
    assert names["Wash in the open tank"] == "basin"


def test_all_conflicts_of_profile_and_setup_are_reported_at_once() -> None:
    setup = shipped_setup("three-rolls")
    bad = replace(setup, bottles=setup.bottles[:1], rolls=(*setup.rolls, Roll("Odd", "slide")))
    only_negative = replace(shipped_profile("two-bath"), accepts=("standard", "backed"))
    with pytest.raises(CheckFailed) as failure:
        make_plan(only_negative, bad)
    text = str(failure.value)
    for part in ("Odd: ", "does not take slide film", "no bottle of bleach-fix", "no bottle of stabiliser"):
        assert part in text
