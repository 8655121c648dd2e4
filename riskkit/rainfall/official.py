"""Official tables of storm depth by duration and return period.

Two formats are read. The point-frequency file of NOAA Atlas 14 as the agency gives it, with or
without the sections of the 90 % limits, for partial-duration or annual-maximum series, as depth or
intensity. And a plain table of our own, for any other agency::

    # unit: mm
    # series: annual maximum
    # source: the agency and the station
    # years: 31
    duration,2 yr,10 yr,100 yr,100 yr lower,100 yr upper
    5 min,6.1,9.4,13.6,11.0,16.2
    1 h,18.9,30.0,44.1,36.1,52.0
    24 h,61.0,92.2,131.8,109.0,154.6

``unit`` is mm, in, mm/h or in/h; ``series`` is annual maximum or partial duration; ``source`` and
``years`` may be left out. Limits (5 % and 95 %) stand in columns of their own, for every period or
for none. An official table rounds its cells; where a longer duration or a rarer storm has less
rain by no more than that rounding, the cell is raised and a note says so. More is refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from riskkit._texts import brief
from riskkit.errors import InputError
from riskkit.rainfall.files import CsvText, read_columns, read_text, split_csv
from riskkit.rainfall.plain import mm_per_unit
from riskkit.rainfall.quality import ENVELOPE_RANGE_H, world_envelope_mm
from riskkit.records import DepthDurationFrequency, FloatArray, Series
from riskkit.units import parse_quantity

__all__ = ["read_rain_table"]

ATLAS_BEGIN = "Point precipitation frequency estimates"
_SERIES = {"annual maximum": Series.ANNUAL_MAXIMUM, "partial duration": Series.PARTIAL_DURATION}
# beyond what any agency prints
_MOST_YEARS = 1e6
_LONGEST_H, _SHORTEST_H = 366 * 24.0, 1 / 60
_MOST_RAIN = 5.0  # times the most that the world has seen
_SECTIONS = {"upper bound": "upper", "lower bound": "lower", "": "depth"}


@dataclass(frozen=True)
class _Grid:
    """A table as printed: depths or intensities, and half a last digit of each cell."""

    duration_h: FloatArray
    period_yr: FloatArray
    value: FloatArray
    half_digit: FloatArray
    lines: tuple[int, ...]


def read_rain_table(path: str | Path) -> DepthDurationFrequency:
    """Read an official table of storm depths.

    Parameters
    ----------
    path : str or Path
        A NOAA Atlas 14 point-frequency file, or a plain table as above.

    Returns
    -------
    DepthDurationFrequency
        The table; its notes say what was seen and repaired.

    Raises
    ------
    InputError
        Where the table cannot be read without guessing, or cannot be.

    References
    ----------
    noaa_atlas14 : point-frequency CSV files
    """
    text = read_text(path)
    where = Path(path).name
    if "not within a project area" in text:
        raise InputError(
            where, "the agency answered that the place is outside Atlas 14", "ask for another place"
        )
    if ATLAS_BEGIN.lower() in text[:200].lower():
        return _read_atlas14(text, where)
    return _read_own(split_csv(text, where))


def _read_atlas14(text: str, where: str) -> DepthDurationFrequency:
    lines = text.split("\n")
    unit = re.search(r"\(([^)]*)\)", lines[0])
    if not unit:
        raise InputError(f"{where}, line 1", "the unit in brackets is missing", "(inches) is usual")
    facts = dict(
        [part.strip() for part in line.split(":", 1)] for line in lines[:12] if ":" in line
    )
    is_rate = _is_rate(facts.get("Data type", ""), unit[1], where)
    series = _series(facts.get("Time series type", ""), where)
    mm = mm_per_unit(unit[1].split("/")[0], f"{where}, line 1")
    grids = _atlas_sections(lines, where)
    if "depth" not in grids:
        raise InputError(
            where,
            "the section PRECIPITATION FREQUENCY ESTIMATES is missing",
            "save the whole file of the agency",
        )
    place = [facts.get("Location name (ESRI Maps)", ""), facts.get("Station Name", "")]
    where_is = ", ".join(p for p in place if p and p not in ("-", "None"))
    site = f"{facts.get('Latitude', '?')}, {facts.get('Longitude', '?')}"
    source = f"{lines[1].strip()}, {where_is or 'unnamed place'} ({site})"
    return _build(grids, mm, is_rate, series, where, source=source)


def _is_rate(kind: str, unit: str, where: str) -> bool:
    per_hour = unit.endswith("/hour")
    if "intensity" in kind.lower():
        said = True
    elif "depth" in kind.lower():
        said = False
    else:
        raise InputError(
            where, "the line 'Data type:' is missing", "it says Precipitation depth or intensity"
        )
    if said != per_hour:
        what = f"the data type is {brief(kind)!r} but the unit is {brief(unit)!r}"
        raise InputError(where, what)
    return said


def _series(text: str, where: str) -> Series:
    for words, series in _SERIES.items():
        if words in text.lower().replace("-", " "):
            return series
    raise InputError(
        where,
        f"the series is {brief(text)!r}" if text else "the series is not stated",
        'it is "partial duration" or "annual maximum"',
    )


def _atlas_sections(lines: Sequence[str], where: str) -> dict[str, _Grid]:
    grids: dict[str, _Grid] = {}
    section = ""
    at = 0
    while at < len(lines):
        line = lines[at].strip()
        if line.upper().startswith("PRECIPITATION FREQUENCY ESTIMATES"):
            section = next(name for word, name in _SECTIONS.items() if word in line.lower())
        if line.lower().startswith("by duration for"):
            section = section or "depth"
            begin = at
            at += 1
            while at < len(lines) and re.match(r"\s*\d", lines[at]):
                at += 1
            if section in grids:
                raise InputError(
                    f"{where}, line {begin + 1}", f"the {section} section stands twice"
                )
            grids[section] = _atlas_grid(lines[begin:at], begin + 1, where)
            section = ""
            continue
        at += 1
    return grids


def _atlas_grid(lines: Sequence[str], first_line: int, where: str) -> _Grid:
    head = lines[0].split(",")
    periods = [_period(cell.strip().strip("'"), f"{where}, line {first_line}") for cell in head[1:]]
    rows = [line.split(",") for line in lines[1:]]
    names = [row[0].strip().rstrip(":") for row in rows]
    cells = [[cell.strip() for cell in row[1:]] for row in rows]
    return _grid(
        names, periods, cells, list(range(first_line + 1, first_line + 1 + len(rows))), where
    )


def _period(text: str, where: str, what: str = "a return period") -> float:
    """Years from ``10`` or, as a yearly chance, ``1/10``."""
    match = re.fullmatch(r"(?:1/)?(\d+(?:\.\d+)?)", text)
    if not match or not 0 < float(match[1]) <= _MOST_YEARS:
        raise InputError(where, f"{text[:20]!r} is not {what}", "write years, such as 10")
    return float(match[1])


def _grid(
    names: Sequence[str],
    periods: Sequence[float],
    cells: Sequence[Sequence[str]],
    lines: Sequence[int],
    where: str,
) -> _Grid:
    """Turn the printed cells into numbers, and check the shape."""
    if len(names) < 2 or len(periods) < 2:
        raise InputError(
            where, f"the table has {len(names)} durations and {len(periods)} return periods",
            "two of each are needed",
        )  # fmt: skip
    value = np.empty((len(names), len(periods)))
    half = np.empty_like(value)
    hours = np.empty(len(names))
    for row, (name, texts, line) in enumerate(zip(names, cells, lines, strict=True)):
        here = f"{where}, line {line}"
        hours[row] = _hours(name, here)
        if len(texts) != len(periods):
            raise InputError(
                here, f"the row has {len(texts)} depths for {len(periods)} return periods"
            )
        for column, text in enumerate(texts):
            if not re.fullmatch(r"\d+\.?\d*|\.\d+", text):
                raise InputError(here, f"{text[:30]!r} is not a depth", "write it like 2.57")
            value[row, column] = float(text)
            half[row, column] = 0.5 * 10.0 ** -len(text.partition(".")[2])
            if value[row, column] <= 0:
                raise InputError(here, "a depth is zero", "leave the whole duration out")
    if np.any(np.diff(hours) <= 0) or np.any(np.diff(periods) <= 0):
        raise InputError(where, "durations or return periods do not increase", "put them in order")
    return _Grid(hours, np.array(periods), value, half, tuple(lines))


def _hours(text: str, where: str) -> float:
    """Hours from ``5-min``, ``2-hr``, ``24 h``, ``2-day``."""
    match = re.fullmatch(r"(\d+(?:\.\d+)?)[\s-]*([A-Za-z]+)", text.strip())
    if not match:
        raise InputError(where, f"{text[:30]!r} is not a duration", "write it like 30 min or 24 h")
    word = {"hr": "h", "hrs": "h", "days": "day", "mins": "min"}.get(match[2], match[2])
    hours = parse_quantity(f"{match[1]} {word}", "s", where) / 3600
    if not _SHORTEST_H * (1 - 1e-9) <= hours <= _LONGEST_H:
        raise InputError(where, f"a duration of {text[:30]} is outside 1 min to 366 days")
    return hours


def _read_own(table: CsvText) -> DepthDurationFrequency:
    unit = table.comments.get("unit", "")
    if not unit:
        raise InputError(
            table.where,
            "the unit is not stated",
            'begin the file with a line such as "# unit: mm" or "# unit: in/h"',
        )
    if "series" not in table.comments:
        raise InputError(
            table.where,
            "the series is not stated",
            'add a line "# series: annual maximum" or "# series: partial duration"',
        )
    series = _series(table.comments["series"], table.where)
    depth_word, slash, per = unit.partition("/")
    if slash and per.strip() not in ("h", "hr", "hour"):
        raise InputError(
            table.where, f"the unit {brief(unit)!r} is not known", "write mm, in, mm/h or in/h"
        )
    mm = mm_per_unit(depth_word, f"{table.where}, unit")
    if table.header[0].lower() != "duration":
        raise InputError(
            table.where, f"the first column is {brief(table.header[0])!r}", 'it must be "duration"'
        )
    columns, lines = read_columns(table, table.header)
    cells = [[_point(cell, table) for cell in column] for column in columns]
    grids = {}
    for name, picks in _own_columns(table).items():
        periods = sorted(picks)
        rows = [[cells[picks[period]][row] for period in periods] for row in range(lines.size)]
        grids[name] = _grid(cells[0], periods, rows, [int(n) for n in lines], table.where)
    years, here = table.comments.get("years"), f"{table.where}, years"
    return _build(
        grids, mm, bool(slash), series, table.where,
        source=table.comments.get("source", table.where),
        years=None if years is None else _period(years, here, "a number of years"),
    )  # fmt: skip


def _point(cell: str, table: CsvText) -> str:
    cell = cell.strip()
    return cell.replace(",", ".") if table.decimal_comma else cell


def _own_columns(table: CsvText) -> dict[str, dict[float, int]]:
    """Which column holds which return period, for the depths and the limits."""
    found: dict[str, dict[float, int]] = {}
    for place, name in enumerate(table.header[1:], start=1):
        match = re.fullmatch(
            r"(\d+(?:\.\d+)?)\s*-?\s*(?:yrs?|years?|a)\.?(?:\s+(lower|upper))?", name, re.IGNORECASE
        )
        if not match:
            raise InputError(
                table.where,
                f"the column {brief(name)!r} is not a return period",
                'write "10 yr", or "10 yr lower" and "10 yr upper" for its limits',
            )
        picks = found.setdefault((match[2] or "depth").lower(), {})
        period = _period(match[1], f"{table.where}, column {brief(name)!r}")
        if period in picks:
            raise InputError(table.where, f"the column {brief(name)!r} stands twice")
        picks[period] = place
    if "depth" not in found:
        raise InputError(table.where, "there is no column of depths", 'write "10 yr"')
    return found


def _build(
    grids: Mapping[str, _Grid],
    mm: float,
    is_rate: bool,
    series: Series,
    where: str,
    *,
    source: str,
    years: float | None = None,
) -> DepthDurationFrequency:
    """Put depths and limits together, in mm, monotone, with notes on what was done."""
    main = grids["depth"]
    if series is Series.ANNUAL_MAXIMUM and main.period_yr[0] <= 1:
        raise InputError(
            where,
            f"annual maxima have no return period of {main.period_yr[0]:g} years",
            "it is above one, or the series is a partial duration",
        )
    notes: list[str] = []
    limits: dict[str, FloatArray] = {}
    depth = main.value
    for name, grid in grids.items():
        if grid.value.shape != main.value.shape or np.any(grid.period_yr != main.period_yr):
            raise InputError(where, f"the {name} limits have other durations or return periods")
        if np.any(grid.duration_h != main.duration_h):
            raise InputError(where, f"the {name} limits have other durations")
        scale = mm * (grid.duration_h[:, None] if is_rate else 1.0)
        _need_possible(grid, scale, where)
        value, n_raised = _monotone(grid.value * scale, grid.half_digit * scale, grid, where)
        if n_raised:
            notes.append(f"{n_raised} cells of the {name} table were raised within their rounding.")
        if name == "depth":
            depth = value
        else:
            limits[name] = value
    if len(limits) == 1:
        raise InputError(where, "only one of the two limits is given", "give both or none")
    if limits and not np.all((limits["lower"] <= depth) & (depth <= limits["upper"])):
        raise InputError(where, "a depth lies outside its own limits")
    if is_rate:
        worst = float(np.max(main.half_digit / main.value))
        notes.append(
            "Depths are printed intensities times the duration; their rounding is up to "
            f"{worst:.0%}, so the agency's depth table is better."
        )
    return DepthDurationFrequency(
        main.duration_h, main.period_yr, depth, series,
        lower_mm=limits.get("lower"), upper_mm=limits.get("upper"),
        years=years, source=source, notes=tuple(notes),
    )  # fmt: skip


def _need_possible(grid: _Grid, scale: FloatArray | float, where: str) -> None:
    """Refuse depths that no rain has, before anything is worked out with them."""
    _, longest = ENVELOPE_RANGE_H
    hours = grid.duration_h[:, None]
    seen = world_envelope_mm(np.clip(hours, *ENVELOPE_RANGE_H)) * np.maximum(hours / longest, 1.0)
    for row, column in np.argwhere(grid.value > _MOST_RAIN * seen / scale):
        raise InputError(
            f"{where}, line {grid.lines[row]}",
            f"the {grid.period_yr[column]:g}-year depth is {grid.value[row, column]:.4g}, far more "
            "than the world has seen",
            "look at the unit, or for a wrong cell",
        )


def _monotone(
    depth_mm: FloatArray, half_digit_mm: FloatArray, grid: _Grid, where: str
) -> tuple[FloatArray, int]:
    """Raise cells that fall short of a shorter or commoner storm by no more than rounding."""
    raised = np.maximum.accumulate(np.maximum.accumulate(depth_mm, axis=0), axis=1)
    short = raised - depth_mm
    # two printed cells can each differ from the truth by half a digit
    other = np.maximum.accumulate(np.maximum.accumulate(half_digit_mm, axis=0), axis=1)
    wrong = np.argwhere(short > (half_digit_mm + other) * (1 + 1e-9))
    for row, column in wrong:
        raise InputError(
            f"{where}, line {grid.lines[row]}",
            f"the {grid.period_yr[column]:g}-year depth is {short[row, column]:.3g} mm less than "
            "that of a shorter or commoner storm",
            "look for a wrong cell",
        )
    return raised, int(np.count_nonzero(short > 0))
