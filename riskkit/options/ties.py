"""Which remedies help about equally: the error of a comparison of few picked draws, and its ties.

The draws that a ranking tries are picked one from each stratum of many, in the order of the strata
(`riskkit.ensemble.picking`). So neighbours in the array are neighbours in what the storms do, and
half the mean square of their differences is the variance within a stratum: the estimator of
systematic samples. All remedies meet the same draws, so the difference of two is taken draw by
draw. It is held to the chance of today, which is known from all draws, as a ratio.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from riskkit.records import FloatArray

__all__ = ["ALIKE_ERRORS", "error_of_ratio", "ratio_to", "tie_groups"]

ALIKE_ERRORS = 2.0
"""Standard errors by which two have to differ before one is said to be better (convention)."""


def ratio_to(known: float, picked: float) -> float:
    """Return by what a mean of picked draws is multiplied to stand for all.

    Parameters
    ----------
    known : float
        Mean of all draws, for the home as it is [any].
    picked : float
        Mean of those that were picked [any].

    Returns
    -------
    float
        1 where nothing was picked that floods, for then nothing is known of what helps [-].

    References
    ----------
    cochran1977 : ratio estimate
    """
    return known / picked if picked > 0 else 1.0


def error_of_ratio(values: FloatArray, beside: FloatArray) -> float:
    """Return the standard error of a mean that is held to the known mean of another result.

    Parameters
    ----------
    values : (n_draws,) array
        Result of each draw, in the order of the strata, such as the difference of two remedies
        [any].
    beside : (n_draws,) array
        Result whose mean over all draws is known, such as the chance of today [any].

    Returns
    -------
    float
        Of the mean of the picked draws; times the ratio of known to picked mean it is that of the
        ratio estimate [any].

    References
    ----------
    wolter2007 : successive differences of a systematic sample
    cochran1977 : residuals of a ratio estimate
    arithmetic : mean square of successive differences

    Examples
    --------
    >>> round(error_of_ratio(np.array([1.0, 3.0, 1.0, 3.0]), np.ones(4)), 6)  # sqrt(12 / 24)
    0.707107
    >>> error_of_ratio(np.array([1.0, 3.0, 1.0, 3.0]), np.array([2.0, 6.0, 2.0, 6.0]))
    0.0
    """
    mean = float(beside.mean())
    ratio = float(values.mean()) / mean if mean > 0 else 0.0
    left = values - ratio * beside
    n = left.size
    return math.sqrt(float(np.sum(np.diff(left) ** 2)) / (2 * n * (n - 1)))


def tie_groups(
    values: Sequence[FloatArray], beside: FloatArray, least: float = 0.0
) -> tuple[int, ...]:
    """Number the groups of what does not differ clearly.

    A group ends at the first that differs from any before it in the group: of three of which the
    first and the last differ, no two are said to be equal by way of the one between.

    Parameters
    ----------
    values : sequence of (n_draws,) array
        Chance that each remedy leaves, the least mean first [-].
    beside : (n_draws,) array
        Chance of today [-].
    least : float
        Difference of two means below which it does not matter [-].

    Returns
    -------
    tuple of int
        Number of the group of each, from 1.

    References
    ----------
    judgement : two standard errors
    """
    groups: list[int] = []
    begin = 0
    for at, one in enumerate(values):
        apart = any(_differ(one, other, beside, least) for other in values[begin:at])
        begin = at if apart else begin
        groups.append((groups[-1] if groups else 1) + apart)
    return tuple(groups)


def _differ(one: FloatArray, other: FloatArray, beside: FloatArray, least: float) -> bool:
    apart = np.asarray(one - other)
    error = error_of_ratio(apart, beside)
    return abs(float(apart.mean())) > max(ALIKE_ERRORS * error, least)
