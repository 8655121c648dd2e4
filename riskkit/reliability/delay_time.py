"""How often somebody should come: defects that can be seen for some time before they are failures.

Delay-time model: defects arise at random, lambda a year; each could be seen for a delay h before it
becomes a failure. A visit within that time finds it with some chance. The delay is Weibull, with
shape 1 exponential. For a part whose failure nobody sees either see `unrevealed`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammainc, lambertw

from riskkit.records import FloatArray, freeze_arrays, need
from riskkit.reliability.wear import weibull_scale_yr

__all__ = [
    "INTERVALS_YR",
    "CostCurve",
    "VisitCosts",
    "best_interval_yr",
    "cost_curve",
    "failure_share",
    "optimal_interval_yr",
    "saving_per_yr",
]

INTERVALS_YR = (0.5, 1.0, 2.0, 3.0, 4.0, np.inf)
"""Intervals that are compared; the last is never."""

_ENOUGH = 1e-13  # of the mean delay, where the sum over missed visits ends


@dataclass(frozen=True)
class VisitCosts:
    """What a visit, a repair at a visit and a failure cost, in one currency of one year.

    Parameters
    ----------
    visit : float
        One visit [money].
    repair : float or (n_draws,) array
        Mending a defect that a visit found [money].
    failure : float or (n_draws,) array
        A failure that was met: the repair, and the damage times its chance [money].
    """

    visit: float
    repair: FloatArray | float
    failure: FloatArray | float

    def __post_init__(self) -> None:
        freeze_arrays(self)
        least = min(np.min(self.visit), np.min(self.repair), np.min(self.failure))
        need(bool(least >= 0), "costs", "one is below zero", "give amounts of money")


@dataclass(frozen=True)
class CostCurve:
    """What comes of each interval between visits.

    Parameters
    ----------
    interval_yr : (n_intervals,) array
        Time between visits; infinite is never [yr].
    failures_per_yr : (n_intervals, n_draws) array
        Failures met between visits [1/yr].
    found_per_yr : (n_intervals, n_draws) array
        Defects found by visits before they fail [1/yr].
    cost_per_yr : (n_intervals, n_draws) array
        Visits, repairs and failures together [money/yr].
    """

    interval_yr: FloatArray
    failures_per_yr: FloatArray
    found_per_yr: FloatArray
    cost_per_yr: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def failure_share(
    interval_yr: ArrayLike,
    delay_mean_yr: ArrayLike,
    delay_shape: ArrayLike = 1.0,
    finds: ArrayLike = 1.0,
) -> FloatArray:
    """Share b(T) of the defects that become failures before a visit finds them.

    b = 1 - (r/T) sum_n (1-r)^(n-1) int_(n-1)T^nT R(h) dh, with R the survival of the delay and r
    the chance that a visit finds a defect. With r = 1 and exponential delay of mean m:
    b = 1 - (m/T)(1 - exp(-T/m)).

    Parameters
    ----------
    interval_yr : (n_draws,) array
        Time T between visits; infinite is never [yr].
    delay_mean_yr : (n_draws,) array
        Mean delay m [yr].
    delay_shape : (n_draws,) array
        Weibull shape of the delay [-].
    finds : (n_draws,) array
        Chance r that a visit finds a defect that is there [-].

    Returns
    -------
    (n_draws,) array
        Share that fails [-].

    Raises
    ------
    RangeError
        Where an interval or delay is not above zero or a chance is no share.

    References
    ----------
    christer_waller1984 : basic and imperfect inspection
    """
    every, mean, form, found = np.broadcast_arrays(
        *(np.asarray(each, float) for each in (interval_yr, delay_mean_yr, delay_shape, finds))
    )
    need(bool(np.all(every > 0)), "interval", "it is not above zero", "give years between visits")
    need(bool(np.all(mean > 0) and np.all(form > 0)), "delay", "mean and shape are above zero")
    need(bool(np.all((found >= 0) & (found <= 1))), "finds", "it is no share", "give 0 to 1")
    comes = np.isfinite(every) & (found > 0)
    step = np.where(comes, every, 1.0)
    scale, seen = weibull_scale_yr(mean, form), np.zeros(every.shape)
    before, weight, number = np.zeros(every.shape), np.where(comes, 1.0, 0.0), 1
    while np.any(weight * (1 - before) > _ENOUGH):
        until = gammainc(1 / form, (number * step / scale) ** form)  # share of the mean delay
        seen = seen + weight * (until - before)
        before, weight, number = until, weight * (1 - found), number + 1
    return np.asarray(np.where(comes, 1 - found * mean / step * seen, 1.0))


def cost_curve(
    defects_per_yr: ArrayLike,
    delay_mean_yr: ArrayLike,
    costs: VisitCosts,
    *,
    delay_shape: ArrayLike = 1.0,
    finds: ArrayLike = 1.0,
    interval_yr: ArrayLike = INTERVALS_YR,
) -> CostCurve:
    """Failures, finds and cost per year for several intervals between visits.

    Cost per year is c_v/T + lambda (b c_f + (1-b) c_r).

    Parameters
    ----------
    defects_per_yr : (n_draws,) array
        Rate lambda at which defects arise [1/yr].
    delay_mean_yr : (n_draws,) array
        Mean delay until a defect is a failure [yr].
    costs : VisitCosts
        Visit c_v, repair c_r and failure c_f.
    delay_shape : (n_draws,) array
        Weibull shape of the delay [-].
    finds : (n_draws,) array
        Chance that a visit finds a defect [-].
    interval_yr : (n_intervals,) array
        Times T between visits; infinite is never [yr].

    Returns
    -------
    CostCurve
        Row by row, over the draws.

    References
    ----------
    christer_waller1984 : expected consequence per unit time
    """
    every = np.atleast_1d(np.asarray(interval_yr, dtype=np.float64))
    rate = np.atleast_1d(np.asarray(defects_per_yr, dtype=np.float64))
    need(bool(np.all(rate >= 0)), "defects", "it is below zero", "give defects per year")
    share = failure_share(every[:, None], delay_mean_yr, delay_shape, finds)
    failures, found = rate * share, rate * (1 - share)
    cost = costs.visit / every[:, None] + failures * costs.failure + found * costs.repair
    return CostCurve(every, failures, found, cost)


def best_interval_yr(curve: CostCurve) -> float:
    """Interval of a curve that costs least on average over the draws; infinite is never.

    Where two cost the same, the longer one: nobody comes for nothing.

    Parameters
    ----------
    curve : CostCurve
        Of several intervals.

    Returns
    -------
    float
        Time between visits [yr].

    References
    ----------
    christer_waller1984 : least consequence per unit time
    """
    mean = curve.cost_per_yr.mean(axis=1)
    return float(curve.interval_yr[mean <= mean.min() * (1 + 1e-12)].max())


def saving_per_yr(curve: CostCurve) -> FloatArray:
    """What each interval saves against no visits at all; below zero where visits cost more.

    Parameters
    ----------
    curve : CostCurve
        Of several intervals.

    Returns
    -------
    (n_intervals, n_draws) array
        Saving [money/yr].

    Raises
    ------
    RangeError
        Where the curve has no row for never.

    References
    ----------
    christer_waller1984 : difference of two consequences per unit time
    """
    never = np.isinf(curve.interval_yr)
    need(bool(never.any()), "intervals", "never is not among them", "add an infinite interval")
    return curve.cost_per_yr[never][:1] - curve.cost_per_yr


def optimal_interval_yr(
    defects_per_yr: ArrayLike, delay_mean_yr: ArrayLike, costs: VisitCosts
) -> FloatArray:
    """Interval of least cost with exponential delay and visits that find all; infinite where none.

    The derivative of the cost is zero where 1 - (1+x) exp(-x) = q, with x = T/m and
    q = c_v / (lambda m (c_f - c_r)); so x = -1 - W(-1)((q-1)/e), the lower branch of the Lambert
    function. Where q is 1 or more, visits cost more than they save, however often.

    Parameters
    ----------
    defects_per_yr : (n_draws,) array
        Rate lambda of defects [1/yr].
    delay_mean_yr : (n_draws,) array
        Mean delay m [yr].
    costs : VisitCosts
        Visit c_v, repair c_r and failure c_f.

    Returns
    -------
    (n_draws,) array
        Time between visits [yr].

    References
    ----------
    christer_waller1984 : consequence per unit time, derived here
    corless1996 : lower branch
    """
    mean = np.asarray(delay_mean_yr, dtype=np.float64)
    gain = np.asarray(defects_per_yr) * mean * (np.asarray(costs.failure) - costs.repair)
    pays = gain > costs.visit
    q = np.where(pays, costs.visit / np.where(pays, gain, 1.0), 0.5)
    return np.asarray(np.where(pays, mean * (-1 - lambertw((q - 1) / math.e, -1).real), np.inf))
