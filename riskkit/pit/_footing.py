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
MOST_LEGS = 200_000  # in one step: a small pump cycle in a step of hours takes thousands
# Columns of the sums
LOT, STEADY, DEEP, ERROR_FREE = range(4)
N_SUMS = 4
N_PARTS = 3  # of them volumes
N_STORES = 4  # of the lot, at most


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
def net_flow(came: float, given: float, steady: float, deep: float) -> tuple[float, float]:
    """Flow that reaches the outside vessel, and what the deep ground takes of it on its way.

    The deep ground takes from what arrives, never from what stands there: that is not credited.
    """
    arriving = came + max(given, 0.0) + steady
    lost = min(deep, arriving)
    return arriving - lost + min(given, 0.0), lost


@compiled(**OPTIONS)
def _through_bands(
    lo: FloatArray, ao: FloatArray, less: FloatArray, c: float, along: float, ho: float, q: float,
    dt: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Return level, water that came to the pit, ground water that is missing, and what the lot took
    back, after a step in which the level may pass from band to band."""
    n_out, invert = ao.size, lo[0]
    left = dt
    came = missed = back = 0.0
    for _ in range(MOST_LEGS):
        if left <= 0.0:
            break
        if ho <= invert and q <= 0.0:
            back = q * left  # nothing stands there that the lot could take back
            break
        rest = invert + q / c
        i = band_of(lo, n_out, ho, rest > ho)
        high = np.inf if i == n_out - 1 else lo[i + 1]
        area = ao[i] + along + less[i]
        rate = c / area
        t, side = left, 0
        new = rest + (ho - rest) * math.exp(-rate * left)
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
    return ho, came, missed, back


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

    Each step waits for the one before, so what all steps of a draw have in common is worked out
    before them, without a quotient left in the step, and most steps, in which the level stays in
    the lowest band, take a short way.
    """
    n_steps = foot.shape[1]
    n_out, n_stores = v.out_area.shape[1], v.store_s.shape[1]
    less = np.empty(n_out)
    # stores that are not there hold nothing
    keeps, gives, takes, drawn, now = np.zeros((5, N_STORES))
    per_dt = 1.0 / dt
    for d in range(first, last):
        lo, ao, far = v.out_level[d], v.out_area[d], v.steady[d]
        invert, c, deep = lo[0], v.conductance[d], v.deep[d]
        along = rise_area = 0.0
        passed = 1.0  # of the recharge, in the step in which it comes
        for m in range(n_stores):
            grown = -math.expm1(-dt / v.store_s[d, m])
            gain = v.store_s[d, m] * grown  # what a steady flow of one leaves in the store
            keeps[m], gives[m], takes[m] = 1.0 - grown, grown * per_dt, shares[m] * gain
            passed -= takes[m] * per_dt
            # a rise of the level in a line keeps water back in the ground, of which a part would
            # have come later
            drawn[m] = v.store_area[d, m] * gain * per_dt
            along += v.store_area[d, m] - drawn[m]
            rise_area += v.store_area[d, m]
            now[m] = stores[d, m]
        keep0, keep1, keep2, keep3 = keeps[0], keeps[1], keeps[2], keeps[3]
        give0, give1, give2, give3 = gives[0], gives[1], gives[2], gives[3]
        take0, take1, take2, take3 = takes[0], takes[1], takes[2], takes[3]
        drawn0, drawn1, drawn2, drawn3 = drawn[0], drawn[1], drawn[2], drawn[3]
        now0, now1, now2, now3 = now[0], now[1], now[2], now[3]
        for i in range(n_out):
            # ground water is that at the middle of the rise: less by half of its fall, per metre
            less[i] = (far[i] - far[i + 1]) / (lo[i + 1] - lo[i]) * dt / 2.0
        ho = outside[d]
        held = now.sum() + rise_area * (ho - invert) + held_to(lo, ao, n_out, ho)
        top = lo[1]
        far0, slope = far[0], (far[1] - far[0]) / (lo[1] - lo[0])
        area, less0, per_c = ao[0] + along + less[0], less[0], 1.0 / c
        falls = -math.expm1(-c / area * dt)
        mark = count = 0
        lot = from_far = to_deep = arrived = went = 0.0
        for k in range(n_steps):
            level[d, k] = ho
            while mark < marked.size and marked[mark] == k:
                now[0], now[1], now[2], now[3] = now0, now1, now2, now3
                for m in range(n_stores):
                    kept[d, mark, m] = now[m]
                mark += 1
            while count < counted.size and counted[count] == k:
                so_far[d, count, LOT], so_far[d, count, STEADY] = lot, from_far
                so_far[d, count, DEEP] = to_deep
                count += 1
            came_in, wet = foot[d, k], recharge[d, k]
            given = wet * passed + ((now0 * give0 + now1 * give1) + (now2 * give2 + now3 * give3))
            steady = far0
            if ho >= top:
                steady = at_level(lo, far, n_out, ho)
            elif ho > invert:
                steady += slope * (ho - invert)
            q, lost = net_flow(came_in, given, steady, deep)
            back = 0.0
            rise = (invert - ho + q * per_c) * falls
            if ho <= invert and q <= 0.0:
                back = q * dt  # nothing stands there that the lot could take back
                given -= q
                after, rise, came, missed = ho, 0.0, 0.0, 0.0
            elif ho < top - TINY_M and invert <= ho + rise <= top:
                after, came, missed = ho + rise, q * dt - area * rise, less0 * rise
            else:
                after, came, missed, back = _through_bands(lo, ao, less, c, along, ho, q, dt)
                rise = after - ho
                given -= back * per_dt
            to_pit[d, k] = max(came, 0.0) * per_dt
            now0 = now0 * keep0 + wet * take0 - drawn0 * rise + back
            now1 = now1 * keep1 + wet * take1 - drawn1 * rise
            now2 = now2 * keep2 + wet * take2 - drawn2 * rise
            now3 = now3 * keep3 + wet * take3 - drawn3 * rise
            lot += given * dt - along * rise
            from_far += steady * dt - missed
            to_deep += lost * dt
            arrived += (came_in + wet + steady) * dt - missed
            went += came + lost * dt
            ho = after
        outside[d] = ho
        now[0], now[1], now[2], now[3] = now0, now1, now2, now3
        for m in range(n_stores):
            stores[d, m] = now[m]
        end = now.sum() + rise_area * (ho - invert) + held_to(lo, ao, n_out, ho)
        sums[d, LOT], sums[d, STEADY], sums[d, DEEP] = lot, from_far, to_deep
        sums[d, ERROR_FREE] = abs(held + arrived - went - end) / max(arrived + held, 1e-12)
