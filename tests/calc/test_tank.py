"""Areas, volumes and batches: what they refuse, and the laws a batch never breaks."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from wetside.domain.calc.tank import FILM_AREA_CM2, Coverage, coverages, roll_equivalents
from wetside.domain.planning.fills import RollSpec, batches, cover_volume_ml, places_needed
from wetside.domain.planning.setup import Tank

TWO = Tank(2, (290.0, 580.0))
FOUR = Tank(4, (290.0, 580.0, 870.0, 1160.0))

rolls = st.lists(
    st.builds(
        RollSpec,
        format=st.sampled_from(("135-36", "135-24", "120")),
        path=st.sampled_from(("standard", "backed")),
        push=st.sampled_from((0.0, 1.0)),
    ),
    max_size=9,
).map(tuple)
tanks = st.integers(2, 5).map(lambda places: Tank(places, tuple(300.0 * n for n in range(1, places + 1))))


def roll(film_format: str = "135-36", path: str = "standard", push: float = 0.0) -> RollSpec:
    return RollSpec(film_format, path, push)


def test_roll_equivalents_add_up() -> None:
    assert roll_equivalents(("135-36", "120")) == pytest.approx(
        roll_equivalents(("135-36",)) + roll_equivalents(("120",))
    )
    assert roll_equivalents(()) == 0.0


@given(st.lists(st.sampled_from(sorted(FILM_AREA_CM2)), max_size=6))
def test_more_film_is_never_fewer_equivalents(formats: list[str]) -> None:
    assert roll_equivalents((*formats, "135-24")) > roll_equivalents(formats)


def test_the_volume_covers_only_the_places_that_are_loaded() -> None:
    assert cover_volume_ml((0, 1), (roll(), roll("120")), FOUR) == 870.0


def test_wide_rolls_take_as_many_places_as_the_tank_states() -> None:
    narrow = replace(FOUR, places_for_120=1)
    assert [places_needed(*each) for each in (("135-24", FOUR), ("120", FOUR), ("120", narrow))] == [1, 2, 1]


@given(st.floats(0, 2000), st.floats(0, 2000))
def test_the_coverage_states_the_missing_volume(needed: float, have: float) -> None:
    (found,) = coverages(have, ((needed, 0.0),))
    assert found.enough == (found.short_ml == 0.0)
    assert have + found.short_ml >= needed - 1e-9


def test_each_batch_takes_its_carry_over_from_the_bottle() -> None:
    assert coverages(600.0, ((580.0, 15.0), (580.0, 15.0), (580.0, 15.0))) == (
        Coverage(580.0, 600.0, True, 0.0),
        Coverage(580.0, 585.0, True, 0.0),
        Coverage(580.0, 570.0, False, 10.0),
    )


def test_different_push_or_path_never_shares_a_fill() -> None:
    evening = (roll(), roll(push=1.0), roll(path="backed"), roll())
    assert batches(evening, FOUR) == ((0, 3), (2,), (1,))


def test_narrow_rolls_fill_the_places_beside_a_wide_one() -> None:
    assert batches((roll(), roll("120"), roll()), FOUR) == ((0, 1, 2),)
    assert batches((roll("120"), roll("120"), roll()), replace(TWO, places_for_120=1)) == ((0, 1), (2,))


@given(rolls, tanks)
def test_batches_hold_every_roll_once_and_never_too_many(evening: tuple[RollSpec, ...], tank: Tank) -> None:
    made = batches(evening, tank)
    assert sorted(index for batch in made for index in batch) == list(range(len(evening)))
    for batch in made:
        assert len({(evening[index].path, evening[index].push) for index in batch}) == 1
        assert sum(places_needed(evening[index].format, tank) for index in batch) <= tank.places
    order = [(evening[batch[0]].push, batch[0]) for batch in made]
    assert order == sorted(order)


@given(rolls, tanks, st.data())
def test_the_order_rolls_are_named_in_changes_no_number_of_batches(
    evening: tuple[RollSpec, ...], tank: Tank, data: st.DataObject
) -> None:
    turned = tuple(data.draw(st.permutations(evening)))
    assert len(batches(turned, tank)) == len(batches(evening, tank))
