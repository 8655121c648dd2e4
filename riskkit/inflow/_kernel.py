"""The compiled loop: one pass per draw over the steps of a storm.

Depths are metres of water over the strip at the wall, volumes are cubic metres. Every function here
is plain arithmetic on numbers; what it means, with sources and ranges, stands in the public modules
`infiltration` and `wall`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from riskkit.compiled import compiled
from riskkit.records import FloatArray

__all__ = ["N_PARTS", "WallDraws", "infiltration_loop", "ponded_loop", "wall_loop"]

# columns of the table of parts, see `wall.PARTS`
N_PARTS = 8


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
    puddle_time_s: FloatArray
    gap_time_s: FloatArray
    pond_m: FloatArray
    fill_k_m_s: FloatArray
    fill_sorption_m: FloatArray  # suction times moisture deficit
    fill_deficit_m: FloatArray
    fill_room_m: FloatArray
    fill_time_s: FloatArray
    fill_water_m: FloatArray
    lot_m2: FloatArray
    runon_m2: FloatArray
    lot_k_m_s: FloatArray
    lot_sorption_m: FloatArray
    lot_deficit_m: FloatArray
    lot_room_m: FloatArray
    lot_time_s: FloatArray
    lot_water_m: FloatArray


@compiled()
def _shortfall(y: float) -> float:
    """Return y - ln(1 + y), without loss of digits where y is small."""
    if y < 0.01:
        # series to y^7: the first term left out is below 3e-13 of the sum
        return y * y * (
            1 / 2 + y * (-1 / 3 + y * (1 / 4 + y * (-1 / 5 + y * (1 / 6 - y / 7))))
        )  # fmt: skip
    return y - math.log1p(y)


@compiled()
def _ponded_time(k: float, sorption: float, start: float, gain: float) -> float:
    """Return the time in which ponded infiltration grows from `start` by `gain`."""
    if sorption <= 0.0:
        return gain / k
    reach = start + sorption
    return (gain * start / reach + sorption * _shortfall(gain / reach)) / k


@compiled()
def _ponded_gain(k: float, sorption: float, start: float, time: float) -> float:
    """Return by how much ponded infiltration grows from `start` in `time`.

    Newton on x - s ln(1 + x/d) = k t, which is convex and rises: from a guess that is too large
    every iterate stays too large and falls, so it cannot fail. The guess is the root of the
    quadratic that ln(1 + y) <= y (2 + y) / (2 (1 + y)) makes of the equation.
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
    for _ in range(100):
        excess = x * start / reach + sorption * _shortfall(x / reach) - supply
        step = excess * (reach + x) / (start + x)
        x -= step
        if step <= 1e-8 * x:  # Newton squares the error: the next step would be below 1e-15
            break
    return x


@compiled()
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


@compiled()
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
        at = time if lowest >= gain else _ponded_time(k, sorption, start, lowest)
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


@compiled()
def _fill_and_drain(
    store: float, rate: float, tau: float, time: float, decay: float
) -> tuple[float, float]:
    """Return store and drained depth of dS/dt = rate - S/tau."""
    end = rate * tau + (store - rate * tau) * decay
    return end, max(0.0, store + rate * time - end)


@compiled()
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


@compiled()
def wall_loop(
    rain_mm: FloatArray,
    step: float,
    draws: WallDraws,
    footing: FloatArray,
    recharge: FloatArray,
    tail: FloatArray,
    parts: FloatArray,
) -> None:
    """Fill flows to the footing and to the lot's water table (n_draws, n_steps), what is on its
    way at the end (n_draws, 4: fast, puddle, fill, lot) and the parts (n_draws, 8)."""
    n_draws, n_steps = footing.shape
    for d in range(n_draws):
        row = d if rain_mm.shape[0] > 1 else 0
        area, k, sorption = draws.strip_m2[d], draws.fill_k_m_s[d], draws.fill_sorption_m[d]
        roof, at_wall, to_drain = draws.roof_m2[d], draws.share_at_wall[d], draws.share_to_drain[d]
        led = max(0.0, 1.0 - at_wall - to_drain)
        well, gap = draws.well_m2[d], draws.gap_share[d]
        leaks = -math.expm1(-step / draws.puddle_time_s[d])
        gutter = draws.gutter_m_s[d] * step
        lot, runon = draws.lot_m2[d], draws.runon_m2[d]
        lot_k, lot_sorption = draws.lot_k_m_s[d], draws.lot_sorption_m[d]
        pond_max, tau, lot_tau = draws.pond_m[d], draws.fill_time_s[d], draws.lot_time_s[d]
        fast_s = draws.gap_time_s[d]
        fast_decay = math.exp(-step / fast_s) if fast_s > 0.0 else 0.0
        fast_fill = -fast_s * math.expm1(-step / fast_s) if fast_s > 0.0 else 0.0
        decay, lot_decay = math.exp(-step / tau), math.exp(-step / lot_tau)
        fill = -tau * math.expm1(-step / tau)
        lot_fill = -lot_tau * math.expm1(-step / lot_tau)
        deficit, store = draws.fill_deficit_m[d], draws.fill_water_m[d]
        lot_deficit, lot_store = draws.lot_deficit_m[d], draws.lot_water_m[d]
        room_m, lot_room_m = draws.fill_room_m[d], draws.lot_room_m[d]
        wetted = lot_wetted = pond = fast = 0.0
        arrived = reached = seeped = ran_off = led_away = 0.0
        for j in range(n_steps):
            rain = rain_mm[row, j] * draws.rain_factor[d] * 1e-3
            quick = soaked = lot_soaked = 0.0
            if rain > 0.0 or pond > 0.0:
                carried = min(rain, gutter) * roof
                spilt = (rain - min(rain, gutter)) * roof
                shed = 0.0
                if rain > 0.0:
                    lot_soaked, _, shed = _infiltrate(
                        lot_wetted, 0.0, rain / step, step, lot_k, lot_sorption, 0.0
                    )
                    # full ground takes no more than it hands on
                    lot_room = lot_deficit + max(
                        0.0, (lot_room_m - lot_store * lot_decay) / lot_fill
                    ) * step  # fmt: skip
                    if lot_soaked > lot_room:
                        shed += lot_soaked - lot_room
                        lot_soaked = lot_room
                    lot_wetted += lot_soaked
                strip = rain * area + carried * at_wall + spilt + runon * shed
                direct = gap * strip / area
                soaked, pond, _ = _infiltrate(
                    wetted, pond, (strip / area - direct) / step, step, k, sorption, math.inf
                )
                room = deficit + step * max(0.0, (room_m - store * decay) / fill)
                if soaked > room:
                    pond += soaked - room
                    soaked = room
                wetted += soaked
                # what stands there leaks down the gap, what is still deeper than the puddle spills
                leaked = min(pond, pond_max) * leaks
                spill = max(0.0, pond - leaked - pond_max)
                pond -= leaked + spill
                quick = well * rain + carried * to_drain + (direct + leaked) * area
                arrived += rain * (area + roof + well + lot)
                led_away += carried * led
                ran_off += spill * area + shed * (lot - runon)
            deficit, store, drained = _taken(soaked, deficit, store, tau, step, decay)
            lot_deficit, lot_store, down = _taken(
                lot_soaked, lot_deficit, lot_store, lot_tau, step, lot_decay
            )
            before = fast
            fast = before * fast_decay + quick / step * fast_fill
            out = max(0.0, before + quick - fast) + drained * area
            reached += out
            seeped += down * lot
            footing[d, j] = out / step
            recharge[d, j] = down * lot / step
        tail[d, 0], tail[d, 1] = fast, pond * area
        tail[d, 2], tail[d, 3] = store * area, lot_store * lot
        parts[d, 0] = arrived + draws.fill_water_m[d] * area + draws.lot_water_m[d] * lot
        parts[d, 1] = reached
        parts[d, 2] = seeped
        parts[d, 3] = ran_off
        parts[d, 4] = led_away
        parts[d, 5] = (draws.fill_deficit_m[d] - deficit) * area
        parts[d, 6] = (draws.lot_deficit_m[d] - lot_deficit) * lot
        parts[d, 7] = fast + (store + pond) * area + lot_store * lot


@compiled()
def infiltration_loop(
    rain_m: FloatArray,
    step: float,
    k: FloatArray,
    sorption: FloatArray,
    pond_max: FloatArray,
    soaked: FloatArray,
    ran_off: FloatArray,
) -> None:
    """Fill infiltration and run-off (n_draws, n_steps)."""
    for d in range(soaked.shape[0]):
        wetted = pond = 0.0
        for j in range(soaked.shape[1]):
            taken, pond, excess = _infiltrate(
                wetted, pond, rain_m[d, j] / step, step, k[d], sorption[d], pond_max[d]
            )
            wetted += taken
            soaked[d, j] = taken
            ran_off[d, j] = excess


@compiled()
def ponded_loop(
    k: FloatArray, sorption: FloatArray, start: FloatArray, time: FloatArray, out: FloatArray
) -> None:
    """Fill the infiltrated depth at the end of a ponded time (n_draws,)."""
    for d in range(out.size):
        out[d] = start[d] + _ponded_gain(k[d], sorption[d], start[d], time[d])
