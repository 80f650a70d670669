"""What has been answered is not asked again in other words, and what has no use is not asked at all."""

from __future__ import annotations

import pytest
from tests.session.walker import Walker, bench_for, shipped_plan

from wetside.domain.session import commands as c
from wetside.domain.session.events import TickMade
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import all_profiles


def test_looking_at_every_roll_by_the_letter_confirms_the_lines_that_ask_for_it() -> None:
    bench = bench_for(shipped_plan("three-rolls"))
    walker = Walker(bench)
    while bench.desk.view().step != "negatives":
        assert walker.step()
    asked = {"negatives/edges", "negatives/noted"}
    for roll in (0, 2, 2):
        assert bench.desk.dispatch(c.AddNote(bench.desk.now(), "Good; edge numbers good", "look", roll))
        assert not asked & set(bench.desk.state.ticks)
    assert bench.desk.dispatch(c.AddNote(bench.desk.now(), "Thin; edge numbers good", "look", 1))
    assert asked <= set(bench.desk.state.ticks)
    assert [tick.text for tick in bench.desk.view().ticks if tick.up] == [
        "Film cut and in clean sleeves, the roll named on them"
    ]
    assert sum(isinstance(event, TickMade) and event.tick in asked for event in bench.keeper.events) == 2


def test_a_note_of_another_kind_confirms_nothing() -> None:
    bench = bench_for(shipped_plan("three-rolls"))
    walker = Walker(bench)
    while bench.desk.view().step != "negatives":
        assert walker.step()
    for roll in range(3):
        bench.desk.dispatch(c.AddNote(bench.desk.now(), "Scratched", "note", roll))
    assert "negatives/edges" not in bench.desk.state.ticks


@pytest.mark.parametrize("path", all_profiles(), ids=lambda path: path.stem)
def test_every_process_asks_so_about_its_negatives(path: object) -> None:
    profile = read_profile(path)  # type: ignore[arg-type]
    assert [tick.id for tick in profile.steps[-1].ticks if tick.asks == "look"] == ["edges", "noted"]


@pytest.mark.parametrize("setup", ["three-rolls", "five-rolls-two-batches"])
def test_the_basin_is_filled_again_only_for_another_roll(setup: str) -> None:
    rubbed = [step for step in shipped_plan(setup).steps if step.of == "backing"]
    assert rubbed
    changed = [any(tick.id.endswith("/water-changed") for tick in step.ticks) for step in rubbed]
    assert changed == [True] * (len(rubbed) - 1) + [False]
