"""What a session debits from the shelf, after an evening completed by following the screen."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.session.walker import Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.planning.plan import Plan
from wetside.domain.session import commands as c
from wetside.domain.session.state import State
from wetside.domain.shelf.debit import debits, planned_through


def on_shelf(name: str) -> Plan:
    plan = shipped_plan(name)
    bottles = tuple(replace(bottle, shelf_id=f"1-{bottle.solution}") for bottle in plan.setup.bottles)
    return replace(plan, setup=replace(plan.setup, bottles=bottles))


def test_a_whole_evening_debits_every_roll_from_every_bottle() -> None:
    plan = on_shelf("three-rolls")
    guide = guide_for(plan)
    Walker(guide).lead()
    assert guide.state.outcome is not None
    rolls = roll_equivalents(roll.format for roll in plan.setup.rolls)
    taken = debits(guide.state)
    assert [use.bottle for use in taken] == ["1-developer", "1-bleach-fix", "1-stabiliser"]
    assert all(use.rolls == pytest.approx(rolls) and use.lost_ml == 0.0 for use in taken)
    assert {use.bottle: use.rolls for use in taken} == planned_through(plan)
    assert {use.session for use in taken} == {guide.state.session}


def test_an_evening_abandoned_in_the_developer_debits_the_developer_only() -> None:
    guide = guide_for(on_shelf("five-rolls-two-batches")).running("b1.developer")
    guide.wait(60.0)
    assert guide.dispatch(c.Abandon(guide.now, "for a test"))
    (use,) = debits(guide.state)
    plan = guide.state.plan
    assert plan is not None
    first = [plan.setup.rolls[roll].format for roll in plan.batches[0].rolls]
    assert use.bottle == "1-developer"
    assert use.rolls == pytest.approx(roll_equivalents(first))


def test_a_one_shot_bath_is_used_up() -> None:
    plan = on_shelf("three-rolls")
    steps = tuple(
        replace(step, storage="one-shot") if step.solution == "developer" else step for step in plan.steps
    )
    guide = guide_for(replace(plan, steps=steps)).running("b1.developer")
    assert debits(guide.state) == (), "it has not ended"
    (use,) = debits(replace(guide.state, outcome="abandoned"))
    assert use.lost_ml == plan.batches[0].volume_ml


def test_nothing_is_debited_before_a_bath_or_in_practice() -> None:
    assert debits(State()) == ()
    guide = guide_for(on_shelf("three-rolls"))
    assert debits(guide.state) == ()
    Walker(guide).lead()
    assert debits(replace(guide.state, practice=True)) == ()
