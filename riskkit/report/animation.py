"""From the answer for one storm to the plain numbers that the moving section plays.

Everything here is drawing data: levels in metres above the basement floor, times in seconds from
the start of the storm. The numbers of the answer itself are worked out elsewhere.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem
from riskkit.records import FloatArray, PitModel
from riskkit.report.storm_rows import storm_rain

if TYPE_CHECKING:
    from riskkit.assessment import StormAnswer
    from riskkit.risk.trace import Trace

__all__ = ["animation_of"]

_FINE_S = 10.0  # short against a pump cycle, which takes a minute or more in a house
_DRAWN_M = 0.0005  # less is not seen
_SETTLING_S = 2 * 3600.0  # shown after the rain, and after the water has reached the floor
_NEVER_S = 6 * 3600.0  # shown after the alarm where the water does not reach the floor


@dataclass(frozen=True)
class _Track:
    """Level through time in equal steps, before it is thinned out for the picture."""

    time_s: FloatArray
    rain_mm_h: FloatArray
    working_m: FloatArray
    stopped_m: FloatArray  # NaN before the alarm
    footing_m: FloatArray  # at the footing, then with the pump stopped
    footing_working_m: FloatArray
    storm_m3_s: FloatArray | None  # storm water; used together with the pit only


def animation_of(
    storm: StormAnswer,
    *,
    stopped: bool,
    system: UnitSystem,
    sentence: str,
    pit: PitModel | None = None,
    warns: bool = True,
) -> dict[str, Any]:
    """Return one storm as a animation for the moving section.

    With the pump stopped, the answer starts at the alarm; the picture also shows how the level got
    there: the rise is followed backwards from the alarm until it meets the level with the pump in
    order, and there the pump stops. Where the level stands above the alarm even with the pump in
    order, the pump stops at that moment and the level is never drawn below where it was. Where no
    alarm warns, the answer starts when the pump should start and does not; the rise to there is
    followed backwards too. Without a pump the water only rises and nothing stops.

    Parameters
    ----------
    storm : StormAnswer
        The storm.
    stopped : bool
        Show the pump stopping at the worst moment; otherwise it stays in order.
    system : UnitSystem
        Units of the reader.
    sentence : str
        What it means, in plain words.
    pit : PitModel, optional
        The pit of the same home (one draw). With it the level is followed every few seconds, so
        that every start of the pump is seen; without it the level is known at the steps of the
        trace only and whether the pump runs is left open.
    warns : bool
        Whether there is an alarm to count on; without one none sounds.

    Returns
    -------
    dict
        The animation, as `riskkit.widgets.section.MovingSection` takes it.

    Raises
    ------
    InputError
        Where the trace holds no level with the pump stopped, or more than one pit is given.
    """
    trace = storm.trace
    track = _fine_track(trace, pit) if pit is not None else _coarse_track(trace)
    level, stop = track.working_m, None
    if stopped:
        if not np.isfinite(track.stopped_m).any():
            raise InputError("section", "the answer holds no level with the pump stopped")
        if pit is not None and not pit.has_pump:
            level = np.where(np.isfinite(track.stopped_m), track.stopped_m, track.working_m)
        else:
            level, stop = _level_with_stop(track, pit)
            if not warns:
                stop = int(np.isfinite(track.stopped_m).argmax())
    pump = None
    if pit is not None and pit.has_pump:
        pump = _pump_on(level, trace.on_m, trace.off_m, stop)
    alarm_s = _first_at(track.time_s, level, trace.alarm_m)
    flood_s = _first_at(track.time_s, level, 0.0)
    stop_s = None if stop is None else float(track.time_s[stop])
    last = int(np.searchsorted(track.time_s, _end_s(track, stop_s, alarm_s, flood_s), "right"))
    beside = track.footing_m if stopped else track.footing_working_m
    keep = _turns(track, (level, beside), pump, stop)
    keep = keep[keep < max(last, 2)]
    return {
        "title": _title(storm, system),
        "time_s": [round(float(v), 1) for v in track.time_s[keep]],
        "rain_mm_h": [round(float(v), 2) for v in track.rain_mm_h[keep]],
        "level_m": [round(float(v), 4) for v in level[keep]],
        "beside_m": [round(float(v), 4) for v in beside[keep]],
        "pump_on": None if pump is None else [int(v) for v in pump[keep]],
        "stopped_at_s": stop_s,
        "alarm_s": alarm_s if warns else None,
        "flood_s": flood_s,
        "sentence": sentence,
    }


def _coarse_track(trace: Trace) -> _Track:
    return _Track(
        trace.time_s, trace.rain_mm_h, trace.working_m, trace.stopped_m, trace.footing_m,
        trace.footing_working_m, None,
    )  # fmt: skip


def _fine_track(trace: Trace, pit: PitModel) -> _Track:
    """Follow the storm water of a trace again, in short steps."""
    from riskkit.risk.trace import fine_trace  # brings in the compiled loops

    fine = fine_trace(trace, pit, _FINE_S)
    return _Track(
        fine.time_s, fine.rain_mm_h, fine.working_m, fine.stopped_m, fine.footing_m,
        fine.footing_working_m, fine.inflow_m3_s,
    )  # fmt: skip


def _level_with_stop(track: _Track, pit: PitModel | None) -> tuple[FloatArray, int]:
    """Level with the pump working until it stops, and the step in which it stops."""
    alarm = int(np.isfinite(track.stopped_m).argmax())
    level = np.where(np.isfinite(track.stopped_m), track.stopped_m, track.working_m)
    start_m = float(level[alarm])
    if track.working_m[alarm] >= start_m:
        level[alarm:] = np.maximum(level[alarm:], track.working_m[alarm])
        return level, alarm
    step_s = float(track.time_s[1] - track.time_s[0])
    first_rise = float(track.stopped_m[min(alarm + 1, level.size - 1)] - start_m) / step_s
    rise_m_s = _rises(pit, track) if pit is not None else lambda _step, _level_m: first_rise
    working, at, stop = track.working_m.tolist(), start_m, alarm
    while stop > 0 and working[stop] < at:
        before = at - max(rise_m_s(stop - 1, at), 0.0) * step_s
        stop -= 1
        at = level[stop] = max(before, working[stop])
    if stop < alarm and level[stop] > level[stop + 1]:
        stop += 1  # the pump still draws the level down in the step in which the two curves meet
    return level, stop


def _rises(pit: PitModel, track: _Track) -> Callable[[int, float], float]:
    """How fast the level rises without the pump: inflow over the free area at that level.

    In plain numbers, for it is asked thousands of times, each for a level that the last one gave.
    """
    if track.storm_m3_s is None:
        raise TypeError("the storm water is not known")
    storm, levels = track.storm_m3_s.tolist(), pit.level_m[0].tolist()
    seepage, area = pit.seepage_m3_s[0].tolist(), pit.area_m2[0].tolist()

    def rise_m_s(step: int, level_m: float) -> float:
        band = min(max(bisect_left(levels, level_m) - 1, 0), len(area) - 1)
        low, high = levels[band], levels[band + 1]
        share = min(max((level_m - low) / (high - low), 0.0), 1.0) if high > low else 0.0
        ground = seepage[band] + share * (seepage[band + 1] - seepage[band])
        return float((storm[step] + ground) / area[band])

    return rise_m_s


def _pump_on(level_m: FloatArray, on_m: float, off_m: float, stop: int | None) -> FloatArray:
    """Whether the pump runs in each step: water only falls by the pump, and it has a memory."""
    on = np.zeros(level_m.size)
    running = False
    for i, (now, then) in enumerate(pairwise(level_m)):
        if then < now or now >= on_m:
            running = True
        elif now <= off_m or then - off_m < 0.3 * (on_m - off_m):
            running = False
        on[i] = running
    on[-1] = on[-2]
    if stop is not None:
        on[stop:] = 0
    return on


def _first_at(time_s: FloatArray, level_m: FloatArray, mark_m: float) -> float | None:
    """When the level first stands at a mark; None for never."""
    at = np.flatnonzero(level_m >= mark_m - 1e-9)
    if at.size == 0:
        return None
    i = int(at[0])
    if i == 0:
        return float(time_s[0])
    share = (mark_m - level_m[i - 1]) / (level_m[i] - level_m[i - 1])
    return round(float(time_s[i - 1] + share * (time_s[i] - time_s[i - 1])), 1)


def _end_s(
    track: _Track, stop_s: float | None, alarm_s: float | None, flood_s: float | None
) -> float:
    """When the animation is told."""
    raining = np.flatnonzero(track.rain_mm_h > 0)
    ends = [_SETTLING_S + (float(track.time_s[raining[-1]]) if raining.size else 0.0)]
    if flood_s is not None:
        ends.append(flood_s + _SETTLING_S)
    elif stop_s is not None and alarm_s is not None:
        ends.append(alarm_s + _NEVER_S)
    return max(ends)


def _turns(
    track: _Track, levels_m: tuple[FloatArray, ...], pump: FloatArray | None, stop: int | None
) -> NDArray[np.intp]:
    """Which samples to keep: where rain or pump change, and what the levels need to stay true."""
    n = track.time_s.size
    keep = np.zeros(n, dtype=bool)
    keep[[0, -1]] = True
    keep[1:] |= np.diff(track.rain_mm_h) != 0
    if pump is not None:
        keep[1:] |= np.diff(pump) != 0
    if stop is not None:
        keep[stop] = True
    samples = np.arange(n)
    while True:  # split every stretch at the sample that a straight line misses most
        kept = np.flatnonzero(keep)
        missed = np.max(
            [np.abs(level - np.interp(samples, kept, level[kept])) for level in levels_m], axis=0
        )
        if missed.max() <= _DRAWN_M:
            return kept
        worst = np.maximum.reduceat(missed, kept)
        stretch = np.searchsorted(kept, samples, "right") - 1
        keep |= (missed == worst[stretch]) & (missed > _DRAWN_M)


def _title(storm: StormAnswer, system: UnitSystem) -> str:
    return f"{storm.return_period_yr:g}-year storm, {storm_rain(storm, system)}"
