"""Which rolls count for a drift of densities: those of one film, unpushed; each tank fill is one point."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.archive.conftest import keep_evening

from wetside.commands.rolls import archived
from wetside.domain.planning.plan import Plan
from wetside.export.density_drift import density_drifts
from wetside.export.roll_archive import ArchivedRoll
from wetside.files.settings import Places


@pytest.fixture
def roll(places: Places, plan: Plan) -> ArchivedRoll:
    """A measured roll from a bottle of the shelf."""
    keep_evening(places, plan, "2031-03-01-a", "2031-03-01T18:00:00Z", shelf_id="1-developer")
    found = archived(places)[0]
    return replace(found, base=(0.2, 0.3, 0.4), edge_print=(0.8, 0.9, 1.0))


def test_the_rolls_of_one_tank_fill_count_as_one_point(roll: ArchivedRoll) -> None:
    thinner = replace(roll, roll=1, edge_print=(0.6, 0.7, 0.8))
    bottle, process = density_drifts((roll, thinner, replace(roll, session="b", developed_on="2031-03-31")))
    assert [point.above_base for point in bottle.points] == pytest.approx([0.5, 0.6])
    assert [point.above_base for point in process.points] == [point.above_base for point in bottle.points]
    assert (bottle.fills_counted, process.fills_counted) == (2, None)


def test_each_film_has_its_own_drift_and_pushed_film_has_none(roll: ArchivedRoll) -> None:
    other = replace(roll, session="b", film=replace(roll.film, stock="another"))
    pushed = replace(roll, session="c", film=replace(roll.film, push=1.0))
    titles = [each.title for each in density_drifts((roll, other, pushed))]
    assert len(titles) == 4
    assert [title.rpartition(", ")[2] for title in titles] == [roll.film.stock, "another"] * 2
    assert all(len(each.points) == 1 for each in density_drifts((roll, other, pushed)))


def test_a_bottle_that_is_not_on_the_shelf_has_no_drift_of_its_own(roll: ArchivedRoll) -> None:
    loose = replace(roll, bottles=tuple(replace(bottle, shelf_id=None) for bottle in roll.bottles))
    (process,) = density_drifts((loose,))
    assert process.fills_counted is None


def test_fills_of_a_changed_process_do_not_count_towards_the_suggested_time(roll: ArchivedRoll) -> None:
    changed = replace(roll, session="b", process_sha256="0" * 64)
    bottle, _ = density_drifts((roll, changed))
    assert (len(bottle.points), bottle.fills_counted) == (2, 1)
