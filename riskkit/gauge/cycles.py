"""From the runs of a pump to what flowed into the pit between them.

A pump that starts at one level and stops at another lifts the same volume in every quiet cycle, so
each is a measured volume. From one start to the next the level comes back to where it was: what
flowed in is what was lifted, less what fell back from the pipe.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from riskkit.gauge.log import PumpLog
from riskkit.records import FloatArray
from riskkit.records.frozen import freeze_arrays

__all__ = [
    "Anomaly",
    "AnomalySpan",
    "Bins",
    "Cycles",
    "bins_of",
    "cycle_flow_m3_s",
    "cycles_of",
    "in_spans",
]

_HARD = 1.5  # of a usual run: more than a third of what the pump carries flows in
_STUCK_RUNS, _STUCK_S = 20.0, 7200.0  # a run so long is no drawing down (judgement)
_RESOLVED = 0.25  # of a usual run: times told more coarsely do not tell how long it was


class Anomaly(Enum):
    """What in a log is worth a look."""

    LONG_RUN = "long run"
    SILENT = "silent"
    GAP = "gap"


@dataclass(frozen=True)
class AnomalySpan:
    """A span that is odd: no inflow is told by a gap and a run of hours, a silent one counts.

    Parameters
    ----------
    what : Anomaly
        What was seen.
    begin_s, end_s : float
        From when to when, since 1970 [s].
    rain_mm : float
        Rain through it, and in the day before a gap or a run; NaN where it is not known [mm].
    """

    what: Anomaly
    begin_s: float
    end_s: float
    rain_mm: float = np.nan


@dataclass(frozen=True, eq=False)
class Cycles:
    """Cycles of a pump from start to start, without gaps.

    Parameters
    ----------
    begin_s, stop_s, end_s : (n_cycles,) arrays
        Start, stop and next start; the stop is NaN where it was not logged [s].
    drop_m : (n_cycles,) array
        How far the water fell; NaN where no level was logged [m].
    usual_run_s : float
        Middle of the runs; NaN where they are not told [s].
    tells_runs : bool
        Whether runs are told closely enough to count.
    odd : tuple of AnomalySpan
        Gaps, and runs too long to be drawing down; NaN stands for an end that is not logged.
    """

    begin_s: FloatArray
    stop_s: FloatArray
    end_s: FloatArray
    drop_m: FloatArray
    usual_run_s: float
    tells_runs: bool
    odd: tuple[AnomalySpan, ...]

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def is_hard(self) -> NDArray[np.bool_]:
        """Where the pump ran clearly longer than it takes to draw the pit down."""
        if not self.tells_runs:
            return np.zeros(self.begin_s.size, dtype=np.bool_)
        return np.asarray(self.stop_s - self.begin_s > _HARD * self.usual_run_s)


def cycles_of(log: PumpLog) -> Cycles:
    """Cut a log into cycles; what touches a gap or a run of hours is left out and told.

    Parameters
    ----------
    log : PumpLog
        The log.

    Returns
    -------
    Cycles
        From start to start [s].

    References
    ----------
    judgement : a run of two hours and twenty times the usual one is no drawing down
    """
    start, stop = log.start_s, log.stop_s
    run = stop - start
    usual = float(np.nanmedian(run)) if np.isfinite(run).any() else np.nan
    tells_runs = bool(usual > log.resolution_s / _RESOLVED)
    begin, end = start[:-1], start[1:]
    span = np.searchsorted(log.watched_s[:, 0], start + log.resolution_s, side="right")
    inside = (span[:-1] == span[1:]) & (span[:-1] > 0)
    odd = [
        AnomalySpan(Anomaly.GAP, float(a), float(b))
        for a, b in zip(log.watched_s[:-1, 1], log.watched_s[1:, 0], strict=True)
    ]
    long = np.zeros(start.size, dtype=np.bool_)
    if np.isfinite(usual):
        least = max(_STUCK_S, _STUCK_RUNS * usual)
        # a run that goes on into a gap lasts as long at least as it was watched
        seen = np.where(span > 0, log.watched_s[span - 1, 1], start) - start
        long = np.where(np.isfinite(stop), run, seen) > least
        odd += [AnomalySpan(Anomaly.LONG_RUN, float(start[i]), float(stop[i])) for i in
                np.flatnonzero(long)]  # fmt: skip
        inside &= np.isfinite(stop[:-1]) & ~long[:-1]
    return Cycles(
        begin[inside], stop[:-1][inside], end[inside], log.drop_m[:-1][inside], usual, tells_runs,
        tuple(sorted(odd, key=lambda one: one.begin_s)),
    )  # fmt: skip


def cycle_flow_m3_s(
    cycles: Cycles, volume_m3: FloatArray, back_m3: float, pump_m3_s: FloatArray
) -> FloatArray:
    r"""Mean inflow of each cycle.

    Quiet: the pit fills by V less what falls back, b, in the time that the pump rests,
    Q = (V - b) / rest. Hard: Q = (P run - b) / T, what was lifted in all. Where runs are not told,
    T = V / Q + V / (P - Q) is solved for the lesser Q, which is that of a pump that rests more than
    it runs.

    Parameters
    ----------
    cycles : Cycles
        The cycles.
    volume_m3 : (n_cycles,) array
        Water between the levels of start and stop, V [m3].
    back_m3 : float
        Water that falls back from the pipe after each stop, b [m3].
    pump_m3_s : (n_cycles,) array
        What the pump carries, P [m3/s].

    Returns
    -------
    (n_cycles,) array
        Inflow [m3/s].

    References
    ----------
    arithmetic : balance of the pit from start to start
    """
    time = cycles.end_s - cycles.begin_s
    filled = np.maximum(volume_m3 - back_m3, 0.0)
    if not cycles.tells_runs:
        # P T Q - T Q^2 = V P
        root = np.sqrt(np.maximum((pump_m3_s * time) ** 2 - 4.0 * time * filled * pump_m3_s, 0.0))
        return np.asarray((pump_m3_s * time - root) / (2.0 * time))
    run = cycles.stop_s - cycles.begin_s
    rest = np.maximum(time - run, 1.0)
    lifted = np.maximum(pump_m3_s * run - back_m3, 0.0)
    return np.where(cycles.is_hard, lifted / time, filled / rest)


@dataclass(frozen=True, eq=False)
class Bins:
    """Whole cycles, put together until they are long enough, with what flowed in.

    Parameters
    ----------
    begin_s, end_s : (n_bins,) arrays
        From when to when, since 1970 [s].
    inflow_m3 : (n_bins,) array
        What flowed in [m3].
    """

    begin_s: FloatArray
    end_s: FloatArray
    inflow_m3: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def time_s(self) -> FloatArray:
        """Length of each [s]."""
        return np.asarray(self.end_s - self.begin_s)

    @property
    def flow_m3_s(self) -> FloatArray:
        """Mean inflow of each [m3/s]."""
        return np.asarray(self.inflow_m3 / self.time_s)

    def picked(self, which: NDArray[np.bool_]) -> Bins:
        """Return some of them.

        Parameters
        ----------
        which : (n_bins,) array of bool
            Which ones [-].

        Returns
        -------
        Bins
            Those.
        """
        return Bins(self.begin_s[which], self.end_s[which], self.inflow_m3[which])


def bins_of(begin_s: FloatArray, end_s: FloatArray, inflow_m3: FloatArray, least_s: float) -> Bins:
    """Put neighbouring spans together until each is so long.

    Parameters
    ----------
    begin_s, end_s : (n,) arrays
        From when to when [s].
    inflow_m3 : (n,) array
        What flowed in [m3].
    least_s : float
        A bin is closed once it is so long, or a gap follows [s].

    Returns
    -------
    Bins
        No longer than needed; a short rest before a gap stays as it is.

    References
    ----------
    arithmetic : sums over neighbours
    """
    first: list[int] = []
    open_until = -np.inf
    for i in range(begin_s.size):
        gap = i > 0 and begin_s[i] > end_s[i - 1] + 1.0
        if gap or begin_s[i] >= open_until:
            first.append(i)
            open_until = begin_s[i] + least_s
    at = np.array(first, dtype=np.int64)
    last = np.concatenate([at[1:], [begin_s.size]]) - 1
    return Bins(begin_s[at], end_s[last], np.add.reduceat(inflow_m3, at))


def in_spans(bins: Bins, edges_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Add inflow up to spans such as days, each bin spread evenly over its time.

    Parameters
    ----------
    bins : Bins
        What flowed in.
    edges_s : (n + 1,) array
        Ends of the spans, since 1970 [s].

    Returns
    -------
    inflow_m3 : (n,) array
        What flowed in in each, as far as it is known [m3].
    known_s : (n,) array
        How much of each is known [s].

    References
    ----------
    arithmetic : sums, even within each bin
    """
    points = np.stack([bins.begin_s, bins.end_s], axis=1).ravel()
    n = bins.begin_s.size

    def total(amount: FloatArray) -> FloatArray:
        ends = np.cumsum(amount)
        both = np.stack([ends - amount, ends], axis=1).reshape(2 * n)
        return np.asarray(np.diff(np.interp(edges_s, points, both)))

    return total(bins.inflow_m3), total(bins.time_s)
