"""Setups as files: a setup written is the setup read, and each fault has its sentence."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.shipped import shipped_setups

from wetside.domain.messages import as_written
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank, Water
from wetside.errors import FileUnusable
from wetside.files.profile_file import read_profile
from wetside.files.setup_file import FORMATS, read_setup, setup_from_text, write_setup
from wetside.files.units import temperature_c, volume_ml
from wetside.sanitize import invisible

SMALL = """\
format = 1
title = "Tuesday"
profile = "two-bath"

[[rolls]]
label = "Pier"
kind = "standard"

[tank]
places = 2
cover = ["300 ml", "20 US fl oz"]

[[bottles]]
solution = "developer"
label = "Dev"
volume = "1 l"
mixed_on = 2026-05-01
"""


def findings(text: str) -> tuple[str, ...]:
    with pytest.raises(FileUnusable) as caught:
        setup_from_text(text, "tonight.toml")
    return caught.value.sentences


def changed(old: str, new: str) -> str:
    assert SMALL.count(old) == 1
    return SMALL.replace(old, new)


def test_a_small_setup_with_everything_else_left_to_its_default() -> None:
    assert setup_from_text(SMALL, "tonight.toml") == Setup(
        title="Tuesday",
        profile="two-bath",
        rolls=(Roll("Pier", "standard"),),
        tank=Tank(2, (300.0, 591.47059125)),
        bottles=(Bottle("developer", "Dev", 1000.0, mixed_on="2026-05-01"),),
    )


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        (
            'label = "Pier"',
            f'label = "{"x" * 41}"',
            "tonight.toml, line 6, rolls 1, label: it has 41 characters; at most 40 fit.",
        ),
        (
            'label = "Pier"',
            'label = "Pi\\u202eer"',
            "tonight.toml, line 6, rolls 1, label: it holds the character U+202E, "
            "which cannot be shown; take it out.",
        ),
        (
            'label = "Pier"',
            'label = "Pi\\ner"',
            "tonight.toml, line 6, rolls 1, label: it holds the character U+000A, "
            "which cannot be shown; take it out.",
        ),
        (
            'kind = "standard"',
            'kind = "black"',
            'tonight.toml, line 7, rolls 1, kind: "black" is not "standard", "backed" or "slide"; '
            'the nearest is "backed".',
        ),
        (
            'kind = "standard"',
            'kind = "standard"\nformat = "135-63"',
            'tonight.toml, line 8, rolls 1, format: "135-63" is no format for a reel; the nearest is "135-36".',
        ),
        (
            'kind = "standard"',
            'kind = "standard"\nformat = "4x5"',
            'tonight.toml, line 8, rolls 1, format: "4x5" is no format for a reel; it may be "135-12", "135-24", '
            '"135-36", "120" or "220".',
        ),
        (
            'kind = "standard"',
            'kind = "standard"\npush = "one"',
            'tonight.toml, line 8, rolls 1, push: "one" is no number of stops: write it like 1 or "1 stop".',
        ),
        (
            "places = 2",
            "places = 3",
            "tonight.toml, line 11, tank.cover: it has 2 volumes for 3 places; give one for each.",
        ),
        (
            '"20 US fl oz"',
            '"10 US fl oz"',
            "tonight.toml, line 11, tank.cover: 2 loaded reels cannot need less than 1.",
        ),
        (
            '"20 US fl oz"',
            '"20 fl oz"',
            'tonight.toml, line 11, tank.cover 2: "20 fl oz" could be 20 US fl oz (591 ml) '
            "or 20 imp fl oz (568 ml): write which.",
        ),
        (
            'volume = "1 l"',
            'volume = "0 l"',
            'tonight.toml, line 16, bottles 1, volume: "0 l" makes no sense here: it is between 1 ml and 100 l.',
        ),
        (
            "2026-05-01",
            '"May"',
            'tonight.toml, line 17, bottles 1, mixed_on: "May" is no day: write it like 2026-05-01.',
        ),
        (
            "2026-05-01",
            "5",
            "tonight.toml, line 17, bottles 1, mixed_on: write the day like 2026-05-01.",
        ),
        (
            "2026-05-01",
            "2026-05-01T10:00:00",
            "tonight.toml, line 17, bottles 1, mixed_on: write the day like 2026-05-01.",
        ),
        (
            "2026-05-01",
            '2026-05-01\nmaterial = "bag"',
            'tonight.toml, line 18, bottles 1, material: "bag" is not "soft", "glass", "steel" or "pet".',
        ),
        (
            "2026-05-01",
            "2026-05-01\nused_rolls = -1",
            "tonight.toml, line 18, bottles 1, used_rolls: it must be 0.0 or more.",
        ),
        (
            'title = "Tuesday"',
            'title = "Tuesday"\nplace = "cellar"',
            'tonight.toml, line 3, place: "cellar" is not "dark room" or "changing bag".',
        ),
        (
            'title = "Tuesday"',
            'title = "T"\nwater = { hot = "131" }',
            'tonight.toml, line 3, water.hot: "131" has no unit: write it like 102 F, 38.9 C or 311 K.',
        ),
        (
            'title = "Tuesday"',
            'title = "T"\nwater = { room = "51 °C" }',
            'tonight.toml, line 3, water.room: "51 °C" makes no sense here: a room is between 0 and 50 °C.',
        ),
        (
            "format = 1",
            "format = 9",
            "tonight.toml, line 1, format: it is written in a newer format than this Wetside reads (1); "
            "get a newer Wetside, or a file in the older format.",
        ),
    ],
)
def test_each_fault_of_a_setup_has_its_sentence(old: str, new: str, finding: str) -> None:
    assert findings(changed(old, new)) == (finding,)


def test_all_findings_of_a_setup_are_reported_at_once() -> None:
    text = SMALL.replace('kind = "standard"', 'kind = "x"').replace("places = 2", "places = 0").replace("1 l", "1")
    assert [finding.split(": ")[0] for finding in findings(text)] == [
        "tonight.toml, line 7, rolls 1, kind",
        "tonight.toml, line 10, tank.places",
        "tonight.toml, line 11, tank.cover",
        "tonight.toml, line 16, bottles 1, volume",
    ]


def test_a_misspelt_key_is_reported_with_the_missing_one() -> None:
    assert findings(changed("places = 2", "place = 2")) == (
        'tonight.toml, line 9, tank: the key "places" is missing.',
        'tonight.toml, line 10, tank.place: "place" is no key here; the nearest is "places".',
    )


def test_a_setup_needs_a_roll() -> None:
    text = (
        'format = 1\ntitle = "T"\nprofile = "p"\nbottles = []\nrolls = []\ntank = { places = 1, cover = ["1 l"] }'
    )
    assert findings(text) == ("tonight.toml, line 5, rolls: it needs 1 or more entries.",)


def test_shipped_setups_are_invented_and_say_so() -> None:
    setups = {path.stem: read_setup(path) for path in shipped_setups()}
    assert all(setup.invented for setup in setups.values())
    three = setups["three-rolls"]
    assert sorted(roll.kind for roll in three.rolls) == ["standard", "standard", "standard"]
    assert three.tank.places == 3
    five = setups["five-rolls-two-batches"]
    assert (len(five.rolls), five.tank.places, five.place) == (5, 4, "changing bag")
    assert sum(roll.push > 0 for roll in five.rolls) == 1


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_shipped_setups_are_read_back_as_they_were_written(path: Path) -> None:
    setup = read_setup(path)
    assert setup_from_text(write_setup(setup), path.name) == setup


def test_a_setup_is_written_as_a_person_would_write_it() -> None:
    setup = setup_from_text(
        SMALL.replace("[tank]", 'push = 1\n[water]\nhot = "131 °F"\nroom = "70 °F"\n[tank]'), "t"
    )
    text = write_setup(setup)
    assert text.startswith("# What is on the bench tonight, for Wetside.")
    data = tomllib.loads(text)
    assert data["tank"]["cover"] == ["300 ml", "20 US fl oz"]
    assert (data["water"]["hot"], data["water"]["room"]) == ("55 °C", "70 °F")
    assert (data["bottles"][0]["volume"], data["bottles"][0]["mixed_on"]) == ("1 l", date(2026, 5, 1))
    assert "who" not in data


def _thousandths(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(low * 1000, high * 1000).map(lambda number: number / 1000.0)


def _words(most: int, least: int = 0) -> st.SearchStrategy[str]:
    letters = st.characters(exclude_categories=("C", "Zl", "Zp")).filter(lambda letter: not invisible(letter))
    return st.text(letters, min_size=least, max_size=most)


celsius = _thousandths(0, 60) | st.integers(32, 140).map(lambda f: temperature_c(f"{f} °F"))
water_celsius = _thousandths(0, 100)
volumes = _thousandths(1, 5000) | st.integers(1, 640).map(lambda ounces: volume_ml(f"{ounces} US fl oz"))
days = st.none() | st.dates(date(1990, 1, 1)).map(date.isoformat)
rolls = st.builds(
    Roll,
    label=_words(40, 1),
    kind=st.sampled_from(("standard", "backed", "slide")),
    format=st.sampled_from(FORMATS),
    push=st.floats(-3, 5),
    stock=_words(40),
    exposure_index=st.none() | st.integers(1, 1_000_000),
    camera=_words(40),
    shot_at=_words(40),
    shot_on=days,
)
tanks = (
    st.lists(volumes, min_size=1, max_size=8)
    .map(sorted)
    .flatmap(
        lambda cover: st.builds(
            Tank,
            places=st.just(len(cover)),
            cover_ml=st.just(tuple(cover)),
            material=st.sampled_from(("plastic", "steel")),
            places_for_120=st.integers(1, 4),
            carry_over_ml=_thousandths(0, 50),
        )
    )
)
bottles = st.builds(
    Bottle,
    solution=st.sampled_from(("developer", "bleach-fix", "stabiliser")),
    label=_words(40, 1),
    volume_ml=volumes,
    material=st.sampled_from(("soft", "glass", "steel", "pet")),
    used_rolls=st.floats(0, 1000),
    mixed_on=days,
    full=st.booleans(),
    start_c=st.none() | celsius,
    price=st.none() | st.floats(0, 100_000),
    shelf_id=st.none() | _words(40, 1),
    spent=st.none() | _words(200, 1).map(as_written),
    suspect=st.none() | _words(200, 1).map(as_written),
)
waters = st.builds(
    Water,
    hot_c=water_celsius,
    cold_c=water_celsius,
    room_c=_thousandths(0, 50),
    bath_ml=volumes,
    bath_c=st.none() | water_celsius,
    humidity=st.integers(0, 1000).map(lambda number: number / 10 / 100.0),
    covered=st.booleans(),
)
setups = st.builds(
    Setup,
    title=_words(60, 1),
    profile=_words(60, 1),
    rolls=st.lists(rolls, min_size=1, max_size=4).map(tuple),
    tank=tanks,
    bottles=st.lists(bottles, max_size=3).map(tuple),
    water=waters,
    place=st.sampled_from(("dark room", "changing bag")),
    thermometer_error_c=_thousandths(0, 10),
    developer_c=st.none() | celsius,
    who=_words(40),
    note=_words(400),
    invented=st.booleans(),
)


@settings(max_examples=50)  # each is written, read and checked whole
@given(setups)
def test_a_setup_that_is_written_and_read_again_is_the_same(setup: Setup) -> None:
    assert setup_from_text(write_setup(setup), "tonight.toml") == setup


def test_a_bottle_of_the_shelf_needs_no_label_and_no_volume(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    write = 'format = 1\ntitle = "a"\nprofile = "two-bath"\n[[rolls]]\nlabel = "a"\nkind = "standard"\n'
    write += '[tank]\nplaces = 1\ncover = ["350 ml"]\n[[bottles]]\nsolution = "developer"\n'
    file.write_text(write + 'shelf_id = "1-developer"\n', "utf-8")
    assert read_setup(file, 0.5).bottles[0].shelf_id == "1-developer"
    file.write_text(write, "utf-8")
    with pytest.raises(FileUnusable) as refusal:
        read_setup(file, 0.5)
    assert [sentence.rpartition(": ")[2] for sentence in refusal.value.sentences] == [
        'the key "label" is missing.',
        'the key "volume" is missing.',
    ]


def test_a_file_of_the_other_kind_is_named_in_one_sentence(tmp_path: Path) -> None:
    setup, kit, kits = (tmp_path / name for name in ("evening.toml", "kit.toml", "on-a-setup.toml"))
    setup.write_text(SMALL, encoding="utf-8")
    head = 'format = 1\nid = "kit"\ntitle = "Kit"\nbased_on = '
    kit.write_text(f'{head}"two-bath"\n', encoding="utf-8")
    kits.write_text(f'{head}"./evening.toml"\n', encoding="utf-8")
    with pytest.raises(FileUnusable, match=r"^kit\.toml is a process: name a setup that uses it\.$"):
        read_setup(kit)
    for wrong in (setup, kits):
        with pytest.raises(FileUnusable, match=r"^evening\.toml is a setup: name a profile\.$"):
            read_profile(wrong)
