"""The point-frequency file of NOAA Atlas 14, as the agency gives it or a spreadsheet saved it.

A spreadsheet fills rows up with empty cells, drops zeros at the end of numbers, sets quotes, and
where commas are decimal marks it parts cells by semicolons. What stands above the tables may be cut
off by hand: all that is needed is the unit, and it is asked for by name.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.rainfall.readers.columns import mm_per_unit
from riskkit.rainfall.readers.printed import Grid, build_table, printed_grid, series_of, years_of
from riskkit.records import DepthDurationFrequency, Series

__all__ = ["is_atlas14", "read_atlas14"]

_TITLE = "point precipitation frequency estimates"
_TABLE = "by duration for"
_SECTION = "precipitation frequency estimates"
_SECTIONS = {"upper bound": "upper", "lower bound": "lower", "": "depth"}
_BY_CHANCE = {"aep": Series.ANNUAL_MAXIMUM, "ari": Series.PARTIAL_DURATION}


def is_atlas14(text: str) -> bool:
    """Tell the agency's file by its first line or by the heads of its tables.

    Parameters
    ----------
    text : str
        The file's text.

    Returns
    -------
    bool
        Whether it is such a file.

    References
    ----------
    noaa_atlas14 : point-frequency CSV files
    """
    return any(line.lower().lstrip('" ').startswith((_TITLE, _TABLE)) for line in text.split("\n"))


def read_atlas14(
    text: str, where: str, unit: str | None = None, series: Series | None = None
) -> DepthDurationFrequency:
    """Read a point-frequency file of NOAA Atlas 14.

    Parameters
    ----------
    text : str
        The file's text.
    where : str
        The file's name, for messages.
    unit : str, optional
        Unit of the depths where the first line of the file is lost.
    series : Series, optional
        What a return period counts, as the reader knows it.

    Returns
    -------
    DepthDurationFrequency
        The table.

    Raises
    ------
    InputError
        Where something is missing or contradicts itself; it is named.

    References
    ----------
    noaa_atlas14 : point-frequency CSV files
    """
    rows = _rows(text, where)
    first = next((i for i, row in enumerate(rows) if _starts(row, _TABLE)), len(rows))
    head = [", ".join(cell for cell in row if cell) for row in rows[:first]]
    facts = dict([part.strip() for part in line.split(":", 1)] for line in head if ":" in line)
    said = _unit(head, unit, where)
    is_rate = _is_rate(facts.get("Data type", ""), said, where)
    grids = _sections(rows, where)
    if "depth" not in grids:
        raise InputError(
            where,
            "the section PRECIPITATION FREQUENCY ESTIMATES is missing",
            "save the whole file of the agency",
        )
    found = _series(facts.get("Time series type"), rows[first][0], where)
    if series not in (None, found):
        raise InputError(where, f"its series is {found.value}", "leave the other one out")
    mm = mm_per_unit(said.split("/")[0], f"{where}, line 1")
    place = [facts.get("Location name (ESRI Maps)", ""), facts.get("Station Name", "")]
    where_is = ", ".join(p for p in place if p and p not in ("-", "None"))
    site = f"{facts.get('Latitude', '?')}, {facts.get('Longitude', '?')}"
    volume = next((line for line in head if line.startswith("NOAA Atlas")), "NOAA Atlas 14")
    source = f"{volume}, {where_is or 'unnamed place'} ({site})"
    return build_table(_same_digits(grids), mm, is_rate, found, where, source=source)


def _rows(text: str, where: str) -> list[list[str]]:
    """Cells of each line, without empty ones at its end; a decimal comma becomes a point."""
    table = next((line for line in text.split("\n") if _TABLE in line.lower()), "")
    separator = ";" if ";" in table else "\t" if "\t" in table else ","
    found = []
    for number, line in enumerate(text.split("\n"), 1):
        # the agency sets apostrophes before chances such as 1/2, and quotes nothing
        try:
            cells = next(csv.reader([line], delimiter=separator), [])
        except csv.Error as error:
            raise InputError(f"{where}, line {number}", f"the row is broken ({error})") from None
        cells = [cell.strip().strip("'") for cell in cells]
        if separator != ",":
            cells = [re.sub(r"^(\d+),(\d+)$", r"\1.\2", cell) for cell in cells]
        while cells and not cells[-1]:
            cells.pop()
        found.append(cells)
    return found


def _starts(row: Sequence[str], words: str) -> bool:
    return bool(row) and row[0].lower().startswith(words)


def _unit(head: Sequence[str], unit: str | None, where: str) -> str:
    """Find the unit in brackets in the first line, or take the reader's."""
    line = next((line for line in head if line.lower().startswith(_TITLE)), None)
    found = None if line is None else re.search(r"\(([^)]*)\)", line)
    if found is None and unit is None:
        what = "the first line of the agency's file" if line is None else "the unit in brackets"
        right = f'put back "{_TITLE.capitalize()} (inches)" or what stood there, or say the unit'
        place = f"{where}, line 1"
        raise InputError(place, f"{what} is missing", right, argument="official_unit")
    if found is None:
        return unit or ""
    if unit is not None and not _same_unit(unit, found[1], where):
        what = f"its unit is {brief(found[1])!r}, not {brief(unit)!r}"
        raise InputError(f"{where}, line 1", what, "leave the other one out")
    return found[1]


def _same_unit(one: str, other: str, where: str) -> bool:
    first, second = (mm_per_unit(unit.split("/")[0], where) for unit in (one, other))
    return bool(np.isclose(first, second)) and ("/" in one) == ("/" in other)


def _is_rate(kind: str, unit: str, where: str) -> bool:
    """Tell intensities by the unit; the data type must say the same where it stands there."""
    per_hour = re.fullmatch(r".*/ ?h(?:ou)?r?", unit) is not None
    said = {"intensity": True, "depth": False}
    for word, is_rate in said.items():
        if word in kind.lower() and is_rate != per_hour:
            what = f"the data type is {brief(kind)!r} but the unit is {brief(unit)!r}"
            raise InputError(where, what)
    return per_hour


def _series(said: str | None, table_head: str, where: str) -> Series:
    """Series by its line, or by ARI and AEP at the head of the tables, which mean the same."""
    if said is not None:
        return series_of(said, where)
    for word, series in _BY_CHANCE.items():
        if word in table_head.lower():
            return series
    return series_of("", where)


def _sections(rows: Sequence[Sequence[str]], where: str) -> dict[str, Grid]:
    grids: dict[str, Grid] = {}
    section, at = "", 0
    while at < len(rows):
        if _starts(rows[at], _SECTION):
            line = rows[at][0].lower()
            section = next(name for word, name in _SECTIONS.items() if word in line)
        if _starts(rows[at], _TABLE):
            section, begin = section or "depth", at
            while at + 1 < len(rows) and rows[at + 1] and re.match(r"\d", rows[at + 1][0]):
                at += 1
            if section in grids:
                raise InputError(
                    f"{where}, line {begin + 1}", f"the {section} section stands twice"
                )
            grids[section] = _one_grid(rows[begin : at + 1], begin + 1, where)
            section = ""
        at += 1
    return grids


def _one_grid(rows: Sequence[Sequence[str]], first_line: int, where: str) -> Grid:
    here = f"{where}, line {first_line}"
    for cell in rows[0][1:]:
        if re.search(r"[A-Za-z]", cell) and re.search(r"\d", cell):
            what = f"{cell[:20]!r} is not a return period"
            right = "write years such as 10; a spreadsheet takes chances such as 1/10 for dates"
            raise InputError(here, what, right)
    periods = [years_of(cell, here) for cell in rows[0][1:]]
    names = [row[0].rstrip(": ") for row in rows[1:]]
    lines = [first_line + 1 + i for i in range(len(names))]
    return printed_grid(names, periods, [row[1:] for row in rows[1:]], lines, where)


def _same_digits(grids: dict[str, Grid]) -> dict[str, Grid]:
    """Count digits of cells that lost zeros at the end: the agency prints as many for one size."""
    size = {name: np.floor(np.log10(grid.value)) for name, grid in grids.items()}
    finest: dict[float, float] = {}
    for name, grid in grids.items():
        for power, half in zip(size[name].ravel(), grid.half_digit.ravel(), strict=True):
            finest[float(power)] = min(float(half), finest.get(float(power), np.inf))
    return {
        name: replace(grid, half_digit=np.vectorize(finest.__getitem__)(size[name]))
        for name, grid in grids.items()
    }
