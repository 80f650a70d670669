"""A setup changed field by field: every field takes what it asks for, refuses the rest in a sentence."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_profile, shipped_setup

from wetside.app.setup_fields import Field, checked
from wetside.app.setup_form import groups, suited_to, with_another_roll
from wetside.domain.planning.setup import Setup, Units
from wetside.errors import Refused

METRIC = Units()
AMERICAN = Units("°F", "US fl oz")


@pytest.fixture
def setup() -> Setup:
    """The shipped setup of three rolls."""
    return shipped_setup("three-rolls")


def field(setup: Setup, group: str, title: str, units: Units = METRIC) -> Field:
    found = next(each for each in groups(setup, units) if each.id == group)
    return next(each for each in found.fields if each.title == title)


Look = Callable[[Setup], object]
CHANGES: tuple[tuple[str, str, str, object, Look], ...] = (
    ("evening", "Title", "Quiet Monday", "Quiet Monday", lambda s: s.title),
    ("evening", "Who", "somebody", "somebody", lambda s: s.who),
    ("evening", "Loaded in", "changing bag", "changing bag", lambda s: s.place),
    ("evening", "Loaded", "after warming", "after warming", lambda s: s.loading),
    ("evening", "Developer at", "100 F", (100 - 32) / 1.8, lambda s: s.developer_c),
    ("evening", "Developer at", "0", None, lambda s: s.developer_c),
    ("evening", "Thermometer", "0.2", 0.2, lambda s: s.thermometer_error_c),
    ("roll 0", "Label", "Lake", "Lake", lambda s: s.rolls[0].label),
    ("roll 2", "Film", "slide", "slide", lambda s: s.rolls[2].kind),
    ("evening", "Agitation", "continuous", "continuous", lambda s: s.agitation),
    ("evening", "Moved by", "rotation", "rotation", lambda s: s.agitated_by),
    ("roll 1", "Format", "120", "120", lambda s: s.rolls[1].format),
    ("roll 1", "Push", "+1.5", 1.5, lambda s: s.rolls[1].push),
    ("roll 0", "Stock", "the old 200", "the old 200", lambda s: s.rolls[0].stock),
    ("roll 0", "Stock", "0", "", lambda s: s.rolls[0].stock),
    ("roll 0", "Exposed at", "320", 320, lambda s: s.rolls[0].exposure_index),
    ("roll 0", "Camera", "box", "box", lambda s: s.rolls[0].camera),
    ("roll 0", "Taken in", "the lake", "the lake", lambda s: s.rolls[0].shot_at),
    ("roll 0", "Taken on", "2031-04-05", "2031-04-05", lambda s: s.rolls[0].shot_on),
    ("tank", "Places", "4", (350.0, 600.0, 850.0, 1100.0), lambda s: s.tank.cover_ml),
    ("tank", "Places", "1", (350.0,), lambda s: s.tank.cover_ml),
    ("tank", "Covers 3 reels", "900", 900.0, lambda s: s.tank.cover_ml[2]),
    ("tank", "Made of", "steel", "steel", lambda s: s.tank.material),
    ("tank", "120 takes", "1", 1, lambda s: s.tank.places_for_120),
    ("tank", "Keeps back", "8 ml", 8.0, lambda s: s.tank.carry_over_ml),
    ("bottle 0", "Label", "Old bottle", "Old bottle", lambda s: s.bottles[0].label),
    ("bottle 0", "Holds", "1.2 l", 1200.0, lambda s: s.bottles[0].volume_ml),
    ("bottle 0", "Rolls so far", "6,5", 6.5, lambda s: s.bottles[0].used_rolls),
    ("bottle 0", "With backing", "2", 2.0, lambda s: s.bottles[0].backed_rolls),
    ("bottle 0", "Mixed on", "2031-02-01", "2031-02-01", lambda s: s.bottles[0].mixed_on),
    ("bottle 0", "Mixed on", "0", None, lambda s: s.bottles[0].mixed_on),
    ("bottle 0", "Price", "12,50", 12.5, lambda s: s.bottles[0].price),
    ("bottle 0", "Price", "0", None, lambda s: s.bottles[0].price),
    ("bottles", "Mixed on", "2031-02-01", {"2031-02-01"}, lambda s: {b.mixed_on for b in s.bottles}),
    ("bottles", "Rolls so far", "6,5", {6.5}, lambda s: {b.used_rolls for b in s.bottles}),
    ("bottles", "Holds", "900 ml", {900.0}, lambda s: {b.volume_ml for b in s.bottles}),
    ("bottles", "Kept full", "no", {False}, lambda s: {b.full for b in s.bottles}),
    ("bottle 0", "Kept full", "no", False, lambda s: s.bottles[0].full),
    ("bottle 2", "Starts at", "18", 18.0, lambda s: s.bottles[2].start_c),
    ("bottle 0", "Bottle", "glass", "glass", lambda s: s.bottles[0].material),
    ("bottle 0", "Even so", "tested yesterday", "tested yesterday", lambda s: s.bottles[0].reason),
    ("water", "Hot tap", "60", 60.0, lambda s: s.water.hot_c),
    ("water", "Cold tap", "10 C", 10.0, lambda s: s.water.cold_c),
    ("water", "Room", "70 F", 38 / 1.8, lambda s: s.water.room_c),
    ("water", "Bath", "3 US gal", 11356.235352, lambda s: s.water.bath_ml),
    ("water", "Bath at", "44", 44.0, lambda s: s.water.bath_c),
    ("water", "Covered", "no", False, lambda s: s.water.covered),
    ("water", "Humidity", "40 %", 0.4, lambda s: s.water.humidity),
)


@pytest.mark.parametrize(("group", "title", "text", "wanted", "seen"), CHANGES)
def test_each_field_accepts_the_values_it_asks_for(
    setup: Setup, group: str, title: str, text: str, wanted: object, seen: Look
) -> None:
    changed = field(setup, group, title).put(text)
    found = seen(changed)
    assert found == (pytest.approx(wanted) if isinstance(wanted, float) else wanted)
    assert checked(changed) == changed


def test_every_field_has_a_test_case(setup: Setup) -> None:
    tried = {(group.split()[0], title) for group, title, *_ in CHANGES}
    there = {(group.id.split()[0], each.title) for group in groups(setup, METRIC) for each in group.fields}
    assert there - tried == {("tank", "Covers 1 reel"), ("tank", "Covers 2 reels")}


@pytest.mark.parametrize(
    ("group", "title", "text", "sentence"),
    [
        ("roll 0", "Push", "a lot", "is no number"),
        ("roll 0", "Push", "9", "It must be"),
        ("roll 0", "Label", "x" * 41, "at most 40 fit"),
        ("roll 0", "Label", "a\u202eb", "cannot be shown"),
        ("tank", "Places", "2.5", "no whole number"),
        ("tank", "Places", "999", "1 to 20"),
        ("tank", "Covers 1 reel", "900 ml", "cannot need less"),
        ("tank", "Covers 1 reel", "20 fl oz", "write which"),
        ("bottle 0", "Mixed on", "yesterday", "is no day"),
        ("bottle 0", "Holds", "0 ml", "makes no sense"),
        ("water", "Hot tap", "500", "which no bath here can have"),
        ("water", "Humidity", "wet", "is no number"),
        ("water", "Humidity", "140", "at most 100 %"),
        ("evening", "Thermometer", "40 F", "at most 10"),
    ],
)
def test_each_bad_value_is_refused_in_one_sentence(
    setup: Setup, group: str, title: str, text: str, sentence: str
) -> None:
    with pytest.raises(Refused) as refused:
        field(setup, group, title).put(text)
    said = str(refused.value)
    assert sentence in said
    assert "\n" not in said
    assert not said.startswith("setup")
    assert "line " not in said


def test_quantities_are_in_the_persons_units(setup: Setup) -> None:
    assert field(setup, "water", "Hot tap", AMERICAN).value == "131.0 °F"
    assert field(setup, "water", "Hot tap", AMERICAN).put("140").water.hot_c == pytest.approx(60.0)
    assert field(setup, "bottle 0", "Holds", AMERICAN).put("33").bottles[0].volume_ml == pytest.approx(
        975.926, abs=0.01
    )
    assert field(setup, "evening", "Thermometer", AMERICAN).put("0.9").thermometer_error_c == pytest.approx(0.5)


def test_changed_example_is_no_longer_marked_invented(setup: Setup) -> None:
    changed = field(setup, "roll 0", "Push", METRIC).put("1")
    assert not changed.invented
    assert changed.who == ""
    assert changed.note == ""
    assert field(changed, "evening", "Who").put("me").who == "me"


def test_rolls_are_added_and_removed(setup: Setup) -> None:
    more = with_another_roll(setup)
    assert [roll.label for roll in more.rolls][-1] == "Roll 4"
    assert more.rolls[-1].format == setup.rolls[-1].format
    fewer = next(group for group in groups(more, METRIC) if group.id == "roll 0").without
    assert fewer is not None
    assert [roll.label for roll in fewer().rolls] == ["Harbour, evening", "Garden in May", "Roll 4"]
    one = replace(setup, rolls=setup.rolls[:1])
    assert next(group for group in groups(one, METRIC) if group.id == "roll 0").without is None


def test_changing_the_process_keeps_its_bottles_and_adds_the_missing_ones(setup: Setup) -> None:
    profile = shipped_profile("two-bath")
    bare = replace(setup, bottles=setup.bottles[:1], developer_c=37.8)
    suited = suited_to(bare, profile, "two-bath")
    assert [bottle.solution for bottle in suited.bottles] == ["developer", "bleach-fix", "stabiliser"]
    assert suited.bottles[0] == bare.bottles[0]
    assert suited.developer_c is None
