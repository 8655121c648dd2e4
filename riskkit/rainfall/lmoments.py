"""Sample L-moments, and the generalised extreme-value distribution.

The shape of the generalised extreme-value distribution has Hosking's sign: ``shape < 0`` is the
heavy upper tail, ``shape > 0`` an upper bound, ``shape = 0`` is Gumbel. (Other books use the
opposite sign.) All functions work along the last axis, so that thousands of resampled records go
through in one call.
"""

from __future__ import annotations

import math
import warnings
from typing import NamedTuple

import numpy as np

from riskkit.errors import OutOfRangeWarning, RangeError
from riskkit.records import FloatArray

__all__ = [
    "Gev",
    "LMoments",
    "gev_quantile",
    "gev_shape",
    "gev_with_shape",
    "not_zero",
    "sample_lmoments",
]

_SMALL_SHAPE = 1e-7  # below it the distribution is Gumbel to every printed digit


class LMoments(NamedTuple):
    """First two L-moments and the L-moment ratios of orders three and four."""

    l1: FloatArray
    l2: FloatArray
    t3: FloatArray
    t4: FloatArray


class Gev(NamedTuple):
    """Location, scale and shape (Hosking's sign) of a generalised extreme-value distribution."""

    location: FloatArray
    scale: FloatArray
    shape: FloatArray


def sample_lmoments(values: FloatArray) -> LMoments:
    r"""Unbiased sample L-moments of the values along the last axis.

    From the probability-weighted moments of the sorted sample,
    :math:`b_r = n^{-1} \sum_j \binom{j-1}{r} x_{(j)} / \binom{n-1}{r}`:
    l1 = b0, l2 = 2 b1 - b0, l3 = 6 b2 - 6 b1 + b0, l4 = 20 b3 - 30 b2 + 12 b1 - b0.

    Parameters
    ----------
    values : (..., n) array
        Samples without gaps, n at least 4 [any].

    Returns
    -------
    LMoments
        l1 and l2 in the unit of the values, t3 = l3/l2 and t4 = l4/l2 [-]; each (...) arrays;
        the ratios are NaN where all values are equal.

    Raises
    ------
    RangeError
        Where there are fewer than four values or one is missing.

    References
    ----------
    hosking1990 : eq. 2.7 with the unbiased estimators of section 3
    """
    x = np.sort(np.asarray(values, dtype=np.float64), axis=-1)
    n = x.shape[-1]
    if n < 4:
        raise RangeError("L-moments", f"{n} values are too few", "give at least 4")
    if not np.all(np.isfinite(x)):
        raise RangeError("L-moments", "a value is missing")
    j = np.arange(n, dtype=np.float64)
    weight1 = j / (n - 1)
    weight2 = weight1 * (j - 1) / (n - 2)
    weight3 = weight2 * (j - 2) / (n - 3)
    b0 = x.mean(axis=-1)
    b1, b2, b3 = (x @ (w / n) for w in (weight1, weight2, weight3))
    l2 = 2 * b1 - b0
    safe = np.where(l2 > 1e-12 * np.abs(b0), l2, np.nan)  # equal values leave only rounding
    t3 = (6 * b2 - 6 * b1 + b0) / safe
    t4 = (20 * b3 - 30 * b2 + 12 * b1 - b0) / safe
    return LMoments(b0, l2, t3, t4)


def gev_shape(t3: FloatArray) -> FloatArray:
    """Shape of the generalised extreme-value distribution with a given L-skewness.

    The shape k solves (1 - 3^-k) / (1 - 2^-k) = (3 + t3) / 2; it starts from Hosking's
    k = 7.8590 c + 2.9554 c^2, c = 2 / (3 + t3) - ln 2 / ln 3, and is finished by Newton steps.

    Valid for -0.8 < t3 < 0.9; beyond, the shape is that of the nearer end, with a warning.

    Parameters
    ----------
    t3 : (...) array
        L-skewness [-].

    Returns
    -------
    (...) array
        Shape with Hosking's sign [-].

    References
    ----------
    hosking1985 : eq. 14
    """
    t3 = np.asarray(t3, dtype=np.float64)
    if np.any((t3 <= -0.8) | (t3 >= 0.9)):
        warnings.warn(
            f"L-skewness from {np.min(t3):.3f} to {np.max(t3):.3f} is outside -0.8 to 0.9",
            OutOfRangeWarning,
            stacklevel=2,
        )
    t3 = np.clip(t3, -0.8, 0.9)
    c = 2.0 / (3.0 + t3) - np.log(2.0) / np.log(3.0)
    shape = 7.8590 * c + 2.9554 * c**2
    for _ in range(8):
        k = not_zero(shape)
        three, two = -np.expm1(-k * np.log(3.0)), -np.expm1(-k * np.log(2.0))
        ratio = three / two
        slope = ((1 - three) * np.log(3.0) - ratio * (1 - two) * np.log(2.0)) / two
        shape = k - (ratio - (3.0 + t3) / 2.0) / slope
    return np.asarray(shape)


def gev_with_shape(l1: FloatArray, l2: FloatArray, shape: FloatArray) -> Gev:
    """Generalised extreme-value distribution of known shape with the first two L-moments given.

    scale = l2 k / ((1 - 2^-k) Gamma(1 + k)), location = l1 - scale (1 - Gamma(1 + k)) / k.

    Parameters
    ----------
    l1 : (...) array
        First L-moment, the mean [any].
    l2 : (...) array
        Second L-moment [any].
    shape : array
        Shape k with Hosking's sign, above -1; it broadcasts with the L-moments [-].

    Returns
    -------
    Gev
        Location and scale in the unit of l1, and the shape [-]; (...) arrays.

    References
    ----------
    hosking1990 : Table 2
    """
    k = not_zero(np.asarray(shape, dtype=np.float64))
    g = _gamma(1.0 + k)
    scale = np.asarray(l2) * k / (-np.expm1(-k * np.log(2.0)) * g)
    return Gev(np.asarray(l1) - scale * (1.0 - g) / k, scale, np.broadcast_to(k, scale.shape))


# scipy.special would do, but takes a quarter of a second to import
_gamma = np.vectorize(math.gamma, otypes=[np.float64])


def not_zero(shape: FloatArray) -> FloatArray:
    """Move shapes off zero, where the formulas are 0/0 and the limit is Gumbel.

    Parameters
    ----------
    shape : (...) array
        Shapes [-].

    Returns
    -------
    (...) array
        The same, except within 1e-7 of zero [-].
    """
    return np.where(np.abs(shape) < _SMALL_SHAPE, _SMALL_SHAPE, shape)


def gev_quantile(fit: Gev, probability: FloatArray | float) -> FloatArray:
    """Quantile of a generalised extreme-value distribution: location + scale (1 - (-ln F)^k) / k.

    Parameters
    ----------
    fit : Gev
        The distribution, arrays that broadcast with the probability.
    probability : array or float
        Probability of not being exceeded F, between 0 and 1 [-].

    Returns
    -------
    array
        The quantile in the unit of the location [any].

    References
    ----------
    hosking1985 : eq. 1
    """
    k = not_zero(np.asarray(fit.shape, dtype=np.float64))
    reduced = -np.log(-np.log(probability))
    return np.asarray(fit.location - fit.scale * np.expm1(-k * reduced) / k)
