"""One home through one storm in time, for pictures."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.pit.vessels import follow_stops
from riskkit.records import ByValue, FloatArray, IntArray, PitInflow, PitModel, freeze_arrays, need
from riskkit.risk.clock import Clock, MainTime
from riskkit.risk.critical import closer_steps, stop_steps, wet_stops
from riskkit.risk.time_to_flood import (
    Stops,
    dead_before,
    mark_m,
    stops_in_storm,
    times_by_clock_s,
)
from riskkit.risk.worst_stop import summarise_stops
from riskkit.simulate import ground_of, pit_of, water_of

__all__ = ["Trace", "fine_trace", "traces_of"]


@dataclass(frozen=True, eq=False)
class Trace(ByValue):
    """Level through time for one home in one storm, for charts.

    Parameters
    ----------
    time_s : (n,) array
        From the start of the storm [s].
    rain_mm_h : (n,) array
        Rain in the step that begins then [mm/h].
    inflow_m3_s : (n,) array
        Storm water to the pit in that step [m3/s].
    working_m : (n,) array
        Level with the pump working, relative to the floor [m].
    stopped_m : (n,) array
        Level with the pump stopped at the worst moment; NaN before that [m].
    footing_m : (n,) array
        Level of the water in gravel and fill at the footing, then with the pump stopped [m].
    footing_working_m : (n,) array
        The same with the pump working, the drain flowing freely [m].
    on_m, off_m, alarm_m : float
        Switch and alarm levels, relative to the floor [m].
    stop_s : float
        When the pump stops, from the start of the storm; 0 where it was dead already [s].
    to_alarm_s : float
        From there to the alarm; infinite for never [s].
    to_floor_s : float
        To the floor, from the event of `Clock`; infinite for never [s].
    to_rim_s : float
        From the same event until the pit overflows; infinite for never [s].
    home : HomeSamples
        The home, one draw.
    clock : Clock
        From when that time is counted; where it is not the alarm, none may be shown.
    has_pump : bool
        Whether there is a pump; without one `working_m` is the level without a pump.
    """

    time_s: FloatArray
    rain_mm_h: FloatArray
    inflow_m3_s: FloatArray
    working_m: FloatArray
    stopped_m: FloatArray
    footing_m: FloatArray
    footing_working_m: FloatArray
    on_m: float
    off_m: float
    alarm_m: float
    stop_s: float
    to_alarm_s: float
    to_floor_s: float
    to_rim_s: float
    home: HomeSamples
    clock: Clock = Clock.ALARM
    has_pump: bool = True

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def pit(self) -> PitModel:
        """The pit of the home."""
        return pit_of(self.home)


def traces_of(
    home: HomeSamples,
    rain_mm: FloatArray,
    step_s: float,
    clock: Clock = Clock.ALARM,
    main: MainTime = MainTime.FLOOR,
) -> tuple[Trace, ...]:
    """Follow a home through each of several storms, with the pump and without it.

    Rain falls as deep as the middle of its spread. The pump stops at the moment that is worst for
    the home.

    Parameters
    ----------
    home : HomeSamples
        One home for all storms, or one for each.
    rain_mm : (n_storms, n_steps) array
        Rain in each step, with dry steps after the storm [mm].
    step_s : float
        Length of a step [s].
    clock : Clock
        From when the time to the floor is counted.
    main : MainTime
        For which time the stop is the worst; a pump dead before the storm has stopped at its
        beginning, and the time is counted from there.

    Returns
    -------
    tuple of Trace
        One for each storm.

    Raises
    ------
    RangeError
        Where there is neither one home nor one for each storm.

    References
    ----------
    arithmetic : the same home in every row
    """
    n_storms, n_steps = rain_mm.shape
    what = f"it follows one home, or one for each of {n_storms} storms, not {home.n_draws}"
    need(home.n_draws in (1, n_storms), "trace", what)
    times = n_storms // home.n_draws
    clock = Clock.RAIN if main is MainTime.DEAD else clock
    pits, ground = pit_of(home).repeated(times), ground_of(home).repeated(times)
    steps = stop_steps(rain_mm, step_s, has_pump=home.has_pump)
    closer = closer_steps(rain_mm, step_s)
    water = water_of(ground, rain_mm, step_s, np.ones(n_storms), closer)
    dead = dead_before(pits, ground)
    run = run_pit(pits, water.to_pit, None if home.has_pump else dead[0], keep_levels=True)
    if run.level_m is None:
        raise TypeError("run_pit kept no levels")

    def stops_at(at: IntArray) -> Stops:
        return stops_in_storm(at, pits, run, water, dead)

    wet = wet_stops(rain_mm, step_s, steps)
    failed = summarise_stops(
        pits, ground.footing, water, stops_at, steps, wet, clock, closer=closer
    )
    begin = {
        MainTime.FLOOR: failed.worst_step,
        MainTime.RIM: failed.rim_worst_step,
        MainTime.DEAD: np.zeros(n_storms, dtype=np.int64),
    }[main]
    stops = stops_at(begin[:, None])
    time_s = np.arange(n_steps, dtype=np.float64) * step_s
    followed = follow_stops(
        pits, ground.footing, water.arriving, begin[:, None], stops.inside_m, stops.outside_m,
        stops.lot_m3, time_s,
    )  # fmt: skip
    # in the steps of the storm itself, as they are drawn
    to_floor = times_by_clock_s(followed, clock)[:, 0]
    dry_joint = np.full(followed.joint_s.shape, np.inf)
    to_rim = times_by_clock_s(replace(followed, joint_s=dry_joint), clock)[:, 0]
    on, off, alarm = (mark_m(pits, i) for i in (pits.on_index, pits.off_index, pits.alarm_index))
    traces = []
    for i in range(n_storms):
        stopped, beside = np.full((2, n_steps), np.nan)
        stopped[begin[i] :] = followed.level_m[i, 0, : n_steps - begin[i]]
        beside[:] = water.free.level_m[i]
        beside[begin[i] :] = followed.footing_m[i, 0, : n_steps - begin[i]]
        traces.append(
            Trace(
                time_s=time_s,
                rain_mm_h=rain_mm[i] * 3600.0 / step_s,
                inflow_m3_s=water.free.to_pit_m3_s[i],
                working_m=run.level_m[i, :-1],
                stopped_m=stopped,
                footing_m=beside,
                footing_working_m=water.free.level_m[i],
                on_m=float(on[i]),
                off_m=float(off[i]),
                alarm_m=float(alarm[i]),
                stop_s=float(begin[i] * step_s),
                to_alarm_s=float(followed.alarm_s[i, 0]),
                to_floor_s=float(to_floor[i]),
                to_rim_s=float(to_rim[i]),
                home=home if home.n_draws == 1 else home.picked([i]),
                clock=clock,
                has_pump=home.has_pump,
            )
        )
    return tuple(traces)


def fine_trace(trace: Trace, pit: PitModel, step_s: float = 10.0) -> Trace:
    """Follow the same storm water again in short steps, so that every start of the pump is seen.

    The solution is exact whatever the step; a shorter one only shows more of it.

    Parameters
    ----------
    trace : Trace
        In the steps of the storm.
    pit : PitModel
        The pit of the same home, one draw.
    step_s : float
        Step wanted; the nearest that divides the step of the storm is taken [s].

    Returns
    -------
    Trace
        The same storm in short steps.

    Raises
    ------
    RangeError
        Where there is more than one pit.

    References
    ----------
    arithmetic : the inflow is constant within a step
    """
    n_pits = pit.level_m.shape[0]
    need(n_pits == 1, "trace", f"it follows one pit, not {n_pits}")
    coarse_s = float(trace.time_s[1] - trace.time_s[0])
    times = max(1, round(coarse_s / step_s))
    flow = np.repeat(trace.inflow_m3_s, times)
    inflow = PitInflow(flow[None, :], coarse_s / times)
    run = run_pit(pit, inflow, None if pit.has_pump else trace.working_m[:1], keep_levels=True)
    if run.level_m is None:
        raise TypeError("run_pit kept no levels")
    time_s = np.arange(flow.size, dtype=np.float64) * inflow.step_s
    failed = np.isfinite(trace.stopped_m)
    stopped = np.full(flow.size, np.nan)
    if failed.any():
        later = time_s >= trace.time_s[failed][0]
        known_s, known_m = _with_marks(trace, failed)
        stopped[later] = np.interp(time_s[later], known_s, known_m)
    return replace(
        trace,
        time_s=time_s,
        rain_mm_h=np.repeat(trace.rain_mm_h, times),
        inflow_m3_s=flow,
        working_m=run.level_m[0, :-1],
        stopped_m=stopped,
        footing_m=np.interp(time_s, trace.time_s, trace.footing_m),
        footing_working_m=np.interp(time_s, trace.time_s, trace.footing_working_m),
    )


def _with_marks(trace: Trace, failed: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Return the level with the pump stopped at its steps, and when it passes alarm and rim.

    Above the rim the water hardly rises, so that a straight line between steps passes it too late.
    """
    alarm_s = trace.stop_s + trace.to_alarm_s
    rim_s = (alarm_s if trace.clock is Clock.ALARM else trace.stop_s) + trace.to_rim_s
    marks = [(alarm_s, trace.alarm_m), (rim_s, 0.0)] if trace.to_rim_s > 0 else []
    rows = np.array([*zip(trace.time_s[failed], trace.stopped_m[failed], strict=True), *marks])
    rows = rows[np.isfinite(rows[:, 0])]
    rows = rows[np.argsort(rows[:, 0], kind="stable")]
    return rows[:, 0], rows[:, 1]
