"""Annual maxima of a rain record, for several durations, with the fixed-interval correction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import RangeError
from riskkit.records import FloatArray, IntArray, RainRecord

__all__ = [
    "AnnualMaxima",
    "CountedYears",
    "RunningSums",
    "annual_maxima",
    "counted_years",
    "running_sums",
    "weiss_factor",
    "whole_intervals",
    "window_sums",
    "year_starts",
]


class RunningSums(NamedTuple):
    """Rain [mm] and known intervals [-] before each place of a record."""

    rain_mm: FloatArray
    known: IntArray


class CountedYears(NamedTuple):
    """Calendar years that a record touches, and which of them are known well enough to count."""

    year: IntArray
    first: IntArray  # the first interval that begins in each
    known_share: FloatArray
    counts: NDArray[np.bool_]

    @property
    def n_counted(self) -> int:
        """How many count."""
        return int(self.counts.sum())


@dataclass(frozen=True)
class AnnualMaxima:
    """Largest depth of each complete enough calendar year, per duration, as measured.

    Parameters
    ----------
    duration_h : (n_durations,) array
        Durations [h].
    intervals : (n_durations,) array of int
        Record intervals in each duration [-].
    year : (n_years,) array of int
        The years that count [yr].
    depth_mm : (n_durations, n_years) array
        Largest depth in the duration, by the record's own intervals, not corrected [mm].
    known_share : (n_years,) array
        Share of the year's intervals that are not missing [-].
    beside_gap : (n_durations,) array of int
        In how many years the largest depth comes from a window with a missing interval [-].
    years_seen : int
        Calendar years that the record touches, complete or not [yr].
    """

    duration_h: FloatArray
    intervals: IntArray
    year: IntArray
    depth_mm: FloatArray
    known_share: FloatArray
    beside_gap: IntArray
    years_seen: int

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if isinstance(value, np.ndarray):
                value.flags.writeable = False


def weiss_factor(intervals: IntArray | int) -> FloatArray:
    """True over fixed-interval maximum, for a duration of n intervals: 8n / (8n - 1).

    Rain is read at fixed clock times, the worst hour does not begin on the hour; on average the
    true maximum is larger by this factor. It holds for rain that is steady over the interval's
    length; for single bursts it is 1, so it is the cautious side.

    Parameters
    ----------
    intervals : (n_durations,) array of int, or int
        Record intervals in the duration, 1 or more [-].

    Returns
    -------
    (n_durations,) array
        The factor [-].

    Raises
    ------
    RangeError
        Where there is less than one interval.

    References
    ----------
    weiss1964 : theoretical factor
    """
    n = np.asarray(intervals, dtype=np.float64)
    if np.any(n < 1):
        raise RangeError("fixed-interval factor", "a duration is shorter than the interval")
    return np.asarray(8.0 * n / (8.0 * n - 1.0))


def annual_maxima(
    record: RainRecord, duration_h: Sequence[float], min_known_share: float = 0.8
) -> AnnualMaxima:
    """Largest depth in each duration and calendar year.

    A year counts where at least `min_known_share` of all its intervals are known; the parts of a
    first or last year outside the record count as missing. A window belongs to the year it ends in.

    **Gaps.** What fell in a gap is unknown, so a window with missing intervals gives a lower bound
    of its depth: the sum of what is known. Such a window is used when it is the year's largest
    even so (leaving it out could only make the maximum smaller), and `beside_gap` counts how often
    that happened. A window of which nothing is known gives nothing.

    Parameters
    ----------
    record : RainRecord
        The record.
    duration_h : sequence of float
        Durations, multiples of the record's interval [h].
    min_known_share : float
        Share of a year that must be known, 0 to 1 [-].

    Returns
    -------
    AnnualMaxima
        The maxima of the years that count.

    Raises
    ------
    RangeError
        Where a duration is no multiple of the interval, or no year counts.

    References
    ----------
    arithmetic : running sums
    """
    intervals = np.array([whole_intervals(d, record.interval_s) for d in duration_h], np.int64)
    years = counted_years(record, min_known_share)
    first, counts = years.first, years.counts
    sums = running_sums(record)
    depth = np.empty((intervals.size, years.n_counted))
    beside_gap = np.empty(intervals.size, dtype=np.int64)
    wet, whole = np.flatnonzero(record.depth_mm > 0), _begins_of_known(record)
    for row, n in enumerate(intervals):
        ends = _telling_ends(wet, whole, first, int(n), record.depth_mm.size)
        total, missing = window_sums(sums, int(n), ends)
        of_year = np.searchsorted(ends, first)
        largest = np.maximum.reduceat(total, of_year)[counts]
        complete = np.where(missing == 0, total, -1.0)
        largest_complete = np.maximum.reduceat(complete, of_year)[counts]
        depth[row] = np.maximum(largest, 0.0)
        beside_gap[row] = int(np.sum(largest > largest_complete))
    return AnnualMaxima(
        duration_h=np.array(duration_h, dtype=np.float64),
        intervals=intervals,
        year=years.year[counts],
        depth_mm=depth,
        known_share=years.known_share[counts],
        beside_gap=beside_gap,
        years_seen=int(years.year.size),
    )


def _begins_of_known(record: RainRecord) -> IntArray:
    """Intervals with which a stretch without a missing one begins."""
    known = np.concatenate([[False], ~np.isnan(record.depth_mm)])
    return np.flatnonzero(known[1:] & ~known[:-1])


def _telling_ends(wet: IntArray, whole: IntArray, first: IntArray, n: int, size: int) -> IntArray:
    """Ends of windows among which the largest of every year is, complete or not.

    A window that ends dry is no larger than the one an interval earlier, unless that one belongs to
    another year or, of the complete ones, begins in a gap. A year in which nothing fell has its
    first.
    """
    begun = whole + (n - 1)
    # a stable sort is quick where most are in order; one that stands twice does no harm
    return np.sort(np.concatenate([wet, first, begun[begun < size]]), kind="stable")


def counted_years(record: RainRecord, min_known_share: float = 0.8) -> CountedYears:
    """Years of a record, and which of them are known well enough.

    Parameters
    ----------
    record : RainRecord
        The record.
    min_known_share : float
        Share of a year that must be known, 0 to 1 [-].

    Returns
    -------
    CountedYears
        The years, their first intervals, their known shares [-] and which count.

    Raises
    ------
    RangeError
        Where no year counts.
    """
    first, year = year_starts(record)
    known = ~np.isnan(record.depth_mm)
    size = np.append(first[1:], record.depth_mm.size) - first
    possible = np.array([_intervals_in_year(int(y), record.interval_s) for y in year])
    known_share = np.add.reduceat(known.astype(np.float64), first) / np.maximum(possible, size)
    counts = known_share >= min_known_share
    if not np.any(counts):
        raise RangeError(
            "rain record",
            f"no year is known to {100 * min_known_share:.0f} %, the best to "
            f"{100 * float(known_share.max()):.0f} %",
        )
    return CountedYears(year, first, known_share, counts)


def running_sums(record: RainRecord) -> RunningSums:
    """Rain and known intervals before each place of a record.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    RunningSums
        Sums over all intervals before each place, (n + 1,) arrays [mm] and [-].

    References
    ----------
    arithmetic : running sums
    """
    known = ~np.isnan(record.depth_mm)
    rain = np.concatenate(([0.0], np.cumsum(np.where(known, record.depth_mm, 0.0))))
    # counts of at most ten million need half the room
    return RunningSums(
        rain, np.concatenate((np.zeros(1, np.int32), np.cumsum(known, dtype=np.int32)))
    )


def window_sums(
    sums: RunningSums, intervals: int, ends: IntArray | None = None
) -> tuple[FloatArray, IntArray]:
    """Rain of windows of so many intervals, by the interval that each ends in.

    Parameters
    ----------
    sums : RunningSums
        Running sums of the record.
    intervals : int
        Intervals in a window, 1 or more [-].
    ends : (n_ends,) array of int, optional
        Intervals in which the windows end [-]; all of the record when left out.

    Returns
    -------
    total : (n_ends,) array
        Known rain of the window [mm]; -1 where nothing of it is known, or it begins too early.
    missing : (n_ends,) array of int
        Intervals of it that are missing [-].

    References
    ----------
    arithmetic : differences of running sums
    """
    size, n = sums.rain_mm.size - 1, intervals
    if ends is not None:
        begin = np.maximum(ends + 1 - n, 0)
        total = sums.rain_mm[ends + 1] - sums.rain_mm[begin]
        missing = n - (sums.known[ends + 1] - sums.known[begin])
        early = ends + 1 < n
        missing[early] = n
        total[missing == n] = -1.0
        return total, missing
    total, missing = np.full(size, -1.0), np.full(size, n, dtype=np.int32)
    if n <= size:
        np.subtract(sums.rain_mm[n:], sums.rain_mm[:-n], out=total[n - 1 :])
        missing[n - 1 :] -= sums.known[n:]
        missing[n - 1 :] += sums.known[:-n]
        total[missing == n] = -1.0
    return total, missing


def whole_intervals(duration_h: float, interval_s: int) -> int:
    """Count the intervals of a record in a duration.

    Parameters
    ----------
    duration_h : float
        Duration [h].
    interval_s : int
        Length of an interval [s].

    Returns
    -------
    int
        Intervals in the duration, 1 or more [-].

    Raises
    ------
    RangeError
        Where the duration is no multiple of the interval.
    """
    n = duration_h * 3600.0 / interval_s
    if n < 1 - 1e-6 or abs(n - round(n)) > 1e-6:
        raise RangeError(
            "annual maxima",
            f"{duration_h:g} h is no multiple of the record's interval of {interval_s} s",
        )
    return round(n)


def _intervals_in_year(year: int, interval_s: int) -> float:
    days = np.datetime64(f"{year + 1:04d}-01-01") - np.datetime64(f"{year:04d}-01-01")
    return float(days / np.timedelta64(1, "D")) * 86400.0 / interval_s


def year_starts(record: RainRecord) -> tuple[IntArray, IntArray]:
    """Find the first interval that begins in each calendar year.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    first : (n_years,) array of int
        The intervals [-].
    year : (n_years,) array of int
        The years [yr].
    """
    last = record.start + np.timedelta64(record.interval_s, "s") * (record.depth_mm.size - 1)
    year = np.arange(
        record.start.astype("datetime64[Y]").astype(int) + 1970,
        last.astype("datetime64[Y]").astype(int) + 1971,
    )
    begin = (year - 1970).astype("datetime64[Y]").astype("datetime64[s]")
    offset_s = (begin - record.start).astype(np.int64)
    return np.maximum(-(-offset_s // record.interval_s), 0), year.astype(np.int64)
