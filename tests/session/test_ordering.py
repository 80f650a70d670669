"""Film is loaded while the bottles warm where the forecast leaves room, and no bottle overheats unseen."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import plan_for, shipped_profile, shipped_setup, shipped_setups

from wetside.domain.calc.tempering import TemperingBench as WarmBath
from wetside.domain.calc.tempering import ThermalBottle, first_above, forecast
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Loading, Setup
from wetside.domain.planning.warm_bath import FASTER, LONGER, overshoot
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session.gates import blockers_now
from wetside.files.setup_file import setup_from_text, write_setup
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import short_lines


def setup_of(name: str, loading: Loading = "while warming") -> Setup:
    return replace(shipped_setup(name), loading=loading)


def short(plan: Plan) -> str:
    return " ".join(" ".join(line.text for line in short_lines(plan, 80, False, None)).split())


def first(plan: Plan, kind: Kind) -> int:
    return next(number for number, step in enumerate(plan.steps) if step.kind is kind)


@pytest.mark.parametrize("name", [path.stem for path in shipped_setups()])
def test_the_first_fill_is_loaded_while_its_bottles_warm_and_read_again_before_its_pour(name: str) -> None:
    plan, old = plan_for(setup_of(name)), plan_for(setup_of(name, "after warming"))
    assert plan.loading is not None
    assert old.loading is not None
    assert (plan.loading.order, plan.loading.why) == ("while warming", "room")
    assert (old.loading.order, old.loading.why) == ("after warming", "chosen")
    assert first(plan, Kind.DARK) < first(plan, Kind.WAIT)
    assert first(old, Kind.WAIT) < first(old, Kind.DARK)
    again = plan.steps[first(plan, Kind.WAIT)]
    assert again.batch == 1
    assert any(ask.required and ask.range_c for ask in again.readings)
    assert first(plan, Kind.WAIT) < first(plan, Kind.BATH)
    assert plan.loading.saved_s == pytest.approx(old.hands_done_s - plan.hands_done_s)
    assert plan.loading.saved_s > 300.0
    assert old.loading.saved_s == pytest.approx(-plan.loading.saved_s)
    later = [step.of for step in plan.steps if step.batch == 2]
    assert later == [step.of for step in old.steps if step.batch == 2]


def test_the_chart_shows_the_loading_beside_the_warming_and_the_plan_says_what_it_saves() -> None:
    plan = plan_for(setup_of("three-rolls"))
    dark = next(row for row in plan.timeline if row.dark)
    warming = next(row for row in plan.timeline if row.row == "basin")
    assert warming.start_s < dark.start_s < dark.end_s < warming.end_s
    assert plan.tempering is not None
    assert warming.end_s - warming.start_s == pytest.approx(plan.tempering.ready_s)
    assert "; loading meanwhile saves 12 min" in short(plan)
    assert plan_json(plan)["loading"]["order"] == "while warming"


def test_the_order_of_loading_is_chosen_in_the_setup() -> None:
    setup = setup_of("three-rolls", "after warming")
    assert setup_from_text(write_setup(setup), "tonight.toml").loading == "after warming"
    assert "after warming, as the setup says; meanwhile would save 12 min" in short(plan_for(setup))
    assert plan_json(plan_for(setup))["loading"]["why"] == "chosen"


def test_where_a_bottle_may_overheat_unread_film_is_loaded_after_warming_and_the_plan_says_why() -> None:
    setup = setup_of("three-rolls")
    plan = plan_for(replace(setup, water=replace(setup.water, bath_c=58.0)))
    assert plan.loading is not None
    assert (plan.loading.order, plan.loading.why) == ("after warming", "too warm")
    assert plan.loading.over == "Developer"
    assert first(plan, Kind.WAIT) < first(plan, Kind.DARK)
    assert "after warming: the developer may be too hot" in short(plan)
    assert "unseen" in short(plan)


def test_bottles_that_never_come_into_range_are_waited_for_before_film_is_loaded() -> None:
    setup = setup_of("three-rolls")
    plan = plan_for(replace(setup, water=replace(setup.water, bath_c=30.0)))
    assert plan.loading is not None
    assert (plan.loading.order, plan.loading.why) == ("after warming", "never ready")


def test_a_process_whose_steps_name_no_order_warms_before_loading() -> None:
    profile = shipped_profile("two-bath")
    steps = tuple(
        replace(step, when=tuple(each for each in step.when if "warmed" not in each), ticks=())
        for step in profile.steps
        if step.id != "warm-again"
    )
    plan = make_plan(replace(profile, steps=steps), setup_of("three-rolls"))
    assert plan.loading is None
    assert first(plan, Kind.WAIT) < first(plan, Kind.DARK)


@given(
    st.floats(15.0, 30.0),
    st.floats(30.0, 70.0),
    st.floats(200.0, 2000.0),
    st.floats(2000.0, 12000.0),
    st.floats(2.0, 12.0),
    st.floats(60.0, 2400.0),
    st.floats(0.5, FASTER),
)
def test_no_bottle_within_the_margins_passes_its_limit_while_film_is_loaded(
    start_c: float, bath_c: float, ml: float, bath_ml: float, ua: float, unseen_s: float, factor: float
) -> None:
    bath = WarmBath((ThermalBottle("Developer", ml, start_c, ua),), bath_ml, bath_c, 20.0, 2.2)
    if overshoot(bath, (39.0,), unseen_s) is None:
        real = replace(bath, bottles=(ThermalBottle("Developer", ml, start_c, ua * factor),))
        # the instants of a forecast are 15 s apart, and a bottle warms less than this between two of them
        assert first_above(forecast(real, LONGER * unseen_s, 15.0), (39.05,)) is None


@pytest.mark.parametrize(
    ("limit_c", "at_s"),
    [
        (50.0, 495.0),  # half as fast again: 440 s × ln 3 = 483 s, at the next forecast instant
        (55.0, 795.0),  # 440 s × ln 6 = 788 s: later than planned, but within half as long again
        (57.0, None),  # 440 s × ln 10 = 1013 s
    ],
)
def test_overshoot_allows_for_a_faster_bottle_and_a_longer_loading(limit_c: float, at_s: float | None) -> None:
    """One litre with a time constant of 660 s in an endless bath of 60 °C, from 30 °C, unread for 600 s."""
    bath = WarmBath((ThermalBottle("Developer", 1000.0, 30.0, 4160.0 / 660.0),), 1e9, 60.0, 20.0, 0.0)
    assert overshoot(bath, (limit_c,), 600.0) == (None if at_s is None else (0, at_s))


def test_a_bottle_above_its_limit_is_reported_at_once_and_one_without_a_limit_never() -> None:
    bath = WarmBath((ThermalBottle("Developer", 1000.0, 40.0, 6.0),), 8000.0, 45.0, 20.0, 2.2)
    assert overshoot(bath, (39.0,), 60.0) == (0, 0.0)
    assert overshoot(bath, (None,), 7200.0) is None


def at_the_bottles(loading: Loading = "while warming") -> Guide:
    guide = guide_for(plan_for(setup_of("three-rolls", loading))).at_step("warm-bath")
    return guide


def read(guide: Guide, **values_c: float) -> None:
    for of, value_c in values_c.items():
        thing = of.replace("_", "-")
        command = c.TakeReading(guide.now, thing, value_c, f"{value_c} °C", confirmed=True)
        assert guide.dispatch(command)


def barred(guide: Guide) -> list[str]:
    state = guide.state
    assert state.current is not None
    step = state.plan.step(state.current)
    return [in_words(b.why) for b in blockers_now(state, step, guide.now) if b.key.startswith("unseen:")]


def test_a_bath_read_far_too_hot_bars_loading_until_it_is_cooled_and_read() -> None:
    guide = at_the_bottles()
    read(guide, developer=24.0, bleach_fix=24.0, bath=62.0)
    (text,) = barred(guide)
    assert text.startswith("Developer may pass 39.0 °C in ")
    assert "stir cold water into the bath" in text
    read(guide, bath=44.5)
    assert barred(guide) == []
    read(guide, developer=39.6)
    assert barred(guide)[0].startswith("Developer will be above 39.0 °C by now")


def test_loading_after_warming_has_no_gate_about_unread_bottles() -> None:
    guide = at_the_bottles("after warming")
    read(guide, developer=24.0, bleach_fix=24.0, bath=62.0)
    assert barred(guide) == []


def test_loading_delayed_too_long_asks_for_a_new_reading() -> None:
    guide = at_the_bottles()
    read(guide, developer=21.0, bleach_fix=21.0, bath=45.0)
    assert barred(guide) == []
    guide.at_step("b1.load-room")
    assert barred(guide) == []
    while guide.keys.space == "confirms the marked line":
        guide.wait(1.2)
        guide.press("space")
    guide.wait(900.0, 30.0)
    assert barred(guide)[0].startswith("Developer ")
    assert guide.view.act.startswith("Developer ")
    assert guide.keys.space == "types a temperature"
    guide.press("space")
    assert guide.panel is not None, "the bottles can be read here"
    guide.press("esc")
    read(guide, developer=36.0, bath=37.5, bleach_fix=36.0)
    assert barred(guide) == []


@pytest.mark.parametrize("loading", ["while warming", "after warming"])
def test_an_evening_in_either_order_can_be_completed_by_following_the_screen(loading: Loading) -> None:
    guide = guide_for(plan_for(setup_of("three-rolls", loading)))
    Walker(guide).lead()
    assert guide.state.outcome == "complete"
