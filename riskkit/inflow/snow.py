"""Snow and frost by degree-days: what of the rain gauge's water reaches the ground, and when.

The mean temperature of a day parts rain from snow, melts by degree-days, and rain melts snow by the
heat it brings. A frost index tells whether the ground may be frozen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.inflow import _days
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "SnowDays",
    "day_setting",
    "degree_day_melt_mm",
    "frost_index_degc_d",
    "rain_melt_mm",
    "rain_share",
    "snow_days",
    "snow_depth_cm",
    "thawed_share",
]


@dataclass(frozen=True)
class SnowDays:
    """Snow through time.

    Parameters
    ----------
    water_mm : (n_days,) array
        Rain and melt that reach the ground [mm].
    pack_mm : (n_days,) array
        Water held by the snow at the end of each day [mm].
    frost_degc_d : (n_days,) array
        Frost index [degC day].
    frozen : (n_days,) array
        1 where the index says that the ground may be frozen, else 0 [-].
    """

    water_mm: FloatArray
    pack_mm: FloatArray
    frost_degc_d: FloatArray
    frozen: FloatArray


def day_setting(key: str) -> float:
    """Return one constant of the daily balance.

    Parameters
    ----------
    key : str
        Its name in ``tables/wetness.csv``.

    Returns
    -------
    float
        Its value in the unit of its row [any].

    References
    ----------
    arithmetic : the table names a source for each
    """
    row = next(row for row in load_table("wetness").rows if row["key"] == key)
    return float(row["value"])


def rain_share(mean_degc: ArrayLike) -> FloatArray:
    """Share of a day's precipitation that falls as rain: a straight line between two temperatures.

    Parameters
    ----------
    mean_degc : (n_days,) array
        Mean temperature of the day [degC].

    Returns
    -------
    (n_days,) array
        From 0, all snow, to 1, all rain [-].

    References
    ----------
    usace1956 : half of it is snow near 1 degC; recalled
    judgement : the width of the mixed range
    """
    cold, warm = day_setting("all_snow"), day_setting("all_rain")
    return np.clip((np.asarray(mean_degc, float) - cold) / (warm - cold), 0.0, 1.0)


def degree_day_melt_mm(
    mean_degc: ArrayLike, factor_mm_degc_d: ArrayLike, base_degc: float = 0.0
) -> FloatArray:
    """Melt of a day by its warmth: M = Cm (Ta - Tf), none below the base.

    Parameters
    ----------
    mean_degc : (n_days,) array
        Mean temperature of the day [degC].
    factor_mm_degc_d : float or (n_days,) array
        Degree-day factor; 1.6 to 6 is seen [mm/(degC day)].
    base_degc : float
        Temperature at which melt begins [degC].

    Returns
    -------
    (n_days,) array
        Melt where there is snow enough [mm].

    Raises
    ------
    RangeError
        Where the factor is negative.

    References
    ----------
    hds2 : section 9.2.4.2
    neh630_11 : range and default of the factor, recalled
    """
    factor = np.asarray(factor_mm_degc_d, float)
    if not np.all(factor >= 0):
        raise RangeError("factor_mm_degc_d", "a degree-day factor is negative")
    return factor * np.maximum(np.asarray(mean_degc, float) - base_degc, 0.0)


def rain_melt_mm(rain_mm: ArrayLike, mean_degc: ArrayLike) -> FloatArray:
    """Melt by the heat that rain brings: M = P T / 80, none below freezing.

    Parameters
    ----------
    rain_mm : (n_days,) array
        Rain of the day [mm].
    mean_degc : (n_days,) array
        Its temperature, taken as that of the air [degC].

    Returns
    -------
    (n_days,) array
        Melt where there is snow enough [mm].

    References
    ----------
    bedient2013 : section 2.9; 80 cal melt a gram of ice
    """
    warmth = np.maximum(np.asarray(mean_degc, float), 0.0)
    return np.asarray(np.asarray(rain_mm, float) * warmth / 80.0)


def snow_depth_cm(pack_mm: ArrayLike, density_kg_m3: float) -> FloatArray:
    """Depth of a snow pack: d = SWE / (0.01 rho).

    Parameters
    ----------
    pack_mm : (n_days,) array
        Water held by the snow [mm].
    density_kg_m3 : float
        Density of the snow, above zero [kg/m3].

    Returns
    -------
    (n_days,) array
        Depth [cm].

    References
    ----------
    bedient2013 : eq. 2-55
    """
    return np.asarray(np.asarray(pack_mm, float) / (0.01 * density_kg_m3))


def frost_index_degc_d(mean_degc: ArrayLike, snow_cm: ArrayLike) -> FloatArray:
    """Continuous frozen ground index: F = max(0, A F_before - T exp(-0.4 K D)).

    Cold days raise it and warm days lower it; snow of depth D shields the ground from both, more
    (K = 0.5 per cm) when it is cold than when it thaws (0.08 per cm). A = 0.97 per day.

    Parameters
    ----------
    mean_degc : (n_days,) array
        Mean temperature of each day [degC].
    snow_cm : (n_days,) array
        Depth of snow [cm].

    Returns
    -------
    (n_days,) array
        Index at the end of each day; the ground may be frozen above 56 and is above 83 [degC day].

    References
    ----------
    molnau_bissell1983 : the index and its constants, recalled
    """
    mean = np.array(mean_degc, dtype=np.float64)
    index = np.empty(mean.size)
    keep, cold, warm = (
        day_setting(f"frost_{key}") for key in ("keep", "shield_cold", "shield_thaw")
    )
    _days.frost_loop(mean, np.array(snow_cm, dtype=np.float64), keep, cold, warm, index)
    return index


def thawed_share(frost_degc_d: ArrayLike) -> FloatArray:
    """Share of open ground that takes water: all up to one frost index, none from another one on.

    Between the two, where the ground may be frozen, a straight line.

    Parameters
    ----------
    frost_degc_d : (n_days,) array
        Frost index, see `frost_index_degc_d` [degC day].

    Returns
    -------
    (n_days,) array
        Share [-].

    References
    ----------
    molnau_bissell1983 : both limits, recalled
    judgement : the line
    """
    low, high = day_setting("frost_limit"), day_setting("frost_closed")
    return np.asarray(np.clip((high - np.asarray(frost_degc_d, float)) / (high - low), 0.0, 1.0))


def snow_days(precipitation_mm: ArrayLike, mean_degc: ArrayLike) -> SnowDays:
    """Follow the snow day by day; it begins with bare ground.

    Parameters
    ----------
    precipitation_mm : (n_days,) array
        Rain and melted snow of the gauge [mm].
    mean_degc : (n_days,) array
        Mean temperature of each day [degC].

    Returns
    -------
    SnowDays
        Water to the ground [mm], snow [mm] and frost [degC day].

    Raises
    ------
    RangeError
        Where a depth is missing or negative, or a temperature is missing.

    References
    ----------
    hds2 : section 9.2.4.2, degree-days
    bedient2013 : section 2.9, rain on snow
    arithmetic : the pack gains snow and loses melt
    """
    fallen, mean = np.array(precipitation_mm, float), np.array(mean_degc, float)
    if not (np.all(np.isfinite(fallen)) and np.all(fallen >= 0)):
        raise RangeError("precipitation_mm", "a depth is missing or negative")
    if mean.shape != fallen.shape or not np.all(np.isfinite(mean)):
        raise RangeError("mean_degc", "there is not one temperature for each day")
    rain = fallen * rain_share(mean)
    factor, base = day_setting("degree_day"), day_setting("melt_base")
    melt = degree_day_melt_mm(mean, factor, base) + rain_melt_mm(rain, mean)
    water, pack = np.empty(fallen.size), np.empty(fallen.size)
    _days.snow_loop(rain, fallen - rain, melt, water, pack)
    index = frost_index_degc_d(mean, snow_depth_cm(pack, day_setting("snow_density")))
    return SnowDays(water, pack, index, (index > day_setting("frost_limit")).astype(float))
