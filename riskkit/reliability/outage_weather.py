"""How mains outages come with weather: storm and outage are not independent.

The shares of either kind of outage that come with weather are solved from two printed shares, one
of the long outages of the country and one of all outages of New York, and are taken for every area
(judgement). The printed shares count extreme or severe weather of any kind, not heavy rain alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray, need
from riskkit.reliability.outages import (
    COUNTRY,
    Outages,
    outage_rate_per_yr,
    outage_rates_by_kind_per_yr,
    outages_of,
)
from riskkit.tables import load_table

__all__ = [
    "WeatherShares",
    "chance_over_storm",
    "printed_shares",
    "weather_rate_per_yr",
    "weather_shares",
]

HOURS_PER_YEAR = 8766.0  # 365.25 days
_STATE = "New York"


@dataclass(frozen=True)
class WeatherShares:
    """Shares of outages that come with extreme or severe weather, of any kind.

    Parameters
    ----------
    ordinary : float
        Of those outside major events [-].
    major : float
        Of those of major events [-].
    """

    ordinary: float
    major: float

    def __post_init__(self) -> None:
        inside = 0 <= self.ordinary <= 1 and 0 <= self.major <= 1
        need(inside, "weather shares", "the printed shares contradict the rates")


@cache
def printed_shares() -> dict[str, tuple[float, float]]:
    """Return the printed shares that tie outages to weather and households.

    Returns
    -------
    dict of str to tuple of float
        By key: least length of the outages meant [h] and share [-].

    References
    ----------
    do2023 : with extreme weather
    flores2024 : with severe weather
    ahs2023 : households
    """
    rows = load_table("outage_shares").rows
    return {row["key"]: (float(row["over"]), float(row["share"]) / 100) for row in rows}


@cache
def weather_shares() -> WeatherShares:
    """Solve which share of either kind of outage comes with weather.

    Two equations: the long outages of the country, and all outages of New York.

    Returns
    -------
    WeatherShares
        Taken for every area.

    References
    ----------
    do2023 : share of the outages of 8 h or more
    flores2024 : share of all outages of New York
    """
    rows, right = [], []
    for key, area in (("weather_long", COUNTRY), ("weather_all", _STATE)):
        over_h, share = printed_shares()[key]
        kinds = [float(kind) for kind in outage_rates_by_kind_per_yr(outages_of(area), over_h)]
        rows.append(kinds)
        right.append(share * sum(kinds))
    ordinary, major = np.linalg.solve(rows, right)
    return WeatherShares(float(ordinary), float(major))


def weather_rate_per_yr(outages: Outages, over_h: ArrayLike = 0.0) -> FloatArray:
    """Outages of at least some length that come with extreme or severe weather.

    Parameters
    ----------
    outages : Outages
        Of the area.
    over_h : (n_draws,) array
        Least length [h].

    Returns
    -------
    (n_draws,) array
        Outages [1/yr].

    References
    ----------
    do2023 : share of the long outages
    flores2024 : share of all outages
    """
    ordinary, major = outage_rates_by_kind_per_yr(outages, over_h)
    return weather_shares().ordinary * ordinary + weather_shares().major * major


def chance_over_storm(
    outages: Outages,
    storm_h: ArrayLike,
    storms_per_yr: ArrayLike,
    over_h: ArrayLike = 0.0,
    factor: ArrayLike = 1.0,
) -> FloatArray:
    """Chance that a home has no mains power for some hours in a large storm.

    Outages with weather are shared evenly among the large storms of a year; the others come at any
    hour, also the outage that began before the storm and lasts into it.

    Parameters
    ----------
    outages : Outages
        Of the area.
    storm_h : (n_draws,) array
        Length of the storm and of the high water after it [h].
    storms_per_yr : (n_draws,) array
        How many storms a year the outages with weather are shared among; the user's to set [1/yr].
    over_h : (n_draws,) array
        Least length of an outage that matters [h].
    factor : (n_draws,) array
        How much more often this home is without power than its area, see `home_factor` [-].

    Returns
    -------
    (n_draws,) array
        Chance [-].

    Raises
    ------
    RangeError
        Where a number cannot be.

    References
    ----------
    do2023 : outages and weather are not independent
    """
    hours, storms = np.asarray(storm_h, dtype=np.float64), np.asarray(storms_per_yr, dtype=float)
    need(bool(np.all(hours >= 0)), "storm", "its length is below zero", "give hours")
    need(bool(np.all(storms > 0)), "storms", "there are none in a year", "give storms a year")
    tied = weather_rate_per_yr(outages, over_h)
    free = outage_rate_per_yr(outages, over_h) - tied
    # of exponential lengths the part still to come is as long as the whole
    lasts = sum(
        (1 - share) * rate * mean
        for share, rate, mean in zip(
            (weather_shares().ordinary, weather_shares().major),
            outage_rates_by_kind_per_yr(outages, over_h),
            (outages.ordinary_h, outages.major_h),
            strict=True,
        )
    )
    expected = tied / storms + (free * hours + lasts) / HOURS_PER_YEAR
    return np.asarray(-np.expm1(-np.asarray(factor) * expected))
