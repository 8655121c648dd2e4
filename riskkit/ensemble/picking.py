"""A few draws that stand for many: spread evenly over what the many came to."""

from __future__ import annotations

import numpy as np

from riskkit.records import FloatArray, IntArray

__all__ = ["picked_evenly"]

_GOLDEN = (5.0**0.5 - 1.0) / 2.0


def picked_evenly(first: FloatArray, second: FloatArray, n_picked: int) -> IntArray:
    """Pick draws that are spread evenly over two results at once.

    In the order of the first result the draws are cut into as many groups as are picked. Of each
    group one is taken, at a place in the order of the second result that wanders by the golden
    ratio, so that the places of all groups are spread evenly too. Where a home differs little from
    the one that the results are of, the few picked tell its median and range better than as many
    that nobody chose.

    Parameters
    ----------
    first, second : (n_draws,) arrays
        Results of each draw, infinite ones last [any].
    n_picked : int
        How many, at most as many as there are [-].

    Returns
    -------
    (n_picked,) array of int
        Draws, counted from 0, each once [-].

    References
    ----------
    arithmetic : stratified sampling, with an additive recurrence in each stratum

    Examples
    --------
    >>> picked_evenly(np.arange(8.0), np.zeros(8), 4)
    array([0, 3, 5, 6])
    """
    picked = []
    for i, group in enumerate(np.array_split(np.argsort(first, kind="stable"), n_picked)):
        place = int((i + 0.5) * _GOLDEN % 1.0 * group.size)
        picked.append(group[np.argsort(second[group], kind="stable")[place]])
    return np.array(picked, dtype=np.int64)
