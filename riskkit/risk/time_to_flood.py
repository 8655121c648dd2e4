"""If the pump stops: minutes to water on the floor, and how deep it gets, by one clock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.pit.balance import level_after
from riskkit.records import FloatArray, IntArray, PitInflow, PitModel, freeze_arrays
from riskkit.risk.clock import Clock, Starts, times_to_floor

__all__ = ["HOURS_AFTER", "FailureSummary", "summarise_failure", "within_a_week_s"]

HOURS_AFTER = (1.0, 3.0, 6.0, 12.0)
"""Hours after the clock starts at which the depth on the floor is told [h]."""


WEEK_S = 7 * 86400.0
_EARLIER = 1 / 8  # of the time told, before the moment after which most storm water comes


def within_a_week_s(time_s: FloatArray) -> FloatArray:
    """Count as never what takes more than a week: a trickle that somebody finds long before.

    Parameters
    ----------
    time_s : array
        Times to the floor [s].

    Returns
    -------
    array
        The same, infinite beyond a week [s].

    References
    ----------
    judgement : a week
    """
    return np.where(time_s > WEEK_S, np.inf, time_s)


@dataclass(frozen=True)
class FailureSummary:
    """What a pump that stops in a storm means, draw by draw.

    Parameters
    ----------
    worst_s : (n_draws,) array
        Least time to the floor over all moments; infinite for never [s].
    worst_moment_s : (n_draws,) array
        When the clock starts in that case, from the start of the storm [s].
    worst_level_m : (n_draws,) array
        Level of the water then, relative to the floor [m].
    typical_s : (n_draws,) array
        Median time over the moments of the wet part of the storm; infinite for never [s].
    depth_m : (n_draws, 4) array
        Water on the floor 1, 3, 6 and 12 h after the clock starts, each at the moment at which that
        depth is greatest; 0 where the pit does not overflow [m].
    """

    worst_s: FloatArray
    worst_moment_s: FloatArray
    worst_level_m: FloatArray
    typical_s: FloatArray
    depth_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def summarise_failure(
    pit: PitModel,
    inflow: PitInflow,
    moment_s: FloatArray,
    wet: FloatArray,
    clock: Clock = Clock.ALARM,
    *,
    with_depth: bool = True,
) -> FailureSummary:
    """Find the worst and the typical moment at which the pump may stop.

    Parameters
    ----------
    pit : PitModel
        The pits.
    inflow : PitInflow
        Storm water, with the drainage after the storm.
    moment_s : (n_moments,) array
        Moments at which the alarm may sound or the pump stop [s].
    wet : (n_draws, n_moments) array
        1 for the moments of the wet part of the storm, else 0 [-].
    clock : Clock
        From when the time is counted.
    with_depth : bool
        Whether the depth on the floor is looked for, which takes as long as all the rest; else 0.

    Returns
    -------
    FailureSummary
        Times [s] and depths [m].

    References
    ----------
    arithmetic : least, median and greatest over the moments
    """
    starts = times_to_floor(pit, inflow, moment_s, clock)
    times = within_a_week_s(starts.to_floor_s)
    worst = times.argmin(axis=1)
    rows = np.arange(times.shape[0])
    # where the floor is never reached the moment that matters is the peak of the inflow
    peak_s = inflow.storm_m3_s.argmax(axis=1)[:, None] * inflow.step_s
    at_peak = np.abs(starts.moment_s - peak_s).argmin(axis=1)
    at = np.where(np.isinf(times[rows, worst]), at_peak, worst)
    return FailureSummary(
        worst_s=times[rows, worst],
        worst_moment_s=starts.moment_s[rows, at],
        worst_level_m=starts.level_m[rows, at],
        typical_s=_median(times, wet > 0) if pit.has_pump else times[:, 0],
        depth_m=_greatest_depth_m(pit, inflow, starts, at)
        if with_depth
        else np.zeros((at.size, len(HOURS_AFTER))),
    )


def _greatest_depth_m(
    pit: PitModel, inflow: PitInflow, starts: Starts, worst: IntArray
) -> FloatArray:
    """Depth on the floor some hours after the clock starts, over all moments (n_draws, n_hours).

    What comes decides how deep it gets, for none is pumped out again: followed are the moment after
    which most storm water comes, one somewhat before it, for ground water comes the faster the
    longer the level stays low, and the one worst for time. Of all moments one by one the greatest
    depth is at most a few per cent greater (a test holds that).
    """
    rows = np.arange(worst.size)

    def followed(at: IntArray, after_s: FloatArray) -> FloatArray:
        moment, level = starts.moment_s[rows, at], starts.level_m[rows, at]
        return np.maximum(level_after(pit, inflow, moment, after_s, level), 0.0)

    hours_s = np.array(HOURS_AFTER) * 3600.0
    found = followed(worst, hours_s)
    if starts.moment_s.shape[1] == 1:
        return found
    come = np.cumsum(np.pad(inflow.storm_m3_s, ((0, 0), (1, 0))), axis=1)
    step = np.round(starts.moment_s / inflow.step_s).astype(np.intp)
    for k, span_s in enumerate(hours_s):
        wettest = _wettest(come, step, round(span_s / inflow.step_s))
        before_s = starts.moment_s[rows, wettest][:, None] - _EARLIER * span_s
        earlier = np.abs(starts.moment_s - before_s).argmin(axis=1)
        for at in (wettest, earlier):
            found[:, k] = np.maximum(found[:, k], followed(at, hours_s[k : k + 1])[:, 0])
    return found


def _wettest(come: FloatArray, begin: IntArray, n_steps: int) -> IntArray:
    """Which of the steps in a row has most storm water in the steps after it."""
    last = come.shape[1] - 1
    at = (np.minimum(begin, last), np.minimum(begin + n_steps, last))
    before, after = (np.take_along_axis(come, steps, axis=1) for steps in at)
    return np.asarray((after - before).argmax(axis=1))


def _median(times: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Middle of the wet moments of each row; the upper one of two, so that 'never' is not mixed."""
    ordered = np.sort(np.where(wet, times, np.nan), axis=1)  # NaN goes last
    at = wet.sum(axis=1) // 2
    middle: FloatArray = ordered[np.arange(times.shape[0]), at]
    return middle
