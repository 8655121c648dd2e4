"""Faults that nobody sees until a test or water shows them: how long a part lies unfit on average.

A part that is seldom used (a second pump, the battery of an alarm) fails at some moment between two
tests and stays unfit until the next. The mean unavailability is the share of time that it is unfit,
and the chance that a storm at a random moment finds it so. After a test that finds the fault the
part is as good as new; test and repair take no time.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray, need

__all__ = [
    "demand_chance",
    "mean_unavailability",
    "mean_unavailability_first_order",
    "mean_unavailability_missed",
    "mean_unavailability_partial",
]

_SMALL = 1e-3  # below it the exact form loses digits to its first terms


def _unfit(x: FloatArray) -> FloatArray:
    """Evaluate 1 - (1 - exp(-x))/x, also where x is small or infinite."""
    small, large = np.minimum(x, _SMALL), np.maximum(x, _SMALL)
    series = small / 2 - small**2 / 6 + small**3 / 24 - small**4 / 120
    return np.asarray(np.where(x < _SMALL, series, 1 + np.expm1(-large) / large))


def _times(rate_per_yr: ArrayLike, interval_yr: ArrayLike) -> FloatArray:
    rate, interval = (
        np.asarray(rate_per_yr, dtype=np.float64),
        np.asarray(interval_yr, dtype=np.float64),
    )
    need(bool(np.all(rate >= 0)), "rate", "it is below zero", "give faults per year")
    need(bool(np.all(interval > 0)), "interval", "it is not above zero", "give years between tests")
    rate, interval = np.broadcast_arrays(rate, interval)
    never = np.where(rate > 0, np.inf, 0.0)  # a part that cannot fail needs no test
    finite = np.where(np.isinf(interval), 1.0, interval)
    return np.asarray(np.where(np.isinf(interval), never, rate * finite))


def mean_unavailability(rate_per_yr: ArrayLike, interval_yr: ArrayLike) -> FloatArray:
    """Share of time that a periodically tested part is unfit, 1 - (1 - exp(-x))/x, x = lambda tau.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Hidden faults lambda [1/yr].
    interval_yr : (n_draws,) array
        Time between tests tau; infinite where it is never tested [yr].

    Returns
    -------
    (n_draws,) array
        Mean unavailability [-].

    Raises
    ------
    RangeError
        Where a rate is negative or an interval not above zero.

    References
    ----------
    rausand_hoyland2004 : exact form for one part
    """
    return _unfit(_times(rate_per_yr, interval_yr))


def mean_unavailability_first_order(rate_per_yr: ArrayLike, interval_yr: ArrayLike) -> FloatArray:
    """First term of `mean_unavailability`, lambda tau / 2; too great by up to a third of itself.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Hidden faults lambda [1/yr].
    interval_yr : (n_draws,) array
        Time between tests tau; lambda tau below about 0.2 [yr].

    Returns
    -------
    (n_draws,) array
        Mean unavailability [-].

    References
    ----------
    iec61508_6 : annex B, one channel
    rausand_hoyland2004 : approximation for one part
    """
    return _times(rate_per_yr, interval_yr) / 2


def mean_unavailability_missed(
    rate_per_yr: ArrayLike,
    interval_yr: ArrayLike,
    finds: ArrayLike,
    shown_per_yr: ArrayLike = 0.0,
) -> FloatArray:
    """Share of time that a part is unfit where tests may miss a fault and use may show it.

    A fault that a test misses may be found by the next. Between tests the part fails at the rate a
    and a fault shows itself at the rate b, as when water rises and somebody sees that the pump does
    not start; then it is mended. With e = exp(-(a+b) tau) the share tends to u = a/(a+b), from
    p = (1-r) u (1-e)/(1-(1-r)e) at the start of an interval, and its mean over the interval is
    u + (p-u)(1-e)/((a+b) tau). With b = 0 nothing but a test finds a fault, so a part that nobody
    tests is lost in the end; with b above zero it is unfit for the share u of the time.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Hidden faults a [1/yr].
    interval_yr : (n_draws,) array
        Time between tests tau; infinite where nobody tests it [yr].
    finds : (n_draws,) array
        Chance r that a test finds a fault that is there [-].
    shown_per_yr : (n_draws,) array
        Times a year, at random, that use would show a fault and it would be mended b [1/yr].

    Returns
    -------
    (n_draws,) array
        Mean unavailability in the long run [-].

    Raises
    ------
    RangeError
        Where a number cannot be.

    References
    ----------
    rausand_hoyland2004 : part that is failed or fit, seen at the tests
    """
    fails, shown = np.asarray(rate_per_yr, float), np.asarray(shown_per_yr, float)
    need(bool(np.all(shown >= 0)), "uses", "there are fewer than none", "give times a year")
    x, found, tends = np.broadcast_arrays(
        _times(fails + shown, interval_yr),
        np.asarray(finds, dtype=np.float64),
        fails / np.where(fails + shown > 0, fails + shown, 1.0),
    )
    _times(fails, interval_yr)  # refuses a rate below zero that uses would hide
    need(bool(np.all((found >= 0) & (found <= 1))), "finds", "it is no share", "give 0 to 1")
    ends = -np.expm1(-x)  # how far the share has gone to where it tends
    turned = found + (1 - found) * ends  # zero only where nothing changes and nothing is found
    starts = (1 - found) * tends * ends / np.where(turned > 0, turned, 1.0)
    return np.asarray(tends + (starts - tends) * (1 - _unfit(x)))


def mean_unavailability_partial(
    rate_per_yr: ArrayLike, interval_yr: ArrayLike, covers: ArrayLike, intervals: int
) -> FloatArray:
    """Share of time that a part is unfit where tests see only some kinds of fault.

    A share c of the faults is found by every test, the rest only when the part is renewed after n
    intervals: (1-q^n)/(1-q) (1-exp(-lambda tau))/(n lambda tau) with q = exp(-(1-c) lambda tau) is
    the share of time that it is fit.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Hidden faults lambda of all kinds [1/yr].
    interval_yr : (n_draws,) array
        Time between tests tau [yr].
    covers : (n_draws,) array
        Share c of the faults that a test can see [-].
    intervals : int
        Intervals n until the part is renewed [-].

    Returns
    -------
    (n_draws,) array
        Mean unavailability until it is renewed [-].

    References
    ----------
    rausand_hoyland2004 : tests that cover a part of the faults
    """
    need(intervals >= 1, "intervals", "it is below one", "give tests until the part is renewed")
    x, seen = np.broadcast_arrays(
        _times(rate_per_yr, interval_yr), np.asarray(covers, dtype=np.float64)
    )
    need(bool(np.all((seen >= 0) & (seen <= 1))), "covers", "it is no share", "give 0 to 1")
    with np.errstate(invalid="ignore"):  # no unseen faults in endless time: zero times infinity
        left = np.where(seen < 1, np.exp(-(1 - seen) * x), 1.0)
    starts = sum((left**k for k in range(intervals)), np.zeros_like(x)) / intervals
    return np.asarray(1 - starts * (1 - _unfit(x)))


def demand_chance(on_demand: ArrayLike, unavailability: ArrayLike) -> FloatArray:
    """Chance that a part fails when called upon: unfit already, or failing at the call.

    Parameters
    ----------
    on_demand : (n_draws,) array
        Chance to fail at the call though fit [-].
    unavailability : (n_draws,) array
        Chance to be unfit when the call comes [-].

    Returns
    -------
    (n_draws,) array
        Chance [-].
    """
    return np.asarray(1 - (1 - np.asarray(on_demand)) * (1 - np.asarray(unavailability)))
