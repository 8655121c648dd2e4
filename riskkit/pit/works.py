"""What happens in a storm while the pump works, and where the marks of a pit lie."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskkit.pit.vessels import PUDDLE_M3, FootingModel, FootingWater, StopRun, follow_stops
from riskkit.records import FloatArray, IntArray, PitModel, PitRun

__all__ = ["keeps_down", "mark_m", "working"]

_SURELY = 0.999  # of a flow or a room, so that no rounding decides
_ABOVE_M = 0.005  # over start level and drain, from which the ground beside the footing matters


def mark_m(pit: PitModel, index: IntArray) -> FloatArray:
    """Return the level of a mark of each pit.

    Parameters
    ----------
    pit : PitModel
        The pits.
    index : (n_draws,) array of int
        Such as `PitModel.on_index` [-].

    Returns
    -------
    (n_draws,) array
        Relative to the floor [m].

    References
    ----------
    arithmetic : look-up
    """
    return np.asarray(np.take_along_axis(pit.level_m, index[:, None], axis=1)[:, 0])


def keeps_down(pit: PitModel, most_m3_s: FloatArray) -> NDArray[np.bool_]:
    """Tell where a look at the inflow is enough to know that no water passes the start level.

    Between its levels the pump carries more than may come at once, with what it sends back to
    itself, and what falls back from the pipe does not fill the pit.

    Parameters
    ----------
    pit : PitModel
        The pits.
    most_m3_s : (n_draws,) array
        Greatest inflow [m3/s].

    Returns
    -------
    (n_draws,) array of bool
        Where the level stays at or below that at which the pump starts [-].

    References
    ----------
    arithmetic : comparison
    """
    at = np.arange(pit.level_m.shape[1])
    within = (at >= pit.off_index[:, None]) & (at <= pit.on_index[:, None])
    least = np.where(within, pit.pump_m3_s, np.inf).min(axis=1)
    most, seeps = (np.where(within, x, 0.0).max(axis=1) for x in (pit.pump_m3_s, pit.seepage_m3_s))
    room = (np.diff(pit.level_m, axis=1) * pit.area_m2 * (within[:, 1:] & within[:, :-1])).sum(1)
    carries = most_m3_s + seeps + pit.return_share * most < _SURELY * least
    return np.asarray(carries & (pit.drainback_m3 < _SURELY * room))


def working(
    pit: PitModel,
    footing: FootingModel,
    arriving: FootingWater,
    outside_m: FloatArray,
    start_m3: FloatArray,
    run: PitRun,
) -> StopRun:
    """Return what happens with the pump working, joined with the ground where that matters.

    While the pit stands below the drain, the drain flows freely and the run holds. Where the pump
    cannot keep it there, the pit and the ground beside the footing are followed together.

    Parameters
    ----------
    pit : PitModel
        The pits.
    footing : FootingModel
        The ground beside their footings.
    arriving : FootingWater
        What arrives there.
    outside_m : (n_draws, n_steps) array
        Level at the footing before each step, with the drain free [m].
    start_m3 : (n_draws, n_stores) array
        Reservoirs of the lot before the first step [m3].
    run : PitRun
        These steps with the pump working and the drain free.

    Returns
    -------
    StopRun
        One "stop" for each, at the beginning, at which nothing stops.

    References
    ----------
    arithmetic : one of two runs for each draw
    """
    n, n_steps = outside_m.shape
    alarm, rim, highest = run.alarm_s.copy(), run.flood_s.copy(), run.highest_level_m.copy()
    ends_s = np.cumsum(arriving.step_s)[:n_steps]
    joint = np.full(n, np.inf)
    over = np.flatnonzero(outside_m.max(axis=1) > 0.0)
    leak_m3 = footing.joint_m2_s[over, None] * np.maximum(outside_m[over], 0.0)
    wet = np.cumsum(leak_m3 * arriving.step_s[:n_steps], axis=1) >= PUDDLE_M3
    joint[over] = np.where(wet.any(axis=1), ends_s[wet.argmax(axis=1)], np.inf)
    reached = np.maximum(mark_m(pit, pit.on_index), footing.level_m[:, 0]) + _ABOVE_M
    at = np.flatnonzero(run.highest_level_m > reached)
    if at.size and pit.has_pump:
        some = follow_stops(
            pit.picked(at), footing.picked(at), arriving.picked(at),
            np.zeros((at.size, 1), np.int64), mark_m(pit, pit.off_index)[at, None],
            outside_m[at, :1], start_m3[at, None], pump_works=True,
        )  # fmt: skip
        alarm[at], rim[at], joint[at] = (x[:, 0] for x in (some.alarm_s, some.rim_s, some.joint_s))
        highest[at] = some.highest_m[:, 0]
    empty = np.zeros((n, 1, 0))
    return StopRun(alarm, rim, joint, highest, empty, empty)
