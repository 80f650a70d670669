"""Fills that the bottles cover, against brute force: every way to part the rolls, in every order of the fills."""

from __future__ import annotations

from itertools import permutations
from random import Random

from tests.reference.test_batches_reference import WIDE, fits, partitions

from wetside.domain.planning.fills import RollSpec, Stock, covered_batches
from wetside.domain.planning.setup import Tank

EVENINGS = 500


def covered(
    groups: tuple[list[int], ...],
    rolls: tuple[RollSpec, ...],
    cover_ml: tuple[float, ...],
    wide_places: int,
    stocks: tuple[Stock, ...],
    carry_ml: float,
) -> bool:
    """Is each fill covered by each bottle, in this order? Written here anew, from the rule."""
    left = [stock.have_ml for stock in stocks]
    for group in groups:
        places = sum(wide_places if rolls[index].format in WIDE else 1 for index in group)
        needed = cover_ml[places - 1]
        for number, stock in enumerate(stocks):
            if rolls[group[0]].path in stock.paths:
                if left[number] < needed:
                    return False
                left[number] -= needed if stock.one_shot else carry_ml * len(group)
    return True


def fewest(
    rolls: tuple[RollSpec, ...],
    cover_ml: tuple[float, ...],
    wide_places: int,
    stocks: tuple[Stock, ...],
    carry_ml: float,
) -> int | None:
    """The fewest covered fills of any way to part the rolls, in any order, least push first; None for none."""
    best: int | None = None
    for parted in partitions(tuple(range(len(rolls)))):
        if best is not None and len(parted) >= best:
            continue
        if not all(fits(group, rolls, len(cover_ml), wide_places) for group in parted):
            continue
        for order in permutations(parted):
            pushes = [rolls[group[0]].push for group in order]
            if pushes == sorted(pushes) and covered(order, rolls, cover_ml, wide_places, stocks, carry_ml):
                best = len(parted)
                break
    return best


def random_evening(
    random: Random,
) -> tuple[tuple[RollSpec, ...], tuple[float, ...], int, tuple[Stock, ...], float]:
    places = random.randint(2, 4)
    cover_ml = tuple(sorted(random.choice((250.0, 350.0, 480.0, 600.0, 850.0, 900.0)) for _ in range(places)))
    rolls = tuple(
        RollSpec(
            random.choice(("135-36", "135-36", "135-24", "120")),
            random.choice(("standard", "standard", "backed")),
            random.choice((0.0, 0.0, 1.0)),
        )
        for number in range(random.randint(1, 6))
    )
    stocks = tuple(
        Stock(
            random.choice((450.0, 600.0, 620.0, 700.0, 870.0, 1000.0, 2000.0)),
            random.choice((frozenset({"standard", "backed"}), frozenset({"backed"}))),
            random.random() < 0.3,
        )
        for _ in range(random.randint(1, 3))
    )
    return rolls, cover_ml, random.randint(1, 2), stocks, random.choice((0.0, 5.0, 10.0, 25.0))


def test_fills_are_the_fewest_that_are_covered_on_500_random_evenings() -> None:
    random = Random(20_260_611)
    none = more = 0
    for _ in range(EVENINGS):
        rolls, cover_ml, wide_places, stocks, carry_ml = random_evening(random)
        tank = Tank(len(cover_ml), cover_ml, places_for_120=wide_places, carry_over_ml=carry_ml)
        made = covered_batches(rolls, tank, stocks)
        assert sorted(index for fill in made for index in fill) == list(range(len(rolls)))
        assert all(fits(list(fill), rolls, len(cover_ml), wide_places) for fill in made)
        assert [rolls[fill[0]].push for fill in made] == sorted(rolls[fill[0]].push for fill in made)
        best = fewest(rolls, cover_ml, wide_places, stocks, carry_ml)
        if best is None:
            none += 1
            continue
        assert covered(tuple(map(list, made)), rolls, cover_ml, wide_places, stocks, carry_ml)
        assert len(made) == best
        more += len(made) > len(covered_batches(rolls, tank, ()))
    # evenings that nothing covers, and such that take more fills than the places ask for, are among them
    assert none > 50
    assert more > 25


def test_four_rolls_with_bottles_of_700_ml_are_split_two_and_two() -> None:
    rolls = tuple(RollSpec("135-36", "standard", 0.0) for _ in range(4))
    tank = Tank(3, (350.0, 600.0, 850.0))
    stocks = (Stock(700.0, frozenset({"standard"})),) * 2
    assert covered_batches(rolls, tank, stocks) == ((0, 1), (2, 3))
    assert covered_batches(rolls, tank, ()) == ((0, 1, 2), (3,))


def test_carry_over_makes_the_last_fill_smaller() -> None:
    """610 ml cover two places once; after two rolls' carry-over they cover one, and then one."""
    rolls = tuple(RollSpec("135-36", "standard", 0.0) for _ in range(4))
    tank = Tank(2, (350.0, 600.0))
    stocks = (Stock(610.0, frozenset({"standard"})),)
    assert covered_batches(rolls, tank, stocks) == ((0, 1), (2,), (3,))
