"""Steady ground-water flow to the drain along the foundation.

Water comes from the land side only. ``H`` is the undisturbed water table and ``h`` the level in the
drain, both above the base of the drain::

    Q = P K ((H^2 - h^2) / 2 + d (H - h)) / R
          above the drain    below it         from an upright plane at distance R

As the level rises after a pump has failed, this inflow falls, and ends where h = H.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.records import FloatArray

__all__ = [
    "hooghoudt_equivalent_depth_m",
    "one_sided_m3_s",
    "sichardt_reach_m",
]


def sichardt_reach_m(
    drawdown_m: ArrayLike, k_m_s: ArrayLike, low_m: float = 3.0, high_m: float = 60.0
) -> FloatArray:
    """Distance to which a drawdown reaches: R = 3000 s sqrt(K), within bounds.

    Lower bound 3 m: the rule gives less than a metre in clay, which would put the undisturbed
    water table inside the excavation (0.6 to 1.2 m of backfill); about the depth of a basement is
    the least over which a water table can bend. Upper bound 60 m: beyond about a block, drains,
    sewers and cellars of neighbours hold the water table.

    Take the drawdown to the base of the drain and keep R while the level rises: the cone took days
    to form and does not follow a level that rises within the hour. (With s = H - h the rule would
    make seepage *grow* with the level.)

    Parameters
    ----------
    drawdown_m : float or (n_draws,) array
        Undisturbed water table above the base of the drain; below zero counts as zero [m].
    k_m_s : float or (n_draws,) array
        Conductivity of the native soil [m/s].
    low_m : float
        Least reach [m].
    high_m : float
        Largest reach [m].

    Returns
    -------
    (n_draws,) array
        Reach [m].

    Raises
    ------
    RangeError
        Where the bounds are not in order and above zero, or a conductivity is negative.

    References
    ----------
    kyrieleis_sichardt1930 : empirical reach, recalled
    judgement : the bounds
    """
    if not 0 < low_m <= high_m:
        raise RangeError("low_m, high_m", f"{low_m:g} to {high_m:g} m is not a range")
    k = np.asarray(k_m_s, float)
    if not np.all(k >= 0):
        raise RangeError("k_m_s", "a conductivity is negative")
    reach = 3000.0 * np.maximum(0.0, np.asarray(drawdown_m, float)) * np.sqrt(k)
    return np.asarray(np.clip(reach, low_m, high_m))


def one_sided_m3_s(
    perimeter_m: ArrayLike,
    k_m_s: ArrayLike,
    water_table_m: ArrayLike,
    level_m: ArrayLike,
    reach_m: ArrayLike,
    below_m: ArrayLike,
) -> FloatArray:
    """Ground water from one side: Q = P K ((H^2 - h^2) / 2 + d (H - h)) / R, at least 0.

    The first part flows above the drain (Dupuit), the second below it, through Hooghoudt's
    equivalent depth d. A level below the base of the drain counts as h = 0 (the drain runs free). A
    level above the water table would let water out again; that is not credited, so that the time
    to flood is never too long on that account.

    Parameters
    ----------
    perimeter_m : float or (n_draws,) array
        Length of drain along the foundation [m].
    k_m_s : float or (n_draws,) array
        Saturated conductivity of the native soil [m/s].
    water_table_m : float or (n_draws,) array
        Undisturbed water table above the base of the drain; below zero gives no flow [m].
    level_m : (n_draws, n_levels) array
        Levels above the base of the drain [m].
    reach_m : float or (n_draws,) array
        Distance to the undisturbed water table, above zero [m].
    below_m : float or (n_draws,) array
        Equivalent depth of the ground below the drain; 0 where it lets nothing through [m].

    Returns
    -------
    (n_draws, n_levels) array
        Inflow at each level, not rising with the level [m3/s].

    Raises
    ------
    RangeError
        Where a reach is not above zero, or a length, depth or conductivity is negative.

    References
    ----------
    dupuit1863 : steady flow to a trench, recalled
    ritzema1994 : section 8.2, flow below the drains by the equivalent depth
    """
    level = np.atleast_2d(np.asarray(level_m, float))
    length, k, table, reach, below = (
        np.atleast_1d(np.asarray(a, float))[:, np.newaxis]
        for a in (perimeter_m, k_m_s, water_table_m, reach_m, below_m)
    )
    if not np.all(reach > 0):
        raise RangeError("reach_m", "a reach is not above zero")
    if not (np.all(length >= 0) and np.all(k >= 0) and np.all(below >= 0)):
        raise RangeError("perimeter_m, k_m_s, below_m", "a value is negative")
    high, low = np.maximum(0.0, table), np.maximum(0.0, level)
    flow = length * k * ((high**2 - low**2) / 2.0 + below * (high - low)) / reach
    return np.asarray(np.maximum(0.0, flow))


def hooghoudt_equivalent_depth_m(
    depth_m: ArrayLike, spacing_m: ArrayLike, radius_m: ArrayLike
) -> FloatArray:
    """Depth of flow below parallel drains that stands for the bent paths towards them.

    For D/L up to 0.3: d = D / (1 + (D/L) ((8/pi) ln(D/r) - 3.4));
    above it: d = L pi / (8 (ln(L/r) - 1.15)). Within 1.2 % of Hooghoudt's table.

    Parameters
    ----------
    depth_m : float or array
        Depth of the impermeable layer below the drains, above zero [m].
    spacing_m : float or array
        Distance between drains, above zero [m].
    radius_m : float or array
        Radius of the drain, above zero [m].

    Returns
    -------
    array
        Equivalent depth, at most the depth itself [m].

    References
    ----------
    moody1966 : fit to Hooghoudt's series, recalled
    ritzema1994 : Table 8.1
    """
    depth, spacing, radius = (np.asarray(a, float) for a in (depth_m, spacing_m, radius_m))
    ratio = depth / spacing
    shallow = depth / (1.0 + ratio * (8.0 / np.pi * np.log(depth / radius) - 3.4))
    deep = spacing * np.pi / (8.0 * (np.log(spacing / radius) - 1.15))
    return np.asarray(np.minimum(depth, np.where(ratio <= 0.3, shallow, deep)))
