"""The lot as land drained from one side: the foundation drain is half of a pair of field drains.

Water that infiltrates on the lot raises the water table between the wall and the divide, half-way
to the next drain; it falls again for days::

        wall                                 divide
         │      ______-------------------------│
         │ __---                               │
     ────o────── invert of the drain           │      mu dh/dt = K D d2h/dx2 + R
         │<------------- L ------------------->│

With the level at the wall as boundary the discharge is that of linear reservoirs side by side
(Kraijenhoff van de Leur; Maasland), the n-th of which takes 8/(pi n)^2 of the recharge and empties
with the time constant j/n^2, n = 1, 3, 5, ...; j is the reservoir coefficient. A rise dh of the
level at the wall acts as a recharge of -mu dh.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.records import FloatArray

__all__ = [
    "N_RESERVOIRS",
    "reservoir_coefficient_s",
    "reservoir_shares",
    "reservoir_times_s",
]

# The fifth takes 1 % of the recharge and empties in j/81: what no reservoir takes passes at once.
N_RESERVOIRS = 4


def _odd(n: int) -> FloatArray:
    return 2.0 * np.arange(n, dtype=np.float64) + 1.0


def reservoir_coefficient_s(
    drainable_porosity: ArrayLike,
    half_distance_m: ArrayLike,
    k_m_s: ArrayLike,
    thickness_m: ArrayLike,
) -> FloatArray:
    """Reservoir coefficient j = mu (2L)^2 / (pi^2 K D), the inverse of the reaction factor.

    Parameters
    ----------
    drainable_porosity : float or (n_draws,) array
        Share of the ground that drains by gravity, mu, above zero [-].
    half_distance_m : float or (n_draws,) array
        From the wall to the divide, L, half of the spacing of a pair of drains, above zero [m].
    k_m_s : float or (n_draws,) array
        Saturated conductivity of the ground K, above zero [m/s].
    thickness_m : float or (n_draws,) array
        Thickness of the layer that carries the flow, D: Hooghoudt's equivalent depth below the
        drain and half of the water table above it, above zero [m].

    Returns
    -------
    (n_draws,) array
        Time in which the slowest reservoir falls to a third (1/e) [s].

    Raises
    ------
    RangeError
        Where a value is not above zero.

    References
    ----------
    kraijenhoff1958 : reservoir coefficient
    ritzema1994 : section 8.4, reaction factor
    """
    mu, half, k, thick = (
        np.asarray(v, float) for v in (drainable_porosity, half_distance_m, k_m_s, thickness_m)
    )
    for name, value in (("mu", mu), ("L", half), ("K", k), ("D", thick)):
        if not np.all(value > 0):
            raise RangeError(name, "a value is not above zero")
    return np.asarray(mu * (2.0 * half) ** 2 / (np.pi**2 * k * thick))


def reservoir_shares(n: int = N_RESERVOIRS) -> FloatArray:
    """Share of the recharge that each reservoir takes: 8 / (pi n)^2, n = 1, 3, 5, ...

    Parameters
    ----------
    n : int
        How many reservoirs [-].

    Returns
    -------
    (n,) array
        Shares, together less than 1; the rest passes at once [-].

    References
    ----------
    kraijenhoff1958 : series of the discharge
    """
    return np.asarray(8.0 / (np.pi * _odd(n)) ** 2)


def reservoir_times_s(coefficient_s: ArrayLike, n: int = N_RESERVOIRS) -> FloatArray:
    """Time constant of each reservoir: j / n^2, n = 1, 3, 5, ...

    Parameters
    ----------
    coefficient_s : (n_draws,) array
        Reservoir coefficient [s].
    n : int
        How many reservoirs [-].

    Returns
    -------
    (n_draws, n) array
        Time constants [s].

    References
    ----------
    kraijenhoff1958 : series of the discharge
    """
    j = np.atleast_1d(np.asarray(coefficient_s, float))
    return np.asarray(j[:, None] / _odd(n) ** 2)
