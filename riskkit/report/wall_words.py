"""What walls do over the visits, in plain words."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from riskkit.home.visits import wall_methods
from riskkit.home.walls import (
    Movement,
    WallCall,
    WallReading,
    WallReason,
    WallTrend,
    wall_marks,
    wall_trend,
)
from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.days import day_words

if TYPE_CHECKING:
    from riskkit.home.home import Home

__all__ = [
    "reading_words",
    "wall_alerts",
    "wall_lines",
    "wall_name",
    "wall_size",
    "wall_verdict",
]

_MARKS = (
    "We call an engineer at {marks}: our judgement, on the careful side. No reading shows that a "
    "wall is safe."
)
_CALLS = {
    WallCall.ENGINEER_NOW: "Call a structural engineer now.",
    WallCall.HAVE_LOOKED_AT: "Have it looked at by a structural engineer.",
    WallCall.MEASURE_AGAIN: "",  # what to do is said with what the readings leave open
    WallCall.WATCH: "Measure it at the next visit. Call a structural engineer if it grows.",
}
_ALERTING = (WallCall.ENGINEER_NOW, WallCall.HAVE_LOOKED_AT)
_MONTH_YR = 1 / 12
_DAY_YR = 1 / 365.25


def wall_size(size_m: float, system: UnitSystem) -> str:
    """Write a size of a wall as it is read.

    Parameters
    ----------
    size_m : float
        The size [m].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        To a hundredth of an inch or a tenth of a millimetre.

    Examples
    --------
    >>> wall_size(0.006, UnitSystem.US), wall_size(0.006, UnitSystem.METRIC)
    ('0.24 in', '6.0 mm')
    """
    if system is UnitSystem.US:
        return f"{convert(size_m, 'm', 'in'):.2f} in"
    return f"{convert(size_m, 'm', 'mm'):.1f} mm"


def wall_name(trend: WallTrend) -> str:
    """Name a place and what is followed there.

    Parameters
    ----------
    trend : WallTrend
        The place.

    Returns
    -------
    str
        Such as ``"north wall (bow)"``.
    """
    return trend.place if trend.kind is None else f"{trend.place} ({trend.kind})"


def reading_words(reading: WallReading, system: UnitSystem) -> str:
    """Write one reading with its day and method.

    Parameters
    ----------
    reading : WallReading
        The reading.
    system : UnitSystem
        Units of the reader of the words.

    Returns
    -------
    str
        Such as ``"0.25 in on April 14, 2025 (plumb line and rule)"``.
    """
    way = "" if reading.method is None else f" ({wall_methods()[reading.method].words})"
    return f"{wall_size(reading.size_m, system)} on {day_words(reading.date, system)}{way}"


def wall_verdict(trend: WallTrend, system: UnitSystem) -> str:
    """Say what the readings of a place mean and what is to be done.

    Parameters
    ----------
    trend : WallTrend
        The place.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Some short sentences.
    """
    parts = [_movement_words(trend, system), *_reason_words(trend, system), _CALLS[trend.call]]
    return " ".join(filter(None, parts))


def _movement_words(trend: WallTrend, system: UnitSystem) -> str:
    what, last = f"The {trend.kind}", trend.last
    if trend.movement is Movement.FIRST:
        return "One reading cannot show if it moves."
    if last is None:
        return ""
    error, span = wall_size(last.error_m, system), _span(last.years)
    ways = " It was measured in two ways, so less is sure." if last.in_two_ways else ""
    grown = trend.grown
    if grown is not None:
        since = "" if grown is last else f", since {day_words(grown.since, system)}"
        size, off = (wall_size(one, system) for one in (grown.growth_m, grown.error_m))
        span = f"{_span(grown.years)}{since}"
        return f"{what} has grown by {size} in {span} (give or take {off}).{ways}"
    if trend.movement is Movement.LESS:
        less = wall_size(-last.growth_m, system)
        why = (
            "A crack can open and close with the seasons: measure it at the same time of year."
            if trend.kind == "crack"
            else "A wall seldom moves back: check the place and the method, and measure again."
        )
        return f"It reads {less} less than last time. {why}{ways}"
    if trend.movement is Movement.UNDECIDED:
        most = wall_size(max(0.0, last.growth_m + last.error_m), system)
        lead = f"The readings cannot tell: it may have grown by up to {most} in {span}."
        what_next = (
            "They are too close in time. Measure again in a few months, in the same way."
            if trend.too_soon
            else f"One can be off by {error}. Measure again, with a finer method if you can."
        )
        return f"{lead} {what_next}{ways}"
    return f"No growth in {span} that a reading can show (it can be off by {error}).{ways}"


def _reason_words(trend: WallTrend, system: UnitSystem) -> list[str]:
    us = "us" if system is UnitSystem.US else "metric"
    marks = {} if trend.kind is None else wall_marks()[trend.kind].words
    words = {
        WallReason.SIZE: f"It is {marks.get(f'size_{us}')} or more.",
        WallReason.NEAR_SIZE: f"It is so near {marks.get(f'size_{us}')} that it may be as much.",
        WallReason.NEAR_PACE: f"It may be {marks.get(f'growth_{us}')} or more in a year.",
        WallReason.PACE: f"That is {marks.get(f'growth_{us}')} or more in a year.",
        WallReason.OFFSET: "It is a fresh crack and one side stands out.",
        WallReason.OLD_OFFSET: "One side of the crack stands out.",
        WallReason.BRACING_MOVED: "The bracing has moved.",
        WallReason.BRACED_GROWS: "It grows though it is braced.",
    }
    found = [words[reason] for reason in trend.reasons]
    if trend.bracing and not trend.bracing_checked:
        found.append("The bracing was not checked for movement.")
    return found


def _span(years: float) -> str:
    months = round(years / _MONTH_YR)
    if months < 1:
        days = round(years / _DAY_YR)
        return f"{days} day{'' if days == 1 else 's'}"
    if months < 24:
        return f"{months} month{'' if months == 1 else 's'}"
    return f"{years:.0f} years" if abs(years - round(years)) < 0.1 else f"{years:.1f} years"


def wall_alerts(home: Home, system: UnitSystem) -> tuple[str, ...]:
    """Say which walls an engineer must see, those for now first.

    Parameters
    ----------
    home : Home
        The home with its visits.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A few short sentences for each wall.
    """
    trends = wall_trend(home.visit)
    return tuple(
        f"Wall, {wall_name(trend)}: {wall_verdict(trend, system)}"
        for call in _ALERTING
        for trend in trends
        if trend.call is call
    )


def wall_lines(home: Home, system: UnitSystem) -> list[tuple[str, str]]:
    """Say what was measured at each place of the walls and what it means.

    What `wall_alerts` says stands first on every surface and is not said again.

    Parameters
    ----------
    home : Home
        The home with its visits.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of (str, str)
        The place, and its readings with what they mean; last how it is judged.
    """
    found = []
    trends = wall_trend(home.visit)
    for trend in trends:
        sizes = _readings_words(trend.readings[-2:], system)
        braced = f"Braced: {trend.bracing}." if trend.bracing else ""
        verdict = "" if trend.call in _ALERTING else wall_verdict(trend, system)
        words = " ".join(filter(None, [sizes, braced, verdict]))
        if words:
            found.append((f"Wall, {wall_name(trend)}:", words))
    if trends:
        found.append(("Walls:", _marks_words(trends, system)))
    return found


def _readings_words(readings: tuple[WallReading, ...], system: UnitSystem) -> str:
    """One or two readings; a method that both share is told once."""
    if len({reading.method for reading in readings}) == 1:
        readings = (*(replace(one, method=None) for one in readings[:-1]), readings[-1])
    read = [reading_words(reading, system) for reading in readings]
    return f"{', then '.join(read)}." if read else ""


def _marks_words(trends: tuple[WallTrend, ...], system: UnitSystem) -> str:
    us = "us" if system is UnitSystem.US else "metric"
    kinds = dict.fromkeys(trend.kind for trend in trends if trend.kind is not None)
    by_words: dict[str, list[str]] = {}
    for kind in kinds or ("bow", "lean"):
        words = wall_marks()[kind].words
        mark = f"{words[f'size_{us}']} or {words[f'growth_{us}']} more in a year"
        by_words.setdefault(mark, []).append(kind)
    marks = "; ".join(f"{mark} ({', '.join(kinds)})" for mark, kinds in by_words.items())
    return _MARKS.format(marks=marks)
