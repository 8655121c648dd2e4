"""What breaking heavy hours down into minutes does to the answer, against even hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.records import FloatArray
from riskkit.years.records import Replay

__all__ = ["LIMITS_S", "MinutesEffect", "TwoWays", "minutes_effect"]

LIMITS_S = (900.0, 3600.0, 4 * 3600.0, float("inf"))
"""Times to the floor, from the event of `Clock`, that are counted: within these [s]."""


@dataclass(frozen=True)
class TwoWays:
    """How often something happens, with heavy hours in minutes and with even hours.

    Parameters
    ----------
    within_s : float
        Within what time; infinite for at all [s].
    minutes, even : float
        Mean of the same draws, all storms counted [1/yr].
    """

    within_s: float
    minutes: float
    even: float


@dataclass(frozen=True)
class MinutesEffect:
    """The same storms and draws with heavy hours broken down into minutes, and even.

    Parameters
    ----------
    draws : int
        How many draws were run both ways [-].
    heavy_storms, storms : int
        Storms that hold a heavy hour, and all storms [-].
    floods : tuple of TwoWays
        Storms in which a pump that stops in them means water on the floor.
    alarms : TwoWays
        Storms in which the alarm sounds with the pump working.
    time_change : Points, optional
        How much longer the time to the floor is by the minutes, as a share of that of even hours,
        where both are more than nothing: of the draws and storms with a heavy hour 10 %, 50 % and
        90 % points; below zero where it is shorter; None where there is none [-].
    """

    draws: int
    heavy_storms: int
    storms: int
    floods: tuple[TwoWays, ...]
    alarms: TwoWays
    time_change: Points | None


def minutes_effect(replay: Replay) -> MinutesEffect:
    """Compare the storms of a replay with heavy hours in minutes, and even over the hour.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    MinutesEffect
        What differs; nothing where no storm holds a heavy hour.

    References
    ----------
    arithmetic : counts and ratios over draws and storms
    """
    even = replay.even_outcomes
    draws: int = even.worst_s.shape[0]
    ours, theirs = replay.outcomes.worst_s[:draws], even.worst_s
    heavy = np.array([storm.is_heavy for storm in replay.record_storms], dtype=np.bool_)

    def per_year(hits: FloatArray) -> float:
        return float(hits.sum() / (draws * replay.years))

    def floods(limit: float) -> TwoWays:
        both = (np.asarray((t <= limit) & np.isfinite(t), dtype=np.float64) for t in (ours, theirs))
        return TwoWays(limit, *(per_year(hits) for hits in both))

    timed = np.isfinite(ours) & np.isfinite(theirs) & (ours > 0) & (theirs > 0) & heavy
    change = None
    if timed.any():
        points = outcome(ours[timed] / theirs[timed] - 1.0)
        change = Points(points.low, points.median, points.high)
    return MinutesEffect(
        draws=draws,
        heavy_storms=int(heavy.sum()),
        storms=heavy.size,
        floods=tuple(floods(limit) for limit in LIMITS_S),
        alarms=TwoWays(
            float("inf"), per_year(replay.outcomes.alarms[:draws]), per_year(even.alarms)
        ),
        time_change=change,
    )
