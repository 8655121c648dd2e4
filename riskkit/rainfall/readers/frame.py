"""Rain that stands in a pandas Series or DataFrame already."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.rainfall.readers.columns import depth_unit, mm_per_unit, rain_column, time_columns
from riskkit.rainfall.readers.files import CsvText, need_sizes
from riskkit.rainfall.readers.plain import code_notes, record_of
from riskkit.records import FloatArray, RainRecord

__all__ = ["read_frame"]

_WHERE = "rain"
_EARLIEST, _LATEST = np.datetime64("1700-01-01", "s"), np.datetime64("2201-01-01", "s")


def read_frame(
    rain: pd.Series[float] | pd.DataFrame,
    *,
    unit: str | None = None,
    interval_s: int | None = None,
    wet_only: bool = False,
) -> RainRecord:
    """Read rain from a Series, or from a column of a DataFrame, as `read_plain` does from a file.

    Parameters
    ----------
    rain : pandas.Series or pandas.DataFrame
        Depths by time, each at the start of its interval, in local standard time without a zone.
        Times are the index, or a column named ``time``. The unit stands in the name, such as
        ``depth_mm`` or ``rain_in``, or is given [any depth].
    unit : str, optional
        Unit of the depths where the name does not say it.
    interval_s : int, optional
        Length of an interval [s]; from the times themselves where absent.
    wet_only : bool, default False
        True where dry intervals were left out; it needs the interval.

    Returns
    -------
    RainRecord
        The record; its notes say what was seen and repaired.

    Raises
    ------
    InputError
        Where it cannot be read without guessing.
    """
    frame = rain.to_frame(name=rain.name or _WHERE) if isinstance(rain, pd.Series) else rain
    header = CsvText(_WHERE, {}, tuple(map(str, frame.columns)), ",", "", 0, 1, "row")
    has_times = isinstance(frame.index, pd.DatetimeIndex)
    of_time = [] if has_times else _time_column(header, frame)
    stamps = frame.index.to_series() if has_times else frame[of_time[0]]
    column = rain_column(header, of_time, unit) if frame.shape[1] > 1 else header.header[0]
    size = mm_per_unit(depth_unit(header, column, unit), _WHERE)
    times = _times(stamps)
    lines = np.arange(1, times.size + 1, dtype=np.int64)
    depth = _depths(frame.iloc[:, header.header.index(column)], column)
    n_codes = need_sizes(depth, lines, header, column)
    found = record_of(times, depth * size, lines, header, interval_s=interval_s, wet_only=wet_only)
    name = str(rain.attrs.get("name", found.name))
    return replace(found, name=name, notes=(*code_notes(n_codes), *found.notes))


def _time_column(header: CsvText, frame: pd.DataFrame) -> list[str]:
    if frame.shape[1] < 2:
        what = f"its index holds {frame.index.dtype}, not times"
        raise InputError(_WHERE, what, "give it a DatetimeIndex, or a column of times")
    found = time_columns(header)
    if len(found) > 1:
        right = 'put them together: frame.index = pd.to_datetime(frame["date"] + " " + …)'
        raise InputError(_WHERE, "dates and times stand in two columns", right)
    return found


def _times(stamps: pd.Series[pd.Timestamp]) -> NDArray[np.datetime64]:
    if not pd.api.types.is_datetime64_any_dtype(stamps):
        what = f"its times are {stamps.dtype}, not dates"
        raise InputError(_WHERE, what, "turn them into dates with pandas.to_datetime")
    zone = stamps.dt.tz
    if zone is not None:
        right = "turn them into local standard time, then drop the zone with tz_localize(None)"
        raise InputError(_WHERE, f"its times have the zone {zone}", right)
    times = stamps.to_numpy().astype("datetime64[s]")
    wrong = np.flatnonzero(np.isnat(times) | (times < _EARLIEST) | (times >= _LATEST))
    if times.size == 0:
        raise InputError(_WHERE, "it is empty", "give at least two values")
    if wrong.size:
        what = "the time is missing or outside the years 1700 to 2200"
        raise InputError(f"{_WHERE}, row {wrong[0] + 1}", what, "correct it or leave the row out")
    return times


def _depths(values: pd.Series[float], column: str) -> FloatArray:
    if pd.api.types.is_bool_dtype(values):
        what = f"{column} holds yes and no, not depths"
        raise InputError(_WHERE, what, "give the depth of rain in each interval")
    try:
        return np.array(values.to_numpy(dtype=np.float64, na_value=np.nan), dtype=np.float64)
    except (TypeError, ValueError):
        what = f"{column} holds {values.dtype}, not numbers"
        raise InputError(_WHERE, what, "turn it into numbers with pandas.to_numeric") from None
