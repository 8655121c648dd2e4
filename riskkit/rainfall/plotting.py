"""Where the observed maxima stand beside the fitted curve, and whether they could come from it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.frequency import fit_maxima, simulated_maxima
from riskkit.rainfall.lmoments import not_zero
from riskkit.records import FloatArray

__all__ = [
    "CUNNANE",
    "Fitness",
    "fitness",
    "plot_correlation",
    "plotting_position",
]

CUNNANE = 0.40  # cunnane1978


class Fitness(NamedTuple):
    """Correlation of the probability plot of each duration, and chance of a lower one [-]."""

    correlation: FloatArray
    p_value: FloatArray


def plotting_position(n: int, a: float = CUNNANE) -> FloatArray:
    """Probability of not being exceeded of each of n sorted values: (i - a) / (n + 1 - 2 a).

    With a = 0.40 (Cunnane) quantiles read from the plot are nearly unbiased for the distributions
    in use; a = 0.44 (Gringorten) is for Gumbel, 0 (Weibull) for the mean probability.

    Parameters
    ----------
    n : int
        How many values, 1 or more [-].
    a : float
        Constant of the formula, 0 to 0.5 [-].

    Returns
    -------
    (n,) array
        Probabilities, smallest value first [-].

    Raises
    ------
    RangeError
        Where n or a is out of range.

    References
    ----------
    cunnane1978 : abstract
    """
    if n < 1 or not 0.0 <= a <= 0.5:
        raise RangeError("plotting position", f"{n} values and a = {a:g} make no sense")
    return np.asarray((np.arange(1.0, n + 1.0) - a) / (n + 1 - 2 * a))


def plot_correlation(maxima_mm: FloatArray, shape: FloatArray, a: float = CUNNANE) -> FloatArray:
    """Correlation of sorted maxima with the quantiles of a GEV distribution at their positions.

    Location and scale do not matter, for they do not change a correlation.

    Parameters
    ----------
    maxima_mm : (..., n_years) array
        Annual maxima [mm].
    shape : array
        Shape, Hosking's sign, that broadcasts with the maxima but for the years [-].
    a : float
        Constant of the plotting position, 0 to 0.5 [-].

    Returns
    -------
    (...) array
        Correlation [-]; NaN where all maxima are equal.

    References
    ----------
    filliben1975 : probability plot correlation coefficient
    vogel1986 : for extreme values
    """
    x = np.sort(maxima_mm, axis=-1)
    x = x - x.mean(axis=-1, keepdims=True)
    k = not_zero(np.asarray(shape, dtype=np.float64))[..., None]
    y = -np.expm1(k * np.log(-np.log(plotting_position(x.shape[-1], a)))) / k
    y = y - y.mean(axis=-1, keepdims=True)
    size = np.sqrt((x**2).sum(axis=-1) * (y**2).sum(axis=-1))
    return np.asarray((x * y).sum(axis=-1) / np.where(size > 0, size, np.nan))


def fitness(maxima_mm: FloatArray, rng: np.random.Generator, n_resamples: int = 1000) -> Fitness:
    """Could the maxima of each duration come from the distribution that was fitted?

    The correlation of the probability plot, against those of as many simulated records of the same
    length from the fitted distribution, all durations together, fitted again in the same way.

    Parameters
    ----------
    maxima_mm : (n_durations, n_years) array
        Annual maxima [mm].
    rng : numpy.random.Generator
        Source of the random draws.
    n_resamples : int
        How many records are simulated [-].

    Returns
    -------
    Fitness
        Correlations and chances, (n_durations,) arrays [-].

    References
    ----------
    vogel1986 : test
    efron1993 : parametric bootstrap, chapter 6
    """
    fit = fit_maxima(maxima_mm)
    found = plot_correlation(maxima_mm, fit.shape)
    drawn = simulated_maxima(maxima_mm, fit.shape[..., None], rng, n_resamples)
    lower = plot_correlation(drawn, fit_maxima(drawn).shape) < found
    return Fitness(found, np.where(np.isnan(found), np.nan, lower.mean(axis=0)))
