"""One home through one storm in time, for pictures."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskkit.pit.balance import level_after, run_pit
from riskkit.records import FloatArray, PitInflow, PitModel, freeze_arrays, need

__all__ = ["Trace", "fine_trace"]


@dataclass(frozen=True)
class Trace:
    """Level through time for the middle home in one storm, for charts.

    Parameters
    ----------
    time_s : (n,) array
        From the start of the storm [s].
    rain_mm_h : (n,) array
        Rain in the step that begins then [mm/h].
    inflow_m3_s : (n,) array
        Storm water to the pit in that step [m3/s].
    working_m : (n,) array
        Level with the pump in order, relative to the floor [m].
    stopped_m : (n,) array
        Level with the pump stopped at the worst moment; NaN before the alarm [m].
    on_m, off_m, alarm_m : float
        Switch and alarm levels, relative to the floor [m].
    """

    time_s: FloatArray
    rain_mm_h: FloatArray
    inflow_m3_s: FloatArray
    working_m: FloatArray
    stopped_m: FloatArray
    on_m: float
    off_m: float
    alarm_m: float

    def __post_init__(self) -> None:
        freeze_arrays(self)


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
    run = run_pit(pit, inflow, keep_levels=True)
    if run.level_m is None:
        raise TypeError("run_pit kept no levels")
    time_s = np.arange(flow.size, dtype=np.float64) * inflow.step_s
    stopped = np.full(flow.size, np.nan)
    failed = np.isfinite(trace.stopped_m)
    if failed.any():
        begin = int(failed.argmax()) * times
        after = level_after(pit, inflow, time_s[[begin]], time_s[: flow.size - begin])
        stopped[begin:] = after[0]
    return replace(
        trace,
        time_s=time_s,
        rain_mm_h=np.repeat(trace.rain_mm_h, times),
        inflow_m3_s=flow,
        working_m=run.level_m[0, :-1],
        stopped_m=stopped,
    )
