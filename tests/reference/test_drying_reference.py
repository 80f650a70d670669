"""Moist air against PsychroLib and its printed figures, and the limit on warm air.

Sources: PsychroLib 2.5 (ASHRAE Handbook of Fundamentals 2017, chapter 1), a general library; the humidity ratios
of four states, computed with it beforehand and written down.
"""

from __future__ import annotations

import psychrolib
import pytest

from wetside.domain.calc.water import (
    HOTTEST_AIR_C,
    drying_s,
    vapour_pressure_deficit_kpa,
    vapour_pressure_kpa,
    wet_bulb_c,
)

ATMOSPHERE_KPA = 101.325
VAPOUR_TO_AIR = 0.621945

psychrolib.SetUnitSystem(psychrolib.SI)

# °C, relative humidity, humidity ratio of the air, humidity ratio at saturation (computed, four figures or more)
STATES = [
    (20.0, 0.5, 0.007262, 0.014695),
    (25.0, 0.5, 0.009881, 0.020081),
    (30.0, 0.3, 0.007918, 0.027203),
    (40.0, 0.2, 0.009198, 0.048883),
]


def vapour_kpa(humidity_ratio: float) -> float:
    """Pressure of the vapour in air of this humidity ratio, by the definition of the ratio."""
    return ATMOSPHERE_KPA * humidity_ratio / (VAPOUR_TO_AIR + humidity_ratio)


@pytest.mark.parametrize(("temperature_c", "humidity", "ratio", "saturated"), STATES)
def test_deficit_of_four_written_down_states(
    temperature_c: float, humidity: float, ratio: float, saturated: float
) -> None:
    deficit = vapour_pressure_deficit_kpa(temperature_c, humidity)
    assert deficit == pytest.approx(vapour_kpa(saturated) - vapour_kpa(ratio), rel=2e-3)


@pytest.mark.parametrize("temperature_c", [5.0, 10.0, 18.0, 22.0, 26.0, 35.0, 51.0])
@pytest.mark.parametrize("humidity", [0.0, 0.3, 0.5, 0.8, 0.95])
def test_deficit_against_the_library(temperature_c: float, humidity: float) -> None:
    saturated_pa = psychrolib.GetSatVapPres(temperature_c)
    vapour_pa = psychrolib.GetVapPresFromRelHum(temperature_c, humidity)
    expected_kpa = (saturated_pa - vapour_pa) / 1000.0
    assert vapour_pressure_deficit_kpa(temperature_c, humidity) == pytest.approx(expected_kpa, rel=2e-3)


@pytest.mark.parametrize("temperature_c", [8.0, 14.0, 18.0, 22.0, 26.0, 35.0, 51.0])
@pytest.mark.parametrize("humidity", [0.3, 0.5, 0.8, 0.95])
def test_wet_bulb_against_the_library(temperature_c: float, humidity: float) -> None:
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


@pytest.mark.parametrize(
    ("temperature_c", "pressure_pa"),
    [(20.0, 2339.3), (25.0, 3169.9), (30.0, 4247.0), (37.8, 6561.4), (60.0, 19946.0)],
)
def test_saturation_pressure_table(temperature_c: float, pressure_pa: float) -> None:
    """Computed beforehand with iapws 1.5.5, in agreement with CoolProp 8.0 to four digits."""
    assert vapour_pressure_kpa(temperature_c) * 1000.0 == pytest.approx(pressure_pa, rel=1e-4)


def _ratio(temperature_c: float, humidity: float) -> float:
    return float(psychrolib.GetHumRatioFromRelHum(temperature_c, humidity, 101325.0))
