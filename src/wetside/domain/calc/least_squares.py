"""Ordinary least squares for a few unknowns, with the uncertainty of each (95 %).

Normal equations on centred columns, solved by Gauss-Jordan with pivoting: right for the two or three unknowns and
tens of points it is used for, not for more. Checked against scipy in tests/reference/test_drift_of_densities.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from wetside.frozen import dataclass

T_975 = (
    *(12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131),
    *(2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042),
)
"""Student's t, two-sided 95 %, for 1 to 30 degrees of freedom: the printed table of every handbook of statistics,
from memory, compared with scipy in the tests."""
_SINGULAR = 1e-9


@dataclass(frozen=True, slots=True)
class Fit:
    """slopes: change of the value per unit of each column. covariance: of the slopes. t: the factor to 95 %."""

    slopes: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    residual: float
    degrees: int

    @property
    def t(self) -> float:
        """Student's factor from a standard error to the 95 % uncertainty."""
        return t_975(self.degrees)

    def uncertainty(self, column: int) -> float:
        """The 95 % uncertainty of a slope, either way."""
        return self.t * math.sqrt(self.covariance[column][column])

    def sure(self, column: int) -> bool:
        """Whether a slope differs from nothing by more than its uncertainty."""
        return abs(self.slopes[column]) > self.uncertainty(column)


def t_975(degrees: int) -> float:
    """Student's t for a two-sided 95 %. Above 30 degrees that of 30, which errs on the wide side."""
    return T_975[min(degrees, len(T_975)) - 1]


def fit(columns: Sequence[Sequence[float]], values: Sequence[float]) -> Fit | None:
    """Fit value = constant + sum of slope x column. None where the points cannot tell the slopes apart.

    That is: fewer points than unknowns plus one, a column that does not vary, or columns that go together.
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
    inverse = _inverse([[_dot(a, b) for b in scaled] for a in scaled])
    if inverse is None:
        return None
    moments = [_dot(column, y) for column in scaled]
    unit = [_dot(row, moments) for row in inverse]
    left = [y[n] - math.fsum(s * column[n] for s, column in zip(unit, scaled, strict=True)) for n in range(len(y))]
    variance = _dot(left, left) / degrees
    return Fit(
        tuple(slope / scale for slope, scale in zip(unit, scales, strict=True)),
        tuple(
            tuple(variance * cell / (scales[i] * scales[j]) for j, cell in enumerate(row))
            for i, row in enumerate(inverse)
        ),
        math.sqrt(variance),
        degrees,
    )


def _centred(values: Sequence[float]) -> list[float]:
    mean = math.fsum(values) / len(values)
    return [value - mean for value in values]


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return math.fsum(x * y for x, y in zip(a, b, strict=True))


def _inverse(matrix: list[list[float]]) -> list[list[float]] | None:
    size = len(matrix)
    rows = [[*row, *(float(i == j) for j in range(size))] for i, row in enumerate(matrix)]
    for i in range(size):
        pivot = max(range(i, size), key=lambda k: abs(rows[k][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        if abs(rows[i][i]) < _SINGULAR:
            return None
        rows[i] = [cell / rows[i][i] for cell in rows[i]]
        for k in range(size):
            if k != i:
                rows[k] = [a - rows[k][i] * b for a, b in zip(rows[k], rows[i], strict=True)]
    return [row[size:] for row in rows]
