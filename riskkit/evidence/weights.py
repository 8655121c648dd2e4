"""From what each draw would have shown to its weight, and to what does not fit.

A reading is normal about what a draw would show, but for a small share of wrong records, which lie
anywhere. So one wrong record does not decide, and what no draw explains changes little; it is told
by its tail chance.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskkit.evidence.expected import Expected
from riskkit.records import FloatArray, IntArray

__all__ = [
    "WRONG_SHARE",
    "effective_size",
    "log_likelihood",
    "normal_weights",
    "resampled",
    "tail_chance",
    "weights_of",
]

WRONG_SHARE = 0.02
"""Share of wrong records (judgement) [-]."""


def log_likelihood(seen: Sequence[Expected], wrong_share: float = WRONG_SHARE) -> FloatArray:
    """Return the logarithm of the likelihood of some readings for each draw.

    Readings of one observation are wrong together or not at all, see `riskkit.evidence.posterior`.

    Parameters
    ----------
    seen : sequence of Expected
        Readings of one observation, independent where the draw is known.
    wrong_share : float
        Share of records that are wrong, 0 for none [-].

    Returns
    -------
    (n_draws,) array
        Logarithm of the likelihood [-].

    References
    ----------
    arithmetic : mixture of a normal distribution and an even one
    """
    right, wrong = np.zeros(seen[0].mean.size), 0.0
    for one in seen:
        if one.shares is not None:
            right = right + np.log(one.shares[:, int(one.reading)])
            wrong -= np.log(one.shares.shape[1])
        else:
            z = (one.reading - one.mean) / one.sd
            right = right - 0.5 * z**2 - np.log(one.sd) - 0.5 * np.log(2 * np.pi)
            wrong -= np.log(one.width)
    if wrong_share == 0.0:
        return right
    good, bad = np.log1p(-wrong_share) + right, np.log(wrong_share) + wrong
    return np.asarray(np.logaddexp(good, bad))


def weights_of(log_weight: FloatArray) -> FloatArray:
    """Return weights that add up to 1.

    Parameters
    ----------
    log_weight : (n_draws,) array
        Their logarithms, but for a constant [-].

    Returns
    -------
    (n_draws,) array
        Weights [-].
    """
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def normal_weights(seen: Sequence[Expected]) -> FloatArray:
    """Return the weights of the draws where the record is taken as right.

    Parameters
    ----------
    seen : sequence of Expected
        Readings of one observation.

    Returns
    -------
    (n_draws,) array
        Weights [-].
    """
    return weights_of(log_likelihood(seen, 0.0))


def effective_size(weight: FloatArray) -> float:
    """Return how many draws of the same weight are worth as much: 1 / sum of squares.

    Parameters
    ----------
    weight : (n_draws,) array
        Weights that add up to 1 [-].

    Returns
    -------
    float
        Effective sample size [-].

    References
    ----------
    kish1965 : design effect of unequal weights, recalled
    """
    return float(1.0 / np.sum(weight**2))


def resampled(weight: FloatArray, n_draws: int, start: float) -> IntArray:
    """Pick draws by their weights, evenly: each as often as its weight says, but for less than one.

    Parameters
    ----------
    weight : (n,) array
        Weights that add up to 1 [-].
    n_draws : int
        How many are picked [-].
    start : float
        Where the first of the even steps lies, from 0 up to 1 [-].

    Returns
    -------
    (n_draws,) array of int
        Which ones, in their order [-].

    References
    ----------
    arithmetic : systematic resampling
    """
    steps = (np.arange(n_draws) + start) / n_draws
    found = np.searchsorted(np.cumsum(weight), steps, side="right")
    return np.minimum(found, weight.size - 1)


def tail_chance(one: Expected, weight: FloatArray | None = None) -> float:
    """Return how likely a reading as far out as this one, or farther, was to be expected.

    Parameters
    ----------
    one : Expected
        The reading.
    weight : (n_draws,) array, optional
        Weights of the draws that add up to 1; all the same where it is left out [-].

    Returns
    -------
    float
        Two-sided, from 0 to 1 [-].

    References
    ----------
    box1980 : tail of the predictive distribution, recalled
    """
    from scipy.special import ndtr

    if weight is None:
        weight = np.full(one.mean.size, 1.0 / one.mean.size)
    if one.shares is not None:
        of_word = weight @ one.shares
        at = int(one.reading)
        below, above = of_word[: at + 1].sum(), of_word[at:].sum()
    else:
        below = weight @ ndtr((one.reading - one.mean) / one.sd)
        above = 1.0 - below
    return float(min(1.0, 2.0 * min(below, above)))
