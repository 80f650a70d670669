"""What the shipped profiles ask, and when: each statement can be true when it is asked, and stands before its act.

The words were walked at the tank, fill by fill: a statement about film on the bench holds with a second fill there
too, a bottle is locked away after it is capped, and what is poured next is named while the bath before it runs.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_profile, shipped_setups

from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.planning.setup import Place
from wetside.domain.profile.model import Kind, Profile
from wetside.domain.session.gates import cannot_make, end_blockers, open_ticks, start_blockers
from wetside.domain.session.state import State, StepClock
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.presenter import waiting_tick

AT = 1000.0
PLACES: tuple[Place, ...] = ("dark room", "changing bag")
NAMES = ("motion-picture", "one-shot-reversal", "three-bath", "two-bath", "two-bath-prebath")
LABELLED = (
    ("motion-picture", "bleach"),
    ("motion-picture", "fixer"),
    ("three-bath", "bleach"),
    ("three-bath", "fixer"),
    ("two-bath", "bleach-fix"),
    ("two-bath-prebath", "bleach-fix"),
)
MOST_SINCE_READ_S = 60.0
"""Design number of our own: the prewet may stand between the developer's reading and its pour, and no more."""


EVENINGS = [(path, place) for path in shipped_setups() for place in PLACES]
MOTION_PICTURE = [each for each in EVENINGS if each[0].stem.startswith("motion-picture")]


@cache
def planned(path: Path, place: Place) -> tuple[Profile, Plan]:
    """A shipped evening at this place of loading."""
    setup = read_setup(path)
    profile = shipped_profile(setup.profile)
    return profile, make_plan(profile, replace(setup, place=place))


@pytest.fixture(params=EVENINGS, ids=lambda evening: f"{evening[0].stem}, {evening[1]}")
def evening(request: pytest.FixtureRequest) -> tuple[Profile, Plan]:
    path, place = request.param
    return planned(path, place)


@pytest.fixture
def profile(evening: tuple[Profile, Plan]) -> Profile:
    return evening[0]


@pytest.fixture
def plan(evening: tuple[Profile, Plan]) -> Plan:
    return evening[1]


def of_profile(name: str) -> list[Plan]:
    return [plan for profile, plan in (planned(*each) for each in EVENINGS) if profile.id == name]


def standing(plan: Plan, step: PlannedStep, *, running: bool = False) -> State:
    """At this step, with every tick made that fell due before it; its clock runs where it is `running`."""
    number = plan.number(step.id)
    made = {
        tick.id: 1.0
        for each in plan.steps[: number + 1]
        for tick in each.ticks
        if plan.number(tick.due_step) < number
        or (running and plan.number(tick.due_step) == number and tick.due_at == "start")
    }
    ended = {each.id: 1.0 for each in plan.steps[:number]}
    clocks = {step.id: StepClock(AT - 5.0, AT - 5.0, step.planned_s)} if running else {}
    wall = "2031-03-01T18:00:00Z"
    return State(plan=plan, current=step.id, wall=wall, opened_at=AT, ticks=made, clocks=clocks, ended=ended)


def offered(state: State, step: PlannedStep) -> list[PlannedTick]:
    """The ticks that SPACE confirms here, one after the other."""
    found: list[PlannedTick] = []
    while (tick := waiting_tick(state, step, AT)) is not None:
        found.append(tick)
        state = replace(state, ticks={**state.ticks, tick.id: AT})
    return found


def batches(plan: Plan) -> Iterator[list[PlannedStep]]:
    for batch in plan.batches:
        yield [step for step in plan.steps if step.batch == batch.number]


# ------------------------------------------------------------- loading


def test_before_loading_the_rolls_of_this_fill_and_no_others_are_to_lie_ready(
    profile: Profile, plan: Plan
) -> None:
    """Asked on the lit screen before, where the rolls are named, and never among what keeps the light out."""
    for steps in batches(plan):
        dark = next(number for number, step in enumerate(steps) if step.kind is Kind.DARK)
        before = steps[dark - 1]
        asked = [
            tick for step in steps[: dark + 1] for tick in step.ticks if "of this fill" in in_words(tick.text)
        ]
        assert [tick.killer for tick in asked] == [True]
        assert in_words(asked[0].text).startswith("Only ")
        assert before.kind is Kind.CHECK
        assert (asked[0].due_step, asked[0].due_at) == (before.id, "end")
        assert asked[0] in offered(standing(plan, before), before)
        made = {tick.id: AT for step in plan.steps for tick in step.ticks if tick is not asked[0]}
        (blocker,) = end_blockers(replace(standing(plan, before), ticks=made), before, AT)
        assert blocker.tick == asked[0]


def test_the_check_of_the_closed_tank_asks_nothing_about_the_rolls_of_another_fill(
    profile: Profile, plan: Plan
) -> None:
    for steps in batches(plan):
        (lid,) = (step for step in steps if step.of == "lid")
        rolls = [tick for tick in lid.ticks if "roll" in in_words(tick.text).lower()]
        assert [tick.killer for tick in rolls] == [True]
        assert "of this fill" in in_words(rolls[0].text)
        assert "olumn" in in_words(
            rolls[0].text
        )  # without it light reaches the film through the middle of the tank


# ------------------------------------------------------------ readings


def test_a_bottle_read_again_after_the_loading_is_brought_back_from_both_sides(
    profile: Profile, plan: Plan
) -> None:
    for steps in batches(plan):
        dark = next(number for number, step in enumerate(steps) if step.kind is Kind.DARK)
        again = [step for step in steps[dark:] if any(ask.required and ask.range_c for ask in step.readings)]
        assert again
        for step in again:
            assert "too cold" in in_words(step.instruction), step.id
            assert "too hot" in in_words(step.instruction), step.id
            assert "cooled" not in in_words(step.instruction), step.id


def test_the_developer_is_read_right_before_its_pour(profile: Profile, plan: Plan) -> None:
    for steps in batches(plan):
        pour = next(number for number, step in enumerate(steps) if step.ends == "on time")
        read = max(
            number
            for number, step in enumerate(steps[:pour])
            if any(ask.required and ask.of == steps[pour].solution for ask in step.readings)
        )
        assert sum(step.planned_s or 0.0 for step in steps[read + 1 : pour]) <= MOST_SINCE_READ_S


# --------------------------------------------------------------- baths


@pytest.mark.parametrize(("name", "bath"), LABELLED)
def test_a_label_is_read_while_the_bath_before_it_runs(name: str, bath: str) -> None:
    for plan in of_profile(name):
        for steps in batches(plan):
            number = next(number for number, step in enumerate(steps) if step.of == bath)
            before, here = steps[number - 1], steps[number]
            text = f"{here.solution_title} label read; its own funnel in hand"
            (tick,) = (tick for tick in before.ticks if tick.text == text)
            assert tick.killer
            running = standing(plan, before, running=True)
            assert cannot_make(running, tick, AT) is None
            if before.ends == "on time":  # then no hand has time for it between the two
                assert (tick.due_step, tick.due_at) == (before.id, "end")
                assert tick in open_ticks(running, before, "end")
            else:
                assert (tick.due_step, tick.due_at) == (here.id, "start")
                assert tick in open_ticks(standing(plan, here), here, "start")


def test_the_developer_bottle_is_put_away_before_anything_that_spoils_it_is_poured(
    profile: Profile, plan: Plan
) -> None:
    for steps in batches(plan):
        number = next(number for number, step in enumerate(steps) if step.ends == "on time")
        if steps[number].storage != "bottle":
            continue  # collected for the waste, not kept
        (tick,) = (tick for tick in steps[number].ticks if "out of reach of splashes" in in_words(tick.text))
        assert tick.killer
        assert (tick.due_step, tick.due_at) == (steps[number].id, "end")
        assert in_words(steps[number + 1].instruction).startswith("Developer bottle into its place; pour ")


def test_every_hazardous_bath_has_a_caution_at_its_own_gate(profile: Profile, plan: Plan) -> None:
    for step in plan.steps:
        if step.kind is not Kind.BATH or step.solution is None:
            continue
        if any(hazard.code.startswith("H") for hazard in profile.solution(step.solution).hazards):
            assert step.cautions, step.id


@pytest.mark.parametrize("evening", MOTION_PICTURE, ids=PLACES, indirect=True)
def test_water_is_poured_away_before_the_developer_only_where_it_was_left_in(plan: Plan) -> None:
    found = []
    for steps in batches(plan):
        number = next(number for number, step in enumerate(steps) if step.ends == "on time")
        flushed = any(step.of == "flush" for step in steps[:number])
        assert ("last water" in in_words(steps[number].instruction)) is flushed
        found.append(flushed)
    assert sorted(found) == [False, True]


def test_the_two_ways_into_the_motion_picture_developer_lead_to_one_bath() -> None:
    profile = shipped_profile("motion-picture")
    plain, flushed = profile.step("developer"), profile.step("developer-flushed")
    assert (plain.when, flushed.when) == (("not backed",), ("backed",))
    same = replace(flushed, id=plain.id, when=plain.when, instruction=plain.instruction, ticks=plain.ticks)
    assert same == plain


@pytest.mark.parametrize("evening", MOTION_PICTURE, ids=PLACES, indirect=True)
def test_that_no_black_came_out_is_asked_once_the_prewet_is_poured_out(plan: Plan) -> None:
    prewet = next(step for step in plan.steps if step.of == "prewet")
    developer = plan.steps[plan.number(prewet.id) + 1]
    (tick,) = (tick for tick in developer.ticks if "without black" in in_words(tick.text))
    running = standing(plan, prewet, running=True)
    assert tick not in offered(running, prewet)
    assert cannot_make(running, tick, AT) is not None
    assert tick.killer
    assert tick in open_ticks(standing(plan, developer), developer, "start")


# ------------------------------------------------------------ put away


def test_bottles_are_locked_up_after_all_else_is_done_to_them(profile: Profile, plan: Plan) -> None:
    away = next(step for step in plan.steps if step.stage == "put-away")
    order = offered(standing(plan, away), away)
    assert len(order) == len(away.ticks)
    assert order == list(away.ticks)
    assert "locked up" in in_words(order[-1].text)
    assert order[-1].killer
    after = plan.steps[plan.number(away.id) + 1]
    made = {tick.id: AT for tick in (*order[:-1], *after.ticks)}
    state = standing(plan, after)
    assert [each.tick for each in start_blockers(replace(state, ticks={**state.ticks, **made}), after, AT)] == [
        order[-1]
    ]


@pytest.mark.parametrize("name", NAMES)
def test_the_last_look_can_be_confirmed_with_nothing_noted(name: str) -> None:
    (tick,) = (tick for tick in shipped_profile(name).steps[-1].ticks if "noted" in tick.text)
    assert "left for later" in tick.text
