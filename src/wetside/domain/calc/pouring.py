"""A developer poured into a tank: the step at the pour, the bottle that makes up for it, the drift after it.

Liquid and tank (with reels and film) are two lumps that share their heat at the pour, then drift together towards
the room air or the water bath by Newton's law. Temperatures in °C, volumes in ml, heat capacities in J/K.
tests/reference/test_pour_reference.py compares this with an integrator.
"""

from __future__ import annotations

import math
from statistics import fmean
from typing import Final, Literal

from msgspec import Struct

from wetside.domain.calc.running_dose import Reading, fit_cooling
from wetside.domain.calc.tempering import HEAT_J_PER_ML_K, tank_drop_c
from wetside.domain.calc.water import check_volume_ml

TANK_J_PER_K: Final[dict[Literal["plastic", "steel"], float]] = {"plastic": 260.0, "steel": 250.0}
"""Tank, reels and film, a guess: 200 g of plastic at 1.3 J/gK, 500 g of steel at 0.5 J/gK (computed)."""

_AREA_M2_AT_1_L: Final = 0.085
"""Surface of a developing tank with one litre in it, a cylinder of 10 cm by 13 cm with both ends (computed). Other
sizes scale as volume to the power 2/3."""

_INTO_W_PER_M2_K: Final = {"air": 10.0, "bath": 60.0}
"""Still air and radiation at a wall 20 K warmer than the room, and a 2 mm plastic wall between two waters: round
figures of heat-transfer handbooks, from memory."""

_READING_C: Final = 0.1
"""The scatter of one thermometer's readings at one temperature (our own number)."""

_RATE_SHARE: Final = 0.7
"""One standard deviation of a guessed rate, as a share of it (our own number)."""


class Drift(Struct, frozen=True):
    """Newton's cooling (or warming) towards a temperature (°C) at a rate (1/s)."""

    surroundings_c: float
    rate_per_s: float


def bottle_for_c(wanted_c: float, volume_ml: float, tank_c: float, tank_j_per_k: float) -> float:
    """The bottle's temperature (°C) that gives `wanted_c` in a tank of `tank_c`: the inverse of `tank_drop_c`."""
    return wanted_c + (wanted_c - tank_c) * tank_j_per_k / (check_volume_ml(volume_ml) * HEAT_J_PER_ML_K)


def rinsed_tank_c(
    water_c: float, volume_ml: float, tank_c: float, tank_j_per_k: float, room_c: float, empty_s: float
) -> float:
    """The tank's temperature (°C) `empty_s` seconds after a rinse of `volume_ml` at `water_c` was poured out."""
    filled_c = water_c - tank_drop_c(volume_ml, water_c, tank_c, tank_j_per_k)
    fade = math.exp(-max(0.0, empty_s) * _transfer_w_per_k("air", volume_ml) / tank_j_per_k)
    return room_c + (filled_c - room_c) * fade


def usual_drift(
    volume_ml: float, tank_j_per_k: float, surroundings_c: float, into: Literal["air", "bath"] = "air"
) -> Drift:
    """The usual drift of a filled tank, guessed from its size."""
    heat = check_volume_ml(volume_ml) * HEAT_J_PER_ML_K + tank_j_per_k
    return Drift(surroundings_c, _transfer_w_per_k(into, volume_ml) / heat)


def drift(
    readings: tuple[Reading, ...], volume_ml: float, tank_j_per_k: float, air_c: float, bath_c: float | None
) -> Drift | None:
    """The drift of the tank by its own readings, towards the room air or the bath.

    With at most one reading, the usual drift in air. With more, the surroundings whose usual rate is nearer to the
    fitted one; the rate is the mean of the usual and the fitted one, weighted by their variances. None where the
    readings move towards neither.
    """
    usual = usual_drift(volume_ml, tank_j_per_k, air_c)
    if len(readings) < 2:
        return usual
    candidates = [usual]
    if bath_c is not None:
        candidates.append(usual_drift(volume_ml, tank_j_per_k, bath_c, "bath"))
    found: list[tuple[float, Drift]] = []
    for guess in candidates:
        rate = fit_cooling(readings, guess.surroundings_c)
        if rate is not None:
            off = abs(math.log(rate / guess.rate_per_s))
            found.append((off, _combined(readings, guess, rate)))
    return min(found, key=lambda each: each[0])[1] if found else None


def at_the_pour_c(reading: Reading, drifting: Drift | None) -> float:
    """The temperature (°C) at t0, right after the pour, from a reading of the tank and its drift."""
    if drifting is None:
        return reading.temperature_c
    excess_c = reading.temperature_c - drifting.surroundings_c
    return drifting.surroundings_c + excess_c * math.exp(drifting.rate_per_s * max(0.0, reading.at_s))


def _combined(readings: tuple[Reading, ...], guess: Drift, fitted_per_s: float) -> Drift:
    """The mean of the guessed and the fitted rate, weighted by their variances."""
    middle_s = fmean(r.at_s for r in readings)
    spread_s = math.sqrt(sum((r.at_s - middle_s) ** 2 for r in readings))
    excess_c = abs(fmean(r.temperature_c for r in readings) - guess.surroundings_c)
    of_fit, of_guess = (_READING_C / (excess_c * spread_s)) ** 2, (_RATE_SHARE * guess.rate_per_s) ** 2
    share = of_guess / (of_guess + of_fit)
    return Drift(guess.surroundings_c, guess.rate_per_s + share * (fitted_per_s - guess.rate_per_s))


def _transfer_w_per_k(into: Literal["air", "bath"], volume_ml: float) -> float:
    return _INTO_W_PER_M2_K[into] * _AREA_M2_AT_1_L * math.pow(check_volume_ml(volume_ml) / 1000.0, 2.0 / 3.0)
