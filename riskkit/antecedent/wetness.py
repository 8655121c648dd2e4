"""How wet the soil was before the large storms of a record: the wetness to reckon with in the next.

The rain record and daily temperatures of the place give the soil water of every day; what counts is
the evening before each large storm. Where nobody says how wet the soil is, this takes precedence
over the default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from riskkit.antecedent.days import DailyWeather, column_m_of, ground_days, saturation_on
from riskkit.antecedent.textures import backfill_weights
from riskkit.home.home import Home
from riskkit.inflow.snow import day_setting
from riskkit.inflow.soils import texture_names
from riskkit.quantities.distributions import weighted_quantiles
from riskkit.quantities.variables import Spread, choices
from riskkit.records import FloatArray, FrozenMapping, IntArray

__all__ = [
    "SATURATION",
    "AntecedentWetness",
    "MonthWetness",
    "antecedent_wetness",
    "wetness_before",
    "wetness_of",
]

SATURATION = "ground.saturation"

_OFTEN = 0.05  # of the large storms, from which frozen ground is worth a word


@dataclass(frozen=True)
class MonthWetness:
    """Saturation before the large storms of one month."""

    month: int
    n_storms: int
    p05: float
    p50: float
    p95: float


@dataclass(frozen=True)
class AntecedentWetness:
    """Saturation of the soil on the evening before large storms.

    Parameters
    ----------
    spread : Spread
        Over storms, depths of roots, and textures where the soil is not known [-].
    by_texture : mapping of str to Spread
        The same for each texture that may be [-].
    recharge_by_texture : mapping of str to Spread
        Recharge of the water table in the days before, for every texture [mm/d].
    months : tuple of MonthWetness
        By month of the storm, where there were any.
    n_storms : int
        Large storms [-].
    big_mm : float
        Storms above this depth are big [mm].
    frozen_share, snow_share : float
        Share of them before which the ground may have been frozen, or snow lay [-].
    score : float, optional
        Of one storm, where its wetness lies among those of all large storms: a standard normal
        score; None for all of them [-].
    """

    spread: Spread
    by_texture: Mapping[str, Spread]
    recharge_by_texture: Mapping[str, Spread]
    months: tuple[MonthWetness, ...]
    n_storms: int
    big_mm: float
    frozen_share: float
    snow_share: float
    score: float | None = None

    def __post_init__(self) -> None:
        for name in ("by_texture", "recharge_by_texture"):
            object.__setattr__(self, name, FrozenMapping(getattr(self, name)))


def antecedent_wetness(
    weather: DailyWeather, latitude_deg: float, weights: Mapping[str, float], column_m: float
) -> AntecedentWetness | None:
    """Return the spread of the soil's saturation before large storms.

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
    AntecedentWetness or None
        None where there are too few large storms to tell.

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
) -> AntecedentWetness:
    weights = dict(pairs)
    names = list(weights)
    days = ground_days(weather, latitude_deg, tuple(names), column_m)
    full, snow = days.saturation, days.snow
    recharged = _recharge_mm_d(weather, latitude_deg, column_m, weather.eve)
    recharge = np.percentile(recharged, (5, 50, 95), axis=1).T.tolist()
    share = np.array([weights[name] for name in names])
    years = weather.dates.astype("datetime64[Y]").astype(np.int64) + 1970
    words = (
        f"from {weather.eve.size} days before storms above {weather.big_mm:.0f} mm in the record, "
        f"{years[0]} to {years[-1]}"
    )

    def points(which: FloatArray, of: FloatArray) -> tuple[float, float, float]:
        each = np.broadcast_to(of[:, None, None], which.shape)
        return weighted_quantiles(which.ravel(), each.ravel())

    month = weather.storm_month
    return AntecedentWetness(
        spread=Spread(*points(full, share), words, "fao56"),
        by_texture={
            name: Spread(*points(full[i : i + 1], np.ones(1)), words, "fao56")
            for i, name in enumerate(names)
        },
        recharge_by_texture={
            name: Spread(low, median, high, words, "fao56")
            for name, (low, median, high) in zip(texture_names(), recharge, strict=True)
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


_FORGOTTEN = 20.0  # times the memory, after which a day counts for 2e-9 of itself


def _recharge_mm_d(
    weather: DailyWeather, latitude_deg: float, column_m: float, eve: IntArray
) -> FloatArray:
    """Recharge (n_textures, n_storms) before storms, days weighed less the longer they are past."""
    daily_mm = ground_days(weather, latitude_deg, texture_names(), column_m).recharge_mm
    memory = day_setting("recharge_memory")
    kept = np.exp(-1.0 / memory)
    past = np.arange(int(_FORGOTTEN * memory))
    day = eve[:, None] - past
    came = np.where(day >= 0, daily_mm[:, np.maximum(day, 0)], 0.0)
    mean = came @ ((1.0 - kept) * kept**past)
    return np.asarray(np.maximum(mean, day_setting("least_recharge")))


def wetness_before(
    home: Home, weather: DailyWeather | None, eve: IntArray
) -> tuple[AntecedentWetness | None, ...]:
    """Return the wetness before each of some storms of a record, where `wetness_of` takes it.

    What is left open is how deep the roots reach. The wetness among that of all large storms tells
    how high an unknown water table may stand.

    Parameters
    ----------
    home : Home
        The home.
    weather : DailyWeather, optional
        Days of its place.
    eve : (n_storms,) array of int
        Place of the last day before each storm [-].

    Returns
    -------
    tuple of AntecedentWetness or None
        One for each storm; None where `wetness_of` has none.
    """
    general, _ = wetness_of(home, weather)
    if general is None or weather is None or eve.size == 0:
        return (None,) * eve.size
    latitude, column_m, weights = _latitude(home), column_m_of(home), backfill_weights(home)
    names, share = tuple(weights), np.array(list(weights.values()))
    full = saturation_on(weather, latitude, names, column_m, eve)
    among = np.tensordot(
        share, ground_days(weather, latitude, names, column_m).saturation.mean(axis=1), axes=1
    )
    own = np.tensordot(share, full.mean(axis=1), axes=1)
    recharge = _recharge_mm_d(weather, latitude, column_m, eve)
    found = []
    for k, day in enumerate(eve):
        words = f"on the evening of {weather.dates[day]}"
        of_roots = {
            name: Spread(*weighted_quantiles(each, np.ones(each.size)), words, "fao56")
            for name, each in zip(names, full[:, :, k], strict=True)
        }
        every = weighted_quantiles(full[:, :, k].ravel(), np.repeat(share, full.shape[1]))
        found.append(replace(
            general,
            spread=Spread(*every, words, "fao56"),
            by_texture=of_roots,
            recharge_by_texture={
                name: Spread(mm_d, mm_d, mm_d, words, "fao56")
                for name, mm_d in zip(texture_names(), recharge[:, k].tolist(), strict=True)
            },
            months=(),
            n_storms=1,
            score=_score_among(float(own[k]), among),
        ))  # fmt: skip
    return tuple(found)


def _score_among(value: float, values: FloatArray) -> float:
    """Standard normal score of a value among others, each at the middle of its share."""
    below, alike = np.count_nonzero(values < value), np.count_nonzero(values == value)
    n = values.size
    return NormalDist().inv_cdf(float(np.clip((below + alike / 2) / n, 0.5 / n, 1 - 0.5 / n)))


def wetness_of(
    home: Home, weather: DailyWeather | None
) -> tuple[AntecedentWetness | None, tuple[str, ...]]:
    """Return the wetness to take for a home of which nobody says it, and remarks.

    A number or a choice that a person gives takes precedence over the record.

    Parameters
    ----------
    home : Home
        The home.
    weather : DailyWeather, optional
        Days of its place.

    Returns
    -------
    wetness : AntecedentWetness or None
        None where a person says it, there are no temperatures, or too few large storms.
    remarks : tuple of str
        A sentence each.
    """
    said = home.quantity(SATURATION) is not None or any(
        home.choice(key) is not None
        for key, item in choices().items()
        if SATURATION in item.targets
    )
    if said or (weather is None and home.rain.temperature is None):
        return None, ()
    if weather is None or home.place.latitude is None:
        why = "" if weather is None else ", for the home has no latitude"
        return None, (f"The daily temperatures were not used{why}.",)
    found = antecedent_wetness(weather, _latitude(home), backfill_weights(home), column_m_of(home))
    if found is None:
        return None, (
            f"Only {weather.eve.size} large storms have rain and temperatures for the weeks before "
            "them, too few to tell how wet the soil is then; the default is taken.",
        )
    if found.frozen_share <= _OFTEN:
        return found, ()
    return found, (
        f"Before {found.frozen_share:.0%} of the large storms the ground may have been frozen; "
        "less soaks in then and more runs along the wall, which is not reckoned with.",
    )


def _latitude(home: Home) -> float:
    return home.place.latitude or 0.0
