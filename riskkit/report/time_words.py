"""Durations in words and cells of tables: how long, how likely, and that it never comes."""

from __future__ import annotations

import math
from enum import Enum

from riskkit.ensemble.quantiles import Outcome, Points
from riskkit.report.number_words import RARE, about_share, percent_words, rounded_to

__all__ = [
    "about_duration",
    "about_time",
    "chance_and_time",
    "chance_words",
    "is_one",
    "minutes_words",
    "short_duration",
    "spread_words",
    "time_cells",
]

_SHORT = {"minute": "min", "hour": "h"}
_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0


class _Limit(Enum):
    """On which side of what is said a duration lies; the value is how people say it."""

    LESS = "less than"
    NONE = ""
    MORE = "more than"


def _duration_parts(seconds: float) -> tuple[_Limit, str, str]:
    """Limit, number and unit, as people say them."""
    if seconds < 90:
        return _Limit.LESS, ("2" if seconds >= 30 else "1"), "minute"
    minutes = seconds / _MINUTE
    if minutes < 10:
        return _Limit.NONE, rounded_to(minutes, 1), "minute"
    if minutes < 87.5:  # else it would round to 90, which is 1.5 hours
        return _Limit.NONE, rounded_to(minutes, 5), "minute"
    if seconds < 10 * _HOUR:
        return _Limit.NONE, rounded_to(seconds / _HOUR, 0.5), "hour"
    if seconds < _DAY + 0.5 * _HOUR:
        return _Limit.NONE, rounded_to(seconds / _HOUR, 1), "hour"
    return _Limit.MORE, "a", "day"  # nobody plans by the third day after an alarm


def is_one(seconds: float) -> bool:
    """Tell whether a duration is said in the singular.

    Parameters
    ----------
    seconds : float
        The duration [s].

    Returns
    -------
    bool
        Whether it is a single unit.
    """
    return _duration_parts(seconds)[1] in ("1", "a")


def about_duration(seconds: float) -> str:
    """Say a duration as people do.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"35 minutes"``, ``"2.5 hours"``, ``"more than a day"`` or ``"never"``.

    Examples
    --------
    >>> about_duration(2050), about_duration(9100), about_duration(float("inf"))
    ('35 minutes', '2.5 hours', 'never')
    >>> about_duration(40), about_duration(7.6e7)
    ('less than 2 minutes', 'more than a day')
    """
    if math.isinf(seconds):
        return "never"
    limit, number, unit = _duration_parts(seconds)
    return f"{limit.value} {number} {unit}".lstrip() + ("" if is_one(seconds) else "s")


def about_time(seconds: float) -> str:
    """Say a duration as people do, with "about" before a number that is no limit.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"about 35 minutes"`` or ``"more than a day"``.
    """
    exact = _duration_parts(seconds)[0] is _Limit.NONE
    return ("about " if exact else "") + about_duration(seconds)


def short_duration(seconds: float) -> str:
    """Write a duration for a table.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"35 min"``, ``"2.5 h"``, ``"> 1 d"`` or ``"never"``.

    Examples
    --------
    >>> short_duration(2050), short_duration(20), short_duration(9100), short_duration(7.6e7)
    ('35 min', '<1 min', '2.5 h', '> 1 d')
    """
    if math.isinf(seconds):
        return "never"
    limit, number, unit = _duration_parts(seconds)
    if limit is _Limit.MORE:
        return "> 1 d"
    return f"{'<' if limit is _Limit.LESS else ''}{number} {_SHORT[unit]}"


def spread_words(time: Points) -> str:
    """Say the likely range in brackets; nothing where it says no more than the middle.

    Parameters
    ----------
    time : Points
        Durations [s].

    Returns
    -------
    str
        A space and the range, or empty.
    """
    said = {about_duration(t) for t in (time.low, time.middle, time.high)}
    if len(said) == 1:
        return ""
    low, middle, high = (_duration_parts(t) for t in (time.low, time.middle, time.high))
    if low[2] == high[2] == middle[2]:
        first = f"{low[0].value} {low[1]}".lstrip()
        apart = low[0] is not _Limit.NONE and high[0] is _Limit.NONE
        unit = f" {high[2]}s" if apart else ""  # far from the number before
        spread = first if low == high else f"{first} to {high[1]}{unit}"
    else:
        spread = f"{about_duration(time.low)} to {about_duration(time.high)}"
    return f" (most likely {spread})"


def chance_and_time(time: Outcome) -> str:
    """Say how likely water reaches the floor, and how long that takes where it does.

    Parameters
    ----------
    time : Outcome
        Durations [s].

    Returns
    -------
    str
        The same parts in the same order, however often it never comes.

    Examples
    --------
    >>> chance_and_time(Outcome(1200, 2050, 4300))
    'chance more than 99 in 100; if so, about 35 minutes (most likely 20 to 70)'
    >>> chance_and_time(Outcome(120, 3300, float("inf"), 0.24, Points(100, 2050, 9100)))
    'chance about 8 in 10; if so, about 35 minutes (most likely 2 minutes to 2.5 hours)'
    >>> chance_and_time(Outcome(*[float("inf")] * 3, 1.0))
    'chance less than 1 in 100; if so, the time is not known'
    """
    found = time.if_ever
    words = (
        "the time is not known" if found is None else about_time(found.middle) + spread_words(found)
    )
    return f"chance {chance_words(time)}; if so, {words}"


def chance_words(time: Outcome) -> str:
    """Say how likely it is that water reaches the floor at all.

    Parameters
    ----------
    time : Outcome
        Durations [s].

    Returns
    -------
    str
        Such as ``"about 8 in 10"``.
    """
    share = 1.0 - time.never_share
    return f"{'about ' if RARE <= share <= 1.0 - RARE else ''}{about_share(share)}"


def minutes_words(time: Outcome) -> str:
    """Write a time from the alarm to the floor for a table, where water gets there.

    Parameters
    ----------
    time : Outcome
        The time [s].

    Returns
    -------
    str
        For example ``"35 min (20–70 min)"``, ``"35 min (2 min–4 h)"`` or ``"not reached"``.

    Examples
    --------
    >>> minutes_words(Outcome(1300, 2050, 4100))
    '35 min (20–70 min)'
    """
    found = time.if_ever
    if found is None:
        return "not reached"
    low, middle, high = (short_duration(t) for t in (found.low, found.middle, found.high))
    if low == middle == high:
        return middle
    if ">" in low + high:  # a dash before or after that sign would be read with it
        return f"{middle} ({low} to {high})"
    same_unit = low.split()[-1] == high.split()[-1]
    return f"{middle} ({low.split()[0] if same_unit else low}–{high})"


def time_cells(time: Outcome) -> tuple[str, str]:
    """Write a time and how often it never comes, for two columns of a table.

    Parameters
    ----------
    time : Outcome
        The time [s].

    Returns
    -------
    tuple of str
        Such as ``("35 min (20–70 min)", "12 %")``.
    """
    return minutes_words(time), percent_words(time.never_share)
