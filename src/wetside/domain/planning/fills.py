"""The rolls that share a tank fill, and the order of the fills."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from wetside.domain.calc.tank import MEDIUM_FORMATS
from wetside.domain.planning.setup import Tank

_LAST_TURN = 1000.0
"""Larger than any push in stops."""


class RollSpec(Struct, frozen=True):
    """One roll: its format, its path through the process, and its push in stops.

    last: it contaminates the baths, so it is developed after every roll that does not.
    """

    format: str
    path: str
    push: float
    last: bool = False

    @property
    def turn(self) -> float:
        """The sort key of its fill: the push in stops; larger than any push where `last`."""
        return self.push + (_LAST_TURN if self.last else 0.0)


Fills = tuple[tuple[int, ...], ...]
"""Tank fills in the order they are poured, each the indices of its rolls."""


def places_needed(film_format: str, tank: Tank) -> int:
    """Spindle places of one roll: 135 one, 120 and 220 what the tank's reels need for them."""
    return tank.places_for_120 if film_format in MEDIUM_FORMATS else 1


def cover_volume_ml(batch: tuple[int, ...], rolls: tuple[RollSpec, ...], tank: Tank) -> float:
    """The solution (ml) that covers the rolls of one fill.

    Empty reels fill the rest of the spindle, so the film stays below the level.
    """
    return tank.cover_ml[sum(places_needed(rolls[index].format, tank) for index in batch) - 1]


def batches(rolls: tuple[RollSpec, ...], tank: Tank) -> Fills:
    """Group rolls (by index) into the fewest fills of the tank; every roll is in exactly one.

    Rolls share a fill only if path and push are equal, as they get the same developer for the same time. Within
    such a group the wide rolls are placed first and the narrow ones fill the places left; as a narrow roll takes
    one place, no fewer fills are possible. Fills are sorted by `RollSpec.turn` (fresher developer for the shorter
    times), then by their first roll. No roll needs more places than the tank has.
    """
    places = tuple(places_needed(roll.format, tank) for roll in rolls)
    groups: dict[tuple[str, float], list[int]] = {}
    for index, roll in enumerate(rolls):
        groups.setdefault((roll.path, roll.turn), []).append(index)
    fills = [fill for group in groups.values() for fill in _first_fit(group, places, tank.places)]
    return tuple(sorted(fills, key=lambda fill: (rolls[fill[0]].turn, fill)))


def _first_fit(group: list[int], places: tuple[int, ...], room: int) -> Iterator[tuple[int, ...]]:
    """First fit, widest roll first, otherwise in the person's order, in which each fill lists its rolls."""
    fills: list[list[int]] = []
    free: list[int] = []
    for index in sorted(group, key=lambda roll: (-places[roll], roll)):
        for number, left in enumerate(free):
            if places[index] <= left:
                fills[number].append(index)
                free[number] -= places[index]
                break
        else:
            fills.append([index])
            free.append(room - places[index])
    yield from (tuple(sorted(fill)) for fill in fills)


class Stock(Struct, frozen=True):
    """The content of one bottle in ml; `paths` are those of the rolls it is poured for.

    one_shot: what is poured into the tank does not come back.
    """

    have_ml: float
    paths: frozenset[str]
    one_shot: bool = False


def covered_batches(rolls: tuple[RollSpec, ...], tank: Tank, stocks: tuple[Stock, ...]) -> Fills:
    """The fewest fills that every bottle covers, the carry-over of each roll deducted.

    Sorted as `batches` are where that is covered; else of fills with one push the larger ones come first. If no
    grouping is covered, the result is that of `batches`: the plan then names the bottle that is short.
    """
    plain = batches(rolls, tank)
    search = _FillSearch(rolls, tank, stocks)
    if search.covers(plain):
        return plain
    for most in range(len(plain), len(rolls) + 1):
        found = search.within(most, search.start)
        if found is not None:
            by_label = tuple(sorted(found, key=lambda fill: (rolls[fill[0]].turn, fill)))
            return by_label if search.covers(by_label) else found
    return plain


class _ToPour(Struct, frozen=True):
    """The state between two fills: the rolls left of each group, (narrow, wide), and the ml left in each bottle.

    last: the sort key of the fill before: its push and its size, negative.
    """

    left: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]
    stocks_ml: tuple[float, ...]
    last: tuple[float, float] = (float("-inf"), float("-inf"))


class _FillSearch:
    """Depth-first search over the next fill with a limit on their number; dead ends are remembered.

    Rolls of one group and width are alike, so they are taken in the person's order.
    """

    def __init__(self, rolls: tuple[RollSpec, ...], tank: Tank, stocks: tuple[Stock, ...]) -> None:
        self.rolls, self.tank, self.stocks = rolls, tank, stocks
        groups: dict[tuple[float, str], tuple[list[int], list[int]]] = {}
        for index, roll in enumerate(rolls):
            groups.setdefault((roll.turn, roll.path), ([], []))[roll.format in MEDIUM_FORMATS].append(index)
        self.keys = sorted(groups)
        left = tuple((tuple(groups[key][0]), tuple(groups[key][1])) for key in self.keys)
        self.start = _ToPour(left, tuple(stock.have_ml for stock in stocks))
        self.dead: set[tuple[_ToPour, int]] = set()

    def covers(self, fills: Fills) -> bool:
        """Whether every bottle covers each of these fills, one after the other."""
        left: tuple[float, ...] | None = self.start.stocks_ml
        for fill in fills:
            left = None if left is None else self._poured(left, fill)
        return left is not None

    def within(self, most: int, here: _ToPour) -> Fills | None:
        """At most `most` fills in the order they are poured; None when the bottles cover no such grouping."""
        if not any(narrow or wide for narrow, wide in here.left):
            return ()
        least = sum(-(-self._places(len(narrow), len(wide)) // self.tank.places) for narrow, wide in here.left)
        if (here, most) in self.dead or least > most:
            return None
        for fill, after in self._next(here):
            rest = self.within(most - 1, after)
            if rest is not None:
                return (fill, *rest)
        self.dead.add((here, most))
        return None

    def _places(self, narrow: int, wide: int) -> int:
        return narrow + wide * self.tank.places_for_120

    def _next(self, here: _ToPour) -> Iterator[tuple[tuple[int, ...], _ToPour]]:
        """Each fill that may come next and is covered, the fullest first."""
        push = min(key[0] for key, (narrow, wide) in zip(self.keys, here.left, strict=True) if narrow or wide)
        counts = [
            (self._places(narrow, wide), group, narrow, wide)
            for group, (narrows, wides) in enumerate(here.left)
            if self.keys[group][0] == push
            for wide in range(len(wides) + 1)
            for narrow in range(len(narrows) + 1)
            if 1 <= self._places(narrow, wide) <= self.tank.places
        ]
        for places, group, narrow, wide in sorted(counts, reverse=True):
            narrows, wides = here.left[group]
            fill = tuple(sorted(narrows[:narrow] + wides[:wide]))
            # of two fills with one push, the one that leaves the bottle emptier for its size comes later
            order = (push, self.tank.carry_over_ml * len(fill) - self.tank.cover_ml[places - 1])
            stocks_ml = self._poured(here.stocks_ml, fill)
            if order >= here.last and stocks_ml is not None:
                left = (*here.left[:group], (narrows[narrow:], wides[wide:]), *here.left[group + 1 :])
                yield fill, _ToPour(left, stocks_ml, order)

    def _poured(self, stocks_ml: tuple[float, ...], fill: tuple[int, ...]) -> tuple[float, ...] | None:
        """The volume left in each bottle after a fill; None when one of them does not cover it."""
        path, needed_ml = self.rolls[fill[0]].path, cover_volume_ml(fill, self.rolls, self.tank)
        after = []
        for stock, left_ml in zip(self.stocks, stocks_ml, strict=True):
            if path not in stock.paths:
                after.append(left_ml)
                continue
            if left_ml < needed_ml:
                return None
            lost_ml = needed_ml if stock.one_shot else self.tank.carry_over_ml * len(fill)
            after.append(max(0.0, left_ml - lost_ml))
        return tuple(after)
