"""What a filled tank drifts towards, by its readings: the air of the room or the water of a bath."""

from __future__ import annotations

import math
import random

import pytest

from wetside.domain.calc.pouring import Drift, at_the_pour_c, bottle_for_c, drift, rinsed_tank_c, usual_drift
from wetside.domain.calc.running_dose import Reading
from wetside.domain.calc.tempering import tank_drop_c

VOLUME_ML, HEAT = 600.0, 260.0


def seen(surroundings_c: float, rate: float, start_c: float, *at_s: float) -> tuple[Reading, ...]:
    return tuple(Reading(at, surroundings_c + (start_c - surroundings_c) * math.exp(-rate * at)) for at in at_s)


def test_single_reading_drifts_to_room_temperature() -> None:
    found = drift(seen(21.0, 3e-4, 38.9, 60.0), VOLUME_ML, HEAT, 21.0, 40.0)
    assert found == usual_drift(VOLUME_ML, HEAT, 21.0)


def test_falling_readings_drift_to_room_temperature() -> None:
    found = drift(seen(21.0, 3e-4, 38.9, 30.0, 90.0, 150.0), VOLUME_ML, HEAT, 21.0, 40.5)
    assert found is not None
    assert found.surroundings_c == 21.0
    assert found.rate_per_s == pytest.approx(3e-4, rel=0.2)


def test_rising_readings_drift_to_the_bath() -> None:
    found = drift(seen(40.5, 1.6e-3, 37.5, 30.0, 90.0, 150.0), VOLUME_ML, HEAT, 21.0, 40.5)
    assert found is not None
    assert found.surroundings_c == 40.5


def test_a_fast_fall_towards_a_cooler_bath_is_taken_for_a_drift_to_the_bath() -> None:
    """Both lie below the developer: how fast it falls tells which."""
    found = drift(seen(33.0, 1.7e-3, 38.9, 30.0, 90.0, 150.0), VOLUME_ML, HEAT, 21.0, 33.0)
    assert found is not None
    assert found.surroundings_c == 33.0


def test_readings_that_approach_neither_give_no_drift() -> None:
    readings = (Reading(30.0, 38.5), Reading(120.0, 38.9))
    assert drift(readings, VOLUME_ML, HEAT, 21.0, None) is None


def test_last_digit_noise_gives_no_large_drift() -> None:
    """A tenth of a degree in 25 s would be 0.24 K a minute more than it is."""
    usual = usual_drift(VOLUME_ML, HEAT, 21.0)
    found = drift((Reading(60.0, 38.9), Reading(85.0, 38.6)), VOLUME_ML, HEAT, 21.0, None)
    assert found is not None
    assert found.rate_per_s < 2.0 * usual.rate_per_s


def test_a_later_reading_is_extrapolated_back_to_the_pour() -> None:
    (reading,) = seen(21.0, 3e-4, 38.9, 90.0)
    assert at_the_pour_c(reading, Drift(21.0, 3e-4)) == pytest.approx(38.9)
    assert at_the_pour_c(reading, None) == reading.temperature_c


def test_a_bottle_of_the_advised_temperature_has_the_wanted_temperature_in_the_tank() -> None:
    rng = random.Random(7)
    for _ in range(200):
        wanted_c, volume_ml = rng.uniform(30.0, 42.0), rng.uniform(250.0, 2000.0)
        tank_c, heat = rng.uniform(15.0, 40.0), rng.uniform(0.0, 500.0)
        bottle_c = bottle_for_c(wanted_c, volume_ml, tank_c, heat)
        assert bottle_c - tank_drop_c(volume_ml, bottle_c, tank_c, heat) == pytest.approx(wanted_c, abs=1e-9)


def test_a_rinsed_tank_is_between_rinse_and_room_temperature() -> None:
    rng = random.Random(8)
    for _ in range(200):
        volume_ml, empty_s = rng.uniform(250.0, 2000.0), rng.uniform(0.0, 600.0)
        found = rinsed_tank_c(rng.uniform(35.0, 41.0), volume_ml, 20.0, 260.0, 20.0, empty_s)
        assert 20.0 < found < 41.0
