"""How wet the soil was before the big storms of a record: the wetness to reckon with in the next.

The rain record and daily temperatures of the place give the soil water of every day; what counts is
the evening before each big storm. Where nobody says how wet the soil is, this goes before the
default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from riskkit.errors import InputError
from riskkit.inflow.evaporation import extraterrestrial_radiation_mj_m2, hargreaves_mm
from riskkit.inflow.snow import SnowDays, day_setting, rain_share, snow_days
from riskkit.inflow.soils import drain_time_s, soil_properties
from riskkit.inflow.texture import texture_water
from riskkit.inflow.wetness import effective_saturation, soil_days
from riskkit.rainfall.events import split_storms
from riskkit.rainfall.temperature import DailyTemperature, daily_rain
from riskkit.records import FloatArray, IntArray, RainRecord, freeze_arrays
from riskkit.risk.textures import backfill_weights
from riskkit.site import Site
from riskkit.variables import Spread, choices, variables

__all__ = [
    "SATURATION",
    "DailyWeather",
    "GroundDays",
    "MonthWetness",
    "WetnessBefore",
    "column_m_of",
    "daily_weather",
    "eve_saturation",
    "ground_days",
    "wetness_before",
    "wetness_of",
]

SATURATION = "ground.saturation"

_POINTS = (0.05, 0.5, 0.95)
_ROOTS = ("roots_low", "roots_middle", "roots_high")
_COLUMN = ("house.depth_below_ground", "ground.drain_depth")  # from the ground to the drain
_OFTEN = 0.05  # of the big storms, from which frozen ground is worth a word
_FIRST_YEAR = 365  # until the soil has forgotten how it began


@dataclass(frozen=True, eq=False)  # told apart by identity, so that results can be kept
class DailyWeather:
    """Days of a place, without a gap, and the evenings before its big storms.

    Parameters
    ----------
    first_day : int
        Days since 1970-01-01 of the first day [day].
    rain_mm : (n_days,) array
        Rain and melted snow of the gauge [mm].
    tmin_degc, tmax_degc : (n_days,) array
        Temperatures, short gaps bridged [degC].
    eve : (n_storms,) array of int
        Place of the day before each big storm of rain [-].
    big_mm : float
        Storms above this depth are big [mm].
    n_unsure : int
        Big storms left out, since days are missing in the weeks before [-].
    """

    first_day: int
    rain_mm: FloatArray
    tmin_degc: FloatArray
    tmax_degc: FloatArray
    eve: IntArray
    big_mm: float
    n_unsure: int

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def mean_degc(self) -> FloatArray:
        """Mean temperature of each day."""
        return (self.tmin_degc + self.tmax_degc) / 2

    @property
    def dates(self) -> np.ndarray[tuple[int], np.dtype[np.datetime64]]:
        """Every day."""
        return (self.first_day + np.arange(self.rain_mm.size)).astype("datetime64[D]")

    @property
    def enough(self) -> bool:
        """Whether there are big storms enough to tell something."""
        return self.eve.size >= day_setting("few")


@dataclass(frozen=True)
class MonthWetness:
    """Saturation before the big storms of one month."""

    month: int
    n_storms: int
    p05: float
    p50: float
    p95: float


@dataclass(frozen=True)
class WetnessBefore:
    """Saturation of the soil on the evening before big storms.

    Parameters
    ----------
    spread : Spread
        Over storms, depths of roots, and textures where the soil is not known [-].
    by_texture : mapping of str to Spread
        The same for each texture that may be [-].
    months : tuple of MonthWetness
        By month of the storm, where there were any.
    n_storms : int
        Big storms [-].
    big_mm : float
        Storms above this depth are big [mm].
    frozen_share, snow_share : float
        Share of them before which the ground may have been frozen, or snow lay [-].
    """

    spread: Spread
    by_texture: Mapping[str, Spread]
    months: tuple[MonthWetness, ...]
    n_storms: int
    big_mm: float
    frozen_share: float
    snow_share: float


def daily_weather(record: RainRecord, temperature: DailyTemperature) -> DailyWeather:
    """Join rain and temperatures by the day, and find the evenings before big storms.

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
    days = [int(s.start.astype("datetime64[D]").astype(np.int64)) for s in storms]
    begin = np.array(days, dtype=np.int64)[depth > big_mm] - first
    begin = begin[(begin >= _FIRST_YEAR) & (begin < end - first)]
    begin = begin[rain_share((low + high)[begin] / 2) >= 0.5]
    lost = np.concatenate([[0], np.cumsum(missing)])
    sure = lost[begin] == lost[np.maximum(begin - int(day_setting("memory")), 0)]
    return DailyWeather(
        first_day=first,
        rain_mm=rain.depth_mm[of_rain],
        tmin_degc=low,
        tmax_degc=high,
        eve=begin[sure] - 1,
        big_mm=big_mm,
        n_unsure=int(np.count_nonzero(~sure)),
    )


def _bridged(degc: FloatArray) -> tuple[FloatArray, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
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
        Effective saturation on the evenings before big storms, for three depths of roots [-].
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


@lru_cache(maxsize=4)
def ground_days(
    weather: DailyWeather, latitude_deg: float, textures: tuple[str, ...], column_m: float
) -> GroundDays:
    """Follow soil water and snow through the days of a place.

    The roots dry the soil as deep as they reach; below, it is taken at field capacity. The
    saturation is the mean over the whole column, which keeps its thirst as it is.

    Parameters
    ----------
    weather : DailyWeather
        The days.
    latitude_deg : float
        Latitude of the place [degree].
    textures : tuple of str
        Texture classes to work it out for.
    column_m : float
        Depth of the soil column, from the ground to the drain [m].

    Returns
    -------
    GroundDays
        Saturation before big storms [-], water to and from the ground water [mm], snow.

    References
    ----------
    fao56 : evapotranspiration and soil water
    saxton_rawls2006 : Table 3; drainage by the conductivity of eq. 16
    judgement : a lawn at the wall; no evapotranspiration while snow lies
    """
    snow = snow_days(weather.rain_mm, weather.mean_degc)
    year = weather.dates.astype("datetime64[Y]")
    of_year = (weather.dates - year.astype("datetime64[D]")).astype(np.int64) + 1.0
    sun = extraterrestrial_radiation_mj_m2(latitude_deg, of_year)
    demand = day_setting("crop") * hargreaves_mm(weather.tmin_degc, weather.tmax_degc, sun)
    demand = np.where(snow.pack_mm > 0, 0.0, demand)
    roots = np.minimum([day_setting(key) for key in _ROOTS], column_m)
    soil = soil_properties([name for name in textures for _ in roots])
    depth = np.tile(roots, len(textures))
    k_m_s = np.repeat(texture_water(list(textures), day_setting("organic")).k_m_s, roots.size)
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
    dug = (depth / column_m)[:, None]
    content = dug * days.content[:, weather.eve] + (1 - dug) * soil.field_capacity[:, None]
    full = effective_saturation(content, soil.porosity[:, None], soil.effective_porosity[:, None])
    by_roots = (len(textures), roots.size, -1)
    return GroundDays(
        saturation=full.reshape(by_roots),
        recharge_mm=days.recharge_mm.reshape(by_roots).mean(axis=1),
        unmet_mm=days.unmet_mm.reshape(by_roots).mean(axis=1),
        snow=snow,
    )


def eve_saturation(
    weather: DailyWeather, latitude_deg: float, textures: tuple[str, ...], column_m: float
) -> tuple[FloatArray, SnowDays]:
    """Work out how full the soil was on each evening before a big storm, down to the drain.

    Parameters
    ----------
    weather : DailyWeather
        The days.
    latitude_deg : float
        Latitude of the place [degree].
    textures : tuple of str
        Texture classes to work it out for.
    column_m : float
        Depth of the soil column, from the ground to the drain [m].

    Returns
    -------
    saturation : (n_textures, n_roots, n_storms) array
        Effective saturation, for three depths of roots [-].
    snow : SnowDays
        Snow and frost of all days.

    References
    ----------
    fao56 : see `ground_days`
    """
    days = ground_days(weather, latitude_deg, textures, column_m)
    return days.saturation, days.snow


def wetness_before(
    weather: DailyWeather, latitude_deg: float, weights: Mapping[str, float], column_m: float
) -> WetnessBefore | None:
    """Return the spread of the soil's saturation before big storms.

    Parameters
    ----------
    weather : DailyWeather
        The days.
    latitude_deg : float
        Latitude of the place [degree].
    weights : mapping of str to float
        How likely each texture is; they add up to one [-].
    column_m : float
        Depth of the soil column, from the ground to the drain [m].

    Returns
    -------
    WetnessBefore or None
        None where there are too few big storms to tell.

    References
    ----------
    fao56 : evapotranspiration and soil water
    arithmetic : quantiles, textures by their weight, depths of roots alike
    """
    if not weather.enough:
        return None
    return _wetness_before(weather, latitude_deg, tuple(weights.items()), column_m)


@lru_cache(maxsize=16)
def _wetness_before(
    weather: DailyWeather,
    latitude_deg: float,
    pairs: tuple[tuple[str, float], ...],
    column_m: float,
) -> WetnessBefore:
    weights = dict(pairs)
    names = list(weights)
    full, snow = eve_saturation(weather, latitude_deg, tuple(names), column_m)
    share = np.array([weights[name] for name in names])
    years = weather.dates.astype("datetime64[Y]").astype(np.int64) + 1970
    words = (
        f"from {weather.eve.size} days before storms above {weather.big_mm:.0f} mm in the record, "
        f"{years[0]} to {years[-1]}"
    )

    def points(which: FloatArray, of: FloatArray) -> tuple[float, float, float]:
        each = np.broadcast_to(of[:, None, None], which.shape)
        return _weighted_quantiles(which.ravel(), each.ravel())

    month = (weather.dates[weather.eve] + 1).astype("datetime64[M]").astype(np.int64) % 12 + 1
    return WetnessBefore(
        spread=Spread(*points(full, share), words, "fao56"),
        by_texture={
            name: Spread(*points(full[i : i + 1], np.ones(1)), words, "fao56")
            for i, name in enumerate(names)
        },
        months=tuple(
            MonthWetness(int(m), int((month == m).sum()), *points(full[:, :, month == m], share))
            for m in np.unique(month)
        ),
        n_storms=int(weather.eve.size),
        big_mm=weather.big_mm,
        frozen_share=float(snow.frozen[weather.eve].mean()),
        snow_share=float((snow.pack_mm[weather.eve] > 0).mean()),
    )


def wetness_of(
    site: Site, weather: DailyWeather | None
) -> tuple[WetnessBefore | None, tuple[str, ...]]:
    """Return the wetness to take for a home of which nobody says it, and remarks.

    A number or a choice that a person gives goes before the record.

    Parameters
    ----------
    site : Site
        The home.
    weather : DailyWeather, optional
        Days of its place.

    Returns
    -------
    wetness : WetnessBefore or None
        None where a person says it, there are no temperatures, or too few big storms.
    remarks : tuple of str
        A sentence each.

    References
    ----------
    arithmetic : bookkeeping
    """
    said = site.quantity(SATURATION) is not None or any(
        site.choice(key) is not None
        for key, item in choices().items()
        if SATURATION in item.targets
    )
    latitude = site.place.latitude
    if said or site.rain.temperature is None:
        return None, ()
    if weather is None or latitude is None:
        return None, ("The daily temperatures of the home file were not used.",)
    found = wetness_before(weather, latitude, backfill_weights(site), column_m_of(site))
    if found is None:
        return None, (
            f"Only {weather.eve.size} big storms have rain and temperatures for the weeks before "
            "them, too few to tell how wet the soil is then; the default is taken.",
        )
    if found.frozen_share <= _OFTEN:
        return found, ()
    return found, (
        f"Before {found.frozen_share:.0%} of the big storms the ground may have been frozen; "
        "less soaks in then and more runs along the wall, which is not reckoned with.",
    )


def column_m_of(site: Site) -> float:
    """Depth of the soil column at a home, from the ground to the drain.

    Parameters
    ----------
    site : Site
        The home.

    Returns
    -------
    float
        As given, or the usual depth [m].

    References
    ----------
    arithmetic : sum
    """
    known = [site.quantity(key) for key in _COLUMN]
    default = [variables()[key].unknown.p50 for key in _COLUMN]
    return sum(q.value if q is not None else d for q, d in zip(known, default, strict=True))


def _weighted_quantiles(values: FloatArray, weights: FloatArray) -> tuple[float, float, float]:
    """The 5, 50 and 95 % points of weighted values, each at the middle of its weight."""
    order = np.argsort(values, kind="stable")
    ordered, weight = values[order], weights[order]
    middle = (np.cumsum(weight) - weight / 2) / weight.sum()
    low, mid, high = np.interp(_POINTS, middle, ordered)
    return float(low), float(mid), float(high)
