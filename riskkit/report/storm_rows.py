"""The storms of an answer as tables, the same in a terminal, on a page and on a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.ensemble.quantiles import FloorDepth
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.report.number_words import (
    about_depth,
    flow_range,
    hours_words,
    percent_words,
    rain_words,
    use_words,
)
from riskkit.report.path_words import joint_counts
from riskkit.report.rows import Table, new_table, without_columns
from riskkit.report.state_words import depth_title, time_title, working_title
from riskkit.report.time_words import time_cells

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer

__all__ = [
    "answer_tables",
    "depth_table",
    "paths_table",
    "stopped_table",
    "storm_rain",
    "working_table",
]

_PATHS = "Paths of the water to the floor: over the rim of the pit, at the joint of wall and floor"
_BOTH_PATHS = (
    "By the first of both paths: where water comes in at the joint of wall and floor before the "
    "alarm, no time is left. The time to the rim of the pit stands with the paths."
)
_USE, _ALARM = "of pump capacity", "alarm sounds"


def answer_tables(answer: Assessment, system: UnitSystem) -> tuple[Table, ...]:
    """Write the storms of an answer as tables.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of Table
        With the pump working; the times to the floor if it stops; the paths of the water there;
        its depths.
    """
    return (
        working_table(answer, system),
        stopped_table(answer),
        paths_table(answer),
        depth_table(answer, system),
    )


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


def working_table(answer: Assessment, system: UnitSystem) -> Table:
    """Write every storm with the pump working.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        Without the columns of what is not there or cannot be counted on.
    """
    rows = [
        (
            _storm_name(storm),
            storm_rain(storm, system),
            flow_range(storm.pump_working.peak_inflow_m3_s, system),
            use_words(storm.pump_working.peak_use),
            percent_words(storm.pump_working.alarm_share, storm.n_draws),
            percent_words(storm.pump_working.floor_dry_share, storm.n_draws),
        )
        for storm in answer.storms
    ]
    head = ("storm", "rain", "peak inflow", _USE, _ALARM, "pit does not overflow")
    shares = (1.0, 1.5, 1.7, 1.3, 1.0, 1.1)
    table = new_table(working_title(answer.state), head, rows, shares=shares)
    gone = [] if answer.state.has(Component.PUMP) else [_USE]
    return without_columns(table, *gone, *([] if answer.state.warns else [_ALARM]))


def stopped_table(answer: Assessment) -> Table:
    """Write every storm with the pump stopped, and dry weather last where there is a pump.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    Table
        Worst moment and typical moment, each with how often water comes at all; without a pump no
        moment is worse than another.
    """
    title = time_title(answer)
    notes = [_BOTH_PATHS] if joint_counts(answer) else []
    if not answer.state.has(Component.PUMP):
        alone = [
            (_storm_name(storm), *time_cells(storm.worst_stop.to_floor_s))
            for storm in answer.storms
        ]
        return new_table(title, ("storm", "time", "reached"), alone, notes)
    rows: list[tuple[str, ...]] = [
        (
            _storm_name(storm),
            *time_cells(storm.worst_stop.to_floor_s),
            *time_cells(storm.typical_to_floor_s),
        )
        for storm in answer.storms
    ]
    dry = time_cells(answer.dry_s)
    rows.append(("dry weather", *dry, *dry))
    head = ("storm", "worst moment", "reached", "typical moment", "reached")
    return new_table(title, head, rows, notes, shares=(1.0, 2.0, 0.7, 2.0, 0.7))


def paths_table(answer: Assessment) -> Table:
    """Write for every storm by which path water comes to the floor, and how often.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    Table
        Over the rim of the pit and where wall and floor meet, with the pump working and stopped.
    """
    has_pump, rows = answer.state.has(Component.PUMP), []
    for storm in answer.storms:
        pump, worst = storm.pump_working, storm.worst_stop
        time, rim = time_cells(worst.to_rim_s)
        working = (1.0 - pump.floor_dry_share, pump.joint_share) if has_pump else ()
        joint = (1.0 - worst.to_joint_s.never_share, worst.joint_first_share)
        works, stops = (
            [percent_words(share, storm.n_draws) for share in shares] for shares in (working, joint)
        )
        rows.append((_storm_name(storm), *works, rim, time, *stops))
    working_head = ("works: over the rim", "works: at the joint") if has_pump else ()
    stopped = "stops: " if has_pump else ""
    head = (
        "storm", *working_head, f"{stopped}over the rim", "time to the rim",
        f"{stopped}at the joint", "at the joint first",
    )  # fmt: skip
    return new_table(_PATHS, head, rows)


def depth_table(answer: Assessment, system: UnitSystem) -> Table:
    """Write for every storm how often and how deep water then stands on the floor.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A cell such as ``"63 %: 0.9 in"`` for each time: how often, and what 1 of 10 variants pass.
    """
    rows = [
        (
            _storm_name(storm),
            *(_depth_words(d, system) for d in storm.worst_stop.depth_after_m.values()),
        )
        for storm in answer.storms
    ]
    head = (
        "storm",
        *(f"after {hours_words(hours)}" for hours in answer.storms[0].worst_stop.depth_after_m),
    )
    return new_table(depth_title(answer), head, rows)


def _depth_words(depth: FloorDepth, system: UnitSystem) -> str:
    if depth.if_any is None:
        return "none"
    if depth.of_all.high <= 0:  # in fewer than 1 of 10
        return percent_words(depth.share, depth.n_draws)
    return f"{percent_words(depth.share, depth.n_draws)}: {about_depth(depth.of_all.high, system)}"


def _storm_name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year"
