"""What a fault looks like, worked out from dye, silver and light, against what the fault tables say.

Dyes subtract: cyan absorbs red, magenta green, yellow blue (subtractive colour synthesis, any textbook of colour;
an idealised block-dye model, so only the sense of a cast is told, never an amount). A print's layer makes the more
dye the more light of its own band reaches it. In reversal film, the halide that the first developer leaves becomes
dye.
"""

from __future__ import annotations

from math import log10

import pytest

from wetside.present.film_faults import fault

BANDS = ("red", "green", "blue")
ABSORBED_BY = {"cyan": "red", "magenta": "green", "yellow": "blue"}
"""Which band each dye takes out of white light."""
COMPLEMENT = {"red": "cyan", "green": "magenta", "blue": "yellow"}


def passed(dyes: dict[str, float]) -> dict[str, float]:
    """The share of each band that film with these dye amounts (density units) lets through: 10^-D."""
    by_band = {band: dye for dye, band in ABSORBED_BY.items()}
    return {band: 10.0 ** -dyes[by_band[band]] for band in BANDS}


def printed(dyes: dict[str, float]) -> dict[str, float]:
    """The dyes of a print from a negative: each layer makes dye with the logarithm of its own band's light."""
    light = passed(dyes)
    return {dye: 2.0 + log10(light[band]) for dye, band in ABSORBED_BY.items()}


def cast(before: dict[str, float], after: dict[str, float]) -> str:
    """The colour that what passes light has taken on: the band that gained, or the complement of one that lost."""
    gain = {band: after[band] / before[band] for band in BANDS}
    most, least = max(gain, key=lambda b: gain[b]), min(gain, key=lambda b: gain[b])
    return most if gain[most] > 1.0 + 1e-9 else COMPLEMENT[least]


GREY = {"cyan": 1.0, "magenta": 1.0, "yellow": 1.0}


@pytest.mark.parametrize("missing", ["cyan", "magenta", "yellow"])
def test_print_takes_on_the_colour_of_the_dye_the_negative_lacks(missing: str) -> None:
    """The rule of thumb in its three cases: the print takes on the colour of the dye the negative lacks."""
    poor = {**GREY, missing: 0.6}
    assert cast(passed(GREY), passed(poor)) == ABSORBED_BY[missing]
    assert cast(passed(printed(GREY)), passed(printed(poor))) == missing


def test_the_fault_tables_agree_with_the_dye_model_about_missing_cyan() -> None:
    poor = {**GREY, "cyan": 0.6}
    seen, print_ = cast(passed(GREY), passed(poor)), cast(passed(printed(GREY)), passed(printed(poor)))
    words = fault("negative", "low-red").words
    assert f"negative looks too {seen}" in words
    assert f"prints and scans turn {print_}" in words
    assert f"slide looks too {seen}" in fault("positive", "low-red").words


def reversal(
    *, exposed: float = 0.5, fogged: float = 0.0, first: float = 1.0, second: float = 1.0, bleach: float = 1.0
) -> float:
    """How dark a spot of reversal film is, from 0 (clear) to 1 or more, of one unit of silver halide.

    exposed: the share the camera made developable; fogged: of the rest, the share light adds before or in the
    first developer; first: the share of what is developable that it develops (1 is its time; above it, unexposed
    grains develop too); second, bleach: the share of their work that colour developer and bleach do.
    """
    developable = exposed + fogged * (1.0 - exposed)
    silver = developable * min(first, 1.0) + (1.0 - developable) * max(0.0, first - 1.0)
    left = 1.0 - min(silver, 1.0)
    dye = left * second
    metal = (min(silver, 1.0) + left * second) * (1.0 - bleach)
    return dye + metal


def negative(*, exposed: float = 0.5, developer: float = 1.0) -> float:
    """The same of a negative: dye is made with what the camera made developable."""
    return exposed * min(developer, 1.0) + (1.0 - exposed) * max(0.0, developer - 1.0)


def test_what_makes_a_negative_thin_makes_a_slide_dark() -> None:
    """A first developer too short or too cold leaves a slide dark; in a negative the same leaves it thin."""
    assert negative(developer=0.7) < negative()
    assert reversal(first=0.7) > reversal()
    assert "too short, too cold" in fault("negative", "thin-processing").causes[0]
    assert fault("negative", "thin-processing").words.startswith("Thin")
    assert "too short, too cold" in fault("positive", "dark-processing").causes[0]
    assert fault("positive", "dark-processing").words.startswith("Dark")


def test_what_makes_a_negative_dense_makes_a_slide_light() -> None:
    assert negative(developer=1.3) > negative()
    assert reversal(first=1.3) < reversal()
    assert "too long, too hot" in fault("negative", "dense").causes[0]
    assert "too long, too hot" in fault("positive", "light-processing").causes[0]


def test_light_blackens_a_negative_and_clears_a_slide() -> None:
    assert negative(exposed=1.0) == pytest.approx(1.0)
    assert reversal(fogged=1.0) == pytest.approx(0.0)
    assert "light" in fault("negative", "black").causes[0]
    assert fault("negative", "black").words.startswith("Black")
    assert "Light struck" in fault("positive", "clear-all").causes[0]
    assert fault("positive", "fog-back").words.startswith("Light streaks")
    assert fault("negative", "fog-back").words.startswith("Black streaks")


def test_a_bath_left_out_of_a_reversal_gives_clear_or_black_film() -> None:
    """No first developer, or no bleach: black. No colour developer: clear."""
    assert reversal(first=0.0) == pytest.approx(1.0)
    assert reversal(bleach=0.0) >= 1.0
    assert reversal(second=0.0) == pytest.approx(0.0)
    black, clear = " ".join(fault("positive", "black-all").causes), " ".join(fault("positive", "clear-all").causes)
    assert "First developer dead or left out" in black
    assert "bleach was left out" in black
    assert "colour developer was dead or left out" in clear


def test_spots_that_the_developer_did_not_reach_are_clear_or_dark() -> None:
    """Air bells and uncovered film: clear or thin in a negative, dark in a slide."""
    assert negative(developer=0.0) < negative()
    assert reversal(first=0.0) > reversal()
    assert fault("negative", "air-bells").words.startswith("Clear round")
    assert fault("positive", "air-bells").words.startswith("Dark round")
    assert "thinner band" in fault("negative", "band-edge").words
    assert "darker band" in fault("positive", "band-edge").words
