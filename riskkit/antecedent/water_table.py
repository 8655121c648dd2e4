"""The water table before the large storms of a record: what to reckon with in the next.

Where its levels were measured, or people remember how high it stands in spring and how low in
autumn, a reservoir of recharge follows it through all days of the record. What counts is the
evening before each large storm; through the storm the level is held there, and the README of
``tests/published`` says how much that matters. Measured takes precedence over remembered,
remembered over the default.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from riskkit.antecedent.days import (
    DailyWeather,
    column_m_of,
    ground_days,
    month_of,
    saturation_on,
)
from riskkit.antecedent.levels import LEVELS, WaterLevels
from riskkit.antecedent.textures import soil_weights
from riskkit.antecedent.wetness import AntecedentWetness, wetness_before, wetness_of
from riskkit.home.home import Home
from riskkit.inflow.snow import day_setting
from riskkit.inflow.watertable import (
    WaterTableFit,
    fit_water_table,
    net_recharge_mm,
    season_levels,
    water_table_m,
)
from riskkit.quantities.distributions import Z95, known_sd, rank_correlation
from riskkit.quantities.quantity import Basis, Quantity
from riskkit.quantities.variables import Spread, variable
from riskkit.records import FloatArray, IntArray

__all__ = [
    "AUTUMN",
    "SPRING",
    "WATER_TABLE",
    "AntecedentGround",
    "AntecedentWaterTable",
    "MonthLevel",
    "antecedent_ground",
    "grounds_before",
]

WATER_TABLE = "ground.water_table_depth"
_HOW = re.compile(r"\s*,\s*(measured|given)\s*$", re.IGNORECASE)
SPRING, AUTUMN = "ground.water_table_spring", "ground.water_table_autumn"

_GROUND = "house.depth_below_ground"
_POINTS = (0.05, 0.5, 0.95)
_FIVE = np.array([NormalDist().inv_cdf((i + 0.5) / 5) for i in range(5)])  # equally likely errors
_MANY = np.array([NormalDist().inv_cdf((i + 0.5) / 41) for i in range(41)])
_SPRING, _AUTUMN = (3, 4, 5), (9, 10, 11)  # of the northern half of the earth


@dataclass(frozen=True)
class MonthLevel:
    """Depth of the water table below the floor before the large storms of one month."""

    month: int
    n_storms: int
    p05: float
    p50: float
    p95: float


@dataclass(frozen=True)
class AntecedentWaterTable:
    """Depth of the water table below the basement floor on the evening before large storms.

    Parameters
    ----------
    spread : Spread
        Over storms, with the error of the model [m].
    basis : Basis
        Measured, or given where it is remembered.
    origin : str
        What it rests on, as written.
    months : tuple of MonthLevel
        By month of the storm; empty where no daily record tells.
    with_wetness : float
        How the depth goes with the saturation of the soil: rank correlation over the storms, less
        what the error takes from it [-].
    fit : WaterTableFit, optional
        Where levels were measured.
    """

    spread: Spread
    basis: Basis
    origin: str
    months: tuple[MonthLevel, ...] = ()
    with_wetness: float = 0.0
    fit: WaterTableFit | None = None


@dataclass(frozen=True)
class AntecedentGround:
    """What the days before large storms tell of the ground of a home; None where they do not.

    Parameters
    ----------
    wetness : AntecedentWetness, optional
        Of the soil.
    water_table : AntecedentWaterTable, optional
        Of the ground water.
    """

    wetness: AntecedentWetness | None = None
    water_table: AntecedentWaterTable | None = None


def antecedent_ground(
    home: Home, weather: DailyWeather | None, levels: WaterLevels | None
) -> tuple[AntecedentGround, tuple[str, ...]]:
    """Return what is reckoned with in the next large storm, and remarks.

    Parameters
    ----------
    home : Home
        The home.
    weather : DailyWeather, optional
        Days of its place.
    levels : WaterLevels, optional
        Measured levels of its water table.

    Returns
    -------
    before : AntecedentGround
        Wetness and water table.
    remarks : tuple of str
        A sentence each.
    """
    wetness, told = wetness_of(home, weather)
    table, also = _water_table_of(home, weather, levels)
    return AntecedentGround(wetness, table), (*told, *also)


def grounds_before(
    home: Home, weather: DailyWeather | None, levels: WaterLevels | None, eve: IntArray
) -> tuple[AntecedentGround, ...]:
    """Return how each of some storms of the record found the ground.

    The same days as in `antecedent_ground`, but for each storm only its own evening before. What
    the days do not tell stays as open as it is there: how deep roots reach, the error of the model
    of the water table, a water table that no levels tell, and all that somebody says.

    Parameters
    ----------
    home : Home
        The home.
    weather : DailyWeather, optional
        Days of its place.
    levels : WaterLevels, optional
        Measured levels of its water table.
    eve : (n_storms,) array of int
        Place of the last day before each storm [-].

    Returns
    -------
    tuple of AntecedentGround
        One for each storm.
    """
    return tuple(
        AntecedentGround(wetness, _water_table_of(home, weather, levels, day[None])[0])
        for wetness, day in zip(wetness_before(home, weather, eve), eve, strict=True)
    )


def _water_table_of(
    home: Home,
    weather: DailyWeather | None,
    levels: WaterLevels | None,
    eve: IntArray | None = None,
) -> tuple[AntecedentWaterTable | None, tuple[str, ...]]:
    """Measured takes precedence over remembered, a depth that a person gives over both.

    Before the storms after some evenings; all large ones where these are left out.
    """
    named, seasons = home.choice(LEVELS) is not None, [home.quantity(k) for k in (SPRING, AUTUMN)]
    if not named and seasons == [None, None]:
        return None, ()
    if home.quantity(WATER_TABLE) is not None:
        return None, (f"The water table is taken as {WATER_TABLE} says; its levels are not used.",)
    told: tuple[str, ...] = ()
    if named:
        found, why_not = None, "their file was not read"
        if levels is not None:
            found, why_not = _measured(home, weather, levels, eve)
        if why_not:
            told = (f"The water table is not followed to its measured levels: {why_not}.",)
        if found is not None:
            return found, told
    if None in seasons:
        if seasons != [None, None]:
            told = (*told, f"{SPRING} and {AUTUMN} tell the water table only together.")
        return None, told
    found, why_not = None, "there are no daily temperatures beside the rain record"
    if weather is not None and home.place.latitude is not None:
        found, why_not = _remembered(home, weather, eve)
    if why_not:
        told = (*told, f"The water table is taken as likely anywhere between its remembered "
                f"levels: {why_not}.")  # fmt: skip
    return found or _between(home), told


def _measured(
    home: Home, weather: DailyWeather | None, levels: WaterLevels, eve: IntArray | None
) -> tuple[AntecedentWaterTable | None, str]:
    """Follow the water table to its levels; where that cannot be, take the levels as they are."""
    fewest, seasons = day_setting("fewest_levels"), day_setting("level_span")
    if levels.day.size < fewest:
        return None, f"it takes {fewest:.0f} days with a level, and the file has {levels.day.size}"
    if weather is None or home.place.latitude is None:
        return _as_seen(levels), "there are no daily temperatures beside the rain record"
    day = levels.day - weather.first_day
    inside = (day >= 0) & (day < weather.rain_mm.size)
    n = int(np.count_nonzero(inside))
    if n < fewest:
        return _as_seen(levels), (
            f"it takes {fewest:.0f} days with a level within the rain record, and the file has {n}"
        )
    span = int(np.ptp(day[inside]))
    if span < seasons:
        return _as_seen(levels), f"they span {span} of the {seasons:.0f} days that seasons take"
    halves = np.array_split(levels.above_floor_m[inside], [n // 2])
    if min(np.ptp(half) for half in halves) == 0:
        return _as_seen(levels), "in one half of their time they are all the same"
    if not weather.enough:
        return _as_seen(levels), "the record holds too few large storms"
    fit, level = _fitted(weather, levels, _lat(home), _pairs(home), column_m_of(home))
    if not fit.tells:
        share = max(fit.predicted, 0.0) * 100
        return _as_seen(levels), (
            f"fitted to one half of them the model predicts {share:.0f} % of the variance of the "
            "other, too little to be of use"
        )
    eve = weather.eve if eve is None else eve
    likely = level[eve][:, None] + fit.error_m * _MANY
    first, last = (str(np.datetime64(int(d), "D"))[:4] for d in levels.day[inside][[0, -1]])
    told = f"predicts {fit.predicted * 100:.0f} % of their variance"
    error = f"{fit.error_m:.2f} m" if fit.error_m >= 0.01 else "less than 0.01 m"
    words = (
        f"modelled on {_storms(weather)}; fitted to {n} measured levels, {first} to {last}, it "
        f"{told}, with an error of {error}"
    )
    before = _before(home, weather, eve, likely, level, words, "zeeuw_hellinga1958")
    return replace(before, basis=Basis.MEASURED, origin=f"levels in {levels.name}", fit=fit), ""


@lru_cache(maxsize=8)
def _fitted(
    weather: DailyWeather,
    levels: WaterLevels,
    latitude_deg: float,
    pairs: tuple[tuple[str, float], ...],
    column_m: float,
) -> tuple[WaterTableFit, FloatArray]:
    """Fit to the recharge of the likely soils, and follow the water table through all days."""
    recharge, unmet = _recharge(weather, latitude_deg, pairs, column_m)
    day = levels.day - weather.first_day
    inside = (day >= 0) & (day < weather.rain_mm.size)
    fit = fit_water_table(recharge, unmet, day[inside], levels.above_floor_m[inside])
    table = fit.table
    net = net_recharge_mm(recharge, unmet, table.uptake_share)
    level = water_table_m(net, table.time_day, table.rise_m_d_mm, table.base_m, table.top_m)[0]
    level.flags.writeable = False
    return fit, level


def _remembered(
    home: Home, weather: DailyWeather, eve: IntArray | None
) -> tuple[AntecedentWaterTable | None, str]:
    """Stretch the course of the record so that its usual spring and autumn are those remembered."""
    if not weather.enough:
        return None, "the record holds too few large storms"
    course, spring, autumn, higher = _courses(weather, _lat(home), _pairs(home), column_m_of(home))
    swing = spring - autumn
    if not higher:
        return None, "by the record it does not stand higher in spring than in autumn"
    (at_spring, error_s), (at_autumn, error_a) = (
        _middle_and_sd(_need(home, key), key) for key in (SPRING, AUTUMN)
    )
    high = -(at_spring + error_s * _FIVE)[:, None]
    low = -(at_autumn + error_a * _FIVE)[None, :]
    rise = np.maximum(high - low, 0.0).ravel() / swing[:, None]  # (n_courses, n_errors)
    base = (0.0 * high + low).ravel() - rise * autumn[:, None]
    eve = weather.eve if eve is None else eve
    likely = base + rise * course[:, eve].T[:, :, None]  # (n_storms, n_courses, n_errors)
    spread = likely[..., None] + day_setting("remembered_error") * _FIVE
    words = f"modelled on {_storms(weather)}; stretched to the remembered levels"
    middle = course[course.shape[0] // 2]
    swing_m = max(at_autumn - at_spring, 0.0) / swing[course.shape[0] // 2]
    level = -at_autumn + swing_m * (middle - autumn[course.shape[0] // 2])
    before = _before(home, weather, eve, spread.reshape(eve.size, -1), level, words, "judgement")
    return replace(before, basis=Basis.GIVEN, origin=_as_remembered(home)), ""


@lru_cache(maxsize=8)
def _courses(
    weather: DailyWeather,
    latitude_deg: float,
    pairs: tuple[tuple[str, float], ...],
    column_m: float,
) -> tuple[FloatArray, FloatArray, FloatArray, bool]:
    """Follow water tables that answer quickly or slowly, with their usual spring and autumn.

    Last is told whether all of them stand higher in spring than in autumn.
    """
    recharge, unmet = _recharge(weather, latitude_deg, pairs, column_m)
    time, uptake = (
        each.ravel()
        for each in np.meshgrid(
            [day_setting(f"time_{size}") for size in ("low", "middle", "high")],
            [day_setting(f"uptake_{size}") for size in ("low", "middle", "high")],
        )
    )
    course = water_table_m(net_recharge_mm(recharge, unmet, uptake), time, 1.0, 0.0)
    year = weather.dates.astype("datetime64[Y]").astype(np.int64)
    month = month_of(weather.dates)
    spring, autumn = (_SPRING, _AUTUMN) if latitude_deg >= 0 else (_AUTUMN, _SPRING)
    high = season_levels(course, month, year, spring, highest=True)
    low = season_levels(course, month, year, autumn, highest=False)
    means = [course[:, np.isin(month, season)].mean(axis=1) for season in (spring, autumn)]
    return course, high, low, bool(np.all(means[0] > means[1]) and np.all(high > low))


def _as_seen(levels: WaterLevels) -> AntecedentWaterTable:
    # a level is read with an error, and one that never changes may be a stuck gauge
    error = variable(WATER_TABLE).shape.measured * _MANY
    likely = -levels.above_floor_m[:, None] + error
    low, middle, high = np.quantile(likely, _POINTS, method="hazen")
    words = f"{levels.day.size} measured levels as they are, whatever their season"
    spread = Spread(float(low), float(middle), float(high), words, "arithmetic")
    return AntecedentWaterTable(spread, Basis.MEASURED, f"levels in {levels.name}")


def _between(home: Home) -> AntecedentWaterTable:
    """Without a record only the two levels tell: nine times out of ten it lies between them.

    They are remembered with an error, and on sand that counts: with "about 1 ft" and "about 6 ft"
    it takes the median time of the demo bungalow from 190 to 115 minutes; on clay nothing moves.
    """
    (at_spring, error_s), (at_autumn, error_a) = (
        _middle_and_sd(_need(home, key), key) for key in (SPRING, AUTUMN)
    )
    way = 0.5 + 0.5 * _MANY / Z95  # from the one to the other
    spring = (at_spring + error_s * _MANY)[:, None, None]
    autumn = (at_autumn + error_a * _MANY)[:, None]
    likely = np.maximum(spring + (autumn - spring) * way, -_ground_m(home))
    low, middle, high = np.quantile(likely, _POINTS, method="hazen")
    words = "between the remembered levels"
    spread = Spread(float(low), float(middle), float(high), words, "judgement")
    return AntecedentWaterTable(spread, Basis.GIVEN, _as_remembered(home))


def _ground_m(home: Home) -> float:
    """Height of the ground outside above the basement floor [m]."""
    known, usual = home.quantity(_GROUND), variable(_GROUND).unknown.p50
    return known.value if known is not None else usual


def _before(
    home: Home,
    weather: DailyWeather,
    eve: IntArray,
    eve_m: FloatArray,
    level_m: FloatArray,
    words: str,
    source: str,
) -> AntecedentWaterTable:
    """Sum up likely levels (n_storms, n_likely) over storms; never above the ground outside."""
    depth = -np.minimum(eve_m, _ground_m(home))
    month = month_of(weather.dates[eve] + 1)

    def points(of: FloatArray) -> tuple[float, float, float]:
        low, mid, high = np.quantile(of, _POINTS, method="hazen")
        return float(low), float(mid), float(high)

    pairs = _pairs(home)
    go = 0.0
    if np.ptp(level_m[eve]) > 0:  # one storm tells of no going together
        names = tuple(name for name, _ in pairs)
        full = saturation_on(weather, _lat(home), names, column_m_of(home), eve)
        wet = np.tensordot([w for _, w in pairs], full.mean(axis=1), axes=1)
        go = rank_correlation(wet, -level_m[eve])
        go *= min(float(level_m[eve].std()) / float(eve_m.std()), 1.0)
    return AntecedentWaterTable(
        spread=Spread(*points(depth), words, source),
        basis=Basis.UNKNOWN,
        origin="",
        months=tuple(
            MonthLevel(int(m), int((month == m).sum()), *points(depth[month == m]))
            for m in np.unique(month)
        ),
        with_wetness=go,
    )


def _recharge(
    weather: DailyWeather,
    latitude_deg: float,
    pairs: tuple[tuple[str, float], ...],
    column_m: float,
) -> tuple[FloatArray, FloatArray]:
    days = ground_days(weather, latitude_deg, tuple(name for name, _ in pairs), column_m)
    share = np.array([weight for _, weight in pairs])
    return share @ days.recharge_mm, share @ days.unmet_mm


def _middle_and_sd(quantity: Quantity, key: str) -> tuple[float, float]:
    if quantity.low is not None and quantity.high is not None:
        return (quantity.low + quantity.high) / 2, (quantity.high - quantity.low) / 2 / Z95
    return quantity.value, known_sd(quantity, variable(key).shape)


def _as_remembered(home: Home) -> str:
    spring, autumn = (_HOW.sub("", _need(home, key).text) for key in (SPRING, AUTUMN))
    return f'remembered: spring "{spring}" and autumn "{autumn}"'


def _need(home: Home, key: str) -> Quantity:
    found = home.quantity(key)
    if found is None:  # the home file is refused before it comes to this
        raise LookupError(key)
    return found


def _lat(home: Home) -> float:
    return home.place.latitude or 0.0


def _pairs(home: Home) -> tuple[tuple[str, float], ...]:
    return tuple(soil_weights(home).items())


def _storms(weather: DailyWeather) -> str:
    years = weather.dates[[0, -1]].astype("datetime64[Y]").astype(np.int64) + 1970
    return (
        f"{weather.eve.size} days before storms above {weather.big_mm:.0f} mm in the record, "
        f"{years[0]} to {years[1]}"
    )
