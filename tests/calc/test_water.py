"""Mixing water: its laws, its refusals, and the cautions about hot water."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.water import (
    SCALD_TABLE,
    Portions,
    density_kg_m3,
    drawn,
    enthalpy_j_kg,
    mass_kg,
    mix,
    portions,
    scald_seconds,
    vapour_pressure_kpa,
    water_hazard,
)
from wetside.present.water_text import scald_sentence

degrees = st.floats(0.0, 100.0)
volumes = st.floats(1.0, 50_000.0)
waters = st.lists(st.tuples(volumes, degrees), min_size=1, max_size=6).map(tuple)


@given(waters)
def test_a_mix_keeps_mass_and_enthalpy(parts: tuple[tuple[float, float], ...]) -> None:
    together = mix(parts)
    mass = sum(mass_kg(volume, t) for volume, t in parts)
    heat = sum(mass_kg(volume, t) * enthalpy_j_kg(t) for volume, t in parts)
    assert mass_kg(together.volume_ml, together.temperature_c) == pytest.approx(mass, rel=1e-12)
    assert mass * enthalpy_j_kg(together.temperature_c) == pytest.approx(heat, rel=1e-9, abs=1e-3 * mass)


@given(waters)
def test_a_mix_lies_between_its_parts_in_any_order(parts: tuple[tuple[float, float], ...]) -> None:
    together = mix(parts)
    assert min(t for _, t in parts) - 1e-6 <= together.temperature_c <= max(t for _, t in parts) + 1e-6
    assert mix(parts[::-1]).temperature_c == pytest.approx(together.temperature_c, abs=1e-9)


@given(volumes, degrees, degrees, st.floats(0.0, 1.0))
def test_the_portions_poured_together_give_the_wanted_volume_and_temperature(
    volume: float, one_c: float, other_c: float, share: float
) -> None:
    cold_c, hot_c = sorted((one_c, other_c))
    target_c = min(cold_c + share * (hot_c - cold_c), hot_c)
    part = portions(target_c, volume, hot_c, cold_c)
    assert part is not None
    drawn = tuple((ml, t) for ml, t in ((part.hot_ml, hot_c), (part.cold_ml, cold_c)) if ml > 0.0)
    together = mix(drawn)
    assert together.temperature_c == pytest.approx(target_c, abs=1e-5)
    assert together.volume_ml == pytest.approx(volume, rel=1e-7)


@pytest.mark.parametrize(
    ("target_c", "hot_c", "cold_c"), [(50.0, 45.0, 15.0), (12.0, 45.0, 15.0), (20.0, 15.0, 45.0)]
)
def test_no_portions_give_a_temperature_outside_those_of_the_taps(
    target_c: float, hot_c: float, cold_c: float
) -> None:
    assert portions(target_c, 5000.0, hot_c, cold_c) is None
    assert drawn(target_c, 5000.0, hot_c, cold_c, STEPS_ML, 0.2) is None


def test_two_taps_of_one_temperature_give_that_temperature() -> None:
    assert portions(20.0, 1000.0, 20.0, 20.0) == Portions(0.0, 1000.0)


STEPS_ML = (100.0, 10.0, 1.0)


@given(st.floats(1_000.0, 50_000.0), degrees, degrees, st.floats(0.0, 1.0))
def test_drawn_water_adds_up_and_comes_out_as_warm_as_was_asked(
    volume: float, one_c: float, other_c: float, share: float
) -> None:
    cold_c, hot_c = sorted((one_c, other_c))
    target_c = min(cold_c + share * (hot_c - cold_c), hot_c)
    found = drawn(target_c, volume, hot_c, cold_c, STEPS_ML, 0.2)
    assert found is not None
    assert found.hot_steps + found.cold_steps == round(volume / found.step_ml)
    assert min(found.hot_steps, found.cold_steps) >= 0
    parts = ((found.hot_steps * found.step_ml, hot_c), (found.cold_steps * found.step_ml, cold_c))
    assert abs(mix(tuple(part for part in parts if part[0])).temperature_c - target_c) <= 0.2


@given(st.floats(1_000.0, 50_000.0), st.floats(1.0, 60.0), st.floats(0.0, 1.0))
def test_each_portion_is_its_share_to_half_a_step(volume: float, apart_c: float, share: float) -> None:
    """Each portion is its exact share of the rounded volume, to half a step, as the larger rest gives it."""
    hot_c, target_c = 20.0 + apart_c, 20.0 + share * apart_c
    found = drawn(min(target_c, hot_c), volume, hot_c, 20.0, STEPS_ML, 0.2)
    exact = portions(min(target_c, hot_c), volume, hot_c, 20.0)
    assert found is not None
    assert exact is not None
    steps = found.hot_steps + found.cold_steps
    for portion_ml, portion in ((exact.hot_ml, found.hot_steps), (exact.cold_ml, found.cold_steps)):
        assert abs(portion - steps * portion_ml / (exact.hot_ml + exact.cold_ml)) <= 0.5 + 1e-9


def test_a_small_bath_of_very_different_waters_takes_finer_steps() -> None:
    for target_c, volume_ml, taps_c, within_c, step_ml in (
        (40.0, 20_000.0, (60.0, 10.0), 0.2, 100.0),
        (38.9, 2_000.0, (90.0, 5.0), 0.2, 10.0),
        (38.9, 2_000.0, (90.0, 5.0), 0.0, 1.0),
    ):
        found = drawn(target_c, volume_ml, *taps_c, STEPS_ML, within_c)
        assert found is not None
        assert found.step_ml == step_ml


@pytest.mark.parametrize("outside_c", [-0.1, 100.1, float("nan"), float("inf")])
def test_temperatures_that_are_not_liquid_water_are_refused(outside_c: float) -> None:
    for ask in (density_kg_m3, enthalpy_j_kg, vapour_pressure_kpa, scald_seconds, water_hazard):
        with pytest.raises(ValueError, match="water at"):
            ask(outside_c)


@pytest.mark.parametrize("volume_ml", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_volumes_are_refused(volume_ml: float) -> None:
    with pytest.raises(ValueError, match="a volume of"):
        mix(((volume_ml, 20.0),))


@given(st.tuples(degrees, degrees).map(sorted))
def test_hotter_water_never_scalds_later(pair: list[float]) -> None:
    cooler, hotter = (scald_seconds(t) for t in pair)
    if cooler is not None:
        assert hotter is not None
        assert hotter <= cooler


def test_scald_times_are_unknown_below_the_table_and_bounded_above_it() -> None:
    coolest_c, hottest_c = SCALD_TABLE[0][0], SCALD_TABLE[-1][0]
    assert scald_seconds(coolest_c - 0.01) is None
    assert scald_seconds(coolest_c) == pytest.approx(300.0)
    assert scald_seconds(hottest_c + 20.0) == pytest.approx(2.0)


def test_between_two_points_the_logarithm_of_the_time_is_linear() -> None:
    (a_c, a_s), (b_c, b_s) = SCALD_TABLE[2:4]
    assert scald_seconds(0.5 * (a_c + b_c)) == pytest.approx((a_s * b_s) ** 0.5)


@pytest.mark.parametrize(
    ("temperature_c", "word"),
    [
        (38.9, "warm"),
        (43.0, "warm"),
        (43.1, "too hot for a hand"),
        (49.0, "too hot for a hand"),
        (49.1, "scalds"),
        (65.0, "scalds"),
    ],
)
def test_the_hazard_word_for_a_temperature_of_the_water(temperature_c: float, word: str) -> None:
    assert water_hazard(temperature_c) == word


def test_scald_sentences_say_hazard_consequence_and_how_to_avoid_it() -> None:
    hot = scald_sentence(60.0)
    assert "60.0 °C scalds" in hot
    assert "third-degree burn in 5 s or less" in hot
    assert "No hand goes in" in hot
    assert "in about 3 min" in scald_sentence(49.5)
    assert "in about 30 s" in scald_sentence(54.44)
    assert "none goes in" in scald_sentence(45.0)
    assert "below the scald table" in scald_sentence(38.0)
