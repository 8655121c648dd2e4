"""Durations in words and cells of tables: how long, how likely, and that it never comes."""

from __future__ import annotations

import math
from enum import Enum

from riskkit.ensemble.quantiles import Outcome
from riskkit.report.amounts import Amount
from riskkit.report.number_words import about_share, is_limit, percent_words, rounded_to

__all__ = [
    "about_duration",
    "chance_and_time",
    "chance_words",
    "likely_and_soon",
    "likely_range",
    "minutes_words",
    "more_or_less",
    "short_duration",
    "short_range",
    "soon_words",
    "time_cells",
    "within_words",
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


def _is_one(seconds: float) -> bool:
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
    return f"{limit.value} {number} {unit}".lstrip() + ("" if _is_one(seconds) else "s")


def more_or_less(seconds: float) -> str:
    """Say a duration with "about" before it, where it is not a limit already.

    Parameters
    ----------
    seconds : float
        The duration [s].

    Returns
    -------
    str
        For example ``"about 35 minutes"`` or ``"more than a day"``.

    Examples
    --------
    >>> more_or_less(2050), more_or_less(7.6e7)
    ('about 35 minutes', 'more than a day')
    """
    is_limit = math.isinf(seconds) or _duration_parts(seconds)[0].value
    return about_duration(seconds) if is_limit else f"about {about_duration(seconds)}"


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
    return str(_short(seconds))


def _short(seconds: float) -> Amount:
    if math.isinf(seconds):
        return Amount("never")
    limit, number, unit = _duration_parts(seconds)
    if limit is _Limit.MORE:
        return Amount("> 1", "d")
    return Amount(f"{'<' if limit is _Limit.LESS else ''}{number}", _SHORT[unit])


def short_range(low_s: float, high_s: float) -> str:
    """Write the ends of a range of durations for a table, the unit once where both have it.

    Parameters
    ----------
    low_s, high_s : float
        The ends; the greater one may be infinite for never [s].

    Returns
    -------
    str
        Such as ``"20–70 min"``, ``"20 min–3 h"``, ``"5 h to > 1 d"`` or ``"2 min to never"``.

    Examples
    --------
    >>> short_range(1300, 4100), short_range(1300, 9100), short_range(120, float("inf"))
    ('20–70 min', '20 min–2.5 h', '2 min to never')
    """
    low, high = _short(low_s), _short(high_s)
    if math.isinf(high_s) or _is_open(low_s) or _is_open(high_s):
        return f"{low} to {high}"  # a dash beside the sign of a limit is read with it
    return f"{low.number if low.unit == high.unit else low}–{high}"


def likely_range(low_s: float, high_s: float, median_s: float | None = None) -> str:
    """Write the ends of a range of durations as people say them, the unit once where both have it.

    Parameters
    ----------
    low_s, high_s : float
        The ends; the greater one may be infinite for never [s].
    median_s : float, optional
        What is said beside it: where that is more than a day already, the greater end adds
        nothing [s].

    Returns
    -------
    str
        Such as ``"20–70 min"``, ``"5 h to more than a day"``, ``"at least 16 h"`` or
        ``"2 min to never"``.

    Examples
    --------
    >>> likely_range(1300, 4100), likely_range(18000, 7.6e7), likely_range(40, 600)
    ('20–70 min', '5 h to more than a day', '<2 min to 10 min')
    >>> likely_range(57600, 7.6e7, 9e4)
    'at least 16 h'
    """
    low, high = _short(low_s), _short(high_s)
    if median_s is not None and _is_open(median_s) and _is_open(high_s):
        return f"at least {low}"
    if math.isinf(high_s) or _is_open(high_s):
        return f"{low} to {about_duration(high_s)}"
    if _duration_parts(low_s)[0] is _Limit.LESS:
        return f"{low} to {high}"
    return f"{low.number if low.unit == high.unit else low}–{high}"


def _is_open(seconds: float) -> bool:
    return math.isfinite(seconds) and _duration_parts(seconds)[0] is _Limit.MORE


def within_words(seconds: float, after: str = "") -> str:
    """Say within what time something comes.

    Parameters
    ----------
    seconds : float
        The time; infinite for never [s].
    after : str
        From when it is counted, such as ``"after the alarm"``.

    Returns
    -------
    str
        For example ``"within about 35 minutes after the alarm"`` or ``"never"``.

    Examples
    --------
    >>> within_words(2050), within_words(40), within_words(float("inf"))
    ('within about 35 minutes', 'within 2 minutes', 'never')
    >>> within_words(7.6e7, "after the alarm")
    'more than a day after the alarm'
    """
    if math.isinf(seconds):
        return "never"
    begin = "" if _is_open(seconds) else "within "
    return f"{begin}{_time(seconds)} {after}".rstrip()


def _time(seconds: float) -> str:
    """The time within which something comes."""
    if math.isinf(seconds):
        return "never"
    limit, number, unit = _duration_parts(seconds)
    how = {_Limit.LESS: "", _Limit.NONE: "about ", _Limit.MORE: "more than "}[limit]
    return f"{how}{number} {unit}{'' if _is_one(seconds) else 's'}"


def soon_words(time: Outcome, after: str) -> str:
    """Say how soon something comes, of all cases, with those counted in which it never does.

    Parameters
    ----------
    time : Outcome
        Durations [s].
    after : str
        From when they are counted, such as ``"after the alarm"``.

    Returns
    -------
    str
        Empty where it comes in fewer than 1 of 10 cases.

    Examples
    --------
    >>> soon_words(Outcome(1200, 2050, 4300, n_draws=512), "after the alarm")
    'within about 20 minutes after the alarm in 1 of 10 cases, about 35 minutes in half'
    >>> soon_words(Outcome(1200, float("inf"), float("inf"), 0.6, n_draws=512), "after the alarm")
    'within about 20 minutes after the alarm in 1 of 10 cases, never in half'
    """
    if math.isinf(time.low):
        return ""
    low, median = _time(time.low), _time(time.median)
    if low == median:
        return f"{within_words(time.low, after)} in half of the cases"
    return f"{within_words(time.low, after)} in 1 of 10 cases, {median} in half"


def chance_and_time(time: Outcome) -> str:
    """Say how likely water reaches the floor, and how soon; never better for a larger storm.

    Parameters
    ----------
    time : Outcome
        Durations [s].

    Returns
    -------
    str
        The chance alone where it is below 1 in 10.

    Examples
    --------
    >>> chance_and_time(Outcome(1200, 2050, 4300, n_draws=512))
    'chance more than 99 in 100; within about 20 minutes in 1 of 10 cases, about 35 minutes in half'
    >>> chance_and_time(Outcome(120, float("inf"), float("inf"), 0.7, n_draws=512))
    'chance about 3 in 10; within about 2 minutes in 1 of 10 cases, never in half'
    >>> chance_and_time(Outcome(*[float("inf")] * 3, 1.0, n_draws=512))
    'chance less than 1 in 100'
    """
    return f"chance {likely_and_soon(time)}"


def likely_and_soon(time: Outcome) -> str:
    """Say the same without the word in front.

    Parameters
    ----------
    time : Outcome
        Durations [s].

    Returns
    -------
    str
        How likely, and how soon where it is 1 in 10 or more.
    """
    return "; ".join(filter(None, (chance_words(time), soon_words(time, ""))))


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
    limit = is_limit(share, time.n_draws)
    return f"{'' if limit else 'about '}{about_share(share, time.n_draws)}"


def minutes_words(time: Outcome) -> str:
    """Write a time for a table, with the cases counted in which it never comes.

    Parameters
    ----------
    time : Outcome
        The time [s].

    Returns
    -------
    str
        For example ``"35 min (20–70 min)"``, ``"35 min (2 min to never)"``, ``"never (from 5 h)"``
        where it never comes in half of the cases, or ``"never"`` where in 9 of 10.

    Examples
    --------
    >>> minutes_words(Outcome(1300, 2050, 4100, n_draws=512))
    '35 min (20–70 min)'
    """
    low, median, high = (short_duration(t) for t in (time.low, time.median, time.high))
    if low == median == high:
        return median
    if math.isinf(time.median):
        return f"{median} (from {low})"
    return f"{median} ({short_range(time.low, time.high)})"


def time_cells(time: Outcome) -> tuple[str, str]:
    """Write a time and how often it comes at all, for two columns of a table.

    Parameters
    ----------
    time : Outcome
        The time [s].

    Returns
    -------
    tuple of str
        Such as ``("35 min (20 min to never)", "88 %")``.
    """
    return minutes_words(time), percent_words(1.0 - time.never_share, time.n_draws)
