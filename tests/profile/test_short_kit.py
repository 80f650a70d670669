"""A whole kit written from its sheet in under 60 lines: it is proved, and its times are those of the sheet.

The expected times are worked out by hand from the sheet's own figures; the sheet is invented.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.checking import check_profile
from tests.shipped import profile_from_text, shipped_profile

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank
from wetside.domain.profile.model import Profile
from wetside.files.profile_file import read_profile
from wetside.present.evening_plan import make_plan

KIT = Path(__file__).parent / "kits" / "from-the-sheet.toml"
BATHS = ("prebath", "developer", "bleach", "fixer", "final-rinse")


@pytest.fixture(scope="module")
def kit() -> Profile:
    return read_profile(KIT)


def evening(
    kit: Profile, push: float, used_rolls: float, developer_c: float = 38.0, kind: str = "standard"
) -> Plan:
    bottles = tuple(
        Bottle(bath, bath, 1000.0, used_rolls=used_rolls if bath == "developer" else 0) for bath in BATHS
    )
    roll = Roll("one", "backed" if kind == "backed" else "standard", push=push)
    tank = Tank(1, (300.0,))
    return make_plan(kit, Setup("tonight", kit.id, (roll,), tank, bottles, developer_c=developer_c))


def times(plan: Plan) -> dict[str, float]:
    return {step.of: step.planned_s for step in plan.steps if step.planned_s is not None}


def test_the_kit_is_short_and_sound(kit: Profile) -> None:
    assert len(KIT.read_text("utf-8").splitlines()) <= 60
    assert check_profile(kit) == ()


@pytest.mark.parametrize(
    ("push", "used_rolls", "developer_c", "seconds"),
    [
        (0, 0, 38.0, 195.0),  # 3:15, as the sheet says
        (0, 7, 38.0, 195.0),  # seven rolls through a litre: the step comes after 8
        (0, 8, 38.0, 195.0 * 1.10),
        (1, 0, 38.0, 195.0 * 1.25),
        (2, 0, 38.0, 195.0 * 1.5),
        (1, 8, 38.0, 195.0 * 1.25 * 1.10),  # 4:28
    ],
)
def test_the_developer_has_the_figures_of_the_sheet(
    kit: Profile, push: float, used_rolls: float, developer_c: float, seconds: float
) -> None:
    assert times(evening(kit, push, used_rolls, developer_c))["developer"] == pytest.approx(seconds, abs=0.5)


def test_the_other_baths_have_the_figures_of_the_sheet(kit: Profile) -> None:
    found = times(evening(kit, 0, 0, kind="backed"))
    wanted = {"prebath": 120, "bleach": 300, "bleach-wash": 180, "fixer": 360, "wash": 240, "final-rinse": 60}
    assert {step: found[step] for step in wanted} == wanted


def test_only_backed_film_gets_the_prebath(kit: Profile) -> None:
    assert "prebath" not in times(evening(kit, 0, 0))


def test_capacities_are_for_the_volume_the_sheet_names(kit: Profile) -> None:
    assert kit.solution("developer").capacity_per_l == 12
    assert kit.solution("bleach").capacity_per_l == 12
    assert kit.solution("developer").life_full_days == 56


def test_figures_of_the_sheet_name_it_as_source_and_others_keep_theirs(kit: Profile) -> None:
    sources = dict(kit.solution("developer").sources)
    assert {sources[what] for what in ("table", "range", "push", "use", "capacity", "life")} == {"sheet"}
    assert sources["target"] == "sheet"
    assert sources["hazards"] == "memory"
    # The prebath's range is the part's: only its target and time stand in the sheet.
    assert {what for what, source in kit.solution("prebath").sources if source == "sheet"} == {"target", "table"}
    assert next(each for each in kit.sources if each.id == "sheet").sure.value == "kit sheet"
    assert kit.step("wash").source == "sheet"


def test_readings_accept_the_range_of_the_sheet(kit: Profile) -> None:
    ranges = {
        ask.range_c
        for step in kit.steps
        for ask in step.readings
        if ask.of == "developer" and ask.range_c is not None
    }
    assert ranges == {kit.solution("developer").range_c}


def test_values_that_are_not_stated_are_inherited(kit: Profile) -> None:
    base = shipped_profile("three-bath")
    assert kit.first_aid == base.first_aid
    assert kit.solution("bleach").hazards == base.solution("bleach").hazards
    assert kit.caution("bleach-gas") == base.caution("bleach-gas")
    assert kit.step("load-room") == base.step("load-room")
    assert [step.id for step in base.steps] == [
        step.id for step in kit.steps if step.id in {s.id for s in base.steps}
    ]


def test_the_plan_has_the_digest_of_the_whole_merged_text(kit: Profile) -> None:
    plan = evening(kit, 0, 0)
    assert plan.profile_sha256 == hashlib.sha256(kit.text.encode()).hexdigest()
    assert kit.text.startswith(
        "# The whole of from-the-sheet.toml, based on three-bath, with prebath.\nformat = 1\n"
    )
    assert all(line in kit.text for line in kit.first_aid)
    assert "based_on" not in kit.text


def test_the_text_that_a_journal_keeps_reads_back_as_the_same_process(kit: Profile) -> None:
    again = profile_from_text(kit.text, "kept.toml")
    assert replace(again, sha256="", text="") == replace(kit, sha256="", text="")
    assert again.sha256 == kit.sha256


def test_the_bleach_of_the_kit_is_recognised(kit: Profile) -> None:
    """By its role or its id; the shelf then tries it with a leader blackened in the developer."""
    assert [solution.id for solution in kit.solutions if solution.bleaches] == ["bleach"]
