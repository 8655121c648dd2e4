"""Cut a record into storms, and the dry times between them.

A storm ends when it has been dry for some hours (6 by default). Missing time is not rain; a storm
beside or around missing time is marked, since a part of it may be lost.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import RangeError
from riskkit.records import FloatArray, RainRecord

__all__ = ["Storm", "split_storms"]

DRY_GAP_H = 6.0
BEFORE_H = 120.0  # five days, as the classes of antecedent rain in older handbooks


@dataclass(frozen=True)
class Storm:
    """One storm of a record.

    Parameters
    ----------
    start : numpy.datetime64
        Start of its first wet interval.
    duration_h : float
        From the start of the first to the end of the last wet interval [h].
    depth_mm : float
        Rain of the storm [mm].
    peak_mm_h : tuple of float
        Highest mean intensity over each asked duration [mm/h].
    month : int
        Month in which it begins, 1 to 12 [-].
    touches_gap : bool
        True where time is missing in it or within the dry gap before or after it.
    dry_before_h : float
        Time since the storm before; infinite for the first one [h].
    before_mm : float
        Rain in the five days before it, missing time taken as dry [mm].
    first, last : int
        Place of its first and last wet interval in the record [-].
    """

    start: np.datetime64
    duration_h: float
    depth_mm: float
    peak_mm_h: tuple[float, ...]
    month: int
    touches_gap: bool
    dry_before_h: float
    before_mm: float
    first: int
    last: int


def split_storms(
    record: RainRecord,
    dry_gap_h: float = DRY_GAP_H,
    peak_durations_h: tuple[float, ...] = (),
) -> tuple[Storm, ...]:
    """Cut a record into storms.

    Parameters
    ----------
    record : RainRecord
        The record.
    dry_gap_h : float, default 6
        Dry time that ends a storm [h]; in a daily record every dry day does.
    peak_durations_h : tuple of float, optional
        Durations to give peak intensities for [h]; the record's interval where none is asked. A
        duration is rounded to whole intervals.

    Returns
    -------
    tuple of Storm
        The storms, in order of time; their depths add up to the record's.

    Raises
    ------
    RangeError
        Where the dry gap is not positive, or a peak is asked for less than an interval.

    References
    ----------
    common_practice : storms apart by six dry hours
    """
    step_h = record.interval_s / 3600
    durations_h = peak_durations_h or (step_h,)
    if not dry_gap_h > 0:
        raise RangeError("storms", f"a dry gap of {dry_gap_h} h does not part storms")
    if min(durations_h) < step_h * (1 - 1e-9):
        raise RangeError(
            "storms",
            f"a peak over {min(durations_h):g} h is asked of a record with intervals of "
            f"{step_h:g} h",
            "ask for the interval or longer",
        )
    missing = np.isnan(record.depth_mm)
    depth = np.where(missing, 0.0, record.depth_mm)
    wet = np.flatnonzero(depth > 0)
    if not wet.size:
        return ()
    n_gap = max(1, int(np.ceil(dry_gap_h / step_h - 1e-9)))
    breaks = np.flatnonzero(np.diff(wet) - 1 >= n_gap)
    first = wet[np.concatenate([[0], breaks + 1])]
    last = wet[np.concatenate([breaks, [wet.size - 1]])]
    sums = np.concatenate([[0.0], np.cumsum(depth)])
    lost = np.concatenate([[0], np.cumsum(missing)])
    # exact per storm: a difference of long cumulative sums would carry their rounding
    totals = np.add.reduceat(depth, np.stack([first, last + 1], axis=1).ravel()[:-1])[::2]
    peaks = [_peaks(sums, first, last, round(d / step_h)) / d for d in durations_h]
    low, high = np.maximum(first - n_gap, 0), np.minimum(last + 1 + n_gap, depth.size)
    touches = lost[high] - lost[low] > 0
    touches |= (first - n_gap < 0) | (last + 1 + n_gap > depth.size)
    dry = np.concatenate([[np.inf], (first[1:] - last[:-1] - 1) * step_h])
    before = sums[first] - sums[np.maximum(first - round(BEFORE_H / step_h), 0)]
    starts = record.times[first]
    months = starts.astype("datetime64[M]").astype(np.int64) % 12 + 1
    columns = (
        ((last - first + 1) * step_h).tolist(), totals.tolist(),
        zip(*(peak.tolist() for peak in peaks), strict=True), months.tolist(), touches.tolist(),
        dry.tolist(), np.maximum(before, 0.0).tolist(), first.tolist(), last.tolist(),
    )  # fmt: skip
    return tuple(Storm(*row) for row in zip(starts, *columns, strict=True))


def _peaks(sums: FloatArray, first: NDArray[np.intp], last: NDArray[np.intp], n: int) -> FloatArray:
    """Greatest rain of each storm in `n` intervals in a row [mm]; windows end with the storm."""
    lengths = last - first + 1
    offsets = np.concatenate([[0], np.cumsum(lengths)[:-1]])
    inside = np.arange(lengths.sum()) + np.repeat(first - offsets, lengths)
    ends = np.minimum(inside + n, np.repeat(last + 1, lengths))
    peaks: FloatArray = np.maximum.reduceat(sums[ends] - sums[inside], offsets)
    return peaks
