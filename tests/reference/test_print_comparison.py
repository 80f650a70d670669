"""What is pointed out as far from print, against the published figures themselves.

Sources: process manual Z-131, table 4-1 (3:15 at 37.8 °C; bleach 1:00 and fixer 1:30 at the least, 38 ± 3 °C):
read in print. Temperature coefficient of development "generally between 2 and 3" in 10 K (Sheppard and Mees): seen
second-hand. Powder kits' tables (5:45 at 35 °C to 18:30 at 26.7 °C for 3:30 at 38.9 °C) and a liquid kit's (8:00
at 30 °C, 2:00 at 45 °C for 3:15 at 38 °C): from memory.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.checking import check_profile
from tests.shipped import read_shipped

from wetside.domain.profile.model import Profile, Solution
from wetside.domain.proof.print_comparison import TIME_SLACK, profile_notes, published_developer_s
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import profiles_by_name
from wetside.present.message_words import in_words
from wetside.present.profile_sheet import note_lines

SHIPPED = Path(__file__).parents[2] / "profiles"


def developer(at_c: float, seconds: float, **more: object) -> Solution:
    return replace(
        Solution("developer", "Developer", "bottle", "on time", "sheet", role="developer"),
        table=((at_c, seconds),),
        **more,
    )


def profile_of(*solutions: Solution) -> Profile:
    return Profile("x", "X", (), (), (), (), solutions, (), (), (), (), ())


def whats(*solutions: Solution) -> list[str]:
    return [str(dict(each.values)["variant"]) for each in profile_notes(profile_of(*solutions))]


@pytest.mark.parametrize(
    ("at_c", "seconds"),
    [
        *((37.8, 195), (38.9, 210), (41.1, 180)),
        *((35.0, 345), (32.2, 510), (29.4, 765), (26.7, 1110), (30.0, 480), (45.0, 120)),
    ],
)
def test_no_published_time_is_pointed_out(at_c: float, seconds: float) -> None:
    assert whats(developer(at_c, seconds)) == []


@pytest.mark.parametrize(
    ("at_c", "seconds"), [(30.0, 195), (24.0, 210), (37.8, 60), (37.8, 480), (45.0, 300), (20.0, 480)]
)
def test_a_time_for_another_temperature_is_pointed_out(at_c: float, seconds: float) -> None:
    assert whats(developer(at_c, seconds)) == ["time"]


def test_a_time_is_compared_with_a_factor_of_two_to_four_per_ten_kelvin() -> None:
    low, high, (source, _) = published_developer_s(27.8)
    # 3:15 at 37.8 °C, and by way of the hotter anchors: 2 x in 10 K at the least, 4 x at the most
    assert low == pytest.approx(195 * 2.0, rel=0.05)
    assert high > 195 * 3.5
    assert source == "process manual Z-131, table 4-1"


def test_a_developer_time_of_3_15_at_30_degrees_is_pointed_out_with_the_source() -> None:
    (far,) = profile_notes(profile_of(developer(30.0, 195.0)))
    words = in_words(far)
    assert words.startswith("Developer: 3:15 at 30.0 °C; published times come to 5:")
    assert "process manual Z-131, table 4-1; read in print" in words
    assert words.endswith("Compare it with your kit's sheet.")
    assert published_developer_s(30.0)[0] / TIME_SLACK > 195


def test_baths_that_run_to_their_end_are_pointed_out_only_when_short_cold_or_hot() -> None:
    bleach = replace(
        Solution("b", "Bleach", "bottle", "not before", "sheet", role="bleach", target_c=38.0),
        table=((38.0, 60.0),),
    )
    assert whats(bleach) == []
    assert whats(replace(bleach, table=((38.0, 1800.0),))) == []
    assert whats(replace(bleach, table=((38.0, 30.0),))) == ["shortest time"]
    assert whats(replace(bleach, target_c=20.0)) == ["temperature"]
    fixer = replace(bleach, role="fixer", table=((38.0, 60.0),))
    assert whats(fixer) == ["shortest time"]


def test_push_capacity_and_life_outside_their_bounds_are_pointed_out() -> None:
    for factor, wanted in ((1.15, []), (1.33, []), (1.0001, ["push"]), (2.5, ["push"])):
        assert whats(developer(37.8, 195, push=((1.0, factor),))) == wanted
    assert whats(developer(37.8, 195, push=((2.0, 1.308), (3.0, 2.0)))) == []
    assert whats(developer(37.8, 195, capacity_per_l=80.0)) == ["capacity"]
    assert whats(developer(37.8, 195, life_full_days=400.0)) == ["life"]


def test_a_bath_without_a_role_is_not_compared() -> None:
    assert whats(replace(developer(30.0, 195.0), role=None)) == []


def test_no_shipped_figure_is_pointed_out() -> None:
    for path in profiles_by_name().values():
        assert note_lines(read_shipped(path)) == (), path


def test_figure_far_from_print_is_a_note_not_a_finding(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(
        'format = 1\nid = "mine"\ntitle = "Mine"\nbased_on = "three-bath"\n\n'
        '[solutions.developer]\nrole = "developer"\n'
        'target = "30 °C"\nrange = "30 ± 0.3 °C"\ntable = ["30 °C 3:15"]\ntable_tolerance = "0.3 °C"\n',
        "utf-8",
    )
    profile = read_profile(path)
    assert check_profile(profile) == ()
    assert [note.partition(";")[0] for note in note_lines(profile)] == ["Developer: 3:15 at 30.0 °C"]
