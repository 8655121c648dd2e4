"""The usual state of a pit, between the off and the on level with a pump that keeps up.

Nearly all of the computing time is spent here.
"""

from __future__ import annotations

import numpy as np

from riskkit.compiled import compiled
from riskkit.pit._bands import (
    DVOL,
    GAIN,
    MEAN,
    OPTIONS,
    PUMP,
    PUMP_RISE,
    PUMP_SLOPE,
    SEEP,
    SEEP_SLOPE,
    VOL,
    cross,
    cross_near,
    phi_psi,
    phi_psi_near,
)
from riskkit.records import FloatArray

# What `cycle` takes over and hands back
S_V, S_T, S_STARTS, S_RUN, S_PUMPED, S_FELL, S_SEEPED, S_TOP, S_ON = range(9)
S_HOUR_BEGIN, S_HOUR_END, S_HOUR_MOST, S_COUNTED, S_OWED, S_RETURNED = range(9, 15)
N_STATE = 15


@compiled(**OPTIONS)
def new_hour(k: int, hour: int, starts: float, state: FloatArray) -> None:
    """Close the hours before step k; to be called before a start in it is counted."""
    if k >= state[S_HOUR_END]:
        state[S_HOUR_MOST] = max(state[S_HOUR_MOST], starts - state[S_HOUR_BEGIN])
        state[S_HOUR_BEGIN] = starts
        state[S_HOUR_END] = (k // hour + 1) * hour


@compiled(**OPTIONS)
def returns(
    flow: FloatArray, k: int, lag: int, part: float, per_dt: float, left: float, state: FloatArray
) -> None:
    """At the end of step k, let a part of what left by the outlet arrive again `lag` steps later.

    What the pump lifted and what fell back from the pipe may lie in two steps: a shortfall is owed.
    """
    out = state[S_OWED] + left - state[S_COUNTED]
    state[S_COUNTED] = left
    if out > 0.0:
        state[S_OWED] = 0.0
        if k + lag < flow.size:
            flow[k + lag] += part * out * per_dt
            state[S_RETURNED] += part * out
    else:
        state[S_OWED] = out


@compiled(**OPTIONS)
def cycle_flat(
    flow: FloatArray,
    k: int,
    stop: int,
    dt: float,
    hour: int,
    pit: FloatArray,
    j_off: int,
    j_on: int,
    q_low: float,
    q_high: float,
    back: float,
    part: float,
    lag: int,
    state: FloatArray,
) -> int:
    """Follow the cycles of the pump, from step k up to step `stop`, where ground water is constant.

    That is the usual case: between the off and the on level the water stands below the drain. The
    level then rises in a line. Holds while the storm water is between q_low and q_high: there the
    pit fills when the pump rests, and the running pump keeps up and changes so little from level to
    level that the series will do. Returns the first step in which that does not hold, or `stop`.
    """
    v = state[S_V]
    t = state[S_T]
    running = state[S_ON] > 0.0
    starts = state[S_STARTS]
    run = state[S_RUN]
    pumped = state[S_PUMPED]
    fell = state[S_FELL]
    # the accounts of `new_hour` and `returns`, written out: numba counts references to the arrays
    # at every call, and that would take longer than all the rest
    hour_begin = state[S_HOUR_BEGIN]
    hour_end = state[S_HOUR_END]
    hour_most = state[S_HOUR_MOST]
    counted = state[S_COUNTED]
    owed = state[S_OWED]
    returned = state[S_RETURNED]
    n_steps = flow.size
    per_dt = 1.0 / dt
    s = pit[SEEP, j_off]
    v_off = pit[VOL, j_off]
    v_on = pit[VOL, j_on]
    v_low = v_off + back  # where the filling begins: the pipe's water falls back at each stop
    reached = False
    i = j_off
    while i < j_on - 1 and v >= pit[VOL, i + 1]:
        i += 1
    begun = k * dt + (dt - t)

    while k < stop:
        # 1. the pump rests, step after step
        if t == dt and not running:
            while k < stop:
                v1 = v + (flow[k] + s) * dt
                if v1 >= v_on:
                    break
                v = v1
                k += 1
            if k == stop:
                break
        q = flow[k]
        if not q_low < q < q_high:
            break
        rate = q + s
        ended = False

        # 2. the rest of a draw-down that the end of a step cut
        if running:
            while i >= j_off:
                dv = v - pit[VOL, i]
                slope = pit[PUMP_SLOPE, i]
                pv = pit[PUMP, i] + slope * dv
                tc, w = cross_near(dv, pv - rate, pit[PUMP, i] - rate)
                if tc > t:
                    phi, psi = phi_psi_near(-slope * t)
                    v = max(v - (pv - rate) * t * phi, pit[VOL, i])
                    pumped += (pv - slope * (pv - rate) * t * psi) * t
                    run += t
                    ended = True
                    break
                pumped += (pv - slope * w * dv) * tc
                run += tc
                t -= tc
                v = pit[VOL, i]
                i -= 1
            if not ended:
                running = False
                fell += back
                v = v_low

        if not ended:
            per_rate = 1.0 / rate
            t_on = t - (v_on - v) * per_rate
            if t_on < 0.0:
                # 3. filling as far as the step goes
                v += rate * t
                ended = True
            else:
                # 4. whole cycles, and the beginning of one more
                reached = True
                draw = 0.0
                once = 0.0
                for b in range(j_off, j_on):
                    high = pit[PUMP, b + 1]
                    tc, w = cross_near(pit[DVOL, b], high - rate, pit[PUMP, b] - rate)
                    draw += tc
                    once += (high - pit[PUMP_RISE, b] * w) * tc
                period = draw + (v_on - v_low) * per_rate
                # np.floor, since math.floor goes through an integer, which is slow here
                cycles = np.floor(t_on * (1.0 / period))
                t = max(t_on - cycles * period, 0.0)
                if k >= hour_end:
                    hour_most = max(hour_most, starts - hour_begin)
                    hour_begin = starts
                    hour_end = (k // hour + 1) * hour
                starts += cycles + 1.0
                running = t < draw
                if running:
                    v = v_on
                    i = j_on - 1
                else:
                    cycles += 1.0
                    v = min(v_low + rate * (t - draw), v_on)
                    ended = True
                fell += cycles * back
                pumped += cycles * once
                run += cycles * draw

        if ended:
            if part > 0.0:
                owed += pumped - fell - counted
                counted = pumped - fell
                if owed > 0.0:
                    if k + lag < n_steps:
                        flow[k + lag] += part * owed * per_dt
                        returned += part * owed
                    owed = 0.0
            k += 1
            t = dt

    state[S_V] = v
    state[S_T] = t
    state[S_ON] = 1.0 if running else 0.0
    state[S_STARTS] = starts
    state[S_RUN] = run
    state[S_PUMPED] = pumped
    state[S_FELL] = fell
    state[S_SEEPED] += s * (k * dt + (dt - t) - begun)
    state[S_TOP] = max(state[S_TOP], v_on if reached else v)
    state[S_HOUR_BEGIN] = hour_begin
    state[S_HOUR_END] = hour_end
    state[S_HOUR_MOST] = hour_most
    state[S_COUNTED] = counted
    state[S_OWED] = owed
    state[S_RETURNED] = returned
    return k


@compiled(**OPTIONS)
def cycle(
    flow: FloatArray,
    k: int,
    stop: int,
    dt: float,
    hour: int,
    pit: FloatArray,
    j_off: int,
    j_on: int,
    q_low: float,
    q_high: float,
    back: float,
    part: float,
    lag: int,
    state: FloatArray,
) -> int:
    """As `cycle_flat`, where the ground water falls as the level rises."""
    vol = pit[VOL]
    dvol = pit[DVOL]
    pn = pit[PUMP]
    pb = pit[PUMP_SLOPE]
    sn = pit[SEEP]
    sb = pit[SEEP_SLOPE]
    gain = pit[GAIN]
    mean = pit[MEAN]
    v = state[S_V]
    t = state[S_T]
    running = state[S_ON] > 0.0
    starts = state[S_STARTS]
    run = state[S_RUN]
    pumped = state[S_PUMPED]
    fell = state[S_FELL]
    seeped = state[S_SEEPED]
    top = state[S_TOP]
    hour_begin = state[S_HOUR_BEGIN]
    hour_end = state[S_HOUR_END]
    hour_most = state[S_HOUR_MOST]
    counted = state[S_COUNTED]
    owed = state[S_OWED]
    returned = state[S_RETURNED]
    n_steps = flow.size
    per_dt = 1.0 / dt
    v_off = vol[j_off]
    v_on = vol[j_on]
    v_low = v_off + back  # where the filling begins: the pipe's water falls back at each stop
    i_low = j_off
    while i_low < j_on - 1 and v_low >= vol[i_low + 1]:
        i_low += 1
    i = j_off
    while i < j_on - 1 and v >= vol[i + 1]:
        i += 1

    while k < stop:
        # 1. the pump rests, step after step
        if t == dt and not running:
            while k < stop:
                q = flow[k]
                sv = sn[i] + sb[i] * (v - vol[i])
                v1 = v + (q + sv) * gain[i]
                if v1 >= vol[i + 1]:
                    break
                seeped += sv * dt + (q + sv) * mean[i]
                v = v1
                k += 1
            if k == stop:
                break
        q = flow[k]
        if not q_low < q < q_high:
            break
        ended = False

        # 2. the rest of a draw-down that the end of a step cut
        if running:
            while i >= j_off:
                sv = sn[i] + sb[i] * (v - vol[i])
                pv = pn[i] + pb[i] * (v - vol[i])
                rate = pv - sv - q
                dv = v - vol[i]
                tc, w = cross(dv, rate, pn[i] - sn[i] - q)
                if tc > t:
                    phi, psi = phi_psi((sb[i] - pb[i]) * t)
                    v = max(v - rate * t * phi, vol[i])
                    seeped += (sv - sb[i] * rate * t * psi) * t
                    pumped += (pv - pb[i] * rate * t * psi) * t
                    run += t
                    ended = True
                    break
                seeped += (sv - sb[i] * w * dv) * tc
                pumped += (pv - pb[i] * w * dv) * tc
                run += tc
                t -= tc
                v = vol[i]
                i -= 1
            if not ended:
                running = False
                fell += back
                v = v_low
                i = i_low

        # 3. filling up to the on level, or as far as the step goes
        if not ended:
            sv = sn[i] + sb[i] * (v - vol[i])
            while i < j_on:
                dv = vol[i + 1] - v
                rate = q + sv
                tc, w = cross(dv, rate, q + sn[i + 1])
                if tc > t:
                    phi, psi = phi_psi(sb[i] * t)
                    v = min(v + rate * t * phi, vol[i + 1])
                    seeped += (sv + sb[i] * rate * t * psi) * t
                    ended = True
                    break
                seeped += (sv + sb[i] * w * dv) * tc
                t -= tc
                i += 1
                v = vol[i]
                sv = sn[i]

        # 4. whole cycles, and the beginning of one more: the pump draws down, the pit fills
        if not ended:
            top = max(top, v_on)
            draw = 0.0
            once = 0.0
            in_draw = 0.0
            for b in range(j_off, j_on):
                s0 = sn[b]
                s1 = sn[b + 1]
                p0 = pn[b]
                p1 = pn[b + 1]
                tc, w = cross(dvol[b], p1 - s1 - q, p0 - s0 - q)
                draw += tc
                once += (p1 + (p0 - p1) * w) * tc
                in_draw += (s1 + (s0 - s1) * w) * tc
            full = 0.0
            in_full = 0.0
            s0 = sn[i_low] + sb[i_low] * (v_low - vol[i_low])
            dv = vol[i_low + 1] - v_low
            for b in range(i_low, j_on):
                s1 = sn[b + 1]
                tc, w = cross(dv, q + s0, q + s1)
                full += tc
                in_full += (s0 + (s1 - s0) * w) * tc
                s0 = s1
                dv = dvol[b + 1]
            period = draw + full
            cycles = np.floor(t * (1.0 / period))
            t = max(t - cycles * period, 0.0)
            seeped += cycles * (in_draw + in_full)
            if k >= hour_end:
                hour_most = max(hour_most, starts - hour_begin)
                hour_begin = starts
                hour_end = (k // hour + 1) * hour
            starts += cycles + 1.0
            running = t < draw
            if running:
                v = v_on
                i = j_on - 1
            else:
                cycles += 1.0
                t -= draw
                seeped += in_draw
                v = v_low
                i = i_low
            fell += cycles * back
            pumped += cycles * once
            run += cycles * draw

        if ended:
            if part > 0.0:
                owed += pumped - fell - counted
                counted = pumped - fell
                if owed > 0.0:
                    if k + lag < n_steps:
                        flow[k + lag] += part * owed * per_dt
                        returned += part * owed
                    owed = 0.0
            k += 1
            t = dt

    state[S_V] = v
    state[S_T] = t
    state[S_ON] = 1.0 if running else 0.0
    state[S_STARTS] = starts
    state[S_RUN] = run
    state[S_PUMPED] = pumped
    state[S_FELL] = fell
    state[S_SEEPED] = seeped
    state[S_TOP] = max(top, v)
    state[S_HOUR_BEGIN] = hour_begin
    state[S_HOUR_END] = hour_end
    state[S_HOUR_MOST] = hour_most
    state[S_COUNTED] = counted
    state[S_OWED] = owed
    state[S_RETURNED] = returned
    return k
