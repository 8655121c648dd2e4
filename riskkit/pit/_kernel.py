"""The compiled loop: exact level of many pits through a storm, event by event.

A leg ends at the end of its band or of the time step. `cycle` takes the usual state, a pit between
the off and the on level whose pump keeps up, over many steps; all else goes leg by leg. When the
pump stops twice within one step, the time between is the period of a cycle, and all whole cycles
that still fit are skipped at once.

The public side, with units and checks, is in `balance`.
"""

from __future__ import annotations

import math

import numpy as np

from riskkit.compiled import compiled
from riskkit.pit._bands import (
    N_ROWS,
    OPTIONS,
    PUMP,
    PUMP_SLOPE,
    SEEP,
    SEEP_SLOPE,
    TINY_M3_S,
    VOL,
    cross,
    find,
    level_of,
    phi_psi,
    prepare,
    volume_of,
)
from riskkit.pit._cycle import (
    N_STATE,
    S_FELL,
    S_HOUR_BEGIN,
    S_HOUR_END,
    S_HOUR_MOST,
    S_ON,
    S_PUMPED,
    S_RETURNED,
    S_RUN,
    S_SEEPED,
    S_STARTS,
    S_T,
    S_TOP,
    S_V,
    cycle,
    cycle_flat,
    new_hour,
    returns,
)
from riskkit.records import FloatArray, IntArray

# Columns of the result rows of `run_draws`
HIGHEST, ALARM, FLOOD, STARTS, STARTS_PER_HOUR, RUN, PUMPED, RETURNED, INFLOW, ERROR = range(10)
N_COLUMNS = 10
# Columns of the accounts of some steps
STARTS_IN, RUN_IN, LIFTED_IN, HIGHEST_IN = range(4)
N_ACCOUNTS = 4
# Stands in the error column of a row that met more events than any pit can have in one step
STUCK = -1.0


@compiled(**OPTIONS)
def run_draws(
    level: FloatArray,
    area: FloatArray,
    pump: FloatArray,
    seep: FloatArray,
    marks: IntArray,
    share: FloatArray,
    drainback: FloatArray,
    storm: FloatArray,
    dt: float,
    lag: int,
    start: FloatArray,
    hour: int,
    first: int,
    last: int,
    out: FloatArray,
    levels: FloatArray,
    keep: IntArray,
    every: int,
    accounts: FloatArray,
) -> None:
    """Run the draws first … last − 1 through the storm; see `balance.run_pit`.

    `levels` takes the levels before the steps `keep`, increasing; the end counts as a step.

    With `every` steps above zero `accounts` takes, for each so many steps, starts, run time, water
    lifted and highest level.
    """
    n_nodes = level.shape[1] + 2
    pit = np.empty((N_ROWS, n_nodes))
    vol = pit[VOL]
    pn = pit[PUMP]
    sn = pit[SEEP]
    pb = pit[PUMP_SLOPE]
    sb = pit[SEEP_SLOPE]
    at = np.zeros(4, np.int64)
    state = np.zeros(N_STATE)
    n_steps = storm.shape[1]
    flow = np.zeros(n_steps)
    n_keep = keep.size
    most_events = 16 * n_nodes + 64

    for d in range(first, last):
        n = prepare(level[d], area[d], pump[d], seep[d], marks[d], dt, pit, at)
        j_off, j_on, j_alarm, j_floor = at[0], at[1], at[2], at[3]
        v_off, v_on, v_alarm, v_floor = vol[j_off], vol[j_on], vol[j_alarm], vol[j_floor]
        # Between q_low and q_high the pit fills when the pump rests and is emptied when it runs.
        s_least = sn[j_off]
        s_most = sn[j_off]
        q_high = np.inf
        q_near = np.inf
        for j in range(j_off, j_on):
            s_least = min(s_least, sn[j + 1])
            s_most = max(s_most, sn[j + 1])
            c0 = pn[j] - sn[j]
            c1 = pn[j + 1] - sn[j + 1]
            q_high = min(q_high, c0, c1)
            q_near = min(q_near, 0.5 * (c0 + c1) - 2.0 * abs(c1 - c0))
        q_low = TINY_M3_S - s_least
        flat = s_least == s_most
        if flat:
            q_high = q_near  # where |z| of `cross_near` is below 1/4
        back = drainback[d]
        part = share[d]
        storm_m3 = 0.0
        for k in range(n_steps):
            flow[k] = storm[d, k]
            storm_m3 += storm[d, k] * dt

        v = volume_of(pit, n, start[d])
        v_start = v
        i = find(vol, n, v)
        top = highest = v
        past_starts = past_run = past_lifted = 0.0
        on = v >= v_on
        starts = 1.0 if on else 0.0
        alarm = 0.0 if v >= v_alarm else np.inf
        flood = 0.0 if v >= v_floor else np.inf
        run = 0.0
        pumped = 0.0
        seeped = 0.0
        fell = 0.0
        state[:] = 0.0
        state[S_HOUR_END] = hour
        counted = False  # `cycle` does the accounts of the steps it ends
        events = 0
        mark = -1.0
        # since the mark, apart from the sums of years, whose difference would be mostly rounding
        since_pumped = 0.0
        since_seeped = 0.0
        since_run = 0.0
        mark_starts = 0.0
        kept = 0
        if n_keep > 0 and keep[0] == 0:
            levels[d, 0] = v
            kept = 1

        # zero, but a plain 0 is a type of its own to numba: `cycle` would be compiled twice
        k = min(n_steps, 0)
        t = dt
        while k < n_steps:
            ended = False
            if v_off <= v < v_on and back < v_on - v_off and (not on or q_low < flow[k] < q_high):
                # the usual state of a pit; everything else takes the long way below
                stop = n_steps if kept == n_keep else keep[kept]
                if every > 0:
                    stop = min(stop, (k // every + 1) * every)
                state[S_V] = v
                state[S_T] = t
                state[S_STARTS] = starts
                state[S_RUN] = run
                state[S_PUMPED] = pumped
                state[S_SEEPED] = seeped
                state[S_TOP] = top
                state[S_FELL] = fell
                state[S_ON] = 1.0 if on else 0.0
                was = k
                if flat:
                    k = cycle_flat(
                        flow, k, stop, dt, hour, pit, j_off, j_on, q_low, q_high, back, part, lag,
                        state,
                    )  # fmt: skip
                else:
                    k = cycle(
                        flow, k, stop, dt, hour, pit, j_off, j_on, q_low, q_high, back, part, lag,
                        state,
                    )  # fmt: skip
                if k > was:
                    events = 0
                    mark = -1.0
                v = state[S_V]
                t = state[S_T]
                starts = state[S_STARTS]
                run = state[S_RUN]
                pumped = state[S_PUMPED]
                seeped = state[S_SEEPED]
                top = state[S_TOP]
                fell = state[S_FELL]
                on = state[S_ON] > 0.0
                i = find(vol, n, v)
                if k == stop:
                    ended = True
                    counted = True
                    k -= 1

            while not ended:
                events += 1
                if events > most_events:
                    break
                q = flow[k]
                y = v - vol[i]
                sv = sn[i] + sb[i] * y
                pv = 0.0
                pslope = 0.0
                if on:
                    pv = pn[i] + pb[i] * y
                    pslope = pb[i]
                r0 = q + sv - pv
                j = i + 1 if r0 >= 0.0 else i
                dv = vol[j] - v
                r1 = q + sn[j]
                if on:
                    r1 -= pn[j]
                crosses = dv == 0.0 and r0 != 0.0
                tc = 0.0
                w = 0.5
                if not crosses and r0 * r1 > 0.0 and abs(dv) < t * max(abs(r0), abs(r1)):
                    tc, w = cross(dv, r0, r1)
                    crosses = tc < t
                if not crosses:
                    phi, psi = phi_psi((sb[i] - pslope) * t)
                    seeped += (sv + sb[i] * r0 * t * psi) * t
                    if on:
                        pumped += (pv + pslope * r0 * t * psi) * t
                        run += t
                    v = min(max(v + r0 * t * phi, vol[i]), vol[i + 1])
                    top = max(top, v)
                    ended = True
                    break
                part_m3 = (sv + sb[i] * w * dv) * tc
                seeped += part_m3
                since_seeped += part_m3
                if on:
                    part_m3 = (pv + pslope * w * dv) * tc
                    pumped += part_m3
                    since_pumped += part_m3
                    run += tc
                    since_run += tc
                t -= tc
                v = vol[j]
                if r0 > 0.0:
                    i = j
                    if j >= j_on and not on:
                        on = True
                        new_hour(k, hour, starts, state)
                        starts += 1.0
                        if q + sn[j] - pn[j] < 0.0:
                            i = j - 1
                elif on and j == j_off:
                    on = False
                    v += back
                    fell += back
                    i = find(vol, n, v)
                    if v >= v_on:
                        on = True
                        new_hour(k, hour, starts, state)
                        starts += 1.0
                    if mark < 0.0:
                        mark = t
                        since_pumped = since_seeped = since_run = 0.0
                        mark_starts = starts
                    elif mark < np.inf and t > 0.0:
                        # two stops in one step: the time between is the period
                        cycles = math.floor(t / (mark - t))
                        t -= cycles * (mark - t)
                        pumped += cycles * since_pumped
                        seeped += cycles * since_seeped
                        run += cycles * since_run
                        starts += cycles * (starts - mark_starts)
                        fell += cycles * back
                        mark = np.inf
                else:
                    i = j - 1
                top = max(top, v)
                if v >= v_alarm:
                    if alarm == np.inf:
                        alarm = k * dt + (dt - t)
                    if v >= v_floor and flood == np.inf:
                        flood = k * dt + (dt - t)
                ended = t <= 0.0
                if v < v_on and back < v_on - v_off and q_low < q < q_high:
                    break

            if events > most_events:
                break
            if not ended:
                continue
            if part > 0.0 and not counted:
                returns(flow, k, lag, part, 1.0 / dt, pumped - fell, state)
            k += 1
            if kept < n_keep and keep[kept] == k:
                levels[d, kept] = v
                kept += 1
            if every > 0 and (k % every == 0 or k == n_steps):
                at_row = accounts[d, (k - 1) // every]
                at_row[STARTS_IN] = starts - past_starts
                at_row[RUN_IN] = run - past_run
                at_row[LIFTED_IN] = pumped - fell - past_lifted
                at_row[HIGHEST_IN] = level_of(pit, n, top)
                past_starts, past_run, past_lifted = starts, run, pumped - fell
                highest = max(highest, top)
                top = v
            t = dt
            events = 0
            mark = -1.0
            counted = False

        row = out[d]
        row[HIGHEST] = level_of(pit, n, max(top, highest))
        row[ALARM] = alarm
        row[FLOOD] = flood
        row[STARTS] = starts
        row[STARTS_PER_HOUR] = max(state[S_HOUR_MOST], starts - state[S_HOUR_BEGIN])
        row[RUN] = run
        row[PUMPED] = pumped - fell
        row[RETURNED] = state[S_RETURNED]
        row[INFLOW] = storm_m3 + seeped
        arrived = storm_m3 + seeped + state[S_RETURNED]
        gap = arrived - (pumped - fell) - (v - v_start)
        # where a stuck valve lets all of it fall back, far more is lifted than ever arrives
        row[ERROR] = abs(gap) / max(arrived, pumped, v_on - v_off)
        if k < n_steps:
            row[ERROR] = STUCK
        for k in range(kept):
            levels[d, k] = level_of(pit, n, levels[d, k])
