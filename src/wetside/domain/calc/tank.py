"""Film in the tank: its area (cm²), and whether a bottle covers it (ml). Dimensions carry their source."""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

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


def roll_equivalents(formats: Iterable[str]) -> float:
    """The area of these formats in rolls of 135-36."""
    return math.fsum(FILM_AREA_CM2[name] for name in formats) / ROLL_CM2


class Coverage(Struct, frozen=True):
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
