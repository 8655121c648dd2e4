"""The compiled loop: one pass per draw over the steps of a storm.

Depths are metres of water over the strip at the wall, volumes are cubic metres. Every function here
is plain arithmetic on numbers; what it means, with sources and ranges, stands in the public modules
`infiltration` and `total`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from riskkit.compiled import compiled
from riskkit.records import FloatArray

__all__ = ["N_PARTS", "StripDraws", "infiltration_loop", "ponded_loop", "strip_loop"]

# columns of the table of parts, see `total.PARTS`
N_PARTS = 7


class StripDraws(NamedTuple):
    """What the loop needs to know of each draw; every field is an array (n_draws,)."""

    rain_factor: FloatArray
    strip_m2: FloatArray
    roof_m2: FloatArray  # roof area times runoff coefficient
    well_m2: FloatArray
    runon_m2: FloatArray
    gutter_m_s: FloatArray
    share_at_wall: FloatArray
    share_to_drain: FloatArray
    gap_share: FloatArray
    fast_s: FloatArray
    k_m_s: FloatArray
    sorption_m: FloatArray  # suction times moisture deficit
    pond_m: FloatArray
    deficit_m: FloatArray
    store_max_m: FloatArray
    tau_s: FloatArray
    native_k_m_s: FloatArray
    native_sorption_m: FloatArray
    loss_m_s: FloatArray  # what the ground takes from the store


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
def _drain(
    store: float, rate: float, loss: float, tau: float, time: float, decay: float
) -> tuple[float, float, float]:
    """Return store, drained and lost depth of dS/dt = rate - loss - S/tau, never below empty."""
    if store <= 0.0 and rate <= loss:
        return 0.0, 0.0, rate * time
    level = (rate - loss) * tau
    end = level + (store - level) * decay
    if level < 0.0 and end < 0.0:
        wet = min(time, tau * math.log1p(-store / level))
        drained = store + (rate - loss) * wet
        return 0.0, max(0.0, drained), loss * wet + rate * (time - wet)
    drained = store + (rate - loss) * time - end
    return end, max(0.0, drained), loss * time


@compiled()
def strip_loop(
    rain_mm: FloatArray, step: float, draws: StripDraws, flow: FloatArray, parts: FloatArray
) -> None:
    """Fill the flow to the pit (n_draws, n_steps) and the parts (n_draws, 7)."""
    n_draws, n_steps = flow.shape
    for d in range(n_draws):
        row = d if rain_mm.shape[0] > 1 else 0
        area, k, sorption = draws.strip_m2[d], draws.k_m_s[d], draws.sorption_m[d]
        roof, at_wall, to_drain = draws.roof_m2[d], draws.share_at_wall[d], draws.share_to_drain[d]
        led = max(0.0, 1.0 - at_wall - to_drain)
        well, runon, gap = draws.well_m2[d], draws.runon_m2[d], draws.gap_share[d]
        gutter = draws.gutter_m_s[d] * step
        native_k, native_sorption = draws.native_k_m_s[d], draws.native_sorption_m[d]
        loss = draws.loss_m_s[d]
        pond_max, store_max, tau = draws.pond_m[d], draws.store_max_m[d], draws.tau_s[d]
        fast_s = draws.fast_s[d]
        fast_decay = math.exp(-step / fast_s) if fast_s > 0.0 else 0.0
        fast_fill = -fast_s * math.expm1(-step / fast_s) if fast_s > 0.0 else 0.0
        decay = math.exp(-step / tau)
        fill = -tau * math.expm1(-step / tau)
        deficit = draws.deficit_m[d]
        wetted = native_wetted = pond = store = fast = 0.0
        arrived = reached = ran_off = led_away = lost = 0.0
        for j in range(n_steps):
            rain = rain_mm[row, j] * draws.rain_factor[d] * 1e-3
            quick = slow = 0.0
            left, falls = step, decay
            if rain > 0.0 or pond > 0.0:
                carried = min(rain, gutter) * roof
                spilt = (rain - min(rain, gutter)) * roof
                lot = 0.0
                if runon > 0.0 and rain > 0.0:
                    soaked, _, excess = _infiltrate(
                        native_wetted, 0.0, rain / step, step, native_k, native_sorption, 0.0
                    )
                    native_wetted += soaked
                    lot = runon * excess
                strip = rain * area + carried * at_wall + spilt + lot
                quick = well * rain + carried * to_drain + gap * strip
                arrived += rain * (area + roof + well) + lot
                led_away += carried * led
                supply = (1.0 - gap) * strip / (area * step)
                soaked, pond, excess = _infiltrate(
                    wetted, pond, supply, step, k, sorption, pond_max
                )
                # full backfill takes no more than it hands on
                room = deficit + step * max(0.0, loss + (store_max - store * decay) / fill)
                if soaked > room:
                    pond += soaked - room
                    excess += max(0.0, pond - pond_max)
                    pond = min(pond, pond_max)
                    soaked = room
                wetted += soaked
                ran_off += excess * area
                held = min(soaked, deficit)
                deficit -= held
                slow = (soaked - held) / step
                if 0.0 < held < soaked:  # the store, empty till then, fills from within the step
                    left = step * (1.0 - held / soaked)
                    slow, falls = soaked / step, math.exp(-left / tau)
            store, drained, down = _drain(store, slow, loss, tau, left, falls)
            lost += down * area
            before = fast
            fast = before * fast_decay + quick / step * fast_fill
            out = max(0.0, before + quick - fast) + drained * area
            reached += out
            flow[d, j] = out / step
        parts[d, 0] = arrived
        parts[d, 1] = reached
        parts[d, 2] = ran_off
        parts[d, 3] = led_away
        parts[d, 4] = (draws.deficit_m[d] - deficit) * area
        parts[d, 5] = lost
        parts[d, 6] = fast + (store + pond) * area


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
