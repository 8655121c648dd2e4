"""When in the year a dead pump means water on the floor, and by when visits are best done."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.records import ByValue, FloatArray, IntArray, freeze_arrays
from riskkit.years.records import Replay
from riskkit.years.storms import AFTER_H

__all__ = [
    "MonthRisk",
    "VisitSeason",
    "failed_floods",
    "followed_soon",
    "month_risk",
    "ranked_storms",
    "visit_season",
]

_WEEKS = 52
_MOST_OF = 0.5  # of the storms that flood: the shortest season that holds as many
_STANDS_OUT = 0.75  # of the year; a season that is longer than half of it is none


@dataclass(frozen=True, eq=False)
class MonthRisk(ByValue):
    """Months of the year, January first.

    Parameters
    ----------
    dead_floods : (n_draws, 12) array
        Storms and thaws a year in which a pump dead since the day before, or stopped in them, means
        water on the floor [1/yr].
    pumped_m3, run_h : (n_draws, 12) arrays
        Water lifted [m3] and time the pump runs [h] in a month, mean of the years.
    water_mm, melt_mm, wetness, lot_mm : (12,) arrays
        Rain and melt of a month, melt among it [mm], wetness [-] and water in the lot [mm] of the
        median home, mean of the years.
    """

    dead_floods: FloatArray
    pumped_m3: FloatArray
    run_h: FloatArray
    water_mm: FloatArray
    melt_mm: FloatArray
    wetness: FloatArray
    lot_mm: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class VisitSeason:
    """The weeks in which a dead pump most often means water on the floor.

    Parameters
    ----------
    first_week, weeks : int
        Week of the year in which they begin, 1 to 52, and how many they are.
    share : float
        Share of all such storms that fall into them [-].
    expected : float
        Share of the year that they are: as many would fall into them without seasons [-].
    """

    first_week: int
    weeks: int
    share: float
    expected: float

    @property
    def stands_out(self) -> bool:
        """Whether the year has such a season at all."""
        return self.expected < _STANDS_OUT * self.share

    @property
    def first_day(self) -> tuple[int, int]:
        """Month and day on which they begin."""
        day = np.datetime64("2001-01-01") + 7 * (self.first_week - 1)
        month = int(day.astype("datetime64[M]").astype(np.int64)) % 12 + 1
        return month, int((day - day.astype("datetime64[M]")).astype(np.int64)) + 1


def failed_floods(replay: Replay) -> FloatArray:
    """Tell where a pump that is dead before a storm, or stops in it, means water on the floor.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    (n_draws, n_storms) array
        1 where it does [-].
    """
    found = replay.outcomes
    return np.asarray(
        np.isfinite(found.dead_alarm_to_floor_s) | np.isfinite(found.worst_s), np.float64
    )


def followed_soon(replay: Replay) -> NDArray[np.bool_]:
    """Tell which storms another one follows while a pump that stopped is still followed.

    Such a storm counts as flooding where the next one floods: the pump is out of order in both.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    (n_storms,) array of bool
        Whether the wettest hour of the next storm lies within the window of the storm [-].
    """
    peak = np.array([storm.peak for storm in replay.record_storms], dtype=np.int64)
    return np.append(np.diff(peak) < AFTER_H, np.zeros(min(peak.size, 1), dtype=np.bool_))


def month_risk(replay: Replay) -> MonthRisk:
    """Sum the years of a replay up by the month of the year.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    MonthRisk
        Months.
    """
    of_month = replay.month_of_year
    times = np.bincount(of_month, minlength=12)
    year_s = np.maximum(times, 1)
    start = np.array([s.start for s in replay.record_storms], dtype="datetime64[M]")
    floods, month = failed_floods(replay), start.astype(np.int64) % 12
    dead = np.stack([floods[:, month == m].sum(axis=1) for m in range(12)], axis=1)
    day_month = replay.day.astype("datetime64[M]").astype(np.int64) % 12
    days = np.maximum(np.bincount(day_month, minlength=12), 1)

    def of_draws(values: FloatArray) -> FloatArray:
        sums = [values[:, of_month == m].sum(axis=1) for m in range(12)]
        return np.stack(sums, axis=1) / year_s

    def sums(by_day: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(day_month, by_day, minlength=12))

    return MonthRisk(
        dead_floods=dead / year_s,
        pumped_m3=of_draws(replay.by_month.pumped_m3),
        run_h=of_draws(replay.by_month.run_h),
        water_mm=sums(replay.rain_mm + replay.melt_mm) / year_s,
        melt_mm=sums(replay.melt_mm) / year_s,
        wetness=sums(replay.wetness) / days,
        lot_mm=sums(replay.lot_mm) / days,
    )


def visit_season(replay: Replay) -> VisitSeason | None:
    """Find the shortest run of weeks that holds half of the storms in which a dead pump floods.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    VisitSeason or None
        None where a dead pump never means water on the floor.

    References
    ----------
    judgement : half of the storms
    """
    start = np.array([s.start for s in replay.record_storms], dtype="datetime64[D]")
    weight = failed_floods(replay).mean(axis=0)
    if not weight.sum() > 0:
        return None
    in_year = (start - start.astype("datetime64[Y]")).astype(np.int64)
    by_week = np.bincount(np.minimum(in_year // 7, _WEEKS - 1), weight, _WEEKS) / weight.sum()
    around = np.concatenate([[0.0], np.cumsum(np.tile(by_week, 2))])
    for weeks in range(1, _WEEKS + 1):
        held = around[weeks : weeks + _WEEKS] - around[:_WEEKS]
        if held.max() >= _MOST_OF - 1e-9:
            first = int(held.argmax())
            return VisitSeason(first + 1, weeks, float(held[first]), weeks / _WEEKS)
    raise AssertionError("the whole year holds all")


def ranked_storms(replay: Replay) -> IntArray:
    """Rank the storms of a replay by what they do to this pit, the worst first.

    The one with the least time to the floor in the median of all draws is the worst; where the
    middle is never, the one in which water gets there in more draws; then the faster one.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    (n_storms,) array of int
        Places among the storms [-].

    References
    ----------
    judgement : order of the ranks
    """
    found = np.sort(replay.outcomes.worst_s, axis=0)
    median, least = found[(found.shape[0] - 1) // 2], found[0]
    return np.lexsort((least, np.isinf(found).sum(axis=0), median))
