"""Roof and gutter: how much roof water comes down at the wall, in the drain, or elsewhere.

::

    rain on the roof x runoff coefficient
      what the gutters carry:  share let out at the wall, share tied to the drain, rest led away
      what is above that:      over the eaves onto the strip at the wall
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray

__all__ = [
    "RoofWater",
    "eaves_gutter_flow_m3_s",
    "gutter_capacity_mm_h",
    "rational_flow_m3_s",
    "split_roof_water_m3_s",
]

_MM_H = 1e-3 / 3600.0  # mm/h in m/s


class RoofWater(NamedTuple):
    """Where the water of a roof goes; each an array (n_draws, n_steps) [m3/s]."""

    at_wall_m3_s: FloatArray
    overflow_m3_s: FloatArray
    to_drain_m3_s: FloatArray
    led_away_m3_s: FloatArray


def rational_flow_m3_s(
    runoff_share: ArrayLike, intensity_mm_h: ArrayLike, area_m2: ArrayLike
) -> FloatArray:
    """Flow off an area under steady rain: Q = C i A.

    Parameters
    ----------
    runoff_share : float or array
        Runoff coefficient, 0 to 1 [-].
    intensity_mm_h : float or array
        Rain intensity [mm/h].
    area_m2 : float or array
        Area in plan [m2].

    Returns
    -------
    array
        Flow [m3/s].

    References
    ----------
    hec22 : section 3.2.2
    """
    intensity = np.asarray(intensity_mm_h, float) * _MM_H
    return np.asarray(np.asarray(runoff_share, float) * intensity * np.asarray(area_m2, float))


def eaves_gutter_flow_m3_s(section_mm2: ArrayLike) -> FloatArray:
    """Flow that a level, short, half-round eaves gutter carries to one outlet.

    Q_N = 2.78e-5 A^1.25 in L/s with A in mm2; a design uses 0.9 of it.

    Parameters
    ----------
    section_mm2 : float or (n_draws,) array
        Cross-section of the full gutter [mm2].

    Returns
    -------
    (n_draws,) array
        Nominal capacity, before the factor 0.9 [m3/s].

    References
    ----------
    en12056_3 : half-round gutters, recalled
    """
    return np.asarray(2.78e-5 * np.asarray(section_mm2, float) ** 1.25 * 1e-3)


def gutter_capacity_mm_h(
    gutter_m3_s: ArrayLike, roof_area_m2: ArrayLike, runoff_share: ArrayLike
) -> FloatArray:
    """Rain intensity at which the gutters of a roof begin to overflow: i = Q / (C A).

    Parameters
    ----------
    gutter_m3_s : float or (n_draws,) array
        Flow that all gutters carry together, less what clogging takes [m3/s].
    roof_area_m2 : float or (n_draws,) array
        Roof area in plan that they drain, above zero [m2].
    runoff_share : float or (n_draws,) array
        Runoff coefficient of the roof, above zero [-].

    Returns
    -------
    (n_draws,) array
        Intensity [mm/h].

    References
    ----------
    hec22 : section 3.2.2, solved for the intensity
    """
    drained = np.asarray(runoff_share, float) * np.asarray(roof_area_m2, float)
    return np.asarray(np.asarray(gutter_m3_s, float) / drained / _MM_H)


def split_roof_water_m3_s(
    intensity_mm_h: ArrayLike,
    roof_area_m2: ArrayLike,
    runoff_share: ArrayLike,
    gutter_capacity_mm_h: ArrayLike,
    share_at_wall: ArrayLike,
    share_to_drain: ArrayLike,
) -> RoofWater:
    """Tell where the water of a roof goes.

    Parameters
    ----------
    intensity_mm_h : (n_draws, n_steps) array
        Rain intensity [mm/h].
    roof_area_m2 : (n_draws, 1) array or float
        Roof area in plan [m2].
    runoff_share : (n_draws, 1) array or float
        Runoff coefficient of the roof [-].
    gutter_capacity_mm_h : (n_draws, 1) array or float
        Intensity that the gutters carry [mm/h].
    share_at_wall : (n_draws, 1) array or float
        Share of the gutter water let out on the strip at the wall [-].
    share_to_drain : (n_draws, 1) array or float
        Share of the gutter water tied into the foundation drain [-].

    Returns
    -------
    RoofWater
        At the wall, over the eaves, to the drain, led away; each (n_draws, n_steps) [m3/s].

    References
    ----------
    hec22 : section 3.2.2
    arithmetic : shares of downspouts
    """
    intensity = np.asarray(intensity_mm_h, float)
    carried_mm_h = np.minimum(intensity, np.asarray(gutter_capacity_mm_h, float))
    carried = rational_flow_m3_s(runoff_share, carried_mm_h, roof_area_m2)
    overflow = rational_flow_m3_s(runoff_share, intensity - carried_mm_h, roof_area_m2)
    at_wall, to_drain = np.asarray(share_at_wall, float), np.asarray(share_to_drain, float)
    return RoofWater(
        carried * at_wall,
        overflow,
        carried * to_drain,
        carried * np.maximum(0.0, 1.0 - at_wall - to_drain),
    )
