"""The compiled loop of the joined vessels: ground beside the footing, drain, pit.

A step has constant storm water; within it a leg ends where one of the levels meets the end of its
band. Flows that change slowly are constant within a step: what the linear stores of the lot hand
on, the steady ground water at the level where the step begins, and the leak at the joint. After
the last step of the storm the steps grow with the time since then. `vessels` is the public side.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from riskkit.compiled import compiled
from riskkit.pit._bands import OPTIONS
from riskkit.pit._vessels import free_course, joined_course, leaves_at, let_in, stays
from riskkit.records import FloatArray, IntArray

__all__ = ["Vessels", "drain_freely", "follow_stops"]

_TINY_M = 1e-12
_MOST_LEGS = 2000  # in one step
# Columns of the result rows of `follow_stops`
ALARM, RIM, JOINT, HIGHEST, ERROR = range(5)
N_COLUMNS = 5
# Columns of the sums of `drain_freely`
LOT, STEADY, DEEP, ERROR_FREE = range(4)
N_SUMS = 4
N_PARTS = 3  # of them volumes
# Seven days after the storm the outcome counts as never
_HORIZON_S = 7 * 86400.0
_LONGEST_STEP_S = 3 * 3600.0
_GROWTH = 0.05  # of the steps with the time since the storm
PUDDLE_M3 = 0.01  # at the joint of wall and floor, from which the floor counts as wet
LOT_IN, STEADY_IN, DEEP_IN, DRAIN_IN, LEAK_IN, LOT_HELD = range(6)  # of the accounts of a step
N_ACCOUNTS = LOT_HELD + 1
_CHECKED_STEPS = 6  # from one look to the next whether water enough is still to come


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
def _band(level: FloatArray, n: int, h: float, rising: bool) -> int:
    """Band that holds a level; at a boundary the upper one if it rises."""
    i = 0
    if rising:
        while i < n - 1 and h >= level[i + 1] - _TINY_M:
            i += 1
    else:
        while i < n - 1 and h > level[i + 1] + _TINY_M:
            i += 1
    return i


@compiled(**OPTIONS)
def _at(level: FloatArray, value: FloatArray, n: int, h: float) -> float:
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
def _held(level: FloatArray, area: FloatArray, n: int, h: float) -> float:
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
def _net(came: float, given: float, steady: float, deep: float) -> tuple[float, float]:
    """Flow that reaches the outside vessel, and what the deep ground takes of it on its way.

    The deep ground takes from what arrives, never from what stands there: that is not credited.
    """
    arriving = came + max(given, 0.0) + steady
    lost = min(deep, arriving)
    return arriving - lost + min(given, 0.0), lost


@compiled(**OPTIONS)
def drain_freely(
    v: Vessels, foot: FloatArray, recharge: FloatArray, dt: float, outside: FloatArray,
    stores: FloatArray, shares: FloatArray, marked: IntArray, first: int, last: int,
    to_pit: FloatArray, level: FloatArray, kept: FloatArray, sums: FloatArray,
    so_far: FloatArray,
) -> None:  # fmt: skip
    """Run the ground beside the footing with the drain free; see `vessels.free_drainage`.

    `outside` and `stores` hold the state and are left at its end. `level` takes the level before
    each step, `kept` and `so_far` the stores and the sums before the steps `marked`.
    """
    n_steps = foot.shape[1]
    n_out = v.out_area.shape[1]
    decay, gain = np.empty(shares.size), np.empty(shares.size)
    for d in range(first, last):
        along = _decays(v.store_s[d], v.store_area[d], dt, decay, gain)
        lo, ao = v.out_level[d], v.out_area[d]
        invert, c = lo[0], v.conductance[d]
        ho = outside[d]
        now = stores[d]
        held = now.sum() + v.store_area[d].sum() * (ho - invert) + _held(lo, ao, n_out, ho)
        mark = 0
        power, falls = 0.0, 1.0
        arrived = 0.0
        went = 0.0
        for k in range(n_steps):
            level[d, k] = ho
            while mark < marked.size and marked[mark] == k:
                for m in range(now.size):
                    kept[d, mark, m] = now[m]
                for m in range(N_PARTS):
                    so_far[d, mark, m] = sums[d, m]
                mark += 1
            given = _stores(now, shares, decay, gain, recharge[d, k], dt) / dt
            steady = _at(lo, v.steady[d], n_out, ho)
            q, lost = _net(foot[d, k], given, steady, v.deep[d])
            before = ho
            left = dt
            came = 0.0
            for _ in range(_MOST_LEGS):
                if left <= 0.0:
                    break
                if ho <= invert and q <= 0.0:
                    now[0] += q * left  # nothing stands there that the lot could take back
                    given -= q * left / dt
                    break
                rest = invert + q / c
                i = _band(lo, n_out, ho, rest > ho)
                high = np.inf if i == n_out - 1 else lo[i + 1]
                area = ao[i] + along
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
                ho = new
                left -= t
            to_pit[d, k] = max(came, 0.0) / dt
            for m in range(now.size):
                now[m] -= v.store_area[d, m] * (ho - before) * gain[m] / dt
            sums[d, LOT] += given * dt - along * (ho - before)
            sums[d, STEADY] += steady * dt
            sums[d, DEEP] += lost * dt
            arrived += (foot[d, k] + recharge[d, k] + steady) * dt
            went += came + lost * dt
        outside[d] = ho
        end = now.sum() + v.store_area[d].sum() * (ho - invert) + _held(lo, ao, n_out, ho)
        sums[d, ERROR_FREE] = abs(held + arrived - went - end) / max(arrived + held, 1e-12)


@compiled(**OPTIONS)
def _all_steps(lasts: FloatArray, first_s: float) -> tuple[FloatArray, FloatArray]:
    """Return the lengths of the steps of the storm and of the week after it, and their starts."""
    n = lasts.size
    while True:
        lengths, starts = np.empty(n), np.empty(n + 1)
        lengths[: lasts.size] = lasts
        starts[0] = 0.0
        for k in range(n):
            if k >= lasts.size:
                since = starts[k] - starts[lasts.size]
                if since >= _HORIZON_S:
                    return lengths[:k], starts[: k + 1]
                lengths[k] = min(first_s + _GROWTH * since, _LONGEST_STEP_S)
            starts[k + 1] = starts[k] + lengths[k]
        n += 256


@compiled(**OPTIONS)
def _tails(
    tail: FloatArray, tail_s: FloatArray, wet_tail: float, wet_tail_s: float, since: float,
    step: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Return flow to the footing and to the water table in a step after the storm, and what may
    still come at its start."""
    part = wet_tail * math.exp(-since / wet_tail_s)
    wet = part * -math.expm1(-step / wet_tail_s) / step
    came, still = 0.0, part
    for m in range(tail.size):
        part = tail[m] * math.exp(-since / tail_s[m])
        came += part * -math.expm1(-step / tail_s[m]) / step
        still += part
    return came, wet, still


@compiled(**OPTIONS)
def follow_stops(
    v: Vessels, foot: FloatArray, recharge: FloatArray, lasts: FloatArray, shares: FloatArray,
    begin: IntArray, inside: FloatArray, outside: FloatArray, stores: FloatArray, alive: bool,
    after: FloatArray, from_alarm: bool, step_after: float, first: int, last: int, out: FloatArray,
    levels: FloatArray, beside: FloatArray, accounts: FloatArray,
) -> None:  # fmt: skip
    """Follow both levels from the step in which the pump stops; see `vessels.follow_stops`.

    `begin`, `inside` and `outside` are (n_draws, n_stops), `stores` (n_draws, n_stops, n_stores);
    `levels` and `beside` take the levels in the pit and at the footing at the times `after` the
    stop, or after the alarm (n_draws, n_stops, n_after). With `alive` the pump goes on working.
    The first step after the storm is `step_after` long. `accounts` (n_draws, n_stops, n_kept, 6)
    takes the volumes of the first steps from the stop on.
    """
    n_steps = foot.shape[1]
    n_in, n_out = v.in_area.shape[1], v.out_area.shape[1]
    n_stores = v.store_s.shape[1]
    now = np.empty(n_stores)
    lengths, starts_at = _all_steps(lasts, step_after)
    n_all = lengths.size
    ends_at = starts_at[n_steps]
    # what a step of a draw has in common for all stops, as far as it was needed
    came_in, wet_in, to_come, along_in = np.empty((4, n_all))
    decays, gains = np.empty((2, n_all, n_stores))
    power, falls = 0.0, 1.0
    for d in range(first, last):
        li, ai, lo, ao = v.in_level[d], v.in_area[d], v.out_level[d], v.out_area[d]
        off, start = li[v.marks[d, 0]], li[v.marks[d, 1]]
        alarm_level, floor = li[v.marks[d, 2]], li[v.marks[d, 3]]
        invert, c = lo[0], v.conductance[d]
        rise_area = v.store_area[d].sum()
        ready = 0
        behind = v.wet_tail[d] + v.tail[d].sum()
        for k in range(n_steps - 1, -1, -1):
            behind += (foot[d, k] + recharge[d, k]) * lasts[k]
            came_in[k], wet_in[k], to_come[k] = foot[d, k], recharge[d, k], behind
        out_floor = _held(lo, ao, n_out, floor)
        in_floor = _held(li, ai, n_in, floor)
        in_alarm = _held(li, ai, n_in, alarm_level)
        reach = invert  # the level that ground water from far off could bring about
        for j in range(n_out + 1):
            if v.steady[d, j] > 0.0:
                reach = lo[j + 1] if j < n_out else np.inf
        for s in range(begin.shape[1]):
            k = begin[d, s]
            hi, ho = inside[d, s], outside[d, s]
            for m in range(n_stores):
                now[m] = stores[d, s, m]
            time = began = 0.0
            was_hi, was_ho = hi, ho
            # rounding must not leave a level just below a mark, which it then never passes
            alarm = 0.0 if hi >= alarm_level - _TINY_M else np.inf
            rim = 0.0 if hi >= floor - _TINY_M else np.inf
            joint = np.inf
            seeped = 0.0
            on = alive and hi >= start - _TINY_M
            watch = 0
            highest = hi
            arrived = 0.0
            lifted = 0.0
            held = (
                _held(li, ai, n_in, hi) + _held(lo, ao, n_out, ho)
                + now.sum() + rise_area * (ho - invert)
            )  # fmt: skip
            stuck = False
            while True:
                clock = alarm if from_alarm else 0.0
                while watch < after.size and clock + after[watch] <= time + 1e-9:
                    # between the ends of a step the level is taken as a straight line
                    late = (time - clock - after[watch]) / (time - began) if time > began else 0.0
                    late = min(max(late, 0.0), 1.0)
                    levels[d, s, watch] = hi - late * (hi - was_hi)
                    beside[d, s, watch] = ho - late * (ho - was_ho)
                    watch += 1
                began, was_hi, was_ho = time, hi, ho
                watching = watch < after.size and clock < np.inf
                settled = rim < np.inf and alarm < np.inf  # the joint may be first, the rim later
                if not watching and settled and not alive:
                    break
                if k == n_all or (alive and k > n_steps):
                    break
                while ready <= k:
                    if ready > 0 and lengths[ready] == lengths[ready - 1]:
                        decays[ready], gains[ready] = decays[ready - 1], gains[ready - 1]
                        along_in[ready] = along_in[ready - 1]
                    else:
                        along_in[ready] = _decays(
                            v.store_s[d], v.store_area[d], lengths[ready], decays[ready],
                            gains[ready],
                        )  # fmt: skip
                    if ready >= n_steps:
                        came_in[ready], wet_in[ready], to_come[ready] = _tails(
                            v.tail[d], v.tail_s[d], v.wet_tail[d], v.wet_tail_s[d],
                            starts_at[ready] - ends_at, lengths[ready],
                        )  # fmt: skip
                    ready += 1
                step, came, wet, along = lengths[k], came_in[k], wet_in[k], along_in[k]
                decay, gain = decays[k], gains[k]
                # all that may still come does not reach alarm or floor: never
                if k % _CHECKED_STEPS == 0 and not watching:
                    still = to_come[k] + max(now.sum(), 0.0)
                    if reach > max(hi, ho):
                        still += v.steady[d, 0] * (starts_at[n_all] - starts_at[k])
                    filled = _held(li, ai, n_in, hi)
                    need = in_floor - filled
                    if joint == np.inf:
                        need = min(need, out_floor - _held(lo, ao, n_out, ho))
                    if alarm == np.inf:
                        need = min(need, in_alarm - filled)
                    if still < need:
                        break
                given = _stores(now, shares, decay, gain, wet, step) / step
                steady = _at(lo, v.steady[d], n_out, ho)
                q_out, lost = _net(came, given, steady, v.deep[d])
                # at most what brings the level down to that on the other side of the joint
                area = ao[_band(lo, n_out, ho, False)] + along
                over = max(0.0, ho - max(floor, hi))
                leak = -over * area * math.expm1(-v.joint[d] * step / area) / step
                q_out -= leak
                before, head, drained = ho, ho - max(floor, hi), 0.0
                left, legs = step, 0
                while left > 0.0:
                    legs += 1
                    if legs > _MOST_LEGS:
                        stuck = True
                        break
                    if ho <= invert and hi <= invert and q_out < 0.0:
                        now[0] += q_out * left  # nothing stands there that the lot could take back
                        given -= q_out * left / step
                        q_out = 0.0
                    q_in = leak
                    if on:
                        q_in -= _at(li, v.pump[d], n_in, hi)
                    # the direction tells which of two bands holds a level at their boundary
                    joined = hi > invert + _TINY_M or (hi >= invert - _TINY_M and ho > invert)
                    flow = c * (ho - hi) if joined else c * max(ho - invert, 0.0)
                    up_in, up_out = q_in + flow, q_out - flow
                    if up_in == 0.0:
                        up_in = up_out
                    if up_out == 0.0:
                        up_out = up_in
                    i = _band(li, n_in, hi, up_in > 0.0)
                    j = _band(lo, n_out, ho, up_out > 0.0)
                    if joined:
                        rate, p0, p1, p2, r0, r1, r2 = joined_course(
                            hi, ho, ai[i], ao[j] + along, q_in, q_out, c
                        )
                    elif ho < invert - _TINY_M:  # below the drain, which carries nothing yet
                        rate, p2, r2 = 0.0, 0.0, 0.0
                        p0, p1, r0, r1 = hi, q_in / ai[i], ho, q_out / (ao[j] + along)
                    else:
                        rate, p0, p1, p2, r0, r1, r2 = free_course(
                            hi, ho, ai[i], ao[j] + along, q_in, q_out, c, invert
                        )
                    top_in = np.inf if i == n_in - 1 else li[i + 1]
                    top_out = np.inf if j == n_out - 1 else lo[j + 1]
                    base_out = lo[j] if j > 0 else (-np.inf if joined else invert)
                    if not joined and ho < invert - _TINY_M:
                        base_out, top_out = -np.inf, invert
                    t, side_in, side_out = left, 0, 0
                    if rate * t != power:  # most legs are like the one before
                        power = rate * t
                        falls = math.exp(-power)
                    e = falls
                    new_in, new_out = p0 + p1 * t + p2 * e, r0 + r1 * t + r2 * e
                    if not (
                        stays(p1, p2, rate, e, new_in, li[i], top_in)
                        and stays(r1, r2, rate, e, new_out, base_out, top_out)
                    ):
                        t, side_out = leaves_at(r0, r1, r2, rate, base_out, top_out, left)
                        t_in, side_in = leaves_at(p0, p1, p2, rate, li[i], top_in, t)
                        if side_in != 0:
                            t, side_out = t_in, 0
                        e = math.exp(-rate * t)
                        new_in, new_out = p0 + p1 * t + p2 * e, r0 + r1 * t + r2 * e
                    if side_in > 0:
                        new_in = top_in
                    elif side_in < 0:
                        new_in = li[i]
                    if side_out > 0:
                        new_out = top_out
                    elif side_out < 0:
                        new_out = base_out
                    if on:
                        lifted -= (q_in - leak) * t
                    drained += ai[i] * (new_in - hi) - q_in * t
                    hi, ho = new_in, new_out
                    highest = max(highest, hi)
                    at = time + step - left + t
                    left -= t
                    if hi >= alarm_level - _TINY_M and alarm == np.inf:
                        alarm = at
                    if hi >= floor - _TINY_M and rim == np.inf:
                        rim = at
                    if alive:
                        if on and hi <= off + _TINY_M:
                            on = False
                        elif not on and hi >= start - _TINY_M:
                            on = True
                if stuck:
                    break
                for m in range(n_stores):
                    now[m] -= v.store_area[d, m] * (ho - before) * gain[m] / step
                if k - begin[d, s] < accounts.shape[2]:
                    kept = accounts[d, s, k - begin[d, s]]
                    kept[LOT_IN] = given * step - along * (ho - before)
                    kept[STEADY_IN], kept[DEEP_IN] = steady * step, lost * step
                    kept[DRAIN_IN], kept[LEAK_IN] = drained, leak * step
                    kept[LOT_HELD] = now.sum() + rise_area * (ho - invert)
                if joint == np.inf and v.joint[d] > 0.0:
                    missing, end = PUDDLE_M3 - seeped, ho - max(floor, hi)
                    if end > max(head, 0.0):  # in long steps the first litres would come too late
                        volume, when = let_in(head, end, step, v.joint[d], missing)
                    else:
                        volume = leak * step
                        when = missing / leak if volume >= missing else np.inf
                    joint = time + when
                    seeped += volume
                arrived += (came + wet + steady) * step - lost * step
                time += step
                k += 1
            row = out[d, s]
            row[ALARM], row[RIM], row[JOINT], row[HIGHEST] = alarm, rim, joint, highest
            end = (
                _held(li, ai, n_in, hi) + _held(lo, ao, n_out, ho)
                + now.sum() + rise_area * (ho - invert)
            )  # fmt: skip
            row[ERROR] = abs(held + arrived - lifted - end) / max(held + arrived, 1e-12)
            if stuck:
                row[ERROR] = -1.0
