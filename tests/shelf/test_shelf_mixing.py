"""The plan of a mixing evening: the profile's order, cautions first, water from the taps, amounts as wanted."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace
from tests.shelf.shelving import TWO_BATH

from wetside.domain.calc.water import mix
from wetside.domain.planning.setup import METRIC, Units, Water
from wetside.domain.profile.mixing_lines import mixing_line
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.mixing import KitRequest
from wetside.errors import Refused
from wetside.present.message_words import in_words
from wetside.present.mixing_sheet import guide_lines, mixing_plan
from wetside.present.mixing_words import scaled

KIT = (("bleach-fix", 500.0), ("developer", 500.0))
DAY = "2031-03-01"


def text(wanted: KitRequest, profile: Profile = TWO_BATH) -> str:
    return "\n".join(guide_lines(mixing_plan(profile, wanted)))


def mixed_by(*mixing: str) -> Profile:
    """The two-bath process with these mixing lines of its developer alone."""
    solutions = tuple(replace(s, mixing=mixing if s.id == "developer" else ()) for s in TWO_BATH.solutions)
    return replace(TWO_BATH, solutions=solutions)


def test_in_the_profile_s_order_cautions_first() -> None:
    sheet = text(KitRequest("Spring kit", KIT, DAY))
    assert (
        sheet.index("2. Developer: Lay out")
        < sheet.index("Bleach-fix: Lay out")
        < sheet.index("Cool the developer")
    )
    allergy = TWO_BATH.caution("allergy")
    first_act = sheet.index("Take four fifths")
    assert sheet.index(f"{allergy.signal}: {allergy.hazard}") < first_act
    for hazard in TWO_BATH.solution("developer").hazards:
        if hazard.code.startswith("H"):
            assert sheet.index(hazard.text) < first_act
    assert "43 °C" in sheet
    assert "400 ml for 500 ml" in sheet
    assert "800 ml" not in sheet


PART = "Liquid concentrates alone are split, each part measured. Powders are mixed for the whole volume only"
WHOLE = "Powders: every packet goes in whole. A part of one may have any strength"


@pytest.mark.parametrize(("ml", "says", "not_said"), [(500.0, PART, WHOLE), (1000.0, WHOLE, PART)])
def test_powder_kits_are_mixed_whole(ml: float, says: str, not_said: str) -> None:
    ready = mixing_plan(TWO_BATH, KitRequest("Kit", (("developer", ml),), DAY)).steps[0]
    assert [tick.killer for tick in ready.ticks if in_words(tick.text) == says] == [True]
    assert not [tick for tick in ready.ticks if in_words(tick.text) == not_said]


@pytest.mark.parametrize(("hot_c", "cold_c"), [(60.0, 8.0), (46.0, 20.0)])
def test_the_shares_of_the_taps_give_the_wanted_water(hot_c: float, cold_c: float) -> None:
    """What the screen says to draw, mixed by mass and heat, comes out as the water that the line asks for."""
    taps = Water(hot_c=hot_c, cold_c=cold_c)
    plan = mixing_plan(TWO_BATH, KitRequest("Kit", (("developer", 1000.0),), DAY, taps=taps, taps_guessed=False))
    step = plan.step("developer.1")
    cold, hot = re.findall(r"([\d.]+) l (?:cold|hot)", in_words(step.about, METRIC))
    found = mix(((float(hot) * 1000.0, hot_c), (float(cold) * 1000.0, cold_c)))
    assert found.temperature_c == pytest.approx(43.0, abs=0.3)
    assert float(cold) + float(hot) == pytest.approx(0.8)
    assert step.readings[0].range_c == (41.0, 45.0)
    assert "guesses" not in in_words(step.about, METRIC)


def test_with_a_cold_tap_the_plan_says_how_much_water_to_boil() -> None:
    taps = Water(hot_c=38.0, cold_c=10.0)
    step = mixing_plan(TWO_BATH, KitRequest("Kit", (("developer", 1000.0),), DAY, taps=taps)).step("developer.1")
    assert "The hot tap gives 38.0 °C: boil " in in_words(step.about, METRIC)
    assert "Boiling water scalds at once" in in_words(step.about, METRIC)


def test_concentrates_are_measured_for_the_volume() -> None:
    profile = mixed_by(
        "Gloves on.", "Take water at 38 °C: 600 ml for one litre.", "Pour in part A: 200 ml for one litre.",
        "Pour in part B: 50 ml for one litre.", "Fill up with water to the volume.",
    )  # fmt: skip
    plan = mixing_plan(profile, KitRequest("Kit", (("developer", 500.0),), DAY))
    acts = [in_words(step.instruction) for step in plan.steps if step.stage == "developer"]
    assert acts == [
        "Lay out the parts of the developer, for 500 ml.",
        "Take water at 38 °C: 300 ml for 500 ml.",
        "Pour in part A: 100 ml for 500 ml.",
        "Pour in part B: 25 ml for 500 ml.",
        "Fill up with water to 500 ml.",
    ]
    # What was warm is cooled before it is capped.
    assert [step.id for step in plan.steps if step.stage == "bottles"] == ["developer.cool", "developer.bottle"]


def test_a_solution_mixed_cold_is_bottled_at_once() -> None:
    plan = mixing_plan(TWO_BATH, KitRequest("Kit", (("stabiliser", 500.0),), DAY))
    assert [step.id for step in plan.steps if step.stage == "bottles"] == ["stabiliser.bottle"]


def test_the_label_is_shown_beside_its_bottle() -> None:
    plan = mixing_plan(TWO_BATH, KitRequest("Spring kit", (("developer", 500.0),), DAY))
    label = in_words(plan.step("developer.bottle").about, METRIC)
    for words in ("DEVELOPER. Spring kit. Mixed 2031-03-01. Best before 2031-04-12.", "so far: 0. WARNING."):
        assert words in label
    assert "from memory" not in label
    on = "The label is on: Developer, Spring kit, Mixed 2031-03-01, Best before 2031-04-12, WARNING"
    assert in_words(plan.step("developer.bottle").ticks[0].text) == on


@pytest.mark.parametrize(
    ("words", "ml", "says"),
    [
        ("800 ml for one litre", 1000.0, "800 ml for one litre"),
        ("take 800 ml for one litre, stir", 2000.0, "take 1600 ml for 2 l, stir"),
        ("0.8 l for 1 litre", 500.0, "400 ml for 500 ml"),
        ("12.5 g for one liter", 600.0, "7.5 g for 600 ml"),
        ("10 to 20 g for one litre", 500.0, "5 to 10 g for 500 ml"),
        ("for one litre", 500.0, "for one litre"),
        ("Fill up to the volume", 500.0, "Fill up to 500 ml"),
    ],
)
def test_amounts_are_scaled(words: str, ml: float, says: str) -> None:
    assert scaled(mixing_line(words), ml) == says


def test_amounts_are_in_ounces_where_the_person_uses_them() -> None:
    ounces = Units("°F", "US fl oz")
    assert scaled(mixing_line("800 ml for one litre"), 1000.0, ounces) == "27.1 US fl oz for 1.06 US qt"
    assert scaled(mixing_line("12.5 g for one litre"), 500.0, ounces) == "6.2 g for 16.9 US fl oz"
    sheet = text(KitRequest("Kit", (("developer", 500.0),), DAY, units=ounces))
    assert "13.5 US fl oz for 16.9 US fl oz" in sheet
    assert "(131.0 °F)" in sheet


def test_a_profile_without_mixing_lines_points_to_the_sheet_of_the_kit() -> None:
    sheet = text(KitRequest("Kit", KIT, DAY), mixed_by())
    assert sheet.count("follow the kit's own sheet, part by part") == 2
    assert "Nitrile gloves" in sheet


def test_tap_water_cannot_be_mixed() -> None:
    with pytest.raises(Refused, match='keeps no "water" in a bottle: it has developer, bleach-fix, stabiliser'):
        mixing_plan(TWO_BATH, KitRequest("Kit", (("water", 500.0),), DAY))
