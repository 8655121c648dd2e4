"""Plain rain tables: a column of times and a column of depths.

The format is ours, and nearly every logger can be saved in it::

    # interval: 15 min
    time,depth_mm
    2020-06-01 00:00,0.0
    2020-06-01 00:15,1.2

The header names the unit (``depth_mm``, ``rain (in)``), or the caller does. The lines before the
header may state ``unit``, ``interval``, ``name``, ``stamp: end`` (the time is the end of the
interval), ``dry intervals: left out`` (only wet ones are listed) and ``after a gap: total`` (the
first value after a gap is the rain of the whole gap) or ``own`` (it is that of its interval; where
neither is said, the values themselves tell, see `riskkit.rainfall.gaps`). Else nothing is guessed:
an interval that is not listed is missing, never dry, unless the file or the caller says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError, need_type
from riskkit.files import create_text
from riskkit.limits import RECORD_INTERVALS
from riskkit.quantities.text import brief
from riskkit.quantities.units import parse_quantity
from riskkit.quantities.variables import counted
from riskkit.rainfall.gaps import SuspectValues, after_gaps, holds_totals, without_values
from riskkit.rainfall.readers.columns import depth_unit, mm_per_unit, rain_column, time_columns
from riskkit.rainfall.readers.files import CsvText, numbers_of
from riskkit.rainfall.readers.rows import read_batches
from riskkit.rainfall.readers.stamps import order_of, times_of
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.records.removed import Why

__all__ = ["GENERATED", "code_notes", "read_plain", "record_of", "write_rain"]

GENERATED = "generated"  # said by a line "# origin: generated"
DAY_S = 86400
MAX_OFF_GRID = 0.05  # share of stamps off the regular grid above which there is no regular grid
MOSTLY_WET = 0.01  # share of dry rows below which dry intervals may have been left out

DAILY_NOTE = (
    "Daily values belong to an observation day that may end in the morning or the evening, "
    "so the date of a storm can be off by one day."
)
_TOTAL_WORDS = 'right after a gap, as totals over it ("# after a gap: own" would keep them)'


def read_plain(
    table: CsvText,
    *,
    unit: str | None = None,
    interval_s: int | None = None,
    wet_only: bool = False,
) -> RainRecord:
    """Read a plain table of times and depths.

    Parameters
    ----------
    table : CsvText
        The table.
    unit : str, optional
        Unit of the depths where the file does not say it.
    interval_s : int, optional
        Length of an interval [s]; from a comment, or from the times themselves where absent.
    wet_only : bool, default False
        True where dry intervals were left out: what is not listed between the first and the last
        row is then dry. It needs the interval to be stated.

    Returns
    -------
    RainRecord
        The record; its notes say what was seen and repaired.

    Raises
    ------
    InputError
        Where the table cannot be read without guessing.
    """
    stamp_column = time_columns(table)
    column = rain_column(table, stamp_column, unit)
    size = mm_per_unit(depth_unit(table, column, unit), table.where)
    times, zone, depth, n_codes, lines = _rows(table, stamp_column, column)
    notes = []
    if zone:
        notes.append(f"Times are kept as written, at the zone {zone}, not turned to local time.")
    if table.separator == ";":
        notes.append("Columns are separated by semicolons; commas are read as decimal marks.")
    notes.extend(code_notes(n_codes))
    depth *= size
    found = record_of(times, depth, lines, table, interval_s=interval_s, wet_only=wet_only)
    return replace(found, notes=(*notes, *found.notes))


def code_notes(n_codes: int) -> list[str]:
    """Say that values were codes for missing.

    Parameters
    ----------
    n_codes : int
        How many [-].

    Returns
    -------
    list of str
        A sentence; none where there were none.
    """
    values = counted(n_codes, "value is a code", "values are codes")
    return [f"{values} such as -9999, kept as missing."] if n_codes else []


def record_of(
    times: NDArray[np.datetime64],
    depth: FloatArray,
    lines: IntArray,
    table: CsvText,
    *,
    interval_s: int | None = None,
    wet_only: bool = False,
) -> RainRecord:
    """Make a record of times and depths, as `read_plain` does of those of its rows.

    Parameters
    ----------
    times : (n_rows,) array of datetime64
        Times, to the second [date].
    depth : (n_rows,) array
        Depths [mm]; NaN where missing.
    lines : (n_rows,) array of int
        Their lines in the table, for messages [-].
    table : CsvText
        The table, with what its comments say.
    interval_s : int, optional
        Length of an interval [s]; from a comment, or from the times themselves where absent.
    wet_only : bool, default False
        True where dry intervals were left out.

    Returns
    -------
    RainRecord
        The record; its notes say what was seen and repaired.

    Raises
    ------
    InputError
        Where the rows make no record without guessing.
    """
    n_moved = 0
    if np.any(times[1:] <= times[:-1]):
        order = order_of(times, lines, table)
        n_moved = int(np.count_nonzero(times[1:] < np.maximum.accumulate(times)[:-1]))
        times, depth, lines = times[order], depth[order], lines[order]
    notes = []
    if n_moved:
        rows = counted(n_moved, "row", "rows")
        notes.append(f"Moved to their place in time: {rows} that stood late in the file.")
    wet_only = wet_only or _choice(table, "dry intervals", ("listed", "left out")) == "left out"
    stated = _stated_interval(table) if interval_s is None else interval_s
    if wet_only and stated is None:
        raise InputError(
            table.where,
            "dry intervals are left out, but the length of an interval is not stated",
            'begin the file with a line such as "# interval: 5 min"',
        )
    interval = _usual_interval(times, lines, table) if stated is None else stated
    if not 60 <= interval <= DAY_S:
        raise InputError(
            table.place(int(lines[min(1, lines.size - 1)])),
            f"an interval of {_long_words(interval)} is outside 1 min to 1 day",
            "give rain per 1 min to 1 day",
        )
    filled, start, more = _fill(times, depth, lines, table, interval, wet_only)
    notes.extend(more)
    if _choice(table, "stamp", ("begin", "end")) == "end":
        start -= np.timedelta64(interval, "s")
        notes.append("Times in the file are the ends of the intervals.")
    totals = SuspectValues(_totals(filled, table), Why.TOTAL, _TOTAL_WORDS)
    filled, removed, more = without_values(filled, start, interval, totals)
    notes.extend(more)
    if interval == DAY_S:
        notes.append(DAILY_NOTE)
    name = table.comments.get("name", Path(table.where).name.split(".")[0])
    is_generated = table.comments.get("origin", "").lower() == GENERATED
    if is_generated:
        notes.append("This rain is generated, not measured.")
    return RainRecord(filled, start, interval, name, tuple(notes), is_generated, removed)


def _rows(
    table: CsvText, stamp_column: Sequence[str], rain_column: str
) -> tuple[NDArray[np.datetime64], str, FloatArray, int, IntArray]:
    """Times with their zone, depths with how many codes for missing, and lines, as they stand."""
    most = table.text.count("\n", table.begin) + 1
    times = np.empty(most, dtype="datetime64[s]")
    depth, lines = np.empty(most), np.empty(most, dtype=np.int64)
    n, n_codes = 0, 0
    zone: str | None = None
    for columns, at in read_batches(table, [*stamp_column, rain_column]):
        stamps: Sequence[str] = columns[0]
        if len(columns) == 3:  # date and time apart
            both = zip(*columns[:2], strict=True)
            stamps = [f"{day.strip()} {hour.strip()}" for day, hour in both]
        here = slice(n, n + len(at))
        lines[here] = at
        times[here], zone = times_of(stamps, lines[here], table, zone)
        depth[here], codes = numbers_of(columns[-1], lines[here], table, rain_column)
        n, n_codes = here.stop, n_codes + codes
    return times[:n], zone or "", depth[:n], n_codes, lines[:n]


def _stated_interval(table: CsvText) -> int | None:
    text = table.comments.get("interval")
    if text is None:
        return None
    return round(parse_quantity(text, "s", f"{table.where}, interval"))


def _choice(table: CsvText, key: str, choices: tuple[str, ...]) -> str:
    """Value of a comment that knows some values, the first where it is absent."""
    value = table.comments.get(key, choices[0]).lower()
    if value not in choices:
        right = " or ".join(choice for choice in choices if choice)
        what = f"'# {key}: {brief(value)}' is not known"
        raise InputError(table.where, what, f"write {right}")
    return value


def _totals(filled: FloatArray, table: CsvText) -> NDArray[np.bool_]:
    """Find totals after gaps: where the file says that it holds them, or plainly does."""
    said = _choice(table, "after a gap", ("", "own", "total"))
    after = after_gaps(filled)
    if said == "total" or (said == "" and holds_totals(filled)):
        return after
    return np.zeros_like(after)


def _usual_interval(times: NDArray[np.datetime64], lines: IntArray, table: CsvText) -> int:
    """Most common step between rows; a stated interval is better."""
    if times.size < 2:
        raise InputError(
            table.place(int(lines[0])),
            "one row alone does not tell the length of its interval",
            'begin the file with a line such as "# interval: 15 min"',
        )
    return _usual(np.diff(times).astype(np.int64))


def _fill(
    times: NDArray[np.datetime64],
    depth_mm: FloatArray,
    lines: IntArray,
    table: CsvText,
    interval_s: int,
    wet_only: bool,
) -> tuple[FloatArray, np.datetime64, list[str]]:
    """Lay the rows on a regular grid; what is not listed is missing, or dry when so declared."""
    notes: list[str] = []
    seconds = times.view(np.int64)
    of_interval = seconds % interval_s
    phase = _usual(of_interval)
    off = of_interval != phase
    del of_interval
    if off.mean() > MAX_OFF_GRID or (wet_only and off.any()):
        at = int(np.flatnonzero(off)[0])
        raise InputError(
            table.place(int(lines[at])),
            f"{str(times[at]).replace('T', ' ')} does not lie on a grid of {_words(interval_s)}",
            "give rain per regular interval of 1 min to 1 day",
        )
    slot = (seconds - phase) // interval_s
    first, last = int(slot[~off][0]), int(slot[~off][-1])
    n_slots = last - first + 1
    if n_slots > RECORD_INTERVALS:
        raise InputError(
            table.where,
            f"{times[0]} to {times[-1]} are {n_slots:,} intervals of {_words(interval_s)}, more "
            f"than {RECORD_INTERVALS:,}",
            "look for a wrong date, or add the values up to a longer interval",
        )
    if n_slots == slot.size and not off.any():  # no row is absent
        return depth_mm, np.datetime64(first * interval_s + phase, "s"), notes
    filled = np.full(n_slots, 0.0 if wet_only else np.nan)
    filled[slot[~off] - first] = depth_mm[~off]
    inside = off & (slot >= first) & (slot < last)
    # rain of unknown duration reaches into the intervals on both sides
    filled[slot[inside] - first] = np.nan
    filled[slot[inside] - first + 1] = np.nan
    if off.any():
        rows = counted(int(off.sum()), "row", "rows")
        notes.append(f"Kept as missing: {rows} between two regular times.")
    absent = n_slots - int((~off).sum())
    known = depth_mm[~np.isnan(depth_mm)]
    if absent and not wet_only:
        if known.size and np.mean(known == 0) < MOSTLY_WET and absent > known.size / 10:
            raise InputError(
                table.where,
                f"{absent:,} of {n_slots:,} intervals are not listed and hardly any listed one is "
                "dry, so dry intervals may have been left out",
                'say so with a line "# dry intervals: left out" and "# interval: ...", or list '
                "the dry intervals with 0",
            )
        notes.append(f"Kept as missing: {absent:,} of {n_slots:,} intervals, which are not listed.")
    if wet_only:
        gaps = counted(absent, "interval that is", "intervals that are")
        notes.append(f"Taken as dry, as declared: {gaps} not listed.")
    return filled, np.datetime64(first * interval_s + phase, "s"), notes


def _usual(numbers: IntArray) -> int:
    """Most common of some numbers."""
    if np.all(numbers == numbers[0]):
        return int(numbers[0])
    values, counts = np.unique(numbers, return_counts=True)
    return int(values[np.argmax(counts)])


def _words(interval_s: int) -> str:
    for size, word in ((DAY_S, "day"), (3600, "h"), (60, "min")):
        if interval_s % size == 0:
            return f"{interval_s // size} {word}"
    return f"{interval_s} s"


def _long_words(interval_s: float) -> str:
    """An interval that is no interval of a record; in days where it is longer than one."""
    return f"{interval_s:.6g} s" if interval_s < 86400.0 else f"{interval_s / 86400.0:.4g} days"


def write_rain(record: RainRecord, path: str | Path) -> None:
    """Write a record as a plain table that `read_rain` reads back without loss.

    Parameters
    ----------
    record : RainRecord
        The record.
    path : str or Path
        The file to write, which must not be there.

    Raises
    ------
    TakenError
        Where there is a file of this name; it stays as it is.
    InputError
        Where the file cannot be written.
    """
    need_type(record, RainRecord, "record", "make one with read_rain")
    need_type(path, (str, Path), "path", "give the path of a file to write")
    head = [f"# interval: {_words(record.interval_s)}"]
    if np.any(np.isnan(record.depth_mm)):
        head.append("# after a gap: own")  # what is no rain of its interval is missing already
    if record.name:
        head.append(f"# name: {' '.join(record.name.split())}")
    times = np.datetime_as_string(record.times, unit="s")
    cells = ["" if np.isnan(depth) else repr(float(depth)) for depth in record.depth_mm]
    rows = [f"{time},{cell}" for time, cell in zip(times, cells, strict=True)]
    create_text(Path(path), "\n".join([*head, "time,depth_mm", *rows, ""]))
