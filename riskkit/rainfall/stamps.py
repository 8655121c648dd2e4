"""Times in a table: read without guessing, put in order, or refused by their line."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskkit._texts import brief
from riskkit.errors import InputError
from riskkit.rainfall.files import CsvText
from riskkit.records import IntArray

__all__ = ["days_of", "order_of", "times_of"]

EARLIEST_YEAR, LATEST_YEAR = 1700, 2200

_ISO = re.compile(
    r"(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2})(:\d{2})?(?:\.0+)?)?\s*(Z|[+-]\d{2}:?\d{2})?"
)
_WIDTHS = {10, 16, 19}  # date; date and minutes; date, minutes and seconds


def times_of(
    cells: Sequence[str], lines: IntArray, table: CsvText
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

    References
    ----------
    arithmetic : bookkeeping
    """
    text = np.array(cells, dtype=np.str_)
    width = text.dtype.itemsize // 4
    zone = ""
    times = _times_at_once(text) if width in _WIDTHS else None
    if times is None:
        plain, zone = _times_one_by_one(cells, lines, table)
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

    References
    ----------
    arithmetic : bookkeeping
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


def _times_at_once(text: NDArray[np.str_]) -> NDArray[np.datetime64] | None:
    """Read times that are all written alike; None where they are not."""
    width = text.dtype.itemsize // 4
    if np.any(np.strings.str_len(text) != width):
        return None
    letters = text.view("U1").reshape(-1, width)
    marks = {4: "-", 7: "-", 13: ":", 16: ":"}
    if any(np.any(letters[:, at] != mark) for at, mark in marks.items() if at < width):
        return None
    try:
        return text.astype("datetime64[s]")
    except ValueError:
        return None


def _times_one_by_one(
    cells: Sequence[str], lines: IntArray, table: CsvText
) -> tuple[list[np.datetime64], str]:
    found: list[np.datetime64] = []
    zone: str | None = None
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

    References
    ----------
    arithmetic : bookkeeping
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
