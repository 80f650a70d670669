"""How a warm bath that was read outside its range is corrected, in words."""

from __future__ import annotations

from wetside.domain.calc.wording import TemperatureUnit, VolumeUnit, temperature, volume
from wetside.domain.planning.setup import Water


def corrected_bath(
    water: Water, read_c: float, wanted_c: tuple[float, float], unit: TemperatureUnit, volume_unit: VolumeUnit
) -> str:
    """How a full bath read outside `wanted_c` (°C) is brought to its middle; empty where it is inside.

    V_out is taken out and as much of a tap's water stirred in: V (T − aim) = V_out (T − tap). Where that is more
    than half of the bath, it is made anew.
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
