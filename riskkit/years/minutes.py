"""Minutes within the hours of a record: how a wet hour is broken down.

An hourly record hides the minutes that a fast home feels. Within an hour of heavy rain its worst
5, 10, 15 and 30 minutes bring the shares that official tables print for an hour of as much rain;
they lie round the middle of the hour, the smaller ones by turns before and after. Gentle hours
stay even.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from riskkit.rainfall.minutes import MINUTES, PrintedFit, hour_tables, printed_fit, ratios_of
from riskkit.records import FloatArray

__all__ = ["HEAVY_MM", "even_minutes", "minutes_of_hours"]

HEAVY_MM = 5.0
"""Rain of an hour from which it is broken down [mm]."""
_STEPS = 12  # of 5 min in an hour
_OF_YEARS = np.array([2.0])


def minutes_of_hours(hourly_mm: FloatArray) -> FloatArray:
    """Break hours of rain down into steps of five minutes.

    Parameters
    ----------
    hourly_mm : (n_storms, n_hours) array
        Rain of each hour [mm].

    Returns
    -------
    (n_storms, 12 n_hours) array
        Rain of each five minutes; each hour brings what it brought [mm].

    References
    ----------
    noaa_atlas14_v2 : and the other official tables of ``tables/hour_depths.csv``
    judgement : the worst minutes in the middle of the hour; even hours below 5 mm
    """
    share = np.full((*hourly_mm.shape, _STEPS), 1.0 / _STEPS)
    heavy = hourly_mm >= HEAVY_MM
    depths, place = np.unique(np.round(hourly_mm[heavy], 1), return_inverse=True)
    if depths.size:
        share[heavy] = np.array([_shares(depth) for depth in depths])[place]
    return np.asarray((hourly_mm[:, :, None] * share).reshape(hourly_mm.shape[0], -1))


def even_minutes(hourly_mm: FloatArray) -> FloatArray:
    """Spread hours of rain evenly over steps of five minutes, to see what breaking down does.

    Parameters
    ----------
    hourly_mm : (n_storms, n_hours) array
        Rain of each hour [mm].

    Returns
    -------
    (n_storms, 12 n_hours) array
        Rain of each five minutes [mm].

    References
    ----------
    arithmetic : a twelfth
    """
    return np.repeat(hourly_mm / _STEPS, _STEPS, axis=1)


@cache
def _fit() -> PrintedFit:
    return printed_fit(hour_tables())


@cache
def _shares(hour_mm: float) -> FloatArray:
    """Share of each five minutes of an hour, the largest in the middle (12,)."""
    ends = np.arange(1, _STEPS + 1) * 5.0
    known = np.array(MINUTES)
    printed = ratios_of(_fit(), known, hour_mm, _OF_YEARS)[:, 0]
    printed = np.maximum.accumulate(np.minimum(printed, 1.0))
    grown = np.exp(np.interp(np.log(ends), np.log(known), np.log(printed)))
    blocks = np.sort(np.diff(np.concatenate([[0.0], grown])))[::-1]
    at = np.empty(_STEPS, dtype=np.int64)
    middle = _STEPS // 2
    at[0::2] = middle + np.arange(_STEPS // 2)  # by turns after and before
    at[1::2] = middle - 1 - np.arange(_STEPS // 2)
    placed = np.empty(_STEPS)
    placed[at] = blocks
    return np.asarray(placed / placed.sum())
