"""Columns of a table of rain: which one holds times, which one rain, and in what unit."""

from __future__ import annotations

import re
from collections.abc import Sequence

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.quantities.units import parse_quantity
from riskkit.rainfall.readers.files import CsvText

__all__ = ["columns_told", "depth_unit", "mm_per_unit", "rain_column", "split_unit", "time_columns"]

LEAST_UNIT_MM, MOST_UNIT_MM = 1e-4, 1000.0  # from a tenth of a thousandth of a mm to a metre
_TIME_NAMES = ("time", "date", "datetime", "date_time", "date/time", "date time", "timestamp")
_RAIN_WORDS = ("rain", "rainfall", "precip", "precipitation", "prcp", "depth")
_NO_RAIN_WORDS = ("snow", "attributes", "flag", "quality")
_UNITS = r"0\.01 ?in|0\.1 ?mm|mm|cm|m|in|inch|inches|millimeters?|millimetres?"
_RATE = r"(?P<rate>(?:/|_|_per_| per )(?:h|hr|hour|s|min|d|day))?"
_IN_BRACKETS = re.compile(r"(?P<name>.*?)\s*[(\[](?P<unit>[^/)\]]+)(?P<rate>/.*)?[)\]]")
_AT_THE_END = re.compile(rf"(?P<name>.+?)[\s_,]+(?P<unit>{_UNITS}){_RATE}", re.IGNORECASE)


def mm_per_unit(unit: str, where: str) -> float:
    """Turn the name of a depth unit into millimetres.

    Parameters
    ----------
    unit : str
        Such as ``"mm"``, ``"in"`` or ``"0.01 in"``.
    where : str
        File or argument, for messages.

    Returns
    -------
    float
        Depth of one unit [mm].

    Raises
    ------
    InputError
        Where the unit is unknown or not a depth.
    """
    text = unit.strip()
    text = text if re.match(r"[\d.]", text) else f"1 {text}"
    size = parse_quantity(text, "mm", where)
    if not LEAST_UNIT_MM <= size <= MOST_UNIT_MM:
        what = f"the unit {brief(unit)!r} is no step of a rain gauge"
        raise InputError(where, what, 'write "mm", "in" or "0.01 in"')
    return size


def split_unit(name: str) -> tuple[str, str, bool]:
    """Split the name of a column into what and unit.

    Parameters
    ----------
    name : str
        Such as ``"depth_mm"``, ``"rain (in)"`` or ``"rain mm/h"``.

    Returns
    -------
    what : str
        The name without its unit, in lower case.
    unit : str
        The unit; empty where the name has none.
    is_rate : bool
        True where the unit is per time.
    """
    match = _IN_BRACKETS.fullmatch(name.strip()) or _AT_THE_END.fullmatch(name.strip())
    if not match:
        return name.strip().lower(), "", "intensity" in name.lower()
    is_rate = bool(match["rate"]) or "intensity" in name.lower()
    return match["name"].lower(), match["unit"].strip().lower(), is_rate


def depth_unit(table: CsvText, column: str, unit: str | None) -> str:
    """Find the unit of a column of depths: from its name, a comment or the caller.

    Parameters
    ----------
    table : CsvText
        The table.
    column : str
        Name of the column.
    unit : str, optional
        What the caller says.

    Returns
    -------
    str
        The unit.

    Raises
    ------
    InputError
        Where no one says it, two disagree, or it is an intensity.
    """
    _, in_name, is_rate = split_unit(column)
    if is_rate:
        raise InputError(
            table.where,
            f"{brief(column)!r} is an intensity",
            "give the depth in each interval: intensity times the length of the interval",
        )
    if unit is not None:
        mm_per_unit(unit, "unit")
    said = {
        f"the header says {brief(in_name)}": in_name,
        f"the comment says {brief(table.comments.get('unit', ''))}": table.comments.get("unit", ""),
        f"unit={unit!r}": unit or "",
    }
    said = {words: value for words, value in said.items() if value}
    if not said:
        raise InputError(
            table.where,
            f"the unit of {brief(column)!r} is not stated",
            'name the column "depth_mm" or "depth_in", or give the unit',
            argument="unit",
        )
    sizes = {mm_per_unit(value, table.where) for value in said.values()}
    if len(sizes) > 1:
        raise InputError(table.where, f"the units disagree: {' and '.join(said)}")
    return next(iter(said.values()))


def columns_told(table: CsvText) -> str:
    """Name the columns of a table for a message.

    Parameters
    ----------
    table : CsvText
        A table.

    Returns
    -------
    str
        Their names, where one is of times. Else how many there are: what is no record may be
        anything, a secret too, and its first line is not shown.
    """
    if any(name.lower() in _TIME_NAMES for name in table.header):
        return ", ".join(table.header)[:120]
    return f"{len(table.header)} columns" if len(table.header) > 1 else "its one column"


def time_columns(table: CsvText) -> list[str]:
    """Find the column of times, or of dates and of times.

    Parameters
    ----------
    table : CsvText
        The table.

    Returns
    -------
    list of str
        One name, or two.

    Raises
    ------
    InputError
        Where there is none, or more than one.
    """
    lower = [name.lower() for name in table.header]
    if "date" in lower and "time" in lower:
        return [table.header[lower.index("date")], table.header[lower.index("time")]]
    found = [name for name, low in zip(table.header, lower, strict=True) if low in _TIME_NAMES]
    if len(found) != 1:
        what = "no column of times" if not found else "more than one column of times"
        raise InputError(
            table.where,
            f"there is {what} among {columns_told(table)}",
            'name it "time" or "date"',
        )
    return found


def rain_column(table: CsvText, times: Sequence[str], unit: str | None) -> str:
    """Find the column of rain by its name, or as the only one left where the unit is given.

    Parameters
    ----------
    table : CsvText
        The table.
    times : sequence of str
        Columns of times.
    unit : str, optional
        Unit of the depths, where it is given.

    Returns
    -------
    str
        Its name.

    Raises
    ------
    InputError
        Where there is none, or more than one.
    """
    others = [name for name in table.header if name not in times]
    if unit is not None and len(others) == 1:
        return others[0]
    found = []
    for name in table.header:
        words = re.split(r"[\s_]+", split_unit(name)[0])
        if set(words) & set(_RAIN_WORDS) and not set(words) & set(_NO_RAIN_WORDS):
            found.append(name)
    if len(found) != 1:
        what = "no column of rain" if not found else "more than one column of rain"
        raise InputError(
            table.where,
            f"there is {what} among {columns_told(table)}",
            'name it "depth_mm" or "depth_in"',
        )
    return found[0]
