"""Batches against brute force: every way to part the rolls, on 500 seeded evenings to seven rolls."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from wetside.domain.planning.fills import RollSpec, batches
from wetside.domain.planning.setup import Tank

EVENINGS = 500
WIDE = ("120", "220")


def partitions(items: tuple[int, ...]) -> Iterator[list[list[int]]]:
    """Every way to part `items` into groups (Bell's number of them: 877 for seven)."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for parted in partitions(rest):
        yield [[first], *parted]
        for number, group in enumerate(parted):
            yield [*parted[:number], [first, *group], *parted[number + 1 :]]


def fits(group: list[int], rolls: tuple[RollSpec, ...], room: int, wide_places: int) -> bool:
    """May these rolls share a fill? Written here anew, from the rule and not from the module."""
    first = rolls[group[0]]
    taken = 0
    for index in group:
        if rolls[index].path != first.path or rolls[index].push != first.push:
            return False
        taken += wide_places if rolls[index].format in WIDE else 1
    return taken <= room


def fewest(rolls: tuple[RollSpec, ...], room: int, wide_places: int) -> int:
    return min(
        len(parted)
        for parted in partitions(tuple(range(len(rolls))))
        if all(fits(group, rolls, room, wide_places) for group in parted)
    )


def test_partitions_are_as_many_as_bell_numbers() -> None:
    """Bell numbers: 1, 1, 2, 5, 15, 52, 203, 877 (OEIS A000110, from memory)."""
    counts = [sum(1 for _ in partitions(tuple(range(size)))) for size in range(8)]
    assert counts == [1, 1, 2, 5, 15, 52, 203, 877]


def test_batches_are_the_fewest_on_500_random_evenings() -> None:
    random = Random(20240607)
    compared: dict[int, int] = {}
    for _ in range(EVENINGS):
        room = random.randint(2, 5)
        wide_places = random.randint(1, min(3, room))
        rolls = tuple(
            RollSpec(
                random.choice(("135-36", "135-36", "135-24", "120", "220")),
                random.choice(("standard", "standard", "backed")),
                random.choice((0.0, 0.0, 1.0)),
            )
            for number in range(random.randint(1, 7))
        )
        tank = Tank(room, tuple(300.0 * n for n in range(1, room + 1)), places_for_120=wide_places)
        made = batches(rolls, tank)
        assert sorted(index for batch in made for index in batch) == list(range(len(rolls)))
        assert all(fits(list(batch), rolls, room, wide_places) for batch in made)
        assert len(made) == fewest(rolls, room, wide_places)
        compared[len(made)] = compared.get(len(made), 0) + 1
    # the evenings are not all of one kind
    assert len(compared) >= 5
