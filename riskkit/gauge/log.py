"""Logs of a pump: times of its starts and stops, read from plain tables or told by a level.

What a counter, a plug meter or a level logger can be saved as::

    time,running                time,level_in
    2025-03-01 04:10:22,1       2025-03-01 04:10:00,6.2
    2025-03-01 04:10:51,0       2025-03-01 04:11:00,3.1

A row is a change or one of regular looks. Where only starts are counted, each is a row with 1. An
empty cell begins a gap, which ends with the next row that is not empty. Times are local standard
time. ``# clock fast at the end: 95 s`` (or slow) tells how far the clock of the logger was off when
it was read; it was right at the beginning, and the times between are set right evenly.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.limits import LOG_ROWS
from riskkit.quantities.text import brief
from riskkit.quantities.units import convert, parse_quantity
from riskkit.quantities.variables import counted
from riskkit.rainfall.readers.columns import columns_told, time_columns
from riskkit.rainfall.readers.files import (
    MISSING_TEXT,
    CsvText,
    numbers_of,
    read_text,
    split_csv,
)
from riskkit.rainfall.readers.rows import read_columns
from riskkit.rainfall.readers.stamps import times_of
from riskkit.records import FloatArray, IntArray
from riskkit.records.frozen import clean_texts, freeze_arrays, need

__all__ = ["PumpLog", "read_log"]

_LOOKS = 0.5  # share of rows that only repeat the state, from which on they are regular looks
_HOLE = 5.0  # steps of regular looks that make a gap
_SWING = 0.5  # of the usual range of the level: a turn is no ripple (judgement)
_MOST_DRIFT = 0.01  # of the time logged; a clock farther off is no clock
_SUMMER_S = (1800, 7500)  # a step back of about an hour is the end of summer time
_FARTHEST_M = 9000.0

_STATES = {
    **dict.fromkeys(("1", "1.0", "on", "true", "yes"), 1.0),
    **dict.fromkeys(("0", "0.0", "off", "false", "no"), 0.0),
}
_LEVEL = re.compile(r"(level|below_floor)_(mm|cm|m|in|ft)")


@dataclass(frozen=True, eq=False)
class PumpLog:
    """Runs of a pump, in order of time.

    Parameters
    ----------
    name : str
        Name of the file.
    start_s : (n_runs,) array
        When each run began, since 1970 in local standard time [s].
    stop_s : (n_runs,) array
        When it ended; NaN where that was not logged [s].
    drop_m : (n_runs,) array
        How far the water fell; NaN where no level was logged [m].
    watched_s : (n_spans, 2) array
        Begin and end of each span without a gap [s].
    resolution_s : float
        How closely a time is told [s].
    notes : tuple of str
        What the reader saw and repaired, one sentence each.
    """

    name: str
    start_s: FloatArray
    stop_s: FloatArray
    drop_m: FloatArray
    watched_s: FloatArray
    resolution_s: float
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        freeze_arrays(self)
        clean_texts(self)
        where = "pump log"
        same = self.start_s.shape == self.stop_s.shape == self.drop_m.shape
        need(same and self.start_s.ndim == 1, where, "there is not one stop for each start")
        need(self.start_s.size > 0, where, "the pump never starts in it")
        need(bool(np.all(np.diff(self.start_s) > 0)), where, "its starts do not go forward in time")
        ended = np.isfinite(self.stop_s)
        right = self.stop_s[ended] > self.start_s[ended]
        need(bool(np.all(right)), where, "a run ends before it begins")
        need(self.resolution_s > 0, where, "its times are told in no steps")

    @property
    def days(self) -> float:
        """Days that were watched."""
        return float(np.diff(self.watched_s, axis=1).sum() / 86400.0)


def read_log(path: str | Path) -> PumpLog:
    """Read a log of a pump.

    Parameters
    ----------
    path : str or Path
        A CSV file with ``time`` and ``running``, or with ``time`` and a level such as
        ``level_in``, ``level_mm`` or ``below_floor_cm``; packed by gzip or not.

    Returns
    -------
    PumpLog
        Its runs; the notes say what was seen and repaired.

    Raises
    ------
    InputError
        Where the file cannot be read without guessing; it names the line.
    """
    table = split_csv(read_text(path), Path(path).name)
    n_rows = table.text.count("\n", table.begin)
    if n_rows > LOG_ROWS:
        raise InputError(
            table.where, f"it has {n_rows:,} rows, more than {LOG_ROWS:,}", "cut it in parts"
        )
    stamps = time_columns(table)
    column, kind, unit = _column(table, stamps)
    cells, lines = read_columns(table, [*stamps, column])
    texts: Sequence[str] = cells[0]
    if len(stamps) == 2:
        texts = [f"{day.strip()} {hour.strip()}" for day, hour in zip(*cells[:2], strict=True)]
    times, zone = times_of(texts, lines, table)
    if kind == "running":
        values = _states(cells[-1], lines, table, column)
    else:
        least = -convert(_FARTHEST_M, "m", unit)
        values, _ = numbers_of(cells[-1], lines, table, column, least)
        values = values * convert(1.0, unit, "m") * (-1.0 if kind == "below_floor" else 1.0)
    seconds, values, notes = _in_order(times, values, lines, table)
    if zone:
        notes.append(f"Times are kept as written, at the zone {zone}, not turned to local time.")
    seconds = _set_right(seconds, table, notes)
    if kind == "running":
        return _of_states(table.where, seconds, values, notes)
    return _of_levels(table.where, seconds, values, notes)


def _column(table: CsvText, stamps: Sequence[str]) -> tuple[str, str, str]:
    """Name of the column that tells what the pump does, what it holds and its unit."""
    found: list[tuple[str, str, str]] = []
    for name in table.header:
        match = _LEVEL.fullmatch(name.lower())
        if name.lower() == "running" and name not in stamps:
            found.append((name, "running", ""))
        elif match:
            found.append((name, match[1], match[2]))
    if len(found) != 1:
        what = "more than one column tells" if found else "no column tells"
        raise InputError(
            table.where,
            f"{what} what the pump does, among {columns_told(table)}",
            'begin with "time,running" or with "time,level_in" (or mm, cm, m, ft)',
        )
    return found[0]


def _states(cells: Sequence[str], lines: IntArray, table: CsvText, column: str) -> FloatArray:
    known = {}
    for cell in dict.fromkeys(cells):
        text = cell.strip()
        if text in MISSING_TEXT:
            known[cell] = np.nan
        elif text.lower() in _STATES:
            known[cell] = _STATES[text.lower()]
        else:
            raise InputError(
                table.place(int(lines[cells.index(cell)])),
                f"{brief(column)} is {brief(text, 30)!r}, neither on nor off",
                "write 1 or 0, and leave the cell empty where a gap begins",
            )
    return np.array([known[cell] for cell in cells])


def _in_order(
    times: NDArray[np.datetime64], values: FloatArray, lines: IntArray, table: CsvText
) -> tuple[FloatArray, FloatArray, list[str]]:
    """Times [s] that go forward; a row that stands twice counts once, all else is refused."""
    seconds = times.astype("datetime64[s]").astype(np.int64)
    step = np.diff(seconds)
    back = np.flatnonzero(step < 0)
    if back.size:
        at = int(back[0]) + 1
        by = -int(step[back[0]])
        right = "rows go forward in time"
        if _SUMMER_S[0] <= by <= _SUMMER_S[1]:
            right = "write local standard time all year, for summer time ends twice in an hour"
        raise InputError(
            table.place(int(lines[at])),
            f"the time {str(times[at]).replace('T', ' ')} is {by:,} s before that of the row above",
            right,
        )
    again = np.concatenate([[False], step == 0])
    if again.any():
        before = np.roll(values, 1)
        other = again & ~((values == before) | (np.isnan(values) & np.isnan(before)))
        if other.any():
            at = int(np.flatnonzero(other)[0])
            raise InputError(
                table.place(int(lines[at])),
                f"the time {str(times[at]).replace('T', ' ')} stands twice, with two values",
                "give seconds, or leave one of the rows out",
            )
    notes = []
    if again.any():
        rows = counted(int(again.sum()), "row that stands", "rows that stand")
        notes.append(f"Left out: {rows} twice.")
    return seconds[~again].astype(np.float64), values[~again], notes


def _set_right(seconds: FloatArray, table: CsvText, notes: list[str]) -> FloatArray:
    """Times by a clock that was right at the beginning and fast or slow at the end."""
    drift = 0.0
    for word, sign in (("fast", -1.0), ("slow", 1.0)):
        text = table.comments.get(f"clock {word} at the end")
        if text is None:
            continue
        if drift:
            raise InputError(table.where, "its clock is said to be fast and slow", "say one")
        off = parse_quantity(text, "s", f"{table.where}, clock {word} at the end")
        if not 0 <= off <= _MOST_DRIFT * (seconds[-1] - seconds[0]):
            raise InputError(
                table.where,
                f"a clock {brief(text, 30)} {word} at the end is farther off than a clock is",
                "give the difference at the end, less than a hundredth of the time logged",
            )
        drift = sign * off
        notes.append(f"Its clock was {brief(text, 30)} {word} at the end; all times are set right.")
    if not drift:
        return seconds
    return np.asarray(seconds + drift * (seconds - seconds[0]) / (seconds[-1] - seconds[0]))


def _of_states(name: str, seconds: FloatArray, states: FloatArray, notes: list[str]) -> PumpLog:
    known = np.isfinite(states)
    if not np.any(states[known] == 1.0):
        raise InputError(name, "the pump never starts in it", "each start is a row with 1")
    same = states[1:] == states[:-1]
    step = np.diff(seconds)
    usual = float(np.median(step)) if step.size else 1.0
    starts_only = not np.any(states[known] == 0.0)
    looks = not starts_only and step.size > 1 and float(same.mean()) > _LOOKS
    gap = ~known
    if looks:
        # a look after a hole tells the state then, not what was between
        hole = np.flatnonzero(step > _HOLE * usual)
        seconds, states, gap = _with_gaps(seconds, states, hole, usual)
        if hole.size:
            notes.append(f"{counted(hole.size, 'hole', 'holes')} in regular rows kept as missing.")
    spans = _spans(seconds, gap)
    if starts_only:
        notes.append("It holds starts alone, so how long the pump ran is not known.")
        start = seconds[states == 1.0]
        none = np.full(start.size, np.nan)
        return PumpLog(name, start, none, none, spans, _resolution(seconds), tuple(notes))
    starts, stops = _runs(seconds, states, usual / 2.0 if looks else 0.0)
    resolution = usual if looks else _resolution(seconds)
    drop = np.full(starts.size, np.nan)
    if not starts.size:
        raise InputError(name, "the pump never starts in it", "each start is a row with 1")
    return PumpLog(name, starts, stops, drop, spans, resolution, tuple(notes))


def _with_gaps(
    seconds: FloatArray, values: FloatArray, hole: IntArray, usual_s: float
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Put an empty row after the last look before each hole."""
    at = hole + 1
    seconds = np.insert(seconds, at, seconds[hole] + usual_s)
    values = np.insert(values, at, np.nan)
    return seconds, values, np.isnan(values)


def _resolution(seconds: FloatArray) -> float:
    """Minutes or seconds, as the times are written."""
    return 60.0 if np.all(np.mod(np.round(seconds), 60) == 0) else 1.0


def _spans(seconds: FloatArray, gap: NDArray[np.bool_]) -> FloatArray:
    """From the first known row to the next gap, and so on."""
    spans = []
    begin: float | None = None
    edges = np.flatnonzero(np.diff(gap.astype(np.int64)) != 0) + 1
    for i in [0, *edges.tolist()]:
        if gap[i] and begin is not None:
            spans.append((begin, seconds[i]))
            begin = None
        elif not gap[i]:
            begin = float(seconds[i])
    if begin is not None and seconds[-1] > begin:
        spans.append((begin, seconds[-1]))
    return np.array(spans, dtype=np.float64).reshape(-1, 2)


def _runs(
    seconds: FloatArray, states: FloatArray, earlier_s: float
) -> tuple[FloatArray, FloatArray]:
    """Starts and stops seen; one that fell into a gap is unknown, and such a run is left out."""
    before, after = states[:-1], states[1:]
    on = np.flatnonzero((before == 0.0) & (after == 1.0)) + 1
    off = np.flatnonzero((before == 1.0) & (after == 0.0)) + 1
    lost = np.flatnonzero(np.isnan(states))
    if states[0] == 1.0 and not earlier_s:  # a list of changes begins with one
        on = np.concatenate([[0], on])
    starts, stops = [], []
    for i in on.tolist():
        j = int(np.searchsorted(off, i + 1))
        g = int(np.searchsorted(lost, i))
        ended = j < off.size and not (g < lost.size and lost[g] < off[j])
        starts.append(seconds[i] - earlier_s)
        stops.append(seconds[off[j]] - earlier_s if ended else np.nan)
    return np.array(starts), np.array(stops)


def _of_levels(name: str, seconds: FloatArray, level_m: FloatArray, notes: list[str]) -> PumpLog:
    known = np.isfinite(level_m)
    if known.sum() < 3:
        raise InputError(name, "nearly every level is missing", "give levels by the minute or so")
    step = np.diff(seconds)
    usual = float(np.median(step))
    hole = np.flatnonzero(step > _HOLE * usual)
    if hole.size:
        notes.append(f"{counted(hole.size, 'hole', 'holes')} in the levels kept as missing.")
    seconds, level_m, gap = _with_gaps(seconds, level_m, hole, usual)
    low, high = np.nanpercentile(level_m, [5.0, 95.0])
    swing = _SWING * float(high - low)
    if swing <= 0:
        raise InputError(name, "the level never changes", "look whether the logger is in the pit")
    peaks, troughs = _turns(level_m, swing)
    if not peaks:
        raise InputError(
            name, "the level never falls by as much as the pump draws it down",
            "give levels by the minute or so",
        )  # fmt: skip
    starts = seconds[peaks]
    stops = seconds[troughs]
    drop = level_m[peaks] - level_m[troughs]
    notes.append("Starts and stops are told by the turns of the level.")
    spans = _spans(seconds, gap)
    return PumpLog(name, starts, stops, drop, spans, usual, tuple(notes))


def _turns(level_m: FloatArray, swing_m: float) -> tuple[list[int], list[int]]:
    """Tops and the bottoms after them, of falls of at least a swing; a gap begins anew."""
    peaks: list[int] = []
    troughs: list[int] = []
    high = low = -1
    falling = False
    for i, value in enumerate(level_m.tolist()):
        if value != value:  # a gap
            high = low = -1
            falling = False
            continue
        if high < 0:
            high = low = i
        if not falling:
            if value >= level_m[high]:
                high = i
            elif level_m[high] - value >= swing_m:
                falling, low = True, i
        elif value <= level_m[low]:
            low = i
        elif value - level_m[low] >= swing_m / 2.0:
            peaks.append(high)
            troughs.append(low)
            falling, high = False, i
    return peaks, troughs
