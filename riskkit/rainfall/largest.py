"""The large storms of a record: what fell in each duration, when, and how seldom that comes.

A storm is not cut by dry hours here, so that rain of several days stands as one. The rarest of its
durations ranks it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.rainfall.maxima import running_sums, weiss_factor, whole_intervals, window_sums
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord, freeze_arrays

__all__ = ["LargeStorm", "ReturnPeriod", "largest_storms", "return_period_of"]

LONGEST_H = 72.0  # durations within which rain is one storm
_ALIKE_H = 24.0  # windows of one duration lie this far apart at least
_TRIED = 40  # windows of each duration; the ten largest storms are among them
_DURATIONS_H = (1.0, 6.0, 24.0, 48.0, 72.0)  # without a table


@dataclass(frozen=True)
class ReturnPeriod:
    """How seldom a depth comes; infinite beyond the table, 0 below it.

    Parameters
    ----------
    median_yr, low_yr, high_yr : float
        Return period by the depths of the table, and by their upper and lower limits [yr].
    """

    median_yr: float
    low_yr: float
    high_yr: float


@dataclass(frozen=True)
class LargeStorm:
    """One of the largest storms of a record.

    Parameters
    ----------
    begin, end : numpy.datetime64
        Start of its first and end of its last wet interval, within the longest duration.
    duration_h : (n_durations,) array
        Durations [h].
    depth_mm : (n_durations,) array
        The most that fell in each, by the record's own intervals [mm].
    rarest : int
        Place of the duration that ranks it [-].
    period : ReturnPeriod, optional
        How seldom that depth comes; None where the record is too short for a table.
    beside_gap : bool
        Whether time is missing in it or within a day of it, so that it may have been larger.
    """

    begin: np.datetime64
    end: np.datetime64
    duration_h: FloatArray
    depth_mm: FloatArray
    rarest: int
    period: ReturnPeriod | None
    beside_gap: bool

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class _Window:
    """A window of a record: rank, duration, first interval and one past the last."""

    rank: float
    row: int
    first: int
    last: int


def largest_storms(
    record: RainRecord, table: DepthDurationFrequency | None, count: int = 10
) -> tuple[LargeStorm, ...]:
    """Find the large storms of a record.

    Parameters
    ----------
    record : RainRecord
        The record.
    table : DepthDurationFrequency, optional
        Its depths by return period; without it storms are ranked by the rain of a day.
    count : int
        How many at most [-].

    Returns
    -------
    tuple of LargeStorm
        The storms, the rarest first; of equal ranks the earlier first.

    References
    ----------
    arithmetic : running sums
    judgement : what is one storm
    """
    asked = np.array(_DURATIONS_H) if table is None else table.duration_h
    steps = asked * 3600.0 / record.interval_s
    own = (steps > 1 - 1e-6) & (np.abs(steps - np.round(steps)) < 1e-6) & (asked <= LONGEST_H)
    hours = asked[own]
    intervals = [whole_intervals(float(d), record.interval_s) for d in hours]
    sums = running_sums(record)
    day = round(_ALIKE_H * 3600 / record.interval_s)
    windows: list[_Window] = []
    for row, n in enumerate(intervals):
        if n <= record.depth_mm.size:
            total = window_sums(sums, n)[0]
            factor = float(weiss_factor(n))
            for end in _largest_ends(total, max(n, day)):
                depth = float(total[end]) * factor
                rank = _rank(depth, float(hours[row]), table)
                windows.append(_Window(rank, row, end + 1 - n, end + 1))
    windows.sort(key=lambda one: (-one.rank, one.first))
    found: list[LargeStorm] = []
    taken = np.zeros(record.depth_mm.size, dtype=np.bool_)
    for window in windows:
        if len(found) == count:
            break
        if taken[window.first : window.last].any():
            continue
        before = np.flatnonzero(taken[: window.first])[-1:] + 1
        after = np.flatnonzero(taken[window.last :])[:1] + window.last
        lowest, highest = (int(one[0]) if one.size else end
                           for one, end in ((before, 0), (after, taken.size)))  # fmt: skip
        nested = _nested(sums.rain_mm, window, intervals, lowest, highest)
        first, last = nested[-1]
        taken[first:last] = True
        depth_mm = np.array([sums.rain_mm[b] - sums.rain_mm[a] for a, b in nested])
        wet = first + np.flatnonzero(record.depth_mm[first:last] > 0)
        step = np.timedelta64(record.interval_s, "s")
        found.append(
            LargeStorm(
                record.start + int(wet[0]) * step,
                record.start + int(wet[-1] + 1) * step,
                hours,
                depth_mm,
                window.row,
                None if table is None else return_period_of(
                    float(depth_mm[window.row] * weiss_factor(intervals[window.row])),
                    float(hours[window.row]),
                    table,
                ),
                bool(np.isnan(record.depth_mm[max(first - day, 0) : last + day]).any()),
            )
        )  # fmt: skip
    return tuple(found)


def _largest_ends(total: FloatArray, apart: int) -> list[int]:
    """Ends of the largest windows, one in each stretch of time and none beside a larger one."""
    begins = np.arange(0, total.size, apart)
    largest = np.maximum.reduceat(total, begins)
    order = np.argsort(-largest, kind="stable")[:_TRIED]
    ends = [int(b + np.argmax(total[b : b + apart])) for b in begins[order] if largest.size]
    return [end for end in ends if total[end] > 0]


def _rank(depth_mm: float, hours: float, table: DepthDurationFrequency | None) -> float:
    """Logarithm of the return period, its line carried on beyond the table; or a day's rain."""
    if table is None:
        return depth_mm if hours == min(_DURATIONS_H, key=lambda d: abs(d - 24.0)) else 0.0
    row = _row(table.depth_mm, table, hours)
    log = np.log(table.return_period_yr)
    if depth_mm > row[-1] > row[-2]:
        return float(log[-1] + (depth_mm - row[-1]) * (log[-1] - log[-2]) / (row[-1] - row[-2]))
    if depth_mm < row[0]:
        return float(log[0] + depth_mm / row[0] - 1.0)
    return float(np.interp(depth_mm, row, log))


def _row(depth_mm: FloatArray, table: DepthDurationFrequency, hours: float) -> FloatArray:
    return np.asarray(depth_mm[int(np.argmin(np.abs(table.duration_h - hours)))])


def return_period_of(
    depth_mm: float, duration_h: float, table: DepthDurationFrequency
) -> ReturnPeriod:
    """Say how seldom a depth comes, with the limits that the limits of the depths give.

    Parameters
    ----------
    depth_mm : float
        Depth [mm].
    duration_h : float
        A duration of the table [h].
    table : DepthDurationFrequency
        Depths by return period.

    Returns
    -------
    ReturnPeriod
        Its return period.

    References
    ----------
    arithmetic : depth is linear in the logarithm of the return period between those of the table
    """
    found = []
    for depths in (table.depth_mm, table.upper_mm, table.lower_mm):
        row = _row(table.depth_mm if depths is None else depths, table, duration_h)
        log = np.interp(depth_mm, row, np.log(table.return_period_yr), left=-np.inf, right=np.inf)
        found.append(float(np.exp(log)))
    return ReturnPeriod(*found)


def _nested(
    rain_mm: FloatArray, window: _Window, intervals: list[int], lowest: int, highest: int
) -> list[tuple[int, int]]:
    """Windows of all durations about one: shorter ones within it, longer ones around it.

    Longer ones end where another storm begins, though they are then shorter than asked.
    """
    found = {window.row: (window.first, window.last)}
    for rows in (range(window.row - 1, -1, -1), range(window.row + 1, len(intervals))):
        first, last = window.first, window.last
        for row in rows:
            n = intervals[row]
            if n <= last - first:
                low, high = first, last - n
            else:
                low, high = max(last - n, lowest), min(first, highest - n)
            if low > high:
                first, last = lowest, highest
            else:
                begin = np.arange(low, high + 1)
                first = int(begin[np.argmax(rain_mm[begin + n] - rain_mm[begin])])
                last = first + n
            found[row] = (first, last)
    return [found[row] for row in range(len(intervals))]
