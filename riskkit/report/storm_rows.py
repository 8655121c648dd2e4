"""The storms of an answer as tables, the same in a terminal, on a page and on a sheet.

What a column tells never gets better from a row to the next, which is a rarer storm: it is a share
or a point of all likely forms of the home, never one of those alone that flood.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, compress
from typing import TYPE_CHECKING

from riskkit.ensemble.quantiles import WITHIN_S, FloorDepth, Outcome, TimeOutcome
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.report.state_words import depth_title, time_title, working_title
from riskkit.report.words import about_depth, about_flow, rain_words, use_words

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer

__all__ = [
    "StormTable",
    "depth_table",
    "hours_words",
    "percent_words",
    "storm_rain",
    "storm_tables",
    "time_table",
    "working_table",
]


@dataclass(frozen=True)
class StormTable:
    """A table with a row for each storm, in words.

    Parameters
    ----------
    title : str
        What it is.
    head : tuple of str
        Heads of its columns.
    rows : tuple of tuple of str
        Cells, of which the first names the storm.
    groups : tuple of (str, int)
        Heads over several columns, each with how many of them it stands over, from the left; none
        where the heads of the columns say it all.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    groups: tuple[tuple[str, int], ...] = ()

    def parts(self) -> tuple[StormTable, ...]:
        """Take each group of columns for a table of its own, where a table has to be narrow.

        Returns
        -------
        tuple of StormTable
            Without groups, each with the names of the storms; the table itself if it has none.
        """
        if not self.groups:
            return (self,)
        ends = accumulate(n for _, n in self.groups)
        return tuple(
            StormTable(
                f"{self.title} ({words})",
                (self.head[0], *self.head[end - n : end]),
                tuple((row[0], *row[end - n : end]) for row in self.rows),
            )
            for (words, n), end in zip(self.groups, ends, strict=True)
            if words
        )


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


def storm_tables(answer: Assessment, system: UnitSystem) -> tuple[StormTable, ...]:
    """Write all that is told of the storms.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of StormTable
        With the pump working, the times if it stops, and the depths on the floor then.
    """
    return working_table(answer, system), time_table(answer), depth_table(answer, system)


def working_table(answer: Assessment, system: UnitSystem) -> StormTable:
    """Write every storm with the pump working.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    StormTable
        Without the columns of what is not there or cannot be counted on.
    """
    state = answer.state
    told = (True, True, True, state.has(Component.PUMP), state.warns, True)
    rows = (
        (
            _storm_name(storm),
            storm_rain(storm, system),
            _flow_range(storm.peak_inflow_m3_s, system),
            use_words(storm.peak_use),
            percent_words(storm.alarm_share),
            percent_words(storm.floor_dry_share),
        )
        for storm in answer.storms
    )
    return StormTable(
        working_title(state),
        tuple(compress(_WORKING_HEAD, told)),
        tuple(tuple(compress(row, told)) for row in rows),
    )


_WORKING_HEAD = (
    "storm", "rain", "most to the pit", "of pump flow", "alarm sounds", "pit does not overflow"
)  # fmt: skip
_TIME_HEAD = (*(f"within {hours_words(limit_s / 3600)}" for limit_s in WITHIN_S), "at all")


def time_table(answer: Assessment) -> StormTable:
    """Write how likely water is on the floor in time, and dry weather last where the pump stops.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    StormTable
        Columns for the worst and for the typical moment; without a pump there is no moment.
    """
    title, n = time_title(answer.state), len(_TIME_HEAD)
    if not answer.state.has(Component.PUMP):  # nothing stops then
        rows = tuple((_storm_name(storm), *_time_cells(storm.worst_s)) for storm in answer.storms)
        return StormTable(title, ("storm", *_TIME_HEAD), rows)
    storms = (
        (_storm_name(storm), *_time_cells(storm.worst_s), *_time_cells(storm.typical_s))
        for storm in answer.storms
    )
    dry = _time_cells(answer.dry_s)
    return StormTable(
        title,
        ("storm", *_TIME_HEAD, *_TIME_HEAD),
        (*storms, ("dry weather", *dry, *dry)),
        (("", 1), ("worst moment", n), ("typical moment", n)),
    )


def _time_cells(time: TimeOutcome) -> tuple[str, ...]:
    within = [time.within_share[limit_s] for limit_s in WITHIN_S]
    return tuple(percent_words(share) for share in (*within, 1.0 - time.never_share))


def depth_table(answer: Assessment, system: UnitSystem) -> StormTable:
    """Write for every storm how often and how deep water then stands on the floor.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    StormTable
        A cell such as ``"63 %: 0.2 to 0.9 in"`` for each time.
    """
    after = answer.storms[0].depth_after_m
    return StormTable(
        depth_title(answer.state),
        ("storm", *(f"after {hours_words(hours)}" for hours in after)),
        tuple(
            (_storm_name(storm), *(_depth_words(d, system) for d in storm.depth_after_m.values()))
            for storm in answer.storms
        ),
    )


def _depth_words(depth: FloorDepth, system: UnitSystem) -> str:
    """How often there is water; what half and 9 of 10 of all forms do not exceed."""
    if depth.share == 0:
        return "none"
    share = percent_words(depth.share)
    middle, high = (about_depth(d, system) for d in (depth.of_all.middle, depth.of_all.high))
    if depth.of_all.high <= 0:
        return share
    if depth.of_all.middle <= 0:
        return f"{share}: up to {high}"
    return f"{share}: {high if middle == high else f'{middle.split()[0]} to {high}'}"


def _storm_name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year"
