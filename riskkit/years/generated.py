"""Rain of a place with generated seasons in place of its record, and days to go with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from riskkit.antecedent.days import DailyWeather, daily_weather
from riskkit.errors import InputError, need_type
from riskkit.rainfall.readers.temperature import DailyTemperature
from riskkit.records import FloatArray, RainRecord
from riskkit.risk.design_rain import DesignRain
from riskkit.seasons.fit import fit_storms, generated_years, sight_of

__all__ = ["generated_rain", "need_years"]

_START_YEAR = 2001
_MOST_YEARS = 200
_YEAR_D = 365


def need_years(years: int) -> None:
    """Refuse to generate too few or too many years.

    Parameters
    ----------
    years : int
        How many [yr].

    Raises
    ------
    InputError
        Where they are not from 2 to 200.
    """
    need_type(years, int, "years", "give a whole number, such as 60")
    if not 2 <= years <= _MOST_YEARS:
        raise InputError("years", f"{years} are outside 2 to {_MOST_YEARS}", "for example 60")


def generated_rain(
    rain: DesignRain,
    years: int = 60,
    seed: int = 1,
    *,
    tell: Callable[[str], None] = lambda _: None,
) -> DesignRain:
    """Replace the record by generated years, fitted to it month by month.

    Temperatures are those of whole years of the record in random order, independent of the rain, so
    the share of snow is slightly wrong.

    Parameters
    ----------
    rain : DesignRain
        Rain of a place with a record of at least ten years and temperatures.
    years : int
        How many to generate, 2 to 200 [yr].
    seed : int
        Of the generator and of the years of temperature [-].
    tell : callable
        Told what is being done.

    Returns
    -------
    DesignRain
        The same depths; another record and other days, without measured levels of the water table.

    Raises
    ------
    InputError
        Where there is no record, there are no temperatures, or seasons cannot be told from them.

    References
    ----------
    rodriguez_iturbe1987 : the generated storms, see `riskkit.seasons.fit`
    judgement : temperatures by whole years, apart from the rain
    """
    need_type(rain, DesignRain, "rain", "give what design_rain(home) returns")
    need_years(years)
    if rain.record is None or rain.weather is None:
        raise InputError(
            "rain", "seasons are generated from a record with temperatures, and one is missing",
            "name both under [rain] in the home file",
        )  # fmt: skip
    sight = sight_of(rain.record, rain.record.name or "rain record")
    seasons = fit_storms(sight, tell)
    tell("generating years")
    made = generated_years(seasons, years, _START_YEAR, seed)
    name = f"generated from {rain.record.name or 'the record'}"
    made = replace(made, name=name, is_generated=True)
    days = daily_weather(made, _temperatures(made, rain.weather, seed))
    return replace(rain, record=made, weather=days, levels=None)


def _temperatures(made: RainRecord, own: DailyWeather, seed: int) -> DailyTemperature:
    """Whole years of the record's temperatures in an order of chance, for the generated days."""
    year = own.dates.astype("datetime64[Y]")
    known, counts = np.unique(year, return_counts=True)
    whole = known[counts >= _YEAR_D]
    if not whole.size:
        raise InputError("temperatures", "they hold no whole year", "give at least one")
    begin = np.searchsorted(own.dates, whole.astype("datetime64[D]"))
    n = made.depth_mm.size * made.interval_s // 86400
    first = made.start.astype("datetime64[D]")
    day = first + np.arange(n)
    in_year = (day - day.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    at_year = (day.astype("datetime64[Y]") - first.astype("datetime64[Y]")).astype(np.int64)
    drawn = np.random.default_rng(seed).integers(0, whole.size, int(at_year[-1]) + 1)
    # the last day of a leap year takes the temperatures of the day before it
    place = begin[drawn[at_year]] + np.minimum(in_year, _YEAR_D - 1)

    def taken(values: FloatArray) -> FloatArray:
        return np.asarray(values[place])

    return DailyTemperature(int(first.astype(np.int64)), taken(own.tmin_degc), taken(own.tmax_degc))
