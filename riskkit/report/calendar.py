"""Dates to remember, as a calendar file (iCalendar, RFC 5545).

The owner tests the pump each quarter and washes the filter of the dehumidifier or air unit every
six months; the company clears the inlet of the pump, changes the alarm battery and looks at the
check valve at each service. What a visit left out of order is due on its day, and called off once
it is in order. No clock is asked: the same home and day give the same file. A later
visit gives the same entries again with new days, so that a calendar which takes in the new file
moves them instead of doubling them.
"""

from __future__ import annotations

import datetime
import uuid
from typing import TYPE_CHECKING, Literal

from riskkit.errors import InputError
from riskkit.home.visits import last_visit
from riskkit.quantities.components import Component
from riskkit.quantities.text import one_line
from riskkit.quantities.units import UnitSystem
from riskkit.report.state_words import due_words, state_lines
from riskkit.risk.system_state import Severity, mended_faults, system_state
from riskkit.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    import icalendar

    from riskkit.home.home import Home
    from riskkit.risk.system_state import Fault

__all__ = ["READERS", "Reader", "months_later", "reminders_calendar", "service_date"]

Reader = Literal["owner", "company"]
READERS: tuple[Reader, ...] = ("owner", "company")

# Names the entries of this program among all calendars; made up once, never changed
_NAMESPACE = uuid.UUID("6f0b3a52-93e4-5d0c-8d0e-5a4b1c7f2e19")
_DAY_ZERO = datetime.date(1950, 1, 1)
_LAST_DAY = datetime.date(2200, 1, 1)
_SERVICE_MONTHS = 12  # where no next visit is agreed
_TIMES = 8  # repetitions of what comes back: no reminder for ever


def months_later(day: datetime.date, months: int) -> datetime.date:
    """Return the same day some months later; the last of the month where there is no such day.

    Parameters
    ----------
    day : date
        The day.
    months : int
        How many months [month].

    Returns
    -------
    date
        The later day.

    Examples
    --------
    >>> months_later(datetime.date(2026, 11, 30), 3)
    datetime.date(2027, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    following = datetime.date(year + (month == 11), (month + 1) % 12 + 1, 1)
    last = (following - datetime.timedelta(days=1)).day
    return datetime.date(year, month + 1, min(day.day, last))


def service_date(home: Home, start: datetime.date) -> datetime.date:
    """Return the day of the next service: as agreed at the last visit, or a year from the start.

    Parameters
    ----------
    home : Home
        The home with its visits.
    start : date
        From when to count.

    Returns
    -------
    date
        The day.
    """
    visit = last_visit(home.visit)
    if visit is not None and visit.next is not None and visit.next > start:
        return visit.next
    return months_later(start, _SERVICE_MONTHS)


def reminders_calendar(
    home: Home,
    start: datetime.date | None = None,
    readers: tuple[Reader, ...] = READERS,
) -> bytes:
    """Write the reminders of a home as a calendar file.

    Parameters
    ----------
    home : Home
        The home.
    start : date, optional
        From when to count; else the last visit.
    readers : tuple of str
        For whom: ``"owner"``, ``"company"``.

    Returns
    -------
    bytes
        iCalendar text in UTF-8, lines folded and ended as RFC 5545 wants.

    Raises
    ------
    InputError
        Where no day is given and there was no visit, or the day cannot be.
    """
    import icalendar

    if start is not None and not _DAY_ZERO <= start < _LAST_DAY:
        raise InputError("reminders", f"{start} is outside {_DAY_ZERO} to {_LAST_DAY}")
    if start is None:
        visit = last_visit(home.visit)
        if visit is None:
            raise InputError(
                "reminders", "the home file holds no visit", "give a day to count from"
            )
        start = visit.date
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//riskkit//reminders//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    state = system_state(home)
    for finding, words in zip(state.findings, state_lines(state, UnitSystem.US), strict=True):
        if finding.severity is not Severity.NOTE:
            calendar.add_component(_due(finding.fault, words, home, start, readers))
    for fault in mended_faults(home):
        calendar.add_component(_due(fault, "", home, start, readers))
    for row in load_table("reminders").rows:
        there = not row["part"] or state.has(Component(row["part"]))
        if row["reader"] in readers and there:
            calendar.add_component(_event(row, home, start))
    text: bytes = calendar.to_ical()
    return text


def _event(row: Mapping[str, str], home: Home, start: datetime.date) -> icalendar.Event:
    every = int(row["every_months"])
    first = months_later(start, every) if every else service_date(home, start)
    event = _day_event(home, row["key"], start, first)
    event.add("summary", f"{row['summary']}: {one_line(home.name)}")
    event.add("description", row["words"])
    event.add("categories", [row["reader"]])
    if every:
        rule: dict[str, object] = {"freq": "monthly", "interval": every, "count": _TIMES}
        if first.day > 28:  # months without such a day use their last
            rule = rule | {"bymonthday": list(range(28, first.day + 1)), "bysetpos": -1}
        event.add("rrule", rule)
    return event


def _due(
    fault: Fault, words: str, home: Home, start: datetime.date, readers: tuple[Reader, ...]
) -> icalendar.Event:
    """What is out of order is due on the day itself; without words it is mended and called off."""
    event = _day_event(home, fault.value, start, start)
    event.add("summary", f"{due_words(fault)} now: {one_line(home.name)}")
    event.add("description", words or "It was put in order.")
    event.add("categories", list(readers))
    event.add("status", "CONFIRMED" if words else "CANCELLED")
    return event


def _day_event(home: Home, key: str, start: datetime.date, day: datetime.date) -> icalendar.Event:
    import icalendar

    event = icalendar.Event()
    name = f"{home.name}\n{home.place.latitude}\n{home.place.longitude}\n{key}"
    event.add("uid", f"{uuid.uuid5(_NAMESPACE, name)}@riskkit.invalid")
    stamp = datetime.datetime.combine(start, datetime.time(0), datetime.UTC)
    event.add("dtstamp", stamp)
    event.add("sequence", (start - _DAY_ZERO).days)  # a later visit goes before an earlier one
    event.add("dtstart", day)
    event.add("dtend", day + datetime.timedelta(days=1))
    event.add("transp", "TRANSPARENT")  # takes no time of the day
    return event
