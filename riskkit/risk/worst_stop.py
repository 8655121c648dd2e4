"""The worst of the moments at which the pump may stop: stops apart first, then closer around it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from riskkit.pit.vessels import FootingModel, StopRun, follow_stops
from riskkit.records import FloatArray, IntArray, PitInflow, PitModel
from riskkit.risk.clock import Clock
from riskkit.risk.time_to_flood import (
    EQUAL_S,
    HOURS_AFTER,
    Stops,
    StopSummary,
    of_stops_s,
    summary_of,
    times_by_clock_s,
    worst_of,
)
from riskkit.simulate import Water

__all__ = ["longer_steps", "summarise_stops"]

_BEFORE_S, _AFTER_S, _LONG_S = 1800.0, 2 * 3600.0, 1800.0
_FIRST_S = 3600.0  # in which a flow that sets in at once may fill a pit whose pump was dead
_CLOSER_TIMES = 3  # a gap of six hours comes down to one of 45 minutes


def summarise_stops(
    pit: PitModel,
    footing: FootingModel,
    water: Water,
    stops_at: Callable[[IntArray], Stops],
    step: IntArray,
    wet: NDArray[np.bool_],
    clock: Clock = Clock.ALARM,
    *,
    closer: IntArray | None = None,
    with_depth: bool = True,
    least_only: bool = False,
) -> StopSummary:
    """Follow every stop, and find the worst and the typical one.

    Parameters
    ----------
    pit : PitModel
        The pits.
    footing : FootingModel
        The ground beside their footings.
    water : Water
        The storm.
    stops_at : callable
        Levels [m] at given steps, see `stops_in_storm`.
    step : (n_stops,) array of int
        Steps at whose start the pump stops, increasing from 0 [-].
    wet : (n_draws, n_stops) array of bool
        Stops in the wet part of the storm, evenly apart, at least one in each row [-].
    clock : Clock
        From when the time is counted.
    closer : (n_closer,) array of int, optional
        Steps among which a worse one is looked for on both sides of the worst, all of `step` among
        them [-].
    with_depth : bool
        Whether the depth on the floor is followed; else it is 0.
    least_only : bool
        Whether nothing is asked but the least time and that of a pump dead before: then the typical
        time, those of either path and which of them comes first are NaN, and there is no depth.

    Returns
    -------
    StopSummary
        Times [s] and depths [m].

    References
    ----------
    arithmetic : least and median over the stops
    """
    after = np.array(HOURS_AFTER) * 3600.0 if with_depth and not least_only else None
    grid = step if closer is None else closer
    edges = longer_steps(water.to_pit, grid)
    arriving = water.arriving.merged(edges)

    # water that is let in from an earlier moment on stands higher at every later one: where a stop
    # leaves the floor dry, the later ones do too
    dry_from = np.full(wet.shape[0], edges.size)
    quickest_s = np.full(wet.shape[0], np.inf)

    def follow(at: IntArray, draw: IntArray, alarm_of: IntArray | None = None) -> StopRun:
        stops = stops_at(at)
        if draw.size == at.shape[0]:
            parts = pit, footing, arriving
        else:
            parts = pit.picked(draw), footing.picked(draw), arriving.picked(draw)
        dry, quickest = dry_from[draw], quickest_s[draw]
        run = follow_stops(
            *parts, np.searchsorted(edges, stops.step[draw]), stops.inside_m[draw],
            stops.outside_m[draw], stops.lot_m3[draw], after, from_alarm=clock is Clock.ALARM,
            dry_from=dry, alarm_of=alarm_of, quickest_s=quickest if least_only else None,
        )  # fmt: skip
        dry_from[draw], quickest_s[draw] = dry, quickest
        return run

    flow = water.free.to_pit_m3_s
    steps = np.tile(step, (wet.shape[0], 1))
    if closer is not None and step.size > 1:  # and where the inflow is greatest
        most = closer[flow[:, np.minimum(closer, flow.shape[1] - 1)].argmax(axis=1)]
        steps = np.concatenate([steps, most[:, None]], axis=1)
    inflow = _at(flow, steps)
    run = follow(steps, np.arange(wet.shape[0]), inflow.argmax(axis=1))
    if closer is not None and step.size > 1:
        steps, run = _closer(steps, run, follow, closer, step, clock)
    inflow = _at(flow, steps)
    more = np.zeros((wet.shape[0], steps.shape[1] - wet.shape[1]), dtype=np.bool_)
    found = summary_of(run, steps, inflow, np.concatenate([wet, more], axis=1), clock)
    if not least_only or steps.shape[1] == 1:  # one stop is followed to its end
        return found
    unknown = np.full(wet.shape[0], np.nan)
    return replace(
        found, typical_s=unknown, rim_worst_s=unknown, joint_worst_s=unknown, joint_first=unknown
    )


def _at(flow: FloatArray, step: IntArray) -> FloatArray:
    return np.asarray(np.take_along_axis(flow, np.minimum(step, flow.shape[1] - 1), axis=1))


def longer_steps(inflow: PitInflow, step: IntArray) -> IntArray:
    """Return where longer steps may begin, with which a stopped pump is followed.

    The steps of the storm stay as they are in its first hour, and from shortly before the greatest
    inflow to some hours after it; elsewhere half an hour goes by in one. Every stop begins a step.

    Parameters
    ----------
    inflow : PitInflow
        Flow to the pit.
    step : (n_stops,) array of int
        Steps at whose start the pump may stop [-].

    Returns
    -------
    (n_longer + 1,) array of int
        Steps at which a longer one begins, and the number of steps [-].

    References
    ----------
    judgement : how long; a test holds the times to those of the short steps
    """
    n_steps = inflow.storm_m3_s.shape[1]
    peak = inflow.storm_m3_s.argmax(axis=1)
    before, after, long, early = (
        max(1, round(span / inflow.step_s)) for span in (_BEFORE_S, _AFTER_S, _LONG_S, _FIRST_S)
    )
    first, last = np.percentile(peak, (10, 75)).astype(int)
    near = np.arange(max(0, first - before), min(n_steps, last + after))
    edges = np.concatenate(
        [np.arange(min(early, n_steps)), np.arange(0, n_steps, long), near, step, [n_steps]]
    )
    return np.asarray(np.unique(edges), dtype=np.int64)


def _closer(
    steps: IntArray,
    run: StopRun,
    follow: Callable[[IntArray, IntArray], StopRun],
    grid: IntArray,
    apart: IntArray,
    clock: Clock,
) -> tuple[IntArray, StopRun]:
    """Halve the way to the stops `apart` before and after the worst, and look there.

    Draws whose floor no stop has wetted are left alone.
    """
    times = of_stops_s(run, clock)
    worst = worst_of(times)[:, None]
    best = np.take_along_axis(times, worst, axis=1)
    wetted = np.flatnonzero(np.isfinite(best[:, 0]))
    found_at = np.take_along_axis(steps, worst, axis=1)
    before = np.maximum(np.searchsorted(apart, found_at) - 1, 1)
    after = np.minimum(np.searchsorted(apart, found_at, side="right"), apart.size - 1)
    left, at, right = (np.searchsorted(grid, s) for s in (apart[before], found_at, apart[after]))
    for _ in range(_CLOSER_TIMES):
        halves = np.concatenate([(left + at) // 2, (at + right + 1) // 2], axis=1)
        found = _of_all(follow(grid[halves], wetted), wetted, best.size)
        steps, run = np.concatenate([steps, grid[halves]], axis=1), _beside(run, found)
        time = times_by_clock_s(found, clock)
        earlier = time[:, :1] < best - EQUAL_S
        later = time[:, 1:] < np.minimum(best, time[:, :1]) - EQUAL_S
        left, at, right = (
            np.where(later, at, np.where(earlier, left, halves[:, :1])),
            np.where(later, halves[:, 1:], np.where(earlier, halves[:, :1], at)),
            np.where(later, right, np.where(earlier, at, halves[:, 1:])),
        )
        best = np.minimum(best, time.min(axis=1, keepdims=True))
    return steps, run


def _of_all(run: StopRun, draw: IntArray, n_draws: int) -> StopRun:
    """The run of some draws, with nothing that happens in the others."""
    whole = {}
    for item in fields(StopRun):
        part = getattr(run, item.name)
        fill = np.inf if item.name in ("alarm_s", "rim_s", "joint_s") else np.nan
        whole[item.name] = np.full((n_draws, *part.shape[1:]), fill)
        whole[item.name][draw] = part
    return StopRun(**whole)


def _beside(one: StopRun, other: StopRun) -> StopRun:
    """The stops of two runs, side by side."""
    both = {
        item.name: np.concatenate([getattr(one, item.name), getattr(other, item.name)], axis=1)
        for item in fields(StopRun)
    }
    return StopRun(**both)
