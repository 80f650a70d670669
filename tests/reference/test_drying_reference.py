"""Moist air against PsychroLib 2.5, a general library (ASHRAE Handbook of Fundamentals 2017, chapter 1).

The limit on warm air is from US Army subcourse SS0573, read in print.
"""

from __future__ import annotations

import psychrolib
import pytest

from wetside.domain.calc.water import HOTTEST_AIR_C, drying_s, vapour_kpa, wet_bulb_c

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("temperature_c", [5.0, 10.0, 18.0, 22.0, 26.0, 35.0, 51.0])
@pytest.mark.parametrize("humidity", [0.0, 0.3, 0.5, 0.8, 0.95])
def test_vapour_against_the_library(temperature_c: float, humidity: float) -> None:
    expected_kpa = psychrolib.GetVapPresFromRelHum(temperature_c, humidity) / 1000.0
    assert vapour_kpa(temperature_c, humidity) == pytest.approx(expected_kpa, rel=2e-3)


@pytest.mark.parametrize("temperature_c", [8.0, 14.0, 18.0, 22.0, 26.0, 35.0, 51.0])
@pytest.mark.parametrize("humidity", [0.3, 0.5, 0.8, 0.95])
def test_the_wet_bulb_temperature_agrees_with_the_library(temperature_c: float, humidity: float) -> None:
    """Within 0.05 °C wherever the library's wet bulb is above freezing."""
    expected_c = psychrolib.GetTWetBulbFromRelHum(temperature_c, humidity, 101325.0)
    if expected_c > 0.0:
        assert wet_bulb_c(temperature_c, humidity) == pytest.approx(expected_c, abs=0.05)
    else:
        assert wet_bulb_c(temperature_c, humidity) < 0.1


def _drive_pa(temperature_c: float, humidity: float) -> float:
    wet_c = psychrolib.GetTWetBulbFromRelHum(temperature_c, humidity, 101325.0)
    return float(psychrolib.GetSatVapPres(wet_c) - psychrolib.GetVapPresFromRelHum(temperature_c, humidity))


@pytest.mark.parametrize(("temperature_c", "humidity"), [(15.0, 0.7), (18.0, 0.6), (25.0, 0.4), (30.0, 0.3)])
def test_drying_time_scales_with_the_library_s_wet_bulb(temperature_c: float, humidity: float) -> None:
    """The 2 h anchor is common practice, no source; only the scaling is checked."""
    expected_s = 7200.0 * _drive_pa(22.0, 0.5) / _drive_pa(temperature_c, humidity)
    assert drying_s(temperature_c, humidity) == pytest.approx(expected_s, rel=0.01)


def test_warmest_air_is_the_published_limit() -> None:
    """ "Keep the heat below 125 F": US Army subcourse SS0573, read in print (its own °C figure is a misprint)."""
    assert pytest.approx((125.0 - 32.0) / 1.8) == HOTTEST_AIR_C
