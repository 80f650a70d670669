"""What has been answered is not asked again in other words, and what has no use is not asked at all."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.session.walker import guide_for
from tests.shipped import plan_for, read_shipped, shipped_plan, shipped_profile, shipped_setups

from wetside.domain.session import commands as c
from wetside.domain.session.events import TickMade
from wetside.files.profile_places import profiles_by_name
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan


def test_noting_every_roll_confirms_the_items_that_ask_for_it() -> None:
    guide = guide_for(shipped_plan("three-rolls")).at_step("negatives")
    asked = {"negatives/edges", "negatives/noted"}
    for roll in (0, 2, 2):
        assert guide.dispatch(c.AddNote(guide.now, "Good; edge numbers good", "look", roll))
        assert not asked & set(guide.state.ticks)
    assert guide.dispatch(c.AddNote(guide.now, "Thin; edge numbers good", "look", 1))
    assert asked <= set(guide.state.ticks)
    assert [tick.text for tick in guide.view.ticks if tick.up] == [
        "Film cut and in clean sleeves, the roll named on them"
    ]
    assert sum(isinstance(event, TickMade) and event.tick in asked for event in guide.events) == 2


def test_other_notes_confirm_no_item() -> None:
    guide = guide_for(shipped_plan("three-rolls")).at_step("negatives")
    for roll in range(3):
        guide.dispatch(c.AddNote(guide.now, "Scratched", "note", roll))
    assert "negatives/edges" not in guide.state.ticks


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_every_process_asks_how_the_negatives_came_out(path: Path) -> None:
    profile = read_shipped(path)
    assert [tick.id for tick in profile.steps[-1].ticks if tick.asks == "look"] == ["edges", "noted"]


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_items_for_the_next_roll_are_asked_only_when_there_is_one(path: Path) -> None:
    setup = read_setup(path)
    profile = shipped_profile(setup.profile)
    plan = make_plan(profile, setup)
    for step in profile.steps:
        for tick in (tick for tick in step.ticks if tick.when == ("another roll",)):
            asked = [any(t.id.endswith(f"/{tick.id}") for t in s.ticks) for s in plan.steps if s.of == step.id]
            assert asked == [*[True] * (len(asked) - 1), False][: len(asked)], (step.id, tick.id)


def test_setups_with_and_without_a_second_basin_fill_are_covered() -> None:
    plans = [plan_for(s) for s in map(read_setup, shipped_setups())]
    refills = [sum(t.id.endswith("/water-changed") for s in plan.steps for t in s.ticks) for plan in plans]
    assert max(refills) >= 1
    assert min(refills) == 0
