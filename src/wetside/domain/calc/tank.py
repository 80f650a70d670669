"""Film in the tank: area, volume to cover it, and who shares a fill.

One job: turn rolls and a tank into areas (cm²), volumes (ml) and batches. It must not know bottles' ages,
times or steps. Dimensions are tagged where they stand; how much a drained reel carries
over has no published figure (5–15 ml for a 35 mm reel is an estimate from memory), so the caller brings it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

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
"""Length and width of each format in mm, as used for its area."""

FILM_AREA_CM2: dict[str, float] = {
    name: round(length * width / 100.0, 3 if "x" in name else 0) for name, (length, width) in FILM_SIZE_MM.items()
}
"""Film area in cm²: rolls to the whole cm² (their lengths are not known better), sheets as nominal."""

ROLL_CM2 = FILM_AREA_CM2["135-36"]
"""What a roll is wherever capacity and use are counted: the film of a 135-36."""

TRADE_ROLL_CM2 = 516.128
"""The trade's round roll of 80 in² (seen second-hand; 1 in = 25.4 mm exactly), in which older journals count."""

MEDIUM_FORMATS = ("120", "220")
DEFAULT_PLACES_FOR_120 = 2


def film_area_cm2(film_format: str) -> float:
    """Area of one roll or sheet in cm². Raises Refused for a format without known dimensions."""
    try:
        return FILM_AREA_CM2[film_format]
    except KeyError:
        known = ", ".join(FILM_AREA_CM2)
        raise Refused(f'Film format "{film_format}" has no known size; choose one of {known}.') from None


def roll_equivalents(formats: Iterable[str]) -> float:
    """How many rolls of 135-36 these formats make together, by area. Raises Refused as above."""
    return math.fsum(film_area_cm2(name) for name in formats) / ROLL_CM2


@dataclass(frozen=True, slots=True)
class TankShape:
    """A tank for `places` single 35 mm reels; `cover_ml[n-1]` ml cover n places that hold film.

    Empty reels fill the rest of the spindle, so the film never floats above the level. Raises Refused when
    the volumes do not fit the places or fall as more places are loaded.
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
    """Spindle places one roll takes: 135 one, 120 and 220 `places_for_120`. Refuses sheets and unknowns."""
    film_area_cm2(film_format)
    if film_format in MEDIUM_FORMATS:
        return places_for_120
    if film_format.startswith("135"):
        return 1
    raise Refused(f"A {film_format} sheet goes on no reel: it needs trays or a holder, outside this plan.")


def cover_volume_ml(tank: TankShape, places_used: int) -> float:
    """Solution in ml that covers `places_used` loaded places. Raises Refused outside 1…tank.places."""
    if not 1 <= places_used <= tank.places:
        raise Refused(f"The tank holds 1 to {tank.places} loaded places, not {places_used}.")
    return tank.cover_ml[places_used - 1]


@dataclass(frozen=True, slots=True)
class Coverage:
    """Is there enough in the bottle to cover the film? All volumes in ml; `short_ml` is 0 when enough."""

    needed_ml: float
    have_ml: float
    enough: bool
    short_ml: float


def coverage(needed_ml: float, have_ml: float) -> Coverage:
    """Compare one fill with what the bottle holds."""
    return Coverage(needed_ml, have_ml, have_ml >= needed_ml, max(0.0, needed_ml - have_ml))


def coverages(have_ml: float, fills: tuple[tuple[float, float], ...]) -> tuple[Coverage, ...]:
    """The same bottle for one fill after another; `fills` holds (needed_ml, lost_ml) for each batch.

    What drains goes back into the bottle, less the carry-over; a batch that cannot be covered loses nothing.
    """
    answers: list[Coverage] = []
    left_ml = have_ml
    for needed_ml, lost_ml in fills:
        answers.append(coverage(needed_ml, left_ml))
        if answers[-1].enough:
            left_ml = max(0.0, left_ml - lost_ml)
    return tuple(answers)


LAST_TURN = 1000.0
"""More stops than any push."""


@dataclass(frozen=True, slots=True)
class RollSpec:
    """One roll: the person's label, its format, its path through the process, and its push in stops.

    last: it goes after all that is not last, since it spoils the baths for what follows.
    """

    label: str
    format: str
    path: str
    push: float
    last: bool = False

    @property
    def turn(self) -> float:
        """Where its fill stands in the order: the push in stops, what goes last behind every push."""
        return self.push + (LAST_TURN if self.last else 0.0)


def batches(
    rolls: tuple[RollSpec, ...],
    tank: TankShape,
    places_for_120: int = DEFAULT_PLACES_FOR_120,
) -> tuple[tuple[int, ...], ...]:
    """Group rolls (by index) into the fewest fills of the tank; every roll is in exactly one.

    Rolls share a fill only if path and push are equal: they get the same developer for the same time. Within
    such a group the wide rolls go in first and the narrow ones fill every place left. As a narrow roll takes
    one place, no fewer fills can do. Order: least push first (the fresher developer for the shorter times), then
    by the first roll in each fill; what goes last is behind both. Raises Refused for a roll that fits no tank.
    """
    places = tuple(_checked_places(roll, tank, places_for_120) for roll in rolls)
    groups: dict[tuple[str, float], list[int]] = {}
    for index, roll in enumerate(rolls):
        groups.setdefault((roll.path, roll.turn), []).append(index)
    fills = [fill for group in groups.values() for fill in _filled(group, places, tank.places)]
    return tuple(sorted(fills, key=lambda fill: (rolls[fill[0]].turn, fill)))


def batch_places(
    batch: tuple[int, ...], rolls: tuple[RollSpec, ...], places_for_120: int = DEFAULT_PLACES_FOR_120
) -> int:
    """Spindle places one batch loads: what `cover_volume_ml` asks for."""
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


def _filled(group: list[int], places: tuple[int, ...], room: int) -> list[tuple[int, ...]]:
    """First fit, widest first, otherwise in the person's order; each fill lists its rolls in that order."""
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
    return [tuple(sorted(fill)) for fill in fills]
