"""Where baths want temperatures that do not meet the plan offers a way; film hangs for the larger of two times."""

from __future__ import annotations

from dataclasses import replace

from tests.session.walker import PROFILES

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.planner import make_plan
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Kind
from wetside.files.profile_file import read_profile
from wetside.files.setup_file import read_setup

SETUP = read_setup(PROFILES / "setups" / "three-rolls.toml")


def planned(setup: Setup) -> Plan:
    return make_plan(read_profile(PROFILES / "two-bath.toml"), setup)


def test_a_developer_below_the_range_of_the_bleach_fix_is_offered_two_baths() -> None:
    (worry,) = (w for w in planned(replace(SETUP, developer_c=31.0)).warnings if w.code == "never-ready")
    assert "Developer (30.4 to 31.6 °C) and Bleach-fix (35.0 to 40.5 °C) never meet" in worry.text
    assert "give each a bath of its own, or choose a developer temperature" in worry.text


def test_the_bath_aims_at_the_middle_of_the_range() -> None:
    """37.8 to 39.0 °C: the bottle settles at 38.4 °C, and not at a target near the upper edge."""
    plan = planned(SETUP)
    assert plan.tempering is not None
    highest = max(bottle_c for _, _, bottle_c in plan.tempering.curve)
    assert abs(highest - 38.4) < 0.05


def hanging_s(humidity: float) -> float:
    plan = planned(replace(SETUP, water=replace(SETUP.water, room_c=20.0, humidity=humidity)))
    return next(step.planned_s or 0.0 for step in plan.steps if step.kind is Kind.HANG)


def test_film_hangs_for_the_larger_of_least_time_and_guess() -> None:
    least_s = next(s.time_s or 0.0 for s in read_profile(PROFILES / "two-bath.toml").steps if s.kind is Kind.HANG)
    assert hanging_s(0.1) == least_s
    assert hanging_s(0.8) > least_s
    assert hanging_s(0.99) == least_s, "there is no guess for air that takes up nothing"
