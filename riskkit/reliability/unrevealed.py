"""A part whose defect and whose failure nobody sees until a visit: three states, sound to failed.

A pump that fails in dry weather tells nobody. A visit may find the defect before, or the failure
after, and either with some chance only. Times are exponential.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import exprel

from riskkit.records import FloatArray

__all__ = ["reliability_between_visits", "unrevealed_unavailability"]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)


def reliability_between_visits(
    defects_per_yr: ArrayLike, delay_mean_yr: ArrayLike, years: ArrayLike
) -> FloatArray:
    """Chance that one part, sound now, has not failed after some years without a visit.

    Exponential time to the defect (rate a) and delay (rate b = 1/m):
    exp(-a t) + a (exp(-b t) - exp(-a t))/(a - b).

    Parameters
    ----------
    defects_per_yr : (n_draws,) array
        Rate a of the defect [1/yr].
    delay_mean_yr : (n_draws,) array
        Mean delay m [yr].
    years : (n_draws,) array
        Time t since the last visit [yr].

    Returns
    -------
    (n_draws,) array
        Chance [-].

    References
    ----------
    cerone1990 : reliability of one unit with exponential densities
    """
    time = np.asarray(years, dtype=np.float64)
    onset, fails = np.asarray(defects_per_yr) * time, time / np.asarray(delay_mean_yr)
    slower = np.exp(-np.minimum(onset, fails)) * exprel(-np.abs(onset - fails))
    return np.asarray(np.exp(-onset) + onset * slower)


def unrevealed_unavailability(
    defects_per_yr: ArrayLike,
    delay_mean_yr: ArrayLike,
    interval_yr: ArrayLike,
    finds_defect: ArrayLike = 1.0,
    finds_failure: ArrayLike = 1.0,
) -> FloatArray:
    """Share of time that one part has failed unseen, where visits mend defects and failures.

    A chain of three states (sound, defective, failed) with exponential times; a visit that finds a
    defect or a failure makes the part sound. The long run is the stationary state at the visits.

    Parameters
    ----------
    defects_per_yr : (n_draws,) array
        Rate of the defect [1/yr].
    delay_mean_yr : (n_draws,) array
        Mean delay [yr].
    interval_yr : (n_draws,) array
        Time between visits; infinite is never [yr].
    finds_defect : (n_draws,) array
        Chance that a visit finds a defect [-].
    finds_failure : (n_draws,) array
        Chance that a visit finds a failure [-].

    Returns
    -------
    (n_draws,) array
        Mean unavailability [-].

    References
    ----------
    cavalcante2019 : the three states and what a visit may miss
    """
    rate, mean, every, mends, renews = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(each, float))
            for each in (defects_per_yr, delay_mean_yr, interval_yr, finds_defect, finds_failure)
        )
    )
    comes = np.isfinite(every) & (renews > 0) & (rate > 0)
    step = np.where(comes, every, 1.0)
    sound, whole = np.exp(-rate * step), reliability_between_visits(rate, mean, step)
    holds = np.exp(-step / mean)
    moved = np.zeros((*rate.shape, 3, 3))  # from state to state over an interval and a visit
    moved[..., 0, 1], moved[..., 0, 2] = (whole - sound) * (1 - mends), (1 - whole) * (1 - renews)
    moved[..., 1, 1], moved[..., 1, 2] = holds * (1 - mends), (1 - holds) * (1 - renews)
    moved[..., 2, 2] = 1 - renews
    moved[..., 0] = 1 - moved.sum(axis=-1)
    balance = np.swapaxes(moved, -1, -2) - np.eye(3)
    balance[..., 0, :] = 1.0  # the three shares add up to one
    balance = np.where(comes[..., None, None], balance, np.eye(3))
    starts = np.linalg.solve(balance, np.broadcast_to([[1.0], [0.0], [0.0]], (*rate.shape, 3, 1)))
    times = step[..., None] * (1 + _NODES) / 2
    sound_fit = reliability_between_visits(rate[..., None], mean[..., None], times)
    weak_fit = np.exp(-times / mean[..., None])
    fit = np.stack([sound_fit @ _WEIGHTS, weak_fit @ _WEIGHTS, np.zeros_like(rate)], axis=-1) / 2
    unfit = 1 - (starts[..., 0] * fit).sum(axis=-1)
    never = np.where(rate > 0, 1.0, 0.0)
    return np.asarray(np.where(comes, unfit, never))
