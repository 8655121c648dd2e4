"""Is the snow of a record in the same unit as its rain?

Daily archives hold new snow beside the water that it melted to. On freezing days the snow is some
ten to fifteen times as deep as its water; a ratio far off shows that one of the two columns is in a
wrong unit, which nothing else in the file would tell.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np

from riskkit.rainfall.readers.columns import mm_per_unit
from riskkit.rainfall.readers.files import CsvText, numbers_of, read_text, split_csv
from riskkit.rainfall.readers.noaa import HOURS
from riskkit.rainfall.readers.rows import read_columns
from riskkit.records import FloatArray

__all__ = ["SnowRatio", "snow_ratio"]

FEWEST_DAYS = 10
LEAST_WATER_MM = 2.5  # less is mostly rounding
_COLDEST = -200.0  # as written, in whatever unit of temperature
_SNOW = ("SNOW", "SNWD")


class SnowRatio(NamedTuple):
    """Depth of new snow over its water: middle of so many freezing days [-], from which column."""

    ratio: float
    days: int
    column: str


def snow_ratio(path: str | Path, unit: str | None = None) -> SnowRatio | None:
    """Depth of new snow over its water on freezing days, from the columns of a daily archive file.

    New snow is taken from ``SNOW``, or from the rise of the snow on the ground, ``SNWD``, where
    there is no such column. Both are in the unit of ``PRCP``, or in mm where that is in 0.1 mm, as
    the archive has it. A day freezes when ``TMAX`` is at or below 0 degC.

    Parameters
    ----------
    path : str or Path
        The file.
    unit : str, optional
        Unit of ``PRCP`` where the file does not say it; taken as 0.1 mm otherwise.

    Returns
    -------
    SnowRatio or None
        None where the file has no such columns, or fewer than ten freezing days with snow.

    Raises
    ------
    InputError
        Where the file is broken.

    References
    ----------
    noaa_ghcnd : elements and units
    judgement : at least 2.5 mm of water and ten days
    """
    if Path(path).suffix.lower() == ".parquet":
        return None
    table = split_csv(read_text(path), Path(path).name)
    column = next((name for name in _SNOW if name in table.header), None)
    if column is None or not {"PRCP", "TMAX"} <= set(table.header) or HOURS[0] in table.header:
        return None
    water, snow, warmest = _numbers(table, ("PRCP", column, "TMAX"))
    size = mm_per_unit(unit or table.comments.get("unit") or "0.1 mm", table.where)
    water = water * size
    snow = snow * (1.0 if np.isclose(size, 0.1) else size)
    if column == "SNWD":
        snow = np.append(np.nan, np.diff(snow))
    with np.errstate(invalid="ignore"):
        good = (_degc(warmest) <= 0.0) & (water >= LEAST_WATER_MM) & (snow > 0)
    n = int(good.sum())
    if n < FEWEST_DAYS:
        return None
    return SnowRatio(float(np.median(snow[good] / water[good])), n, column)


def _numbers(table: CsvText, names: tuple[str, ...]) -> list[FloatArray]:
    columns, lines = read_columns(table, names)
    found = []
    for name, cells in zip(names, columns, strict=True):
        numbers = ["0" if cell.strip() == "T" else cell for cell in cells]  # a trace
        found.append(numbers_of(numbers, lines, table, name, _COLDEST)[0])
    return found


def _degc(warmest: FloatArray) -> FloatArray:
    """Turn into degC what the height of summer shows to be tenths of degC, degF or degC."""
    known = warmest[~np.isnan(warmest)]
    summer = float(np.quantile(known, 0.95)) if known.size else 0.0
    if summer > 130.0:
        return warmest / 10.0
    return (warmest - 32.0) / 1.8 if summer > 50.0 else warmest
