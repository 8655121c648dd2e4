"""From annual maxima to depths by return period, in partial-duration terms.

A return period here counts storms: the depth of "10 years" is exceeded on average once in ten
years, in some years twice. Annual maxima count years; Langbein joins the two. In his terms a depth
that is exceeded once in T years on average is not exceeded by a year's maximum with probability
F = exp(-1/T).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.lmoments import (
    gev_from_lmoments,
    gev_quantile,
    gumbel_from_lmoments,
    gumbel_quantile,
    sample_lmoments,
)
from riskkit.records import DepthDurationFrequency, FloatArray, Series

__all__ = [
    "GEV_MIN_YEARS",
    "annual_return_period_yr",
    "bootstrap_limits_mm",
    "depth_by_return_period_mm",
    "monotone_depths_mm",
    "partial_return_period_yr",
    "to_partial_duration",
]

GEV_MIN_YEARS = 30
"""Years from which three parameters are fitted instead of two (judgement)."""


def annual_return_period_yr(partial_yr: FloatArray | float) -> FloatArray:
    """Return period among annual maxima of a partial-duration return period: 1/(1 - exp(-1/T)).

    Parameters
    ----------
    partial_yr : array or float
        Mean time between exceedances, above 0 [yr].

    Returns
    -------
    array
        Return period among annual maxima, above 1 [yr].

    Raises
    ------
    RangeError
        Where a return period is not positive.

    References
    ----------
    langbein1949 : relation of the two series
    """
    t = np.asarray(partial_yr, dtype=np.float64)
    if np.any(t <= 0):
        raise RangeError("return period", "it is not positive")
    return np.asarray(-1.0 / np.expm1(-1.0 / t))


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


def depth_by_return_period_mm(maxima_mm: FloatArray, return_period_yr: FloatArray) -> FloatArray:
    """Depths of partial-duration return periods from annual maxima.

    The distribution is the generalised extreme-value one by L-moments from `GEV_MIN_YEARS` years
    on, else Gumbel by L-moments: with few years a third parameter is mostly noise. A fitted shape
    above zero would put an upper bound on rain; a survey of more than 15,000 long daily records
    finds that such shapes come from short records and should not be used, so Gumbel stands there
    also.

    Parameters
    ----------
    maxima_mm : (..., n_years) array
        Annual maxima without gaps, at least five years [mm].
    return_period_yr : (n_periods,) array
        Partial-duration return periods [yr].

    Returns
    -------
    (..., n_periods) array
        Depths [mm].

    Raises
    ------
    RangeError
        Where there are fewer than five years.

    References
    ----------
    hosking1985 : eqs 14 and 16
    hosking1990 : Table 2
    langbein1949 : F = exp(-1/T)
    papalexiou2013 : conclusions on the shape
    """
    n = maxima_mm.shape[-1]
    if n < 5:
        raise RangeError("rain record", f"{n} complete years are too few", "give at least 5")
    moments = sample_lmoments(maxima_mm)
    probability = np.exp(-1.0 / np.asarray(return_period_yr, dtype=np.float64))
    gumbel = gumbel_from_lmoments(moments.l1[..., None], moments.l2[..., None])
    depth = gumbel_quantile(gumbel, probability)
    if n < GEV_MIN_YEARS:
        return depth
    # below 0.17 the shape is above zero and Gumbel stands in, so the exact value does not matter
    t3 = np.fmax(moments.t3, 0.0)[..., None]
    gev = gev_from_lmoments(moments.l1[..., None], moments.l2[..., None], t3)
    return np.where(gev.shape < 0, gev_quantile(gev, probability), depth)


def bootstrap_limits_mm(
    maxima_mm: FloatArray,
    return_period_yr: FloatArray,
    rng: np.random.Generator,
    n_resamples: int = 500,
) -> tuple[FloatArray, FloatArray]:
    """5 % and 95 % limits of the depths, by drawing the years again with replacement.

    The same years are drawn for every duration, so that a wet year stays wet in all of them.

    Parameters
    ----------
    maxima_mm : (n_durations, n_years) array
        Annual maxima [mm].
    return_period_yr : (n_periods,) array
        Partial-duration return periods [yr].
    rng : numpy.random.Generator
        Source of the random draws.
    n_resamples : int
        How often the years are drawn [-].

    Returns
    -------
    tuple of two (n_durations, n_periods) arrays
        Lower and upper limit [mm].

    References
    ----------
    efron1993 : percentile interval, chapter 13
    """
    n = maxima_mm.shape[-1]
    pick = rng.integers(0, n, size=(n_resamples, n))
    depths = depth_by_return_period_mm(maxima_mm[:, pick], return_period_yr)
    lower, upper = np.quantile(depths, (0.05, 0.95), axis=1)
    return lower, upper


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
