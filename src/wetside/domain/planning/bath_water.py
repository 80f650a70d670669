"""The warm bath's hot and cold water in measures a person can draw, which add up to the bath they make. Pure."""

from __future__ import annotations

from wetside.domain.calc.water import Boiled, drawn, ice_kg, with_boiling_water
from wetside.domain.calc.wording import ML_PER, temperature, volume
from wetside.domain.planning.plan import TemperatureUnit, VolumeUnit, Worry
from wetside.domain.planning.setup import Water
from wetside.errors import Refused
from wetside.frozen import dataclass

DRAWN_WITHIN_C = 0.2
"""How far rounded volumes may take the bath from its temperature; the rest of what is allowed the bath is for the
bucket and the hand (our own number)."""


@dataclass(frozen=True, slots=True)
class DrawnWater:
    """The volumes in words, "8.7 l"; hot or cold is empty where none of it is drawn."""

    hot: str
    cold: str
    whole: str


def drawn_water(water: Water, target_c: float, unit: VolumeUnit) -> DrawnWater:
    """What to draw for a bath of `target_c` (°C): tenths that add up, finer where tenths miss it by too much.

    Raises Refused where the two taps cannot make it.
    """
    name = "l" if unit == "ml" else "US qt" if water.bath_ml >= ML_PER["US qt"] else "US fl oz"
    steps_ml = tuple(ML_PER[name] / parts for parts in (10, 100, 1000))
    found = drawn(target_c, water.bath_ml, water.hot_c, water.cold_c, steps_ml, DRAWN_WITHIN_C)
    decimals = steps_ml.index(found.step_ml) + 1

    def words(steps: int) -> str:
        return f"{steps / 10**decimals:.{decimals}f} {name}"

    return DrawnWater(
        words(found.hot_steps) if found.hot_steps else "",
        words(found.cold_steps) if found.cold_steps else "",
        words(found.hot_steps + found.cold_steps),
    )


def bath_sentence(
    water: Water, target_c: float, temperature_unit: TemperatureUnit, volume_unit: VolumeUnit
) -> str:
    """How the bath is mixed, in a sentence; with one tap alone where the other adds nothing. Raises Refused."""
    found = drawn_water(water, target_c, volume_unit)
    hot = f"{found.hot} at {temperature(water.hot_c, temperature_unit)}"
    cold = f"{found.cold} at {temperature(water.cold_c, temperature_unit)}"
    if not (found.hot and found.cold):
        return f"Bath: {hot if found.hot else cold}, from one tap alone."
    return f"Bath: {hot} with {cold} make {found.whole} at {temperature(target_c, temperature_unit)}."


def boiled_for(water: Water, target_c: float) -> Boiled | None:
    """The boiling water for a bath warmer than the hot tap gives; None where none is needed or none helps."""
    if target_c <= water.hot_c:
        return None
    try:
        return with_boiling_water(target_c, water.bath_ml, water.hot_c)
    except Refused:
        return None


def tap_worry(water: Water, target_c: float, unit: TemperatureUnit, volume_unit: VolumeUnit) -> Worry | None:
    """A bath that the two taps cannot make, and what makes it: boiling water or ice. None where they can."""
    bath = f"The warm bath is to start at {temperature(target_c, unit)}"
    if target_c > water.hot_c:
        tap = f"{bath} and the hot tap gives {temperature(water.hot_c, unit)}"
        boiled = boiled_for(water, target_c)
        if boiled is None:
            return Worry("taps-too-cold", f"{tap}: boiling water does not make it either. Take a larger bath.")
        return Worry("taps-too-cold", f"{tap}: {boiled_words(boiled, volume_unit)}")
    if target_c < water.cold_c:
        ice = f"{ice_kg(target_c, water.bath_ml, water.cold_c):.1f} kg of ice in it"
        return Worry(
            "taps-too-warm",
            f"{bath} and the cold tap gives {temperature(water.cold_c, unit)}: about {ice} make up for that.",
        )
    return None


def boiled_words(boiled: Boiled, volume_unit: VolumeUnit) -> str:
    """What to boil, what to pour it into, and what that takes: a caution with it, for it scalds at once."""
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
    """How a full bath read beside `wanted_c` (°C) is brought to its middle; empty where it is not beside it.

    So much is taken out and as much of a tap's water stirred in: V (T - aim) = V_out (T - tap). Where that is more
    than half of it the bath is made anew.
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
