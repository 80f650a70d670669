"""What the shipped processes tell people about film, chemistry and themselves, beside where it comes from.

Sources, each with how it is known:
- manual TG2044-1: the final rinse is replaced daily — read in print;
- manual of a three-bath kit: mixed developer, full bottle, six weeks; six months is one practitioner's word — seen
  second-hand;
- Contact Dermatitis 1997;37:27-31: colour developers sensitise and cross-react — seen second-hand;
- European List of Waste 20 01 17*, 09 01 01*, 09 01 04*, 09 01 05*; 40 CFR 261.24, 261.4(b)(1) — seen second-hand;
- no rule on breakers was read: electricity beside water, gloves, squeegees, handling of the
  backing and black-and-white beside colour are common practice, no source.
"""

from __future__ import annotations

import re
import tomllib

import pytest
from tests.shipped import shipped_profile

from wetside.domain.profile.model import Kind, Profile, Step, Sure, Tick
from wetside.files.profile_places import find_profile, profiles_by_name
from wetside.present.message_words import in_words

NAMES = list(profiles_by_name())
BACKED = ["two-bath", "two-bath-prebath", "motion-picture"]
WASTE_CODES = ("20 01 17*", "09 01 01*", "09 01 04*", "09 01 05*")

each = pytest.mark.parametrize("name", NAMES)


def source(of: Profile, id_: str) -> tuple[str, Sure]:
    return next((found.title, found.sure) for found in of.sources if found.id == id_)


def tick(step: Step, id_: str) -> Tick:
    return next(found for found in step.ticks if found.id == id_)


def texts(of: Profile) -> list[str]:
    """Everything a person reads of a process but its notes."""
    found = [words for step in of.steps for words in (step.instruction, step.safe_way_out, *step.remember)]
    found += [each.text for step in of.steps for each in step.ticks]
    found += [in_words(step.agitation.words) for step in of.steps if step.agitation is not None]
    found += [words for each in of.solutions for words in (each.looks_healthy, each.looks_spent, each.disposal)]
    found += [words for each in of.solutions for words in each.mixing]
    found += [words for each in of.solutions for words in (hazard.text for hazard in each.hazards)]
    found += [words for each in of.cautions for words in (each.hazard, each.consequence, each.avoid)]
    return [*found, *(gear.text for gear in of.gear)]


# ---------------------------------------------------------------- how long a bath is kept


@pytest.mark.parametrize("name", ["three-bath", "motion-picture"])
def test_the_final_rinse_is_mixed_for_the_day(name: str) -> None:
    """Read: TG2044-1: replace the final rinse daily. The kit's sheet may keep it longer, and decides."""
    rinse = shipped_profile(name).solution("final-rinse")
    assert (rinse.life_full_days, rinse.life_part_days) == (1.0, 1.0)
    title, sure = source(shipped_profile(name), dict(rinse.sources)["life"])
    assert "TG2044-1" in title
    assert sure is Sure.PRINT


@pytest.mark.parametrize("name", ["two-bath", "two-bath-prebath", "three-bath"])
def test_the_life_of_a_mixed_developer_is_the_cautious_one(name: str) -> None:
    """Seen second-hand: sheets say six weeks; six months is one practitioner's word and is marked so."""
    developer = shipped_profile(name).solution("developer")
    assert developer.life_full_days == 42.0
    assert source(shipped_profile(name), dict(developer.sources)["life"])[1] is Sure.SECOND_HAND
    if name != "three-bath":
        stabiliser = shipped_profile(name).solution("stabiliser")
        assert (stabiliser.life_full_days or 99.0) <= 42.0
        assert any("six months is one practitioner's word" in note for note in shipped_profile(name).notes)


# ---------------------------------------------------------------- hands on the film


@each
@pytest.mark.common_practice
def test_a_squeegee_is_not_critical_and_no_paper_touches_the_picture(name: str) -> None:
    (gear,) = (gear for gear in shipped_profile(name).gear if gear.id == "squeegee")
    assert not gear.killer
    assert "or none" in gear.text
    hang = shipped_profile(name).step("hang-up")
    assert "two wet gloved fingers or chamois, or not at all" in tick(hang, "wiped").text
    assert "No paper towel on the picture side" in tick(hang, "no-paper").text
    assert not any("towel" in text for text in texts(shipped_profile(name)) if "paper towel" not in text)


@each
@pytest.mark.common_practice
def test_film_comes_off_its_reel_before_jar_or_basin(name: str) -> None:
    steps = [step for step in shipped_profile(name).steps if step.scope == "roll"]
    assert steps[0].id == "off-reel"
    assert "by its edges" in steps[0].instruction
    assert "wait in clean water" in tick(steps[0], "others-wait").text


@pytest.mark.parametrize("name", BACKED)
@pytest.mark.common_practice
def test_only_the_black_side_is_rubbed(name: str) -> None:
    """Before the backing is off, the shinier side is the emulsion: no text may send a thumb to the shiny side."""
    assert shipped_profile(name).caution("emulsion").avoid.startswith("Rub the black side only")
    assert not any(re.search(r"\b(rub|wipe)\b[^.]*\bshiny\b", text, re.I) for text in texts(shipped_profile(name)))
    step = next(step for step in shipped_profile(name).steps if step.id in ("backing", "wipe-base"))
    assert "by its edges" in step.instruction
    assert "Basin or bucket read" in tick(step, "water-safe").text
    assert tick(step, "water-safe").killer
    assert "running water" in tick(step, "rinsed-clean").text
    assert "before the clean roll is touched" in tick(step, "gloves-clean").text
    kept = next(step for step in shipped_profile(name).steps if step.id in ("stabiliser", "final-rinse"))
    assert tick(kept, "no-flake").when == ("backed",)


def test_no_tick_asks_for_clear_water_while_black_comes_off() -> None:
    """In two-bath the backing is on until after the wash: its water is not without colour."""
    wash = shipped_profile("two-bath").step("wash")
    assert tick(wash, "runs-clear").when == ("not backed",)
    assert "black" in tick(wash, "only-black").text
    assert tick(wash, "only-black").when == ("backed",)
    assert "black too" in shipped_profile("two-bath").step("prewet").instruction


# ---------------------------------------------------------------- people


@each
def test_electricity_allergy_and_health_are_asked_before_a_bath_is_open(name: str) -> None:
    """Seen second-hand: Contact Dermatitis 1997;37:27-31 (cross-reaction). The rest is common practice."""
    of = shipped_profile(name)
    step = of.step("power")
    opened = next(n for n, each in enumerate(of.steps) if each.readings or each.kind is Kind.BATH)
    assert of.steps.index(step) < opened
    assert step.cautions == ("electricity", "health")
    power, health = of.caution("electricity"), of.caution("health")
    assert all(word in power.hazard for word in ("heaters", "circulators", "chargers"))
    assert all(words in power.avoid for words in ("Residual-current breaker", "dry hands", "screen off"))
    assert all(word in health.hazard for word in ("Asthma", "pregnancy", "hair dye", "henna", "developers"))
    assert "doctor" in health.avoid
    assert all(tick(step, id_).killer for id_ in ("breaker", "off-the-bench", "doctor"))
    title, sure = source(of, health.source)
    assert title.startswith("Contact Dermatitis 1997;37:27-31")
    assert sure is Sure.SECOND_HAND


@each
@pytest.mark.common_practice
def test_gloves_are_nitrile_and_changed_when_wet_inside(name: str) -> None:
    assert "changed when wet inside" in shipped_profile(name).caution("allergy").avoid
    (gear,) = (gear for gear in shipped_profile(name).gear if gear.id == "gloves")
    assert gear.text.startswith("Nitrile")
    states = [
        each.text
        for s in shipped_profile(name).steps
        for each in s.ticks
        if each.gloves and "rinsed" not in each.text
    ]
    assert states
    assert all("dry inside" in text for text in states)


@each
def test_whoever_mixes_is_told_of_gloves_goggles_and_air_first(name: str) -> None:
    for solution in shipped_profile(name).solutions:
        if solution.storage != "tap":
            first = solution.mixing[0]
            assert all(word in first for word in ("gloves", "goggles", "window open or fan")), solution.id


@each
@pytest.mark.common_practice
def test_the_review_asks_about_black_and_white_chemistry_beside_colour(name: str) -> None:
    step = shipped_profile(name).step("power")
    assert step.stage == "review"
    assert "Tank and funnels" in tick(step, "black-and-white").text
    assert "black-and-white" in tick(step, "thermometer-washed").text


# ---------------------------------------------------------------- gas, acid, waste


@each
def test_no_text_names_mineral_acid_or_smelling(name: str) -> None:
    """Read: ILO Encyclopaedia, "Photography": sulfur dioxide where acid meets sulfite or thiosulfate."""
    for words in texts(shipped_profile(name)):
        assert not re.search(r"sulfuric|hydrochloric|nitric|phosphoric", words), words
        assert not re.search(r"smell|sniff|odou?r", words), words


@pytest.mark.parametrize(
    ("name", "step"),
    [
        ("motion-picture", "prebath"),
        ("motion-picture", "flush"),
        ("motion-picture", "stop"),
        ("motion-picture", "stop-wash"),
        ("motion-picture", "developer"),
        ("motion-picture", "developer-flushed"),
        ("two-bath-prebath", "prebath"),
        ("two-bath-prebath", "flush"),
        ("one-shot-reversal", "first-developer"),
    ],
)
def test_the_way_out_of_stop_and_prebath_keeps_the_washes_it_needs(name: str, step: str) -> None:
    """One tankful of water is no wash: acid would reach the bleach, alkali and loose black the developer."""
    out = shipped_profile(name).step(step).safe_way_out
    assert re.search(r"four (changes|times)|times|until( it runs)? clear", out), out
    assert len(out) <= 150


@each
def test_bleach_and_fixer_are_collected_apart_as_local_rules_say(name: str) -> None:
    of = shipped_profile(name)
    for solution in of.solutions:
        if solution.storage != "tap":
            assert solution.disposal.endswith("Local rules decide."), solution.id
    if {"bleach", "fixer"} <= {solution.id for solution in of.solutions}:
        assert "apart from" in of.solution("bleach").disposal
        assert "fixer" in of.solution("bleach").disposal
        assert not any("bleach and fixer" in text and "canister" in text for text in texts(of))


@each
def test_waste_words_name_more_than_one_countrys_rules_and_defer_to_them(name: str) -> None:
    """Seen second-hand: the codes as two waste registers print them."""
    (note,) = (note for note in shipped_profile(name).notes if note.startswith("Waste:"))
    assert all(code in note for code in (*WASTE_CODES, "40 CFR 261.24", "261.4(b)(1)"))
    assert note.endswith("local rules decide.")
    title, sure = source(shipped_profile(name), "waste")
    assert "European" in title
    assert "USA" in title
    assert sure is Sure.SECOND_HAND
    for solution in shipped_profile(name).solutions:
        if solution.storage != "tap":
            assert dict(solution.sources)["disposal"] == "waste", solution.id


@pytest.mark.parametrize("part", ["prebath", "stop"])
def test_profile_parts_contain_the_same_cautions(part: str) -> None:
    """What lies over somebody's own kit has no mineral acid, nobody sniffs, and its ways out keep their washes."""
    written = tomllib.loads((find_profile("two-bath").parent / "parts" / f"{part}.toml").read_text("utf-8"))
    words = str(written)
    assert not re.search(r"sulfuric|hydrochloric|nitric|phosphoric|smell|sniff|shiny base|six", words)
    outs = [step["safe_way_out"] for step in written["steps"] if step["id"] in (part, "flush", "stop-wash")]
    assert len(outs) == 2
    assert all(re.search(r"four times|until( it runs)? clear", out) for out in outs)
    first = written["solutions"][part]["mixing"][0]
    assert all(word in first for word in ("gloves", "goggles", "window open or fan"))
