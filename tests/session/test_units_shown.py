"""The person's units reach every sentence: temperatures, their differences, and volumes."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_profile, shipped_setup, shipped_setups

from wetside.domain.messages import message
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup, Units
from wetside.domain.planning.steps import Habits
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State
from wetside.errors import Refused
from wetside.files.units import temperature_c
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.plan_text import plan_lines, short_lines
from wetside.present.presenter import build_view
from wetside.present.sentences import filled
from wetside.present.tempering_forecast import tempering_forecast
from wetside.present.tempering_text import bath_water, plan_answers
from wetside.present.wording import difference, temperature, temperatures, volume

AMERICAN = Habits(unit="°F", volume_unit="US fl oz")
METRIC_UNITS = re.compile(r"\d (?:ml|l|°C)\b")


def planned(setup: Setup, habits: Habits = AMERICAN) -> Plan:
    return plan_for(setup, habits)


@pytest.fixture(scope="module")
def american() -> Plan:
    return planned(shipped_setup("three-rolls"))


@pytest.mark.parametrize(
    ("ml", "metric", "ounces"),
    [
        (600.0, "600 ml", "20.3 US fl oz"),
        (1190.0, "1.19 l", "1.26 US qt"),
        (946.352946, "946 ml", "1 US qt"),
        (999.6, "1 l", "1.06 US qt"),
        (10.0, "10 ml", "0.3 US fl oz"),
        (29.5735295625 * 20, "591 ml", "20 US fl oz"),
        (0.0, "0 ml", "0 US fl oz"),
        (3785.411784, "3.79 l", "4 US qt"),
        (3780.0, "3.78 l", "3.99 US qt"),
        (8200.0, "8.2 l", "8.66 US qt"),
    ],
)
def test_a_volume_is_shown_in_either_unit(ml: float, metric: str, ounces: str) -> None:
    assert volume(ml, "ml") == metric
    assert volume(ml, "US fl oz") == ounces


def test_the_ounce_is_the_128th_of_231_cubic_inches() -> None:
    """Exact definitions: 1 in = 2.54 cm, 1 US gal = 231 in³ (read in print: the units' own definition)."""
    ounce = Fraction(254, 100) ** 3 * 231 / 128
    assert volume(float(ounce * 7), "US fl oz") == "7 US fl oz"


@pytest.mark.parametrize(
    ("value", "spec", "says"),
    [
        ((103.0 - 32.0) / 1.8, "degrees", "103.0 °F"),
        (40.1, "degrees", "104.2 °F"),
        (-5.0, "degrees", "23.0 °F"),
        ((29.44, 38.89), "range", "85.0 to 102.0 °F"),
        ("Developer 38 °C", "", "Developer 38 °C"),
        ("{0} 500 ml", "", "{0} 500 ml"),
    ],
)
def test_values_are_put_into_a_sentence_and_names_are_left_unchanged(
    value: str | float | tuple[float, float], spec: str, says: str
) -> None:
    found = filled(f"at {{value:{spec}}}.", {"value": value}, Units("°F", "US fl oz"), {})
    assert found == f"at {says}."


def test_a_refusal_names_the_one_row_of_a_sheet_with_its_tolerance() -> None:
    why = message("no developer time", at_c=40.1, served=(37.8, 37.8, 0.15))
    assert "the table serves 100.0 ± 0.27 °F." in in_words(why, Units("°F"))


@pytest.mark.parametrize("fahrenheit", range(32, 213))
def test_each_whole_degree_fahrenheit_is_shown_as_typed(fahrenheit: int) -> None:
    assert temperature(temperature_c(f"{fahrenheit} °F"), "°F") == f"{fahrenheit}.0 °F"


@given(st.floats(0, 60), st.floats(0.3, 20))
def test_a_range_is_never_shown_wider_than_it_is(low_c: float, width_c: float) -> None:
    """What is shown as in range is in range, in both scales."""
    for unit in ("°C", "°F"):
        shown = temperatures((low_c, low_c + width_c), unit)
        low, high = (float(n) for n in shown.removesuffix(f" {unit}").split(" to "))
        if unit == "°F":
            low, high = (low - 32.0) / 1.8, (high - 32.0) / 1.8
        assert low_c - 1e-5 <= low <= high <= low_c + width_c + 1e-5


def test_a_label_that_contains_a_unit_is_not_converted() -> None:
    setup = shipped_setup("three-rolls")
    profile = shipped_profile(setup.profile)
    solutions = tuple(
        replace(s, title="Developer 38 °C 500 ml") if s.id == "developer" else s for s in profile.solutions
    )
    plan = make_plan(replace(profile, solutions=solutions), setup, AMERICAN)
    assert plan.tempering is not None
    assert any(word.startswith("Developer 38 °C 500 ml ready in") for word in plan_answers(plan))


@given(st.floats(0, 5))
def test_a_difference_has_no_offset(value_c: float) -> None:
    shown = float(difference(value_c, "°F").removesuffix(" °F"))
    assert abs(shown - value_c * 9 / 5) <= 0.05 + 1e-9


@pytest.mark.parametrize("name", sorted(path.stem for path in shipped_setups()))
def test_a_plan_in_american_units_has_no_metric_units(name: str) -> None:
    plan = planned(shipped_setup(name))
    short = (line.text for line in short_lines(plan, 46, False, None))
    for text in (*plan_lines(plan, 80, False, None), *short):
        assert METRIC_UNITS.search(text) is None, text
    said = [*(in_words(worry, plan.units) for worry in plan.warnings), *bath_water(plan)]
    said += plan_answers(plan)
    assert not [words for words in said if METRIC_UNITS.search(words)]


def test_a_missing_volume_is_given_in_ounces(american: Plan) -> None:
    bottles = tuple(replace(bottle, volume_ml=300.0) for bottle in american.setup.bottles)
    worries = planned(replace(american.setup, bottles=bottles)).warnings
    short = [in_words(each, american.units) for each in worries if each.code == "too-little"]
    assert short
    assert all("the bottle has 10.1 US fl oz" in words for words in short)
    assert not [words for words in short if METRIC_UNITS.search(words)]


def test_a_number_keeps_all_of_its_unit_on_its_line(american: Plan) -> None:
    for width in range(40, 100):
        ounces = [
            line
            for line in plan_lines(american, width, False, None)
            if re.search(r"\bUS\b|fl oz|\bqt\b|\bgal\b", line)
        ]
        assert ounces
        for line in ounces:
            whole = re.sub(r"\d US (fl oz|qt|gal)\b", "", line)
            assert whole == re.sub(r"\d? ?\bUS\b( fl oz| qt| gal)?|fl oz|\bqt\b|\bgal\b", "", line), line


def test_the_facts_of_a_bath_are_in_ounces(american: Plan) -> None:
    step = next(step for step in american.steps if step.volume_ml is not None and step.id.endswith("developer"))
    facts = build_view(State(plan=american, current=step.id, wall="2031-03-01T18:00:00Z"), 0.0).facts
    assert f"{volume(step.volume_ml or 0.0, 'US fl oz')} of {step.solution_title} at 102.0 °F." in facts


def test_the_water_of_a_forecast_is_in_ounces(american: Plan) -> None:
    cold = tuple(
        ReadingTaken(600.0, "temper", of, value_c, "") for of, value_c in (("bath", 42.0), ("developer", 20.0))
    )
    american = planned(replace(american.setup, loading="after warming"))
    found = tempering_forecast(State(plan=american, current="temper", opened_at=600.0, readings=cold), 600.0)
    assert found is not None
    assert any(re.search(r"Add [\d.]+ US (fl oz|qt) from the hot tap", words) for words in found.words)
    assert not [words for words in found.words if METRIC_UNITS.search(words)]


def test_a_refusal_names_its_range_in_the_persons_unit() -> None:
    with pytest.raises(Refused, match=r"the sheet gives times from 8[\d.]+ to 10[\d.]+ °F only") as refused:
        planned(replace(shipped_setup("three-rolls"), developer_c=60.0))
    assert "°C" not in str(refused.value)
