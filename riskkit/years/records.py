"""What is found of a home through the years of a record."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from riskkit.ensemble.frames import columns_of_draws
from riskkit.errors import InputError, need_type
from riskkit.home.home import Home
from riskkit.records import ByValue, FloatArray, IntArray, freeze_arrays
from riskkit.records.arguments import need_seed
from riskkit.records.shown import ShownInNotebook
from riskkit.risk.clock import Clock
from riskkit.years.storms import RecordStorm, StormOutcomes

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["PumpMonths", "Replay", "ReplaySettings"]


@dataclass(frozen=True)
class ReplaySettings:
    """How a record is replayed.

    Parameters
    ----------
    n_draws : int
        Simulated variants of the home, a power of two [-].
    seed : int
        Of the draws [-].
    least_mm : float
        Rain and melt of a storm from which it is followed [mm].
    """

    n_draws: int = 64
    seed: int = 1
    least_mm: float = 12.7

    def __post_init__(self) -> None:
        need_type(self.n_draws, int, "draws", "give a power of two, such as 64")
        need_seed(self.seed)
        need_type(self.least_mm, (int, float), "least_mm", "give a depth, such as 12.7")
        if self.n_draws < 2 or self.n_draws & (self.n_draws - 1) or self.n_draws > 4096:
            raise InputError(
                "draws", f"{self.n_draws} is not a power of two from 2 to 4096", "such as 64"
            )
        if not 0 < self.least_mm < math.inf:
            raise InputError(
                "least_mm",
                f"storms from {self.least_mm:g} mm on",
                "give a depth above zero, such as 12.7",
            )


@dataclass(frozen=True, eq=False)
class PumpMonths(ByValue):
    """What the pump of each draw did in each month; (n_draws, n_months) arrays.

    Parameters
    ----------
    starts : array
        Number of pump starts [-].
    run_h : array
        Time the pump ran [h].
    pumped_m3 : array
        Water lifted [m3].
    inflow_m3 : array
        Water that came to the pit [m3].
    peak_use : array
        Largest flow of an hour as a share of what the pump carries [-].
    """

    starts: FloatArray
    run_h: FloatArray
    pumped_m3: FloatArray
    inflow_m3: FloatArray
    peak_use: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True, repr=False, eq=False)
class Replay(ByValue, ShownInNotebook):
    """A home through the years of a record.

    ``months``, ``days`` and ``storms`` are pandas DataFrames.

    Parameters
    ----------
    home : Home
        The home.
    settings : ReplaySettings
        How it was replayed.
    clock : Clock
        From when minutes to the floor are counted.
    record_name : str
        What the record is called.
    month : (n_months,) array of datetime64[M]
        Whole months of the record.
    day : (n_days,) array of datetime64[D]
        Days of these months.
    rain_mm, melt_mm, missing_share : (n_days,) arrays
        Rain that reaches the ground as rain, snow melt, and share of the hours that are
        missing [mm, mm, -].
    wetness : (n_days,) array
        Water in the root zone of the lot of the median home as the day begins, between wilting
        point and field capacity [-].
    lot_mm : (n_days,) array
        Water above the drain in the lot of the median home as the day begins, over its area [mm].
    by_month : PumpMonths
        What the pump does, all draws.
    median_by_day : PumpMonths
        What the pump of the median home does by the day; one row.
    record_storms : tuple of RecordStorm
        Storms and thaws.
    outcomes : StormOutcomes
        What they mean, all draws.
    median_outcomes : StormOutcomes
        The same for the median home; one row.
    even_outcomes : StormOutcomes
        The same for the first draws, with heavy hours even and not broken down into minutes.
    """

    home: Home
    settings: ReplaySettings
    clock: Clock
    record_name: str
    month: NDArray[np.datetime64]
    day: NDArray[np.datetime64]
    rain_mm: FloatArray
    melt_mm: FloatArray
    missing_share: FloatArray
    wetness: FloatArray
    lot_mm: FloatArray
    by_month: PumpMonths
    median_by_day: PumpMonths
    record_storms: tuple[RecordStorm, ...]
    outcomes: StormOutcomes
    median_outcomes: StormOutcomes
    even_outcomes: StormOutcomes

    @property
    def years(self) -> float:
        """Length of the whole months [yr]."""
        return self.month.size / 12

    @property
    def month_begins(self) -> IntArray:
        """Place of the first day of each month among the days [-]."""
        return np.searchsorted(self.day, self.month.astype("datetime64[D]"))

    @property
    def month_of_year(self) -> IntArray:
        """Month of the year of each month, 0 for January [-]."""
        return self.month.astype(np.int64) % 12

    @property
    def months(self) -> pd.DataFrame:
        """Months as a DataFrame.

        By the first day of each ``month``: rain, melt, share of missing hours, mean wetness and
        water in the lot of the median home, storms that begin in it, and what the pump does, each
        with its 10 %, 50 % and 90 % point over the draws as ``_low``, ``_median``, ``_high``.
        """
        return _month_frame(self)

    @property
    def days(self) -> pd.DataFrame:
        """Days of the median home as a DataFrame.

        By ``day``: rain, melt, share of missing hours, wetness and water in the lot as the day
        begins, and what the pump does.
        """
        return _day_frame(self)

    @property
    def storms(self) -> pd.DataFrame:
        """Storms and thaws as a DataFrame.

        By ``start``: rain and melt, wettest hour, wetness of the lot of the median home on the
        morning of that day, whether hours are missing near by, and what the storm means. Times are
        those of the draws in which they end, beside ``_never_share``; ``worst_…`` is the time from
        the event of `Clock` (``counted_from``) after a stop near the peak, ``dead_…`` that of a
        pump that failed 36 h before. ``depth_after_12_h_share`` is how likely water stands on the
        floor then.
        """
        return _storm_frame(self)

    def __repr__(self) -> str:
        return (
            f"Replay({self.home.name!r}, {self.month[0]} to {self.month[-1]}, "
            f"{len(self.record_storms)} storms and thaws, {self.settings.n_draws} draws)"
        )


_HOURS_AFTER = 12


def _month_frame(replay: Replay) -> pd.DataFrame:
    begins = replay.month_begins
    days = np.add.reduceat(np.ones(replay.day.size), begins)

    def mean(by_day: FloatArray) -> FloatArray:
        return np.asarray(np.add.reduceat(by_day, begins) / days)

    start = np.array([storm.start for storm in replay.record_storms], dtype="datetime64[M]")
    columns: dict[str, NDArray[Any]] = {
        "rain_mm": np.add.reduceat(replay.rain_mm, begins),
        "melt_mm": np.add.reduceat(replay.melt_mm, begins),
        "missing_share": mean(replay.missing_share),
        "wetness_share": mean(replay.wetness),
        "lot_water_mm": mean(replay.lot_mm),
        "storms": np.array([(start == month).sum() for month in replay.month], dtype=np.int64),
    }
    for item in fields(replay.by_month):
        columns |= columns_of_draws(item.name, getattr(replay.by_month, item.name))
    return _frame(columns, replay.month, "month")


def _day_frame(replay: Replay) -> pd.DataFrame:
    columns: dict[str, NDArray[Any]] = {
        "rain_mm": replay.rain_mm,
        "melt_mm": replay.melt_mm,
        "missing_share": replay.missing_share,
        "wetness_share": replay.wetness,
        "lot_water_mm": replay.lot_mm,
    }
    pump = replay.median_by_day
    columns |= {item.name: getattr(pump, item.name)[0] for item in fields(pump)}
    return _frame(columns, replay.day, "day")


def _storm_frame(replay: Replay) -> pd.DataFrame:
    storms, found = replay.record_storms, replay.outcomes
    start = np.array([storm.start for storm in storms], dtype="datetime64[s]")
    place = np.searchsorted(replay.day, start.astype("datetime64[D]"), side="right") - 1
    place = np.maximum(place, 0)
    columns: dict[str, NDArray[Any]] = {
        "depth_mm": np.array([storm.depth_mm for storm in storms], dtype=np.float64),
        "duration_h": np.array([storm.duration_h for storm in storms], dtype=np.float64),
        "wettest_hour_mm": np.array([storm.peak_mm for storm in storms], dtype=np.float64),
        "wetness_share": replay.wetness[place],
        "gap_near": np.array([storm.touches_gap for storm in storms], dtype=np.bool_),
    }
    for name in ("worst_s", "to_alarm_s", "dead_to_alarm_s", "dead_alarm_to_floor_s"):
        columns |= columns_of_draws(name, getattr(found, name))
    depth_m = np.where(found.depth_m > 0, found.depth_m, np.inf)
    deep = columns_of_draws(f"depth_after_{_HOURS_AFTER}_h_m", depth_m, if_ever=True)
    share = 1.0 - np.isinf(depth_m).mean(axis=0)
    columns |= {f"depth_after_{_HOURS_AFTER}_h_share": share} | deep
    columns["alarm_share"] = found.alarms.mean(axis=0)
    columns["floor_wet_share"] = found.floods.mean(axis=0)
    columns |= columns_of_draws("peak_inflow_m3_s", found.peak_m3_s)
    frame = _frame(columns, start, "start")
    frame["counted_from"] = replay.clock.value
    return frame


def _frame(
    columns: Mapping[str, NDArray[Any]], index: NDArray[np.datetime64], name: str
) -> pd.DataFrame:
    import pandas as pd

    return pd.DataFrame(
        dict(columns), index=pd.DatetimeIndex(index.astype("datetime64[s]"), name=name)
    )
