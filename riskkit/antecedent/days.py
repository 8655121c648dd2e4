"""The days of a place: its weather, soil water and snow, and the evenings before large storms."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.inflow.evaporation import extraterrestrial_radiation_mj_m2, hargreaves_mm
from riskkit.inflow.snow import SnowDays, day_setting, rain_share, snow_days
from riskkit.inflow.soils import drain_time_s, soil_properties, texture_names
from riskkit.inflow.texture import texture_water
from riskkit.inflow.wetness import effective_saturation, soil_days
from riskkit.quantities.variables import variables
from riskkit.rainfall.events import split_storms
from riskkit.rainfall.readers.temperature import DailyTemperature, daily_rain
from riskkit.records import ByValue, FloatArray, IntArray, RainRecord, freeze_arrays

__all__ = [
    "DailyWeather",
    "GroundDays",
    "column_m_of",
    "daily_weather",
    "ground_days",
    "lawn_demand_mm",
    "month_of",
    "saturation_on",
]

_ROOTS = ("roots_low", "roots_middle", "roots_high")
_COLUMN = ("house.depth_below_ground", "ground.drain_depth")  # from the ground to the drain
_FIRST_YEAR = 365  # until the soil has forgotten how it began


@dataclass(frozen=True, eq=False)
class DailyWeather(ByValue):
    """Days of a place, without a gap, and the evenings before its large storms.

    Parameters
    ----------
    first_day : int
        Days since 1970-01-01 of the first day [day].
    rain_mm : (n_days,) array
        Rain and melted snow of the gauge [mm].
    tmin_degc, tmax_degc : (n_days,) array
        Temperatures, short gaps bridged [degC].
    eve : (n_storms,) array of int
        Place of the day before each large storm of rain [-].
    big_mm : float
        Storms above this depth are big [mm].
    n_unsure : int
        Large storms left out, since days are missing in the weeks before [-].
    missing : (n_days,) array of int
        1 where rain or temperature of the day is missing, else 0 [-].
    """

    first_day: int
    rain_mm: FloatArray
    tmin_degc: FloatArray
    tmax_degc: FloatArray
    eve: IntArray
    big_mm: float
    n_unsure: int
    missing: IntArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def mean_degc(self) -> FloatArray:
        """Mean temperature of each day."""
        return (self.tmin_degc + self.tmax_degc) / 2

    @property
    def dates(self) -> NDArray[np.datetime64]:
        """Every day."""
        return (self.first_day + np.arange(self.rain_mm.size)).astype("datetime64[D]")

    @property
    def storm_month(self) -> IntArray:
        """Month in which each large storm began, 1 to 12."""
        return month_of(self.dates[self.eve] + 1)

    @property
    def enough(self) -> bool:
        """Whether there are large storms enough to tell something."""
        return self.eve.size >= day_setting("few")

    def is_early(self, day: IntArray) -> NDArray[np.bool_]:
        """Tell before which days the soil has not yet forgotten how it began.

        Parameters
        ----------
        day : (n,) array of int
            Places of days [-].

        Returns
        -------
        (n,) array of bool
            True in the first year [-].
        """
        return np.asarray(day < _FIRST_YEAR)

    def is_sure(self, day: IntArray) -> NDArray[np.bool_]:
        """Tell before which days none of the weeks is missing.

        Parameters
        ----------
        day : (n,) array of int
            Places of days [-].

        Returns
        -------
        (n,) array of bool
            False where rain or temperature of a day before is missing [-].
        """
        lost = np.concatenate([[0], np.cumsum(self.missing)])
        return np.asarray(lost[day] == lost[np.maximum(day - int(day_setting("memory")), 0)])


def month_of(dates: NDArray[np.datetime64]) -> IntArray:
    """Return the month of dates.

    Parameters
    ----------
    dates : (n,) array of datetime64
        Dates [day].

    Returns
    -------
    (n,) array of int
        1 is January [-].
    """
    return np.asarray(dates.astype("datetime64[M]").astype(np.int64) % 12 + 1)


def daily_weather(record: RainRecord, temperature: DailyTemperature) -> DailyWeather:
    """Join rain and temperatures by the day, and find the evenings before large storms.

    Big are storms above the 95th percentile of depth that begin on a day of rain, not snow. Short
    gaps of temperature are bridged. A storm is left out where a day is missing in the 60 before it,
    and in the first year, until the soil has forgotten how it began.

    Parameters
    ----------
    record : RainRecord
        Rain.
    temperature : DailyTemperature
        Temperatures of the same place.

    Returns
    -------
    DailyWeather
        The days that both have [mm, degC].

    Raises
    ------
    InputError
        Where rain and temperatures have no day in common.

    References
    ----------
    judgement : percentile, memory of the soil, gaps
    """
    rain = daily_rain(record)
    first = max(rain.first_day, temperature.first_day)
    end = min(
        rain.first_day + rain.depth_mm.size, temperature.first_day + temperature.tmin_degc.size
    )
    if end <= first:
        raise InputError(
            "temperatures",
            "they have no day in common with the rain record",
            "give the temperatures of the years of the rain record",
        )
    of_rain = slice(first - rain.first_day, end - rain.first_day)
    of_air = slice(first - temperature.first_day, end - temperature.first_day)
    low, no_low = _bridged(temperature.tmin_degc[of_air])
    high, no_high = _bridged(temperature.tmax_degc[of_air])
    missing = (rain.missing_share[of_rain] > day_setting("missing_share")) | no_low | no_high
    low, high = np.minimum(low, high), np.maximum(low, high)  # bridges of one side may cross
    storms = split_storms(record)
    depth = np.array([storm.depth_mm for storm in storms])
    big_mm = float(np.quantile(depth, day_setting("big_share"))) if storms else 0.0
    starts = np.array([storm.start for storm in storms], dtype="datetime64[D]").astype(np.int64)
    begin = starts[depth > big_mm] - first
    begin = begin[(begin >= 0) & (begin < end - first)]
    begin = begin[rain_share((low + high)[begin] / 2) >= 0.5]
    days = DailyWeather(
        first_day=first,
        rain_mm=rain.depth_mm[of_rain],
        tmin_degc=low,
        tmax_degc=high,
        eve=begin - 1,
        big_mm=big_mm,
        n_unsure=0,
        missing=missing.astype(np.int64),
    )
    begin = begin[~days.is_early(begin)]
    sure = days.is_sure(begin)
    return replace(days, eve=begin[sure] - 1, n_unsure=int(np.count_nonzero(~sure)))


def _bridged(degc: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Bridge gaps by straight lines; tell which days lie in gaps too long for that."""
    absent = np.isnan(degc)
    at = np.arange(degc.size)
    if absent.all():
        return np.zeros(degc.size), absent
    filled = np.interp(at, at[~absent], degc[~absent])
    edges = np.flatnonzero(np.diff(np.concatenate([[0], absent.astype(int), [0]])))
    long = np.zeros(degc.size, dtype=np.bool_)
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        long[begin:end] = end - begin > day_setting("short_gap")
    return filled, long


@dataclass(frozen=True)
class GroundDays:
    """Soil water and snow of a place through its days, for several textures.

    Parameters
    ----------
    saturation : (n_textures, n_roots, n_storms) array
        Effective saturation on the evenings before large storms, for three depths of roots [-].
    recharge_mm, unmet_mm : (n_textures, n_days) array
        Water that drains below the roots, and what plants lack; mean of the depths of roots [mm].
    snow : SnowDays
        Snow and frost of all days.
    """

    saturation: FloatArray
    recharge_mm: FloatArray
    unmet_mm: FloatArray
    snow: SnowDays

    def __post_init__(self) -> None:
        freeze_arrays(self)


def lawn_demand_mm(weather: DailyWeather, latitude_deg: float, pack_mm: FloatArray) -> FloatArray:
    """Evapotranspiration of a lawn on each day, where water is not scarce.

    Parameters
    ----------
    weather : DailyWeather
        The days.
    latitude_deg : float
        Latitude of the place [degree].
    pack_mm : (n_days,) array
        Snow that lies [mm].

    Returns
    -------
    (n_days,) array
        Kc ETo; zero while snow lies [mm].

    References
    ----------
    fao56 : eq. 52, Hargreaves; Table 12, crop coefficient
    judgement : no evapotranspiration while snow lies
    """
    year = weather.dates.astype("datetime64[Y]")
    of_year = (weather.dates - year.astype("datetime64[D]")).astype(np.int64) + 1.0
    sun = extraterrestrial_radiation_mj_m2(latitude_deg, of_year)
    demand = day_setting("crop") * hargreaves_mm(weather.tmin_degc, weather.tmax_degc, sun)
    return np.where(pack_mm > 0, 0.0, demand)


@dataclass(frozen=True)
class _Walk:
    """Soil water through all days under `texture_names`, by depths of roots, and the snow."""

    content: FloatArray  # (n_textures, n_roots, n_days)
    recharge_mm: FloatArray  # (n_textures, n_days), as the next
    unmet_mm: FloatArray
    snow: SnowDays

    def __post_init__(self) -> None:
        freeze_arrays(self)


# homes of a town lie closer together than the stations whose days they share
@lru_cache(maxsize=8)
def _walked(weather: DailyWeather, latitude_deg: float, roots_m: tuple[float, ...]) -> _Walk:
    textures = texture_names()
    snow = snow_days(weather.rain_mm, weather.mean_degc)
    demand = lawn_demand_mm(weather, latitude_deg, snow.pack_mm)
    soil = soil_properties([name for name in textures for _ in roots_m])
    depth = np.tile(roots_m, len(textures))
    k_m_s = np.repeat(texture_water(list(textures), day_setting("organic")).k_m_s, len(roots_m))
    days = soil_days(
        snow.water_mm,
        demand,
        field_capacity=soil.field_capacity,
        wilting_point=soil.wilting_point,
        saturation=soil.field_capacity + soil.drainable_porosity,
        root_depth_m=depth,
        drain_time_s=drain_time_s(soil.drainable_porosity, depth, k_m_s),
        easy_share=day_setting("easy"),
    )
    by_roots = (len(textures), len(roots_m), -1)
    return _Walk(
        content=days.content.reshape(by_roots),
        recharge_mm=days.recharge_mm.reshape(by_roots).mean(axis=1),
        unmet_mm=days.unmet_mm.reshape(by_roots).mean(axis=1),
        snow=snow,
    )


def _walk_of(weather: DailyWeather, latitude_deg: float, column_m: float) -> _Walk:
    return _walked(weather, round(latitude_deg, 1), tuple(_roots_m(column_m).tolist()))


def _roots_m(column_m: float) -> FloatArray:
    return np.minimum([day_setting(key) for key in _ROOTS], column_m)


def _rows_of(textures: tuple[str, ...]) -> list[int]:
    return [texture_names().index(name) for name in textures]


def saturation_on(
    weather: DailyWeather,
    latitude_deg: float,
    textures: tuple[str, ...],
    column_m: float,
    day: IntArray,
) -> FloatArray:
    """Return how full the soil of a place is on the evenings of some days.

    The roots dry the soil as deep as they reach; below, it is taken at field capacity. The
    saturation is the mean over the whole column, which keeps its storage deficit as it is.

    Parameters
    ----------
    weather : DailyWeather
        The days.
    latitude_deg : float
        Latitude of the place, taken to a tenth [degree].
    textures : tuple of str
        Texture classes to work it out for.
    column_m : float
        Depth of the soil column, from the ground to the drain [m].
    day : (n,) array of int
        Places of days among those of the weather [-].

    Returns
    -------
    (n_textures, n_roots, n) array
        Effective saturation, for three depths of roots [-].

    References
    ----------
    fao56 : evapotranspiration and soil water
    saxton_rawls2006 : Table 3; drainage by the conductivity of eq. 16
    judgement : field capacity below the roots
    """
    walk, soil = _walk_of(weather, latitude_deg, column_m), soil_properties(textures)
    dug = (_roots_m(column_m) / column_m)[:, None]
    capacity, porosity, effective = (
        each[:, None, None]
        for each in (soil.field_capacity, soil.porosity, soil.effective_porosity)
    )
    rows = walk.content[np.array(_rows_of(textures))[:, None], :, day[None]].swapaxes(1, 2)
    return effective_saturation(dug * rows + (1 - dug) * capacity, porosity, effective)


@lru_cache(maxsize=4)
def ground_days(
    weather: DailyWeather, latitude_deg: float, textures: tuple[str, ...], column_m: float
) -> GroundDays:
    """Follow soil water and snow through the days of a place; see `saturation_on`.

    Parameters
    ----------
    weather : DailyWeather
        The days.
    latitude_deg : float
        Latitude of the place, taken to a tenth [degree].
    textures : tuple of str
        Texture classes to work it out for.
    column_m : float
        Depth of the soil column, from the ground to the drain [m].

    Returns
    -------
    GroundDays
        Saturation before large storms [-], water to and from the ground water [mm], snow.

    References
    ----------
    fao56 : evapotranspiration and soil water
    saxton_rawls2006 : Table 3; drainage by the conductivity of eq. 16
    judgement : a lawn at the wall; no evapotranspiration while snow lies
    """
    walk, rows = _walk_of(weather, latitude_deg, column_m), _rows_of(textures)
    full = saturation_on(weather, latitude_deg, textures, column_m, weather.eve)
    return GroundDays(full, walk.recharge_mm[rows], walk.unmet_mm[rows], walk.snow)


def column_m_of(home: Home) -> float:
    """Depth of the soil column at a home, from the ground to the drain.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    float
        As given, or the usual depth [m].

    References
    ----------
    arithmetic : sum
    """
    known = [home.quantity(key) for key in _COLUMN]
    default = [variables()[key].unknown.p50 for key in _COLUMN]
    return sum(q.value if q is not None else d for q, d in zip(known, default, strict=True))
