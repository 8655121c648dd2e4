"""If the pump stops: minutes to water on the floor, and how deep it gets, by one clock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.pit.balance import level_after
from riskkit.records import FloatArray, PitInflow, PitModel, freeze_arrays
from riskkit.risk.clock import Clock, times_to_floor

__all__ = ["HOURS_AFTER", "FailureSummary", "summarise_failure", "within_a_week_s"]

HOURS_AFTER = (1.0, 3.0, 6.0, 12.0)
"""Hours after the clock starts at which the depth on the floor is told [h]."""


WEEK_S = 7 * 86400.0


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
        Water on the floor 1, 3, 6 and 12 h after the worst moment; 0 for a dry floor
        [m].
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

    Returns
    -------
    FailureSummary
        Times [s] and depths [m].

    References
    ----------
    arithmetic : least and median over the moments
    """
    starts = times_to_floor(pit, inflow, moment_s, clock)
    times = within_a_week_s(starts.to_floor_s)
    worst = times.argmin(axis=1)
    rows = np.arange(times.shape[0])
    # where the floor is never reached the moment that matters is the peak of the inflow
    peak_s = inflow.storm_m3_s.argmax(axis=1)[:, None] * inflow.step_s
    at_peak = np.abs(starts.moment_s - peak_s).argmin(axis=1)
    at = np.where(np.isinf(times[rows, worst]), at_peak, worst)
    moment, level = starts.moment_s[rows, at], starts.level_m[rows, at]
    after = level_after(pit, inflow, moment, np.array(HOURS_AFTER) * 3600.0, level)
    return FailureSummary(
        worst_s=times[rows, worst],
        worst_moment_s=moment,
        worst_level_m=level,
        typical_s=_median(times, wet > 0) if pit.has_pump else times[:, 0],
        depth_m=np.maximum(after, 0.0),
    )


def _median(times: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Middle of the wet moments of each row; the upper one of two, so that 'never' is not mixed."""
    ordered = np.sort(np.where(wet, times, np.nan), axis=1)  # NaN goes last
    at = wet.sum(axis=1) // 2
    middle: FloatArray = ordered[np.arange(times.shape[0]), at]
    return middle
