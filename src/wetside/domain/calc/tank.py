"""Film in the tank: its area (cm²), the volume that covers it (ml), and the rolls that share a tank fill.

Dimensions carry their source. No figure is published for what a drained reel carries over (5 to 15 ml for a 35 mm
reel is an estimate from memory), so the caller gives it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from wetside.errors import Refused
from wetside.frozen import dataclass

FILM_SIZE_MM: dict[str, tuple[float, float]] = {
    # length × width. 135: width 34.98 and lengths from memory; each frame takes 38.0 mm (8 perforations of
    # 4.75 mm, seen second-hand), leader and trailer together 268 mm, so 12 frames are worked out from 36.
    "135-12": (724.0, 34.98),
    "135-24": (1180.0, 34.98),
    "135-36": (1636.0, 34.98),
    # 30 to 33 in long, about 61 mm wide (seen second-hand); 220 is about double.
    "120": (825.0, 61.5),
    "220": (1650.0, 61.5),
    # nominal inches, exact
    "4x5": (101.6, 127.0),
    "5x7": (127.0, 177.8),
    "8x10": (203.2, 254.0),
}
"""Length and width of each format in mm, from which its area follows."""

FILM_AREA_CM2: dict[str, float] = {
    name: round(length * width / 100.0, 3 if "x" in name else 0) for name, (length, width) in FILM_SIZE_MM.items()
}
"""Film area in cm²: rolls to the whole cm² (their lengths are not known better), sheets from the nominal size."""

ROLL_CM2 = FILM_AREA_CM2["135-36"]
"""The roll in which capacity and use are counted: the film of a 135-36."""

TRADE_ROLL_CM2 = 516.128
"""The trade's round roll of 80 in² (seen second-hand; 1 in = 25.4 mm exactly), the unit of older journals."""

MEDIUM_FORMATS = ("120", "220")
DEFAULT_PLACES_FOR_120 = 2

_LAST_TURN = 1000.0
"""Larger than any push in stops."""


def film_area_cm2(film_format: str) -> float:
    """Area of one roll or sheet in cm². Raises Refused for an unknown format."""
    try:
        return FILM_AREA_CM2[film_format]
    except KeyError:
        known = ", ".join(FILM_AREA_CM2)
        raise Refused(f'Film format "{film_format}" has no known size; choose one of {known}.') from None


def roll_equivalents(formats: Iterable[str]) -> float:
    """The area of these formats in rolls of 135-36. Raises Refused for an unknown format."""
    return math.fsum(film_area_cm2(name) for name in formats) / ROLL_CM2


@dataclass(frozen=True, slots=True)
class TankShape:
    """A tank for `places` single 35 mm reels; `cover_ml[n-1]` ml cover n places that hold film.

    Empty reels fill the rest of the spindle, so the film stays below the level. Raises Refused when the number of
    volumes is not the number of places, or when they fall as more places are loaded.
    """

    places: int
    cover_ml: tuple[float, ...]

    def __post_init__(self) -> None:
        if self.places < 1:
            raise Refused(f"A tank holds at least one reel, not {self.places}.")
        if len(self.cover_ml) != self.places:
            raise Refused(
                f"The tank has {self.places} places but {len(self.cover_ml)} volumes;"
                " give one volume for each number of loaded reels."
            )
        if not all(math.isfinite(volume) and volume > 0 for volume in self.cover_ml):
            raise Refused("Every volume that covers the reels must be more than 0 ml.")
        if list(self.cover_ml) != sorted(self.cover_ml):
            raise Refused("More loaded reels cannot need less solution: check the tank's volumes.")


def places_needed(film_format: str, places_for_120: int = DEFAULT_PLACES_FOR_120) -> int:
    """Spindle places of one roll: 135 one, 120 and 220 `places_for_120`. Raises Refused for any other format."""
    film_area_cm2(film_format)
    if film_format in MEDIUM_FORMATS:
        return places_for_120
    if film_format.startswith("135"):
        return 1
    raise Refused(f"A {film_format} sheet goes on no reel: it needs trays or a holder, outside this plan.")


def cover_volume_ml(tank: TankShape, places_used: int) -> float:
    """Solution in ml that covers `places_used` loaded places. Raises Refused outside 1 to `tank.places`."""
    if not 1 <= places_used <= tank.places:
        raise Refused(f"The tank holds 1 to {tank.places} loaded places, not {places_used}.")
    return tank.cover_ml[places_used - 1]


@dataclass(frozen=True, slots=True)
class Coverage:
    """Whether a bottle holds enough to cover the film. Volumes in ml; `short_ml` is 0 when it does."""

    needed_ml: float
    have_ml: float
    enough: bool
    short_ml: float


def coverages(have_ml: float, fills: tuple[tuple[float, float], ...]) -> tuple[Coverage, ...]:
    """The coverage of one tank fill after another from the same bottle; `fills` holds (needed_ml, lost_ml).

    What drains goes back into the bottle, less the loss; a fill that cannot be covered loses nothing.
    """
    found: list[Coverage] = []
    left_ml = have_ml
    for needed_ml, lost_ml in fills:
        enough = left_ml >= needed_ml
        found.append(Coverage(needed_ml, left_ml, enough, max(0.0, needed_ml - left_ml)))
        if enough:
            left_ml = max(0.0, left_ml - lost_ml)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class RollSpec:
    """One roll: the person's label, its format, its path through the process, and its push in stops.

    last: it contaminates the baths, so it is developed after every roll that does not.
    """

    label: str
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


def batches(rolls: tuple[RollSpec, ...], tank: TankShape, places_for_120: int = DEFAULT_PLACES_FOR_120) -> Fills:
    """Group rolls (by index) into the fewest fills of the tank; every roll is in exactly one.

    Rolls share a fill only if path and push are equal, as they get the same developer for the same time. Within
    such a group the wide rolls are placed first and the narrow ones fill the places left; as a narrow roll takes
    one place, no fewer fills are possible. Fills are sorted by `RollSpec.turn` (fresher developer for the shorter
    times), then by their first roll. Raises Refused for a roll that does not fit the tank.
    """
    places = tuple(_checked_places(roll, tank, places_for_120) for roll in rolls)
    groups: dict[tuple[str, float], list[int]] = {}
    for index, roll in enumerate(rolls):
        groups.setdefault((roll.path, roll.turn), []).append(index)
    fills = [fill for group in groups.values() for fill in _first_fit(group, places, tank.places)]
    return tuple(sorted(fills, key=lambda fill: (rolls[fill[0]].turn, fill)))


def batch_places(
    batch: tuple[int, ...], rolls: tuple[RollSpec, ...], places_for_120: int = DEFAULT_PLACES_FOR_120
) -> int:
    """Spindle places that one batch loads."""
    return sum(places_needed(rolls[index].format, places_for_120) for index in batch)


def _checked_places(roll: RollSpec, tank: TankShape, places_for_120: int) -> int:
    if not math.isfinite(roll.push):
        raise Refused(f'Roll "{roll.label}": the push must be a number of stops.')
    if places_for_120 < 1:
        raise Refused("A 120 roll takes at least one place in the tank.")
    needed = places_needed(roll.format, places_for_120)
    if needed > tank.places:
        raise Refused(
            f'Roll "{roll.label}" ({roll.format}) takes {needed} places and the tank has {tank.places}:'
            " choose a larger tank."
        )
    return needed


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


@dataclass(frozen=True, slots=True)
class Stock:
    """The content of one bottle in ml; `paths` are those of the rolls it is poured for.

    one_shot: what is poured into the tank does not come back.
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
    """The fewest fills that every bottle covers, the carry-over of each roll (ml) deducted.

    Sorted as `batches` are where that is covered; else of fills with one push the larger ones come first. If no
    grouping is covered, the result is that of `batches`: the plan then names the bottle that is short. Raises
    Refused as `batches` does.
    """
    plain = batches(rolls, tank, places_for_120)
    search = _FillSearch(rolls, tank, places_for_120, stocks, carry_over_ml)
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


@dataclass(frozen=True, slots=True)
class _SearchState:
    """The state between two fills: (narrow, wide) rolls left in each group, ml left in each bottle, and the sort
    key of the fill before: its push and its size, negative."""

    left: tuple[tuple[int, int], ...]
    stocks_ml: tuple[float, ...]
    last: tuple[float, float] = (float("-inf"), float("-inf"))


class _FillSearch:
    """Depth-first search over the next fill with a limit on their number; dead ends are remembered."""

    def __init__(
        self,
        rolls: tuple[RollSpec, ...],
        tank: TankShape,
        places_for_120: int,
        stocks: tuple[Stock, ...],
        carry_over_ml: float,
    ) -> None:
        self.rolls, self.tank, self.wide_places = rolls, tank, places_for_120
        self.stocks, self.carry_ml = stocks, carry_over_ml
        groups: dict[tuple[float, str], tuple[list[int], list[int]]] = {}
        for index, roll in enumerate(rolls):
            groups.setdefault((roll.turn, roll.path), ([], []))[roll.format in MEDIUM_FORMATS].append(index)
        self.keys = sorted(groups)
        self.members = [groups[key] for key in self.keys]
        self.dead: set[tuple[_SearchState, int]] = set()

    def covers(self, fills: Fills) -> bool:
        """Whether every bottle covers each of these fills, one after the other."""
        for stock in self.stocks:
            poured = [fill for fill in fills if any(self.rolls[index].path in stock.paths for index in fill)]
            needs = [
                cover_volume_ml(self.tank, batch_places(fill, self.rolls, self.wide_places)) for fill in poured
            ]
            lost = needs if stock.one_shot else [self.carry_ml * len(fill) for fill in poured]
            if not all(each.enough for each in coverages(stock.have_ml, tuple(zip(needs, lost, strict=True)))):
                return False
        return True

    def within(self, most: int) -> Fills | None:
        """At most `most` fills in the order they are poured; None when the bottles cover no such grouping."""
        self.dead.clear()
        left = tuple((len(narrow), len(wide)) for narrow, wide in self.members)
        found = self._from(_SearchState(left, tuple(stock.have_ml for stock in self.stocks)), most)
        return None if found is None else self._named(found)

    def _from(self, here: _SearchState, most: int) -> tuple[_Fill, ...] | None:
        if not any(narrow or wide for narrow, wide in here.left):
            return ()
        least = sum(-(-(narrow + wide * self.wide_places) // self.tank.places) for narrow, wide in here.left)
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
        """The volume left in each bottle after a fill; None when one of them does not cover it."""
        after = []
        for stock, left_ml in zip(self.stocks, stocks_ml, strict=True):
            if path not in stock.paths:
                after.append(left_ml)
                continue
            if left_ml < needed_ml:
                return None
            after.append(max(0.0, left_ml - (needed_ml if stock.one_shot else self.carry_ml * rolls)))
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
