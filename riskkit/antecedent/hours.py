"""The hours of a place: water that reaches the ground, and what plants would use of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.antecedent.days import DailyWeather, lawn_demand_mm
from riskkit.errors import InputError
from riskkit.inflow.snow import rain_share, snow_days, thawed_share
from riskkit.records import ByValue, FloatArray, RainRecord, freeze_arrays

__all__ = ["HourlyWeather", "hourly_weather"]

_HOUR_S, _DAY_S, _HOURS = 3600, 86400, 24


@dataclass(frozen=True, eq=False)
class HourlyWeather(ByValue):
    """Hours of a place, whole days without a break.

    Parameters
    ----------
    first_day : int
        Days since 1970-01-01 of the first day [day].
    water_mm : (n_hours,) array
        Rain and snow melt; a gap of the record counts as dry [mm].
    melt_mm : (n_hours,) array
        Snow melt among it [mm].
    demand_mm : (n_hours,) array
        Evapotranspiration of a lawn where water is not scarce; none while snow lies [mm].
    is_gap : (n_hours,) array
        1 where some of the hour's rain is missing, else 0 [-].
    thawed_share : (n_hours,) array
        Share of open ground that takes water, the rest being frozen [-].
    """

    first_day: int
    water_mm: FloatArray
    melt_mm: FloatArray
    demand_mm: FloatArray
    is_gap: FloatArray
    thawed_share: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def times(self) -> NDArray[np.datetime64]:
        """Start of every hour."""
        first = np.datetime64(self.first_day, "D").astype("datetime64[h]")
        return np.asarray(first + np.arange(self.water_mm.size))

    def led_in(self, n_hours: int) -> HourlyWeather:
        """Return these hours with their first ones before them once more, to begin with.

        Parameters
        ----------
        n_hours : int
            How many, a multiple of 24 [h].

        Returns
        -------
        HourlyWeather
            Longer by these.
        """

        def twice(values: FloatArray) -> FloatArray:
            return np.concatenate([values[:n_hours], values])

        return HourlyWeather(
            self.first_day - n_hours // _HOURS, twice(self.water_mm), twice(self.melt_mm),
            twice(self.demand_mm), twice(self.is_gap), twice(self.thawed_share),
        )  # fmt: skip


def hourly_weather(record: RainRecord, weather: DailyWeather, latitude_deg: float) -> HourlyWeather:
    """Join the rain of each hour with the snow and the demand of its day.

    On a day of snow its share stays away and the melt of the day comes evenly over its hours, as
    the demand does. Intervals longer than an hour are spread evenly over theirs.

    Parameters
    ----------
    record : RainRecord
        Rain; intervals divide an hour or are whole hours.
    weather : DailyWeather
        The days of the same place.
    latitude_deg : float
        Latitude of the place [degree].

    Returns
    -------
    HourlyWeather
        The hours of the days that both have [mm].

    Raises
    ------
    InputError
        Where the intervals neither divide an hour nor are whole hours.

    References
    ----------
    hds2 : section 9.2.4.2, degree-days
    fao56 : evapotranspiration of grass
    molnau_bissell1983 : frozen ground, by the index at the end of the day, recalled
    judgement : melt and demand spread evenly over the day
    """
    rain, gap = _hours_of(record)
    first_h = int(record.start.astype("datetime64[h]").astype(np.int64))
    lo = weather.first_day * _HOURS - first_h
    n = weather.rain_mm.size * _HOURS
    whole, missing = np.zeros(n), np.ones(n)
    take = slice(max(lo, 0), min(lo + n, rain.size))
    put = slice(take.start - lo, take.stop - lo)
    whole[put], missing[put] = rain[take], gap[take]
    share = rain_share(weather.mean_degc)
    fallen = whole.reshape(-1, _HOURS).sum(axis=1)
    snow = snow_days(fallen, weather.mean_degc)
    melt = np.maximum(snow.water_mm - fallen * share, 0.0)
    demand = lawn_demand_mm(weather, latitude_deg, snow.pack_mm)
    return HourlyWeather(
        first_day=weather.first_day,
        water_mm=whole * np.repeat(share, _HOURS) + np.repeat(melt / _HOURS, _HOURS),
        melt_mm=np.repeat(melt / _HOURS, _HOURS),
        demand_mm=np.repeat(demand / _HOURS, _HOURS),
        is_gap=missing,
        thawed_share=np.repeat(thawed_share(snow.frost_degc_d), _HOURS),
    )


def _hours_of(record: RainRecord) -> tuple[FloatArray, FloatArray]:
    """Rain of each clock hour from that in which the record starts, and 1 where some is missing."""
    step = record.interval_s
    if _HOUR_S % step and step % _HOUR_S:
        raise InputError(
            record.name or "rain record",
            f"intervals of {step} s neither divide an hour nor are whole hours",
            "give rain by the hour or finer",
        )
    start = int(record.start.astype("datetime64[s]").astype(np.int64))
    depth = np.nan_to_num(record.depth_mm)
    absent = np.isnan(record.depth_mm)
    parts = max(1, step // _HOUR_S)  # hours that an interval is spread over
    depth, absent = np.repeat(depth / parts, parts), np.repeat(absent, parts)
    seconds = start % _HOUR_S + np.arange(depth.size, dtype=np.int64) * min(step, _HOUR_S)
    hour = seconds // _HOUR_S
    n = int(hour[-1]) + 1
    return (
        np.bincount(hour, depth, n).astype(np.float64),
        (np.bincount(hour, absent, n) > 0).astype(np.float64),
    )
