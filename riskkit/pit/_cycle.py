"""The usual state of a pit, between the off and the on level with a pump that keeps up.

Nearly all of the computing time is spent here. The cache of numba does not see a change of this
file; see `_bands`.
"""

from __future__ import annotations

import math

from numba import njit

from riskkit.pit._bands import (
    DVOL,
    GAIN,
    MEAN,
    OPTIONS,
    PUMP,
    PUMP_SLOPE,
    SEEP,
    SEEP_SLOPE,
    TINY_M3_S,
    VOL,
    cross,
    phi_psi,
)
from riskkit.records import FloatArray

# What `cycle` takes over and hands back
S_V, S_T, S_STARTS, S_RUN, S_PUMPED, S_SEEPED, S_TOP, S_ON, S_HOUR_BEGIN, S_HOUR_MOST = range(10)
S_FELL, S_COUNTED, S_OWED, S_RETURNED = range(10, 14)
N_STATE = 14


@njit(**OPTIONS)
def returns(
    flow: FloatArray, k: int, lag: int, part: float, dt: float, left: float, state: FloatArray
) -> None:
    """At the end of step k, let a part of what left by the outlet arrive again `lag` steps later.

    What the pump lifted and what fell back from the pipe may lie in two steps: a shortfall is owed.
    """
    out = state[S_OWED] + left - state[S_COUNTED]
    state[S_COUNTED] = left
    if out > 0.0:
        state[S_OWED] = 0.0
        if k + lag < flow.size:
            flow[k + lag] += part * out / dt
            state[S_RETURNED] += part * out
    else:
        state[S_OWED] = out


@njit(**OPTIONS)
def cycle(
    flow: FloatArray,
    k: int,
    stop: int,
    dt: float,
    hour: int,
    pit: FloatArray,
    j_off: int,
    j_on: int,
    q_keep: float,
    s_least: float,
    flat: bool,
    back: float,
    part: float,
    lag: int,
    state: FloatArray,
) -> int:
    """Follow the cycles of the pump, from step k up to step `stop`.

    Holds between the off and the on level, while the running pump can keep up (q below q_keep) and
    the pit fills when it rests. Returns the step in which it had to give up, with the pump running
    or the inflow out of those bounds, or `stop`.
    """
    vol = pit[VOL]
    dvol = pit[DVOL]
    pn = pit[PUMP]
    sn = pit[SEEP]
    sb = pit[SEEP_SLOPE]
    gain = pit[GAIN]
    mean = pit[MEAN]
    v = state[S_V]
    t = state[S_T]
    starts = state[S_STARTS]
    run = state[S_RUN]
    pumped = state[S_PUMPED]
    seeped = state[S_SEEPED]
    top = state[S_TOP]
    fell = state[S_FELL]
    hour_begin = state[S_HOUR_BEGIN]
    hour_most = state[S_HOUR_MOST]
    to_hour = hour - k % hour
    v_off = vol[j_off]
    v_on = vol[j_on]
    v_low = v_off + back  # where the filling begins: the pipe's water falls back at each stop
    i_low = j_off
    while i_low < j_on - 1 and v_low >= vol[i_low + 1]:
        i_low += 1
    pb = pit[PUMP_SLOPE]
    running = state[S_ON] > 0.0
    inside = False
    i = j_off
    while i < j_on - 1 and v >= vol[i + 1]:
        i += 1
    while True:
        if inside:
            if part > 0.0:
                returns(flow, k, lag, part, dt, pumped - fell, state)
            t = dt
            k += 1
            inside = False
            to_hour -= 1
            if to_hour == 0:
                hour_most = max(hour_most, starts - hour_begin)
                hour_begin = starts
                to_hour = hour
            if k == stop:
                break
        q = flow[k]
        if q >= q_keep or q + s_least <= TINY_M3_S:
            break
        # 1. the rest of a draw-down that the end of a step cut
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
                    inside = True
                    break
                seeped += (sv - sb[i] * w * dv) * tc
                pumped += (pv - pb[i] * w * dv) * tc
                run += tc
                t -= tc
                v = vol[i]
                i -= 1
            if inside:
                continue
            running = False
            fell += back
            v = v_low
            i = i_low
        # 2. the rest of the filling, or as much of it as the step holds
        if flat:
            rate = q + s_least
            if v + rate * t < v_on:
                v += rate * t
                seeped += s_least * t
                top = max(top, v)
                inside = True
                continue
            fill = (v_on - v) / rate
            seeped += s_least * fill
            t -= fill
            full = (v_on - v_low) / rate
            in_full = s_least * full
        else:
            sv = sn[i] + sb[i] * (v - vol[i])
            rate = q + sv
            if t == dt and v + rate * gain[i] < vol[i + 1]:
                v += rate * gain[i]
                seeped += sv * dt + rate * mean[i]
                inside = True
            while not inside and i < j_on:
                dv = vol[i + 1] - v
                tc, w = cross(dv, rate, q + sn[i + 1])
                if tc > t:
                    phi, psi = phi_psi(sb[i] * t)
                    v = min(v + rate * t * phi, vol[i + 1])
                    seeped += (sv + sb[i] * rate * t * psi) * t
                    inside = True
                else:
                    seeped += (sv + sb[i] * w * dv) * tc
                    t -= tc
                    i += 1
                    v = vol[i]
                    sv = sn[i]
                    rate = q + sv
            if inside:
                top = max(top, v)
                continue
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
        # 3. whole cycles: the pump draws down, the pit fills
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
        cycles = math.floor(t / (draw + full))
        t -= cycles * (draw + full)
        seeped += cycles * (in_draw + in_full)
        starts += cycles + 1.0
        running = t < draw
        if not running:
            cycles += 1.0
            t -= draw
            seeped += in_draw
        fell += cycles * back
        pumped += cycles * once
        run += cycles * draw
        # 4. what is left of the step: a draw-down that its end will cut, or filling again
        if running:
            v = v_on
            i = j_on - 1
            continue
        v = v_low
        i = i_low
        if flat:
            v = min(v_low + rate * t, v_on)
            seeped += s_least * t
            inside = True
    state[S_V] = v
    state[S_T] = t
    state[S_STARTS] = starts
    state[S_RUN] = run
    state[S_PUMPED] = pumped
    state[S_SEEPED] = seeped
    state[S_TOP] = top
    state[S_FELL] = fell
    state[S_HOUR_BEGIN] = hour_begin
    state[S_HOUR_MOST] = hour_most
    state[S_ON] = 1.0 if running else 0.0
    return k
