"""How densities drift from fill to fill, and what the person's own film says about the time. Pure.

No print gives the change of density for seconds of development (none was found), so seconds come from the
person's own film alone: density = constant + a × rolls through the bottle + b × seconds off the plan. The rolls
of one fill share its time, so a fill is one point. An advice needs `FEWEST_FILLS` fills, and both slopes surer
than nothing at 95 %; its uncertainty follows from the fit's covariance to first order. It is words: nothing is
ever applied.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from wetside.domain.calc.least_squares import fit
from wetside.frozen import dataclass

FEWEST_FILLS = 8
"""Fills that a fit of three unknowns begins to mean something with (our own number)."""
FEWEST_FOR_A_SLOPE = 4
"""Fills that a drift is worked out from (our own number)."""
MOST_ADVISED = 0.15
"""The largest share of the bath's time that is advised (our own number): more is no drift, but a spent bottle."""


@dataclass(frozen=True, slots=True)
class DensityPoint:
    """One fill, oldest first. above_base: edge markings less base; base: mean density. None where not measured.

    along: what the drift is worked out along (rolls of 135-36 before it through the bottle, or days).
    off_s: how much longer than planned it was developed; planned_s: as planned. None where not known.
    """

    above_base: float | None
    base: float | None
    along: float
    off_s: float | None = None
    planned_s: float | None = None


@dataclass(frozen=True, slots=True)
class Slope:
    """A drift per unit of `along`, with its 95 % uncertainty and from how many fills."""

    value: float
    uncertainty: float
    fills: int

    @property
    def sure(self) -> bool:
        """Whether it differs from nothing by more than its uncertainty."""
        return abs(self.value) > self.uncertainty


@dataclass(frozen=True, slots=True)
class TimeAdvice:
    """Seconds to add next time (below zero: to take off) so that film comes out as this bottle's first did."""

    add_s: float
    uncertainty_s: float
    fills: int


def mean_density(values: tuple[float, ...]) -> float | None:
    """The mean of the channels; None where nothing was measured."""
    return math.fsum(values) / len(values) if values else None


def above_base(base: tuple[float, ...], edge: tuple[float, ...]) -> float | None:
    """Edge markings less base, the mean of the channels; None where one is missing or their channels differ."""
    if not base or len(base) != len(edge):
        return None
    return math.fsum(e - b for e, b in zip(edge, base, strict=True)) / len(base)


def slope(points: Sequence[tuple[float, float]]) -> Slope | None:
    """The drift of (along, value) pairs; None with fewer than `FEWEST_FOR_A_SLOPE`, or all at one place."""
    if len(points) < FEWEST_FOR_A_SLOPE:
        return None
    found = fit([[along for along, _ in points]], [value for _, value in points])
    return None if found is None else Slope(found.slopes[0], found.uncertainty(0), len(points))


def time_advice(points: Sequence[DensityPoint], next_along: float) -> TimeAdvice | None:
    """What the fills from one bottle say about the next one's time; None where they do not say it surely."""
    told = [p for p in points if p.above_base is not None and p.off_s is not None and p.planned_s is not None]
    if len(told) < FEWEST_FILLS:
        return None
    rolls, seconds = [p.along for p in told], [p.off_s or 0.0 for p in told]
    found = fit([rolls, seconds], [p.above_base or 0.0 for p in told])
    if found is None or not (found.sure(0) and found.sure(1)) or found.slopes[1] <= 0:
        return None
    (a, b), (aa, ab), (_, bb) = found.slopes, found.covariance[0], found.covariance[1]
    add_s = -a * (next_along - min(rolls)) / b
    relative = aa / a**2 + bb / b**2 - 2 * ab / (a * b)
    uncertainty_s = abs(add_s) * found.t * math.sqrt(max(0.0, relative))
    planned_s = told[-1].planned_s or 0.0
    if uncertainty_s >= abs(add_s) or abs(add_s) > MOST_ADVISED * planned_s:
        return None
    return TimeAdvice(add_s, uncertainty_s, len(told))
