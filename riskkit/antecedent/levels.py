"""Measured levels of the water table: a table of dates and levels, packed by gzip or not.

Depths below the basement floor, less than zero above it, the unit in the name of the column::

    date,below_floor_in
    2024-03-02,14

or heights over any datum, with the height of the basement floor over the same datum::

    # floor: 18.92 m
    date,level_m
    2024-03-02,18.56
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.quantities.units import convert, parse_quantity
from riskkit.quantities.variables import significant, variable
from riskkit.rainfall.readers.columns import columns_told
from riskkit.rainfall.readers.files import CsvText, numbers_of, read_text, split_csv
from riskkit.rainfall.readers.rows import read_columns
from riskkit.rainfall.readers.stamps import times_of
from riskkit.records import ByValue, FloatArray, IntArray
from riskkit.records.frozen import clean_texts, freeze_arrays, need

__all__ = ["LEVELS", "WaterLevels", "read_levels"]

LEVELS = "ground.water_levels"
"""Key of the home file that names a file of levels."""

_COLUMN = re.compile(r"(below_floor|level)_(m|cm|ft|in)")
_FARTHEST_M = 9000.0  # no datum is so far from any house; only codes for missing are


@dataclass(frozen=True, eq=False)
class WaterLevels(ByValue):
    """Levels of the water table, one for each day that has any.

    Parameters
    ----------
    name : str
        Name of the file.
    day : (n_levels,) array of int
        Days since 1970-01-01, increasing [day].
    above_floor_m : (n_levels,) array
        Mean level of the day above the basement floor; less than zero below it [m].
    """

    name: str
    day: IntArray
    above_floor_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)
        clean_texts(self)
        same = self.day.shape == self.above_floor_m.shape and self.day.ndim == 1
        need(same, "water levels", "there is not one day for each level")


def read_levels(path: str | Path) -> WaterLevels:
    """Read measured levels of the water table; rows may stand in any order, gaps are gaps.

    Parameters
    ----------
    path : str or Path
        A CSV file with ``date`` and one column ``below_floor_in`` (or ft, cm, m), or ``level_ft``
        and a line ``# floor: 612.4 ft`` with the basement floor over the same datum.

    Returns
    -------
    WaterLevels
        Levels above the basement floor [m].

    Raises
    ------
    InputError
        Where the file cannot be read without guessing, or a level is farther from the floor than
        ground water is for a home; it names the line.

    References
    ----------
    arithmetic : bookkeeping, mean of the day
    """
    table = split_csv(read_text(path), Path(path).name)
    date, column, is_depth, unit = _columns(table)
    (dates, cells), lines = read_columns(table, [date, column])
    times, _ = times_of(dates, lines, table)
    values, _ = numbers_of(cells, lines, table, column, -convert(_FARTHEST_M, "m", unit))
    floor_m = 0.0 if is_depth else _floor_m(table, column)
    metres = values * convert(1.0, unit, "m")
    above = -metres if is_depth else metres - floor_m
    _need_near(above, cells, lines, table, column)
    today = np.datetime64(datetime.datetime.now(datetime.UTC).date())
    late = np.flatnonzero(times > today + 1)  # a day for the zones of the earth
    if late.size:
        raise InputError(
            table.place(int(lines[late[0]])),
            f"{brief(dates[late[0]].strip())} has not come yet",
            "look at the order of day, month and year",
        )
    known = ~np.isnan(above)
    if not known.any():
        raise InputError(table.where, "every level is missing", "at least some are needed")
    day, place = np.unique(
        times[known].astype("datetime64[D]").astype(np.int64), return_inverse=True
    )
    mean = np.bincount(place, above[known]) / np.bincount(place)
    return WaterLevels(table.where, day, mean)


def _columns(table: CsvText) -> tuple[str, str, bool, str]:
    by_name = {name.lower(): name for name in table.header}
    found = [match for name in by_name if (match := _COLUMN.fullmatch(name))]
    date = next((by_name[name] for name in ("date", "time") if name in by_name), None)
    if date is None or len(found) != 1:
        many = "more than one column of levels" if len(found) > 1 else "no date and level"
        raise InputError(
            table.where,
            f"{many} can be told from its header, {columns_told(table)}",
            'begin with "date,below_floor_in", or with "date,level_m" and a line "# floor: 18.9 m"',
        )
    kind, unit = found[0].groups()
    return date, by_name[found[0].string], kind == "below_floor", unit


def _floor_m(table: CsvText, column: str) -> float:
    written = table.comments.get("floor")
    if not written:
        raise InputError(
            table.where,
            f"{column} counts from a datum, and the basement floor over it is not said",
            'add a line "# floor: 18.92 m" before the header',
        )
    return parse_quantity(written, "m", f"{table.where}, floor")


def _need_near(
    above_m: FloatArray, cells: list[str], lines: IntArray, table: CsvText, column: str
) -> None:
    item = variable("ground.water_table_depth")
    far = np.flatnonzero((-above_m < item.low) | (-above_m > item.high))
    if far.size:
        at = int(far[0])
        side = "above" if above_m[at] > 0 else "below"
        raise InputError(
            table.place(int(lines[at])),
            f"{column} is {brief(cells[at].strip())}, which puts the water "
            f"{significant(abs(above_m[at]), 3)} m {side} the basement floor",
            "look at the unit and at the height of the floor; leave the cell empty where it is "
            "missing",
        )
