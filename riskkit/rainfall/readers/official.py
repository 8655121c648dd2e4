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

Many cities print no more than numbers, ``Hour,1,2,5,10`` with a row per duration: such a table is
read where the caller says its unit and its series.
"""

from __future__ import annotations

import re
from pathlib import Path

from riskkit.errors import InputError, need_type
from riskkit.limits import OFFICIAL_ROWS
from riskkit.quantities.text import brief
from riskkit.rainfall.readers.atlas14 import is_atlas14, read_atlas14
from riskkit.rainfall.readers.columns import mm_per_unit
from riskkit.rainfall.readers.files import CsvText, read_text, split_csv
from riskkit.rainfall.readers.printed import build_table, printed_grid, series_of, years_of
from riskkit.rainfall.readers.rows import read_columns
from riskkit.records import DepthDurationFrequency, Series

__all__ = ["read_rain_table"]

_PERIOD = re.compile(
    r"(\d+(?:\.\d+)?)\s*-?\s*(?:yrs?|years?|a)?\.?(?:\s+(lower|upper))?", re.IGNORECASE
)
_NUMBER = re.compile(r"\d+(?:\.\d+)?|\.\d+")


def read_rain_table(
    path: str | Path, *, unit: str | None = None, series: Series | None = None
) -> DepthDurationFrequency:
    """Read an official table of storm depths.

    Parameters
    ----------
    path : str or Path
        A NOAA Atlas 14 point-frequency file, or a plain table as above.
    unit : str, optional
        Unit of the depths where the file does not say it: mm, in, mm/h or in/h.
    series : Series, optional
        What a return period counts where the file does not say it.

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
    need_type(path, (str, Path), "rain table", "give the path of a file")
    text = read_text(path)
    where = Path(path).name
    if text.count("\n") > OFFICIAL_ROWS:
        what = f"it has more than {OFFICIAL_ROWS:,} lines, which no official table of depths has"
        raise InputError(where, what, "give a rain record as such")
    if "not within a project area" in text:
        raise InputError(
            where, "the agency answered that the place is outside Atlas 14", "ask for another place"
        )
    if is_atlas14(text):
        return read_atlas14(text, where, unit, series)
    return _read_own(split_csv(text, where), unit, series)


def _read_own(
    table: CsvText, said_unit: str | None, said_series: Series | None
) -> DepthDurationFrequency:
    unit = _said(table, "unit", said_unit)
    if not unit:
        raise InputError(
            table.where,
            "the unit is not stated",
            'begin the file with a line such as "# unit: mm" or "# unit: in/h", or say it',
            argument="official_unit",
        )
    named = _said(table, "series", None if said_series is None else said_series.value)
    if not named:
        raise InputError(
            table.where,
            "the series is not stated",
            'add a line "# series: annual maximum" or "# series: partial duration", or say it',
            argument="official_series",
        )
    series = series_of(named, table.where)
    depth_word, slash, per = unit.partition("/")
    if slash and per.strip() not in ("h", "hr", "hour"):
        raise InputError(
            table.where, f"the unit {brief(unit)!r} is not known", "write mm, in, mm/h or in/h"
        )
    mm = mm_per_unit(depth_word, f"{table.where}, unit")
    in_unit = _duration_unit(table)
    columns, lines = read_columns(table, table.header)
    cells = [[_point(cell, table) for cell in column] for column in columns]
    names = [f"{name} {in_unit}".strip() if _NUMBER.fullmatch(name) else name for name in cells[0]]
    grids = {}
    for name, picks in _own_columns(table).items():
        periods = sorted(picks)
        rows = [[cells[picks[period]][row] for period in periods] for row in range(lines.size)]
        grids[name] = printed_grid(names, periods, rows, [int(n) for n in lines], table.where)
    years, here = table.comments.get("years"), f"{table.where}, years"
    return build_table(
        grids, mm, bool(slash), series, table.where,
        source=table.comments.get("source", table.where),
        years=None if years is None else years_of(years, here, "a number of years"),
    )  # fmt: skip


def _said(table: CsvText, key: str, by_caller: str | None) -> str:
    """What the file or the caller says; both must say the same."""
    in_file = table.comments.get(key, "")
    if by_caller and in_file and by_caller.strip().lower() not in in_file.lower().replace("-", " "):
        what = f"the file says {key}: {brief(in_file)}, not {brief(by_caller)}"
        raise InputError(table.where, what, "leave one of them out")
    return in_file or by_caller or ""


def _duration_unit(table: CsvText) -> str:
    """Unit of durations that are plain numbers, from the name of their column."""
    name = table.header[0].lower()
    words = re.fullmatch(r"(?:durations?)?[\s(\[_-]*([a-z]*)[)\]]?", name)
    known = {"": "", "hour": "h", "hours": "h", "hr": "h", "hrs": "h", "h": "h", "minutes": "min",
             "minute": "min", "min": "min", "mins": "min", "day": "day", "days": "day"}  # fmt: skip
    if words is None or not name or words[1] not in known:
        what = "the first column holds no durations"
        raise InputError(table.where, what, 'it must be "duration", "hour", "min" or "day"')
    return known[words[1]]


def _point(cell: str, table: CsvText) -> str:
    cell = cell.strip()
    return cell.replace(",", ".") if table.decimal_comma else cell


def _own_columns(table: CsvText) -> dict[str, dict[float, int]]:
    """Which column holds which return period, for the depths and the limits."""
    found: dict[str, dict[float, int]] = {}
    for place, name in enumerate(table.header[1:], start=1):
        match = _PERIOD.fullmatch(name)
        if not match:
            raise InputError(
                table.where,
                f"the column {brief(name)!r} is not a return period",
                'write "10 yr", or "10 yr lower" and "10 yr upper" for its limits',
            )
        picks = found.setdefault((match[2] or "depth").lower(), {})
        period = years_of(match[1], f"{table.where}, column {brief(name)!r}")
        if period in picks:
            raise InputError(table.where, f"the column {brief(name)!r} stands twice")
        picks[period] = place
    if "depth" not in found:
        raise InputError(table.where, "there is no column of depths", 'write "10 yr"')
    return found
