"""The order of handwork against brute force to five rolls: every sequence of acts, none ruled out beforehand.

The search here knows none of the module's shortcuts (when moving at once is as good, which roll is hung first):
it tries each act that is possible at each moment. Whole seconds, so that equal states are equal.
"""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from wetside.domain.calc.timeline import RollWork, shortest_order

TRANSFER_S = 5


def shortest_s(works: tuple[RollWork, ...], room: int) -> int:
    """The least time until all hang, from where each roll is: unwashed, in the basin, in the stabiliser."""
    wash = [int(work.wash_s) for work in works]
    stay = [int(work.stabilise_s) for work in works]
    hang = [int(work.hang_s) for work in works]

    @cache
    def rest(unwashed: frozenset[int], basin: int | None, inside: frozenset[tuple[int, int]]) -> int:
        """`inside` holds (roll, seconds it must still stay)."""

        def later(spent: int) -> frozenset[tuple[int, int]]:
            return frozenset((roll, max(0, left - spent)) for roll, left in inside)

        ends = []
        for roll in unwashed:
            if wash[roll] > 0 and basin is None:
                ends.append(wash[roll] + rest(unwashed - {roll}, roll, later(wash[roll])))
            if wash[roll] == 0 and len(inside) < room:
                ends.append(TRANSFER_S + rest(unwashed - {roll}, basin, later(TRANSFER_S) | {(roll, stay[roll])}))
        if basin is not None and len(inside) < room:
            ends.append(TRANSFER_S + rest(unwashed, None, later(TRANSFER_S) | {(basin, stay[basin])}))
        for roll, left in inside:
            spent = left + hang[roll]
            without = frozenset(pair for pair in later(spent) if pair[0] != roll)
            ends.append(spent + rest(unwashed, basin, without))
        return min(ends, default=0)

    return rest(frozenset(range(len(works))), None, frozenset())


def least_lateness(works: tuple[RollWork, ...], room: int) -> tuple[float, float]:
    """(lateness in all, end) of the best sequence of acts, each sequence played from the start."""
    best = (float("inf"), float("inf"))

    def play(now: float, late: float, unwashed: set[int], basin: int | None, inside: dict[int, float]) -> None:
        nonlocal best
        if not unwashed and basin is None and not inside:
            best = min(best, (late, now))
            return
        ready = [roll for roll in unwashed if works[roll].wash_s == 0]
        if basin is not None:
            ready.append(basin)
        else:
            for roll in unwashed - set(ready):
                play(now + works[roll].wash_s, late, unwashed - {roll}, roll, inside)
        for roll in ready if len(inside) < room else ():
            at = now + TRANSFER_S
            latest = works[roll].latest_s
            more = 0.0 if latest is None else max(0.0, at - latest)
            left_in = None if roll == basin else basin
            play(at, late + more, unwashed - {roll}, left_in, {**inside, roll: at + works[roll].stabilise_s})
        for roll, ready_at in inside.items():
            others = {other: at for other, at in inside.items() if other != roll}
            play(max(now, ready_at) + works[roll].hang_s, late, unwashed, basin, others)

    play(0.0, 0.0, set(range(len(works))), None, {})
    return best


def some_works(random: Random, count: int, *, with_latest: bool = False) -> tuple[RollWork, ...]:
    return tuple(
        RollWork(
            f"roll {number}",
            float(random.choice((0, 0, 30, 90, 120, 180, 240))),
            float(random.choice((30, 60, 60, 90, 180))),
            float(random.choice((15, 30, 30, 45, 90))),
            float(random.randint(20, 500)) if with_latest and random.random() < 0.6 else None,
        )
        for number in range(count)
    )


def test_brute_force_agrees_with_an_evening_worked_by_hand() -> None:
    """Worked by hand [C]: two backed rolls, room for one. Rub 100, move 5, rub 100 while the first stays 60,
    hang 30, move 5, stay 60, hang 30: 330 s."""
    works = (RollWork("one", 100.0, 60.0, 30.0), RollWork("two", 100.0, 60.0, 30.0))
    assert shortest_s(works, 1) == 330
    assert shortest_order(works, 1).total_s == 330.0
    # with room for two: 100 + 5 + 100 + 5, then hang 30, and the second is ready at 270: 270 + 30
    assert shortest_s(works, 2) == 300
    assert shortest_order(works, 2).total_s == 300.0


@pytest.mark.parametrize(
    ("count", "evenings"),
    [
        (1, 10),
        (2, 60),
        (3, 120),
        (4, 60),
        (5, 20),
        pytest.param(4, 240, marks=pytest.mark.long),
        pytest.param(5, 120, marks=pytest.mark.long),
    ],
)
def test_the_chosen_order_is_the_shortest_of_all(count: int, evenings: int) -> None:
    random = Random(count)
    for _ in range(evenings):
        works, room = some_works(random, count), random.randint(1, count)
        assert shortest_order(works, room).total_s == shortest_s(works, room), (works, room)


@pytest.mark.parametrize(("count", "evenings"), [(2, 40), (3, 40), (4, 12)])
def test_latest_times_are_kept_when_any_order_keeps_them(count: int, evenings: int) -> None:
    random = Random(100 + count)
    kept = broken = 0
    for _ in range(evenings):
        works, room = some_works(random, count, with_latest=True), random.randint(1, count)
        late, total_s = least_lateness(works, room)
        order = shortest_order(works, room)
        assert bool(order.late) == (late > 0), (works, room)
        assert order.total_s == total_s, (works, room)
        kept, broken = kept + (late == 0), broken + (late > 0)
    assert kept
    assert broken
