"""Two parts of which one is enough, tested together, with faults that take both at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray, need
from riskkit.reliability.hidden import mean_unavailability, mean_unavailability_first_order

__all__ = ["both_unavailable", "one_of_two_first_order", "one_of_two_unavailability"]


def both_unavailable(
    first_per_yr: ArrayLike,
    second_per_yr: ArrayLike,
    common_per_yr: ArrayLike,
    interval_yr: ArrayLike,
) -> FloatArray:
    """Share of time that two parts tested together are both unfit, one of them being enough.

    The pair is fit with exp(-c t) (exp(-a t) + exp(-b t) - exp(-(a+b) t)); its mean over an
    interval is exact.

    Parameters
    ----------
    first_per_yr : (n_draws,) array
        Faults a of the first part alone [1/yr].
    second_per_yr : (n_draws,) array
        Faults b of the second part alone [1/yr].
    common_per_yr : (n_draws,) array
        Faults c that take both at once [1/yr].
    interval_yr : (n_draws,) array
        Time between tests [yr].

    Returns
    -------
    (n_draws,) array
        Mean unavailability of the pair [-].

    References
    ----------
    rausand_hoyland2004 : parallel structure with common cause
    """
    one, two, both = (
        np.asarray(each, dtype=np.float64) for each in (first_per_yr, second_per_yr, common_per_yr)
    )
    need(bool(np.all(one >= 0) and np.all(two >= 0)), "rate", "it is below zero")
    first, second, either = (
        mean_unavailability(rate, interval_yr)
        for rate in (both + one, both + two, both + one + two)
    )
    return np.asarray(first + second - either)


def one_of_two_unavailability(
    rate_per_yr: ArrayLike, interval_yr: ArrayLike, beta: ArrayLike
) -> FloatArray:
    """Share of time that two equal parts are both unfit, with common cause by the beta factor.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Hidden faults lambda of one part [1/yr].
    interval_yr : (n_draws,) array
        Time between tests tau [yr].
    beta : (n_draws,) array
        Share of the faults of one part that take the other too [-].

    Returns
    -------
    (n_draws,) array
        Mean unavailability of the pair [-].

    References
    ----------
    iec61508_6 : annex B, one of two, without its approximations
    rausand_hoyland2004 : beta factor model
    """
    rate, share = np.asarray(rate_per_yr, dtype=np.float64), np.asarray(beta, dtype=np.float64)
    need(bool(np.all((share >= 0) & (share <= 1))), "beta", "it is no share", "give 0 to 1")
    alone = (1 - share) * rate
    return both_unavailable(alone, alone, share * rate, interval_yr)


def one_of_two_first_order(
    rate_per_yr: ArrayLike, interval_yr: ArrayLike, beta: ArrayLike
) -> FloatArray:
    """First terms of `one_of_two_unavailability`, ((1-beta) x)^2/3 + beta x/2, x = lambda tau.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Hidden faults lambda of one part [1/yr].
    interval_yr : (n_draws,) array
        Time between tests tau [yr].
    beta : (n_draws,) array
        Share of common cause [-].

    Returns
    -------
    (n_draws,) array
        Mean unavailability of the pair [-].

    References
    ----------
    iec61508_6 : annex B, one of two, with no time for repair
    """
    x = 2 * mean_unavailability_first_order(rate_per_yr, interval_yr)
    share = np.asarray(beta, dtype=np.float64)
    return np.asarray(((1 - share) * x) ** 2 / 3 + share * x / 2)
