"""From when the time to the floor is counted: the alarm, the stop of the pump, or the rain."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from riskkit.pit.balance import dry_time_to_flood, level_after, run_pit, time_to_flood
from riskkit.records import FloatArray, IntArray, PitInflow, PitModel, freeze_arrays

__all__ = ["Clock", "Starts", "dry_start_m", "storm_start_m", "times_to_floor"]

_TINY_M3_S = 1e-12  # of ground water that is none


class Clock(Enum):
    """From when the time to the floor is counted."""

    ALARM = "alarm"
    STOP = "stop"  # of the pump, where no alarm can be counted on
    RAIN = "rain"  # its beginning, where there is neither alarm nor pump


@dataclass(frozen=True)
class Starts:
    """Moments at which the clock may start, and how long it runs from each.

    Parameters
    ----------
    moment_s : (n_draws, n_moments) array
        From the start of the storm [s].
    level_m : (n_draws, n_moments) array
        Level of the water then, relative to the floor [m].
    to_floor_s : (n_draws, n_moments) array
        From then to water on the floor; infinite for never [s].
    """

    moment_s: FloatArray
    level_m: FloatArray
    to_floor_s: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def times_to_floor(pit: PitModel, inflow: PitInflow, moment_s: FloatArray, clock: Clock) -> Starts:
    """Time the water from every moment at which the clock may start.

    By the alarm the level is that of the alarm at every moment. By the stop of the pump it is the
    level at which the pump starts, for a pump fails when it should start; higher where the pump
    does not keep up, and lower before the water has come up to that level for the first time.
    Without a pump there is one moment only: the water rises from where ground water holds it.

    Parameters
    ----------
    pit : PitModel
        Pits, ``n_draws`` of them.
    inflow : PitInflow
        Storm water, with the drainage after the storm.
    moment_s : (n_moments,) array
        Moments at which the alarm may sound or the pump stop, from the start of the storm [s].
    clock : Clock
        From when the time is counted.

    Returns
    -------
    Starts
        Moments, levels and times.

    References
    ----------
    judgement : a pump fails when it should start
    """
    if not pit.has_pump:
        return _without_pump(pit, inflow, clock)
    n_draws = pit.level_m.shape[0]
    moments = np.broadcast_to(moment_s, (n_draws, moment_s.size))
    if clock is Clock.ALARM:
        times = time_to_flood(pit, inflow, moment_s).time_to_flood_s
        return Starts(moments, np.broadcast_to(_mark(pit, pit.alarm_index), moments.shape), times)
    levels = _stop_levels_m(pit, inflow, moment_s)
    return Starts(moments, levels, time_to_flood(pit, inflow, moment_s, levels).time_to_flood_s)


def _mark(pit: PitModel, index: IntArray) -> FloatArray:
    return np.asarray(np.take_along_axis(pit.level_m, index[:, None], axis=1))


def _stop_levels_m(pit: PitModel, inflow: PitInflow, moment_s: FloatArray) -> FloatArray:
    """Level at which a pump that works until each moment leaves the water (n_draws, n_moments)."""
    on, off = _mark(pit, pit.on_index), _mark(pit, pit.off_index)[:, 0]
    run = run_pit(pit, inflow, keep_levels=True)
    if run.level_m is None:
        raise TypeError("run_pit kept no levels")
    step = np.minimum((moment_s / inflow.step_s).astype(np.intp), run.level_m.shape[1] - 1)
    # until the pump has started once the water only rises
    rising = level_after(pit, inflow, np.zeros(off.size), moment_s, off)
    return np.where(rising < on, rising, np.maximum(on, run.level_m[:, step]))


def storm_start_m(pit: PitModel) -> FloatArray | None:
    """Level at which the water stands when a storm begins.

    Parameters
    ----------
    pit : PitModel
        Pits, ``n_draws`` of them.

    Returns
    -------
    (n_draws,) array or None
        Relative to the floor; None for the level at which the pump stops [m].

    References
    ----------
    judgement : a pump has just run; without one ground water holds the water
    """
    return None if pit.has_pump else _rest_level_m(pit)


def _rest_level_m(pit: PitModel) -> FloatArray:
    """Lowest level at which no ground water comes in, from the switch-off level to the floor."""
    none = pit.seepage_m3_s <= _TINY_M3_S
    first = np.where(none.any(axis=1), none.argmax(axis=1), pit.floor_index)
    rest = np.minimum(_mark(pit, first)[:, 0], 0.0)
    return np.asarray(np.maximum(rest, _mark(pit, pit.off_index)[:, 0]))


def _without_pump(pit: PitModel, inflow: PitInflow, clock: Clock) -> Starts:
    rest = _rest_level_m(pit)
    begin = np.zeros(rest.size)
    times = time_to_flood(pit, inflow, np.zeros(1), rest[:, None]).time_to_flood_s[:, 0]
    if clock is not Clock.ALARM:
        return Starts(begin[:, None], rest[:, None], times[:, None])
    alarm_s = run_pit(pit, inflow, rest).alarm_s
    in_storm = np.isfinite(alarm_s)
    end = np.full(rest.size, inflow.storm_m3_s.shape[1] * inflow.step_s)
    # where the alarm sounds after all storm water has come, ground water alone goes on
    moment = np.where(in_storm, alarm_s, end)
    to_floor = np.where(in_storm, times - moment, dry_time_to_flood(pit))
    level = np.maximum(_mark(pit, pit.alarm_index)[:, 0], rest)
    return Starts(moment[:, None], level[:, None], to_floor[:, None])


def dry_start_m(pit: PitModel, clock: Clock) -> FloatArray | None:
    """Level at which the clock starts in dry weather.

    Parameters
    ----------
    pit : PitModel
        Pits, ``n_draws`` of them.
    clock : Clock
        From when the time is counted.

    Returns
    -------
    (n_draws,) array or None
        Relative to the floor; None for the level of the alarm [m].

    References
    ----------
    judgement : a pump fails when it should start
    """
    if clock is Clock.ALARM:
        return None
    return _mark(pit, pit.on_index)[:, 0] if pit.has_pump else _rest_level_m(pit)
