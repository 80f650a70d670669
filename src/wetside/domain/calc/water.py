"""Water from the taps and moist air: mixes, scald times, and how long film dries.

Liquid water from 0 to 100 °C at 0.1 MPa. Mixes conserve mass and enthalpy. Every function raises ValueError for
values outside its range; what people write is checked where it is read.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise
from typing import Final, Literal

from msgspec import Struct

from wetside.domain.messages import refused

COLDEST_C: Final = 0.0
HOTTEST_C: Final = 100.0

# Own least-squares fits in x = t/100 to the IAPWS liquid-water release at 0.1 MPa, 400 points over 0–100 °C.
# Largest differences measured over the range: 0.0065 kg/m³ and 3.6 J/kg (that is 0.001 °C).
_DENSITY: Final = (999.84883, 6.2500016, -83.697601, 65.14206, -40.005967, 10.815025)
_ENTHALPY: Final = (63.321134, 421639.81, -13228.033, 21186.956, -15412.244, 4917.3042)
# close to cp everywhere between 0 and 100 °C (4178 to 4219); only the step of the search below depends on it
_CP_J_PER_KG_K: Final = 4186.0

# Saturation pressure: equation and coefficients of the IAPWS supplementary release on saturation properties
# (1992), written down from memory; tests/reference compares it with two libraries.
_CRITICAL_K: Final = 647.096
_CRITICAL_KPA: Final = 22064.0
_SATURATION: Final = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)

NO_HAND_ABOVE_C: Final = 43.0
"""110 °F. No hand goes into hotter water (common practice, no source)."""

SCALDS_ABOVE_C: Final = 49.0
"""120 °F, where the published table below begins."""


def _f_to_c(temperature_f: float) -> float:
    return (temperature_f - 32.0) / 1.8


# Seconds to a third-degree burn of adult skin in tap water, coolest first. A children's hospital table (read on
# its page) has 120, 125, 130, 135 and 140 °F; a reprint of the US tap-water scald alert (seen second-hand) agrees
# at 120 and 130 °F and adds 150 °F. Where a table gives a span (1.5–2 min at 125 °F) or the two differ (under 5 s
# against 6 s at 140 °F), the shorter time stands here.
SCALD_TABLE: Final[tuple[tuple[float, float], ...]] = (
    (_f_to_c(120.0), 300.0),
    (_f_to_c(125.0), 90.0),
    (_f_to_c(130.0), 30.0),
    (_f_to_c(135.0), 10.0),
    (_f_to_c(140.0), 5.0),
    (_f_to_c(150.0), 2.0),
)


class Mix(Struct, frozen=True):
    """The volume and the temperature of several waters poured together."""

    volume_ml: float
    temperature_c: float


class Portions(Struct, frozen=True):
    """Hot and cold water of a mix."""

    hot_ml: float
    cold_ml: float


class Drawn(Struct, frozen=True):
    """Hot and cold water in whole steps of `step_ml`."""

    hot_steps: int
    cold_steps: int
    step_ml: float


def check_water_c(temperature_c: float) -> float:
    """The temperature itself. Raises ValueError outside 0 to 100 °C."""
    if not COLDEST_C <= temperature_c <= HOTTEST_C:
        raise ValueError(f"water at {temperature_c} °C")
    return temperature_c


def check_volume_ml(volume_ml: float) -> float:
    """The volume itself. Raises ValueError unless it is above 0 and finite."""
    if not 0.0 < volume_ml < math.inf:
        raise ValueError(f"a volume of {volume_ml} ml")
    return volume_ml


def density_kg_m3(temperature_c: float) -> float:
    """Density of water in kg/m³ at 0.1 MPa, 0 to 100 °C (own fit to IAPWS, within 0.007 kg/m³)."""
    return _polynomial(_DENSITY, check_water_c(temperature_c) / 100.0)


def enthalpy_j_kg(temperature_c: float) -> float:
    """Specific enthalpy of water in J/kg at 0.1 MPa, 0 to 100 °C (own fit to IAPWS, within 4 J/kg)."""
    return _polynomial(_ENTHALPY, check_water_c(temperature_c) / 100.0)


def vapour_pressure_kpa(temperature_c: float) -> float:
    """Pressure of saturated water vapour in kPa, 0 to 100 °C (IAPWS saturation equation)."""
    kelvin = check_water_c(temperature_c) + 273.15
    tau = 1.0 - kelvin / _CRITICAL_K
    root = math.sqrt(tau)
    cube = tau * tau * tau
    a1, a2, a3, a4, a5, a6 = _SATURATION
    powers = (
        a1 * tau + a2 * tau * root + a3 * cube + a4 * cube * root + a5 * cube * tau + a6 * cube * cube * tau * root
    )
    return _CRITICAL_KPA * math.exp(_CRITICAL_K / kelvin * powers)


def mass_kg(volume_ml: float, temperature_c: float) -> float:
    """Mass in kg of a volume of water measured at its own temperature."""
    return check_volume_ml(volume_ml) * density_kg_m3(temperature_c) * 1e-6


def mix(parts: tuple[tuple[float, float], ...]) -> Mix:
    """The mix of `parts`, each (volume_ml at its own temperature, temperature_c), without loss to vessel or room.

    Within 0.001 °C of the IAPWS enthalpy balance between 5 and 65 °C (measured).
    """
    masses = [mass_kg(volume_ml, temperature_c) for volume_ml, temperature_c in parts]
    total_kg = sum(masses)
    heat_j = sum(m * enthalpy_j_kg(part[1]) for m, part in zip(masses, parts, strict=True))
    temperature_c = _temperature_c(heat_j / total_kg)
    return Mix(total_kg / density_kg_m3(temperature_c) * 1e6, temperature_c)


def portions(target_c: float, volume_ml: float, hot_c: float, cold_c: float) -> Portions | None:
    """The water at `hot_c` and at `cold_c`, each measured as it is drawn, that makes `volume_ml` at `target_c`.

    None if the target lies outside the two.
    """
    if not cold_c <= target_c <= hot_c:
        return None
    hot, cold, wanted = enthalpy_j_kg(hot_c), enthalpy_j_kg(cold_c), enthalpy_j_kg(target_c)
    total_kg = mass_kg(volume_ml, target_c)
    if hot <= cold:  # all three are the same
        return Portions(0.0, volume_ml)
    share = (wanted - cold) / (hot - cold)
    return Portions(
        share * total_kg / density_kg_m3(hot_c) * 1e6,
        (1.0 - share) * total_kg / density_kg_m3(cold_c) * 1e6,
    )


def drawn(
    target_c: float, volume_ml: float, hot_c: float, cold_c: float, steps_ml: tuple[float, ...], within_c: float
) -> Drawn | None:
    """The portions rounded to the first of `steps_ml` (coarsest first) that still mixes to within `within_c` (K).

    The last step where none does. The rounded portions add up to the volume. None as `portions`.
    """
    exact = portions(target_c, volume_ml, hot_c, cold_c)
    if exact is None:
        return None
    share = exact.hot_ml / (exact.hot_ml + exact.cold_ml)
    found = [_in_steps(share, volume_ml, step_ml) for step_ml in steps_ml]
    return next((one for one in found if abs(_mixed_c(one, hot_c, cold_c) - target_c) <= within_c), found[-1])


def _in_steps(share: float, volume_ml: float, step_ml: float) -> Drawn:
    steps = max(1, round(volume_ml / step_ml))
    hot = math.floor(share * steps + 0.5)  # the portion with the larger remainder is rounded up
    return Drawn(hot, steps - hot, step_ml)


def _mixed_c(found: Drawn, hot_c: float, cold_c: float) -> float:
    parts = ((found.hot_steps * found.step_ml, hot_c), (found.cold_steps * found.step_ml, cold_c))
    return mix(tuple(part for part in parts if part[0] > 0.0)).temperature_c


BOILED_C: Final = 95.0
"""The temperature of boiling water once it is poured into a bucket (our own number)."""

KETTLE_W: Final = 2000.0
KETTLE_SHARE: Final = 0.85
"""A household kettle, and the share of its power that goes into the water (common practice, no source)."""

ICE_MELTS_J_KG: Final = 333_550.0
"""Heat of fusion of ice at 0 °C: handbook value, from memory."""


class Boiled(Struct, frozen=True):
    """Boiling water that makes a bath warmer than the tap.

    boiling_ml: as drawn from the tap into the kettle; tap_ml: the tap's water it is poured into; energy_j: the
    heat the kettle adds; kettle_s: how long a kettle of 2 kW takes.
    """

    boiling_ml: float
    tap_ml: float
    energy_j: float
    kettle_s: float


def with_boiling_water(target_c: float, volume_ml: float, tap_c: float) -> Boiled | None:
    """Boiling water and the tap's at `tap_c` that make `volume_ml` at `target_c`. None as `portions`."""
    found = portions(target_c, volume_ml, BOILED_C, tap_c)
    if found is None:
        return None
    mass = found.hot_ml * density_kg_m3(BOILED_C) * 1e-6
    energy_j = mass * (enthalpy_j_kg(HOTTEST_C) - enthalpy_j_kg(tap_c))
    boiling_ml = mass / density_kg_m3(tap_c) * 1e6
    return Boiled(boiling_ml, found.cold_ml, energy_j, energy_j / (KETTLE_W * KETTLE_SHARE))


def ice_kg(target_c: float, volume_ml: float, tap_c: float) -> float:
    """Ice at 0 °C (kg) that cools the tap's water at `tap_c` to `volume_ml` at `target_c`, which is no warmer."""
    whole_kg = mass_kg(volume_ml, target_c)
    given_j_kg = enthalpy_j_kg(tap_c) - enthalpy_j_kg(target_c)
    return whole_kg * given_j_kg / (enthalpy_j_kg(tap_c) - enthalpy_j_kg(COLDEST_C) + ICE_MELTS_J_KG)


def scald_seconds(temperature_c: float) -> float | None:
    """Seconds in water of `temperature_c` until a third-degree burn of adult skin; children burn sooner.

    From SCALD_TABLE, log-linear between its points. None below its coolest point, 48.9 °C, which does not mean
    that such water is safe. Above its hottest point, 65.6 °C, the time of that point, as an upper bound.
    """
    check_water_c(temperature_c)
    if temperature_c < SCALD_TABLE[0][0]:
        return None
    for (cooler_c, longer_s), (hotter_c, shorter_s) in pairwise(SCALD_TABLE):
        if temperature_c <= hotter_c:
            share = (temperature_c - cooler_c) / (hotter_c - cooler_c)
            return math.exp((1.0 - share) * math.log(longer_s) + share * math.log(shorter_s))
    return SCALD_TABLE[-1][1]


def water_hazard(temperature_c: float) -> Literal["warm", "too hot for a hand", "scalds"]:
    """What water of this temperature does to a hand."""
    check_water_c(temperature_c)
    if temperature_c > SCALDS_ABOVE_C:
        return "scalds"
    return "too hot for a hand" if temperature_c > NO_HAND_ABOVE_C else "warm"


def _temperature_c(enthalpy: float) -> float:
    """Temperature in °C at which water has this enthalpy; three Newton steps leave an error below 1e-6 °C."""
    temperature_c = min(max(enthalpy / _CP_J_PER_KG_K, COLDEST_C), HOTTEST_C)
    for _ in range(3):
        temperature_c -= (enthalpy_j_kg(temperature_c) - enthalpy) / _CP_J_PER_KG_K
        temperature_c = min(max(temperature_c, COLDEST_C), HOTTEST_C)
    return temperature_c


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value


ANCHOR_S: Final = 7200.0
ANCHOR_C: Final = 22.0
ANCHOR_HUMIDITY: Final = 0.5
"""Film dries in 2 h at 22 °C and 50 % relative humidity (common practice, no source). Drying times are scaled from
this by the vapour pressure between the wet bulb and the air, so each of them is a guess, and is worded as one."""

COLDEST_AIR_C: Final = 5.0
HOTTEST_AIR_C: Final = (125.0 - 32.0) / 1.8
""""Keep the heat below 125 F": US Army subcourse SS0573, read in print."""

_DAMPEST: Final = 0.95
"""The largest relative humidity for which a drying time is given (our own number)."""

ATMOSPHERE_KPA: Final = 101.325
_VAPOUR_TO_AIR: Final = 0.621945


def vapour_kpa(temperature_c: float, humidity: float) -> float:
    """Pressure (kPa) of the vapour in air of 5 to 51.7 °C, else Refusal. humidity: relative, from 0 to 1."""
    if not COLDEST_AIR_C <= temperature_c <= HOTTEST_AIR_C:
        raise refused("air not for film", room_c=temperature_c, range_c=(COLDEST_AIR_C, HOTTEST_AIR_C))
    if not 0.0 <= humidity <= 1.0:
        raise ValueError(f"a relative humidity of {humidity}")
    return vapour_pressure_kpa(temperature_c) * humidity


@lru_cache(maxsize=64)  # every path of a proof asks for the same room
def wet_bulb_c(temperature_c: float, humidity: float) -> float:
    """The wet-bulb temperature (°C) of this air at sea level; below 0 °C that of unfrozen water.

    The psychrometric balance of the ASHRAE Handbook of Fundamentals (chapter 1), from memory; compared with
    PsychroLib in tests/reference. Units and range as in `vapour_kpa`.
    """
    ratio = _humidity_ratio(vapour_kpa(temperature_c, humidity))
    low_c, high_c = -15.0, temperature_c
    for _ in range(50):
        wet_c = 0.5 * (low_c + high_c)
        given = (2501.0 - 2.326 * wet_c) * _humidity_ratio(_saturated_kpa(wet_c)) - 1.006 * (temperature_c - wet_c)
        if given > ratio * (2501.0 + 1.86 * temperature_c - 4.186 * wet_c):
            high_c = wet_c
        else:
            low_c = wet_c
    return 0.5 * (low_c + high_c)


def driving_pressure_kpa(temperature_c: float, humidity: float) -> float:
    """The pressure in kPa that dries wet film: saturation at the wet bulb less the vapour pressure of the air."""
    return _saturated_kpa(wet_bulb_c(temperature_c, humidity)) - vapour_kpa(temperature_c, humidity)


def _saturated_kpa(temperature_c: float) -> float:
    """As `vapour_pressure_kpa`, extended below 0 °C with its slope there (7.26 % a K)."""
    held_c = max(0.0, temperature_c)
    return vapour_pressure_kpa(held_c) * math.exp(0.0726 * (temperature_c - held_c))


def _humidity_ratio(vapour_kpa: float) -> float:
    return _VAPOUR_TO_AIR * vapour_kpa / (ATMOSPHERE_KPA - vapour_kpa)


def drying_s(temperature_c: float, humidity: float) -> float:
    """Seconds until hung film may be touched, a guess scaled from `ANCHOR_S`.

    Units and range as in `vapour_kpa`; Refusal too above 95 % humidity, where film hardly dries.
    """
    driving_kpa = driving_pressure_kpa(temperature_c, humidity)
    if humidity > _DAMPEST:
        raise refused("air too damp", percent=humidity * 100.0)
    return ANCHOR_S * driving_pressure_kpa(ANCHOR_C, ANCHOR_HUMIDITY) / driving_kpa
