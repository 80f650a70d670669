"""What past sessions teach: the person's own times, and their trends drawn small.

One job: turn a row of past numbers, oldest first, into the next plan's lead and into a one-line picture. It
must not know which sessions they came from.
"""

from __future__ import annotations

import math
from statistics import median

from wetside.frozen import dataclass

SESSIONS_REMEMBERED = 10
FEWEST_TO_LEARN_FROM = 2
"""One time may be the evening the bottle slipped; two are the least that can agree."""

MOST_LEAD_S = 120.0
"""A longer time is no pouring out but a key pressed late; the setting ends here too (our own number)."""

SIGNS = "⎽⎼─⎻⎺"
ASCII_SIGNS = "_.-~^"


def lead_s(past: tuple[float, ...], default_s: float) -> float:
    """The lead in s for the next plan: the median of the last ten times, oldest first in `past`.

    Fewer than two times are no habit yet: then `default_s`. Times that are not finite, are negative or are longer
    than `MOST_LEAD_S` are left out, as a clock that jumped and a key pressed late say nothing about hands.
    """
    usable = [value for value in past if 0 <= value <= MOST_LEAD_S][-SESSIONS_REMEMBERED:]
    return median(usable) if len(usable) >= FEWEST_TO_LEARN_FROM else default_s


@dataclass(frozen=True, slots=True)
class Trend:
    """A row of past numbers in short: how many of them, the latest, the median of the last ten, and `change`.

    `change` is the median of the later half less that of the earlier half: 0.0 with fewer than four numbers.
    """

    count: int
    latest: float
    median: float
    change: float


def trend(values: tuple[float, ...]) -> Trend | None:
    """Sum up the last ten of `values`, oldest first; None when there are none. Not-finite ones are left out."""
    kept = [value for value in values if math.isfinite(value)][-SESSIONS_REMEMBERED:]
    if not kept:
        return None
    half = len(kept) // 2
    change = median(kept[-half:]) - median(kept[:half]) if half >= 2 else 0.0
    return Trend(len(kept), kept[-1], median(kept), change)


def spark(values: tuple[float, ...], width: int, ascii_only: bool = False) -> str:
    """Draw the last `width` values as one sign each, lowest to highest on five heights.

    Equal values are drawn at the middle height. Empty when there is nothing to draw. Not-finite values are
    left out.
    """
    signs = ASCII_SIGNS if ascii_only else SIGNS
    kept = [value for value in values if math.isfinite(value)][-width:] if width > 0 else []
    if not kept:
        return ""
    low, high = min(kept), max(kept)
    if low == high:
        return signs[len(signs) // 2] * len(kept)
    scale = 1.0 if math.isfinite(high - low) else 0.5  # the ends of the float range differ by more than a float
    span = high * scale - low * scale
    return "".join(
        signs[min(len(signs) - 1, int((value * scale - low * scale) / span * len(signs)))] for value in kept
    )
