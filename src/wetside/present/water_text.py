"""Sentences about water: mixing and correcting the warm bath, boiling water, and the caution against scalds."""

from __future__ import annotations

import math

from msgspec import Struct

from wetside.domain.calc.water import SCALD_TABLE, Boiled, drawn, scald_seconds, water_hazard
from wetside.domain.planning.setup import METRIC, TemperatureUnit, Units, VolumeUnit, Water
from wetside.present.wording import ML_PER, temperature, volume

DRAWN_WITHIN_C = 0.2
"""How far the rounding of volumes may shift the temperature of the bath, K (our own number)."""


class DrawnWater(Struct, frozen=True):
    """The volumes of a bath in words, "8.7 l"; `hot` or `cold` is empty where none of it is drawn."""

    hot: str
    cold: str
    whole: str


def drawn_water(water: Water, target_c: float, unit: VolumeUnit) -> DrawnWater | None:
    """The volumes to draw for a bath of `target_c` (°C), in tenths, or finer where tenths miss it by too much.

    None where the two taps cannot make that temperature.
    """
    name = "l" if unit == "ml" else "US qt" if water.bath_ml >= ML_PER["US qt"] else "US fl oz"
    steps_ml = tuple(ML_PER[name] / parts for parts in (10, 100, 1000))
    found = drawn(target_c, water.bath_ml, water.hot_c, water.cold_c, steps_ml, DRAWN_WITHIN_C)
    if found is None:
        return None
    decimals = steps_ml.index(found.step_ml) + 1

    def words(steps: int) -> str:
        return f"{steps / 10**decimals:.{decimals}f} {name}"

    return DrawnWater(
        words(found.hot_steps) if found.hot_steps else "",
        words(found.cold_steps) if found.cold_steps else "",
        words(found.hot_steps + found.cold_steps),
    )


def bath_sentence(water: Water, target_c: float, units: Units) -> str:
    """The sentence on mixing the bath from the taps; "" where they cannot make its temperature."""
    found = drawn_water(water, target_c, units.volume)
    if found is None:
        return ""
    hot = f"{found.hot} at {temperature(water.hot_c, units.temperature)}"
    cold = f"{found.cold} at {temperature(water.cold_c, units.temperature)}"
    if not (found.hot and found.cold):
        return f"Bath: {hot if found.hot else cold}, from one tap alone."
    return f"Bath: {hot} with {cold} make {found.whole} at {temperature(target_c, units.temperature)}."


def boiled_words(boiled: Boiled, volume_unit: VolumeUnit) -> str:
    """How much water to boil and to add it to, with the caution against scalding."""
    minutes = max(1, round(boiled.kettle_s / 60.0))
    boil, into = volume(boiled.boiling_ml, volume_unit), volume(boiled.tap_ml, volume_unit)
    return (
        f"boil {boil} and pour it slowly into {into}"
        f" from the hot tap ({boiled.energy_j / 3.6e6:.2f} kWh, about {minutes} min of a kettle of 2 kW)."
        " Boiling water scalds at once: bucket on the floor, no hand near it, children out."
    )


def corrected_bath(
    water: Water, read_c: float, wanted_c: tuple[float, float], unit: TemperatureUnit, volume_unit: VolumeUnit
) -> str:
    """How to bring a full bath, read outside `wanted_c` (°C), to the middle of it; "" where it is inside.

    A volume V_out is replaced by water from a tap: V (T − aim) = V_out (T − tap). Where that is more than half of
    the bath, it is mixed again.
    """
    if wanted_c[0] <= read_c <= wanted_c[1]:
        return ""
    hot = read_c > wanted_c[1]
    tap_c, name, word = (water.cold_c, "cold", "hot") if hot else (water.hot_c, "hot", "cold")
    aim_c = (wanted_c[0] + wanted_c[1]) / 2.0
    if (tap_c >= aim_c) is hot:
        return f"Warm bath too {word}, and the {name} tap does not help: make it anew."
    out_ml = water.bath_ml * (read_c - aim_c) / (read_c - tap_c)
    if out_ml > water.bath_ml / 2.0:
        return f"Warm bath too {word}: make it anew."
    amount = volume(round(out_ml, -2 if out_ml >= 1000.0 else -1), volume_unit)
    return (
        f"Warm bath too {word}: take {amount} out first, then stir in as much of the {name} tap,"
        f" {temperature(tap_c, unit)}, and read it again."
    )


def scald_sentence(temperature_c: float, units: Units = METRIC) -> str:
    """The caution for water of this temperature, in one or two sentences."""
    water = f"Water at {temperature(temperature_c, units.temperature)}"
    match water_hazard(temperature_c):
        case "warm":
            return f"{water} is below the scald table; still feel it with the thermometer first, not the hand."
        case "too hot for a hand":
            return f"{water} is too hot for a hand: none goes in; gloves do not keep heat out. Keep children away."
        case "scalds":
            burn_s = scald_seconds(temperature_c) or SCALD_TABLE[0][1]
            return (
                f"{water} scalds: a third-degree burn {_burns_within(burn_s)}, children sooner. "
                "No hand goes in; pour slowly."
            )


def _burns_within(burn_s: float) -> str:
    """The time in words, rounded down from 10 s on; the 1e-9 keeps the exact figure of a table point."""
    if burn_s >= 120.0:
        return f"in about {int(burn_s / 60.0)} min"
    if burn_s >= 10.0:
        return f"in about {int(burn_s + 1e-9)} s"
    return f"in {math.ceil(burn_s - 1e-9)} s or less"
