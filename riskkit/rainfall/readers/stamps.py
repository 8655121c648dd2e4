"""Times in a table: read without guessing, put in order, or refused by their line."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.rainfall.readers.files import CsvText
from riskkit.records import IntArray

__all__ = ["days_of", "order_of", "times_of"]

EARLIEST_YEAR, LATEST_YEAR = 1700, 2200

_ISO = re.compile(
    r"(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2})(:\d{2})?(?:\.0+)?)?\s*(Z|[+-]\d{2}:?\d{2})?"
)
_WIDTHS = {10, 16, 19}  # date; date and minutes; date, minutes and seconds


def times_of(
    cells: Sequence[str], lines: IntArray, table: CsvText, zone_before: str | None = None
) -> tuple[NDArray[np.datetime64], str]:
    """Turn ISO times into dates, in the order of the file.

    Parameters
    ----------
    cells : sequence of str
        Times such as ``2020-01-31 15:45`` or ``2020-01-31``, with one time zone or none.
    lines : (n_rows,) array of int
        Their lines in the file, for messages [-].
    table : CsvText
        The table they come from.
    zone_before : str, optional
        The zone of rows before these.

    Returns
    -------
    times : (n_rows,) array of datetime64
        The times [date, to the second], as written (the zone is dropped), in the order of the
        file.
    zone : str
        The time zone written beside all of them; empty for none.

    Raises
    ------
    InputError
        Where a time cannot be read, is outside the years 1700 to 2200, or has another zone than the
        ones before.
    """
    zone = ""
    times = _times_at_once(cells) if not zone_before else None
    if times is None:
        plain, zone = _times_one_by_one(cells, lines, table, zone_before)
        times = np.array(plain, dtype="datetime64[s]")
    years = times.astype("datetime64[Y]").astype(np.int64) + 1970
    far = np.flatnonzero((years < EARLIEST_YEAR) | (years > LATEST_YEAR))
    if far.size:
        raise InputError(
            table.place(int(lines[far[0]])),
            f"the year {years[far[0]]} is outside {EARLIEST_YEAR} to {LATEST_YEAR}",
        )
    return times, zone


def order_of(times: NDArray[np.datetime64], lines: IntArray, table: CsvText) -> IntArray:
    """Return the order that puts rows forward in time.

    Rows that stand late in the file are moved only where they close a hole exactly: the times
    before and after are then one usual step away.

    Parameters
    ----------
    times : (n_rows,) array of datetime64
        The times, in the order of the file [date].
    lines : (n_rows,) array of int
        Their lines in the file, for messages [-].
    table : CsvText
        The table they come from.

    Returns
    -------
    (n_rows,) array of int
        Place in the file of each row in order of time [-].

    Raises
    ------
    InputError
        Where a time stands twice, or goes back without closing a hole.
    """
    order = np.argsort(times, kind="stable")
    step = np.diff(times[order]).astype(np.int64)
    right = "rows go forward in local standard time, without summer time"
    if np.any(step == 0):
        at = int(order[int(np.flatnonzero(step == 0)[0]) + 1])
        raise InputError(
            table.place(int(lines[at])), f"the time {_words(times[at])} stands twice", right
        )
    late = np.flatnonzero(times[1:] < np.maximum.accumulate(times)[:-1]) + 1
    if late.size:
        steps, counts = np.unique(step, return_counts=True)
        usual = steps[np.argmax(counts)]
        place = np.argsort(order)[late]
        inside = (place > 0) & (place < times.size - 1)
        closes = (
            inside & (step[place - 1] == usual) & (step[np.minimum(place, step.size - 1)] == usual)
        )
        if not closes.all():
            at = int(late[np.flatnonzero(~closes)[0]])
            raise InputError(
                table.place(int(lines[at])),
                f"the time {_words(times[at])} is earlier than one before it",
                right,
            )
    return order.astype(np.int64)


def _words(time: np.datetime64) -> str:
    return str(time).replace("T", " ")


_MARKS = {4: b"-", 7: b"-", 10: b" T", 13: b":", 16: b":"}
_PARTS = ((0, 4), (5, 7), (8, 10), (11, 13), (14, 16), (17, 19))  # year to second


def _times_at_once(cells: Sequence[str]) -> NDArray[np.datetime64] | None:
    """Read times that are all written alike; None where they are not, or one cannot be."""
    width = len(cells[0])
    joined = "".join(cells)
    if width not in _WIDTHS or len(joined) != width * len(cells) or not joined.isascii():
        return None
    letters = np.frombuffer(joined.encode(), dtype=np.uint8).reshape(-1, width)
    for at, marks in _MARKS.items():
        if at < width and not np.isin(letters[:, at], list(marks)).all():
            return None
    parts = np.zeros((len(_PARTS), len(cells)), dtype=np.int64)
    for part, (begin, end) in zip(parts, _PARTS, strict=True):
        for at in range(begin, min(end, width)):
            digit = letters[:, at] - ord("0")  # what lies below wraps round and is large
            if np.any(digit > 9):
                return None
            part *= 10
            part += digit
    year, month, day, *of_day = parts
    first = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    date = first.astype("datetime64[D]") + (day - 1)
    possible = (month >= 1) & (month <= 12) & (day >= 1) & (date.astype("datetime64[M]") == first)
    hour, minute, second = of_day
    if not np.all(possible & (hour <= 23) & (minute <= 59) & (second <= 59)):
        return None
    return np.asarray(date.astype("datetime64[s]") + ((hour * 60 + minute) * 60 + second))


def _times_one_by_one(
    cells: Sequence[str], lines: IntArray, table: CsvText, zone: str | None
) -> tuple[list[np.datetime64], str]:
    found: list[np.datetime64] = []
    for cell, line in zip(cells, lines, strict=True):
        where = table.place(int(line))
        match = _ISO.fullmatch(cell.strip())
        if not match:
            raise InputError(
                where,
                f"{cell.strip()[:30]!r} is not a time that can be read without guessing",
                "write it like 2020-01-31 15:45",
            )
        day, minutes, seconds, here = match.groups()
        try:
            found.append(np.datetime64(f"{day}T{minutes or '00:00'}{seconds or ':00'}", "s"))
        except ValueError:
            right = "write midnight as 00:00 of the next day" if minutes == "24:00" else ""
            raise InputError(
                where, f"there is no such time as {brief(cell.strip())!r}", right
            ) from None
        if zone is not None and zone != (here or ""):
            raise InputError(
                where,
                f"the time zone changes from {zone or 'none'!r} to {here or 'none'!r}",
                "write all times in local standard time, without summer time",
            )
        zone = here or ""
    return found, zone or ""


def days_of(cells: Sequence[str], lines: IntArray, table: CsvText) -> IntArray:
    """Turn ISO dates into days since 1970, in the order of the file.

    Parameters
    ----------
    cells : sequence of str
        Dates such as ``2020-01-31``.
    lines : (n_rows,) array of int
        Their lines in the file, for messages [-].
    table : CsvText
        The table they come from.

    Returns
    -------
    (n_rows,) array of int
        Days since 1970-01-01, increasing [-].

    Raises
    ------
    InputError
        As `times_of`, and where a date has a time of day, stands twice or goes back.
    """
    times, _ = times_of(cells, lines, table)
    days = times.astype("datetime64[D]")
    odd = np.flatnonzero(days != times)
    if odd.size:
        raise InputError(
            table.place(int(lines[odd[0]])),
            f"{brief(cells[odd[0]].strip())!r} has a time of day",
            "a daily table has dates only",
        )
    back = np.flatnonzero(np.diff(days).astype(np.int64) <= 0)
    if back.size:
        at = int(back[0]) + 1
        what = "stands twice" if days[at] == days[at - 1] else "is earlier than the row before"
        raise InputError(
            table.place(int(lines[at])), f"the date {days[at]} {what}", "a row per day, in order"
        )
    return days.astype(np.int64)
