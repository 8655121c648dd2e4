r"""What stands in for the rain of a home that has none yet: depths of its region.

No network and no record is needed, so a home is drawn and answered at once; what it says is marked
and goes as soon as rain of the place is there. The 100-year hour is printed for some forty places.
Between them its logarithm is the mean of the three nearest, weighted by the inverse square of the
distance. How far each place lies from what the *others* say of it is the spread. Other return
periods and durations follow from printed ratios, whose spreads add as independent ones.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from riskkit.quantities.units import convert
from riskkit.rainfall.distance import distance_km
from riskkit.rainfall.extremes import with_short_durations
from riskkit.rainfall.frequency import monotone_depths_mm
from riskkit.rainfall.ratios import RatioSet, duration_ratios, widened_limits_mm
from riskkit.records import DepthDurationFrequency, FloatArray, Series
from riskkit.tables import load_table

__all__ = [
    "HourPoints",
    "growth_of_hour",
    "hour_at",
    "hour_between",
    "hour_points",
    "log_sd_between",
    "regional_depths",
]

PERIODS_YR = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
_NEAREST = 3
_FAR_KM = 800.0  # beyond, the printed places say no more of it than of any other place
_AT_LEAST_KM = 1.0  # below, a place counts as this far, so that no weight is infinite
_MARK = "regional default, not rain of this place"


class HourPoints(NamedTuple):
    """Places (n,), latitude and longitude (n,) [deg], their 100-year hours (n,) [mm]."""

    place: tuple[str, ...]
    latitude: FloatArray
    longitude: FloatArray
    hour_mm: FloatArray


@cache
def hour_points() -> HourPoints:
    """Read the places for which the 100-year hour is printed.

    Returns
    -------
    HourPoints
        The rows of ``tables/regional_hours.csv``; where it has no depth, that of
        ``tables/hour_depths.csv``.

    References
    ----------
    ipc_b : the 100-year hour
    noaa_atlas14_v2 : the 100-year hour of three places
    eccc_idf : the 100-year hour of Charlottetown
    """
    rows = load_table("regional_hours").rows
    printed = _printed_hours_mm()
    hour = [
        convert(float(row["depth"]), "in", "mm") if row["depth"] else printed[row["place"]][100.0]
        for row in rows
    ]
    latitude, longitude = (
        np.array([float(row[name]) for row in rows]) for name in ("latitude", "longitude")
    )
    return HourPoints(tuple(row["place"] for row in rows), latitude, longitude, np.array(hour))


def _printed_hours_mm() -> dict[str, dict[float, float]]:
    found: dict[str, dict[float, float]] = {}
    for row in load_table("hour_depths").rows:
        unit = row["unit"].partition("/")[0]  # an hour of in/h is as many in
        hours = found.setdefault(row["place"], {})
        hours[float(row["period"])] = convert(float(row["d60"]), unit, "mm")
    return found


@cache
def growth_of_hour() -> tuple[FloatArray, FloatArray]:
    """Hours of other return periods over that of 100 years, as printed tables have them.

    Returns
    -------
    tuple of two (7,) arrays
        Geometric mean of the ratios of the tables that print all of 1 to 100 years [-], and the
        standard deviation of their logarithms [-].

    References
    ----------
    noaa_atlas14_v2 : 60 minutes, as the other volumes in tables/hour_depths.csv
    """
    whole = [hours for hours in _printed_hours_mm().values() if set(PERIODS_YR) <= hours.keys()]
    logs = np.array([[np.log(hours[yr] / hours[100.0]) for yr in PERIODS_YR] for hours in whole])
    return np.exp(logs.mean(axis=0)), logs.std(axis=0, ddof=1)


def hour_between(points: HourPoints, latitude: float, longitude: float) -> tuple[float, int, float]:
    """The hour between places, on the logarithm, by the inverse squares of three distances.

    Parameters
    ----------
    points : HourPoints
        The places.
    latitude, longitude : float
        Where [deg].

    Returns
    -------
    tuple of float, int and float
        The depth [mm], which place is nearest [-], and how far it is [km].

    References
    ----------
    judgement : three places, inverse squares
    """
    away = np.maximum(
        distance_km(latitude, longitude, points.latitude, points.longitude), _AT_LEAST_KM
    )
    near = np.argsort(away)[:_NEAREST]
    weight = away[near] ** -2.0
    log_hour = float(np.sum(weight * np.log(points.hour_mm[near])) / np.sum(weight))
    return float(np.exp(log_hour)), int(near[0]), float(away[near[0]])


@cache
def log_sd_between() -> float:
    """How far the 100-year hour of a place lies from what the other places say of it.

    Returns
    -------
    float
        Root mean square of the differences of logarithms, each place left out once [-].

    References
    ----------
    arithmetic : leaving one out
    """
    points, off = hour_points(), []
    for i in range(len(points.place)):
        others = HourPoints(
            points.place[:i] + points.place[i + 1 :], *(np.delete(v, i) for v in points[1:])
        )
        hour, _, away = hour_between(others, float(points.latitude[i]), float(points.longitude[i]))
        if away < _FAR_KM:
            off.append(np.log(hour / points.hour_mm[i]))
    return float(np.sqrt(np.mean(np.square(off))))


def hour_at(latitude: float | None, longitude: float | None) -> tuple[float, float, str]:
    """Estimate the 100-year hour of a place.

    Parameters
    ----------
    latitude, longitude : float, optional
        The place [deg]; None where nobody gave it.

    Returns
    -------
    tuple of float, float and str
        The depth [mm], the standard deviation of its logarithm [-], and the nearest printed place;
        empty where none is within 800 km, for which the middle and spread of all places count.

    References
    ----------
    judgement : three places, inverse squares, 800 km
    """
    points = hour_points()
    if latitude is not None and longitude is not None:
        hour, nearest, away = hour_between(points, latitude, longitude)
        if away < _FAR_KM:
            return hour, log_sd_between(), points.place[nearest]
    logs = np.log(points.hour_mm)
    return float(np.exp(logs.mean())), float(logs.std(ddof=1)), ""


def regional_depths(latitude: float | None, longitude: float | None) -> DepthDurationFrequency:
    """Depths of rain that stand in where a home has no rain yet, marked as such.

    Parameters
    ----------
    latitude, longitude : float, optional
        The place [deg]; None where nobody gave it.

    Returns
    -------
    DepthDurationFrequency
        From 5 minutes to 72 hours and from 1 to 100 years, in terms of partial duration; its limits
        hold the spread between places, of the growth with the return period, and of the ratios.

    References
    ----------
    neh630_4 : the hour over the day
    noaa_atlas14_v2 : two and three days over the day
    judgement : spreads of the ratios
    """
    hour_mm, place_sd, nearest = hour_at(latitude, longitude)
    growth, growth_sd = growth_of_hour()
    day = duration_ratios(RatioSet.REGION_MEAN)
    days = duration_ratios(RatioSet.DAYS)
    hours = np.concatenate([day.duration_h, days.duration_h])
    to_day = np.concatenate([day.ratio, days.ratio])
    # the hour is what is known: its own ratio to the day has no spread of its own here
    ratio, of_hour = to_day / day.ratio[0], day.spread[0]
    ratio_sd = np.concatenate([np.sqrt(of_hour**2 - day.spread**2), np.hypot(of_hour, days.spread)])
    depth = monotone_depths_mm(hour_mm * ratio[:, None] * growth[None, :])[0]
    own = 1.6449 * np.hypot(place_sd, growth_sd)  # half of 90 %, as for the ratios
    limits = widened_limits_mm(depth, depth * np.exp(-own), depth * np.exp(own), ratio_sd)
    where = f"nearest printed place: {nearest}" if nearest else "no printed place near"
    return with_short_durations(
        DepthDurationFrequency(
            hours, np.array(PERIODS_YR), depth, Series.PARTIAL_DURATION,
            lower_mm=monotone_depths_mm(limits[0])[0], upper_mm=monotone_depths_mm(limits[1])[0],
            source=f"{_MARK} ({where})",
            notes=("The depths are those of a region, made from printed ones: put rain of the "
                   "place in their stead before anything is decided.",),
        )
    )  # fmt: skip
