"""Tonight's fills by what the bottles cover: more of them rather than none, and the plan says why."""

from __future__ import annotations

from msgspec.structs import replace
from tests.shipped import shipped_profile, shipped_setup

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Roll, Tank
from wetside.present.evening_plan import make_plan
from wetside.present.plan_text import plan_lines
from wetside.present.plan_words import why_batches


def four_rolls(bottle_ml: float, carry_ml: float = 10.0) -> Plan:
    """Four rolls, a tank of three places, and every bottle with as much in it."""
    setup = shipped_setup("three-rolls")
    return make_plan(
        shipped_profile("two-bath"),
        replace(
            setup,
            rolls=tuple(Roll(f"Roll {number}", "standard") for number in range(1, 5)),
            tank=Tank(3, (350.0, 600.0, 850.0), carry_over_ml=carry_ml),
            bottles=tuple(replace(bottle, volume_ml=bottle_ml) for bottle in setup.bottles),
        ),
    )


def test_four_rolls_in_700_ml_bottles_are_split_two_and_two() -> None:
    plan = four_rolls(700.0)
    assert [(batch.rolls, batch.volume_ml) for batch in plan.batches] == [((0, 1), 600.0), ((2, 3), 600.0)]
    assert "too-little" not in {worry.code for worry in plan.warnings}
    assert why_batches(plan).endswith("700 ml, covers 2 of them")
    assert "2: 2 rolls, then 2 rolls." in " ".join(" ".join(plan_lines(plan, 80, False, None)).split())


def test_one_litre_bottles_fill_every_place_of_the_tank() -> None:
    plan = four_rolls(1000.0)
    assert [len(batch.rolls) for batch in plan.batches] == [3, 1]
    assert "covers" not in why_batches(plan)


def test_large_carry_over_makes_a_third_fill() -> None:
    plan = four_rolls(610.0, carry_ml=10.0)
    assert [len(batch.rolls) for batch in plan.batches] == [2, 1, 1]
    assert "too-little" not in {worry.code for worry in plan.warnings}


def test_a_bottle_too_small_for_one_roll_is_reported() -> None:
    plan = four_rolls(300.0)
    assert [len(batch.rolls) for batch in plan.batches] == [3, 1]
    assert "too-little" in {worry.code for worry in plan.warnings}
