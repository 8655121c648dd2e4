"""The storms and thaws of a record, and what each would have meant for a home.

Each is looked at through a window round its wettest hour::

    -36 h            -3 h       wettest hour        +6 h                      +48 h
      |-- by the hour --|-- minutes, where heavy --|------- by the hour -------|
      dead since here, or   and at moments here
      stops at some hours

The hours before the middle part are those of the run through all years; the middle part begins
with the ground as they have left it, and the hours after go on from its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from riskkit.antecedent.hours import HourlyWeather
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.pit.vessels import FootingModel, FootingWater, StopRun, follow_stops
from riskkit.pit.works import keeps_down, working
from riskkit.rainfall.events import split_storms
from riskkit.records import (
    ByValue,
    FloatArray,
    IntArray,
    PitInflow,
    PitModel,
    RainRecord,
    freeze_arrays,
    hand_over,
)
from riskkit.risk.clock import Clock
from riskkit.risk.time_to_flood import HOURS_AFTER, mark_m, stops_in_storm, summary_of
from riskkit.simulate import Ground
from riskkit.simulate.continuous import (
    GroundState,
    HoursRun,
    hours_of,
    root_zone_of,
    water_from,
)
from riskkit.years.minutes import HEAVY_MM, even_minutes, minutes_of_hours

__all__ = [
    "AFTER_H",
    "BEFORE_H",
    "EARLY_H",
    "NEAR_H",
    "PAST_H",
    "RecordStorm",
    "StormOutcomes",
    "follow_storms",
    "storms_of",
]

BEFORE_H, AFTER_H = 36, 48
"""Hours of the window before and after the wettest hour [h]."""
NEAR_H, PAST_H = 6, 24
"""Hours of its middle part before and after the wettest hour [h]."""
_WET_MM = 0.1  # of an hour, below which it is dry: drizzle and the slowest thaw
EARLY_H = (24, 16, 10)
"""Hours before the wettest hour at which the pump may stop, before the middle part [h]."""
_STOPS_H = (-5.0, -3.0, -1.0, 0.0, 1.0)
_SHARP_STOPS_H = (-5.0, -3.0, -1.0, -0.25, 0.0, 1.0)
_LONG_S, _CLOSE_S = 1800.0, 2 * 3600.0
_ROWS = 2048  # storms of draws that are run at once


@dataclass(frozen=True)
class RecordStorm:
    """A storm or thaw of a record.

    Parameters
    ----------
    start : numpy.datetime64
        Start of its first wet hour.
    duration_h : float
        To the end of its last wet hour [h].
    depth_mm : float
        Rain and melt [mm].
    peak : int
        Place of its wettest hour among the hours of the record [-].
    peak_mm : float
        Rain and melt of that hour [mm].
    touches_gap : bool
        Whether hours are missing in its window.
    is_heavy : bool
        Whether an hour near the wettest one is broken down into minutes.
    """

    start: np.datetime64
    duration_h: float
    depth_mm: float
    peak: int
    peak_mm: float
    touches_gap: bool
    is_heavy: bool = False


@dataclass(frozen=True, eq=False)
class StormOutcomes(ByValue):
    """What each storm means for each draw; (n_draws, n_storms) arrays, infinite for never.

    Parameters
    ----------
    worst_s : array
        Least time to the floor, from the event of `Clock`, of a pump that stops round the peak [s].
    to_alarm_s : array
        From that stop to the alarm [s].
    dead_to_alarm_s, dead_alarm_to_floor_s : arrays
        For a pump dead since 36 h before the wettest hour: from then to the alarm, and from the
        alarm to the floor [s].
    depth_m : array
        Water on the floor 12 h after the clock starts, at the worst of the stops [m].
    alarms, floods : arrays
        1 where with the pump working the alarm sounds, and where water reaches the floor [-].
    peak_m3_s : array
        Peak flow to the pit [m3/s].
    """

    worst_s: FloatArray
    to_alarm_s: FloatArray
    dead_to_alarm_s: FloatArray
    dead_alarm_to_floor_s: FloatArray
    depth_m: FloatArray
    alarms: FloatArray
    floods: FloatArray
    peak_m3_s: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def storms_of(hours: HourlyWeather, least_mm: float, first: int = 0) -> tuple[RecordStorm, ...]:
    """Cut the hours of a place into storms and thaws, six dry hours apart.

    Parameters
    ----------
    hours : HourlyWeather
        The hours.
    least_mm : float
        Rain and melt below which a storm is left out [mm].
    first : int
        Hours before this one are left out [-].

    Returns
    -------
    tuple of RecordStorm
        In order of time; those whose window is cut by an end of the record are left out.

    References
    ----------
    judgement : six dry hours, and drizzle below 0.1 mm/h
    """
    depth = np.where(hours.water_mm < _WET_MM, 0.0, hours.water_mm)
    near_gap = np.convolve(hours.is_gap, np.ones(BEFORE_H + AFTER_H), "valid") > 0
    found = []
    for storm in split_storms(RainRecord(depth, hours.times[0], 3600)):
        within = slice(storm.first, storm.last + 1)
        peak = storm.first + int(depth[within].argmax())
        whole = max(first, BEFORE_H) <= peak <= depth.size - AFTER_H
        if storm.depth_mm >= least_mm and whole:
            found.append(
                RecordStorm(
                    start=storm.start,
                    duration_h=storm.duration_h,
                    depth_mm=storm.depth_mm,
                    peak=peak,
                    peak_mm=float(depth[peak]),
                    touches_gap=bool(near_gap[peak - BEFORE_H]),
                    is_heavy=bool(_near_mm(hours, peak).max() >= HEAVY_MM),
                )
            )
    return tuple(found)


def _near_mm(hours: HourlyWeather, peak: int | IntArray) -> FloatArray:
    """Rain and melt of the hours of the middle part of a storm, or a row for each of several."""
    at = np.reshape(peak, (*np.shape(peak), 1)) + np.arange(-NEAR_H, PAST_H)
    return np.asarray(hours.water_mm[at])


def follow_storms(
    homes: HomeSamples,
    pit: PitModel,
    ground: Ground,
    hours: HourlyWeather,
    storms: Sequence[RecordStorm],
    run: HoursRun,
    states: tuple[GroundState, ...],
    clock: Clock,
    *,
    even: bool = False,
) -> StormOutcomes:
    """Run every storm of some homes, with the pump working and stopped.

    The middle part of storms with a heavy hour goes by in steps of five minutes, that of the others
    by the hour.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    pit : PitModel
        Their pits.
    ground : Ground
        The ground round them.
    hours : HourlyWeather
        The hours of the place.
    storms : sequence of RecordStorm
        The storms.
    run : HoursRun
        The homes through all the hours.
    states : tuple of GroundState
        The ground at the beginning of the window of each storm, at `EARLY_H` before its wettest
        hour, and at the beginning of its middle part [m, m3, s].
    clock : Clock
        From when the time to the floor is counted.
    even : bool
        Whether heavy hours stay even too; the steps are the same.

    Returns
    -------
    StormOutcomes
        For each draw and storm.

    References
    ----------
    judgement : window and moments at which the pump stops
    """
    peaks = np.array([storm.peak for storm in storms], dtype=np.int64)
    near = _near_mm(hours, peaks)
    sharp = np.array([storm.is_heavy for storm in storms], dtype=np.bool_)
    fine = even_minutes if even else minutes_of_hours
    after = peaks[:, None] + np.arange(PAST_H, AFTER_H)
    later, thawed_later = hours.water_mm[after], hours.thawed_share[after]
    thawed = hours.thawed_share[peaks[:, None] + np.arange(-NEAR_H, PAST_H)]
    out = np.empty((_N_OUT, homes.n_draws, len(storms)))
    for heavy in (False, True):
        which = np.flatnonzero(sharp == heavy)
        at_once = max(1, _ROWS // homes.n_draws)
        for i in range(0, which.size, at_once):
            some = which[i : i + at_once]
            mm = fine(near[some]) if heavy else near[some]
            offsets = _SHARP_STOPS_H if heavy else _STOPS_H
            open_share = np.repeat(thawed[some], mm.shape[1] // thawed.shape[1], axis=1)
            part = _Part(
                some, peaks[some], mm, later[some], open_share, thawed_later[some], offsets
            )
            out[:, :, some] = _run(homes, pit, ground, part, run, states, clock)
    return StormOutcomes(*out)


@dataclass(frozen=True)
class _Part:
    """Some storms whose middle parts have equal steps."""

    storm: IntArray
    peak: IntArray
    near_mm: FloatArray
    later_mm: FloatArray
    thawed: FloatArray
    thawed_later: FloatArray
    stops_h: tuple[float, ...]


_N_OUT = 8


def _run(
    homes: HomeSamples,
    pit: PitModel,
    ground: Ground,
    part: _Part,
    hours: HoursRun,
    states: tuple[GroundState, ...],
    clock: Clock,
) -> FloatArray:
    """Run some storms (n_out, n_draws, n_storms)."""
    n, many = homes.n_draws, part.storm.size
    step_s = (NEAR_H + PAST_H) * 3600.0 / part.near_mm.shape[1]
    per_hour = round(3600.0 / step_s)
    middle = NEAR_H * per_hour + per_hour // 2  # of the wettest hour
    offsets = np.round(np.array(part.stops_h) * per_hour).astype(np.int64)
    steps = np.concatenate([[0], middle + offsets])
    # the storms of a draw stand one after the other, for the loops keep what they share
    draw, storm = np.repeat(np.arange(n), many), np.tile(np.arange(many), n)
    pits, grounds = pit.picked(draw), ground.picked(draw)
    begin, *early_on, state = (one.rows(draw, part.storm[storm]) for one in states)
    water = water_from(
        grounds, root_zone_of(homes).picked(draw), state, part.near_mm[storm], step_s, steps,
        part.later_mm[storm], part.thawed[storm], part.thawed_later[storm],
    )  # fmt: skip
    first, early_h, whole_h = part.peak[storm] - BEFORE_H, BEFORE_H - NEAR_H, BEFORE_H + AFTER_H
    flow = hours_of(hours.free.to_pit_m3_s, draw, first, whole_h)
    run = run_pit(pits, water.to_pit, keep_at=steps)
    # the pump fails when it should start; the footing stands as the hours before have left it
    dead = (mark_m(pits, pits.on_index), begin.level_m[:, 0], water.start_m3)
    stops = stops_in_storm(steps, pits, run, water, dead, flow[:, :early_h].sum(axis=1) * 3600.0)
    edges = _longer(steps[1:], water.arriving.step_s, step_s)
    before = hours.arriving(draw, first, early_h)
    hour = BEFORE_H - np.array(EARLY_H)
    # a pump that stops in the hours before fails when it should start, too
    on = np.tile(mark_m(pits, pits.on_index)[:, None], (1, hour.size))
    outside = np.concatenate([one.level_m for one in early_on], axis=1)
    start = _Starts(
        np.concatenate([[0], hour, before.step_s.size + np.searchsorted(edges, steps[1:])]),
        np.concatenate([stops.inside_m[:, :1], on, stops.inside_m[:, 1:]], axis=1),
        np.concatenate([stops.outside_m[:, :1], outside, stops.outside_m[:, 1:]], axis=1),
        np.concatenate(
            [begin.lot_m3, *(one.lot_m3 for one in early_on), stops.lot_m3[:, 1:]], axis=1
        ),
    )  # fmt: skip
    at_stops = np.concatenate(
        [flow[:, :1], flow[:, hour], water.free.to_pit_m3_s[:, steps[1:]]], axis=1
    )
    arriving = water.arriving.merged(edges, before)
    failed = _followed(pits, grounds.footing, arriving, start, at_stops.argmax(axis=1), clock)
    wet = np.zeros(at_stops.shape, dtype=np.bool_)
    wet[:, 1 + hour.size + int(np.abs(offsets).argmin())] = True
    # steps of the middle part, before which the others lie
    when = np.concatenate([(NEAR_H - BEFORE_H + np.append(0, hour)) * per_hour, steps[1:]])
    found = summary_of(failed, np.tile(when, (draw.size, 1)), at_stops, wet, clock)
    alarms, floods = np.zeros((2, draw.size), dtype=np.bool_)
    outside_m = hours_of(hours.free.level_m, draw, first, whole_h)
    busy = np.flatnonzero(~keeps_down(pits, flow.max(axis=1)) | (outside_m.max(axis=1) > 0.0))
    if busy.size:
        busy_pits = pits.picked(busy)
        works = working(
            busy_pits, grounds.footing.picked(busy),
            hours.arriving(draw[busy], first[busy], whole_h), outside_m[busy],
            begin.lot_m3[busy, 0], run_pit(busy_pits, PitInflow(flow[busy], 3600.0)),
        )  # fmt: skip
        alarms[busy], floods[busy] = (np.isfinite(t) for t in (works.alarm_s, works.floor_s))
    if per_hour > 1:
        works = working(
            pits, grounds.footing, water.arriving, water.free.level_m, water.start_m3, run
        )
        alarms |= np.isfinite(works.alarm_s)
        floods |= np.isfinite(works.floor_s)
    columns = (
        found.worst_s, found.to_alarm_s, found.dead_to_alarm_s, found.dead_alarm_to_floor_s,
        found.depth_m[:, -1],
        alarms, floods,
        np.maximum(water.free.to_pit_m3_s.max(axis=1), flow.max(axis=1)),
    )  # fmt: skip
    return np.array([np.asarray(c, dtype=np.float64).reshape(n, many) for c in columns])


@dataclass(frozen=True)
class _Starts:
    """Where the water stands as a pump stops; the second axis is that of the stops.

    The first is that of a pump dead before.
    """

    step: IntArray  # (n_stops,)
    inside_m: FloatArray
    outside_m: FloatArray
    lot_m3: FloatArray

    def of(
        self, rows: IntArray, stops: IntArray
    ) -> tuple[IntArray, FloatArray, FloatArray, FloatArray]:
        """Return some stops of some rows, as `follow_stops` takes them; both (n_rows, n)."""
        at = (rows[:, None], stops)
        return self.step[stops], self.inside_m[at], self.outside_m[at], self.lot_m3[at]


def _followed(
    pits: PitModel,
    footing: FootingModel,
    arriving: FootingWater,
    start: _Starts,
    most_inflow: IntArray,
    clock: Clock,
) -> StopRun:
    """Follow a pump dead before, and of the stops those that may bring water to the floor.

    What a pump lifted until it stopped is missing from the water after it: where water never
    reaches the floor with the pump dead before, it reaches it after no later stop, and the same
    holds of the alarm. Of such rows the stop in the greatest inflow alone is followed, for its time
    to the alarm; of the others none after a stop that leaves the floor dry. Not so where the pump
    starts above the invert of the drain: down to there the ground may draw the water of a dead
    pump, which then stands lower than where a pump stops.
    """
    n, n_stops = start.inside_m.shape
    after_s = np.array(HOURS_AFTER) * 3600.0
    alarm_s, rim_s, joint_s = (np.full((n, n_stops), np.inf) for _ in range(3))
    highest_m = np.full((n, n_stops), np.nan)
    level_m, footing_m = (np.full((n, n_stops, after_s.size), np.nan) for _ in range(2))
    whole = (alarm_s, rim_s, joint_s, highest_m, level_m, footing_m)

    def follow(rows: IntArray, stops: IntArray, *, each: bool = True) -> None:
        if not rows.size:
            return
        some = rows.size < n
        step, inside, outside, lot = start.of(rows, stops)
        run = follow_stops(
            pits.picked(rows) if some else pits, footing.picked(rows) if some else footing,
            arriving.picked(rows) if some else arriving, step, inside, outside, lot, after_s,
            from_alarm=clock is Clock.ALARM, step_after_s=3600.0,
            dry_from=None if each else np.full(rows.size, arriving.step_s.size),
            alarm_of=None if each else most_inflow[rows] - stops[0, 0],
        )  # fmt: skip
        found = (run.alarm_s, run.rim_s, run.joint_s, run.highest_m, run.level_m, run.footing_m)
        for put, part in zip(whole, found, strict=True):
            put[rows[:, None], stops] = part

    every, later = np.arange(n), np.arange(1, n_stops)
    follow(every, np.zeros((n, 1), dtype=np.int64))
    wet = np.isfinite(np.minimum(rim_s, joint_s)[:, 0])
    above = mark_m(pits, pits.on_index) > footing.level_m[:, 0]
    for rows, each in ((np.flatnonzero(above), True), (np.flatnonzero(wet & ~above), False)):
        follow(rows, np.tile(later, (rows.size, 1)), each=each)
    rows = np.flatnonzero(~above & ~wet & np.isfinite(alarm_s[:, 0]) & (most_inflow > 0))
    follow(rows, most_inflow[rows][:, None])
    hand_over(*whole)
    return StopRun(alarm_s, rim_s, joint_s, highest_m, level_m, footing_m)


def _longer(stops: IntArray, step_s: FloatArray, fine_s: float) -> IntArray:
    """Steps at which longer ones may begin, with which a stopped pump is followed.

    Fine steps stay from the first stop until two hours after the last; elsewhere half an hour of
    them goes by in one.
    """
    fine = int((step_s == fine_s).sum())
    if fine == step_s.size:
        return np.arange(fine + 1)
    many = round(_LONG_S / fine_s)
    near = np.arange(stops[0], min(fine, stops[-1] + round(_CLOSE_S / fine_s)))
    ends = np.concatenate([np.arange(0, fine, many), near, np.arange(fine, step_s.size + 1)])
    return np.asarray(np.unique(ends))
