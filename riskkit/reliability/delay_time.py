"""How often somebody should come: defects that can be seen for some time before they are failures.

Delay-time model: defects arise at random, lambda a year; each could be seen for a delay h before it
becomes a failure. A visit within that time finds it with some chance. The delay is Weibull, with
shape 1 exponential.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammainc

from riskkit.records import FloatArray, need
from riskkit.reliability.wear import weibull_scale_yr

__all__ = [
    "INTERVALS_YR",
    "failure_share",
]

INTERVALS_YR = (0.5, 1.0, 2.0, 3.0, 4.0, np.inf)
"""Intervals that are compared; the last is never."""

_ENOUGH = 1e-13  # of the mean delay, where the sum over missed visits ends


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
    need(bool(np.all((found >= 0) & (found <= 1))), "finds", "it is not a share", "give 0 to 1")
    comes = np.isfinite(every) & (found > 0)
    step = np.where(comes, every, 1.0)
    scale, seen = weibull_scale_yr(mean, form), np.zeros(every.shape)
    before, weight, number = np.zeros(every.shape), np.where(comes, 1.0, 0.0), 1
    while np.any(weight * (1 - before) > _ENOUGH):
        until = gammainc(1 / form, (number * step / scale) ** form)  # share of the mean delay
        seen = seen + weight * (until - before)
        before, weight, number = until, weight * (1 - found), number + 1
    return np.asarray(np.where(comes, 1 - found * mean / step * seen, 1.0))
