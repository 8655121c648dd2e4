"""From annual maxima to depths by return period, in partial-duration terms.

A return period here counts storms: the depth of "10 years" is exceeded on average once in ten
years, in some years twice. Annual maxima count years; Langbein joins the two. In his terms a depth
that is exceeded once in T years on average is not exceeded by a year's maximum with probability
F = exp(-1/T).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from functools import cache
from statistics import NormalDist

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.lmoments import (
    Gev,
    gev_quantile,
    gev_shape,
    gev_with_shape,
    not_zero,
    sample_lmoments,
)
from riskkit.records import DepthDurationFrequency, FloatArray, Series

__all__ = [
    "SHAPE_UNKNOWN",
    "depth_by_return_period_mm",
    "depth_limits_mm",
    "fit_maxima",
    "monotone_depths_mm",
    "partial_return_period_yr",
    "shrunk_shape",
    "simulated_maxima",
    "to_partial_duration",
]

# of the shapes of long daily records, Hosking's sign (papalexiou2013)
SHAPE_MEAN, SHAPE_SD = -0.114, 0.045
SHAPE_UNKNOWN = 0.075
"""Standard deviation of the true shape about the one used: 0.045 between places, and 0.06 for other
durations than the day and for the error of the estimate itself (judgement) [-]."""


def partial_return_period_yr(annual_yr: FloatArray | float) -> FloatArray:
    """Partial-duration return period of a return period among annual maxima: -1/ln(1 - 1/T).

    Parameters
    ----------
    annual_yr : array or float
        Return period among annual maxima, above 1 [yr].

    Returns
    -------
    array
        Mean time between exceedances [yr].

    Raises
    ------
    RangeError
        Where a return period is not above one year.

    References
    ----------
    langbein1949 : relation of the two series
    """
    t = np.asarray(annual_yr, dtype=np.float64)
    if np.any(t <= 1):
        raise RangeError("return period", "an annual-maximum return period is not above 1 year")
    return np.asarray(-1.0 / np.log1p(-1.0 / t))


def shrunk_shape(shape: FloatArray, n_years: int) -> FloatArray:
    r"""Shape of the distribution of annual maxima, shrunk towards that of the world's long records.

    A shape fitted to a few decades is mostly chance. In 15,137 daily records the mean :math:`\mu_n`
    and the standard deviation :math:`\sigma_n` of the fitted shape (here with Hosking's sign)
    change with the length n of the record, as

    .. math:: \mu_n = -0.114 + 0.69 n^{-0.98}, \quad \sigma_n = 0.045 + 1.27 n^{-0.70}

    so the true shapes lie about -0.114 with a standard deviation of 0.045. The estimate that has
    this mean and spread at every length is

    .. math:: \tilde k = -0.114 + (k - \mu_n) \, 0.045 / \sigma_n

    A shape above zero would put an upper bound on rain; the same survey finds that such shapes come
    from short records and should not be used, so zero, Gumbel, is the largest.

    Parameters
    ----------
    shape : (...) array
        Fitted shapes by L-moments, Hosking's sign [-].
    n_years : int
        Years that they rest on, 5 or more [yr].

    Returns
    -------
    (...) array
        Shapes to use, never above zero [-].

    References
    ----------
    papalexiou2013 : mean and spread of the shape by length of record; conclusions
    """
    spread = SHAPE_SD + 1.27 * n_years**-0.70
    mean = SHAPE_MEAN + 0.69 * n_years**-0.98
    return np.asarray(np.minimum(SHAPE_MEAN + (shape - mean) * SHAPE_SD / spread, 0.0))


def fit_maxima(maxima_mm: FloatArray) -> Gev:
    """Distribution of the annual maxima of each duration, one shape for all of them.

    Location and scale come from the first two L-moments of each duration. The shape comes from the
    mean L-skewness of all durations of the record, as in a region whose stations share one shape:
    neighbouring durations see much the same storms, and their skewness differs by chance. It is
    then shrunk towards that of the world's long records, see `shrunk_shape`. There is no length of
    record at which the method changes.

    Parameters
    ----------
    maxima_mm : (n_years,) or (..., n_durations, n_years) array
        Annual maxima without gaps, at least five years [mm].

    Returns
    -------
    Gev
        Location and scale [mm], and shape [-], (..., n_durations) arrays.

    Raises
    ------
    RangeError
        Where there are fewer than five years.

    References
    ----------
    hosking1990 : Table 2
    hosking_wallis1997 : regional average of L-moment ratios
    papalexiou2013 : shape
    """
    n = maxima_mm.shape[-1]
    if n < 5:
        raise RangeError("rain record", f"{n} complete years are too few", "give at least 5")
    moments = sample_lmoments(maxima_mm)
    t3 = np.nan_to_num(moments.t3)  # of maxima that are all equal nothing is known
    if maxima_mm.ndim > 1:
        t3 = t3.mean(axis=-1, keepdims=True)
    shape = shrunk_shape(gev_shape(np.clip(t3, -0.79, 0.89)), n)
    return gev_with_shape(moments.l1, moments.l2, shape)


def depth_by_return_period_mm(maxima_mm: FloatArray, return_period_yr: FloatArray) -> FloatArray:
    """Depths of partial-duration return periods from annual maxima, see `fit_maxima`.

    Parameters
    ----------
    maxima_mm : (n_years,) or (..., n_durations, n_years) array
        Annual maxima without gaps, at least five years [mm].
    return_period_yr : (n_periods,) array
        Partial-duration return periods [yr].

    Returns
    -------
    (..., n_periods) array
        Depths [mm].

    References
    ----------
    langbein1949 : F = exp(-1/T)
    hosking1985 : eq. 1
    """
    return _depths(fit_maxima(maxima_mm), return_period_yr)


def _depths(fit: Gev, return_period_yr: FloatArray) -> FloatArray:
    probability = np.exp(-1.0 / np.asarray(return_period_yr, dtype=np.float64))
    return gev_quantile(Gev(*(part[..., None] for part in fit)), probability)


def depth_limits_mm(
    maxima_mm: FloatArray,
    return_period_yr: FloatArray,
    rng: np.random.Generator,
    n_resamples: int = 1000,
) -> tuple[FloatArray, FloatArray]:
    """5 % and 95 % limits of the depths, by simulating records like this one.

    Records of the same length are drawn from a distribution of known shape and fitted in the same
    way. How far a fitted depth lies from the true one, in units of the fitted scale, does not
    depend on the true location and scale (a pivot); its 5 % and 95 % points, set about the depth
    found, give the limits. The true shape of each simulated record is drawn too, with a standard
    deviation of `SHAPE_UNKNOWN` about the one fitted. Durations are drawn together, by a normal
    copula with the rank correlation of the record.

    Simulated for records of 25, 40 and 60 years with true shapes from 0 to -0.15, the limits hold
    the true depth of 10 and 100 years in 85 to 95 of 100 records (tests/speed/study_limits.py).

    Parameters
    ----------
    maxima_mm : (n_durations, n_years) array
        Annual maxima [mm].
    return_period_yr : (n_periods,) array
        Partial-duration return periods [yr].
    rng : numpy.random.Generator
        Source of the random draws.
    n_resamples : int
        How many records are simulated [-].

    Returns
    -------
    tuple of two (n_durations, n_periods) arrays
        Lower and upper limit [mm].

    References
    ----------
    efron1993 : parametric bootstrap, chapter 6; bootstrap-t interval, chapter 12
    papalexiou2013 : spread of the true shape between places
    judgement : the rest of SHAPE_UNKNOWN
    """
    fit = fit_maxima(maxima_mm)
    shape = rng.normal(fit.shape[0], SHAPE_UNKNOWN, size=(n_resamples, 1, 1))
    shape = np.clip(shape, -0.45, 0.25)  # five times SHAPE_UNKNOWN off the mean
    again = fit_maxima(simulated_maxima(maxima_mm, shape, rng, n_resamples))
    period = np.asarray(return_period_yr, dtype=np.float64)
    error = _depths(again, period) - _standard_gev(np.log(period), shape)
    low, high = np.quantile(error / again.scale[..., None], (0.05, 0.95), axis=0)
    depth = _depths(fit, period)
    lower = depth - high * fit.scale[:, None]
    # what every year of the record had is hardly more than the commonest storm brings
    floor = np.maximum(maxima_mm.min(axis=1, keepdims=True), 0.01 * np.abs(depth))
    return np.maximum(lower, np.minimum(floor, depth)), depth - low * fit.scale[:, None]


def simulated_maxima(
    maxima_mm: FloatArray, shape: FloatArray, rng: np.random.Generator, n: int
) -> FloatArray:
    """Simulate records of the same length, whose durations go together as those of the record.

    Parameters
    ----------
    maxima_mm : (n_durations, n_years) array
        Annual maxima; of them only the ranks count [mm].
    shape : array
        True shape, Hosking's sign, that broadcasts with the result [-].
    rng : numpy.random.Generator
        Source of the random draws.
    n : int
        How many records [-].

    Returns
    -------
    (n, n_durations, n_years) array
        Annual maxima of location 0 and scale 1 [-].

    References
    ----------
    efron1993 : parametric bootstrap, chapter 6
    judgement : a normal copula with the rank correlation of the record
    """
    return _standard_gev(_reduced_variates(maxima_mm, rng, n), shape)


def _standard_gev(reduced: FloatArray, shape: FloatArray) -> FloatArray:
    """Values of location 0 and scale 1 for Gumbel's reduced variate."""
    k = not_zero(shape)
    return np.asarray(-np.expm1(-k * reduced) / k)


def _reduced_variates(maxima: FloatArray, rng: np.random.Generator, n: int) -> FloatArray:
    """Gumbel's reduced variates, (n, n_durations, n_years), correlated as the durations are."""
    years = maxima.shape[1]
    scores = np.array([NormalDist().inv_cdf((i + 0.5) / years) for i in range(years)])
    ranked = np.array([_shared_scores(row, scores) for row in maxima])
    length = np.sqrt((ranked**2).sum(axis=1, keepdims=True))
    ranked = ranked / np.where(length > 0, length, 1.0)  # all tied: goes with nothing
    together = ranked @ ranked.T
    np.fill_diagonal(together, 1.0)
    size, axes = np.linalg.eigh(together)
    mix = axes * np.sqrt(np.maximum(size, 0.0))
    normal = mix @ rng.standard_normal((n, maxima.shape[0], years))
    score, reduced = _reduced_of_normal()
    return np.asarray(np.interp(normal, score, reduced))


def _shared_scores(maxima: FloatArray, scores: FloatArray) -> FloatArray:
    """Scores of values by their ranks; what is tied shares the mean of its scores.

    By their places in the row ties would be ordered by years, in all durations alike, and a gauge
    of coarse steps would make durations seem to go together more than they do.
    """
    _, place, count = np.unique(maxima, return_inverse=True, return_counts=True)
    ranks = np.argsort(np.argsort(maxima))
    shared: FloatArray = (np.bincount(place, weights=scores[ranks]) / count)[place]
    return shared


@cache
def _reduced_of_normal() -> tuple[FloatArray, FloatArray]:
    """-ln(-ln F) by the normal score of F, finely enough for lines between: off by 1e-5."""
    score = np.linspace(-8.0, 8.0, 3201)
    rest = [0.5 * math.erfc(abs(z) / math.sqrt(2.0)) for z in score]
    log_f = [math.log1p(-p) if z > 0 else math.log(p) for z, p in zip(score, rest, strict=True)]
    return score, -np.log(-np.array(log_f))


def monotone_depths_mm(depth_mm: FloatArray) -> tuple[FloatArray, int]:
    """Depths raised where a longer duration or a rarer storm had less rain, and how many.

    Each cell takes the largest depth of the cells with no longer duration and no longer return
    period. Depths are only raised, never lowered.

    Parameters
    ----------
    depth_mm : (n_durations, n_periods) array
        Depths, durations and return periods increasing [mm].

    Returns
    -------
    tuple of (n_durations, n_periods) array and int
        Depths that do not fall along either axis [mm]; number of cells that were raised [-].

    References
    ----------
    arithmetic : running maximum
    """
    raised = np.maximum.accumulate(np.maximum.accumulate(depth_mm, axis=0), axis=1)
    return raised, int(np.sum(raised > depth_mm + 1e-9))


def to_partial_duration(
    table: DepthDurationFrequency, return_period_yr: Sequence[float] | None = None
) -> DepthDurationFrequency:
    """Turn a table of annual maxima into partial-duration terms.

    An annual-maximum return period T is a partial-duration one of -1/ln(1 - 1/T); between, depth is
    linear in ln of it, which is exact for a Gumbel table. The straight line is carried on to 1 year
    below the table, and above it by the half year that lies between the two ways of counting, and
    no farther; the notes say where.

    Parameters
    ----------
    table : DepthDurationFrequency
        The table; one that is in partial-duration terms already comes back as it is.
    return_period_yr : sequence of float, optional
        Partial-duration return periods wanted, by default those of the table [yr].

    Returns
    -------
    DepthDurationFrequency
        The table in partial-duration terms.

    Raises
    ------
    RangeError
        Where a return period lies beyond the table, or a depth would not be positive.

    References
    ----------
    langbein1949 : relation of the two series
    """
    if table.series is Series.PARTIAL_DURATION:
        return table
    wanted = np.asarray(
        table.return_period_yr if return_period_yr is None else return_period_yr, dtype=np.float64
    )
    known = partial_return_period_yr(table.return_period_yr)
    if wanted[0] < min(1.0, known[0]) - 1e-9 or wanted[-1] > table.return_period_yr[-1]:
        raise RangeError(
            "rain table",
            f"return periods {wanted[0]:g} to {wanted[-1]:g} yr are beyond the table",
            f"ask for {min(1.0, float(known[0])):.3g} to {table.return_period_yr[-1]:g} yr",
        )
    x, to = np.log(known), np.log(wanted)
    below = np.clip(np.searchsorted(x, to, side="right") - 1, 0, x.size - 2)
    share = (to - x[below]) / (x[below + 1] - x[below])

    def interpolate(values: FloatArray) -> FloatArray:
        left = values[:, below]
        return monotone_depths_mm(left + (values[:, below + 1] - left) * share)[0]

    notes = ["Annual-maximum depths were turned into partial-duration ones (Langbein)."]
    if wanted[0] < known[0]:
        notes.append(
            f"Depths below {known[0]:.2f} years carry on the straight line of the table's "
            "commonest two return periods."
        )
    return dataclasses.replace(
        table,
        return_period_yr=wanted,
        depth_mm=interpolate(table.depth_mm),
        lower_mm=None if table.lower_mm is None else interpolate(table.lower_mm),
        upper_mm=None if table.upper_mm is None else interpolate(table.upper_mm),
        series=Series.PARTIAL_DURATION,
        notes=(*table.notes, *notes),
    )
