"""The compiled loop of the joined vessels: ground beside the footing, drain, pit.

A step has constant storm water; within it a leg ends where one of the levels meets the end of its
band. Flows that change slowly are constant within a step: what the linear stores of the lot hand
on and the ground water from far off, each with what the level at the footing holds back or lets
come as it goes in a line through the step. After the last step of the storm the steps grow with the
time since then. `vessels` is the public side.

What a step of a draw has in common for all stops is worked out once: what arrives, and for all rows
of one home, which stand one after the other, how the stores fall and the shape of a course over the
whole step. No function that takes an array is called in
the loop of the steps, for numba counts references to it at every call.
"""

from __future__ import annotations

import math

import numpy as np

from riskkit.compiled import compiled
from riskkit.pit._bands import OPTIONS
from riskkit.pit._footing import MOST_LEGS, TINY_M, Vessels, at_level, band_of, held_to, net_flow
from riskkit.pit._rows import is_same_home
from riskkit.pit._vessels import (
    course_shape,
    falls,
    leaking_shape,
    leaves_at,
    let_in,
    remains,
    when_in,
)
from riskkit.records import FloatArray, IntArray

__all__ = ["follow_stops"]

N_STORES = 4  # of the lot, at most
# Columns of the result rows
ALARM, RIM, JOINT, HIGHEST, ERROR = range(5)
N_COLUMNS = 5
# Seven days after the storm the outcome counts as never
_HORIZON_S = 7 * 86400.0
_LONGEST_STEP_S = 3 * 3600.0
_GROWTH = 0.05  # of the steps with the time since the storm
PUDDLE_M3 = 0.01  # at the joint of wall and floor, from which the floor counts as wet
LOT_IN, STEADY_IN, DEEP_IN, DRAIN_IN, LEAK_IN, LOT_HELD = range(6)  # of the accounts of a step
N_ACCOUNTS = LOT_HELD + 1
_CHECKED_STEPS = 6  # from one look to the next whether water enough is still to come
GIVEN_UP_S = 0.01  # by which a time to the floor is longer for certain
_MORE = 1.0000001  # a course that turns so near to its start does not turn


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
def follow_stops(
    v: Vessels, foot: FloatArray, recharge: FloatArray, lasts: FloatArray, shares: FloatArray,
    begin: IntArray, inside: FloatArray, outside: FloatArray, stores: FloatArray, alive: bool,
    after: FloatArray, from_alarm: bool, step_after: float, first: int, last: int, out: FloatArray,
    levels: FloatArray, beside: FloatArray, accounts: FloatArray, dry_from: IntArray,
    alarm_of: IntArray, quickest: FloatArray, order: IntArray, lots: FloatArray, noted_only: bool,
) -> None:  # fmt: skip
    """Follow both levels from the step in which the pump stops; see `vessels.follow_stops`.

    `begin`, `inside` and `outside` are (n_draws, n_stops), `stores` (n_draws, n_stops, n_stores);
    `levels` and `beside` take the levels in the pit and at the footing at the times `after` the
    stop, or after the alarm (n_draws, n_stops, n_after). With `alive` the pump goes on working.
    The first step after the storm is `step_after` long. `accounts` (n_draws, n_stops, n_kept, 6)
    takes the volumes of the first steps from the stop on. `dry_from` (n_draws,) is the step from
    which on a stop leaves the floor dry, and `alarm_of` the stop whose alarm is looked for even so;
    without rows every stop is followed. `quickest` (n_draws,) is the least time to the floor so
    far: a stop that takes longer is given up; without rows none is. The stops are followed in
    the `order` of their columns. `lots` (n_draws, n_stops, n_after, n_stores) takes the stores at
    the times `after`; without rows none are noted. With `noted_only` nothing after them is asked.
    """
    n_steps = foot.shape[1]
    n_in, n_out = v.in_area.shape[1], v.out_area.shape[1]
    n_stores = v.store_s.shape[1]
    # stores that are not there hold nothing: a loop of known length is unrolled
    now, was, share, tau, area_of = np.zeros((5, N_STORES))
    tau += 1.0
    for m in range(n_stores):
        share[m] = shares[m]
    behind_now = np.empty(v.tail.shape[1] + 1)
    lengths, starts_at = _all_steps(lasts, step_after)
    n_all = lengths.size
    # what a step of a draw has in common for all stops, as far as it was needed
    came_in, wet_in, to_come, along_in = np.empty((4, n_all))
    decays, gains, drawn, by_end = np.empty((4, n_all, N_STORES))
    slope = np.empty(n_out)
    in_below, out_below = np.zeros(n_in), np.zeros(n_out)  # what is held below each band
    # the last course over the whole step, with the bands that it holds for: joined, free
    bands = np.empty((2, n_all), np.int64)
    courses = np.empty((2, n_all, 4))
    known = 0  # steps whose shape is worked out for the home
    for d in range(first, last):
        li, ai, lo, ao = v.in_level[d], v.in_area[d], v.out_level[d], v.out_area[d]
        off, start = li[v.marks[d, 0]], li[v.marks[d, 1]]
        alarm_level, floor = li[v.marks[d, 2]], li[v.marks[d, 3]]
        invert, c, deep = lo[0], v.conductance[d], v.deep[d]
        per_c, joint_c, far, pumps = 1.0 / c, v.joint[d], v.steady[d], v.pump[d]
        tail, tail_s = v.tail[d], v.tail_s[d]
        wet_tail, wet_tail_s = v.wet_tail[d], v.wet_tail_s[d]
        if d == first or not is_same_home(v, d):
            for m in range(n_stores):
                tau[m], area_of[m] = v.store_s[d, m], v.store_area[d, m]
            for j in range(n_out):
                if j > 0:
                    out_below[j] = out_below[j - 1] + ao[j - 1] * (lo[j] - lo[j - 1])
                slope[j] = (far[j + 1] - far[j]) / (lo[j + 1] - lo[j])
            for i in range(1, n_in):
                in_below[i] = in_below[i - 1] + ai[i - 1] * (li[i] - li[i - 1])
            for i in range(2):
                for k in range(n_all):
                    bands[i, k] = -1
            known = 0
        rise_area = area_of.sum()
        ready = 0
        behind = wet_tail + tail.sum()
        for m in range(tail.size):
            behind_now[m] = tail[m]
        behind_now[tail.size] = wet_tail
        for k in range(n_steps - 1, -1, -1):
            behind += (foot[d, k] + recharge[d, k]) * lasts[k]
            came_in[k], wet_in[k], to_come[k] = foot[d, k], recharge[d, k], behind
        out_floor = held_to(lo, ao, n_out, floor)
        # water comes into the pit from the higher level beside the footing
        both_floor = held_to(li, ai, n_in, floor) + out_floor
        both_alarm = held_to(li, ai, n_in, alarm_level)
        both_alarm += max(held_to(lo, ao, n_out, alarm_level), 0.0)
        in_invert = held_to(li, ai, n_in, invert)
        reach = invert  # the level that ground water from far off could bring about
        for j in range(n_out + 1):
            if far[j] > 0.0:
                reach = lo[j + 1] if j < n_out else np.inf
        for s in order:
            k = begin[d, s]
            hi, ho = inside[d, s], outside[d, s]
            # what has come in by a later stop is less: where an earlier one stays dry, it does too
            dry = s > 0 and dry_from.size > 0 and k >= dry_from[d]
            if dry and s != alarm_of[d]:
                row = out[d, s]
                row[ALARM] = row[RIM] = row[JOINT] = np.inf
                row[HIGHEST], row[ERROR] = hi, 0.0
                continue
            for m in range(n_stores):
                now[m] = stores[d, s, m]
            time = began = 0.0
            was_hi, was_ho = hi, ho
            # rounding must not leave a level just below a mark, which it then never passes
            alarm = 0.0 if hi >= alarm_level - TINY_M else np.inf
            rim = 0.0 if hi >= floor - TINY_M else np.inf
            joint = np.inf
            seeped = 0.0
            on = alive and hi >= start - TINY_M
            watch = 0
            highest = hi
            arrived = 0.0
            lifted = 0.0
            held = (
                held_to(li, ai, n_in, hi) + held_to(lo, ao, n_out, ho)
                + now.sum() + rise_area * (ho - invert)
            )  # fmt: skip
            stuck = late_now = False
            given_up = np.inf
            if s > 0 and quickest.size > 0:
                given_up = quickest[d] + GIVEN_UP_S
            i, j = band_of(li, n_in, hi, False), band_of(lo, n_out, ho, False)
            while True:
                clock = alarm if from_alarm else 0.0
                while watch < after.size and clock + after[watch] <= time + 1e-9:
                    # between the ends of a step the level is taken as a straight line
                    late = (time - clock - after[watch]) / (time - began) if time > began else 0.0
                    late = min(max(late, 0.0), 1.0)
                    levels[d, s, watch] = hi - late * (hi - was_hi)
                    beside[d, s, watch] = ho - late * (ho - was_ho)
                    if lots.size > 0:
                        for m in range(n_stores):
                            lots[d, s, watch, m] = now[m] - late * (now[m] - was[m])
                    watch += 1
                began, was_hi, was_ho = time, hi, ho
                for m in range(N_STORES):
                    was[m] = now[m]
                watching = watch < after.size and clock < np.inf
                # the joint may be first, the rim later
                settled = (rim < np.inf or dry) and alarm < np.inf
                if not watching and ((settled and not alive) or noted_only):
                    break
                counted = time - alarm if from_alarm else time
                if counted > given_up and rim == np.inf and joint == np.inf and not watching:
                    late_now = True
                    break
                if k == n_all or (alive and k > n_steps):
                    break
                while known <= k:
                    if known > 0 and lengths[known] == lengths[known - 1]:
                        for m in range(N_STORES):
                            decays[known, m] = decays[known - 1, m]
                            gains[known, m] = gains[known - 1, m]
                            drawn[known, m] = drawn[known - 1, m]
                        along_in[known] = along_in[known - 1]
                    else:
                        along = 0.0
                        for m in range(N_STORES):
                            grown = falls(lengths[known] / tau[m])
                            decays[known, m] = 1.0 - grown
                            gains[known, m] = tau[m] * grown
                            drawn[known, m] = area_of[m] * tau[m] * grown / lengths[known]
                            along += area_of[m] - drawn[known, m]
                        along_in[known] = along
                    if known % _CHECKED_STEPS == 0:
                        for m in range(N_STORES):
                            by_end[known, m] = falls((starts_at[n_all] - starts_at[known]) / tau[m])
                    known += 1
                while ready <= k:
                    if ready >= n_steps:
                        came = still = 0.0
                        for m in range(tail.size):
                            if behind_now[m] > 0.0:
                                still += behind_now[m]
                                gone = behind_now[m] * falls(lengths[ready] / tail_s[m])
                                behind_now[m] -= gone
                                came += gone
                        still += behind_now[tail.size]
                        gone = behind_now[tail.size] * falls(lengths[ready] / wet_tail_s)
                        behind_now[tail.size] -= gone
                        came_in[ready], wet_in[ready] = came / lengths[ready], gone / lengths[ready]
                        to_come[ready] = still
                    ready += 1
                step, came, wet, along = lengths[k], came_in[k], wet_in[k], along_in[k]
                # with all that stands and may still come neither alarm nor floor is reached: never
                if k % _CHECKED_STEPS == 0 and not watching:
                    filled = in_below[i] + ai[i] * (hi - li[i])
                    still = to_come[k] + filled
                    still += max(out_below[j] + ao[j] * (ho - lo[j]), 0.0)
                    for m in range(N_STORES):  # of what the lot holds no more comes by the end
                        still += max(now[m] + area_of[m] * (ho - invert), 0.0) * by_end[k, m]
                    if reach > max(hi, ho):
                        still += far[0] * (starts_at[n_all] - starts_at[k])
                    need = np.inf if dry else both_floor
                    if joint == np.inf and not dry:
                        need = min(need, out_floor + min(filled, in_invert))
                    if alarm == np.inf:
                        need = min(need, both_alarm)
                    if still < need:
                        break
                given = wet * step
                for m in range(N_STORES):
                    left_in = now[m] * decays[k, m] + share[m] * wet * gains[k, m]
                    given += now[m] - left_in
                    now[m] = left_in
                given /= step
                steady = far[j] + slope[j] * (min(max(ho, lo[j]), lo[j + 1]) - lo[j])
                q_out, lost = net_flow(came, given, steady, deep)
                before, drained, leaked, missed = ho, 0.0, 0.0, 0.0
                left, legs = step, 0
                while left > 0.0:
                    legs += 1
                    if legs > MOST_LEGS:
                        stuck = True
                        break
                    if ho <= invert and hi <= invert and q_out < 0.0:
                        now[0] += q_out * left  # nothing stands there that the lot could take back
                        given -= q_out * left / step
                        q_out = 0.0
                    q_in = -at_level(li, pumps, n_in, hi) if on else 0.0
                    joined = hi > invert + TINY_M or (hi >= invert - TINY_M and ho > invert)
                    flow = c * (ho - hi) if joined else c * max(ho - invert, 0.0)
                    wet_floor = joint_c > 0.0 and max(ho, hi) > floor - TINY_M
                    if wet_floor:
                        flow += joint_c * max(ho - max(floor, hi), 0.0)
                    up_in, up_out = q_in + flow, q_out - flow
                    if up_in == 0.0:
                        up_in = up_out
                    if up_out == 0.0:
                        up_out = up_in
                    # the direction tells which of two bands holds a level at their boundary
                    if up_in > 0.0:
                        while i < n_in - 1 and hi >= li[i + 1] - TINY_M:
                            i += 1
                        while i > 0 and hi < li[i] - TINY_M:
                            i -= 1
                    else:
                        while i < n_in - 1 and hi > li[i + 1] + TINY_M:
                            i += 1
                        while i > 0 and hi <= li[i] + TINY_M:
                            i -= 1
                    if up_out > 0.0:
                        while j < n_out - 1 and ho >= lo[j + 1] - TINY_M:
                            j += 1
                        while j > 0 and ho < lo[j] - TINY_M:
                            j -= 1
                    else:
                        while j < n_out - 1 and ho > lo[j + 1] + TINY_M:
                            j += 1
                        while j > 0 and ho <= lo[j] + TINY_M:
                            j -= 1
                    # ground water is that at the middle of the rise: less by half of its fall
                    less = -0.5 * slope[j] * step
                    a_in, a_out = ai[i], ao[j] + along + less
                    top_in = np.inf if i == n_in - 1 else li[i + 1]
                    top_out = np.inf if j == n_out - 1 else lo[j + 1]
                    base_out = lo[j] if j > 0 else (-np.inf if joined else invert)
                    t, side_in, side_out = left, 0, 0
                    leaks, under, head = False, False, 0.0
                    if wet_floor:
                        # the joint lets in what stands over the floor, or over the water on it
                        under = li[i] >= floor - TINY_M
                        head = ho - (hi if under else floor)
                        leaks = head > -TINY_M
                        if leaks and head <= TINY_M:
                            leaks = q_out * a_in > q_in * a_out if under else up_out > 0.0
                        if leaks and not under:
                            base_out = max(base_out, floor)
                    if joint_c > 0.0 and not leaks and not under:
                        top_out = min(top_out, floor)
                    rest = head  # the head at which the flow between both would come to rest
                    if not joined and ho < invert - TINY_M:
                        # below the drain, which carries nothing yet
                        base_out, top_out = -np.inf, invert
                        a_out, less = a_out - less, 0.0
                        rate, e, p2, r2 = 0.0, 1.0, 0.0, 0.0
                        p0, p1, r0, r1 = hi, q_in / a_in, ho, q_out / a_out
                    elif leaks:
                        rate, steady_flow, still_flow = leaking_shape(
                            joined, under, a_in, a_out, c, joint_c, q_in, q_out, flow
                        )
                        e = remains(rate * left)
                        p1, r1 = (q_in + steady_flow) / a_in, (q_out - steady_flow) / a_out
                        p2, r2 = -still_flow / (rate * a_in), still_flow / (rate * a_out)
                        p0, r0 = hi - p2, ho - r2
                        rest = steady_flow
                    else:
                        kind, held_for = 0 if joined else 1, i * n_out + j
                        if left < step:
                            rate, share_in, per_area = course_shape(joined, a_in, a_out, c)
                            e = remains(rate * left)
                        else:
                            if bands[kind, k] != held_for:
                                bands[kind, k] = held_for
                                if (
                                    k > 0 and bands[kind, k - 1] == held_for
                                    and lengths[k - 1] == step
                                ):  # fmt: skip
                                    for m in range(4):
                                        courses[kind, k, m] = courses[kind, k - 1, m]
                                else:
                                    rate, share_in, per_area = course_shape(joined, a_in, a_out, c)
                                    courses[kind, k, 0] = rate
                                    courses[kind, k, 1] = remains(rate * step)
                                    courses[kind, k, 2] = share_in
                                    courses[kind, k, 3] = per_area
                            rate, e = courses[kind, k, 0], courses[kind, k, 1]
                            share_in, per_area = courses[kind, k, 2], courses[kind, k, 3]
                        p1 = (q_in + q_out) * per_area
                        if joined:
                            share_out = 1.0 - share_in
                            apart = (q_out * share_in - q_in * share_out) * per_c
                            mean, still_apart = share_in * hi + share_out * ho, ho - hi - apart
                            rest = apart
                            p0, p2 = mean - share_out * apart, -share_out * still_apart
                            r0, r1, r2 = mean + share_in * apart, p1, share_in * still_apart
                        else:
                            r0, r1 = invert + q_out * per_c, 0.0
                            r2 = ho - r0
                            p2 = -a_out * per_area * r2
                            p0 = hi - p2
                    if under and head * rest < 0.0 and abs(head) > TINY_M:
                        # where both levels meet, the joint begins to let in, or ends
                        part = (flow - rest) / -rest if leaks else (head - rest) / -rest
                        t = min(t, math.log(part) / rate)
                        e = remains(rate * t)
                    new_in, new_out = p0 + p1 * t + p2 * e, r0 + r1 * t + r2 * e
                    # a course turns at most once, where exp(rate t) = rate c2 / c1
                    turn_in, turn_out = rate * p2 * p1, rate * r2 * r1
                    if not (
                        li[i] <= new_in <= top_in and base_out <= new_out <= top_out
                        and (turn_in * _MORE <= p1 * p1 or turn_in * e >= p1 * p1)
                        and (turn_out * _MORE <= r1 * r1 or turn_out * e >= r1 * r1)
                    ):  # fmt: skip
                        t, side_out = leaves_at(r0, r1, r2, rate, base_out, top_out, t)
                        t_in, side_in = leaves_at(p0, p1, p2, rate, li[i], top_in, t)
                        if side_in != 0:
                            t, side_out = t_in, 0
                        e = remains(rate * t)
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
                        lifted -= q_in * t
                    drained += a_in * (new_in - hi) - q_in * t
                    if leaks:
                        if under:
                            share_in = joint_c / (c + joint_c)
                            w1, w2, w3 = share_in * steady_flow, 0.0, share_in * still_flow / rate
                        else:
                            w1, w2, w3 = joint_c * (r0 - floor), joint_c * r1, joint_c * r2 / rate
                        came_by = let_in(w1, w2, w3, rate, t)
                        leaked += came_by
                        if joint == np.inf and seeped + came_by >= PUDDLE_M3:
                            joint = time + step - left
                            joint += when_in(w1, w2, w3, rate, t, PUDDLE_M3 - seeped)
                        seeped += came_by
                    missed += less * (new_out - ho)
                    hi, ho = new_in, new_out
                    highest = max(highest, hi)
                    left -= t
                    if hi >= alarm_level - TINY_M and alarm == np.inf:
                        alarm = time + step - left
                    if hi >= floor - TINY_M and rim == np.inf:
                        rim = time + step - left
                    if alive:
                        if on and hi <= off + TINY_M:
                            on = False
                        elif not on and hi >= start - TINY_M:
                            on = True
                if stuck:
                    break
                for m in range(N_STORES):
                    now[m] -= drawn[k, m] * (ho - before)
                if k - begin[d, s] < accounts.shape[2]:
                    kept = accounts[d, s, k - begin[d, s]]
                    kept[LOT_IN] = given * step - along * (ho - before)
                    kept[STEADY_IN], kept[DEEP_IN] = steady * step - missed, lost * step
                    kept[DRAIN_IN], kept[LEAK_IN] = drained - leaked, leaked
                    kept[LOT_HELD] = now.sum() + rise_area * (ho - invert)
                arrived += (came + wet + steady - lost) * step - missed
                time += step
                k += 1
            row = out[d, s]
            row[ALARM], row[RIM], row[JOINT], row[HIGHEST] = alarm, rim, joint, highest
            reached = min(rim, joint)
            if s > 0 and dry_from.size > 0 and reached == np.inf and not late_now:
                dry_from[d] = min(dry_from[d], begin[d, s])
            if s > 0 and quickest.size > 0 and reached < np.inf:
                if from_alarm:
                    reached = reached - alarm if alarm < reached else 0.0
                if reached <= _HORIZON_S:
                    quickest[d] = min(quickest[d], reached)
            end = (
                held_to(li, ai, n_in, hi) + held_to(lo, ao, n_out, ho)
                + now.sum() + rise_area * (ho - invert)
            )  # fmt: skip
            row[ERROR] = abs(held + arrived - lifted - end) / max(held + arrived, 1e-12)
            if stuck:
                row[ERROR] = -1.0
