"""Statistics of past sessions: the person's own lead times, and trends."""

from __future__ import annotations

import math
from statistics import median

from msgspec import Struct

SESSIONS_REMEMBERED = 10
_FEWEST_TO_LEARN_FROM = 2

MOST_LEAD_S = 120.0
"""A longer time is a key pressed late; the largest value of the setting too (our own number)."""


def lead_s(past: tuple[float, ...], default_s: float) -> float:
    """The lead (s) for the next plan: the median of the last ten of `past`, oldest first; `default_s` for fewer
    than two. Times that are not finite, negative or above `MOST_LEAD_S` are left out."""
    usable = [value for value in past if 0 <= value <= MOST_LEAD_S][-SESSIONS_REMEMBERED:]
    return median(usable) if len(usable) >= _FEWEST_TO_LEARN_FROM else default_s


class Trend(Struct, frozen=True):
    """The summary of at most ten numbers; change: median of the later half less that of the earlier, 0.0 below
    four."""

    count: int
    latest: float
    median: float
    change: float


def trend(values: tuple[float, ...]) -> Trend | None:
    """The trend of the last ten finite `values`, oldest first; None when there are none."""
    kept = [value for value in values if math.isfinite(value)][-SESSIONS_REMEMBERED:]
    if not kept:
        return None
    half = len(kept) // 2
    change = median(kept[-half:]) - median(kept[:half]) if half >= 2 else 0.0
    return Trend(len(kept), kept[-1], median(kept), change)
