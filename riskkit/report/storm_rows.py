"""The storms of an answer as rows of tables, the same in a terminal, on a page and on a sheet."""

from __future__ import annotations

from itertools import compress
from typing import TYPE_CHECKING

from riskkit.ensemble.quantiles import FloorDepth, Outcome
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.report.words import (
    about_depth,
    about_flow,
    rain_words,
    short_duration,
    use_words,
)

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer

__all__ = [
    "STOPPED_HEAD",
    "WORKING_HEAD",
    "depth_head",
    "depth_rows",
    "failure_rows",
    "hours_words",
    "minutes_words",
    "percent_words",
    "storm_rain",
    "storm_row",
    "time_cells",
    "working_head",
    "working_rows",
]


def hours_words(hours: float) -> str:
    """Write a duration of rain.

    Parameters
    ----------
    hours : float
        The duration [h].

    Returns
    -------
    str
        For example ``"5 min"``, ``"6 h"`` or ``"3 d"``.

    Examples
    --------
    >>> hours_words(1 / 12), hours_words(6), hours_words(72)
    ('5 min', '6 h', '3 d')
    """
    if hours < 1:
        return f"{hours * 60:.3g} min"
    return f"{hours:g} h" if hours <= 24 else f"{hours / 24:g} d"


def _flow_range(flow: Outcome, system: UnitSystem) -> str:
    low, middle, high = (about_flow(v, system) for v in (flow.low, flow.middle, flow.high))
    return f"{middle} ({low.split()[0]}–{high.split()[0]})"


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


def percent_words(share: float) -> str:
    """Write a share in whole per cent.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].

    Returns
    -------
    str
        For example ``"31 %"`` or ``"< 1 %"``.

    Examples
    --------
    >>> percent_words(0.312), percent_words(0.0), percent_words(0.999)
    ('31 %', '< 1 %', '> 99 %')
    """
    if share < 0.005:
        return "< 1 %"
    return "> 99 %" if share > 0.995 else f"{share * 100:.0f} %"


def storm_rain(storm: StormAnswer, system: UnitSystem) -> str:
    """Write how much rain a storm brings, and over what time.

    Parameters
    ----------
    storm : StormAnswer
        The storm.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"4.2 in over 24 h"``.
    """
    return f"{rain_words(storm.depth_mm, system)} over {hours_words(storm.duration_h)}"


def storm_row(storm: StormAnswer, system: UnitSystem) -> tuple[str, ...]:
    """Write one storm with the pump working, for a table.

    Parameters
    ----------
    storm : StormAnswer
        The storm.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        Storm, rain, inflow, share of the pump, alarm, pit not overflowing.
    """
    return (
        _storm_name(storm),
        storm_rain(storm, system),
        _flow_range(storm.peak_inflow_m3_s, system),
        use_words(storm.peak_use),
        percent_words(storm.alarm_share),
        percent_words(storm.floor_dry_share),
    )


WORKING_HEAD = (
    "storm", "rain", "most to the pit", "of pump flow", "alarm sounds", "pit does not overflow"
)  # fmt: skip
"""Heads of the columns of `storm_row`."""


def working_head(answer: Assessment) -> tuple[str, ...]:
    """Name the columns of `working_rows`.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of str
        Heads, without those of what is not there or cannot be counted on.
    """
    return tuple(compress(WORKING_HEAD, _told_of(answer)))


def working_rows(answer: Assessment, system: UnitSystem) -> list[tuple[str, ...]]:
    """Write every storm with the pump working, for a table.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of tuple of str
        Cells below `working_head`.
    """
    told = _told_of(answer)
    return [tuple(compress(storm_row(storm, system), told)) for storm in answer.storms]


def _told_of(answer: Assessment) -> tuple[bool, ...]:
    """Which columns of the storms are told: none of a pump or an alarm that is not there."""
    state = answer.state
    return (True, True, True, state.has(Component.PUMP), state.warns, True)


STOPPED_HEAD = ("storm", "worst moment", "never", "typical moment", "never")
"""Heads of the columns of `failure_rows`."""


def failure_rows(answer: Assessment) -> list[tuple[str, ...]]:
    """Write every storm with the pump stopped, and dry weather last where there is one.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    list of tuple of str
        Storm, worst moment, typical moment, each with the share of never.
    """
    rows: list[tuple[str, ...]] = [
        (_storm_name(storm), *time_cells(storm.worst_s), *time_cells(storm.typical_s))
        for storm in answer.storms
    ]
    if not answer.state.has(Component.PUMP):  # nothing stops then
        return rows
    dry = time_cells(answer.dry_s)
    return [*rows, ("dry weather", *dry, *dry)]


def depth_head(answer: Assessment) -> tuple[str, ...]:
    """Name the columns of `depth_rows`.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of str
        Heads.
    """
    after = answer.storms[0].depth_after_m
    return ("storm", *(f"after {hours_words(hours)}" for hours in after))


def depth_rows(answer: Assessment, system: UnitSystem) -> list[tuple[str, ...]]:
    """Write for every storm how often and how deep water then stands on the floor.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of tuple of str
        Storm, and a cell such as ``"63 %: 0.2 to 0.9 in"`` for each time.
    """
    return [
        (_storm_name(storm), *(_depth_words(d, system) for d in storm.depth_after_m.values()))
        for storm in answer.storms
    ]


def _depth_words(depth: FloorDepth, system: UnitSystem) -> str:
    if depth.if_any is None:
        return "none"
    middle, high = (about_depth(d, system) for d in (depth.if_any.middle, depth.if_any.high))
    span = high if middle == high else f"{middle.split()[0]} to {high}"
    return f"{percent_words(depth.share)}: {span}"


def _storm_name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year"
