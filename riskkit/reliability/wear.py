"""Parts that wear out with age (Weibull) or fail without notice (exponential)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gamma, gammaincc

from riskkit.records import FloatArray, need

__all__ = [
    "conditional_survival",
    "exponential_survival",
    "failure_chance",
    "mean_residual_life_yr",
    "mean_unavailability_worn",
    "weibull_hazard_per_yr",
    "weibull_mean_yr",
    "weibull_scale_yr",
    "weibull_survival",
]

_LATE = 30.0  # cumulative hazard beyond which the closed form is 0 times infinity
_NODES, _WEIGHTS = np.polynomial.laguerre.laggauss(40)


def _power(age_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike) -> FloatArray:
    """Cumulative hazard (t/eta)^beta."""
    age, form, scale = (np.asarray(each, dtype=np.float64) for each in (age_yr, shape, scale_yr))
    need(bool(np.all(age >= 0)), "age", "it is below zero", "give years since new")
    need(bool(np.all(form > 0) and np.all(scale > 0)), "Weibull", "shape and scale are above zero")
    return np.asarray((age / scale) ** form)


def weibull_survival(age_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike) -> FloatArray:
    """Share of parts that still work at an age, R = exp(-(t/eta)^beta).

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age t [yr].
    shape : (n_draws,) array
        Shape beta; above 1 for parts that wear out [-].
    scale_yr : (n_draws,) array
        Scale eta, the age at which 63.2 % have failed [yr].

    Returns
    -------
    (n_draws,) array
        Share that works [-].

    Raises
    ------
    RangeError
        Where an age is negative, or shape or scale not above zero.

    References
    ----------
    weibull1951 : the distribution
    """
    return np.exp(-_power(age_yr, shape, scale_yr))


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


def weibull_hazard_per_yr(age_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike) -> FloatArray:
    """Rate at which parts of an age fail, (beta/eta)(t/eta)^(beta-1).

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age t, above zero where the shape is below 1 [yr].
    shape : (n_draws,) array
        Shape beta [-].
    scale_yr : (n_draws,) array
        Scale eta [yr].

    Returns
    -------
    (n_draws,) array
        Failures per part and year [1/yr].

    References
    ----------
    weibull1951 : the distribution
    """
    form, scale = np.asarray(shape, dtype=np.float64), np.asarray(scale_yr, dtype=np.float64)
    return form / scale * _power(age_yr, form, scale) ** ((form - 1) / form)


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


def mean_residual_life_yr(age_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike) -> FloatArray:
    """Years that a working part of an age has before it on average.

    With x = (t/eta)^beta: (eta/beta) Gamma(1/beta) Q(1/beta, x) exp(x), Q the regularised upper
    incomplete gamma function. Where x is great the same integral, (eta/beta) int (x+u)^(1/beta-1)
    exp(-u) du, is taken by Gauss and Laguerre.

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age t now [yr].
    shape : (n_draws,) array
        Shape beta [-].
    scale_yr : (n_draws,) array
        Scale eta [yr].

    Returns
    -------
    (n_draws,) array
        Mean residual life [yr].

    References
    ----------
    rausand_hoyland2004 : mean residual life
    """
    x, form, scale = np.broadcast_arrays(
        _power(age_yr, shape, scale_yr), np.asarray(shape, float), np.asarray(scale_yr, float)
    )
    early = np.minimum(x, _LATE)
    closed = gamma(1 / form) * gammaincc(1 / form, early) * np.exp(early)
    late = np.maximum(x, _LATE)[..., None] + _NODES
    summed = (late ** (1 / form - 1)[..., None] * _WEIGHTS).sum(axis=-1)
    return np.asarray(scale / form * np.where(x < _LATE, closed, summed))


def exponential_survival(rate_per_yr: ArrayLike, years: ArrayLike) -> FloatArray:
    """Share of parts without a sudden failure, exp(-lambda t), whatever their age.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Sudden failures lambda [1/yr].
    years : (n_draws,) array
        Time t [yr].

    Returns
    -------
    (n_draws,) array
        Share without failure [-].

    References
    ----------
    rausand_hoyland2004 : exponential distribution
    """
    rate = np.asarray(rate_per_yr, dtype=np.float64)
    need(bool(np.all(rate >= 0)), "rate", "it is below zero", "give failures per year")
    return np.asarray(np.exp(-rate * np.asarray(years)))


def failure_chance(
    age_yr: ArrayLike,
    further_yr: ArrayLike,
    shape: ArrayLike,
    scale_yr: ArrayLike,
    sudden_per_yr: ArrayLike = 0.0,
) -> FloatArray:
    """Chance that a part of an age fails within some years, by wear or suddenly.

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age now [yr].
    further_yr : (n_draws,) array
        Years from now [yr].
    shape : (n_draws,) array
        Shape of wear [-].
    scale_yr : (n_draws,) array
        Scale of wear [yr].
    sudden_per_yr : (n_draws,) array
        Sudden failures [1/yr].

    Returns
    -------
    (n_draws,) array
        Chance [-].

    References
    ----------
    rausand_hoyland2004 : two causes side by side, the earlier one counts
    """
    works = conditional_survival(age_yr, further_yr, shape, scale_yr)
    return 1 - works * exponential_survival(sudden_per_yr, further_yr)


def mean_unavailability_worn(
    age_yr: ArrayLike, interval_yr: ArrayLike, shape: ArrayLike, scale_yr: ArrayLike
) -> FloatArray:
    """Share of an interval for which a part that works at its start lies worn out and unseen.

    The mean of R(t+s)/R(t) over the interval is (m(t) - m(t+T) R(t+T)/R(t))/T, with m the mean
    residual life. With shape 1 it is `hidden.mean_unavailability`.

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age t at the last test [yr].
    interval_yr : (n_draws,) array
        Time T until the next test, finite [yr].
    shape : (n_draws,) array
        Shape beta [-].
    scale_yr : (n_draws,) array
        Scale eta [yr].

    Returns
    -------
    (n_draws,) array
        Mean unavailability until the next test [-].

    Raises
    ------
    RangeError
        Where the interval is not above zero and finite.

    References
    ----------
    rausand_hoyland2004 : mean residual life
    """
    every = np.asarray(interval_yr, dtype=np.float64)
    allowed = bool(np.all((every > 0) & np.isfinite(every)))
    need(allowed, "interval", "it is not above zero and finite", "give years until the next test")
    later = np.asarray(age_yr) + every
    holds = conditional_survival(age_yr, every, shape, scale_yr)
    after = holds * mean_residual_life_yr(later, shape, scale_yr)
    return np.asarray(1 - (mean_residual_life_yr(age_yr, shape, scale_yr) - after) / every)
