"""Where the alarm warns longest without being tripped by normal running."""

from __future__ import annotations

import numpy as np

from riskkit.failures.storms import HomeStorms
from riskkit.home.home import Home
from riskkit.quantities.components import Component
from riskkit.quantities.variables import variables
from riskkit.records import FloatArray
from riskkit.reliability.annual import annual_chance_of

__all__ = ["TRIPS_IN_A_YEAR", "alarm_depth_m", "trip_chance"]

TRIPS_IN_A_YEAR = 0.2
"""Chance in a year with which the working pump may trip the alarm: 1 year in 5 (judgement)."""
_APART_M = 0.05  # between start of the pump and alarm, and alarm and floor (judgement)
_STEP_M = 0.0127  # half an inch, to which an alarm is set


def trip_chance(storms: HomeStorms, depth_m: float) -> FloatArray:
    """Return the chance that a year trips an alarm with the pump working.

    Parameters
    ----------
    storms : HomeStorms
        Storms with the highest level that the working pump leaves.
    depth_m : float
        Depth of the alarm below the floor [m].

    Returns
    -------
    (n_draws,) array
        Chance; storms commoner than those that were run do not count [-].

    References
    ----------
    langbein1949 : chance of a year from the rate of a partial series
    """
    if storms.highest_m is None:
        return np.zeros(storms.n_draws)
    trips = storms.highest_m >= -depth_m
    rate = np.where(trips, storms.rate_per_yr[:, None], 0.0).max(axis=0)
    return annual_chance_of(rate)


def alarm_depth_m(home: Home, storms: HomeStorms) -> float | None:
    """Find the deepest alarm that normal running trips in 1 year of 5 at most.

    The deeper it sits, the longer it warns. It stays two inches above the start of the pump.

    Parameters
    ----------
    home : Home
        The home.
    storms : HomeStorms
        Its storms.

    Returns
    -------
    float or None
        Depth below the floor, to half an inch; None where there is no pump or no such height [m].

    References
    ----------
    judgement : 1 year of 5, and how far it stays from the start of the pump
    """
    if home.lacks(Component.PUMP) or storms.highest_m is None:
        return None
    told = home.quantity("switch.on")
    on = variables()["switch.on"].unknown.p50 if told is None else told.value
    deepest = np.floor((on - _APART_M) / _STEP_M) * _STEP_M
    for depth in np.arange(deepest, _APART_M, -_STEP_M):
        if float(trip_chance(storms, float(depth)).mean()) <= TRIPS_IN_A_YEAR:
            return float(depth)
    return None
