"""A second way to rare depths: independent peaks above a threshold, beside annual maxima.

A year with three large storms gives annual maxima only one of them. The partial-duration series
takes them all; its excesses above a high threshold follow a generalised Pareto distribution. Where
both ways agree, the answer does not hang on the method.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.lmoments import not_zero, sample_lmoments
from riskkit.rainfall.maxima import (
    RunningSums,
    counted_years,
    running_sums,
    whole_intervals,
    window_sums,
)
from riskkit.records import FloatArray, IntArray, RainRecord

__all__ = [
    "GeneralisedPareto",
    "PeakSeries",
    "independent_peaks",
    "pareto_depth_mm",
    "pareto_quantile",
]

PEAKS_PER_YEAR = 2.5  # two to three a year: enough to fit, rare enough to be extremes
APART_H = 6.0  # dry time that parts storms


class GeneralisedPareto(NamedTuple):
    """Threshold, scale and shape (Hosking's sign) of a generalised Pareto distribution."""

    threshold: FloatArray
    scale: FloatArray
    shape: FloatArray


class PeakSeries(NamedTuple):
    """Peaks [mm], largest first; the threshold that all exceed [mm]; the years looked at [yr]."""

    depth_mm: FloatArray
    threshold_mm: float
    years: float


def pareto_quantile(fit: GeneralisedPareto, probability: FloatArray | float) -> FloatArray:
    """Quantile of a generalised Pareto distribution: threshold + scale (1 - (1 - F)^k) / k.

    Parameters
    ----------
    fit : GeneralisedPareto
        The distribution, arrays that broadcast with the probability.
    probability : array or float
        Probability of not being exceeded F, from 0 to below 1 [-].

    Returns
    -------
    array
        The quantile in the unit of the threshold [any].

    References
    ----------
    hosking_wallis1987 : eq. 1
    """
    k = not_zero(np.asarray(fit.shape, dtype=np.float64))
    log_rest = np.log1p(-np.asarray(probability, dtype=np.float64))
    return np.asarray(fit.threshold - fit.scale * np.expm1(k * log_rest) / k)


def pareto_depth_mm(peaks: PeakSeries, return_period_yr: FloatArray) -> FloatArray:
    """Depths that are exceeded once in T years on average, from peaks above a threshold.

    With λ peaks a year, F = 1 - 1 / (λ T). The threshold is known, so two L-moments of the excess e
    do: k = mean(e) / l2(e) - 2, scale = (1 + k) mean(e).

    Parameters
    ----------
    peaks : PeakSeries
        Independent peaks and their threshold.
    return_period_yr : (n_periods,) array
        Partial-duration return periods, each above the mean time between peaks [yr].

    Returns
    -------
    (n_periods,) array
        Depths [mm].

    Raises
    ------
    RangeError
        Where a return period is not above the mean time between peaks, or the peaks are too few
        or all equal.

    References
    ----------
    hosking_wallis1987 : probability-weighted moments, threshold known
    """
    rate = peaks.depth_mm.size / peaks.years
    periods = np.asarray(return_period_yr, dtype=np.float64)
    if np.any(rate * periods <= 1.0):
        raise RangeError("peaks", f"with {rate:.2g} a year, {periods.min():g} yr is too common")
    moments = sample_lmoments(peaks.depth_mm - peaks.threshold_mm)
    if not np.isfinite(moments.t3):
        raise RangeError("peaks", "they are all equal")
    k = moments.l1 / moments.l2 - 2.0
    fit = GeneralisedPareto(np.asarray(peaks.threshold_mm), (1.0 + k) * moments.l1, k)
    return pareto_quantile(fit, 1.0 - 1.0 / (rate * periods))


def independent_peaks(
    record: RainRecord,
    duration_h: float,
    per_year: float = PEAKS_PER_YEAR,
    apart_h: float = APART_H,
    min_known_share: float = 0.8,
    sums: RunningSums | None = None,
) -> PeakSeries:
    """Largest depths of a duration whose windows lie apart by some hours.

    The largest window is taken, then the next largest that begins at least `apart_h` after every
    taken one ends or ends as long before it begins, and so on, until there are `per_year` of them
    a year; the next one is the threshold. Only years known well enough count, as for annual maxima.

    Parameters
    ----------
    record : RainRecord
        The record.
    duration_h : float
        Duration, a multiple of the record's interval [h].
    per_year : float
        Peaks a year, 1 to 5 [1/yr].
    apart_h : float
        Least time between two windows [h].
    min_known_share : float
        Share of a year that must be known, 0 to 1 [-].
    sums : RunningSums, optional
        Running sums of the record, where they are at hand.

    Returns
    -------
    PeakSeries
        The peaks; fewer than asked where it rained on fewer occasions.

    Raises
    ------
    RangeError
        Where `per_year` is out of range, no year counts, or there are fewer than ten peaks.

    References
    ----------
    langbein1949 : the partial-duration series
    common_practice : storms apart by six dry hours; two to three peaks a year
    """
    if not 1.0 <= per_year <= 5.0:
        raise RangeError("peaks", f"{per_year:g} a year is outside 1 to 5")
    n = whole_intervals(duration_h, record.interval_s)
    years = counted_years(record, min_known_share)
    of_interval = np.repeat(years.counts, np.diff(np.append(years.first, record.depth_mm.size)))
    total = np.where(of_interval, window_sums(sums or running_sums(record), n)[0], 0.0)
    wanted = round(per_year * years.n_counted) + 1
    # all windows are n long, so ends that lie n + gap apart leave the gap between the windows
    reach = n + int(np.ceil(apart_h * 3600.0 / record.interval_s - 1e-9))
    free = np.ones(total.size, dtype=np.bool_)
    taken: list[float] = []
    for end in _largest_first(total, wanted * 2 * reach):
        if total[end] <= 0 or len(taken) == wanted:
            break
        if free[end]:
            taken.append(float(total[end]))
            free[max(0, end - reach + 1) : end + reach] = False
    if len(taken) < 11:
        raise RangeError("peaks", f"there are only {len(taken)} wet times apart from each other")
    return PeakSeries(np.array(taken[:-1]), taken[-1], float(years.n_counted))


def _largest_first(total: FloatArray, enough: int) -> IntArray:
    """Places from the largest on, at least so many of them; of equal ones the earlier first.

    A peak that is taken forbids fewer than twice `reach` others, so that not all have to be sorted.
    """
    tenth = total[::10]  # tells about how large they are, at a tenth of the cost
    rank = min(max(enough // 5, 1), tenth.size)
    least = float(np.partition(tenth, tenth.size - rank)[tenth.size - rank])
    large = np.flatnonzero((total >= least) & (total > 0))
    if large.size < enough:
        large = np.flatnonzero(total > 0)
    return large[np.argsort(-total[large], kind="stable")]
