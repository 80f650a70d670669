"""The mixing guide: the profile's order, cautions before acts, amounts for the volume that is mixed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.shelf.shelving import TWO_BATH

from wetside.errors import Refused
from wetside.present.mixing_guide import FIRST, PART_CAUTION, mixing_guide, scaled

KIT = (("bleach-fix", 500.0), ("developer", 500.0))


def test_in_the_profile_s_order_cautions_first() -> None:
    lines = mixing_guide(TWO_BATH, KIT)
    text = "\n".join(lines)
    assert lines[:2] == (FIRST, PART_CAUTION)
    assert text.index("1. Developer, 500 ml") < text.index("2. Bleach-fix, 500 ml")
    allergy = TWO_BATH.caution("allergy")
    assert text.index(f"{allergy.signal}: {allergy.hazard}") < text.index("1.1 ")
    for hazard in TWO_BATH.solution("developer").hazards:
        assert text.index(hazard.text) < text.index("1.1 ")
    assert "43 °C" in text
    assert "400 ml for 500 ml" in text
    assert "800 ml" not in text


def test_a_whole_kit_has_no_caution_about_parts() -> None:
    assert PART_CAUTION not in mixing_guide(TWO_BATH, (("developer", 1000.0),))


@pytest.mark.parametrize(
    ("words", "ml", "says"),
    [
        ("800 ml for one litre", 1000.0, "800 ml for one litre"),
        ("take 800 ml for one litre, stir", 2000.0, "take 1600 ml for 2 l, stir"),
        ("0.8 l for 1 litre", 500.0, "400 ml for 500 ml"),
        ("12.5 g for one liter", 600.0, "7.5 g for 600 ml"),
        ("for one litre", 500.0, "for one litre"),
    ],
)
def test_amounts_are_scaled(words: str, ml: float, says: str) -> None:
    assert scaled(words, ml) == says


def test_a_silent_profile_points_to_the_kit_s_sheet() -> None:
    silent = replace(TWO_BATH, solutions=tuple(replace(s, mixing=()) for s in TWO_BATH.solutions))
    assert any("follow the kit's own sheet" in line for line in mixing_guide(silent, KIT)[3:])


def test_water_is_not_mixed() -> None:
    with pytest.raises(Refused, match='keeps no "water" in a bottle: it has developer, bleach-fix, stabiliser'):
        mixing_guide(TWO_BATH, (("water", 500.0),))
