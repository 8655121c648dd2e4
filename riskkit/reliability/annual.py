"""Chance per year from chances given a storm, and its split by cause.

Storms are told by how many of their size or greater come in a year, n = 1/T with T the return
period of a series of all large storms (partial duration). If a storm of rate n brings water onto
the floor with chance P(n), such storms come at the rate int P dn, and the chance that a year has
one is 1 - exp(-int P dn). Between the storms that were run P is straight in the logarithm of n.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray, need

__all__ = ["annual_chance_of", "flood_rate_per_yr", "split_by_cause", "storm_rate_per_yr"]


def storm_rate_per_yr(return_period_yr: ArrayLike) -> FloatArray:
    """How many storms of a return period or rarer come in a year, 1/T.

    Parameters
    ----------
    return_period_yr : (n_storms,) array
        Return period T of all large storms, above zero [yr].

    Returns
    -------
    (n_storms,) array
        Storms a year [1/yr].

    Raises
    ------
    RangeError
        Where a return period cannot be.

    References
    ----------
    langbein1949 : partial-duration series
    """
    period = np.asarray(return_period_yr, dtype=np.float64)
    need(bool(np.all(period > 0)), "return period", "it is not above 0 years")
    return 1 / period


def flood_rate_per_yr(rate_per_yr: ArrayLike, chance: ArrayLike) -> FloatArray:
    """Storms a year that bring water onto the floor; rarer ones than run count as the rarest.

    Over each stretch of n the chance is a + b ln n, whose integral is exact. Commoner storms than
    the commonest run do not count.

    Parameters
    ----------
    rate_per_yr : (n_storms,) array
        Storms a year of each size or greater, falling [1/yr].
    chance : (n_storms, n_draws) array
        Chance given each storm [-].

    Returns
    -------
    (n_draws,) array
        Floods a year [1/yr].

    Raises
    ------
    RangeError
        Where rates do not fall or chances are no shares.

    References
    ----------
    arithmetic : integral of a + b ln n
    """
    rate, given = np.asarray(rate_per_yr, dtype=np.float64), np.asarray(chance, dtype=np.float64)
    need(bool(np.all(rate > 0) and np.all(np.diff(rate) < 0)), "storms", "their rates do not fall")
    need(bool(np.all((given >= 0) & (given <= 1))), "chance", "it is not a share", "give 0 to 1")
    need(given.shape[0] == rate.size, "chance", "it has not one row for each storm")
    often, rare = rate[:-1], rate[1:]
    width, steps = often - rare, np.log(often / rare)
    upper = (often - width / steps) / width  # share of the commoner end, of b ln n
    upper = np.reshape(upper, (-1,) + (1,) * (given.ndim - 1))
    mean = given[1:] + (given[:-1] - given[1:]) * upper
    return np.asarray(np.tensordot(width, mean, axes=1) + rate[-1] * given[-1])


def annual_chance_of(rate_per_yr: ArrayLike) -> FloatArray:
    """Chance of at least one event in a year, 1 - exp(-rate).

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Events a year, at random [1/yr].

    Returns
    -------
    (n_draws,) array
        Chance [-].
    """
    return np.asarray(-np.expm1(-np.asarray(rate_per_yr, dtype=np.float64)))


def split_by_cause(
    rate_per_yr: ArrayLike, chance_by_cause: ArrayLike, chance: ArrayLike
) -> FloatArray:
    """Share of the floods that is each cause's, storm by storm in proportion to their chances.

    Where two causes meet, each takes its part, so the shares add up to one. A chance below that of
    the greatest cause, or above the sum of all, is refused.

    Parameters
    ----------
    rate_per_yr : (n_storms,) array
        Storms a year of each size or greater, falling [1/yr].
    chance_by_cause : (n_causes, n_storms, n_draws) array
        Chance given each storm if the cause were the only one [-].
    chance : (n_storms, n_draws) array
        Chance given each storm by any of them [-].

    Returns
    -------
    (n_causes, n_draws) array
        Shares; zero where there are no floods [-].

    Raises
    ------
    RangeError
        Where causes and total contradict each other.
    """
    rate, any_of = np.asarray(rate_per_yr, dtype=np.float64), np.asarray(chance, dtype=np.float64)
    causes = np.asarray(chance_by_cause, dtype=np.float64)
    summed, slack = causes.sum(axis=0), 1e-9
    need(bool(np.all(any_of >= causes.max(axis=0) - slack)), "causes", "one exceeds their total")
    need(bool(np.all(any_of <= summed + slack)), "causes", "their total exceeds their sum")
    parts = causes / np.where(summed > 0, summed, 1.0) * any_of
    rates = np.stack([flood_rate_per_yr(rate, np.clip(part, 0, 1)) for part in parts])
    total = rates.sum(axis=0)
    return np.asarray(rates / np.where(total > 0, total, 1.0))
