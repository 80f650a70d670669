"""The person's units reach every sentence: temperatures, their differences, and volumes."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.planning.formatting import converted, difference, volume
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.planner import Habits, make_plan
from wetside.domain.planning.setup import Setup
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State
from wetside.errors import Refused
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import find_profile, shipped_setups
from wetside.files.setup_file import read_setup
from wetside.present.mixing_guide import mixing_guide, scaled
from wetside.present.plan_text import plan_lines, short_lines
from wetside.present.presenter import build_view
from wetside.present.tempering_forecast import tempering_forecast

AMERICAN = Habits(unit="°F", volume_unit="US fl oz")
METRIC = re.compile(r"\d (?:ml|l|°C)\b")


def setup_named(name: str) -> Setup:
    return read_setup(next(path for path in shipped_setups() if path.stem == name))


def planned(setup: Setup, habits: Habits = AMERICAN) -> Plan:
    return make_plan(read_profile(find_profile(setup.profile)), setup, habits, date(2031, 3, 1))


@pytest.fixture(scope="module")
def american() -> Plan:
    return planned(setup_named("three-rolls"))


@pytest.mark.parametrize(
    ("ml", "metric", "ounces"),
    [
        (600.0, "600 ml", "20.3 US fl oz"),
        (1190.0, "1.19 l", "40.2 US fl oz"),
        (10.0, "10 ml", "0.3 US fl oz"),
        (29.5735295625 * 20, "591 ml", "20 US fl oz"),
        (0.0, "0 ml", "0 US fl oz"),
        (3784.0, "3.78 l", "1 US gal"),
        (3780.0, "3.78 l", "127.8 US fl oz"),
        (8200.0, "8.2 l", "2.2 US gal"),
    ],
)
def test_a_volume_in_either_unit(ml: float, metric: str, ounces: str) -> None:
    assert volume(ml, "ml") == metric
    assert volume(ml, "US fl oz") == ounces


def test_the_ounce_is_the_128th_of_231_cubic_inches() -> None:
    """Exact definitions: 1 in = 2.54 cm, 1 US gal = 231 in³ (read in print: the units' own definition)."""
    ounce = Fraction(254, 100) ** 3 * 231 / 128
    assert volume(float(ounce * 7), "US fl oz") == "7 US fl oz"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("add 1.2 l from the hot tap", "add 40.6 US fl oz from the hot tap"),
        ("7.57 l", "2 US gal"),
        ("add 350 ml from the cold tap", "add 11.8 US fl oz from the cold tap"),
        ("it comes to 40.1 °C, not 38.0 °C", "it comes to 104.2 °F, not 100.4 °F"),
        ("the table serves 29.4 to 38.9 °C", "the table serves 84.9 to 102.0 °F"),
        ("37.8 ± 0.15 °C", "100.0 ± 0.3 °F"),
        ("an error of ±0.3 °C", "an error of ±0.5 °F"),
        ("at −5.0 °C", "at 23.0 °F"),
        ("in 5 min, 3 litres, 2 lids", "in 5 min, 3 litres, 2 lids"),
    ],
)
def test_sentences_are_converted(words: str, says: str) -> None:
    assert converted(words, "°F", "US fl oz") == says
    assert converted(words, "°C", "ml") == words


@given(st.floats(0, 5))
def test_a_difference_has_no_offset(value_c: float) -> None:
    shown = float(difference(value_c, "°F").removesuffix(" °F"))
    assert abs(shown - value_c * 9 / 5) <= 0.05 + 1e-9
    assert converted(f"±{value_c:.1f} °C", "°F") == f"±{difference(round(value_c, 1), '°F')}"


@pytest.mark.parametrize("name", sorted(path.stem for path in shipped_setups()))
def test_a_plan_in_american_units_has_no_metric_one(name: str) -> None:
    plan = planned(setup_named(name))
    for text in (*plan_lines(plan, 80, False, None), *short_lines(plan, 46, False, None)):
        assert METRIC.search(text) is None, text
    said = [*(worry.text for worry in plan.warnings), *(plan.water.words if plan.water else ())]
    said += plan.tempering.words if plan.tempering else ()
    assert not [words for words in said if METRIC.search(words)]


def test_a_bottle_that_is_short_says_it_in_ounces(american: Plan) -> None:
    bottles = tuple(replace(bottle, volume_ml=300.0) for bottle in american.setup.bottles)
    short = [w.text for w in planned(replace(american.setup, bottles=bottles)).warnings if w.code == "too-little"]
    assert short
    assert all("the bottle has 10.1 US fl oz" in words for words in short)
    assert not [words for words in short if METRIC.search(words)]


def test_a_number_keeps_all_of_its_unit_on_its_line(american: Plan) -> None:
    for width in range(40, 100):
        ounces = [
            line for line in plan_lines(american, width, False, None) if re.search(r"\bUS\b|fl oz|\bgal\b", line)
        ]
        assert ounces
        for line in ounces:
            whole = re.sub(r"\d US (fl oz|gal)\b", "", line)
            assert whole == re.sub(r"\d? ?\bUS\b( fl oz| gal)?|fl oz|\bgal\b", "", line), line


def test_a_bath_s_facts_are_in_ounces(american: Plan) -> None:
    step = next(step for step in american.steps if step.volume_ml is not None and step.id.endswith("developer"))
    facts = build_view(State(plan=american, current=step.id, wall="2031-03-01T18:00:00Z"), 0.0).facts
    assert f"{volume(step.volume_ml or 0.0, 'US fl oz')} of {step.solution_title} at 102.0 °F." in facts


def test_the_forecast_s_water_is_in_ounces(american: Plan) -> None:
    cold = tuple(
        ReadingTaken(600.0, "temper", of, value_c, "") for of, value_c in (("bath", 42.0), ("developer", 20.0))
    )
    american = planned(replace(american.setup, loading="after warming"))
    found = tempering_forecast(State(plan=american, current="temper", opened_at=600.0, readings=cold), 600.0)
    assert found is not None
    assert any(re.search(r"Add [\d.]+ US fl oz from the hot tap", words) for words in found.words)
    assert not [words for words in found.words if METRIC.search(words)]


def test_a_refusal_names_its_range_in_the_person_s_unit() -> None:
    with pytest.raises(Refused, match=r"the sheet gives times from 8.* °F to 10.* °F only") as refused:
        planned(replace(setup_named("three-rolls"), developer_c=60.0))
    assert "°C" not in str(refused.value)


def test_mixing_in_ounces() -> None:
    assert scaled("800 ml for one litre", 1000.0, "US fl oz") == "27.1 US fl oz for 33.8 US fl oz"
    assert scaled("12.5 g for one litre", 500.0, "US fl oz") == "6.2 g for 16.9 US fl oz"
    profile = read_profile(find_profile("two-bath"))
    assert any(
        line.endswith("16.9 US fl oz") for line in mixing_guide(profile, (("developer", 500.0),), unit="US fl oz")
    )
