"""The warm bath in words: what is to be drawn adds up as it is read, and makes the bath that is promised."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_plan, shipped_setup

from wetside.domain.calc.water import mix
from wetside.domain.planning.plan import MIXED_WITHIN_C, Plan
from wetside.domain.planning.setup import METRIC, Units, VolumeUnit, Water
from wetside.domain.planning.steps import Habits
from wetside.domain.planning.warm_bath import tap_alert, water_in_all
from wetside.domain.profile.model import Kind
from wetside.files.units import volume_ml
from wetside.present.message_words import in_words
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import plan_lines, serious
from wetside.present.water_text import DRAWN_WITHIN_C, bath_sentence, drawn_water

UNITS: tuple[VolumeUnit, ...] = ("ml", "US fl oz")


def number(words: str) -> Decimal:
    found = re.match(r"[\d.]+", words or "0")
    assert found is not None
    return Decimal(found[0])


@given(
    st.floats(1_000.0, 40_000.0),
    st.floats(35.0, 90.0),
    st.floats(2.0, 30.0),
    st.floats(0.0, 1.0),
    st.sampled_from(UNITS),
)
def test_rounded_portions_add_up_to_the_bath(
    bath_ml: float, hot_c: float, cold_c: float, share: float, unit: VolumeUnit
) -> None:
    target_c = min(cold_c + share * (hot_c - cold_c), hot_c)
    found = drawn_water(Water(hot_c=hot_c, cold_c=cold_c, bath_ml=bath_ml), target_c, unit)
    assert found is not None
    assert number(found.hot) + number(found.cold) == number(found.whole)
    parts = tuple(
        (volume_ml(words), tap_c) for words, tap_c in ((found.hot, hot_c), (found.cold, cold_c)) if words
    )
    assert mix(parts).temperature_c == pytest.approx(target_c, abs=DRAWN_WITHIN_C + 1e-6)
    assert volume_ml(found.whole) == pytest.approx(bath_ml, rel=0.05)


def test_rounded_portions_are_whole_measures() -> None:
    assert DRAWN_WITHIN_C <= MIXED_WITHIN_C / 2


@pytest.mark.parametrize(
    ("bath_ml", "unit", "words"),
    [
        (12_000.0, "ml", "Bath: 8.7 l at 60.0 °C with 3.3 l at 14.0 °C make 12.0 l at 47.3 °C."),
        (3_000.0, "ml", "Bath: 2.18 l at 60.0 °C with 0.82 l at 14.0 °C make 3.00 l at 47.3 °C."),
        (3785.411784 * 3, "US fl oz", "Bath: 8.7 US qt at 60.0 °C with 3.3 US qt at 14.0 °C make 12.0 US qt"),
        (
            29.5735295625 * 64,
            "US fl oz",
            "Bath: 1.45 US qt at 60.0 °C with 0.55 US qt at 14.0 °C make 2.00 US qt",
        ),
    ],
)
def test_sentence_names_both_portions(bath_ml: float, unit: VolumeUnit, words: str) -> None:
    water = Water(hot_c=60.0, cold_c=14.0, bath_ml=bath_ml)
    assert bath_sentence(water, 47.3, Units("°C", unit)).startswith(words)


def test_bath_from_one_tap_alone() -> None:
    water = Water(hot_c=45.0, cold_c=15.0, bath_ml=10_000.0)
    assert bath_sentence(water, 45.0, METRIC) == "Bath: 10.0 l at 45.0 °C, from one tap alone."
    assert bath_sentence(water, 15.0, METRIC) == "Bath: 10.0 l at 15.0 °C, from one tap alone."
    assert bath_sentence(water, 46.0, METRIC) == ""


def cold_tap(hot_c: float, cold_c: float = 14.0, unit: VolumeUnit = "ml") -> Plan:
    setup = shipped_setup("three-rolls")
    water = replace(setup.water, hot_c=hot_c, cold_c=cold_c, bath_c=None)
    return plan_for(replace(setup, water=water), Habits(volume_unit=unit))


def test_too_cold_a_hot_tap_is_serious_and_names_the_boiling_water() -> None:
    plan = cold_tap(40.0)
    worry = next(worry for worry in serious(plan) if worry.code == "taps-too-cold")
    assert "the hot tap gives 40.0 °C: boil " in in_words(worry)
    assert re.search(r"boil [\d.]+ m?l and pour it slowly into [\d.]+ l from the hot tap", in_words(worry))
    assert re.search(r"0\.\d\d kWh, about \d+ min of a kettle", in_words(worry))
    assert "scalds at once" in in_words(worry)
    lines = plan_lines(plan, 80, False, None)
    assert "Settle this first" in lines
    data = plan_json(plan)
    assert "taps-too-cold" in {each["code"] for each in data["warnings"]}
    boiled = data["water"]["boiled"]
    made = mix(((boiled["boiling_ml"], 95.0), (boiled["tap_ml"], 40.0)))
    assert made.temperature_c == pytest.approx(data["water"]["target_c"], abs=0.3)
    assert boiled["kettle_s"] == pytest.approx(boiled["energy_j"] / 1700.0)
    step = next(step for step in plan.steps if step.kind is Kind.MEASURE)
    assert plan.bath_to_mix_c(step, "bath") is not None


def test_water_warmer_than_the_hot_tap_is_counted_as_hot() -> None:
    hot_ml, cold_ml = water_in_all(cold_tap(30.0, 30.0))
    assert hot_ml > 8_000.0
    assert cold_ml < hot_ml


@pytest.mark.parametrize(("bath_c", "warned"), [(48.5, False), (49.5, True)])
def test_a_bath_that_scalds_is_warned_of(bath_c: float, warned: bool) -> None:
    water = replace(shipped_setup("three-rolls").water, bath_c=bath_c)
    codes = {worry.code for worry in shipped_plan("three-rolls", water=water).warnings}
    assert ("hot-bath" in codes) is warned


def test_taps_that_can_make_the_bath_give_no_warning() -> None:
    plan = cold_tap(60.0)
    assert not {"taps-too-cold", "taps-too-warm", "bath-too-small"} & {worry.code for worry in plan.warnings}
    assert plan_json(plan)["water"]["boiled"] is None


def test_too_warm_a_cold_tap_asks_for_ice() -> None:
    words = tap_alert(Water(hot_c=60.0, cold_c=30.0), 27.0)
    assert words is not None
    assert words.code == "taps-too-warm"
    assert re.search(r"about 0\.[1-9] kg of ice", in_words(words))


def test_too_small_a_bath_is_a_serious_warning() -> None:
    setup = shipped_setup("three-rolls")
    small = replace(setup, water=replace(setup.water, bath_ml=150.0))
    plan = plan_for(small)
    assert "bath-too-small" in {worry.code for worry in serious(plan)}
