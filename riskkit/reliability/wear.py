"""Parts that wear out with age (Weibull)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gamma

from riskkit.records import FloatArray, need

__all__ = [
    "conditional_survival",
    "weibull_mean_yr",
    "weibull_scale_yr",
]


def _power(age_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike) -> FloatArray:
    """Cumulative hazard (t/eta)^beta."""
    age, form, scale = (np.asarray(each, dtype=np.float64) for each in (age_yr, shape, scale_yr))
    need(bool(np.all(age >= 0)), "age", "it is below zero", "give years since new")
    need(bool(np.all(form > 0) and np.all(scale > 0)), "Weibull", "shape and scale are above zero")
    return np.asarray((age / scale) ** form)


def weibull_mean_yr(shape: ArrayLike, scale_yr: ArrayLike) -> FloatArray:
    """Mean life of a new part, eta Gamma(1 + 1/beta).

    Parameters
    ----------
    shape : (n_draws,) array
        Shape beta [-].
    scale_yr : (n_draws,) array
        Scale eta [yr].

    Returns
    -------
    (n_draws,) array
        Mean life [yr].

    References
    ----------
    weibull1951 : the distribution
    montgomery_runger : example 4-25
    """
    return np.asarray(scale_yr) * gamma(1 + 1 / np.asarray(shape, dtype=np.float64))


def weibull_scale_yr(mean_yr: ArrayLike, shape: ArrayLike) -> FloatArray:
    """Scale of a Weibull distribution from the mean life of a new part.

    Parameters
    ----------
    mean_yr : (n_draws,) array
        Mean life [yr].
    shape : (n_draws,) array
        Shape beta [-].

    Returns
    -------
    (n_draws,) array
        Scale eta [yr].

    References
    ----------
    weibull1951 : the distribution
    """
    return np.asarray(mean_yr) / weibull_mean_yr(shape, 1.0)


def conditional_survival(
    age_yr: ArrayLike, further_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike
) -> FloatArray:
    """Share of the parts that work at an age which still work some years on, R(t+s)/R(t).

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age t now [yr].
    further_yr : (n_draws,) array
        Years s from now [yr].
    shape : (n_draws,) array
        Shape beta [-].
    scale_yr : (n_draws,) array
        Scale eta [yr].

    Returns
    -------
    (n_draws,) array
        Share that works then [-].

    References
    ----------
    rausand_hoyland2004 : conditional survivor function
    real_statistics : example 1
    """
    later = _power(np.asarray(age_yr) + np.asarray(further_yr), shape, scale_yr)
    return np.exp(_power(age_yr, shape, scale_yr) - later)
