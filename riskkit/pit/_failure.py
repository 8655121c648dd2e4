"""The compiled loops of a stopped pump: when the water reaches the floor, and how high it stands.

The public side, with units and checks, is in `balance`.
"""

from __future__ import annotations

import numpy as np

from riskkit.compiled import compiled
from riskkit.pit._bands import (
    GAIN,
    N_ROWS,
    OPTIONS,
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
from riskkit.records import FloatArray, IntArray


@compiled(**OPTIONS)
def _rise(pit: FloatArray, i: int, v: float, q: float, t: float) -> tuple[int, float]:
    """Band and volume after a time t of inflow q with the pump stopped."""
    while t > 0.0:
        y = v - pit[VOL, i]
        b = pit[SEEP_SLOPE, i]
        r0 = q + pit[SEEP, i] + b * y
        r1 = q + pit[SEEP, i + 1]
        dv = pit[VOL, i + 1] - v
        if r0 <= TINY_M3_S:
            break
        if r1 > TINY_M3_S and dv < t * max(r0, r1):
            tc, _ = cross(dv, r0, r1)
            if tc <= t:
                t -= tc
                i += 1
                v = pit[VOL, i]
                continue
        phi, _ = phi_psi(b * t)
        v = min(v + r0 * t * phi, pit[VOL, i + 1])
        break
    return i, v


@compiled(**OPTIONS)
def fail_draws(
    level: FloatArray,
    area: FloatArray,
    pump: FloatArray,
    seep: FloatArray,
    marks: IntArray,
    storm: FloatArray,
    dt: float,
    moments: FloatArray,
    start: FloatArray,
    first: int,
    last: int,
    out: FloatArray,
) -> None:
    """Time to the floor for each of the rising moments; see `time_to_flood`.

    `start` holds the level at each moment; without elements the level is that of the alarm.
    """
    n_nodes = level.shape[1] + 2
    pit = np.empty((N_ROWS, n_nodes))
    at = np.zeros(4, np.int64)
    n_steps = storm.shape[1]
    for d in range(first, last):
        n = prepare(level[d], area[d], pump[d], seep[d], marks[d], dt, pit, at)
        vol, sn, sb, gain = pit[VOL], pit[SEEP], pit[SEEP_SLOPE], pit[GAIN]
        j_floor = at[3]
        never = -1.0  # the most water at a moment from which the floor is not reached
        for m in range(moments.size):
            v = vol[at[2]]
            i = at[2]
            if start.size > 0:
                v = volume_of(pit, n, start[d, m])
                i = find(vol, n, v)
            if v <= never:  # levels that start together later stay lower
                out[d, m] = np.inf
                continue
            begun = v
            k = min(int(moments[m] / dt), n_steps)
            t = (k + 1) * dt - moments[m]
            while k < n_steps and i < j_floor:
                q = storm[d, k]
                r0 = q + sn[i] + sb[i] * (v - vol[i])
                v1 = v + r0 * gain[i]
                if t == dt and v1 < vol[i + 1]:
                    v = v1
                    k += 1
                    continue
                r1 = q + sn[i + 1]
                tc = np.inf
                if r0 > TINY_M3_S and r1 > TINY_M3_S:
                    tc, _ = cross(vol[i + 1] - v, r0, r1)
                if tc < t:
                    t -= tc
                    i += 1
                    v = vol[i]
                else:
                    phi, _ = phi_psi(sb[i] * t)
                    v = min(v + r0 * t * phi, vol[i + 1])
                    k += 1
                    t = dt
            if i >= j_floor:
                out[d, m] = (k + 1) * dt - t - moments[m]
                continue
            # after the storm ground water alone may still get there
            wait = max(n_steps * dt - moments[m], 0.0)
            while i < j_floor and wait < np.inf:
                r0 = sn[i] + sb[i] * (v - vol[i])
                r1 = sn[i + 1]
                if r0 > TINY_M3_S and r1 > TINY_M3_S:
                    tc, _ = cross(vol[i + 1] - v, r0, r1)
                    wait += tc
                else:
                    wait = np.inf
                i += 1
                v = vol[i]
            out[d, m] = wait
            if wait == np.inf:
                never = begun


@compiled(**OPTIONS)
def after_draws(
    level: FloatArray,
    area: FloatArray,
    pump: FloatArray,
    seep: FloatArray,
    marks: IntArray,
    storm: FloatArray,
    dt: float,
    moment: FloatArray,
    after: FloatArray,
    start: FloatArray,
    first: int,
    last: int,
    out: FloatArray,
) -> None:
    """Level at rising times after a moment with the pump stopped; see `level_after`.

    `start` holds the level at the moment; without elements it is that of the alarm.
    """
    n_nodes = level.shape[1] + 2
    pit = np.empty((N_ROWS, n_nodes))
    at = np.zeros(4, np.int64)
    n_steps = storm.shape[1]
    for d in range(first, last):
        n = prepare(level[d], area[d], pump[d], seep[d], marks[d], dt, pit, at)
        i = at[2]
        v = pit[VOL, i]
        if start.size > 0:
            v = volume_of(pit, n, start[d])
            i = find(pit[VOL], n, v)
        now = moment[d]
        k = min(int(now / dt), n_steps)
        for m in range(after.size):
            goal = moment[d] + after[m]
            while k < n_steps and (k + 1) * dt <= goal:
                i, v = _rise(pit, i, v, storm[d, k], (k + 1) * dt - now)
                k += 1
                now = k * dt
            i, v = _rise(pit, i, v, storm[d, k] if k < n_steps else 0.0, goal - now)
            now = goal
            out[d, m] = level_of(pit, n, v)
