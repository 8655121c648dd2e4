"""How homes differ in mains outages.

Rates differ from home to home as a gamma distribution of mean 1, whose shape is fitted to the share
of households that told of an outage of six hours or more within a year. So that figure of the
survey is no check of the model. The shares of single cities, which no fit has seen, are.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaincinv

from riskkit.records import FloatArray, need
from riskkit.reliability.outage_weather import printed_shares
from riskkit.reliability.outages import COUNTRY, outage_rate_per_yr, outages_of

__all__ = ["home_factor", "households_with_outage", "mixing_shape"]


def households_with_outage(rate_per_yr: ArrayLike, shape: ArrayLike) -> FloatArray:
    """Share of households with at least one outage a year where their rates differ.

    Counts are Poisson with a rate of a gamma distribution of shape k, so of a negative binomial
    distribution: 1 - (1 + rate/k)^-k. With k infinite all are alike: 1 - exp(-rate).

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Mean outages per household [1/yr].
    shape : (n_draws,) array
        Shape k; the smaller, the more households differ [-].

    Returns
    -------
    (n_draws,) array
        Share [-].

    References
    ----------
    greenwood_yule1920 : counts of unequal liability
    """
    rate, form = np.asarray(rate_per_yr, dtype=np.float64), np.asarray(shape, dtype=np.float64)
    return np.asarray(-np.expm1(-form * np.log1p(rate / form)))


@cache
def mixing_shape() -> float:
    """Fit the shape by which households differ to the share with a long outage.

    Returns
    -------
    float
        Shape k of the gamma distribution of rates [-].

    References
    ----------
    ahs2023 : 17.8 % of households had an outage of six hours or more
    """
    over_h, share = printed_shares()["household_long"]
    rate = float(outage_rate_per_yr(outages_of(COUNTRY), over_h))
    low, high = 1e-3, 1e3  # the share rises with k: halve until no number lies between
    while low < (middle := math.sqrt(low * high)) < high:
        below = float(households_with_outage(rate, middle)) < share
        low, high = (middle, high) if below else (low, middle)
    need(1.001e-3 < low < 0.999e3, "household_long", "no shape of the rates leads to this share")
    return low


def home_factor(share: ArrayLike) -> FloatArray:
    """How much more often one home is without power than its area, of a distribution of mean 1.

    Parameters
    ----------
    share : (n_draws,) array
        Share of homes with fewer outages than this one, between 0 and 1 [-].

    Returns
    -------
    (n_draws,) array
        Factor on the rate of the area [-].

    References
    ----------
    greenwood_yule1920 : gamma distribution of rates
    """
    below = np.asarray(share, dtype=np.float64)
    need(bool(np.all((below >= 0) & (below < 1))), "share", "it is not from 0 to below 1")
    return np.asarray(gammaincinv(mixing_shape(), below) / mixing_shape())
