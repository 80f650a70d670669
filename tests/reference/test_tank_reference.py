"""Film areas and the trade's round roll, against dimensions and exact units.

Tags: [V] read in print, [V2] seen second-hand, [M] from memory, [C] computed. ISO 1007 (135) and ISO 732
(120, 220) hold the exact sizes, but their tables were not read: only their scope is [V].
"""

from __future__ import annotations

import pint
import pytest

from wetside.domain.calc.stock import capacity_left
from wetside.domain.calc.tank import FILM_AREA_CM2, FILM_SIZE_MM, ROLL_EQUIVALENT_CM2, roll_equivalents

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()


def cm2(value: float, unit: str) -> float:
    return float((value * UNITS(unit)).to("cm**2").magnitude)


def test_the_round_roll_is_eighty_square_inches() -> None:
    """80 in² a roll [V2]; 1 in = 25.4 mm exactly, by pint's own definitions."""
    assert pytest.approx(cm2(80.0, "inch**2"), rel=1e-12) == ROLL_EQUIVALENT_CM2


@pytest.mark.parametrize(
    ("name", "length_mm", "width_mm"),
    [
        # 1.60–1.65 m [M]; width 34.975 ± 0.025 mm (ISO 1007 type) [M]
        ("135-36", (1600.0, 1650.0), (34.95, 35.0)),
        # 24 frames fewer by 12 × 38.0 mm [C]
        ("135-24", (1600.0 - 456.0, 1650.0 - 456.0), (34.95, 35.0)),
        ("135-12", (1600.0 - 912.0, 1650.0 - 912.0), (34.95, 35.0)),
        # 76–84 cm long, 61–62 mm wide (ISO 732 type) [V2]; 220 double [V2]
        ("120", (760.0, 840.0), (61.0, 62.0)),
        ("220", (1520.0, 1680.0), (61.0, 62.0)),
    ],
)
def test_roll_areas_lie_within_the_dimensions(
    name: str, length_mm: tuple[float, float], width_mm: tuple[float, float]
) -> None:
    least, most = (cm2(length_mm[end] * width_mm[end], "mm**2") for end in (0, 1))
    assert least <= FILM_AREA_CM2[name] <= most


@pytest.mark.parametrize(("name", "inches"), [("4x5", (4, 5)), ("5x7", (5, 7)), ("8x10", (8, 10))])
def test_sheets_are_their_nominal_inches(name: str, inches: tuple[int, int]) -> None:
    """Nominal sizes, exact by the inch [C]; an 8 × 10 in sheet is the round roll itself."""
    assert FILM_AREA_CM2[name] == pytest.approx(cm2(inches[0] * inches[1], "inch**2"), abs=0.0005)


def test_frames_are_eight_perforations_apart() -> None:
    """Pitch 4.750 mm, type KS-1870 [V2 for the type, M for the value]; 8 of them are 38.0 mm."""
    longer = FILM_SIZE_MM["135-36"][0] - FILM_SIZE_MM["135-24"][0]
    assert longer / 12 == pytest.approx(8 * 4.750)
    # 36 frames alone are 1368 mm; the rest is leader and trailer
    assert FILM_SIZE_MM["135-36"][0] > 36 * 8 * 4.750


@pytest.mark.parametrize(
    ("name", "area_cm2", "rolls"),
    [
        ("135-36", 572.0, 1.11),
        ("135-24", 413.0, 0.80),
        ("120", 507.0, 0.98),
        ("220", 1015.0, 1.97),
        ("4x5", 129.0, 0.25),
        ("5x7", 226.0, 0.44),
        ("8x10", 516.1, 1.00),
    ],
)
def test_areas_and_equivalents_equal_the_worked_table(name: str, area_cm2: float, rolls: float) -> None:
    """The project's table of areas [C], from the dimensions above."""
    assert FILM_AREA_CM2[name] == pytest.approx(area_cm2, abs=0.5)
    assert roll_equivalents((name,)) == pytest.approx(rolls, abs=0.005)


def test_a_litre_at_eight_rolls_does_seven_full_lengths() -> None:
    """8 rolls a litre [M], counted by area: 8 × 516.128 / 572 cm² = 7.2 full-length 135 rolls [C]."""
    assert capacity_left(8.0, 1000.0, roll_equivalents(("135-36",) * 7)) > 0
    assert capacity_left(8.0, 1000.0, roll_equivalents(("135-36",) * 8)) < 0
