"""How generated seasons compare with the record they were fitted to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from riskkit.rainfall.events import split_storms
from riskkit.rainfall.frequency import depth_by_return_period_mm, depth_limits_mm
from riskkit.rainfall.maxima import annual_maxima, weiss_factor
from riskkit.records import FloatArray, IntArray, RainRecord, freeze_arrays
from riskkit.seasons.fit import GaugedRecord, complete_months, days_by_month, generated_records
from riskkit.storm.moments import WINDOWS_H, month_statistics
from riskkit.storm.pulses import StormSeasons

__all__ = ["LARGE_STORM_MM", "RETURN_PERIODS_YR", "MonthYears", "SeasonCheck", "check_seasons",
           "largest_mm", "median_off_pct", "month_years"]  # fmt: skip

RETURN_PERIODS_YR = (2.0, 10.0, 50.0)
"""Return periods at which the largest rains are compared [yr]."""

LARGE_STORM_MM = 25.4
"""Depth from which a storm is counted as large [mm]; one inch (judgement)."""

_FEWEST_YEARS = 10  # fewer tell nothing of a largest rain
_COPIES = 20
_SEED = 2  # not that of the fit
_LIMITS = (0.05, 0.95)  # of 20 copies: another record lies between them 81 times in 100


@dataclass(frozen=True)
class MonthYears:
    """Each calendar month of each year of a record.

    Parameters
    ----------
    total_mm : (n_years, 12) array
        Rain of the month [mm]; not a number where too much of it is missing.
    large_storms : (n_years, 12) array
        Number of large storms that begin in it [-].
    largest_day_mm : (n_years, 12) array
        Rain of its largest day [mm].
    """

    total_mm: FloatArray
    large_storms: FloatArray
    largest_day_mm: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class SeasonCheck:
    """A record beside many generated ones of its years, seen through its gauge and gaps.

    Parameters
    ----------
    copies : int
        How many records were generated [-].
    record, generated, low, high : (12, n_windows, 4) arrays
        Statistics by month and window as of `riskkit.storm.moments` [mm, mm, -, -]: the record's;
        mean of the generated; and the limits within which about 8 of 10 records of such storms lie.
    record_depth_mm, lower_mm, upper_mm, generated_depth_mm : (n_windows, n_periods) arrays
        Depths by duration and `RETURN_PERIODS_YR` [mm]: the record's, its 5 % and 95 % limits, and
        the mean of those of the generated records.
    years : int
        Years of the record whose maxima count [yr].
    record_months, generated_months : MonthYears
        Months of the record, and of all generated records.
    """

    copies: int
    record: FloatArray
    generated: FloatArray
    low: FloatArray
    high: FloatArray
    record_depth_mm: FloatArray
    lower_mm: FloatArray
    upper_mm: FloatArray
    generated_depth_mm: FloatArray
    years: int
    record_months: MonthYears
    generated_months: MonthYears

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def statistics_within(self) -> tuple[int, int]:
        """How many of the record's statistics lie within the limits, and of how many."""
        within = (self.record >= self.low) & (self.record <= self.high)
        return int(within.sum()), within.size

    @property
    def depths_within(self) -> tuple[int, int]:
        """How many generated depths lie within the record's limits, and of how many."""
        depth = self.generated_depth_mm
        within = (depth >= self.lower_mm) & (depth <= self.upper_mm)
        return int(within.sum()), within.size


def check_seasons(
    seasons: StormSeasons, sight: GaugedRecord, tell: Callable[[str], None] = lambda _: None
) -> SeasonCheck:
    """Compare a record with records generated from storms fitted to it.

    Parameters
    ----------
    seasons : StormSeasons
        The storms.
    sight : GaugedRecord
        The record and its gauge.
    tell : callable
        Gets a sentence on what is being done.

    Returns
    -------
    SeasonCheck
        Both, side by side.

    References
    ----------
    weiss1964 : fixed-interval factor
    hosking1985 : distribution of the maxima
    efron1993 : percentile interval, chapter 13
    """
    rng = np.random.default_rng(_SEED)
    statistics, maxima, months = [], [], []
    for i, record in enumerate(generated_records(seasons, sight, _COPIES, rng)):
        tell(f"comparing generated record {i + 1} of {_COPIES}")
        statistics.append(month_statistics(record))
        maxima.append(annual_maxima(record, WINDOWS_H).depth_mm)
        months.append(month_years(record))
    low, high = np.quantile(statistics, _LIMITS, axis=0)
    own = annual_maxima(sight.record, WINDOWS_H)
    factor = weiss_factor(own.intervals)[:, None]
    periods = np.array(RETURN_PERIODS_YR)
    limits = depth_limits_mm(own.depth_mm * factor, periods, np.random.default_rng(_SEED))
    return SeasonCheck(
        copies=_COPIES,
        record=month_statistics(sight.record),
        generated=np.mean(statistics, axis=0),
        low=low,
        high=high,
        record_depth_mm=depth_by_return_period_mm(own.depth_mm * factor, periods),
        lower_mm=limits[0],
        upper_mm=limits[1],
        # each fitted like the record; of all years at once the shape would hardly be drawn in
        generated_depth_mm=np.mean(
            [depth_by_return_period_mm(one * factor, periods) for one in maxima], axis=0
        ),
        years=own.year.size,
        record_months=month_years(sight.record),
        generated_months=MonthYears(
            np.concatenate([one.total_mm for one in months]),
            np.concatenate([one.large_storms for one in months]),
            np.concatenate([one.largest_day_mm for one in months]),
        ),
    )


def median_off_pct(check: SeasonCheck, depth_mm: FloatArray) -> float:
    """Say how far largest rains lie off those of the record, in the middle.

    Parameters
    ----------
    check : SeasonCheck
        The record.
    depth_mm : (n_windows, n_periods) array
        Largest rains [mm].

    Returns
    -------
    float
        Median difference in per cent of the record's [%].

    References
    ----------
    arithmetic : median of ratios
    """
    return 100.0 * float(np.median(depth_mm / check.record_depth_mm - 1.0))


def largest_mm(record: RainRecord) -> FloatArray | None:
    """Largest rains of a record by window and return period, those of `SeasonCheck`.

    Parameters
    ----------
    record : RainRecord
        An hourly record.

    Returns
    -------
    (n_windows, n_periods) array or None
        Depths [mm]; None where fewer than ten years count.

    References
    ----------
    weiss1964 : fixed-interval factor
    hosking1985 : distribution of the maxima
    """
    if record.depth_mm.size * record.interval_s < _FEWEST_YEARS * 365.0 * 86400.0:
        return None
    own = annual_maxima(record, WINDOWS_H)
    factor = weiss_factor(own.intervals)[:, None]
    return depth_by_return_period_mm(own.depth_mm * factor, np.array(RETURN_PERIODS_YR))


def month_years(record: RainRecord, large_mm: float = LARGE_STORM_MM) -> MonthYears:
    """Sum a record up by month and year: rain, large storms, largest day.

    Storms are those of `riskkit.rainfall.events.split_storms`. Only months
    that are complete enough count, see `riskkit.seasons.fit.complete_months`.

    Parameters
    ----------
    record : RainRecord
        An hourly record of whole days.
    large_mm : float
        Depth from which a storm is large [mm].

    Returns
    -------
    MonthYears
        One row per calendar year.
    """
    by_day, month, first = days_by_month(record)
    n_months = 12 * (int(month[-1]) // 12 + 1)
    rain = np.nansum(by_day, axis=1)
    largest = np.zeros(n_months)
    np.maximum.at(largest, month, rain)
    starts = [storm.start for storm in split_storms(record) if storm.depth_mm >= large_mm]
    at = (np.array(starts, dtype="datetime64[M]") - first).astype(np.int64)
    complete = complete_months(record)

    def where_complete(values: FloatArray | IntArray) -> FloatArray:
        return np.where(complete, values.reshape(-1, 12), np.nan)

    return MonthYears(
        where_complete(np.bincount(month, rain, n_months)),
        where_complete(np.bincount(at, minlength=n_months)),
        where_complete(largest),
    )
