"""The storms and thaws of a record, and what each would have meant for a home.

Each is looked at through a window round its wettest hour, from 36 hours before it to 48 hours
after: the ground begins as the hours before have left it, heavy hours are broken down to minutes,
and the pump stops at moments round the peak, or was dead from the beginning of the window.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from riskkit.antecedent.hours import HourlyWeather
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.rainfall.events import split_storms
from riskkit.records import FloatArray, IntArray, PitModel, RainRecord, freeze_arrays
from riskkit.replay.minutes import HEAVY_MM, minutes_of_hours
from riskkit.risk.clock import Clock
from riskkit.risk.runs import working
from riskkit.risk.time_to_flood import mark_m, stops_in_storm, summarise_stops
from riskkit.simulate import Ground
from riskkit.simulate.continuous import GroundState, root_zone_of, water_from

__all__ = ["AFTER_H", "BEFORE_H", "RecordStorm", "StormOutcomes", "follow_storms", "storms_of"]

BEFORE_H, AFTER_H = 36, 48
"""Hours of the window before and after the wettest hour [h]."""
_WET_MM = 0.1  # of an hour, below which it is dry: drizzle and the slowest thaw
_STOPS_H = (-2.0, 0.0, 1.0)
_SHARP_STOPS_H = (-1.0, -0.25, 0.0, 1.0)
_ROWS = 1024  # storms of draws that are run at once


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
    """

    start: np.datetime64
    duration_h: float
    depth_mm: float
    peak: int
    peak_mm: float
    touches_gap: bool


@dataclass(frozen=True)
class StormOutcomes:
    """What each storm means for each draw; (n_draws, n_storms) arrays, infinite for never.

    Parameters
    ----------
    worst_s : array
        Least time to the floor, by the clock, of a pump that stops round the peak [s].
    to_alarm_s : array
        From that stop to the alarm [s].
    dead_to_alarm_s, dead_to_floor_s : arrays
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
    dead_to_floor_s: FloatArray
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
    found = []
    for storm in split_storms(RainRecord(depth, hours.times[0], 3600)):
        within = slice(storm.first, storm.last + 1)
        peak = storm.first + int(depth[within].argmax())
        window = slice(peak - BEFORE_H, peak + AFTER_H)
        whole = max(first, BEFORE_H) <= peak and window.stop <= depth.size
        if storm.depth_mm >= least_mm and whole:
            found.append(
                RecordStorm(
                    start=storm.start,
                    duration_h=storm.duration_h,
                    depth_mm=storm.depth_mm,
                    peak=peak,
                    peak_mm=float(depth[peak]),
                    touches_gap=bool(hours.is_gap[window].any()),
                )
            )
    return tuple(found)


def follow_storms(
    homes: HomeSamples,
    pit: PitModel,
    ground: Ground,
    hours: HourlyWeather,
    storms: Sequence[RecordStorm],
    begin: GroundState,
    clock: Clock,
) -> StormOutcomes:
    """Run every storm of some homes, with the pump working and stopped.

    Storms with a heavy hour go by in steps of five minutes, the others by the hour.

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
    begin : GroundState
        The ground at the beginning of the window of each [m, m3, s].
    clock : Clock
        From when the time to the floor is counted.

    Returns
    -------
    StormOutcomes
        For each draw and storm.

    References
    ----------
    judgement : window and moments at which the pump stops
    """
    window = np.arange(-BEFORE_H, AFTER_H)
    peaks = np.array([storm.peak for storm in storms], dtype=np.int64)
    rain = hours.water_mm[peaks[:, None] + window]
    sharp = rain.max(axis=1, initial=0.0) >= HEAVY_MM
    out = np.empty((_N_OUT, homes.n_draws, len(storms)))
    for heavy in (False, True):
        which = np.flatnonzero(sharp == heavy)
        at_once = max(1, _ROWS // homes.n_draws)
        for i in range(0, which.size, at_once):
            some = which[i : i + at_once]
            mm = minutes_of_hours(rain[some]) if heavy else rain[some]
            offsets = _SHARP_STOPS_H if heavy else _STOPS_H
            out[:, :, some] = _run(homes, pit, ground, mm, some, begin, offsets, clock)
    return StormOutcomes(*out)


_N_OUT = 8


def _run(
    homes: HomeSamples,
    pit: PitModel,
    ground: Ground,
    rain_mm: FloatArray,
    moment: IntArray,
    begin: GroundState,
    offsets_h: tuple[float, ...],
    clock: Clock,
) -> FloatArray:
    """Run some storms whose windows have equal steps (n_out, n_draws, n_storms)."""
    n, many = homes.n_draws, rain_mm.shape[0]
    step_s = (BEFORE_H + AFTER_H) * 3600.0 / rain_mm.shape[1]
    per_hour = round(3600.0 / step_s)
    middle = BEFORE_H * per_hour + per_hour // 2  # of the wettest hour
    offsets = np.round(np.array(offsets_h) * per_hour).astype(np.int64)
    steps = np.concatenate([[0], middle + offsets])
    draw = np.tile(np.arange(n), many)
    pits, grounds = pit.picked(draw), ground.picked(draw)
    state = begin.rows(draw, np.repeat(moment, n))
    water = water_from(
        grounds, root_zone_of(homes).picked(draw), state, np.repeat(rain_mm, n, axis=0), step_s,
        steps,
    )  # fmt: skip
    run = run_pit(pits, water.to_pit, keep_levels=True)
    on = mark_m(pits, pits.on_index)
    # the pump fails when it should start; the footing stands as the hours before have left it
    stops = stops_in_storm(steps, pits, run, water, (on, water.free.level_m[:, 0]))
    wet = np.zeros((draw.size, steps.size), dtype=np.bool_)
    wet[:, 1 + int(np.abs(offsets).argmin())] = True
    failed = summarise_stops(pits, grounds.footing, water, stops, wet, clock)
    works = working(pits, grounds.footing, water, run)
    columns = (
        failed.worst_s, failed.to_alarm_s, failed.dead_to_alarm_s, failed.dead_to_floor_s,
        failed.depth_m[:, -1],
        np.isfinite(works.alarm_s), np.isfinite(np.minimum(works.rim_s, works.joint_s)),
        water.free.to_pit_m3_s.max(axis=1),
    )  # fmt: skip
    return np.array([np.asarray(c, dtype=np.float64).reshape(many, n).T for c in columns])
