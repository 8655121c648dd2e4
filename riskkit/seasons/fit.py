"""Storm seasons of a place: the storms that fit its record, and records generated from them.

The moments of the process hold before any gauge; a record is what a gauge made of the rain. Rain
of as many years is therefore generated again and again, seen through the record's own gauge, year
by year, and through its own gaps, and compared like with like. What the gauge does to a statistic
is taken off the record's before the process is fitted to it. The spread of cells and of storms,
which these statistics leave open, is set by the largest rain of each year.
"""

from __future__ import annotations

import calendar
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.rainfall.analysis import weighed_checks
from riskkit.rainfall.doubts import need_sound
from riskkit.rainfall.lmoments import sample_lmoments
from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.quality import smallest_step_mm
from riskkit.rainfall.readers.noaa import FEWEST_WET
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.storm.fit import match_statistics
from riskkit.storm.moments import (
    STATISTICS,
    WINDOWS_H,
    by_hour_and_day,
    month_statistics,
)
from riskkit.storm.pulses import StormSeasons, fallen_mm, read_by_gauge, simulate
from riskkit.storm.synthetic import synthetic_seasons

__all__ = [
    "KNOWN_SHARE",
    "LEAST_MONTHS",
    "STATISTICS",
    "WINDOWS_H",
    "GaugedRecord",
    "StormSeasons",
    "complete_months",
    "days_by_month",
    "fit_storms",
    "generated_records",
    "generated_years",
    "sight_of",
]

LEAST_MONTHS = 10
"""Years in which each month must be complete [yr] (judgement)."""

KNOWN_SHARE = 0.95
"""Share of a month that must be known for it to be complete [-] (judgement)."""

_LEAST_WET_H = 50.0  # hours with rain in every month (judgement)
_FINEST_MM = 0.01  # for years whose values are finer than any known gauge
_MORE_THAN_FEW = 0.1  # of the years (judgement)
_NO_GAUGE_MM = 0.001  # rain as it falls
_ROUNDS = 2  # what the gauge does depends a little on the rain
_COPIES = 8  # of the record, for a look at what its gauge does
_TAIL_COPIES = 32  # for the tails: the largest rains of few copies are mostly chance
_SEED = 1  # the same record always gives the same storms
_MEAN, _SPREAD = 0.03, 0.12  # how well 60 years tell the mean and spread of their maxima
# shape of thunder cells, and spread of storms: first, least and most
_FIRST, _LEAST, _MOST = np.log([[1.3, 0.3], [0.6, 0.05], [3.0, 1.0]])


@dataclass(frozen=True)
class GaugedRecord:
    """A record by the hour, and the gauge that each of its years was seen with.

    Parameters
    ----------
    record : RainRecord
        Hourly, from a midnight to a midnight.
    first_year : int
        Calendar year of its first hour [yr].
    gauge_mm : (n_years,) array
        Step of the gauge in each calendar year [mm].
    """

    record: RainRecord
    first_year: int
    gauge_mm: FloatArray

    @property
    def year_start_h(self) -> FloatArray:
        """Start of each calendar year, and the end of the last, from the first [h]."""
        year = (self.first_year - 1970 + np.arange(self.gauge_mm.size + 1)).astype("datetime64[Y]")
        hours = year.astype("datetime64[h]")
        return np.asarray((hours - hours[0]).astype(np.float64))


def sight_of(record: RainRecord, where: str = "rain record") -> GaugedRecord:
    """Look at a record by the hour, and refuse one from which seasons cannot be told.

    Parameters
    ----------
    record : RainRecord
        A record of an hour or less.
    where : str
        Which one, for messages.

    Returns
    -------
    GaugedRecord
        The record by the hour, with its gauge.

    Raises
    ------
    InputError
        Where the interval is too long, the record cannot be right, or a month is known too short
        or has hardly any rain.

    References
    ----------
    judgement : how much is enough
    """
    hourly, month = by_hour_and_day(record, where)
    need_sound(weighed_checks(record), where)
    day = record.start.astype("datetime64[D]")
    by_hour = RainRecord(hourly, day, 3600, record.name, record.notes)
    complete = np.sum(complete_months(by_hour), axis=0)
    worst = int(complete.argmin())
    if complete[worst] < LEAST_MONTHS:
        raise InputError(
            where,
            f"{calendar.month_name[worst + 1]} is complete in {complete[worst]} of its years",
            f"seasons need every month from at least {LEAST_MONTHS} years",
        )
    wet = np.bincount(np.repeat(month, 24), hourly > 0, 12)
    worst = int(wet.argmin())
    if wet[worst] < _LEAST_WET_H:
        raise InputError(
            where,
            f"it holds {wet[worst]:.0f} hours of rain in {calendar.month_name[worst + 1]}",
            f"seasons need {_LEAST_WET_H:.0f} in every month",
        )
    year = by_hour.times.astype("datetime64[Y]").astype(np.int64) + 1970
    first = np.searchsorted(year, np.arange(year[0], year[-1] + 2))
    parts = [replace(by_hour, depth_mm=hourly[a:b]) for a, b in pairwise(first)]
    return GaugedRecord(by_hour, int(year[0]), _steps_mm(parts))


def _steps_mm(years: list[RainRecord]) -> FloatArray:
    """Step of the gauge in each year; one with hardly any rain tells none, and has the nearest."""
    told = np.flatnonzero([np.sum(one.depth_mm > 0) >= FEWEST_WET for one in years])
    steps = np.array([smallest_step_mm(years[i]) or _FINEST_MM for i in told])
    nearest = np.abs(np.subtract.outer(np.arange(len(years)), told)).argmin(axis=1)
    return np.asarray(steps[nearest])


def _usual_step_mm(gauge_mm: FloatArray) -> float:
    """Finest step of the gauge in more than a few years, which may be read from odd values."""
    steps, years = np.unique(gauge_mm, return_counts=True)
    return float(steps[years >= _MORE_THAN_FEW * gauge_mm.size].min())


def complete_months(record: RainRecord) -> NDArray[np.bool_]:
    """Tell which months of each calendar year are known well enough.

    Parameters
    ----------
    record : RainRecord
        A record of whole days.

    Returns
    -------
    (n_years, 12) array of bool
        Whether at least `KNOWN_SHARE` of the month is known [-].

    References
    ----------
    judgement : the share
    """
    by_day, month, first = days_by_month(record)
    n_months = 12 * (int(month[-1]) // 12 + 1)
    length = np.diff((first + np.arange(n_months + 1)).astype("datetime64[D]")).astype(np.int64)
    known = np.bincount(month, (~np.isnan(by_day)).mean(axis=1), n_months)
    return np.asarray((known / length >= KNOWN_SHARE).reshape(-1, 12))


def days_by_month(record: RainRecord) -> tuple[FloatArray, IntArray, np.datetime64]:
    """Lay a record out by the day, and count months from the January of its first year.

    Parameters
    ----------
    record : RainRecord
        A record of whole days.

    Returns
    -------
    tuple of (n_days, n_per_day) array, (n_days,) array of int and datetime64
        Depths [mm]; the month of each day, from 0 on [-]; the January [date].
    """
    by_day = record.depth_mm.reshape(-1, 86400 // record.interval_s)
    day = record.start.astype("datetime64[D]") + np.arange(by_day.shape[0])
    first = day[0].astype("datetime64[Y]").astype("datetime64[M]")
    return by_day, (day.astype("datetime64[M]") - first).astype(np.int64), first


def generated_records(
    seasons: StormSeasons, sight: GaugedRecord, copies: int, rng: np.random.Generator
) -> Iterator[RainRecord]:
    """Generate rain of the record's years, seen through its gauge and its gaps.

    Parameters
    ----------
    seasons : StormSeasons
        The storms.
    sight : GaugedRecord
        The record and its gauge.
    copies : int
        How many records [-].
    rng : numpy.random.Generator
        Source of the random draws.

    Yields
    ------
    RainRecord
        One after the other, hourly [mm].

    References
    ----------
    rodriguez_iturbe1987 : section 4, Bartlett-Lewis rectangular pulses
    """
    record, start_h = sight.record, sight.year_start_h.astype(np.int64)
    january = np.datetime64(f"{sight.first_year:04d}-01-01T00", "h")
    before = int((record.start - january).astype("timedelta64[h]").astype(np.int64))
    for child in rng.spawn(copies):
        fallen = fallen_mm(seasons, sight.gauge_mm.size, sight.first_year, child, apart=True)
        parts = [
            read_by_gauge(fallen[a : b + 1] - fallen[a], step)
            for a, b, step in zip(start_h[:-1], start_h[1:], sight.gauge_mm, strict=True)
        ]
        depth = np.concatenate(parts)[before : before + record.depth_mm.size]
        lost = np.isnan(record.depth_mm)
        yield replace(record, depth_mm=np.where(lost, np.nan, depth), notes=())


def generated_years(seasons: StormSeasons, n_years: int, start_year: int, seed: int) -> RainRecord:
    """Generate a rain record of whole calendar years.

    Parameters
    ----------
    seasons : StormSeasons
        The storms of the place.
    n_years : int
        How many years [yr].
    start_year : int
        The first of them [yr].
    seed : int
        Seed of the generator; the same seed gives the same record [-].

    Returns
    -------
    RainRecord
        Hourly [mm].

    References
    ----------
    rodriguez_iturbe1987 : section 4, Bartlett-Lewis rectangular pulses
    """
    return simulate(seasons, n_years, start_year, np.random.default_rng(seed))


def fit_storms(sight: GaugedRecord, tell: Callable[[str], None] = lambda _: None) -> StormSeasons:
    """Find the storms that give rain like that of a record.

    Month by month, mean, standard deviation, lag-1 correlation and dry share in windows of 1, 6 and
    24 h, less what the gauge does to them, by `riskkit.storm.fit.match_statistics`. Around that,
    the shape of the thunder cells and the spread of the storms are searched so that mean and spread
    (second L-moment) of the yearly maxima over 1, 6 and 24 h come nearest to the record's. The
    result is the best of all that was tried, always the same for the same record.

    Parameters
    ----------
    sight : GaugedRecord
        The record and its gauge.
    tell : callable
        Gets a sentence on what is being done.

    Returns
    -------
    StormSeasons
        The storms; their gauge is the finest that the record had in a tenth of its years or more.

    References
    ----------
    rodriguez_iturbe1987 : section 5, matching moments
    hosking1990 : second L-moment
    judgement : what counts how much
    """
    from scipy.optimize import least_squares

    usual = replace(
        synthetic_seasons(), gauge_mm=_usual_step_mm(sight.gauge_mm), name=sight.record.name
    )
    own = month_statistics(sight.record)
    own_maxima = _log_moments(annual_maxima(sight.record, WINDOWS_H).depth_mm)
    tell("fitting storms to every month")
    middle, target = _with_tail(usual, _FIRST), own
    for _ in range(_ROUNDS):
        middle = match_statistics(target, middle, usual)
        target = _less_gauge(own, middle, sight)
    found: list[tuple[float, StormSeasons]] = []

    def off(away: FloatArray) -> FloatArray:
        tell(f"fitting the largest rain of each year, trial {len(found) + 1}")
        tried = match_statistics(target, _with_tail(middle, _FIRST + away - 1.0), usual)
        maxima = [
            annual_maxima(one, WINDOWS_H).depth_mm for one in _copies(tried, sight, _TAIL_COPIES)
        ]
        moments = _log_moments(np.concatenate(maxima, axis=1))
        misfit = ((moments - own_maxima) / np.array([[_MEAN], [_SPREAD]])).ravel()
        found.append((float(misfit @ misfit), tried))
        return np.asarray(misfit)

    bounds = _LEAST - _FIRST + 1.0, _MOST - _FIRST + 1.0  # from ones, for steps of a fifth
    least_squares(off, np.ones(2), bounds=bounds, diff_step=[0.2, 0.2], max_nfev=4)
    return min(found, key=lambda one: one[0])[1]


def _with_tail(seasons: StormSeasons, tail: FloatArray) -> StormSeasons:
    shape, sigma = (float(value) for value in np.exp(tail))
    return replace(
        seasons,
        steady=replace(seasons.steady, storm_sigma=sigma),
        thunder=replace(seasons.thunder, storm_sigma=sigma, weibull_shape=shape),
    )


def _less_gauge(own: FloatArray, seasons: StormSeasons, sight: GaugedRecord) -> FloatArray:
    """Statistics of the rain behind a record: less what its gauge makes of generated rain."""
    fine = replace(sight, gauge_mm=np.full_like(sight.gauge_mm, _NO_GAUGE_MM))
    seen, rain = (
        np.mean([month_statistics(one) for one in _copies(seasons, way)], axis=0)
        for way in (sight, fine)
    )
    target = own * rain / seen  # mean and standard deviation
    target[..., 2] = np.clip(own[..., 2] + rain[..., 2] - seen[..., 2], -0.2, 0.98)
    wet = (1.0 - own[..., 3]) * (1.0 - rain[..., 3]) / (1.0 - seen[..., 3])
    target[..., 3] = 1.0 - np.clip(wet, 1e-4, 0.999)
    return np.asarray(target)


def _copies(
    seasons: StormSeasons, sight: GaugedRecord, copies: int = _COPIES
) -> Iterator[RainRecord]:
    return generated_records(seasons, sight, copies, np.random.default_rng(_SEED))


def _log_moments(maxima_mm: FloatArray) -> FloatArray:
    """Logarithms of mean and second L-moment of each row."""
    moments = sample_lmoments(maxima_mm)
    return np.asarray(np.log(np.stack([moments.l1, moments.l2])))
