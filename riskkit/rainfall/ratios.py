"""Depths shorter than the record's own interval, from published ratios to longer durations.

A gauge read by the hour, or once a day, does not show the worst five minutes. Official tables do;
their ratios between durations vary little within a climate, and by more between climates. The
spread given with each ratio goes into the limits of the depths.
"""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

import numpy as np

from riskkit.errors import RangeError
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "DurationRatios",
    "RatioSet",
    "duration_ratios",
    "ratios_between",
    "widened_limits_mm",
]

_HALF_WIDTH_90 = 1.6449  # half of a 90 % interval in standard deviations of the normal distribution


class RatioSet(Enum):
    """Which published ratios stand in for durations that the record cannot show."""

    ONE_HOUR = "one_hour"
    REGION_A = "region_a"
    REGION_B = "region_b"
    REGION_C = "region_c"
    REGION_D = "region_d"
    REGION_MEAN = "region_mean"


class DurationRatios(NamedTuple):
    """Durations [h], depth over the depth of the longest of them [-], and relative spread [-]."""

    duration_h: FloatArray
    ratio: FloatArray
    spread: FloatArray


_REGIONS = (RatioSet.REGION_A, RatioSet.REGION_B, RatioSet.REGION_C, RatioSet.REGION_D)


def duration_ratios(ratios: RatioSet) -> DurationRatios:
    """Published ratios of short durations to 1 h or to 24 h.

    `ONE_HOUR` is to 1 h and for records of up to an hour. The regions are to 24 h; A has the most
    of a day's rain in its worst hour, D the least. They are those of the Ohio basin: where rain is
    long and gentle (the north-west coast) short depths come out too large, the cautious side.
    `REGION_MEAN` is the mean of the four, for a place whose region nobody gave; the spread between
    the regions is added to its own.

    Parameters
    ----------
    ratios : RatioSet
        Which set.

    Returns
    -------
    DurationRatios
        Durations [h], ratios [-] and spreads [-], durations increasing, (n_durations,) arrays; the
        last is the base with ratio 1.

    References
    ----------
    noaa_atlas2 : 5, 10 and 15 min to 1 h
    tp40 : 30 min to 1 h
    neh630_4 : Figure 4-72
    judgement : spreads
    """
    if ratios is not RatioSet.REGION_MEAN:
        return _rows(ratios)
    sets = [_rows(region) for region in _REGIONS]
    each = np.array([s.ratio for s in sets])
    mean = each.mean(axis=0)
    between = each.std(axis=0, ddof=1) / mean
    return DurationRatios(sets[0].duration_h, mean, np.hypot(between, sets[0].spread))


def _rows(ratios: RatioSet) -> DurationRatios:
    rows = [row for row in load_table("depth_ratios").rows if row["set"] == ratios.value]
    read = [np.array([float(row[key]) for row in rows]) for key in ("duration", "ratio", "spread")]
    return DurationRatios(read[0] / 60.0, read[1], read[2])


def ratios_between(
    ratios: RatioSet, short_h: FloatArray, own_h: FloatArray
) -> tuple[int, DurationRatios]:
    """Ratios of short durations to the shortest of the record's own that the set holds.

    Parameters
    ----------
    ratios : RatioSet
        Which set.
    short_h : (n_short,) array
        Durations wanted [h].
    own_h : (n_own,) array
        Durations that the record shows, increasing [h].

    Returns
    -------
    tuple of int and DurationRatios
        Which of `own_h` is the base [-]; durations [h], ratios to it [-] and spreads [-].

    Raises
    ------
    RangeError
        Where the set holds none of `own_h`, or not a duration that is wanted.

    References
    ----------
    arithmetic : a ratio of two ratios
    """
    known = duration_ratios(ratios)
    own = [i for i, d in enumerate(own_h) if np.any(np.isclose(known.duration_h, d))]
    if not own:
        raise RangeError(
            "rain table",
            "none of the durations that the record shows is in the set of published ratios",
            "ask for 1 h or 24 h too, or leave out the durations shorter than the interval",
        )
    absent = [d for d in short_h if not np.any(np.isclose(known.duration_h, d))]
    if absent:
        raise RangeError("rain table", f"no published ratio is known for {absent[0]:g} h")
    base = int(np.argmin(np.abs(known.duration_h - own_h[own[0]])))
    pick = [int(np.argmin(np.abs(known.duration_h - d))) for d in short_h]
    return own[0], DurationRatios(
        np.array(short_h), known.ratio[pick] / known.ratio[base], known.spread[pick]
    )


def widened_limits_mm(
    depth_mm: FloatArray, lower_mm: FloatArray, upper_mm: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """90 % limits of a depth times an uncertain ratio: log half-widths join as root of squares.

    Parameters
    ----------
    depth_mm : (n_durations, n_periods) array
        Depths [mm].
    lower_mm : (n_durations, n_periods) array
        Lower limits that leave the ratio's spread out, at most the depth [mm].
    upper_mm : (n_durations, n_periods) array
        Upper limits that leave the ratio's spread out, at least the depth [mm].
    spread : (n_durations,) array
        Relative standard deviation of the ratio [-].

    Returns
    -------
    tuple of two (n_durations, n_periods) arrays
        Lower and upper limit [mm].

    References
    ----------
    arithmetic : independent relative errors
    """
    own = _HALF_WIDTH_90 * spread[:, None]
    down = np.hypot(np.log(depth_mm / lower_mm), own)
    up = np.hypot(np.log(upper_mm / depth_mm), own)
    return depth_mm * np.exp(-down), depth_mm * np.exp(up)
