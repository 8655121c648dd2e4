"""The compiled loop of the ground beside the footing while the drain flows freely, and its parts.

`_follow` joins it with the pit. `vessels` is the public side.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from riskkit.compiled import compiled
from riskkit.pit._bands import OPTIONS
from riskkit.pit._vessels import leaves_at
from riskkit.records import FloatArray, IntArray

__all__ = ["Vessels", "at_level", "band_of", "drain_freely", "held_to", "net_flow"]

TINY_M = 1e-12  # levels closer than this are one level
MOST_LEGS = 2000  # in one step
# Columns of the sums
LOT, STEADY, DEEP, ERROR_FREE = range(4)
N_SUMS = 4
N_PARTS = 3  # of them volumes


class Vessels(NamedTuple):
    """What the loop needs to know of each draw; first axis n_draws."""

    in_level: FloatArray  # (n_draws, n_in + 1), bottom of the pit up
    in_area: FloatArray  # (n_draws, n_in)
    pump: FloatArray  # (n_draws, n_in + 1)
    marks: IntArray  # (n_draws, 4): off, on, alarm, floor
    out_level: FloatArray  # (n_draws, n_out + 1), from the invert up
    out_area: FloatArray  # (n_draws, n_out)
    steady: FloatArray  # (n_draws, n_out + 1) ground water from far off at these levels
    conductance: FloatArray
    joint: FloatArray  # conductance of the joint of wall and floor
    deep: FloatArray  # what the ground below the drain takes
    store_s: FloatArray  # (n_draws, n_stores) time constants of the lot
    store_area: FloatArray  # (n_draws, n_stores) water per metre of rise at the wall
    tail: FloatArray  # (n_draws, n_tails) water on its way when the storm's steps end
    tail_s: FloatArray  # (n_draws, n_tails)
    wet_tail: FloatArray  # the same on its way to the water table of the lot
    wet_tail_s: FloatArray


@compiled(**OPTIONS)
def band_of(level: FloatArray, n: int, h: float, rising: bool) -> int:
    """Band that holds a level; at a boundary the upper one if it rises."""
    i = 0
    if rising:
        while i < n - 1 and h >= level[i + 1] - TINY_M:
            i += 1
    else:
        while i < n - 1 and h > level[i + 1] + TINY_M:
            i += 1
    return i


@compiled(**OPTIONS)
def at_level(level: FloatArray, value: FloatArray, n: int, h: float) -> float:
    """Value at a level, linear between the bounding levels and constant beyond them."""
    if h <= level[0]:
        first: float = value[0]
        return first
    for i in range(n):
        if h < level[i + 1]:
            found: float = value[i] + (value[i + 1] - value[i]) * (h - level[i]) / (
                level[i + 1] - level[i]
            )
            return found
    last: float = value[n]
    return last


@compiled(**OPTIONS)
def held_to(level: FloatArray, area: FloatArray, n: int, h: float) -> float:
    """Water held up to a level; less than none where the lot drew it below the lowest one."""
    if h < level[0]:
        missing: float = area[0] * (h - level[0])
        return missing
    volume = 0.0
    for i in range(n):
        if h <= level[i]:
            break
        volume += area[i] * (min(h, level[i + 1]) - level[i])
    if h > level[n]:
        volume += area[n - 1] * (h - level[n])
    return volume


@compiled(**OPTIONS)
def _decays(
    time_s: FloatArray, area: FloatArray, dt: float, decay: FloatArray, gain: FloatArray
) -> float:
    """Write what a store keeps over a step, and what a steady flow of one leaves in it.

    Returns the area with which the stores go along when the level at the wall rises in a line: a
    rise dh keeps area dh of water back in the ground, of which a part would have come later.
    """
    along = 0.0
    for m in range(time_s.size):
        grown = -math.expm1(-dt / time_s[m])
        decay[m] = 1.0 - grown
        gain[m] = time_s[m] * grown
        along += area[m] * (1.0 - gain[m] / dt)
    return along


@compiled(**OPTIONS)
def _stores(
    now: FloatArray, shares: FloatArray, decay: FloatArray, gain: FloatArray, recharge: float,
    dt: float,
) -> float:  # fmt: skip
    """Let the stores of the lot run for a step, the level at the wall as it is.

    Returns what they give. A store takes its share of the recharge; what no store takes passes
    at once.
    """
    given = recharge * dt
    for m in range(now.size):
        end = now[m] * decay[m] + shares[m] * recharge * gain[m]
        given += now[m] - end
        now[m] = end
    return given


@compiled(**OPTIONS)
def net_flow(came: float, given: float, steady: float, deep: float) -> tuple[float, float]:
    """Flow that reaches the outside vessel, and what the deep ground takes of it on its way.

    The deep ground takes from what arrives, never from what stands there: that is not credited.
    """
    arriving = came + max(given, 0.0) + steady
    lost = min(deep, arriving)
    return arriving - lost + min(given, 0.0), lost


@compiled(**OPTIONS)
def drain_freely(
    v: Vessels, foot: FloatArray, recharge: FloatArray, dt: float, outside: FloatArray,
    stores: FloatArray, shares: FloatArray, marked: IntArray, counted: IntArray, first: int,
    last: int, to_pit: FloatArray, level: FloatArray, kept: FloatArray, sums: FloatArray,
    so_far: FloatArray,
) -> None:  # fmt: skip
    """Run the ground beside the footing with the drain free; see `drainage.free_drainage`.

    `outside` and `stores` hold the state and are left at its end. `level` takes the level before
    each step, `kept` the stores before the steps `marked`, and `so_far` the sums before those
    `counted`.
    """
    n_steps = foot.shape[1]
    n_out = v.out_area.shape[1]
    decay, gain = np.empty(shares.size), np.empty(shares.size)
    less = np.empty(n_out)
    for d in range(first, last):
        along = _decays(v.store_s[d], v.store_area[d], dt, decay, gain)
        lo, ao = v.out_level[d], v.out_area[d]
        invert, c, far = lo[0], v.conductance[d], v.steady[d]
        for i in range(n_out):
            # ground water is that at the middle of the rise: less by half of its fall, per metre
            less[i] = (far[i] - far[i + 1]) / (lo[i + 1] - lo[i]) * dt / 2.0
        ho = outside[d]
        now = stores[d]
        held = now.sum() + v.store_area[d].sum() * (ho - invert) + held_to(lo, ao, n_out, ho)
        mark = count = 0
        power, falls = 0.0, 1.0
        arrived = 0.0
        went = 0.0
        for k in range(n_steps):
            level[d, k] = ho
            while mark < marked.size and marked[mark] == k:
                for m in range(now.size):
                    kept[d, mark, m] = now[m]
                mark += 1
            while count < counted.size and counted[count] == k:
                for m in range(N_PARTS):
                    so_far[d, count, m] = sums[d, m]
                count += 1
            given = _stores(now, shares, decay, gain, recharge[d, k], dt) / dt
            steady = at_level(lo, far, n_out, ho)
            q, lost = net_flow(foot[d, k], given, steady, v.deep[d])
            before = ho
            left = dt
            came = missed = 0.0
            for _ in range(MOST_LEGS):
                if left <= 0.0:
                    break
                if ho <= invert and q <= 0.0:
                    now[0] += q * left  # nothing stands there that the lot could take back
                    given -= q * left / dt
                    break
                rest = invert + q / c
                i = band_of(lo, n_out, ho, rest > ho)
                high = np.inf if i == n_out - 1 else lo[i + 1]
                area = ao[i] + along + less[i]
                rate = c / area
                t, side = left, 0
                if rate * left != power:  # most steps are like the one before
                    power = rate * left
                    falls = math.exp(-power)
                new = rest + (ho - rest) * falls
                if not lo[i] <= new <= high:
                    t, side = leaves_at(rest, 0.0, ho - rest, rate, lo[i], high, left)
                    new = rest + (ho - rest) * math.exp(-rate * t)
                if side > 0:
                    new = high
                elif side < 0:
                    new = lo[i]
                came += q * t - area * (new - ho)
                missed += less[i] * (new - ho)
                ho = new
                left -= t
            to_pit[d, k] = max(came, 0.0) / dt
            for m in range(now.size):
                now[m] -= v.store_area[d, m] * (ho - before) * gain[m] / dt
            sums[d, LOT] += given * dt - along * (ho - before)
            sums[d, STEADY] += steady * dt - missed
            sums[d, DEEP] += lost * dt
            arrived += (foot[d, k] + recharge[d, k] + steady) * dt - missed
            went += came + lost * dt
        outside[d] = ho
        end = now.sum() + v.store_area[d].sum() * (ho - invert) + held_to(lo, ao, n_out, ho)
        sums[d, ERROR_FREE] = abs(held + arrived - went - end) / max(arrived + held, 1e-12)
