"""The ground before large storms, month by month: snow, frost, wetness and the water table."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.antecedent.days import DailyWeather, column_m_of, ground_days, month_of
from riskkit.antecedent.levels import WaterLevels
from riskkit.antecedent.textures import backfill_weights, soil_weights
from riskkit.antecedent.water_table import (
    AntecedentGround,
    AntecedentWaterTable,
    MonthLevel,
    antecedent_ground,
)
from riskkit.antecedent.wetness import AntecedentWetness, MonthWetness, antecedent_wetness
from riskkit.errors import InputError
from riskkit.home.home import Home

__all__ = ["GroundMonths", "MonthGround", "ground_by_month"]


@dataclass(frozen=True)
class MonthGround:
    """One month of the year.

    Parameters
    ----------
    month : int
        1 is January [-].
    n_storms : int
        Large storms that began in it [-].
    n_snow, n_frozen : int
        Those before which snow lay, or the ground may have been frozen [-].
    recharge_mm : float
        Water that drains below the roots in a usual month [mm].
    wetness : MonthWetness or None
        Saturation of the soil before them.
    level : MonthLevel or None
        Depth of the water table below the floor before them.
    """

    month: int
    n_storms: int
    n_snow: int
    n_frozen: int
    recharge_mm: float
    wetness: MonthWetness | None
    level: MonthLevel | None


@dataclass(frozen=True)
class GroundMonths:
    """The twelve months, and what all of them together tell.

    Parameters
    ----------
    months : tuple of MonthGround
        January to December.
    wetness : AntecedentWetness
        Of the soil, over all large storms.
    water_table : AntecedentWaterTable or None
        Of the ground water, where its levels were measured or are remembered.
    remarks : tuple of str
        A sentence each.
    """

    months: tuple[MonthGround, ...]
    wetness: AntecedentWetness
    water_table: AntecedentWaterTable | None
    remarks: tuple[str, ...]


def ground_by_month(
    home: Home, weather: DailyWeather | None, levels: WaterLevels | None
) -> GroundMonths:
    """Tell how the ground of a home is before the large storms of its record, month by month.

    Parameters
    ----------
    home : Home
        The home.
    weather : DailyWeather or None
        Days of its place.
    levels : WaterLevels or None
        Measured levels of its water table.

    Returns
    -------
    GroundMonths
        All months; those without large storms only say how much water drains.

    Raises
    ------
    InputError
        Where there are no daily temperatures, or too few large storms.

    References
    ----------
    arithmetic : counts, sums of a month over the years
    """
    latitude = home.place.latitude
    if weather is None or latitude is None:
        raise InputError(
            "rain.temperature",
            "without daily temperatures the ground cannot be followed through the days",
            "name a file of them under [rain], beside the rain record, and give place.latitude",
        )
    column_m = column_m_of(home)
    wetness = antecedent_wetness(weather, latitude, backfill_weights(home), column_m)
    if wetness is None:
        raise InputError(
            "rain.temperature",
            f"only {weather.eve.size} large storms have rain and temperatures for the weeks before "
            "them, too few to tell anything",
            "give a longer record",
        )
    before, remarks = antecedent_ground(home, weather, levels)
    weights = soil_weights(home)
    days = ground_days(weather, latitude, tuple(weights), column_m)
    recharge = np.array(list(weights.values())) @ days.recharge_mm
    storm_month = weather.storm_month
    day_month = month_of(weather.dates)
    snow, frozen = days.snow.pack_mm[weather.eve] > 0, days.snow.frozen[weather.eve] > 0
    n_days = [31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    months = []
    for month in range(1, 13):
        here = storm_month == month
        mean = recharge[day_month == month].mean() if np.any(day_month == month) else 0.0
        months.append(
            MonthGround(
                month=month,
                n_storms=int(here.sum()),
                n_snow=int(snow[here].sum()),
                n_frozen=int(frozen[here].sum()),
                recharge_mm=float(mean) * n_days[month - 1],
                wetness=next((m for m in wetness.months if m.month == month), None),
                level=_level_of(before, month),
            )
        )
    return GroundMonths(tuple(months), wetness, before.water_table, remarks)


def _level_of(before: AntecedentGround, month: int) -> MonthLevel | None:
    table = before.water_table
    return next((m for m in table.months if m.month == month), None) if table else None
