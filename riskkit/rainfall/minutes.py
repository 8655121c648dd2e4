r"""By what share of an hour's rain its worst minutes bring, from official tables that print both.

The share falls as the hour brings more: where an hour of rain is gentle, a third of it may fall in
five minutes, in the subtropics a quarter. It also falls, by less, as storms get rarer. With the
depth P of the 2-year hour in mm and the return period T in years

.. math:: \ln r = a + b \ln P + c \ln (T / 10)

is fitted to the printed ratios of 5 and of 15 minutes, every table with the same weight. Those of
10 and 30 minutes follow from their neighbours as the National Weather Service has it. How far the
tables lie from what the *other* tables say of them is the spread.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from riskkit.quantities.units import convert
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "HourTable",
    "MinuteRatios",
    "PrintedFit",
    "hour_tables",
    "minute_ratios",
    "printed_fit",
    "ratios_of",
]

MINUTES = (5.0, 10.0, 15.0, 30.0, 60.0)
_AT_LEAST_YR, _AT_MOST_YR = 1.0, 100.0  # of the printed tables
_BEYOND = 0.05  # of the hour, from which it is worth a word
_OF_PERIOD = 10.0  # to which return periods are set in proportion [yr]


class HourTable(NamedTuple):
    """What one official table prints: return periods [yr], hour of 2 years [mm], ratios [-]."""

    place: str
    period_yr: FloatArray
    hour_mm: float
    log_ratio: FloatArray  # (5, n_periods), of `MINUTES` to the hour; NaN where not printed


class MinuteRatios(NamedTuple):
    """Ratios (n_durations, n_periods) [-] and standard deviations of their logarithms [-].

    `is_beyond` tells that the hour lies beyond those of the printed tables.
    """

    ratio: FloatArray
    log_sd: FloatArray
    is_beyond: bool


class PrintedFit(NamedTuple):
    of_5: FloatArray
    of_15: FloatArray


@cache
def hour_tables() -> tuple[HourTable, ...]:
    """Read the printed tables.

    Returns
    -------
    tuple of HourTable
        One for each place.

    References
    ----------
    noaa_atlas14_v2 : three places
    noaa_atlas14_v7 : two places
    noaa_atlas14_v8 : two places
    noaa_atlas14_v9 : two places
    noaa_atlas14_v11 : one place
    eccc_idf : Charlottetown A
    """
    found = []
    rows = load_table("hour_depths").rows
    for place in dict.fromkeys(row["place"] for row in rows):
        mine = [row for row in rows if row["place"] == place]
        period = np.array([float(row["period"]) for row in mine])
        printed = np.array(
            [[float(row[f"d{m:g}"] or "nan") for row in mine] for m in MINUTES], dtype=np.float64
        )
        unit, slash, _ = mine[0]["unit"].partition("/")
        depth_mm = printed * convert(1.0, unit, "mm")
        if slash:
            depth_mm = depth_mm * (np.array(MINUTES)[:, None] / 60.0)
        hour_mm = float(depth_mm[-1, period.tolist().index(2.0)])
        found.append(HourTable(place, period, hour_mm, np.log(depth_mm / depth_mm[-1])))
    return tuple(found)


def printed_fit(tables: Sequence[HourTable]) -> PrintedFit:
    """Fit the ratios of 5 and 15 minutes of some tables.

    Parameters
    ----------
    tables : sequence of HourTable
        The tables, each of which has the same weight.

    Returns
    -------
    tuple of two (3,) arrays
        Constant, slope by the logarithm of the hour's depth in mm and slope by that of the return
        period, for 5 and for 15 minutes [-].

    References
    ----------
    arithmetic : least squares
    """
    found = []
    for row in (0, 2):
        sides, values = [], []
        for table in tables:
            weight = 1.0 / np.sqrt(table.period_yr.size)
            sides.append(weight * _sides(table.hour_mm, table.period_yr))
            values.append(weight * table.log_ratio[row])
        found.append(np.linalg.lstsq(np.concatenate(sides), np.concatenate(values), rcond=None)[0])
    return PrintedFit(*found)


def _sides(hour_mm: float, period_yr: FloatArray) -> FloatArray:
    """What the coefficients are multiplied with (n_periods, 3)."""
    rare = np.log(np.clip(period_yr, _AT_LEAST_YR, _AT_MOST_YR) / _OF_PERIOD)
    return np.stack([np.ones(rare.size), np.full(rare.size, np.log(hour_mm)), rare], axis=1)


def ratios_of(
    fit: PrintedFit, minutes: FloatArray, hour_mm: float, period_yr: FloatArray
) -> FloatArray:
    """Share of an hour's depth that some minutes bring, by a fit.

    Between the durations of the tables straight lines in logarithms.

    Parameters
    ----------
    fit : tuple of two arrays
        As from `printed_fit`.
    minutes : (n_durations,) array
        Durations, 5 to 60 [min].
    hour_mm : float
        Depth of the 2-year hour [mm].
    period_yr : (n_periods,) array
        Return periods [yr]; those beyond 1 to 100 years count as these.

    Returns
    -------
    (n_durations, n_periods) array
        Ratios to the hour [-].

    References
    ----------
    hydro35 : 10 min = 0.59 x 15 min + 0.41 x 5 min; 30 min = 0.49 x 60 min + 0.51 x 15 min
    """
    sides = _sides(hour_mm, period_yr)
    of_5, of_15 = np.exp(sides @ fit.of_5), np.exp(sides @ fit.of_15)
    known = np.stack(
        [of_5, 0.59 * of_15 + 0.41 * of_5, of_15, 0.49 + 0.51 * of_15, np.ones(of_5.size)]
    )
    return np.exp(_at(minutes, np.log(known)))


def _at(minutes: FloatArray, log_ratio: FloatArray) -> FloatArray:
    """Values at some minutes of those at the minutes of the tables; NaN beside a NaN."""
    known = np.log(np.array(MINUTES))
    each = [np.interp(np.log(minutes), known, column) for column in log_ratio.T]
    return np.stack(each, axis=1)


def minute_ratios(
    minutes: FloatArray, base_minutes: float, hour_mm: float, period_yr: FloatArray
) -> MinuteRatios:
    """Ratios of short durations to a longer one, within the hour.

    The spread is the root mean square of what the tables print against what a fit to all the other
    tables says of them.

    Parameters
    ----------
    minutes : (n_durations,) array
        Durations wanted, 5 or more [min].
    base_minutes : float
        The duration that is known, longer than these and at most 60 [min].
    hour_mm : float
        Depth of the 2-year hour; beyond those of the tables the nearest of theirs counts [mm].
    period_yr : (n_periods,) array
        Return periods [yr].

    Returns
    -------
    MinuteRatios
        Ratios to the base [-] and their spread [-].

    References
    ----------
    arithmetic : each table compared with the others
    """
    tables = hour_tables()
    ends = [table.hour_mm for table in tables]
    within = float(np.clip(hour_mm, min(ends), max(ends)))
    every = np.append(minutes, base_minutes)
    ratio = ratios_of(printed_fit(tables), every, within, period_yr)
    is_beyond = abs(within - hour_mm) > _BEYOND * hour_mm
    return MinuteRatios(ratio[:-1] / ratio[-1], _log_sd(tuple(minutes), base_minutes), is_beyond)


@cache
def _log_sd(minutes: tuple[float, ...], base_minutes: float) -> FloatArray:
    tables = hour_tables()
    every = np.append(minutes, base_minutes)
    square = []
    for table in tables:
        others = [other for other in tables if other is not table]
        said = np.log(ratios_of(printed_fit(others), every, table.hour_mm, table.period_yr))
        off = _at(every, table.log_ratio) - said
        square.append(np.mean((off[:-1] - off[-1]) ** 2, axis=1))
    spread: FloatArray = np.sqrt(np.nanmean(square, axis=0))  # NaN: not printed
    spread.flags.writeable = False
    return spread
