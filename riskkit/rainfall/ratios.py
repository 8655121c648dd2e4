"""Depths shorter than the shortest that is known, from published ratios to longer durations.

A gauge read by the hour, or once a day, does not show the worst five minutes, and many official
tables begin at an hour. For both the same rule: minutes from the hour by `minutes.py`, the hour
from the day by the ratios of rain regions. The spread of the ratios goes into the limits of the
depths, and into the storms.
"""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.minutes import minute_ratios
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "DurationRatios",
    "RatioSet",
    "ShortDepths",
    "duration_ratios",
    "minutes_words",
    "ratios_between",
    "short_depths",
    "short_words",
    "widened_limits_mm",
]

_HALF_WIDTH_90 = 1.6449  # half of a 90 % interval in standard deviations of the normal distribution
_HOUR_H = 1.0 + 1e-9


class RatioSet(Enum):
    """Which published ratios to the day stand in for durations that are not known."""

    REGION_A = "region_a"
    REGION_B = "region_b"
    REGION_C = "region_c"
    REGION_D = "region_d"
    REGION_MEAN = "region_mean"
    DAYS = "days"


class DurationRatios(NamedTuple):
    """Durations [h], depth over the depth of the longest of them [-], and relative spread [-]."""

    duration_h: FloatArray
    ratio: FloatArray
    spread: FloatArray


_REGIONS = (RatioSet.REGION_A, RatioSet.REGION_B, RatioSet.REGION_C, RatioSet.REGION_D)


def duration_ratios(ratios: RatioSet) -> DurationRatios:
    """Published ratios of durations from an hour up to 24 h.

    Region A has the most of a day's rain in its worst hour, D the least. They are those of the Ohio
    basin: where rain is long and gentle (the north-west coast) short depths come out too large, the
    cautious side. `REGION_MEAN` is the mean of the four, for a place whose region nobody gave; the
    spread between the regions is added to its own.

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
    """Ratios of short durations to the shortest of those known that the set holds.

    Parameters
    ----------
    ratios : RatioSet
        Which set.
    short_h : (n_short,) array
        Durations wanted [h].
    own_h : (n_own,) array
        Durations that are known, increasing [h].

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
            "none of the durations that are known is in the set of published ratios",
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


class ShortDepths(NamedTuple):
    """Depths [mm] (n_short, n_periods) from a longer duration, and what they rest on.

    `base` is the row of the longer duration among those known [-]; `ratio` (n_short, n_periods) is
    to it [-]; `log_sd` (n_short,) is the spread of that ratio as a standard deviation of its
    logarithm [-]; `is_beyond` tells that the hour brings less or more than in any printed table.
    """

    depth_mm: FloatArray
    base: int
    ratio: FloatArray
    log_sd: FloatArray
    is_beyond: bool


def short_depths(
    short_h: FloatArray,
    own_h: FloatArray,
    period_yr: FloatArray,
    depth_mm: FloatArray,
    region: RatioSet = RatioSet.REGION_MEAN,
) -> ShortDepths:
    """Depths of durations shorter than all that are known, for a record and a table alike.

    Within the hour from the shortest that is known, or from the hour that the ratios of the region
    give. The two spreads add as independent ones.

    Parameters
    ----------
    short_h : (n_short,) array
        Durations wanted, shorter than those known, increasing [h].
    own_h : (n_own,) array
        Durations that are known, increasing [h].
    period_yr : (n_periods,) array
        Return periods [yr].
    depth_mm : (n_own, n_periods) array
        Depths that are known [mm].
    region : RatioSet
        Ratios to the day, where the shortest that is known is longer than an hour.

    Returns
    -------
    ShortDepths
        Depths [mm], their base, ratios and spreads [-].

    Raises
    ------
    RangeError
        Where no published ratio leads to a duration, or what is known does not reach an hour.

    References
    ----------
    arithmetic : a ratio of ratios
    """
    base, to_hour, hour_sd, hour_mm = 0, np.ones(period_yr.size), 0.0, np.zeros(0)
    ratio = np.empty((short_h.size, period_yr.size))
    log_sd = np.empty(short_h.size)
    is_beyond = False
    minutes = short_h < min(_HOUR_H, own_h[0]) - 2e-9
    if own_h[0] > _HOUR_H:
        base, known = ratios_between(region, np.append(short_h[~minutes], 1.0), own_h)
        ratio[~minutes], log_sd[~minutes] = known.ratio[:-1, None], known.spread[:-1]
        to_hour, hour_sd = to_hour * known.ratio[-1], float(known.spread[-1])
        hour_mm, base_minutes = depth_mm[base] * to_hour, 60.0
    elif own_h[-1] >= 1.0:
        each = [np.interp(0.0, np.log(own_h), np.log(column)) for column in depth_mm.T]
        hour_mm, base_minutes = np.exp(each), 60.0 * float(own_h[0])
    else:
        raise RangeError("rain table", f"it ends at {own_h[-1]:g} h, before one hour")
    if minutes.any():
        two_years = float(np.interp(np.log(2.0), np.log(period_yr), hour_mm))
        within = minute_ratios(60.0 * short_h[minutes], base_minutes, two_years, period_yr)
        ratio[minutes] = within.ratio * to_hour
        log_sd[minutes] = np.hypot(within.log_sd, hour_sd)
        is_beyond = within.is_beyond
    return ShortDepths(depth_mm[base] * ratio, base, ratio, log_sd, is_beyond)


def short_words(short_h: FloatArray, base_h: float, found: ShortDepths, why: str) -> str:
    """Say where short depths come from, and how far the ratios lie apart.

    Parameters
    ----------
    short_h : (n_short,) array
        Durations [h].
    base_h : float
        The duration that they were worked out from [h].
    found : ShortDepths
        Depths and spreads.
    why : str
        Why they are not known, such as "the table begins there".

    Returns
    -------
    str
        A sentence or two.

    References
    ----------
    arithmetic : 90 % of a normal distribution
    """
    ratios = "those of official tables for an hour of as much rain, by return period"
    if base_h > _HOUR_H:
        ratios += "; to the hour those of the mean of four rain regions, because none was given"
    worst = int(np.argmax(found.log_sd))
    beyond = " The hour brings less or more here than in any of them." if found.is_beyond else ""
    apart = np.expm1(_HALF_WIDTH_90 * found.log_sd[worst])
    return (
        f"Depths of {', '.join(minutes_words(d) for d in short_h)} are those of "
        f"{minutes_words(base_h)} times published ratios ({ratios}): {why}. Nine times in ten they "
        f"are right to {100 * apart:.0f} % at {minutes_words(short_h[worst])}; this spread is part "
        f"of the storms.{beyond}"
    )


def minutes_words(duration_h: float) -> str:
    """Write a duration.

    Parameters
    ----------
    duration_h : float
        Duration [h].

    Returns
    -------
    str
        Such as ``"24 h"`` or ``"5 min"``.

    Examples
    --------
    >>> minutes_words(24.0), minutes_words(1 / 12)
    ('24 h', '5 min')
    """
    return f"{duration_h:g} h" if duration_h >= 1 else f"{60 * duration_h:.0f} min"
