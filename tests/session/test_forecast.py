"""The tempering forecast of a session: which readings count, what it says, and when it begins again."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_profile, shipped_setup

from wetside.domain.calc.tempering import later
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.warm_bath import bench_of, tempered
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.readings import valid_readings
from wetside.domain.session.state import State
from wetside.present.plan_words import warming_words
from wetside.present.presenter import build_view
from wetside.present.tempering_forecast import tempering_forecast
from wetside.present.tempering_text import bath_water, plan_answers


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The shipped evening of three rolls, loaded once its bottles are warm."""
    setup = shipped_setup("three-rolls")
    setup = replace(setup, loading="after warming")
    return plan_for(setup)


def reading(at: float, of: str, value_c: float, step: str = "temper") -> ReadingTaken:
    return ReadingTaken(at, step, of, value_c, f"{value_c} °C")


def tempering(plan: Plan, *readings: ReadingTaken) -> State:
    return State(plan=plan, current="temper", opened_at=600.0, readings=readings)


def readings_of_a_bench(plan: Plan, every_s: float, count: int, factor: float) -> tuple[ReadingTaken, ...]:
    """What a bench reads whose bottles take heat `factor` times as well as usual ones."""
    setup = plan.setup
    profile = shipped_profile(setup.profile)
    bench = bench_of(setup, tempered(profile, setup), 44.0)
    bottles = tuple(replace(b, temperature_c=20.0, ua_w_per_k=b.ua_w_per_k * factor) for b in bench.bottles)
    bench = replace(bench, bottles=bottles)
    found = []
    for number in range(count):
        now = later(bench, number * every_s) if number else bench
        at = 600.0 + number * every_s
        found += [
            reading(at, "developer", round(now.bottles[0].temperature_c, 1)),
            reading(at, "bleach-fix", round(now.bottles[1].temperature_c, 1)),
            reading(at, "bath", round(now.bath_c, 1)),
        ]
    return tuple(found)


def test_a_forecast_without_readings_is_that_of_the_plan(plan: Plan) -> None:
    found = tempering_forecast(tempering(plan), 600.0)
    assert found is not None
    assert plan.tempering is not None
    assert plan.tempering.ready_s is not None
    assert found.ready_s == pytest.approx(plan.tempering.ready_s, abs=30)
    assert not found.measured
    assert "guess" in found.words[-1]
    assert found.words[0].startswith("Developer ready in 15 to 36 min, too cold in 57 min")


def test_a_plan_rounds_the_warming_alike_everywhere_and_promises_no_minute_too_many(plan: Plan) -> None:
    assert plan.tempering is not None
    assert plan.tempering.ready_s is not None
    together = next(each for each in plan_answers(plan) if each.startswith("all ready"))
    found = re.fullmatch(r"all ready in (\d+ to \d+ min), held for (\d+) min", together)
    assert found is not None, together
    assert warming_words(plan).startswith(found[1])
    assert plan.tempering.leaves_range_s is not None
    assert float(found[2]) * 60.0 <= plan.tempering.leaves_range_s - plan.tempering.ready_s


def test_more_readings_narrow_the_span_of_the_ready_time(plan: Plan) -> None:
    """Each is within the one before; the thermometer's own error keeps the last from being a single minute."""
    widths = []
    for rounds in (0, 3, 6):
        state = tempering(plan, *readings_of_a_bench(plan, 150.0, rounds, 1.0))
        found = tempering_forecast(state, 600.0 + 150.0 * max(0, rounds - 1))
        assert found is not None
        early, late = re.findall(r"\d+", found.words[0].partition(",")[0])
        widths.append(int(late) - int(early))
    assert widths == sorted(widths, reverse=True)
    assert 1 <= widths[-1] < widths[0] / 2


def test_forecast_learns_a_quicker_heat_transfer(plan: Plan) -> None:
    readings = readings_of_a_bench(plan, 150.0, 4, 1.5)
    found = tempering_forecast(tempering(plan, *readings), 1050.0)
    assert found is not None
    assert found.measured
    assert "Fitted to 12 readings" in found.words[-1]
    slow = tempering_forecast(tempering(plan, *readings[:3]), 600.0)
    assert slow is not None
    assert slow.ready_s is not None
    assert found.ready_s is not None
    assert found.ready_s + 450.0 < slow.ready_s - 60.0


def test_the_narrowest_range_comes_first_and_the_bath_last(plan: Plan) -> None:
    found = tempering_forecast(tempering(plan, *readings_of_a_bench(plan, 150.0, 2, 1.0)), 900.0)
    assert found is not None
    assert [line.name for line in found.lines] == ["Developer", "Bleach-fix", "Warm bath"]
    assert [len(line.readings) for line in found.lines] == [2, 2, 2]
    assert found.lines[0].range_c == pytest.approx((340 / 9, 39.0))
    assert found.lines[2].range_c is None
    times = [at_s for at_s, _ in found.lines[0].points]
    assert times == sorted(times)
    assert times[0] == 600.0
    assert times[-1] > found.now_s


def test_forecast_curve_passes_through_the_readings(plan: Plan) -> None:
    readings = readings_of_a_bench(plan, 150.0, 5, 0.7)
    found = tempering_forecast(tempering(plan, *readings), 1230.0)
    assert found is not None
    for line in found.lines[:2]:
        for at_s, value_c in line.readings:
            nearest = min(line.points, key=lambda point: abs(point[0] - at_s))
            assert nearest[1] == pytest.approx(value_c, abs=0.4)


def test_added_water_restarts_the_forecast_with_the_learned_transfer(plan: Plan) -> None:
    readings = readings_of_a_bench(plan, 150.0, 4, 1.5)
    before = tempering_forecast(tempering(plan, *readings), 1100.0)
    after = tempering_forecast(tempering(plan, *readings, reading(1100.0, "bath", 48.0)), 1100.0)
    assert before is not None
    assert after is not None
    assert after.measured
    assert after.lines[2].points[-1][1] > before.lines[2].points[-1][1] + 2.0
    assert any("too hot" in word for word in after.words)
    assert any("cold tap" in word for word in after.words)


@given(st.floats(1.6, 40.0), st.floats(5.0, 90.0))
def test_reading_corrected_at_once_does_not_count(plan: Plan, off_c: float, after_s: float) -> None:
    readings = readings_of_a_bench(plan, 150.0, 3, 1.2)
    right = reading(1000.0 + after_s, "developer", 33.0)
    slip = reading(1000.0, "developer", 33.0 + off_c)
    assert tempering_forecast(tempering(plan, *readings, slip, right), 1100.0) == tempering_forecast(
        tempering(plan, *readings, right), 1100.0
    )


def test_a_later_reading_that_is_not_a_correction_counts_beside_the_first(plan: Plan) -> None:
    first = reading(1000.0, "developer", 35.0)
    for after in (
        reading(1091.0, "developer", 33.0),
        reading(1010.0, "developer", 33.6),
        reading(1010.0, "bleach-fix", 33.0),
        reading(1010.0, "developer", 33.0, step="b1.read"),
    ):
        assert valid_readings((first, after)) == (first, after)
    bath = (reading(1000.0, "bath", 38.0), reading(1010.0, "bath", 43.0))
    assert valid_readings(bath) == bath


def test_readings_of_the_measuring_step_before_count_and_older_ones_do_not(plan: Plan) -> None:
    before = (reading(100.0, "developer", 30.0, "chemistry"), reading(500.0, "developer", 22.0, "warm-bath"))
    found = tempering_forecast(tempering(plan, *before), 600.0)
    assert found is not None
    assert found.lines[0].readings == ((500.0, 22.0),)


def test_forecast_is_refreshed_every_15_s(plan: Plan) -> None:
    state = tempering(plan, *readings_of_a_bench(plan, 150.0, 2, 1.0))
    first, same, later_on = (tempering_forecast(state, at) for at in (915.0, 929.0, 930.0))
    assert first is same
    assert later_on is not None
    assert first is not None
    assert later_on.now_s == first.now_s + 15.0


def test_the_words_of_a_forecast_are_in_the_persons_unit(plan: Plan) -> None:
    cold = replace(plan, unit="°F", setup=replace(plan.setup, water=replace(plan.setup.water, bath_c=30.0)))
    found = tempering_forecast(tempering(cold), 600.0)
    assert found is not None
    assert found.unit == "°F"
    assert any("°F" in word for word in found.words)
    assert not any("°C" in word for word in found.words)
    assert any("make the bath anew" in word for word in found.words)


def test_a_reading_that_no_water_can_have_does_not_count(plan: Plan) -> None:
    impossible = reading(600.0, "bath", -5.0), reading(700.0, "developer", 130.0)
    assert tempering_forecast(tempering(plan, *impossible), 700.0) == tempering_forecast(tempering(plan), 700.0)


def test_other_steps_have_no_forecast(plan: Plan) -> None:
    assert tempering_forecast(State(), 0.0) is None
    assert tempering_forecast(replace(tempering(plan), current="chemistry"), 600.0) is None
    assert tempering_forecast(replace(tempering(plan), current=None), 600.0) is None


def test_the_step_that_fills_the_bath_gives_its_temperature_and_water(plan: Plan) -> None:
    assert plan.water is not None
    view = build_view(State(plan=plan, current="warm-bath", wall="2031-03-01T18:00:00Z"), 0.0)
    wanted = {row.of: row.wanted for row in view.readings}
    assert wanted == {"developer": "", "bleach-fix": "", "bath": "43.8 to 44.7 °C"}
    assert bath_water(plan)[0] in view.facts
    waiting = build_view(State(plan=plan, current="temper", wall="2031-03-01T18:00:00Z"), 0.0)
    assert {row.of: row.wanted for row in waiting.readings}["bath"] == ""
    assert bath_water(plan)[0] not in waiting.facts


def test_a_bottle_that_was_not_read_is_forecast_too() -> None:
    """Six jugs beside two developers: without them the bath seems to stay far too warm."""
    setup = shipped_setup("reversal-two-rolls")
    setup = replace(setup, loading="after warming")
    plan = plan_for(setup)
    step = next(step for step in plan.steps if step.kind is Kind.WAIT)
    assert plan.tempering is not None
    assert {ask.of for ask in step.readings} - {"bath"} < set(plan.tempering.bottles)
    found = tempering_forecast(State(plan=plan, current=step.id, opened_at=600.0), 600.0)
    assert found is not None
    planned_bath_c = [bath_c for at_s, bath_c, _ in plan.tempering.curve if at_s == 1200.0]
    (bath,) = (line for line in found.lines if line.name == "Warm bath")
    at_1200_s = [value_c for at_s, value_c in bath.points if at_s == 1800.0]
    assert at_1200_s == pytest.approx(planned_bath_c, abs=0.02)
    assert not any("cold tap" in words for words in found.words)
    earlier = replace(plan, tempering=replace(plan.tempering, bottles=()))
    without = tempering_forecast(State(plan=earlier, current=step.id, opened_at=600.0), 600.0)
    assert without is not None
    assert any("cold tap" in words for words in without.words)


def test_after_loading_the_forecast_goes_on_from_earlier_readings() -> None:
    """They came out of no cupboard: without a new reading the forecast goes on from what was read before."""
    setup = shipped_setup("reversal-two-rolls")
    setup = replace(setup, loading="after warming")
    slides = plan_for(setup)
    again = next(step for step in slides.steps if step.kind is Kind.WAIT and step.batch == 1)
    warmed = (
        reading(600.0, "bath", 41.0, "warm-bath"),
        reading(1800.0, "first-developer", 38.0),
        reading(1810.0, "colour-developer", 38.0),
    )
    state = State(plan=slides, current=again.id, opened_at=2400.0, readings=warmed)
    found = tempering_forecast(state, 2400.0)
    assert found is not None
    (first,) = (line for line in found.lines if line.name == "First developer")
    assert first.points[0][1] == pytest.approx(38.0, abs=1.5)
    unread = tempering_forecast(replace(state, readings=()), 2400.0)
    assert unread is not None
    (cold,) = (line for line in unread.lines if line.name == "First developer")
    assert cold.points[0][1] == pytest.approx(25.0, abs=0.1)


def test_new_jugs_of_a_later_fill_start_at_the_setups_temperature() -> None:
    setup = shipped_setup("reversal-two-rolls")
    setup = replace(setup, loading="after warming")
    one_place = replace(setup, tank=replace(setup.tank, places=1, cover_ml=(300.0,)))
    slides = plan_for(one_place)
    again = next(step for step in slides.steps if step.kind is Kind.WAIT and step.batch == 2)
    warmed = (reading(600.0, "bath", 41.0, "warm-bath"), reading(1800.0, "first-developer", 38.0))
    found = tempering_forecast(State(plan=slides, current=again.id, opened_at=6000.0, readings=warmed), 6000.0)
    assert found is not None
    (first,) = (line for line in found.lines if line.name == "First developer")
    assert first.points[0][1] == pytest.approx(25.0, abs=0.1)


@given(st.floats(37.8, 39.0), st.floats(36.0, 39.5), st.floats(28.0, 46.0), st.floats(0.0, 1800.0))
def test_the_forecast_does_not_contradict_a_reading_in_range(
    plan: Plan, developer_c: float, bleach_fix_c: float, bath_c: float, after_s: float
) -> None:
    readings = (
        reading(600.0, "bath", bath_c),
        reading(605.0, "developer", developer_c),
        reading(700.0, "bleach-fix", bleach_fix_c),
    )
    state = replace(tempering(plan, *readings), wall="2031-03-01T18:00:00Z")
    found = tempering_forecast(state, 700.0 + after_s)
    assert found is not None
    verdicts = {row.of: row.verdict for row in build_view(state, 700.0 + after_s).readings}
    assert verdicts["developer"] == "in range"
    assert found.words[0].startswith(("Developer ready now", "Developer in range when read"))
    if verdicts["bleach-fix"] == "in range":
        assert found.words[1].startswith(("Bleach-fix ready now", "Bleach-fix in range when read"))
    else:
        assert not found.words[1].startswith("Bleach-fix in range")
