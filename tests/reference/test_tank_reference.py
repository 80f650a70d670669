"""Film areas and what counts as a roll, against dimensions and exact units.

Tags: [V] read in print, [V2] seen second-hand, [M] from memory, [C] computed. ISO 1007 (135) and ISO 732
(120, 220) hold the exact sizes, but their tables were not read: only their scope is [V].
"""

from __future__ import annotations

import pint
import pytest
from tests.shipped import profile_from_text

from wetside.domain.calc.tank import FILM_AREA_CM2, FILM_SIZE_MM, TRADE_ROLL_CM2, roll_equivalents
from wetside.domain.planning.bottles import capacity_left

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()


def cm2(value: float, unit: str) -> float:
    return float((value * UNITS(unit)).to("cm**2").magnitude)


def test_the_round_roll_is_eighty_square_inches() -> None:
    """80 in² a roll [V2]; 1 in = 25.4 mm exactly, by pint's own definitions."""
    assert pytest.approx(cm2(80.0, "inch**2"), rel=1e-12) == TRADE_ROLL_CM2


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
        ("135-36", 572.0, 1.0),
        ("135-24", 413.0, 0.72),
        ("120", 507.0, 0.89),
        ("220", 1015.0, 1.77),
        ("4x5", 129.0, 0.23),
        ("5x7", 226.0, 0.395),
        ("8x10", 516.1, 0.90),
    ],
)
def test_areas_and_equivalents_equal_the_worked_table(name: str, area_cm2: float, rolls: float) -> None:
    """Worked by hand from one length and width of each format [C]; no publication has this table."""
    assert FILM_AREA_CM2[name] == pytest.approx(area_cm2, abs=0.5)
    assert roll_equivalents((name,)) == pytest.approx(rolls, abs=0.005)


def test_a_litre_for_eight_rolls_develops_eight_rolls() -> None:
    """8 rolls a litre [M] are eight 135-36, or as much film in other formats: nine 120 [C]."""
    assert capacity_left(8.0, 1000.0, roll_equivalents(("135-36",) * 8)) == 0
    assert capacity_left(8.0, 1000.0, roll_equivalents(("120",) * 9)) > 0
    assert capacity_left(8.0, 1000.0, roll_equivalents(("120",) * 10)) < 0


@pytest.mark.parametrize(
    ("written", "area_cm2", "litres"),
    [
        ("8 rolls per litre", 8 * 572.0, 1.0),
        ("16 rolls of 135-36 per 2 l", 16 * 572.0, 2.0),
        ("10 rolls of 120 per 600 ml", 10 * 507.0, 0.6),
        ("8 rolls of 80 in² per US qt", 8 * 516.128, 0.946352946),
        ("640 in² per litre", 640 * 6.4516, 1.0),
        ("5000 cm² per 2 l", 5000.0, 2.0),
    ],
)
def test_a_profile_says_what_its_capacity_counts(written: str, area_cm2: float, litres: float) -> None:
    """Areas by the table above; 1 in = 25.4 mm and the US quart of 57.75 in³ exactly [pint]."""
    assert UNITS("1 US_liquid_quart").to("l").magnitude == pytest.approx(0.946352946, rel=1e-9)
    text = 'format = 1\nid = "mine"\ntitle = "Mine"\nbased_on = "two-bath"\n'
    text += f'[solutions.developer]\nleave_out = ["stretch"]\ncapacity = "{written}"\n'
    solution = profile_from_text(text, "mine.toml").solution("developer")
    assert solution.capacity_per_l == pytest.approx(area_cm2 / 572.0 / litres, rel=1e-6)
