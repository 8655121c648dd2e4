"""The day before a storm of a record, and whether the days up to it tell of the ground it met."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from riskkit.antecedent.days import DailyWeather
from riskkit.inflow.snow import snow_days

__all__ = ["Eve", "GroundFrom", "eve_of"]


class GroundFrom(StrEnum):
    """Where the ground before a storm of a record comes from."""

    ITS_DAYS = "its days"
    NO_DAYS = "no daily temperatures"
    FEW_STORMS = "few large storms"
    FIRST_YEAR = "first year"
    MISSING_DAYS = "missing days"


@dataclass(frozen=True)
class Eve:
    """The last whole day before a storm of a record.

    Parameters
    ----------
    ground : GroundFrom
        Whether the days up to it tell the ground; if not, why the ground is as before large storms
        in general.
    day : int, optional
        Place of it among the days of the weather; None where the days do not tell [-].
    snow_mm : float
        Water that snow held on its evening [mm].
    may_be_frozen : bool
        Whether the ground may have been frozen.
    """

    ground: GroundFrom
    day: int | None = None
    snow_mm: float = 0.0
    may_be_frozen: bool = False


def eve_of(weather: DailyWeather | None, begin: np.datetime64) -> Eve:
    """Find the last whole day before a moment, by the rules for large storms in general.

    Parameters
    ----------
    weather : DailyWeather or None
        Days of the place.
    begin : numpy.datetime64
        The moment.

    Returns
    -------
    Eve
        The day.

    References
    ----------
    judgement : fewest storms, first year, weeks in which no day is missing
    """
    if weather is None:
        return Eve(GroundFrom.NO_DAYS)
    first = int(begin.astype("datetime64[D]").astype(np.int64)) - weather.first_day
    if not 0 < first <= weather.rain_mm.size:
        return Eve(GroundFrom.NO_DAYS)
    if weather.is_early(np.array([first]))[0]:
        return Eve(GroundFrom.FIRST_YEAR)
    if not weather.is_sure(np.array([first]))[0]:
        return Eve(GroundFrom.MISSING_DAYS)
    if not weather.enough:
        return Eve(GroundFrom.FEW_STORMS)
    snow = snow_days(weather.rain_mm, weather.mean_degc)
    eve = first - 1
    return Eve(GroundFrom.ITS_DAYS, eve, float(snow.pack_mm[eve]), bool(snow.frozen[eve]))
