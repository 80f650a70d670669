"""Fitting the model of the warm bath to readings: what is fitted, what stays, and what counts as measured."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from wetside.domain.calc.tempering import BATH, TemperingBench, ThermalBottle, default_ua_w_per_k, later
from wetside.domain.calc.tempering_fit import BenchReading, refit

SOFT = default_ua_w_per_k(1000.0, "soft")
GUESS = TemperingBench(
    (ThermalBottle("developer", 1000.0, 20.0, SOFT), ThermalBottle("bleach-fix", 1000.0, 21.0, SOFT)),
    9000.0,
    45.0,
    21.0,
    2.0,
)


def true_readings(truth: TemperingBench, times_s: list[float], *places: str) -> tuple[BenchReading, ...]:
    found: list[BenchReading] = []
    for t in times_s:
        then = later(truth, t) if t > 0.0 else truth
        values = {b.name: b.temperature_c for b in then.bottles} | {BATH: then.bath_c}
        found.extend(BenchReading(t, place, values[place]) for place in places)
    return tuple(found)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.5, 2.0), st.floats(0.5, 2.0))
def test_readings_without_noise_recover_the_heat_transfers(first: float, second: float) -> None:
    ratios = (first, second)
    bottles = tuple(replace(b, ua_w_per_k=SOFT * r) for b, r in zip(GUESS.bottles, ratios, strict=True))
    truth = replace(GUESS, bottles=bottles)
    found = refit(
        GUESS,
        true_readings(truth, [150.0 * k for k in range(1, 7)], "developer", "bleach-fix", BATH),
    )
    assert found.measured >= {"developer", "bleach-fix"}
    for ours, theirs in zip(found.bench.bottles, truth.bottles, strict=True):
        assert ours.ua_w_per_k == pytest.approx(theirs.ua_w_per_k, rel=0.02)
    assert found.bench.bath_ml == GUESS.bath_ml


def test_the_fitted_state_is_that_of_the_last_readings() -> None:
    readings = (
        BenchReading(240.0, BATH, 42.5),
        BenchReading(120.0, "developer", 24.0),
        BenchReading(240.0, "developer", 28.0),
    )
    found = refit(GUESS, readings)
    assert found.at_s == 240.0
    assert found.bench.bath_c == 42.5
    assert found.bench.bottles[0].temperature_c == 28.0
    assert found.bench.bottles[1].temperature_c == pytest.approx(
        later(GUESS, 240.0).bottles[1].temperature_c, abs=0.5
    )


def test_an_older_reading_is_extrapolated_to_the_last_one() -> None:
    found = refit(GUESS, (BenchReading(60.0, "developer", 26.0), BenchReading(300.0, BATH, 42.8)))
    assert found.at_s == 300.0
    assert 26.0 < found.bench.bottles[0].temperature_c < 42.8


@pytest.mark.parametrize("times_s", [[0.0], [60.0, 300.0], [10.0, 20.0, 30.0]])
def test_too_few_readings_or_too_close_together_keep_the_guess(times_s: list[float]) -> None:
    truth = replace(GUESS, bottles=tuple(replace(b, ua_w_per_k=2.0 * SOFT) for b in GUESS.bottles))
    found = refit(GUESS, true_readings(truth, times_s, "developer", "bleach-fix", BATH))
    assert not found.measured
    assert [b.ua_w_per_k for b in found.bench.bottles] == [SOFT, SOFT]
    assert found.bench.ua_env_w_per_k == GUESS.ua_env_w_per_k


def test_only_a_bottle_that_was_read_counts_as_measured() -> None:
    truth = replace(GUESS, bottles=tuple(replace(b, ua_w_per_k=1.5 * SOFT) for b in GUESS.bottles))
    found = refit(GUESS, true_readings(truth, [120.0 * k for k in range(1, 7)], "developer"))
    assert found.measured == {"developer"}
    assert found.bench.bottles[1].ua_w_per_k == SOFT


def test_readings_of_a_bottle_as_warm_as_its_bath_measure_nothing() -> None:
    still = replace(GUESS, bottles=tuple(replace(b, temperature_c=21.0) for b in GUESS.bottles), bath_c=21.0)
    found = refit(still, true_readings(still, [300.0 * k for k in range(1, 7)], "developer", BATH))
    assert not found.measured
    assert found.bench.bottles[0].ua_w_per_k == pytest.approx(SOFT, rel=0.01)


def test_readings_of_a_thermometer_left_in_the_bath_are_not_taken_for_a_bottle() -> None:
    wrong = tuple(
        replace(r, where="developer") for r in true_readings(GUESS, [120.0 * k for k in range(1, 7)], BATH)
    )
    found = refit(GUESS, wrong)
    assert "developer" not in found.measured
    assert found.bench.bottles[0].ua_w_per_k < 8.0 * SOFT


def test_six_readings_recover_the_heat_loss_to_the_room() -> None:
    truth = replace(GUESS, ua_env_w_per_k=2.0 * GUESS.ua_env_w_per_k)
    found = refit(GUESS, true_readings(truth, [600.0 * k for k in range(1, 7)], "developer", BATH))
    assert BATH in found.measured
    assert found.bench.ua_env_w_per_k == pytest.approx(truth.ua_env_w_per_k, rel=0.05)


def test_readings_in_any_order_give_one_answer() -> None:
    readings = true_readings(GUESS, [120.0 * k for k in range(1, 5)], "developer", BATH)
    assert refit(GUESS, readings[::-1]).bench.bath_c == pytest.approx(refit(GUESS, readings).bench.bath_c)
