"""The rolls that share a tank fill, and the order of the fills."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

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
        found = search.within(most)
        if found is not None:
            by_label = tuple(sorted(found, key=lambda fill: (rolls[fill[0]].turn, fill)))
            return by_label if search.covers(by_label) else found
    return plain


_Fill = tuple[int, int, int]
"""A fill before its rolls are named: (group, narrow rolls, wide rolls)."""


class _SearchState(Struct, frozen=True):
    """The state between two fills: (narrow, wide) rolls left in each group, ml left in each bottle, and the sort
    key of the fill before: its push and its size, negative."""

    left: tuple[tuple[int, int], ...]
    stocks_ml: tuple[float, ...]
    last: tuple[float, float] = (float("-inf"), float("-inf"))


class _FillSearch:
    """Depth-first search over the next fill with a limit on their number; dead ends are remembered."""

    def __init__(self, rolls: tuple[RollSpec, ...], tank: Tank, stocks: tuple[Stock, ...]) -> None:
        self.rolls, self.tank, self.stocks = rolls, tank, stocks
        groups: dict[tuple[float, str], tuple[list[int], list[int]]] = {}
        for index, roll in enumerate(rolls):
            groups.setdefault((roll.turn, roll.path), ([], []))[roll.format in MEDIUM_FORMATS].append(index)
        self.keys = sorted(groups)
        self.members = [groups[key] for key in self.keys]
        self.dead: set[tuple[_SearchState, int]] = set()

    def covers(self, fills: Fills) -> bool:
        """Whether every bottle covers each of these fills, one after the other."""
        left: tuple[float, ...] | None = self._full()
        for fill in fills:
            if left is not None:
                needed_ml = cover_volume_ml(fill, self.rolls, self.tank)
                left = self._poured(left, self.rolls[fill[0]].path, needed_ml, len(fill))
        return left is not None

    def _full(self) -> tuple[float, ...]:
        return tuple(stock.have_ml for stock in self.stocks)

    def within(self, most: int) -> Fills | None:
        """At most `most` fills in the order they are poured; None when the bottles cover no such grouping."""
        self.dead.clear()
        left = tuple((len(narrow), len(wide)) for narrow, wide in self.members)
        found = self._from(_SearchState(left, self._full()), most)
        return None if found is None else self._named(found)

    def _from(self, here: _SearchState, most: int) -> tuple[_Fill, ...] | None:
        if not any(narrow or wide for narrow, wide in here.left):
            return ()
        least = sum(
            -(-(narrow + wide * self.tank.places_for_120) // self.tank.places) for narrow, wide in here.left
        )
        if (here, most) in self.dead or least > most:
            return None
        for fill, after in self._next(here):
            rest = self._from(after, most - 1)
            if rest is not None:
                return (fill, *rest)
        self.dead.add((here, most))
        return None

    def _next(self, here: _SearchState) -> Iterator[tuple[_Fill, _SearchState]]:
        """Each fill that may come next and is covered, the fullest first."""
        push = min(key[0] for key, (narrow, wide) in zip(self.keys, here.left, strict=True) if narrow or wide)
        fills = [
            (narrow + wide * self.tank.places_for_120, group, narrow, wide)
            for group, (narrows, wides) in enumerate(here.left)
            if self.keys[group][0] == push
            for wide in range(wides + 1)
            for narrow in range(narrows + 1)
            if 1 <= narrow + wide * self.tank.places_for_120 <= self.tank.places
        ]
        for places, group, narrow, wide in sorted(fills, reverse=True):
            rolls = narrow + wide
            needed_ml = self.tank.cover_ml[places - 1]
            # of two fills with one push, the one that leaves the bottle emptier for its size comes later
            order = (push, self.tank.carry_over_ml * rolls - needed_ml)
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
        """The volume left in each bottle after a fill; None when one of them does not cover it."""
        after = []
        for stock, left_ml in zip(self.stocks, stocks_ml, strict=True):
            if path not in stock.paths:
                after.append(left_ml)
                continue
            if left_ml < needed_ml:
                return None
            after.append(max(0.0, left_ml - (needed_ml if stock.one_shot else self.tank.carry_over_ml * rolls)))
        return tuple(after)

    def _named(self, fills: tuple[_Fill, ...]) -> Fills:
        """The rolls themselves, in the person's own order within each group."""
        waiting = [(iter(narrow), iter(wide)) for narrow, wide in self.members]
        named = []
        for group, narrow, wide in fills:
            of_narrow, of_wide = waiting[group]
            taken = [next(of_narrow) for _ in range(narrow)] + [next(of_wide) for _ in range(wide)]
            named.append(tuple(sorted(taken)))
        return tuple(named)
