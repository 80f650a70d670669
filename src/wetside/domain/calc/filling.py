"""Which rolls share a fill of the tank when the bottles do not cover a full one: the fewest fills they do cover.

A fill takes what covers its loaded places out of each bottle that is poured for its rolls, and the bottle gets it
back less the carry-over; what is used once does not come back. Volumes in ml. It must not know steps or dates.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wetside.domain.calc.tank import (
    DEFAULT_PLACES_FOR_120,
    MEDIUM_FORMATS,
    RollSpec,
    TankShape,
    batch_places,
    batches,
    cover_volume_ml,
    coverages,
)
from wetside.frozen import dataclass

Fills = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Stock:
    """What one bottle holds tonight (ml); `paths` are those of the rolls it is poured for.

    one_shot: what goes into the tank does not come back.
    """

    have_ml: float
    paths: frozenset[str]
    one_shot: bool = False


def covered_batches(
    rolls: tuple[RollSpec, ...],
    tank: TankShape,
    places_for_120: int = DEFAULT_PLACES_FOR_120,
    stocks: tuple[Stock, ...] = (),
    carry_over_ml: float = 0.0,
) -> Fills:
    """As `tank.batches`, but in fills that every bottle covers, carry-over included; the fewest there are.

    Least push first; of fills with one push the larger ones come first where their order matters. Where no way to
    part the rolls is covered, what `tank.batches` says: the bottle that is short is then told. Refused as there.
    """
    plain = batches(rolls, tank, places_for_120)
    if all_covered(plain, rolls, tank, places_for_120, stocks, carry_over_ml):
        return plain
    search = _Search(rolls, tank, places_for_120, stocks, carry_over_ml)
    for most in range(len(plain), len(rolls) + 1):
        found = search.within(most)
        if found is None:
            continue
        by_name = tuple(sorted(found, key=lambda fill: (rolls[fill[0]].turn, fill)))
        named = all_covered(by_name, rolls, tank, places_for_120, stocks, carry_over_ml)
        return by_name if named else found
    return plain


def all_covered(
    fills: Fills,
    rolls: tuple[RollSpec, ...],
    tank: TankShape,
    places_for_120: int,
    stocks: tuple[Stock, ...],
    carry_over_ml: float,
) -> bool:
    """Whether every bottle covers each of these fills, one after the other."""
    for stock in stocks:
        poured = [fill for fill in fills if any(rolls[index].path in stock.paths for index in fill)]
        needs = [cover_volume_ml(tank, batch_places(fill, rolls, places_for_120)) for fill in poured]
        lost = needs if stock.one_shot else [carry_over_ml * len(fill) for fill in poured]
        answers = coverages(stock.have_ml, tuple(zip(needs, lost, strict=True)))
        if not all(answer.enough for answer in answers):
            return False
    return True


_Left = tuple[tuple[int, int], ...]
"""For each group of like rolls, how many narrow and how many wide ones no fill has taken yet."""


@dataclass(frozen=True, slots=True)
class _Standing:
    """Between two fills: rolls left, ml left in each bottle, the fill before (its push and its size, negative)."""

    left: _Left
    stocks_ml: tuple[float, ...]
    last: tuple[float, float] = (float("-inf"), float("-inf"))


class _Search:
    """Depth first over the next fill, with a limit on their number; standings that led nowhere are remembered."""

    def __init__(
        self,
        rolls: tuple[RollSpec, ...],
        tank: TankShape,
        places_for_120: int,
        stocks: tuple[Stock, ...],
        carry_over_ml: float,
    ) -> None:
        self.tank, self.wide_places, self.stocks, self.carry_ml = tank, places_for_120, stocks, carry_over_ml
        groups: dict[tuple[float, str], tuple[list[int], list[int]]] = {}
        for index, roll in enumerate(rolls):
            groups.setdefault((roll.turn, roll.path), ([], []))[roll.format in MEDIUM_FORMATS].append(index)
        self.keys = sorted(groups)
        self.members = [groups[key] for key in self.keys]
        self.dead: set[tuple[_Standing, int]] = set()

    def within(self, most: int) -> Fills | None:
        """Fills in the order they are poured, at most this many; None when the bottles do not cover any such."""
        self.dead.clear()
        left = tuple((len(narrow), len(wide)) for narrow, wide in self.members)
        found = self._from(_Standing(left, tuple(stock.have_ml for stock in self.stocks)), most)
        return None if found is None else self._named(found)

    def _from(self, here: _Standing, most: int) -> tuple[tuple[int, int, int], ...] | None:
        if not any(narrow or wide for narrow, wide in here.left):
            return ()
        if (here, most) in self.dead or self._least(here.left) > most:
            return None
        for fill, after in self._next(here):
            rest = self._from(after, most - 1)
            if rest is not None:
                return (fill, *rest)
        self.dead.add((here, most))
        return None

    def _least(self, left: _Left) -> int:
        """No fewer fills hold these rolls."""
        room = self.tank.places
        return sum(-(-(narrow + wide * self.wide_places) // room) for narrow, wide in left)

    def _next(self, here: _Standing) -> Iterator[tuple[tuple[int, int, int], _Standing]]:
        """Each fill (group, narrow, wide) that may come next and is covered, the fullest first."""
        push = min(key[0] for key, (narrow, wide) in zip(self.keys, here.left, strict=True) if narrow or wide)
        fills = [
            (narrow + wide * self.wide_places, group, narrow, wide)
            for group, (narrows, wides) in enumerate(here.left)
            if self.keys[group][0] == push
            for wide in range(wides + 1)
            for narrow in range(narrows + 1)
            if 1 <= narrow + wide * self.wide_places <= self.tank.places
        ]
        for places, group, narrow, wide in sorted(fills, reverse=True):
            rolls = narrow + wide
            needed_ml = cover_volume_ml(self.tank, places)
            # of two fills with one push, the one that leaves the bottle emptier for its size comes later
            order = (push, self.carry_ml * rolls - needed_ml)
            stocks_ml = self._poured(here.stocks_ml, self.keys[group][1], needed_ml, rolls)
            if order < here.last or stocks_ml is None:
                continue
            left = tuple(
                (each[0] - narrow, each[1] - wide) if number == group else each
                for number, each in enumerate(here.left)
            )
            yield (group, narrow, wide), replace(here, left=left, stocks_ml=stocks_ml, last=order)

    def _poured(
        self, stocks_ml: tuple[float, ...], path: str, needed_ml: float, rolls: int
    ) -> tuple[float, ...] | None:
        """What is left in each bottle after a fill; None when one of them does not cover it."""
        after = []
        for stock, left_ml in zip(self.stocks, stocks_ml, strict=True):
            if path not in stock.paths:
                after.append(left_ml)
                continue
            if left_ml < needed_ml:
                return None
            after.append(max(0.0, left_ml - (needed_ml if stock.one_shot else self.carry_ml * rolls)))
        return tuple(after)

    def _named(self, fills: tuple[tuple[int, int, int], ...]) -> Fills:
        """The rolls themselves, in the person's own order within each group."""
        waiting = [(iter(narrow), iter(wide)) for narrow, wide in self.members]
        named = []
        for group, narrow, wide in fills:
            of_narrow, of_wide = waiting[group]
            taken = [next(of_narrow) for _ in range(narrow)] + [next(of_wide) for _ in range(wide)]
            named.append(tuple(sorted(taken)))
        return tuple(named)
