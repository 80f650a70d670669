"""Areas, volumes and batches: what they refuse, and the laws a batch never breaks."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.tank import (
    FILM_AREA_CM2,
    Coverage,
    RollSpec,
    TankShape,
    batch_places,
    batches,
    cover_volume_ml,
    coverages,
    film_area_cm2,
    places_needed,
    roll_equivalents,
)
from wetside.errors import Refused

TWO = TankShape(2, (290.0, 580.0))
FOUR = TankShape(4, (290.0, 580.0, 870.0, 1160.0))

rolls = st.lists(
    st.builds(
        RollSpec,
        label=st.just("roll"),
        format=st.sampled_from(("135-36", "135-24", "120")),
        path=st.sampled_from(("standard", "backed")),
        push=st.sampled_from((0.0, 1.0)),
    ),
    max_size=9,
).map(tuple)
tanks = st.integers(2, 5).map(lambda places: TankShape(places, tuple(300.0 * n for n in range(1, places + 1))))


def roll(film_format: str = "135-36", path: str = "standard", push: float = 0.0) -> RollSpec:
    return RollSpec("roll", film_format, path, push)


def test_an_unknown_format_is_refused_with_the_known_ones() -> None:
    with pytest.raises(Refused, match=r'"127" has no known size; choose one of 135-12, .*8x10'):
        film_area_cm2("127")


def test_equivalents_add_up() -> None:
    assert roll_equivalents(("135-36", "120")) == pytest.approx(
        roll_equivalents(("135-36",)) + roll_equivalents(("120",))
    )
    assert roll_equivalents(()) == 0.0


@given(st.lists(st.sampled_from(sorted(FILM_AREA_CM2)), max_size=6))
def test_more_film_is_never_fewer_equivalents(formats: list[str]) -> None:
    assert roll_equivalents((*formats, "135-24")) > roll_equivalents(formats)


@pytest.mark.parametrize(
    ("places", "cover", "says"),
    [
        (0, (), "at least one reel"),
        (2, (300.0,), "2 places but 1 volumes"),
        (2, (300.0, 0.0), "more than 0 ml"),
        (2, (300.0, float("nan")), "more than 0 ml"),
        (2, (600.0, 300.0), "cannot need less"),
    ],
)
def test_a_tank_that_makes_no_sense_is_refused(places: int, cover: tuple[float, ...], says: str) -> None:
    with pytest.raises(Refused, match=says):
        TankShape(places, cover)


def test_the_volume_covers_the_loaded_places_only() -> None:
    assert cover_volume_ml(FOUR, 3) == 870.0
    for outside in (0, 5):
        with pytest.raises(Refused, match="1 to 4 loaded places"):
            cover_volume_ml(FOUR, outside)


def test_wide_rolls_take_the_places_the_tank_says_and_sheets_none() -> None:
    assert (places_needed("135-24"), places_needed("120"), places_needed("120", places_for_120=1)) == (1, 2, 1)
    with pytest.raises(Refused, match="goes on no reel"):
        places_needed("4x5")


@given(st.floats(0, 2000), st.floats(0, 2000))
def test_coverage_says_what_is_missing(needed: float, have: float) -> None:
    (found,) = coverages(have, ((needed, 0.0),))
    assert found.enough == (found.short_ml == 0.0)
    assert have + found.short_ml >= needed - 1e-9


def test_a_bottle_shrinks_from_batch_to_batch() -> None:
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
    assert batches((roll("120"), roll("120"), roll()), TWO, places_for_120=1) == ((0, 1), (2,))


def test_a_roll_that_fits_no_tank_is_refused() -> None:
    with pytest.raises(Refused, match=r"\(120\) takes 2 places and the tank has 1"):
        batches((roll("120"),), TankShape(1, (300.0,)))
    with pytest.raises(Refused, match="number of stops"):
        batches((roll(push=float("nan")),), TWO)
    with pytest.raises(Refused, match="at least one place"):
        batches((roll(),), TWO, places_for_120=0)


@given(rolls, tanks)
def test_batches_hold_every_roll_once_and_never_too_many(evening: tuple[RollSpec, ...], tank: TankShape) -> None:
    made = batches(evening, tank)
    assert sorted(index for batch in made for index in batch) == list(range(len(evening)))
    for batch in made:
        assert len({(evening[index].path, evening[index].push) for index in batch}) == 1
        assert batch_places(batch, evening) <= tank.places
    order = [(evening[batch[0]].push, batch[0]) for batch in made]
    assert order == sorted(order)


@given(rolls, tanks, st.data())
def test_the_order_rolls_are_named_in_changes_no_number_of_batches(
    evening: tuple[RollSpec, ...], tank: TankShape, data: st.DataObject
) -> None:
    turned = tuple(data.draw(st.permutations(evening)))
    assert len(batches(turned, tank)) == len(batches(evening, tank))
