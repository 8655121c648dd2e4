"""If the pump stops: what follows from every moment of a storm at which it may.

The pump stops at a moment of the storm, and the levels in the pit and at the footing are followed
from there: minutes until the alarm, and from the alarm until water reaches the floor, over the rim
of the pit or at the joint of wall and floor. A pump that was already dead when the storm began is
the first of the stops. A moment that does not come in the storm is never counted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.inflow.wall import WallModel
from riskkit.pit.vessels import FootingWater, StopRun, follow_stops
from riskkit.pit.works import mark_m
from riskkit.records import FloatArray, IntArray, PitModel, PitRun, freeze_arrays
from riskkit.risk.clock import Clock
from riskkit.simulate import Ground, Water, dry_water

__all__ = [
    "EQUAL_S",
    "HOURS_AFTER",
    "StopSummary",
    "Stops",
    "dead_before",
    "dry_marks_s",
    "dry_times_s",
    "mark_m",
    "of_stops_s",
    "stops_in_storm",
    "summary_of",
    "times_by_clock_s",
    "worst_of",
]

HOURS_AFTER = (1.0, 3.0, 6.0, 12.0)
"""Hours after the clock starts at which the depth on the floor is told [h]."""

_DAY_S = 86400.0
_DEAD_STEP_S = 600.0  # of the day without pump; in steps that grow, 1.5 % of times were 0.1 % off
EQUAL_S = 1e-3
"""Times that differ by less are equal [s]."""
_CLEARLY_S = 600.0  # by which water at the joint must come before the pit overflows
_WEEK_S = 7 * _DAY_S


@dataclass(frozen=True)
class Stops:
    """Moments at which the pump stops, and the levels of the water then.

    Parameters
    ----------
    step : (n_draws, n_stops) array of int
        Steps of the storm at whose start the pump stops [-].
    inside_m, outside_m : (n_draws, n_stops) arrays
        Levels in the pit and at the footing [m].
    lot_m3 : (n_draws, n_stops, n_stores) array
        Water in the reservoirs of the lot, beyond what goes with the level at the footing [m3].
    """

    step: IntArray
    inside_m: FloatArray
    outside_m: FloatArray
    lot_m3: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class StopSummary:
    """What a pump that stops in a storm means, draw by draw; infinite for never.

    Parameters
    ----------
    worst_s : (n_draws,) array
        Least time to the floor, from the event of `Clock`, over all stops [s].
    worst_step : (n_draws,) array of int
        Step at whose start the pump then stops; where the floor is never reached the one in the
        greatest inflow [-].
    to_alarm_s : (n_draws,) array
        From that stop to the alarm [s].
    typical_s : (n_draws,) array
        Median time to the floor over stops in the wet part of the storm [s].
    dead_to_alarm_s, dead_alarm_to_floor_s : (n_draws,) arrays
        For a pump that was dead already: from the beginning of the storm to the alarm, and from the
        alarm to the floor [s].
    dead_from_rain_s : (n_draws,) array
        The same from the beginning of the storm to the floor [s].
    rim_worst_s, joint_worst_s : (n_draws,) arrays
        Least time over all stops, from the event of `Clock`, until the pit overflows, and until
        water comes in at the joint of wall and floor [s].
    rim_worst_step : (n_draws,) array of int
        Step at whose start the pump stops for the former; `worst_step` where the pit never
        overflows [-].
    joint_first : (n_draws,) array
        1 where at the worst stop water comes in at the joint of wall and floor clearly before the
        pit overflows [-].
    depth_m : (n_draws, 4) array
        Water on the floor 1, 3, 6 and 12 h after the clock starts, each at the stop at which that
        depth is greatest; 0 where there is none [m].
    """

    worst_s: FloatArray
    worst_step: IntArray
    to_alarm_s: FloatArray
    typical_s: FloatArray
    dead_to_alarm_s: FloatArray
    dead_alarm_to_floor_s: FloatArray
    dead_from_rain_s: FloatArray
    rim_worst_s: FloatArray
    joint_worst_s: FloatArray
    rim_worst_step: IntArray
    joint_first: FloatArray
    depth_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def dead_before(pit: PitModel, ground: Ground) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the water that a pump dead for a day leaves, from ground water and earlier rain.

    A pump fails when it should start, so the day begins with the water at that level. Without a
    pump it is a week: the water stands where the ground holds it.

    Parameters
    ----------
    pit : PitModel
        The pits.
    ground : Ground
        The ground round them.

    Returns
    -------
    inside_m, outside_m : (n_draws,) arrays
        Levels in the pit and at the footing [m].
    lot_m3 : (n_draws, n_stores) array
        Water in the reservoirs of the lot, beyond what goes with the level at the footing [m3].

    References
    ----------
    judgement : a day
    """
    n = ground.n_draws
    begin = mark_m(pit, pit.on_index if pit.has_pump else pit.off_index)
    invert = ground.footing.level_m[:, 0]
    after = np.array([_DAY_S if pit.has_pump else _WEEK_S - _DAY_S])
    lot = np.full((n, 1, 1, ground.lot_m3.shape[1]), np.nan)
    run = follow_stops(
        pit, ground.footing, _of_earlier_rain(ground.wall), np.zeros((n, 1), np.int64),
        begin[:, None], np.maximum(invert, begin)[:, None], ground.lot_m3[:, None], after,
        noted_only=True, lots_m3=lot,
    )  # fmt: skip
    return run.level_m[:, 0, 0], run.footing_m[:, 0, 0], lot[:, 0, 0]


def _of_earlier_rain(wall: WallModel) -> FootingWater:
    """Return what is on its way in fill and lot, in even steps of a day: their levels are told."""
    fill_m3 = wall.fill_water_m * wall.perimeter_m * wall.fill_width_m
    lot_m3 = wall.lot_water_m * wall.lot_area_m2
    ends_s = np.arange(0.0, _DAY_S + _DEAD_STEP_S, _DEAD_STEP_S)

    def falling(volume_m3: FloatArray, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        held = volume_m3[:, None] * np.exp(-ends_s / time_s[:, None])
        return -np.diff(held, axis=1) / _DEAD_STEP_S, held[:, -1]

    (fill, fill_left), (lot, lot_left) = (
        falling(fill_m3, wall.fill_time_s), falling(lot_m3, wall.lot_time_s)
    )  # fmt: skip
    return FootingWater(
        fill, lot, np.full(ends_s.size - 1, _DEAD_STEP_S), fill_left[:, None],
        wall.fill_time_s[:, None], lot_left, wall.lot_time_s,
    )  # fmt: skip


def stops_in_storm(
    step: IntArray,
    pit: PitModel,
    run: PitRun,
    water: Water,
    dead: tuple[FloatArray, FloatArray, FloatArray],
    before_m3: FloatArray | float = 0.0,
) -> Stops:
    """Return the levels at which a pump that works until then leaves the water.

    A pump fails when it should start: the pit stands at the level where it starts, higher where
    the pump does not keep up, and lower before the water has come up to that level once.

    Parameters
    ----------
    step : (n_stops,) or (n_draws, n_stops) array of int
        Steps at whose start the pump stops; from 0 on where it was dead before [-].
    pit : PitModel
        The pits.
    run : PitRun
        The storm with the pump working, its levels kept.
    water : Water
        The storm with the drain free, the lot noted at these steps.
    dead : tuple of two (n_draws,) arrays and one of (n_draws, n_stores)
        Levels [m] and water in the lot [m3] that a pump dead before the storm leaves.
    before_m3 : float or (n_draws,) array
        Water that came to the pit before the first step, since it was last at rest [m3].

    Returns
    -------
    Stops
        Moments and levels.

    References
    ----------
    judgement : a pump fails when it should start
    """
    if run.level_m is None:
        raise TypeError("run_pit kept no levels")
    on = mark_m(pit, pit.on_index)[:, None]
    step = np.broadcast_to(step, (on.size, step.shape[-1]))
    kept = step if run.level_at is None else np.searchsorted(run.level_at, step)
    inside = np.take_along_axis(run.level_m, kept, axis=1)
    come = np.take_along_axis(water.come_m3, step, axis=1)
    started = come + np.reshape(before_m3, (-1, 1)) >= _to_first_start_m3(pit)[:, None]
    inside = np.where(started & pit.has_pump, np.maximum(inside, on), inside)
    outside = np.take_along_axis(water.free.level_m, step, axis=1)
    before = step == 0
    inside = np.where(before, dead[0][:, None], inside)
    outside = np.where(before, dead[1][:, None], outside)
    lot = np.where(before[:, :, None], dead[2][:, None], water.lot_m3(step))
    return Stops(step, inside, outside, lot)


def _to_first_start_m3(pit: PitModel) -> FloatArray:
    """Water from the level where the pump stops to that where it starts."""
    height = np.diff(pit.level_m, axis=1)
    at = np.arange(height.shape[1])
    within = (at >= pit.off_index[:, None]) & (at < pit.on_index[:, None])
    return np.asarray((height * pit.area_m2 * within).sum(axis=1))


def times_by_clock_s(run: StopRun, clock: Clock) -> FloatArray:
    """Return the time to the floor from every stop, from the event of `Clock`.

    By the alarm it counts from the alarm, and is 0 where water comes in at the joint of wall and
    floor before the alarm sounds, or without it: then there is no warning.

    Parameters
    ----------
    run : StopRun
        What followed from each stop.
    clock : Clock
        From when the time is counted.

    Returns
    -------
    (n_draws, n_stops) array
        Times; infinite for never, or after more than a week [s].

    References
    ----------
    arithmetic : differences
    """
    return _by_clock_s(run.floor_s, run.alarm_s, clock)


def _by_clock_s(water_s: FloatArray, alarm_s: FloatArray, clock: Clock) -> FloatArray:
    if clock is Clock.ALARM:
        water_s = _after_s(alarm_s, water_s)
    return np.where(water_s > _WEEK_S, np.inf, np.maximum(water_s, 0.0))


def _after_s(alarm_s: FloatArray, floor_s: FloatArray) -> FloatArray:
    """Time from the alarm to the floor; 0 where the floor is wet first, infinite where never."""
    warned = (alarm_s < floor_s) & np.isfinite(floor_s)
    left = floor_s - np.where(warned, alarm_s, 0.0)
    return np.where(warned | ~np.isfinite(floor_s), left, 0.0)


def of_stops_s(run: StopRun, clock: Clock) -> FloatArray:
    """Return the time to the floor from every stop but the first, that of a pump dead before.

    Parameters
    ----------
    run : StopRun
        What followed from each; where there is only one it counts.
    clock : Clock
        From when the time is counted.

    Returns
    -------
    (n_draws, n_stops) array
        Times; infinite for never, and for the first [s].

    References
    ----------
    arithmetic : a pump dead before the storm is told apart from stops
    """
    times = times_by_clock_s(run, clock)
    if times.shape[1] > 1:
        times[:, 0] = np.inf
    return times


def worst_of(times_s: FloatArray) -> IntArray:
    """Choose the worst stop: the first of those whose times are the least but for rounding.

    After stops before the storm the water often comes in the same course, so that many times are
    equal; rounding must not choose among them.

    Parameters
    ----------
    times_s : (n_draws, n_stops) array
        Times to the floor, infinite for never [s].

    Returns
    -------
    (n_draws,) array of int
        Which stop, counted from 0; the first where all are infinite [-].

    References
    ----------
    arithmetic : the first least
    """
    least = times_s.min(axis=1, keepdims=True)
    return np.asarray((times_s <= least + EQUAL_S).argmax(axis=1))


def summary_of(
    run: StopRun,
    step: IntArray,
    inflow_m3_s: FloatArray,
    wet: NDArray[np.bool_],
    clock: Clock,
) -> StopSummary:
    """Find the worst and the typical one of some stops that were followed.

    Parameters
    ----------
    run : StopRun
        What followed from each; the first is that of a pump dead before, or of none, and then the
        only one. Without times at which levels were noted the depths are 0.
    step : (n_draws, n_stops) array of int
        Steps at whose start the pump stops [-].
    inflow_m3_s : (n_draws, n_stops) array
        Flow to the pit when the pump stops [m3/s].
    wet : (n_draws, n_stops) array of bool
        Stops in the wet part of the storm, at least one in each row [-].
    clock : Clock
        From when the time is counted.

    Returns
    -------
    StopSummary
        Times [s] and depths [m].

    References
    ----------
    arithmetic : least and median over the stops
    """
    times = of_stops_s(run, clock)
    rim, joint = (_by_clock_s(road_s, run.alarm_s, clock) for road_s in (run.rim_s, run.joint_s))
    if times.shape[1] > 1:  # as there
        rim[:, 0] = joint[:, 0] = np.inf
    # where the floor is never reached the stop that matters is that in the greatest inflow
    worst = np.where(np.isfinite(times).any(axis=1), worst_of(times), inflow_m3_s.argmax(1))
    n = times.shape[0]
    at = (np.arange(n), worst)
    over = np.where(np.isfinite(rim).any(axis=1), worst_of(rim), worst)
    depth = np.zeros((n, len(HOURS_AFTER)))
    if run.level_m.shape[2]:
        depth = np.maximum(np.nan_to_num(run.level_m, nan=0.0), 0.0).max(axis=1)
    dead_alarm, dead_floor = run.alarm_s[:, 0], run.floor_s[:, 0]
    return StopSummary(
        worst_s=times[at],
        worst_step=step[at],
        to_alarm_s=run.alarm_s[at],
        typical_s=_median(times, wet),
        dead_to_alarm_s=dead_alarm,
        dead_alarm_to_floor_s=_after_s(dead_alarm, dead_floor),
        dead_from_rain_s=dead_floor,
        rim_worst_s=rim.min(axis=1),
        joint_worst_s=joint.min(axis=1),
        rim_worst_step=step[np.arange(n), over],
        joint_first=(run.joint_s + _CLEARLY_S < run.rim_s)[at].astype(np.float64),
        depth_m=depth,
    )


def dry_times_s(pit: PitModel, ground: Ground, clock: Clock) -> FloatArray:
    """Return the time to the floor in dry weather, with ground water from far off alone.

    Parameters
    ----------
    pit : PitModel
        The pits.
    ground : Ground
        The ground round them.
    clock : Clock
        From when the time is counted.

    Returns
    -------
    (n_draws,) array
        Times; infinite for never, or after more than a week [s].

    References
    ----------
    judgement : a pump fails when it should start
    """
    return times_by_clock_s(_dry_run(pit, ground), clock)[:, 0]


def dry_marks_s(pit: PitModel, ground: Ground) -> tuple[FloatArray, FloatArray]:
    """Return when water passes the alarm and reaches the floor in dry weather.

    Parameters
    ----------
    pit : PitModel
        The pits.
    ground : Ground
        The ground round them.

    Returns
    -------
    alarm_s, floor_s : (n_draws,) arrays
        From the moment at which the pump should start; infinite for never, or after more than a
        week [s].

    References
    ----------
    judgement : a pump fails when it should start
    """
    run = _dry_run(pit, ground)
    alarm, floor = (times[:, 0] for times in (run.alarm_s, run.floor_s))
    return (
        np.where(alarm > _WEEK_S, np.inf, alarm),
        np.where(floor > _WEEK_S, np.inf, np.maximum(floor, 0.0)),
    )


def _dry_run(pit: PitModel, ground: Ground) -> StopRun:
    n = ground.n_draws
    mark = pit.on_index if pit.has_pump else pit.off_index
    start, invert = mark_m(pit, mark), ground.footing.level_m[:, 0]
    return follow_stops(
        pit, ground.footing, dry_water(n), np.zeros((n, 1), np.int64), start[:, None],
        np.maximum(invert, start)[:, None], np.zeros((n, 1, ground.lot_m3.shape[1])),
    )  # fmt: skip


def _median(times: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Middle of the wet stops of each row; the shorter of two, so that 'never' is not mixed."""
    ordered = np.sort(np.where(wet, times, np.nan), axis=1)  # NaN goes last
    at = (wet.sum(axis=1) - 1) // 2
    middle: FloatArray = ordered[np.arange(times.shape[0]), at]
    return middle
