"""What half a degree is worth, in words: each figure is the difference of two times of the sheet's own table."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shipped import shipped_profile, shipped_setup

from wetside.domain.calc.developer_time import TimeTable, table_seconds
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Setup
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Profile
from wetside.present.evening_plan import make_plan
from wetside.present.plan_text import plan_lines, short_lines
from wetside.present.plan_words import slope_words, warmth_in_short, warmth_words


def evening(name: str) -> tuple[Profile, Setup]:
    setup = shipped_setup(name)
    return shipped_profile(setup.profile), setup


def planned(name: str, developer_c: float | None = None, habits: Habits | None = None) -> Plan:
    profile, setup = evening(name)
    return make_plan(profile, replace(setup, developer_c=developer_c), habits)


def developer(plan: Plan) -> PlannedStep:
    return next(step for step in plan.steps if step.table)


@pytest.fixture(scope="module")
def edge() -> PlannedStep:
    """At the warmest row of its table."""
    return developer(planned("three-rolls"))


@given(st.floats(29.5, 38.8))
def test_each_figure_is_the_difference_of_two_times_of_the_table(edge: PlannedStep, target_c: float) -> None:
    table = TimeTable(edge.table, edge.table_tolerance_c)
    step = replace(edge, target_c=target_c, planned_s=table_seconds(table, target_c) * 1.1)
    said = re.findall(r"(warmer|cooler): (\d+) s (shorter|longer)", warmth_words(step, "°C"))
    assert said
    for way, seconds, change in said:
        other_c = target_c + (0.5 if way == "warmer" else -0.5)
        apart_s = 1.1 * (table_seconds(table, other_c) - table_seconds(table, target_c))
        assert float(seconds) == pytest.approx(abs(apart_s), abs=0.5 + 1e-6)
        assert change == ("shorter" if apart_s < 0 else "longer") == ("shorter" if way == "warmer" else "longer")


def test_the_effect_of_half_a_degree_is_given_inside_the_table_and_at_its_edges(edge: PlannedStep) -> None:
    inside = replace(edge, table=((35.0, 345.0), (39.0, 210.0)), target_c=37.0, planned_s=270.0)
    assert warmth_words(inside, "°C") == "Half a degree warmer: 16 s shorter; half a degree cooler: 17 s longer."
    assert warmth_in_short(inside, "°C") == ("Half a °C", "warmer −16 s, cooler +17 s")
    assert warmth_words(edge, "°C").endswith(" s longer; the sheet has no time for warmer.")
    cold = replace(inside, target_c=35.0, planned_s=3450.0)
    assert warmth_words(cold, "°C") == "Half a degree warmer: 3:30 shorter; the sheet has no time for cooler."
    narrow = replace(inside, table=((36.9, 271.0), (37.1, 269.0)))
    assert warmth_words(narrow, "°C") == "The sheet has no time for half a degree warmer or cooler."
    assert warmth_in_short(narrow, "°C") == ("Half a °C", "")


def test_one_degree_fahrenheit_is_five_ninths_of_a_kelvin(edge: PlannedStep) -> None:
    step = replace(edge, table=((35.0, 345.0), (39.0, 210.0)), target_c=37.0, planned_s=2700.0)
    table = TimeTable(step.table)
    apart_s = 2700.0 * (1.0 - table_seconds(table, 37.0 + 5 / 9) / table_seconds(table, 37.0))
    minutes, seconds = divmod(round(apart_s), 60)
    assert f"One degree warmer: {minutes}:{seconds:02d} shorter" in warmth_words(step, "°F")
    assert warmth_in_short(step, "°F")[0] == "One °F"


def test_with_a_table_of_one_row_the_words_say_that_there_is_no_other() -> None:
    plan = planned("three-bath-two-rolls")
    said = warmth_words(developer(plan), "°C")
    assert said.startswith("The sheet gives a time at this temperature alone.")
    bare = replace(developer(plan), drift_table=())
    assert warmth_words(bare, "°C") == "The sheet gives a time at this temperature alone."
    assert slope_words(developer(plan)) == ""
    assert not any("Half a °C" in line.text for line in short_lines(plan, 60, False, None))


def test_a_bath_with_a_minimum_time_has_no_effect_of_half_a_degree() -> None:
    plan = planned("three-rolls")
    fix = next(step for step in plan.steps if step.of == "bleach-fix")
    assert warmth_words(fix, "°C") == slope_words(fix) == warmth_in_short(fix, "°C")[1] == ""


def test_the_plan_gives_the_effect_in_each_batch_and_the_slope_once() -> None:
    """The kit's table, from memory, has 102 to 108 kJ/mol (tests/reference): 102 on its warmest stretch."""
    plan = planned("five-rolls-two-batches")
    text = " ".join(" ".join(plan_lines(plan, 80, False, None)).split())
    assert text.count("Half a degree cooler: ") == len(plan.batches) == 2
    assert text.count("Q10 3.5, activation energy 102 kJ/mol") == 1
    cooler = planned("five-rolls-two-batches", developer_c=36.0, habits=Habits(unit="°F"))
    american = " ".join(" ".join(plan_lines(cooler, 80, True, None)).split())
    assert american.count("One degree warmer: ") == american.count("one degree cooler: ") == 2


def test_in_the_short_plan_the_effect_of_half_a_degree_comes_last() -> None:
    lines = short_lines(planned("three-rolls", developer_c=36.0), 60, False, None)
    assert re.fullmatch(r"  Half a °C  Developer warmer −\d+ s, cooler \+\d+ s", lines[-1].text)
