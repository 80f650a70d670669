"""How long film hangs before it may be touched, guessed from the air of the room.

Drying is taken to go as the vapour pressure between the wet bulb and the air, from one anchor: 2 h at 22 °C and
50 % relative humidity. The anchor is common practice, no source; so every figure from here is a guess and its
sentence says so.
It must not decide that film is dry: a hand on the edge of the film does.
"""

from __future__ import annotations

import math
from typing import Final

from wetside.domain.calc.water import vapour_pressure_kpa
from wetside.domain.calc.wording import Between, Celsius, TemperatureUnit, phrase, temperature
from wetside.errors import Refused

ANCHOR_S: Final = 7200.0
ANCHOR_C: Final = 22.0
ANCHOR_HUMIDITY: Final = 0.5

COLDEST_C: Final = 5.0
# "keep the heat below 125 F": US Army subcourse SS0573, read in print
HOTTEST_C: Final = (125.0 - 32.0) / 1.8
# above this the deficit is so small that the figure would mean nothing; own choice
DAMPEST: Final = 0.95


def vapour_pressure_deficit_kpa(temperature_c: float, humidity: float) -> float:
    """What the air could still take up, in kPa: saturation pressure × (1 − humidity).

    `temperature_c` in °C, 5 to 51.7; `humidity` relative, a share from 0 to 1 (50 % is 0.5). Refused outside.
    """
    if not COLDEST_C <= temperature_c <= HOTTEST_C:
        raise Refused(
            phrase(
                "Air at {} is outside what film is hung in, {}: warmer air hardens the surface before the film is"
                " dry.",
                Celsius(temperature_c),
                Between(COLDEST_C, HOTTEST_C),
            )
        )
    if not 0.0 <= humidity <= 1.0:
        raise Refused(f"A relative humidity of {humidity:g} is not a share between 0 and 1: give 50 % as 0.5.")
    return vapour_pressure_kpa(temperature_c) * (1.0 - humidity)


ATMOSPHERE_KPA: Final = 101.325
_VAPOUR_TO_AIR: Final = 0.621945


def wet_bulb_c(temperature_c: float, humidity: float) -> float:
    """The temperature (°C) wet film takes on in this air, at sea level; below 0 °C that of water not yet frozen.

    The psychrometric balance of the ASHRAE Handbook of Fundamentals (chapter 1), from memory; PsychroLib is the
    oracle in tests/reference. Units and range as in `vapour_pressure_deficit_kpa`.
    """
    vapour_kpa = _vapour_kpa(temperature_c, humidity)
    ratio = _ratio(vapour_kpa)
    low_c, high_c = -15.0, temperature_c
    for _ in range(50):
        wet_c = 0.5 * (low_c + high_c)
        given = (2501.0 - 2.326 * wet_c) * _ratio(_saturated_kpa(wet_c)) - 1.006 * (temperature_c - wet_c)
        if given > ratio * (2501.0 + 1.86 * temperature_c - 4.186 * wet_c):
            high_c = wet_c
        else:
            low_c = wet_c
    return 0.5 * (low_c + high_c)


def driving_pressure_kpa(temperature_c: float, humidity: float) -> float:
    """What drives water out of wet film, in kPa: saturation at the wet bulb less the vapour in the air.

    Film that dries is as cold as the wet bulb, so this is less than the deficit of the air.
    """
    vapour_kpa = _vapour_kpa(temperature_c, humidity)
    return _saturated_kpa(wet_bulb_c(temperature_c, humidity)) - vapour_kpa


def _vapour_kpa(temperature_c: float, humidity: float) -> float:
    deficit_kpa = vapour_pressure_deficit_kpa(temperature_c, humidity)
    return vapour_pressure_kpa(temperature_c) - deficit_kpa


def _saturated_kpa(temperature_c: float) -> float:
    """As `vapour_pressure_kpa`, carried on below 0 °C with its slope there (7.26 % a K)."""
    held_c = max(0.0, temperature_c)
    return vapour_pressure_kpa(held_c) * math.exp(0.0726 * (temperature_c - held_c))


def _ratio(vapour_kpa: float) -> float:
    return _VAPOUR_TO_AIR * vapour_kpa / (ATMOSPHERE_KPA - vapour_kpa)


def drying_s(temperature_c: float, humidity: float) -> float:
    """Seconds until hung film may be touched, a guess: 2 h × (drive at 22 °C and 50 %) ÷ (drive of this air).

    Units and range as in `vapour_pressure_deficit_kpa`; Refused too above 95 % humidity, where film hardly dries.
    """
    driving_kpa = driving_pressure_kpa(temperature_c, humidity)
    if humidity > DAMPEST:
        raise Refused(
            f"At {humidity * 100.0:.0f} % relative humidity film hardly dries: warm the room or let drier air in."
        )
    return ANCHOR_S * driving_pressure_kpa(ANCHOR_C, ANCHOR_HUMIDITY) / driving_kpa


def drying_sentence(
    temperature_c: float, humidity: float, least_s: float | None = None, unit: TemperatureUnit = "°C"
) -> str:
    """The guess in words, as a guess, beside the time the process gives at the least (s), where it gives one."""
    guess_s = 300.0 * round(drying_s(temperature_c, humidity) / 300.0)
    air = f"in air of {temperature(temperature_c, unit)} and {humidity * 100.0:.0f} %"
    touch = "Leave it alone, then touch the edge of the film before you trust it."
    if least_s is None:
        return f"Dry in about {_span(guess_s)} {air}: a guess from the room's air. {touch}"
    if guess_s > least_s:
        return f"{_span(least_s)} is the least; {air} it likely takes about {_span(guess_s)}, a guess. {touch}"
    return f"{_span(least_s)} is the least, and {air} likely enough: the guess is {_span(guess_s)}. {touch}"


def _span(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{minutes} min" if not hours else f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"
