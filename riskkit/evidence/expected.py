"""What each draw of a home would have shown, beside what was read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.records import FloatArray, freeze_arrays

__all__ = ["CLASS", "LOG", "METRES", "Expected", "shares_of_classes"]

METRES, LOG, CLASS = 1.0, 9.0, 0.0
"""Width over which a wrong record may lie: a metre, nine e-folds; 0 for one word of a few."""


@dataclass(frozen=True)
class Expected:
    """What each draw would have shown where one thing was read.

    Parameters
    ----------
    reading : float
        What was read: a rise [m], the logarithm of a time [-], or the number of a word [-].
    mean, sd : (n_draws,) arrays
        What the draw would show, and the standard deviation of a reading of it [any].
    width : float
        Over how much of that scale a wrong record may lie; 0 for words [any].
    shares : (n_draws, n_words) array, optional
        For words: how likely each is under the draw [-].
    """

    reading: float
    mean: FloatArray
    sd: FloatArray
    width: float
    shares: FloatArray | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)


def shares_of_classes(mean: FloatArray, sd: float, edges: FloatArray) -> FloatArray:
    """Return how likely each of some classes is where their measure is normal.

    Parameters
    ----------
    mean : (n_draws,) array
        Middle of the measure [-].
    sd : float
        Its standard deviation [-].
    edges : (n_classes - 1,) array
        Where one class passes into the next, increasing [-].

    Returns
    -------
    (n_draws, n_classes) array
        Shares; they add up to 1 [-].
    """
    from scipy.special import ndtr

    below = ndtr((edges[None, :] - mean[:, None]) / sd)
    n = len(mean)
    return np.diff(np.hstack([np.zeros((n, 1)), below, np.ones((n, 1))]), axis=1)
