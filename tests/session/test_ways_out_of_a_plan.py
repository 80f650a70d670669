"""Where baths want temperatures that do not meet the plan offers a way; film hangs for the larger of two times."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_profile, shipped_setup

from wetside.app.clock import LocalZone
from wetside.domain.planning.setup import Roll, Tank
from wetside.domain.profile.model import Kind
from wetside.domain.session.developer import pours, rinses_before
from wetside.domain.session.state import State, StepClock
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.plan_text import plan_lines, serious
from wetside.present.presenter import build_view
from wetside.present.wording import later_by_clock, temperature

SETUP = shipped_setup("three-rolls")


def test_a_developer_below_the_range_of_the_bleach_fix_is_offered_two_baths() -> None:
    (worry,) = (w for w in plan_for(replace(SETUP, developer_c=31.0)).warnings if w.code == "never-ready")
    assert "Developer (30.4 to 31.6 °C) and Bleach-fix (35.0 to 40.5 °C) never meet" in in_words(worry)
    assert "give each a bath of its own, or choose a developer temperature" in in_words(worry)


def test_the_bath_aims_at_the_middle_of_the_range() -> None:
    """37.8 to 39.0 °C: the bottle settles at 38.4 °C, and not at a target near the upper edge."""
    plan = plan_for(SETUP)
    assert plan.tempering is not None
    highest = max(bottle_c for _, _, bottle_c in plan.tempering.curve)
    assert abs(highest - 38.4) < 0.05


def hanging_s(humidity: float) -> float:
    plan = plan_for(replace(SETUP, water=replace(SETUP.water, room_c=20.0, humidity=humidity)))
    return next(step.planned_s or 0.0 for step in plan.steps if step.kind is Kind.HANG)


def test_film_hangs_for_the_larger_of_least_time_and_guess() -> None:
    least_s = next(s.time_s or 0.0 for s in shipped_profile("two-bath").steps if s.kind is Kind.HANG)
    assert hanging_s(0.1) == least_s
    assert hanging_s(0.8) > least_s
    assert hanging_s(0.99) == least_s, "there is no guess for air that takes up nothing"


def test_rolls_that_wait_wet_for_more_than_an_hour_give_an_alert() -> None:
    many = tuple(Roll(f"Roll {number}", "backed") for number in range(1, 17))
    tank = Tank(16, tuple(250.0 + 100.0 * number for number in range(16)))
    bottles = tuple(replace(bottle, volume_ml=5000.0) for bottle in SETUP.bottles)
    plan = plan_for(replace(SETUP, rolls=many, tank=tank, bottles=bottles))
    (worry,) = (w for w in serious(plan) if w.code == "handwork-late")
    assert "more than 1 h after the handwork begins" in in_words(worry)
    assert "handwork-late" not in {w.code for w in plan_for(SETUP).warnings}


@pytest.mark.parametrize(
    ("begins", "done"),
    [((2031, 3, 30, 1, 0), "03:30"), ((2031, 10, 26, 2, 30), "03:00"), ((2031, 6, 1, 1, 0), "02:30")],
)
def test_times_of_day_are_right_across_a_daylight_saving_change(begins: tuple[int, ...], done: str) -> None:
    """Berlin, by the time zone database: on 30 March 2031 there is no 02:30, on 26 October it comes twice."""
    year, month, day, hour, minute = begins
    starts_at = datetime(year, month, day, hour, minute, tzinfo=ZoneInfo("Europe/Berlin"))
    plan = replace(plan_for(SETUP), hands_done_s=5400.0, total_s=5400.0)
    assert f"Done       {done}, dry about {done}" in "\n".join(plan_lines(plan, 80, False, starts_at))


def test_daylight_saving_changes_of_the_local_zone_count_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    try:
        before = datetime(2031, 3, 30, 0, 30, tzinfo=UTC).astimezone(LocalZone())
        after = (before.astimezone(UTC) + timedelta(hours=1)).astimezone(before.tzinfo)
        assert (before.hour, after.hour) == (1, 3)
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("profile", ["two-bath", "two-bath-prebath"])
@pytest.mark.parametrize("developer_c", [30.0, 32.2, 35.0, 38.0, None])
def test_water_before_the_developer_follows_the_chosen_developer_temperature(
    profile: str, developer_c: float | None
) -> None:
    """Every rinse up to the pour, by the figures of the step and by its words; the washes keep their own."""
    setup = shipped_setup("prebath-four-rolls")
    bottles = tuple(b for b in setup.bottles if profile != "two-bath" or b.solution != "prebath")
    plan = make_plan(shipped_profile(profile), replace(setup, developer_c=developer_c, bottles=bottles))
    wanted_c = developer_c if developer_c is not None else 38.889
    for pour in pours(plan):
        rinses = [s for s in rinses_before(plan, plan.step(pour.step)) if s.storage == "tap"]
        assert rinses
        for rinse in rinses:
            assert rinse.target_c == pytest.approx(wanted_c, abs=0.01)
            words = [in_words(rinse.instruction), *(in_words(tick.text) for tick in rinse.ticks)]
            assert not [text for text in words if "°C" in text], "a figure would be that of one evening alone"
            view = build_view(State(plan=plan, current=rinse.id, wall="2031-03-01T18:00:00Z"), 0.0)
            assert any(f"at {temperature(wanted_c)}." in fact for fact in view.facts)
            assert view.clock is not None
            assert view.clock.words.endswith(f"at {temperature(wanted_c)}")
    washes = [s for s in plan.steps if s.of == "wash"]
    assert washes
    assert all(wash.target_c == pytest.approx(38.889, abs=0.01) for wash in washes)


def test_an_end_after_a_daylight_saving_change_is_given_in_the_new_time() -> None:
    """Berlin, 30 March 2031, by the time zone database: 01:50 and a wash of 20 minutes ends at 03:10."""

    def berlin_s(instant: datetime) -> int:
        offset = instant.astimezone(ZoneInfo("Europe/Berlin")).utcoffset()
        return round(offset.total_seconds()) if offset is not None else 0

    plan = plan_for(SETUP)
    clock = StepClock(0.0, 0.0, 1200.0)
    state = State(
        plan=plan, current="b1.wash", wall="2031-03-30T00:50:00Z", offset_s=3600, clocks={"b1.wash": clock}
    )
    view = build_view(state, 0.0, offset_s_at=berlin_s)
    assert view.clock is not None
    assert (view.wall, view.clock.end_clock) == ("01:50", "03:10")
    after = build_view(replace(state, offset_s=7200), 900.0, offset_s_at=berlin_s)
    assert after.clock is not None
    assert (after.wall, after.clock.end_clock) == ("03:05", "03:10")


def test_an_evening_begun_in_the_repeated_hour_keeps_its_offset(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Berlin, 26 October 2031: 00:30 and 01:30 UTC are both 02:30; 45 minutes later it is 02:15 or 03:15."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    try:
        for hour, later in ((0, "02:15"), (1, "03:15")):
            begun = datetime(2031, 10, 26, hour, 30, tzinfo=UTC).astimezone(LocalZone())
            assert f"{begun:%H:%M}" == "02:30"
            assert f"{later_by_clock(begun, 2700.0):%H:%M}" == later
    finally:
        monkeypatch.undo()
        time.tzset()
