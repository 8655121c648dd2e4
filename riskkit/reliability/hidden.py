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
    "mean_unavailability_missed",
    "unavailability_since",
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
    x, starts, tends = _course(rate_per_yr, interval_yr, finds, shown_per_yr)
    return np.asarray(starts + (tends - starts) * _unfit(x))


def unavailability_since(
    rate_per_yr: ArrayLike,
    interval_yr: ArrayLike,
    finds: ArrayLike,
    shown_per_yr: ArrayLike = 0.0,
    *,
    share: float,
) -> FloatArray:
    """Chance that a part is unfit when a share of the time from one test to the next has gone.

    Of `mean_unavailability_missed`, before the mean is taken: u + (p-u) exp(-(a+b) tau s). Two
    parts of one test are likely unfit at the same times: the mean of the product is greater than
    the product of the means, for small a tau (a tau)^2/3 where that would be (a tau)^2/4.

    Parameters
    ----------
    rate_per_yr, interval_yr, finds, shown_per_yr : (n_draws,) arrays
        As for `mean_unavailability_missed` [1/yr], [yr], [-], [1/yr].
    share : float
        Of the time between two tests, s, above 0 to 1 [-].

    Returns
    -------
    (n_draws,) array
        Unavailability in the long run at that time after a test [-].

    Raises
    ------
    RangeError
        Where a number cannot be.

    References
    ----------
    rausand_hoyland2004 : unavailability through a test interval
    iso_tr_12489 : parts tested at the same time are unavailable together
    """
    need(0 < share <= 1, "share", "it is not a share of the time", "give above 0, at most 1")
    x, starts, tends = _course(rate_per_yr, interval_yr, finds, shown_per_yr)
    return np.asarray(tends + (starts - tends) * np.exp(-share * x))


def _course(
    rate_per_yr: ArrayLike, interval_yr: ArrayLike, finds: ArrayLike, shown_per_yr: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Faults and shows in an interval, how unfit a part is at its start, and where that tends."""
    fails, shown = np.asarray(rate_per_yr, float), np.asarray(shown_per_yr, float)
    need(bool(np.all(shown >= 0)), "uses", "there are fewer than none", "give times a year")
    x, found, tends = np.broadcast_arrays(
        _times(fails + shown, interval_yr),
        np.asarray(finds, dtype=np.float64),
        fails / np.where(fails + shown > 0, fails + shown, 1.0),
    )
    _times(fails, interval_yr)  # refuses a rate below zero that uses would hide
    need(bool(np.all((found >= 0) & (found <= 1))), "finds", "it is not a share", "give 0 to 1")
    ends = -np.expm1(-x)  # how far the share has gone to where it tends
    turned = found + (1 - found) * ends  # zero only where nothing changes and nothing is found
    starts = (1 - found) * tends * ends / np.where(turned > 0, turned, 1.0)
    return x, np.asarray(starts), tends


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
