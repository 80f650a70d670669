"""Drift of the densities from fill to fill, and the developer time that the person's own film suggests.

No published figure was found for the change of density with seconds of development, so it comes from the person's
own film: density = constant + a × rolls through the bottle + b × seconds off the plan. The rolls of one fill share
its time, so a fill is one point. Advice needs `FEWEST_FILLS` fills and two slopes that differ from zero at 95 %;
its uncertainty follows from the fit's covariance to first order. It is shown and never applied.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from wetside.domain.calc.least_squares import dot, inverse

FEWEST_FILLS = 8
"""The fewest fills for a fit of three unknowns (our own number)."""
_FEWEST_FOR_A_SLOPE = 4
"""The fewest fills for a drift (our own number)."""
_MOST_ADVISED = 0.15
"""The largest advised share of the bath's time (our own number): more is a spent bottle, not a drift."""


class DensityPoint(Struct, frozen=True):
    """One fill. above_base: edge markings less base; base: mean density; None where not measured.

    along: the abscissa of the drift (rolls of 135-36 through the bottle before it, or days). off_s: developer time
    beyond the planned time `planned_s`; None where not known.
    """

    above_base: float | None
    base: float | None
    along: float
    off_s: float | None = None
    planned_s: float | None = None


class Slope(Struct, frozen=True):
    """A drift per unit of `along`, its 95 % uncertainty, and the number of fills."""

    value: float
    uncertainty: float
    fills: int

    @property
    def sure(self) -> bool:
        """Whether it differs from zero by more than its uncertainty."""
        return abs(self.value) > self.uncertainty


class TimeAdvice(Struct, frozen=True):
    """Seconds to add next time (negative: to subtract) to get the density of this bottle's first fill."""

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
    """The drift of (along, value) pairs; None with too few of them, or all at one abscissa."""
    if len(points) < _FEWEST_FOR_A_SLOPE:
        return None
    found = fit([[along for along, _ in points]], [value for _, value in points])
    return None if found is None else found.slopes[0]


def time_advice(points: Sequence[DensityPoint], next_along: float) -> TimeAdvice | None:
    """The advice for the next fill from one bottle, by its fills, oldest first; None if not significant."""
    told = [p for p in points if p.above_base is not None and p.off_s is not None and p.planned_s is not None]
    if len(told) < FEWEST_FILLS:
        return None
    rolls, seconds = [p.along for p in told], [p.off_s or 0.0 for p in told]
    found = fit([rolls, seconds], [p.above_base or 0.0 for p in told])
    if found is None or not all(each.sure for each in found.slopes) or found.slopes[1].value <= 0:
        return None
    (a, b), (aa, ab), (_, bb) = (each.value for each in found.slopes), found.covariance[0], found.covariance[1]
    add_s = -a * (next_along - min(rolls)) / b
    relative = aa / a**2 + bb / b**2 - 2 * ab / (a * b)
    uncertainty_s = abs(add_s) * found.t * math.sqrt(max(0.0, relative))
    planned_s = told[-1].planned_s or 0.0
    if uncertainty_s >= abs(add_s) or abs(add_s) > _MOST_ADVISED * planned_s:
        return None
    return TimeAdvice(add_s, uncertainty_s, len(told))


# Ordinary least squares on centred columns, for two or three unknowns and tens of points. Checked against scipy in
# tests/reference/test_drift_of_densities.py.

T_975 = (
    *(12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131),
    *(2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042),
)
"""Student's t, two-sided 95 %, for 1 to 30 degrees of freedom (from memory; compared with scipy in the tests)."""
_SINGULAR = 1e-9


class Fit(Struct, frozen=True):
    """slopes: change of the value per unit of each column; covariance: theirs; t: Student's factor to 95 %."""

    slopes: tuple[Slope, ...]
    covariance: tuple[tuple[float, ...], ...]
    t: float


def t_975(degrees: int) -> float:
    """Student's t for a two-sided 95 %; above 30 degrees that of 30, which is slightly too large."""
    return T_975[min(degrees, len(T_975)) - 1]


def fit(columns: Sequence[Sequence[float]], values: Sequence[float]) -> Fit | None:
    """Fit value = constant + sum of slope × column.

    None with fewer points than unknowns plus one, with a constant column, or with collinear columns.
    """
    degrees = len(values) - len(columns) - 1
    if degrees < 1:
        return None
    scales = [math.sqrt(math.fsum(x * x for x in _centred(column))) for column in columns]
    if any(
        scale <= _SINGULAR * max(1.0, *map(abs, column)) for scale, column in zip(scales, columns, strict=True)
    ):
        return None
    scaled = [[x / scale for x in _centred(column)] for column, scale in zip(columns, scales, strict=True)]
    y = _centred(values)
    try:
        inverted = inverse([[dot(a, b) for b in scaled] for a in scaled])
    except ValueError:  # collinear columns
        return None
    moments = [dot(column, y) for column in scaled]
    unit = [dot(row, moments) for row in inverted]
    left = [y[n] - math.fsum(s * column[n] for s, column in zip(unit, scaled, strict=True)) for n in range(len(y))]
    variance, t = dot(left, left) / degrees, t_975(degrees)
    covariance = tuple(
        tuple(variance * cell / (scales[i] * scales[j]) for j, cell in enumerate(row))
        for i, row in enumerate(inverted)
    )
    slopes = (
        Slope(each / scale, t * math.sqrt(covariance[i][i]), len(values))
        for i, (each, scale) in enumerate(zip(unit, scales, strict=True))
    )
    return Fit(tuple(slopes), covariance, t)


def _centred(values: Sequence[float]) -> list[float]:
    mean = math.fsum(values) / len(values)
    return [value - mean for value in values]
