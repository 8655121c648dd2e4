"""The compiled loop: one pass per draw over the steps of a storm.

Depths are metres of water over the strip at the wall, volumes are cubic metres. Every function here
is plain arithmetic on numbers; what it means, with sources and ranges, stands in `wall`.

Infiltration is that of Green and Ampt, under rain that may pond and stop to pond at any moment of a
step; S is `soils.sorption_m`, and the head of the ponded water is left out, as it is small beside
the suction::

    f = K (1 + S / F)                rate while water stands on the ground
    F - S ln(1 + F / S) = K t        depth under standing water
    Fp = K S / (i - K)               depth at which steady rain i begins to pond (Mein and Larson)
"""

from __future__ import annotations

import math
from typing import NamedTuple

from riskkit.compiled import compiled
from riskkit.inflow._dry import OPTIONS, dry_steps, used_by_plants
from riskkit.records import FloatArray, IntArray

__all__ = ["WallDraws", "wall_loop"]


class WallDraws(NamedTuple):
    """What the loop needs to know of each draw; every field is an array (n_draws,)."""

    rain_factor: FloatArray
    strip_m2: FloatArray
    roof_m2: FloatArray  # roof area times runoff coefficient
    well_m2: FloatArray
    gutter_m_s: FloatArray
    share_at_wall: FloatArray
    share_to_drain: FloatArray
    gap_share: FloatArray
    ponding_time_s: FloatArray
    gap_time_s: FloatArray
    pond_m: FloatArray
    fill_k_m_s: FloatArray
    fill_suction_m: FloatArray
    fill_storage_m: FloatArray
    fill_time_s: FloatArray
    fill_depth_m: FloatArray
    fill_roots_m: FloatArray
    fill_available_m: FloatArray
    lot_m2: FloatArray
    runon_m2: FloatArray
    lot_k_m_s: FloatArray
    lot_suction_m: FloatArray
    lot_storage_m: FloatArray
    lot_time_s: FloatArray
    lot_depth_m: FloatArray
    lot_roots_m: FloatArray
    lot_available_m: FloatArray


@compiled(**OPTIONS)
def _shortfall(y: float) -> float:
    """Return y - ln(1 + y), without loss of digits where y is small."""
    if y < 0.01:
        # series to y^7: the first term left out is below 3e-13 of the sum
        return y * y * (
            1 / 2 + y * (-1 / 3 + y * (1 / 4 + y * (-1 / 5 + y * (1 / 6 - y / 7))))
        )  # fmt: skip
    return y - math.log1p(y)


@compiled(**OPTIONS)
def _ponded_time(k: float, sorption: float, start: float, gain: float) -> float:
    """Return the time in which ponded infiltration grows from `start` by `gain`."""
    if sorption <= 0.0:
        return gain / k
    y = gain / (start + sorption)
    return (y * start + sorption * _shortfall(y)) / k


@compiled(**OPTIONS)
def _ponded_gain(k: float, sorption: float, start: float, time: float) -> float:
    """Return by how much ponded infiltration grows from `start` in `time`.

    Newton on x - s ln(1 + x/d) = k t, which is convex and rises: from a guess that is too large
    every iterate stays too large and falls, so it cannot fail. The guess is the root of the
    quadratic that ln(1 + y) <= y (2 + y) / (2 (1 + y)) makes of the equation. The last step takes
    the curvature with it (Chebyshev's method), so that one less is needed.
    """
    supply = k * time
    if sorption <= 0.0 or supply <= 0.0:
        return supply
    reach = start + sorption
    a = start + reach
    b = 2.0 * reach * (start - supply)
    e = 2.0 * reach * reach * supply
    root = math.sqrt(b * b + 4.0 * a * e)
    x = 2.0 * e / (b + root) if b > 0.0 else (root - b) / (2.0 * a)
    per_reach = 1.0 / reach
    for _ in range(100):
        y = x * per_reach
        excess = y * start + sorption * _shortfall(y) - supply
        slope = (start + x) / (reach + x)
        step = excess / slope
        if step <= 1e-5 * x:  # the error is cubed: what is left is below 1e-15
            bend = sorption / ((reach + x) * (start + x))
            return x - step * (1.0 + 0.5 * step * bend)
        x -= step
    return x


@compiled(**OPTIONS)
def _drying_gain(k: float, sorption: float, start: float, pond: float, rate: float) -> float:
    """Return the infiltration until the pond is used up, given that it will be.

    Newton on pond + rate t(x) - x = 0 from x = 0; convex and falling before the first root, so
    every iterate stays below it.
    """
    if sorption <= 0.0:
        return pond / (1.0 - rate / k)
    x = 0.0
    for _ in range(200):
        left = pond + rate * _ponded_time(k, sorption, start, x) - x
        slope = 1.0 - rate * (start + x) / (k * (start + x + sorption))
        if left <= 1e-14 * pond or slope <= 0.0:
            break
        step = left / slope
        x += step
        if step <= 1e-8 * x:
            break
    return x


@compiled(**OPTIONS)
def _infiltrate(
    start: float, pond: float, rate: float, time: float, k: float, sorption: float, pond_max: float
) -> tuple[float, float, float]:
    """Return infiltration, pond at the end and run-off of one step with a constant supply."""
    taken = 0.0
    # above this infiltrated depth the ground takes less than the supply
    ponding = k * sorption / (rate - k) if rate > k else math.inf
    if pond > 0.0:
        gain = _ponded_gain(k, sorption, start, time)
        # the pond is lowest where the ground takes just the supply, or at the end
        lowest = min(gain, max(0.0, ponding - start))
        at = time
        if lowest < gain:
            at = _ponded_time(k, sorption, start, lowest) if lowest > 0.0 else 0.0
        if pond + rate * at >= lowest:
            end = max(0.0, pond + rate * time - gain)
            kept = min(end, pond_max)
            return gain, kept, end - kept
        gain = _drying_gain(k, sorption, start, pond, rate)
        dry = min(time, _ponded_time(k, sorption, start, gain))
        taken = pond + rate * dry
        time -= dry
    if rate <= 0.0:
        return taken, 0.0, 0.0
    if start + taken < ponding:
        before = (ponding - start - taken) / rate
        if before >= time:
            return taken + rate * time, 0.0, 0.0
        taken += rate * before
        time -= before
    gain = min(rate * time, _ponded_gain(k, sorption, start + taken, time))
    end = rate * time - gain
    kept = min(end, pond_max)
    return taken + gain, kept, end - kept


@compiled(**OPTIONS)
def _fill_and_drain(
    store: float, rate: float, tau: float, time: float, decay: float
) -> tuple[float, float]:
    """Return store and drained depth of dS/dt = rate - S/tau."""
    end = rate * tau + (store - rate * tau) * decay
    return end, max(0.0, store + rate * time - end)


@compiled(**OPTIONS)
def _taken(
    soaked: float, deficit: float, store: float, tau: float, step: float, decay: float
) -> tuple[float, float, float]:
    """Return deficit, store and drained depth of ground that a step's infiltration enters.

    The deficit is filled first; the store, empty till then, fills from within the step.
    """
    held = min(soaked, deficit)
    if held <= 0.0 or held >= soaked:
        store, drained = _fill_and_drain(store, (soaked - held) / step, tau, step, decay)
        return deficit - held, store, drained
    before = step * held / soaked
    store, first = _fill_and_drain(store, 0.0, tau, before, math.exp(-before / tau))
    left = step - before
    store, rest = _fill_and_drain(store, soaked / step, tau, left, math.exp(-left / tau))
    return deficit - held, store, first + rest


@compiled(**OPTIONS)
def _most(
    soaked: float, deficit: float, store: float, room: float, tau: float, step: float,
    decay: float, fill: float,
) -> float:  # fmt: skip
    """Return how much of a step's infiltration full ground takes: no more than it hands on.

    `fill` is tau (1 - decay), what a steady rate of one leaves in the store.
    """
    if soaked <= deficit + max(0.0, room - store):
        return soaked
    low, high = deficit, soaked
    if deficit <= 0.0:
        return min(soaked, step * max(0.0, (room - store * decay) / fill))
    if _taken(soaked, deficit, store, tau, step, decay)[1] <= room:
        return soaked
    for _ in range(60):  # the deficit leaves the store a part of the step: no closed form
        middle = 0.5 * (low + high)
        if _taken(middle, deficit, store, tau, step, decay)[1] <= room:
            low = middle
        else:
            high = middle
    return low


@compiled(**OPTIONS)
def _ponding(
    pond: float, rate: float, time: float, leak_s: float, left: float, most: float
) -> tuple[float, float, float, float]:
    """Return what stands at the end of a step, what leaked down the gap, what spilt, and what was
    to go from the ponded water and was not there: dp/dt = rate - p / leak_s, from 0 to `most`.

    `left` is exp(-time / leak_s).
    """
    if pond == 0.0 and rate == 0.0:
        return 0.0, 0.0, 0.0, 0.0
    if most <= 0.0:
        end = pond + rate * time
        return 0.0, 0.0, max(0.0, end), max(0.0, -end)
    rest = rate * leak_s
    end = rest + (pond - rest) * left
    if end > most:
        full = 0.0
        if pond < most:
            full = -leak_s * math.log((most - rest) / (pond - rest))
        leaked = pond + rate * full - most + most / leak_s * (time - full)
        return most, leaked, max(0.0, pond + rate * time - most - leaked), 0.0
    if end < 0.0:
        empty = 0.0
        if pond > 0.0:
            empty = -leak_s * math.log(-rest / (pond - rest))
        return 0.0, max(0.0, pond + rate * empty), 0.0, -rate * (time - empty)
    return end, max(0.0, pond + rate * time - end), 0.0, 0.0


@compiled(**OPTIONS)
def _moisture_deficit(
    deficit: float, store: float, room: float, depth: float, roots: float
) -> float:
    """Return how much water ground can still take up per volume, its drainable pores included."""
    return max(1e-3, (room - store) / depth + deficit / roots)


@compiled(**OPTIONS)
def _note(
    row: FloatArray, deficit: float, store: float, lot_deficit: float, lot_store: float,
    wetted: float, lot_wetted: float, pond: float, fast: float, sorption: float,
    lot_sorption: float, dry_s: float,
) -> None:  # fmt: skip
    """Write a state."""
    row[0], row[1], row[2], row[3] = deficit, store, lot_deficit, lot_store
    row[4], row[5], row[6], row[7] = wetted, lot_wetted, pond, fast
    row[8], row[9], row[10] = sorption, lot_sorption, dry_s


@compiled(**OPTIONS)
def _note_flows(
    row: FloatArray, rain: float, carried: float, spilt: float, shed: float, d: WallDraws, i: int,
    led: float, direct: float, leaked: float, soaked: float, spill: float, fast_out: float,
    drained: float, lot_soaked: float, down: float,
) -> None:  # fmt: skip
    """Write the volumes that went from store to store in a step [m3]; see `wall.FLOWS`."""
    area, lot, runon = d.strip_m2[i], d.lot_m2[i], d.runon_m2[i]
    row[0], row[1], row[2] = rain * area, carried * d.share_at_wall[i], spilt
    row[3], row[4], row[5] = runon * shed, carried * d.share_to_drain[i], carried * led
    row[6], row[7], row[8] = d.well_m2[i] * rain, direct * area, leaked * area
    row[9], row[10], row[11] = soaked * area, spill * area, fast_out
    row[12], row[13], row[14] = drained * area, lot_soaked * lot, shed * (lot - runon)
    row[15] = down * lot


@compiled(**OPTIONS)
def wall_loop(
    rain_mm: FloatArray,
    thawed: FloatArray,
    demand_mm: FloatArray,
    scarce: FloatArray,
    front_s: float,
    step: float,
    draws: WallDraws,
    marked: IntArray,
    state: FloatArray,
    noted: FloatArray,
    footing: FloatArray,
    recharge: FloatArray,
    tail: FloatArray,
    parts: FloatArray,
    flows: FloatArray,
) -> None:
    """Fill flows to the footing and to the lot's water table (n_draws, n_steps), what is on its
    way at the end (n_draws, 4: fast, ponded water, fill, lot) and the parts (n_draws, 9); the state
    (n_draws, 11) is taken over and left as it is at the end, and before the steps `marked` it is
    noted (n_draws, n_marked, 11). `demand_mm` is empty for a storm, and so is `scarce`, the share
    of the available water below which plants draw less, and `thawed`, the share of the lot that
    takes water, a row for all or for each draw; `front_s` without water on the ground end a wetting
    front. `flows` takes what went in each step (n_draws, n_steps, 16), or is without
    steps."""
    n_draws, n_steps = footing.shape
    with_flows = flows.shape[1] > 0
    with_plants = demand_mm.size > 0
    with_frost = thawed.shape[1] > 0
    per_step = 1.0 / step
    for d in range(n_draws):
        row = d if rain_mm.shape[0] > 1 else 0
        frost_row = d if thawed.shape[0] > 1 else 0
        area, k = draws.strip_m2[d], draws.fill_k_m_s[d]
        per_area = 1.0 / area
        roof, at_wall, to_drain = draws.roof_m2[d], draws.share_at_wall[d], draws.share_to_drain[d]
        led = max(0.0, 1.0 - at_wall - to_drain)
        well, gap = draws.well_m2[d], draws.gap_share[d]
        leak_s = draws.ponding_time_s[d]
        gutter = draws.gutter_m_s[d] * step
        lot, runon, lot_k = draws.lot_m2[d], draws.runon_m2[d], draws.lot_k_m_s[d]
        pond_max, tau, lot_tau = draws.pond_m[d], draws.fill_time_s[d], draws.lot_time_s[d]
        fast_s = draws.gap_time_s[d]
        fast_decay = math.exp(-step / fast_s) if fast_s > 0.0 else 0.0
        fast_kept = -fast_s * math.expm1(-step / fast_s) * per_step if fast_s > 0.0 else 0.0
        decay, lot_decay = math.exp(-step / tau), math.exp(-step / lot_tau)
        fill, lot_fill = -tau * math.expm1(-step / tau), -lot_tau * math.expm1(-step / lot_tau)
        pond_left = math.exp(-step / leak_s) if pond_max > 0.0 else 0.0
        room_m, lot_storage_m = draws.fill_storage_m[d], draws.lot_storage_m[d]
        depth, roots = draws.fill_depth_m[d], draws.fill_roots_m[d]
        lot_depth, lot_roots = draws.lot_depth_m[d], draws.lot_roots_m[d]
        reach, lot_reach = roots / depth, lot_roots / lot_depth
        available, lot_available = draws.fill_available_m[d], draws.lot_available_m[d]
        deficit, store, lot_deficit, lot_store = (
            state[d, 0], state[d, 1], state[d, 2], state[d, 3],
        )  # fmt: skip
        wetted, lot_wetted, pond, fast = state[d, 4], state[d, 5], state[d, 6], state[d, 7]
        sorption, lot_sorption, dry_s = state[d, 8], state[d, 9], state[d, 10]
        before_all = (deficit, store, lot_deficit, lot_store, pond, fast)
        arrived = reached = seeped = ran_off = led_away = transpired = 0.0
        mark = j = 0
        while j < n_steps:
            while mark < marked.size and marked[mark] == j:
                _note(
                    noted[d, mark], deficit, store, lot_deficit, lot_store, wetted, lot_wetted,
                    pond, fast, sorption, lot_sorption, dry_s,
                )  # fmt: skip
                mark += 1
            if pond <= 0.0 and rain_mm[row, j] <= 0.0 and not with_flows:
                begin = j
                j, deficit, store, lot_deficit, lot_store, fast, came, sank, drunk = dry_steps(
                    rain_mm[row], demand_mm, scarce, j,
                    marked[mark] if mark < marked.size else n_steps, footing[d], recharge[d],
                    deficit, store, lot_deficit, lot_store, fast, decay, lot_decay, fast_decay,
                    available, lot_available, reach, lot_reach, area, lot, per_step,
                )  # fmt: skip
                dry_s += (j - begin) * step
                reached += came
                seeped += sank
                transpired += drunk
                continue
            rain = rain_mm[row, j] * draws.rain_factor[d] * 1e-3
            quick = soaked = lot_soaked = 0.0
            carried = spilt = shed = direct = leaked = spill = 0.0
            if rain > 0.0 or pond > 0.0:
                if dry_s >= front_s:
                    wetted = lot_wetted = 0.0
                    sorption = draws.fill_suction_m[d] * _moisture_deficit(
                        deficit, store, room_m, depth, roots
                    )
                    lot_sorption = draws.lot_suction_m[d] * _moisture_deficit(
                        lot_deficit, lot_store, lot_storage_m, lot_depth, lot_roots
                    )
                dry_s = 0.0 if rain > 0.0 else dry_s + step
                carried = min(rain, gutter) * roof
                spilt = (rain - min(rain, gutter)) * roof
                if rain > 0.0:
                    lot_soaked, _, shed = _infiltrate(
                        lot_wetted, 0.0, rain * per_step, step, lot_k, lot_sorption, 0.0
                    )
                    if with_frost:
                        taken = lot_soaked * thawed[frost_row, j]
                        shed += lot_soaked - taken
                        lot_soaked = taken
                    taken = _most(
                        lot_soaked, lot_deficit, lot_store, lot_storage_m, lot_tau, step,
                        lot_decay, lot_fill,
                    )  # fmt: skip
                    shed += lot_soaked - taken
                    lot_soaked = taken
                    lot_wetted += lot_soaked
                strip = rain * area + carried * at_wall + spilt + runon * shed
                came = strip * per_area
                direct = gap * came
                came -= direct
                soaked, _, _ = _infiltrate(
                    wetted, pond, came * per_step, step, k, sorption, math.inf
                )
                soaked = _most(soaked, deficit, store, room_m, tau, step, decay, fill)
                pond, leaked, spill, lacking = _ponding(
                    pond, (came - soaked) * per_step, step, leak_s, pond_left, pond_max
                )
                soaked -= lacking
                wetted += soaked
                quick = well * rain + carried * to_drain + (direct + leaked) * area
                arrived += rain * (area + roof + well + lot)
                led_away += carried * led
                ran_off += spill * area + shed * (lot - runon)
                deficit, store, drained = _taken(soaked, deficit, store, tau, step, decay)
                lot_deficit, lot_store, down = _taken(
                    lot_soaked, lot_deficit, lot_store, lot_tau, step, lot_decay
                )
            else:  # the stores fall; that is most of all hours
                dry_s += step
                drained, down = store, lot_store
                store *= decay
                lot_store *= lot_decay
                drained -= store
                down -= lot_store
            if with_plants and demand_mm[j] > 0.0:
                demand = demand_mm[j] * 1e-3
                deficit, store, used = used_by_plants(
                    deficit, store, demand, 1.0 / (scarce[j] * available), available, reach
                )
                lot_deficit, lot_store, lot_used = used_by_plants(
                    lot_deficit, lot_store, demand, 1.0 / (scarce[j] * lot_available),
                    lot_available, lot_reach,
                )  # fmt: skip
                transpired += used * area + lot_used * lot
            before = fast
            fast = before * fast_decay + quick * fast_kept
            fast_out = max(0.0, before + quick - fast)
            out = fast_out + drained * area
            reached += out
            seeped += down * lot
            footing[d, j] = out * per_step
            recharge[d, j] = down * lot * per_step
            if with_flows:
                _note_flows(
                    flows[d, j], rain, carried, spilt, shed, draws, d, led, direct, leaked,
                    soaked, spill, fast_out, drained, lot_soaked, down,
                )  # fmt: skip
            j += 1
        _note(
            state[d], deficit, store, lot_deficit, lot_store, wetted, lot_wetted, pond, fast,
            sorption, lot_sorption, dry_s,
        )  # fmt: skip
        tail[d, 0], tail[d, 1] = fast, pond * area
        tail[d, 2], tail[d, 3] = store * area, lot_store * lot
        parts[d, 0] = (
            arrived + before_all[5] + (before_all[1] + before_all[4]) * area + before_all[3] * lot
        )
        parts[d, 1] = reached
        parts[d, 2] = seeped
        parts[d, 3] = ran_off
        parts[d, 4] = led_away
        parts[d, 5] = (before_all[0] - deficit) * area
        parts[d, 6] = (before_all[2] - lot_deficit) * lot
        parts[d, 7] = transpired
        parts[d, 8] = fast + (store + pond) * area + lot_store * lot
