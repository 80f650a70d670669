"""The grammar of a profile's mixing lines: what a line holds, and that its parts are the line."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetside.domain.profile.mixing_lines import Amount, mixing_line
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import profiles_by_name


def test_a_line_of_water_is_drawn_and_read() -> None:
    line = mixing_line("Take four fifths of the volume of water at 43 °C (110 °F): 800 ml for one litre.")
    assert line.draws_water
    assert line.degrees_c == (43.0,)
    assert line.amounts == (Amount("800 ml for one litre", None, 800.0, "ml"),)


def test_a_span_of_an_amount_keeps_both_ends() -> None:
    line = mixing_line("Stir in sodium carbonate until it is clear: 10 to 20 g for one litre.")
    assert line.stirs
    assert not line.draws_water
    assert line.amounts == (Amount("10 to 20 g for one litre", 10.0, 20.0, "g"),)


@pytest.mark.parametrize(
    ("text", "draws", "as_sheet"),
    [
        ("Take cold water; warm water brings out vapour.", False, False),
        ("Take four fifths of the volume of water, at the temperature of the kit's sheet.", True, True),
        ("Fill up with water to the volume.", False, False),
        ("Heat the water to 40 °C.", False, False),
    ],
)
def test_only_water_that_is_taken_at_a_temperature_is_read(text: str, draws: bool, as_sheet: bool) -> None:
    line = mixing_line(text)
    assert (line.draws_water, line.warm_as_sheet) == (draws, as_sheet)


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_the_parts_of_a_line_joined_give_the_line(path: Path) -> None:
    for solution in read_profile(path).solutions:
        for text in solution.mixing:
            parts = mixing_line(text).parts
            shown = (
                getattr(part, "text", "to the volume") if not isinstance(part, str) else part for part in parts
            )
            assert "".join(shown) == text
