"""Least squares and its uncertainty against scipy, and the definition of density against ISO 5-1."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.archive.drift import T_975, DensityPoint, fit, slope, t_975, time_advice
from wetside.files.density_file import density


@pytest.mark.parametrize("degrees", range(1, len(T_975) + 1))
def test_students_t_is_that_of_scipy(degrees: int) -> None:
    from scipy import stats

    assert t_975(degrees) == pytest.approx(stats.t.ppf(0.975, degrees), abs=0.0006)


def test_beyond_the_table_the_quantile_is_too_wide() -> None:
    from scipy import stats

    assert stats.t.ppf(0.975, 200) < t_975(200) < 1.05 * stats.t.ppf(0.975, 200)


@given(st.integers(0, 10_000), st.integers(4, 40))
def test_a_straight_line_is_that_of_scipys_linregress(seed: int, count: int) -> None:
    from scipy import stats

    chance = random.Random(seed)
    along = [n + chance.random() for n in range(count)]
    values = [0.6 - 0.01 * x + chance.gauss(0, 0.02) for x in along]
    found, theirs = slope(list(zip(along, values, strict=True))), stats.linregress(along, values)
    assert found is not None
    assert found.value == pytest.approx(theirs.slope, rel=1e-7, abs=1e-10)
    # their table goes on beyond 30 degrees of freedom, ours is wide there
    assert found.uncertainty == pytest.approx(theirs.stderr * t_975(count - 2), rel=1e-6)


@given(st.integers(0, 10_000), st.integers(6, 30))
def test_two_slopes_and_their_covariance_are_those_of_scipys_curve_fit(seed: int, count: int) -> None:
    from scipy.optimize import curve_fit

    chance = random.Random(seed)
    rolls = [float(n) for n in range(count)]
    seconds = [chance.uniform(-10, 10) for _ in range(count)]
    values = [0.6 - 0.01 * n + 0.004 * s + chance.gauss(0, 0.01) for n, s in zip(rolls, seconds, strict=True)]
    ours = fit([rolls, seconds], values)
    theirs, covariance = curve_fit(lambda x, c, a, b: c + a * x[0] + b * x[1], np.array([rolls, seconds]), values)
    assert ours is not None
    assert tuple(each.value for each in ours.slopes) == pytest.approx(tuple(theirs[1:]), rel=1e-4, abs=1e-6)
    assert np.allclose(ours.covariance, covariance[1:, 1:], rtol=1e-3, atol=1e-12)


def test_collinear_data_are_not_fitted() -> None:
    assert fit([[1.0, 2.0, 3.0, 4.0, 5.0], [2.0, 4.0, 6.0, 8.0, 10.0]], [1.0, 2.0, 1.0, 2.0, 1.0]) is None
    assert fit([[3.0, 3.0, 3.0]], [1.0, 2.0, 3.0]) is None
    assert fit([[1.0, 2.0]], [1.0, 2.0]) is None


def rolls(count: int, noise: float, spread_s: float = 12.0, seed: int = 3) -> list[DensityPoint]:
    """A bottle that loses 0.012 of density a roll, where a second gives 0.004."""
    chance = random.Random(seed)
    found = []
    for n in range(count):
        off_s = chance.uniform(-spread_s, spread_s)
        value = 0.62 - 0.012 * n + 0.004 * off_s + chance.gauss(0, noise)
        found.append(DensityPoint(value, 0.25, float(n), off_s, 195.0))
    return found


def test_the_time_that_compensates_a_drift_is_found_with_its_uncertainty() -> None:
    points = rolls(12, 0.004)
    advice = time_advice(points, 8.0)
    assert advice is not None
    assert advice.fills == 12
    # by the law they were made with: 0.012 x 8 / 0.004 = 24 s
    assert abs(advice.add_s - 24.0) <= advice.uncertainty_s < 12.0
    # first order, against a resampling of the same fit: 4,000 draws of (a, b) from its covariance
    found = fit(
        [[p.along for p in points], [p.off_s or 0.0 for p in points]], [p.above_base or 0.0 for p in points]
    )
    assert found is not None
    slopes = [each.value for each in found.slopes]
    draws = np.random.default_rng(1).multivariate_normal(slopes, found.covariance, 4000)
    spread = np.std(-draws[:, 0] * 8.0 / draws[:, 1]) * found.t
    assert advice.uncertainty_s == pytest.approx(spread, rel=0.1)


@given(st.integers(0, 300))
def test_the_true_time_lies_within_three_uncertainties_of_the_advice(seed: int) -> None:
    """Each single bottle's advice lies within three times its uncertainty (a slip of the formula does not)."""
    advice = time_advice(rolls(16, 0.004, seed=seed), 10.0)
    if advice is not None:
        assert abs(advice.add_s - 30.0) <= 3 * advice.uncertainty_s


def test_too_few_too_noisy_or_unvaried_rolls_give_no_advice() -> None:
    assert time_advice(rolls(7, 0.001), 8.0) is None
    assert time_advice(rolls(12, 0.2), 8.0) is None
    assert time_advice(rolls(12, 0.004, spread_s=0.0), 8.0) is None
    assert time_advice(rolls(12, 0.004), 60.0) is None, "so much is no drift"


def test_density_is_the_logarithm_of_opacity() -> None:
    """ISO 5-1: D = log10(incident / transmitted); a tenth is 1.0, a half 0.30103."""
    assert density("25.5", white=255.0) == pytest.approx(1.0)
    assert density("0,5", white=1.0) == pytest.approx(math.log10(2.0))
    assert density("0.62") == 0.62
