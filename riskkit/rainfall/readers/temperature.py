"""Daily temperatures, and rain by the day: what the wetness of the soil is worked out from.

The file is a plain table, packed by gzip or not; the names of its columns say the unit::

    date,tmin_degC,tmax_degC
    1981-01-01,-24,-10.2
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from riskkit.errors import InputError
from riskkit.limits import TEMPERATURE_DAYS
from riskkit.quantities.text import brief
from riskkit.rainfall.readers.columns import columns_told
from riskkit.rainfall.readers.files import CsvText, numbers_of, read_text, split_csv
from riskkit.rainfall.readers.rows import read_columns
from riskkit.rainfall.readers.stamps import days_of
from riskkit.records import FloatArray, IntArray, RainRecord, freeze_arrays, need

__all__ = ["DailyRain", "DailyTemperature", "daily_rain", "read_temperature"]

_COLDEST, _HOTTEST = -90.0, 60.0  # degC; the world has seen -89.2 and 56.7
_TOO_HOT = 45.0  # degC, as the mean of the highest of all days: then it is Fahrenheit
_RIGHT = 'begin with "date,tmin_degC,tmax_degC" or "date,tmin_degF,tmax_degF"'
_DAY_S = 86400


@dataclass(frozen=True)
class DailyTemperature:
    """Lowest and highest temperature of each day; NaN where missing.

    Parameters
    ----------
    first_day : int
        Days since 1970-01-01 of the first entry [day].
    tmin_degc, tmax_degc : (n_days,) array
        Temperatures [degC].
    """

    first_day: int
    tmin_degc: FloatArray
    tmax_degc: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)
        same = self.tmin_degc.shape == self.tmax_degc.shape and self.tmin_degc.ndim == 1
        need(same, "temperatures", "there is not one highest for each lowest temperature")


@dataclass(frozen=True)
class DailyRain:
    """Rain of each day, missing time taken as dry, and how much of the day is missing.

    Parameters
    ----------
    first_day : int
        Days since 1970-01-01 of the first entry [day].
    depth_mm : (n_days,) array
        Rain [mm].
    missing_share : (n_days,) array
        Share of the day that is missing, days cut by an end of the record included [-].
    """

    first_day: int
    depth_mm: FloatArray
    missing_share: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def daily_rain(record: RainRecord) -> DailyRain:
    """Add a record up to calendar days; an interval counts for the day in which it begins.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    DailyRain
        Rain of each day [mm].
    """
    start = int(record.start.astype("datetime64[s]").astype(np.int64))
    first = start // _DAY_S
    seconds = start + np.arange(record.depth_mm.size, dtype=np.int64) * record.interval_s
    day = seconds // _DAY_S - first
    known = ~np.isnan(record.depth_mm)
    n_days = int(day[-1]) + 1
    depth = np.bincount(day, np.where(known, record.depth_mm, 0.0), n_days).astype(np.float64)
    there = np.bincount(day, known.astype(float), n_days) * record.interval_s / _DAY_S
    return DailyRain(first, depth, np.clip(1.0 - there, 0.0, 1.0))


def read_temperature(path: str | Path) -> DailyTemperature:
    """Read a table of daily temperatures; a day that is not listed is missing.

    Parameters
    ----------
    path : str or Path
        A CSV file with the columns ``date``, ``tmin_degC`` and ``tmax_degC``, or with ``degF``.

    Returns
    -------
    DailyTemperature
        The temperatures [degC].

    Raises
    ------
    InputError
        Where the file cannot be read without guessing, a temperature cannot be, or a highest one is
        below the lowest; it names the line.
    """
    table = split_csv(read_text(path), Path(path).name)
    names, is_fahrenheit = _columns(table)
    columns, lines = read_columns(table, names)
    days = days_of(columns[0], lines, table)
    low, high = (
        _degrees(cells, lines, table, name, is_fahrenheit)
        for cells, name in zip(columns[1:], names[1:], strict=True)
    )
    crossed = np.flatnonzero(high < low)
    if crossed.size:
        at = int(crossed[0])
        raise InputError(
            table.place(int(lines[at])),
            f"the highest temperature, {brief(columns[2][at].strip())}, is below the lowest, "
            f"{brief(columns[1][at].strip())}",
            "look for swapped columns",
        )
    known = high[~np.isnan(high)]
    if not known.size or np.all(np.isnan(low)):
        raise InputError(table.where, "every temperature is missing", "at least some are needed")
    if known.mean() > _TOO_HOT:
        raise InputError(
            table.where,
            f"the highest temperatures are {known.mean():.0f} degC on the mean",
            "if they are degrees Fahrenheit, name the columns tmin_degF and tmax_degF",
        )
    n_days = int(days[-1] - days[0]) + 1
    if n_days > TEMPERATURE_DAYS:
        raise InputError(table.where, f"it spans {n_days:,} days", "look for a wrong date")
    filled = np.full((2, n_days), np.nan)
    filled[:, days - days[0]] = low, high
    return DailyTemperature(int(days[0]), filled[0], filled[1])


def _columns(table: CsvText) -> tuple[list[str], bool]:
    by_name = {name.lower(): name for name in table.header}
    for unit in ("degc", "degf"):
        wanted = ["date", f"tmin_{unit}", f"tmax_{unit}"]
        if all(name in by_name for name in wanted):
            return [by_name[name] for name in wanted], unit == "degf"
    raise InputError(table.where, f"daily temperatures are not among {columns_told(table)}", _RIGHT)


def _degrees(
    cells: list[str], lines: IntArray, table: CsvText, column: str, is_fahrenheit: bool
) -> FloatArray:
    coldest, hottest = _COLDEST, _HOTTEST
    if is_fahrenheit:
        coldest, hottest = (limit * 9 / 5 + 32 for limit in (coldest, hottest))
    values, _ = numbers_of(cells, lines, table, column, coldest)
    hot = np.flatnonzero(values > hottest)
    if hot.size:
        at = int(hot[0])
        raise InputError(
            table.place(int(lines[at])),
            f"{column} is {brief(cells[at].strip())}, hotter than the world has seen",
            "leave the cell empty where the value is missing",
        )
    return (values - 32) / 1.8 if is_fahrenheit else values
