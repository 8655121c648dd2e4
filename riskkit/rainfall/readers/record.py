"""Read a rain record, whatever common file it comes in.

``read_rain`` looks at the header, takes the reader that fits and puts what was seen and repaired
into the notes of the record. Official depth tables are read by `riskkit.rainfall.readers.official`.
"""

from __future__ import annotations

from dataclasses import replace
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, cast

import numpy as np

from riskkit.errors import InputError, need_type
from riskkit.quantities.variables import counted
from riskkit.rainfall.envelope import world_envelope_mm
from riskkit.rainfall.readers.files import CsvText, read_text, split_csv
from riskkit.rainfall.readers.noaa import read_ghcn_daily, read_noaa_hourly
from riskkit.rainfall.readers.plain import read_plain
from riskkit.rainfall.readers.stored import read_stored
from riskkit.records import RainRecord

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["RainFile", "read_rain"]

IMPOSSIBLE = 100.0  # times the most that the world has seen: beyond what any wrong unit makes


class RainFile(Enum):
    """What a rain file is, where its header does not say it."""

    PLAIN = "plain"
    WET_ONLY = "wet only"
    NOAA_HOURLY = "noaa hourly"
    GHCN_DAILY = "ghcn daily"


def read_rain(
    rain: str | Path | pd.Series[float] | pd.DataFrame,
    *,
    unit: str | None = None,
    kind: RainFile | None = None,
    interval_s: int | None = None,
) -> RainRecord:
    """Read a rain record from a text file, packed by gzip or not, a stored one, or from pandas.

    Three formats are known by their header: a plain table of times and depths (see
    `riskkit.rainfall.readers.plain`), and the hourly and the daily format of the US weather
    archive (see `riskkit.rainfall.readers.noaa`). A ``.parquet`` file is one that riskkit
    stored itself, see `riskkit.rainfall.readers.stored`; it says all about itself. A Series or a
    DataFrame holds times without a zone and depths, see `riskkit.rainfall.readers.frame`.

    Parameters
    ----------
    rain : str, Path, pandas.Series or pandas.DataFrame
        The file, or the depths by time [any depth].
    unit : str, optional
        Unit of the depths where the file does not say it: ``"mm"``, ``"in"``, ``"0.01 in"`` …
    kind : RainFile, optional
        What the file is, where the header does not tell. ``RainFile.WET_ONLY`` declares that a
        plain table leaves out dry intervals; it needs `interval_s` or an ``# interval:`` line.
    interval_s : int, optional
        Length of an interval of a plain table [s].

    Returns
    -------
    RainRecord
        The record, gaps as NaN; its notes say what was seen and repaired, a sentence each.

    Raises
    ------
    InputError
        Where the file cannot be read without guessing; it names the line.

    References
    ----------
    noaa_hpd : readme.csv.txt
    noaa_ghcnd : readme.txt
    """
    if kind is not None and not isinstance(kind, RainFile):
        raise InputError(
            "kind", f"{kind!r} is not a RainFile", "write RainFile.WET_ONLY or another"
        )
    if interval_s is not None:
        need_type(interval_s, int, "interval_s", "give the interval in whole seconds")
    if not isinstance(rain, str | Path):
        return _read_pandas(rain, unit, kind, interval_s)
    path = Path(rain)
    where = path.name
    if path.suffix.lower() == ".parquet":
        if kind is not None or interval_s is not None or unit not in (None, "mm"):
            raise InputError(where, "a stored record is in mm and says its interval itself")
        record = read_stored(path)
        return _within_reason(record, where)
    text = read_text(path)
    if text.startswith("Point precipitation frequency estimates"):
        raise InputError(
            where, "it is a table of storm depths, not a rain record", "read it as a rain table"
        )
    table = split_csv(text, where)
    chosen = kind or recognise(table)
    if chosen is RainFile.NOAA_HOURLY:
        record = read_noaa_hourly(table, unit=unit)
    elif chosen is RainFile.GHCN_DAILY:
        record = read_ghcn_daily(table, unit=unit)
    else:
        wet_only = chosen is RainFile.WET_ONLY
        record = read_plain(table, unit=unit, interval_s=interval_s, wet_only=wet_only)
    return _within_reason(record, where)


def _read_pandas(
    rain: object, unit: str | None, kind: RainFile | None, interval_s: int | None
) -> RainRecord:
    import pandas as pd

    from riskkit.rainfall.readers.frame import read_frame

    right = "give the path of a file, a pandas Series or a DataFrame"
    need_type(rain, (pd.Series, pd.DataFrame), "rain", right)
    if kind not in (None, RainFile.PLAIN, RainFile.WET_ONLY):
        raise InputError("kind", "it is a format of files", "leave it out for a Series")
    wet_only = kind is RainFile.WET_ONLY
    table = cast("pd.Series[float] | pd.DataFrame", rain)
    record = read_frame(table, unit=unit, interval_s=interval_s, wet_only=wet_only)
    return _within_reason(record, record.name)


def recognise(table: CsvText) -> RainFile:
    """Tell the format of a rain table by its header.

    Parameters
    ----------
    table : CsvText
        The table.

    Returns
    -------
    RainFile
        The format.

    Raises
    ------
    InputError
        Where it is a format that cannot serve.

    References
    ----------
    noaa_hpd : readme.csv.txt
    noaa_ghcnd : readme.txt
    """
    header = set(table.header)
    if "FRSHTT" in header:
        raise InputError(
            table.where,
            "it is a Global Summary of the Day file, whose daily rain is often incomplete",
            "take the station's GHCN-Daily file",
        )
    if any(name.startswith("HR0") and name.endswith("Val") for name in header):
        return RainFile.NOAA_HOURLY
    if {"STATION", "DATE", "PRCP"} <= header:
        return RainFile.GHCN_DAILY
    return RainFile.PLAIN


def _within_reason(record: RainRecord, where: str) -> RainRecord:
    """Refuse what no rain can be; say at once where a depth is above any measured in the world."""
    if np.all(np.isnan(record.depth_mm)):
        raise InputError(where, "every value is missing", "a record needs at least one depth")
    hours = record.interval_s / 3600
    limit = float(world_envelope_mm(hours))
    largest = int(np.nanargmax(record.depth_mm))
    depth = float(record.depth_mm[largest])
    if depth > IMPOSSIBLE * limit:
        begin = np.datetime_as_string(record.times[largest], unit="m").replace("T", " ")
        raise InputError(
            where,
            f"{depth:.4g} mm in {hours:g} h at {begin} is no rain; the world has seen {limit:.0f}",
            "correct the value, or leave it empty where it is missing",
        )
    above = int(np.count_nonzero(record.depth_mm > limit))
    if not above:
        return record
    note = (
        f"{counted(above, 'value is', 'values are')} above {limit:.0f} mm in {hours:g} h, more "
        f"than the world has seen; the largest is {depth:.0f} mm, so the unit or the value is "
        "wrong."
    )
    return replace(record, notes=(*record.notes, note))
