"""From sand, clay and organic matter to the water that a soil holds, and to its soil group."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.quantities.units import convert
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = ["SoilWater", "hydrologic_group", "saxton_rawls", "texture_water"]

_CLAY_LIMIT, _ORGANIC_LIMIT = 0.60, 8.0  # range of the samples behind the equations


@dataclass(frozen=True)
class SoilWater:
    """What a soil holds and lets through, each an array (n_soils,).

    Parameters
    ----------
    wilting_point : (n_soils,) array
        Water that plants cannot draw, at 1500 kPa [-].
    field_capacity : (n_soils,) array
        Water held against gravity, at 33 kPa [-].
    saturation : (n_soils,) array
        Water content when full [-].
    k_m_s : (n_soils,) array
        Saturated conductivity [m/s].
    """

    wilting_point: FloatArray
    field_capacity: FloatArray
    saturation: FloatArray
    k_m_s: FloatArray


def saxton_rawls(sand: ArrayLike, clay: ArrayLike, organic_percent: ArrayLike = 2.5) -> SoilWater:
    """Soil water characteristics by the regressions of Saxton and Rawls, at normal density.

    Ks = 1930 (S - FC)^(3 - lambda) mm/h, 1 / lambda = ln(1500 / 33) / ln(FC / WP).

    Parameters
    ----------
    sand : float or (n_soils,) array
        Sand by weight, 0 to 1 [-].
    clay : float or (n_soils,) array
        Clay by weight, 0 to 0.6; with the sand at most 1 [-].
    organic_percent : float or (n_soils,) array
        Organic matter by weight, 0 to 8 [%].

    Returns
    -------
    SoilWater
        Water contents [-] and saturated conductivity [m/s].

    Raises
    ------
    RangeError
        Outside the range of the samples.

    References
    ----------
    saxton_rawls2006 : Table 1, eqs 1 to 3, 5, 15, 16 and 18
    """
    s, c, om = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(v, float)) for v in (sand, clay, organic_percent))
    )
    if not (np.all(s >= 0) and np.all(c >= 0) and np.all(s + c <= 1 + 1e-9)):
        raise RangeError("sand, clay", "a share is negative, or they are more than 1 together")
    if not (np.all(c <= _CLAY_LIMIT) and np.all((om >= 0) & (om <= _ORGANIC_LIMIT))):
        raise RangeError("clay, organic matter", "more than 60 % clay or 8 % organic matter")
    wilting = -0.024 * s + 0.487 * c + 0.006 * om + 0.005 * s * om - 0.013 * c * om
    wilting = wilting + 0.068 * s * c + 0.031
    wilting = wilting + (0.14 * wilting - 0.02)
    capacity = -0.251 * s + 0.195 * c + 0.011 * om + 0.006 * s * om - 0.027 * c * om
    capacity = capacity + 0.452 * s * c + 0.299
    capacity = capacity + (1.283 * capacity**2 - 0.374 * capacity - 0.015)
    loose = 0.278 * s + 0.034 * c + 0.022 * om - 0.018 * s * om - 0.027 * c * om
    loose = loose - 0.584 * s * c + 0.078
    loose = loose + (0.636 * loose - 0.107)
    full = capacity + loose - 0.097 * s + 0.043
    slope = np.log(capacity / wilting) / np.log(1500 / 33)
    k_mm_h = 1930 * np.maximum(full - capacity, 0.0) ** (3 - slope)
    return SoilWater(wilting, capacity, full, k_mm_h / 3.6e6)


def texture_water(textures: list[str], organic_percent: float = 2.5) -> SoilWater:
    """Soil water characteristics at the middle of texture classes.

    Parameters
    ----------
    textures : list of str
        Names in ``tables/texture_centres.csv``, n_soils of them.
    organic_percent : float
        Organic matter by weight, 0 to 8 [%].

    Returns
    -------
    SoilWater
        Water contents [-] and saturated conductivity [m/s].

    References
    ----------
    saxton_rawls2006 : sand and clay of Table 3
    """
    rows = {row["texture"]: row for row in load_table("texture_centres").rows}
    sand, clay = (
        np.array([float(rows[name][key]) / 100 for name in textures]) for key in ("sand", "clay")
    )
    return saxton_rawls(sand, clay, organic_percent)


def hydrologic_group(k_m_s: float) -> str:
    """Hydrologic soil group by saturated conductivity, for deep soils by the limits of 2009.

    Parameters
    ----------
    k_m_s : float
        Saturated conductivity of the least permeable layer, not negative [m/s].

    Returns
    -------
    str
        ``"A"`` (lets water through) to ``"D"``.

    Raises
    ------
    RangeError
        Where the conductivity is negative.

    References
    ----------
    neh630_7 : Table 7-1
    """
    if not k_m_s >= 0:
        raise RangeError("k_m_s", "a conductivity is negative or missing")
    in_h = convert(k_m_s * 3.6e6, "mm/h", "in/h")
    rows = load_table("soil_groups").rows
    return next((row["group"] for row in rows if in_h > float(row["k_2009"])), rows[-1]["group"])
