"""Small matrices for least squares, as lists of rows."""

from __future__ import annotations

import math
from collections.abc import Sequence

_SINGULAR = 1e-9
"""A smaller pivot is rounding error, as the matrices here have values of about 1 and more."""


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """The sum of the products."""
    return math.fsum(x * y for x, y in zip(a, b, strict=True))


def inverse(matrix: list[list[float]]) -> list[list[float]]:
    """The inverse by Gauss-Jordan with pivoting. Raises ValueError for a singular matrix."""
    size = len(matrix)
    rows = [[*row, *(float(i == j) for j in range(size))] for i, row in enumerate(matrix)]
    for i in range(size):
        pivot = max(range(i, size), key=lambda k: abs(rows[k][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        if abs(rows[i][i]) < _SINGULAR:
            raise ValueError("a singular matrix")
        rows[i] = [cell / rows[i][i] for cell in rows[i]]
        for k in range(size):
            if k != i:
                rows[k] = [a - rows[k][i] * b for a, b in zip(rows[k], rows[i], strict=True)]
    return [row[size:] for row in rows]
