"""How wet the soil is, day by day: a store that rain fills and grass and gravity empty.

::

    rain and melt ──> store ──> grass, Ks Kc ETo       as FAO-56, less when the soil dries out
                        │  └──> drains what is above field capacity, as a linear reservoir
                        └─────> runs off what is above saturation

Water is counted from the wilting point up. It tells the wetness before a storm; it makes no inflow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import BalanceError, RangeError
from riskkit.inflow import _days
from riskkit.records import FloatArray

__all__ = [
    "SoilDays",
    "effective_saturation",
    "soil_days",
    "total_available_water_mm",
]

_BALANCE = 1e-9
_DAY_S = 86400.0


@dataclass(frozen=True)
class SoilDays:
    """Soil water through time, for several soils side by side.

    Parameters
    ----------
    stored_mm : (n_soils, n_days) array
        Water above the wilting point at the end of each day [mm].
    content : (n_soils, n_days) array
        Water content of the root zone [-].
    recharge_mm : (n_soils, n_days) array
        Water that drains below the roots on each day [mm].
    unmet_mm : (n_soils, n_days) array
        What plants would use on each day and the soil cannot give [mm].
    used_mm, ran_off_mm : (n_soils,) array
        Sums of evapotranspiration and of water that found no room [mm].
    """

    stored_mm: FloatArray
    content: FloatArray
    recharge_mm: FloatArray
    unmet_mm: FloatArray
    used_mm: FloatArray
    ran_off_mm: FloatArray

    @property
    def drained_mm(self) -> FloatArray:
        """Sum of the water that drained below the roots, by soil."""
        return np.asarray(self.recharge_mm.sum(axis=1))


def total_available_water_mm(
    field_capacity: ArrayLike, wilting_point: ArrayLike, root_depth_m: ArrayLike
) -> FloatArray:
    """Water that plants can draw: TAW = 1000 (FC - WP) Zr.

    Parameters
    ----------
    field_capacity : float or (n_soils,) array
        Water held against gravity [-].
    wilting_point : float or (n_soils,) array
        Water that plants cannot draw, below the field capacity [-].
    root_depth_m : float or (n_soils,) array
        Depth of the roots, above zero [m].

    Returns
    -------
    (n_soils,) array
        Depth of water [mm].

    Raises
    ------
    RangeError
        Where the field capacity is not above the wilting point, or the depth not above zero.

    References
    ----------
    fao56 : eq. 82
    """
    held = np.asarray(field_capacity, float) - np.asarray(wilting_point, float)
    depth = np.asarray(root_depth_m, float)
    if not (np.all(held > 0) and np.all(depth > 0)):
        raise RangeError(
            "soil water", "field capacity less wilting point, or depth, is not above 0"
        )
    return np.asarray(1000.0 * held * depth)


def soil_days(
    water_mm: ArrayLike,
    demand_mm: ArrayLike,
    *,
    field_capacity: ArrayLike,
    wilting_point: ArrayLike,
    saturation: ArrayLike,
    root_depth_m: ArrayLike,
    drain_time_s: ArrayLike,
    easy_share: float,
) -> SoilDays:
    """Follow the water of the root zone day by day, from field capacity on the first morning.

    Each day water comes in, what is above saturation runs off, grass takes Ks times its demand, and
    what is above field capacity drains by 1 - exp(-1 day / tau). The share p of easy water follows
    the demand: p + 0.04 (5 mm - demand), 0.1 to 0.8.

    Parameters
    ----------
    water_mm : (n_days,) array
        Rain and melt [mm].
    demand_mm : (n_days,) array
        Evapotranspiration where water is not scarce, Kc ETo [mm].
    field_capacity : float or (n_soils,) array
        Water held against gravity [-].
    wilting_point : float or (n_soils,) array
        Water that plants cannot draw [-].
    saturation : float or (n_soils,) array
        Water content when full, not below field capacity [-].
    root_depth_m : float or (n_soils,) array
        Depth of the roots [m].
    drain_time_s : float or (n_soils,) array
        Time constant tau of drainage, above zero [s].
    easy_share : float
        Share p of the plants, at a demand of 5 mm a day [-].

    Returns
    -------
    SoilDays
        Water of each soil and day [mm] and where the rest went [mm].

    Raises
    ------
    RangeError
        Where an argument is missing, negative or cannot be.
    BalanceError
        Where the water does not add up to 1e-9.

    References
    ----------
    fao56 : eqs 82 to 85 and the footnote to Table 22
    arithmetic : drainage as a linear reservoir
    """
    water, demand = np.array(water_mm, float), np.array(demand_mm, float)
    for name, values in (("water_mm", water), ("demand_mm", demand)):
        if not (np.all(np.isfinite(values)) and np.all(values >= 0)) or values.shape != water.shape:
            raise RangeError(name, "a day is missing or negative")
    soils = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(value, float))
          for value in (field_capacity, wilting_point, saturation, root_depth_m, drain_time_s))
    )  # fmt: skip
    capacity, wilting, brim, depth, tau = soils
    if not (np.all(brim >= capacity) and np.all(tau > 0)):
        raise RangeError(
            "soil water", "saturation is below field capacity, or a drain time is zero"
        )
    available = total_available_water_mm(capacity, wilting, depth)
    stored, recharge, unmet = (np.empty((depth.size, water.size)) for _ in range(3))
    parts = np.zeros((depth.size, 2))
    full, kept = 1000.0 * (brim - wilting) * depth, np.exp(-_DAY_S / tau)
    start = available.copy()
    _days.soil_loop(
        water, demand, available, full, easy_share, kept, start, stored, recharge, unmet, parts
    )
    end = stored[:, -1] if water.size else start
    came = start + water.sum()
    went = parts.sum(axis=1) + recharge.sum(axis=1)
    if not np.all(np.abs(came - end - went) <= _BALANCE * came):
        raise BalanceError("The soil water of some day does not add up.")
    content = wilting[:, None] + stored / (1000.0 * depth[:, None])
    return SoilDays(stored, content, recharge, unmet, *parts.T)


def effective_saturation(
    content: ArrayLike, porosity: ArrayLike, effective_porosity: ArrayLike
) -> FloatArray:
    """How full of water a soil is: s_e = 1 - (porosity - content) / effective porosity, 0 to 1.

    Parameters
    ----------
    content : float or (n_soils, n_days) array
        Water content [-].
    porosity : float or array
        Total porosity [-].
    effective_porosity : float or array
        Porosity less residual water, above zero [-].

    Returns
    -------
    (n_soils, n_days) array
        Effective saturation [-].

    References
    ----------
    chow1988 : section 4.3
    """
    empty = np.asarray(porosity, float) - np.asarray(content, float)
    return np.asarray(np.clip(1.0 - empty / np.asarray(effective_porosity, float), 0.0, 1.0))
