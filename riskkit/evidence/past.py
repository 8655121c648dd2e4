"""The rain with which observations of certain days and years are compared."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.home.home import Home
from riskkit.home.observations import Observation
from riskkit.records import ByValue, DepthDurationFrequency, IntArray, RainRecord

__all__ = [
    "IN_YEARS",
    "LEAD_H",
    "ON_A_DAY",
    "Past",
    "covers",
    "has_rain",
    "is_of_rain",
    "past_of",
    "wettest_hours",
]

ON_A_DAY = frozenset({"alarm_on", "floor_on"})
"""What is told of one day."""
IN_YEARS = frozenset({"floods", "alarms", "high_water"})
"""What is told of some years."""
LEAD_H = 30 * 24
"""Hours that run before those of which it is told (judgement) [h]."""
_DAY_H, _DAY_S = 24, 86400.0
_MOST_GAPS = 0.05  # of the hours of which it is told (judgement)
_STORMS = 6  # of the years, that are run (judgement)


@dataclass(frozen=True, eq=False)
class Past(ByValue):
    """Rain of the place of a home, as far as it is known.

    Parameters
    ----------
    hours : HourlyWeather, optional
        Hours of a record with temperatures.
    depths : DepthDurationFrequency, optional
        Depths by how often they come.
    """

    hours: HourlyWeather | None = None
    depths: DepthDurationFrequency | None = None


def past_of(
    home: Home,
    record: RainRecord | None,
    weather: DailyWeather | None,
    depths: DepthDurationFrequency | None,
) -> Past:
    """Join what is known of the rain of a place; hours only where something told asks for them.

    Parameters
    ----------
    home : Home
        The home.
    record : RainRecord or None
        Rain; days of a generated record never were, and say nothing of any.
    weather : DailyWeather or None
        Days of the same place with temperatures.
    depths : DepthDurationFrequency or None
        Depths in partial-duration terms.

    Returns
    -------
    Past
        The rain.
    """
    asked = any(is_of_rain(one) for one in home.as_observed.observation)
    latitude = home.place.latitude
    if not asked or record is None or weather is None or latitude is None or record.is_generated:
        return Past(None, depths)
    return Past(hourly_weather(record, weather, latitude), depths)


def covers(hours: HourlyWeather | None, first: datetime.date, last: datetime.date) -> bool:
    """Tell whether a record holds the days of which something is told, and the weeks before them.

    Parameters
    ----------
    hours : HourlyWeather or None
        The record.
    first, last : datetime.date
        First and last day [day].

    Returns
    -------
    bool
        True where at most one hour in twenty is missing.
    """
    if hours is None:
        return False
    begin, end = first_hour(hours, first), first_hour(hours, last) + _DAY_H
    if begin < LEAD_H or end > hours.water_mm.size:
        return False
    return float(hours.is_gap[begin:end].mean()) <= _MOST_GAPS


def first_hour(hours: HourlyWeather, day: datetime.date) -> int:
    """Return the place of the first hour of a day among the hours of a record.

    Parameters
    ----------
    hours : HourlyWeather
        The record.
    day : datetime.date
        The day.

    Returns
    -------
    int
        Below zero before its beginning [-].

    References
    ----------
    arithmetic : days since 1970
    """
    return (int(np.datetime64(day, "D").astype(np.int64)) - hours.first_day) * _DAY_H


def years_of(one: Observation) -> tuple[datetime.date, float]:
    """Return the first day and the years of which an observation tells.

    Parameters
    ----------
    one : Observation
        Of some years.

    Returns
    -------
    first : datetime.date
        The first day.
    years : float
        From then to its date [yr].

    References
    ----------
    arithmetic : 365.25 days
    """
    if one.since is not None:
        return one.since, (one.date - one.since).days / 365.25
    years = float(one.years or 1)
    return one.date - datetime.timedelta(days=round(365.25 * years)), years


def is_of_rain(one: Observation) -> bool:
    """Tell whether an observation is of certain days or years, and is compared with their rain.

    Parameters
    ----------
    one : Observation
        The observation.

    Returns
    -------
    bool
        True for counters, marks, and what alarm and floor did then.
    """
    return one.kind == "counter" or one.kind in ON_A_DAY or one.kind in IN_YEARS


def has_rain(one: Observation, past: Past) -> bool:
    """Tell whether there is rain against which an observation can be held.

    Parameters
    ----------
    one : Observation
        The observation.
    past : Past
        The rain of its place.

    Returns
    -------
    bool
        True also for what is told of no rain.
    """
    if one.kind == "counter":
        return one.since is not None and covers(past.hours, one.since, one.date)
    if one.kind in ON_A_DAY:
        day = one.day or one.date
        return one.rain is not None or covers(past.hours, day, day)
    if one.kind in IN_YEARS:
        return past.depths is not None or covers(past.hours, years_of(one)[0], one.date)
    return True


def wettest_hours(hours: HourlyWeather, first: datetime.date, last: datetime.date) -> IntArray:
    """Return where the wettest days between two days lie, two days or more apart.

    Parameters
    ----------
    hours : HourlyWeather
        The record.
    first, last : datetime.date
        First and last day.

    Returns
    -------
    (n,) array of int
        First hours of the spans of 24 h with the most rain and melt, six at most [-].

    References
    ----------
    arithmetic : sums of 24 hours
    judgement : six storms stand for all of the years
    """
    begin, end = first_hour(hours, first), first_hour(hours, last) + _DAY_H
    sums = np.concatenate([[0.0], np.cumsum(hours.water_mm[begin:end])])
    fell = sums[_DAY_H:] - sums[:-_DAY_H]
    found: list[int] = []
    while len(found) < _STORMS and fell.size and fell.max() > 0:
        at = int(fell.argmax())
        found.append(begin + at)
        fell[max(0, at - 2 * _DAY_H) : at + 2 * _DAY_H] = 0.0
    return np.array(sorted(found), dtype=np.int64)
