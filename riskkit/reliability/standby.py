"""What lifts water without the mains and without a battery: mains water, a generator."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray, need

__all__ = ["MAINS_PER_LIFTED", "fuel_time_h", "mains_water_m3", "water_powered_m3_s"]

MAINS_PER_LIFTED = 0.5
"""Mains water used for each volume lifted, about: 1 gallon for 2 (City of Midland, Michigan)."""


def mains_water_m3(lifted_m3: ArrayLike) -> FloatArray:
    """Mains water that a water-powered pump uses.

    It leaves by the outlet as well, so the pipe carries half as much again as is lifted. Such a
    pump needs a backflow preventer where codes ask for one, and does nothing at a home with a well.

    Parameters
    ----------
    lifted_m3 : (n_draws,) array
        Water lifted out of the pit [m3].

    Returns
    -------
    (n_draws,) array
        Mains water [m3].

    References
    ----------
    midland : 1 gallon of city water for 2 gallons
    """
    return MAINS_PER_LIFTED * np.asarray(lifted_m3, dtype=np.float64)


def water_powered_m3_s(mains_m3_s: ArrayLike) -> FloatArray:
    """Flow that a water-powered pump lifts with what the mains give.

    Parameters
    ----------
    mains_m3_s : (n_draws,) array
        Flow of the mains to the pump at its pressure in use [m3/s].

    Returns
    -------
    (n_draws,) array
        Flow lifted [m3/s].

    References
    ----------
    midland : 1 gallon of city water for 2 gallons
    """
    flow = np.asarray(mains_m3_s, dtype=np.float64)
    need(bool(np.all(flow >= 0)), "mains water", "its flow is below zero")
    return flow / MAINS_PER_LIFTED


def fuel_time_h(fuel_l: ArrayLike, use_l_h: ArrayLike) -> FloatArray:
    """Hours that a generator runs on the fuel at hand.

    Parameters
    ----------
    fuel_l : (n_draws,) array
        Fuel [L].
    use_l_h : (n_draws,) array
        What it uses at the load [L/h].

    Returns
    -------
    (n_draws,) array
        Time [h].

    References
    ----------
    arithmetic : store over use
    """
    use = np.asarray(use_l_h, dtype=np.float64)
    need(bool(np.all(use > 0)), "generator", "it uses no fuel", "give litres an hour")
    return np.asarray(np.asarray(fuel_l) / use)
