"""The water of one storm, from the rain to footing and water table, from the method notebook.

Everything runs in the steps of the storm, one number after the other; all in SI.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from tests.twin.plain_home import Surface

Array = NDArray[np.float64]


def steps_mm(
    duration_h: Sequence[float], depth_mm: Sequence[float], storm_h: float, step_s: float
) -> tuple[Array, Array]:
    """Depth of 1, 2, 3 … steps [mm]: ln depth straight over ln duration; and their hours."""
    hours = (np.arange(round(storm_h * 3600 / step_s)) + 1) * step_s / 3600
    return np.exp(np.interp(np.log(hours), np.log(duration_h), np.log(depth_mm))), hours


def nested_mm(ranked: Sequence[float]) -> list[float]:
    """Set blocks round the middle: the first there, the others right and left of it in turn."""
    rain = [0.0] * len(ranked)
    middle = (len(ranked) - 1) // 2
    for rank, mm in enumerate(ranked):
        away = (rank + 1) // 2
        rain[middle + away if rank % 2 else middle - away] = float(mm)
    return rain


def alternating_blocks_mm(
    duration_h: Sequence[float],
    depth_mm: Sequence[float],
    by_ratio: Sequence[bool],
    storm_h: float,
    step_s: float,
) -> list[float]:
    """Nest the depths of all durations in one storm (section 2)."""
    depth, hours = steps_mm(duration_h, depth_mm, storm_h, step_s)
    block = np.diff(depth, prepend=0.0)
    known = min(h for h, ratio in zip(duration_h, by_ratio, strict=True) if not ratio)
    inner = int((hours <= known + 1e-9).sum()) if any(by_ratio) else 0
    return nested_mm(sorted(block[:inner])[::-1] + sorted(block[inner:])[::-1])


def drawn_rain_mm(
    duration_h: Sequence[float],
    depth_mm: Sequence[float],
    ratio_log_sd: Sequence[float],
    storm_h: float,
    step_s: float,
    log_factor: float,
    burst_score: float,
) -> list[float]:
    """Rain of one draw: all depths times a factor, those known by ratios shifted besides."""
    depth, hours = steps_mm(duration_h, depth_mm, storm_h, step_s)
    log_sd = np.interp(np.log(hours), np.log(duration_h), ratio_log_sd)
    inner = int(np.flatnonzero(log_sd)[-1]) + 2
    shifted = depth[:inner] * np.exp(burst_score * log_sd[:inner])
    shifted = np.minimum(np.maximum.accumulate(shifted), depth[inner - 1])
    block = np.diff(shifted, prepend=0.0), np.diff(depth[inner - 1 :])
    ranked = [mm for part in block for mm in sorted(part.tolist())[::-1]]
    return [mm * exp(log_factor) for mm in nested_mm(ranked)]


def front_m(k: float, sorption: float, start_m: float, time_s: float) -> float:
    """Depth infiltrated under standing water, after Green and Ampt, integrated."""
    if time_s <= 0:
        return start_m
    if sorption <= 0:
        return start_m + k * time_s

    def gap(depth: float) -> float:
        grown = log((depth + sorption) / (start_m + sorption))
        return depth - start_m - sorption * grown - k * time_s

    high = start_m + k * time_s + 2 * (2 * sorption * k * time_s) ** 0.5 + 1e-12
    while gap(high) < 0:
        high *= 2
    return float(brentq(gap, start_m, high, xtol=1e-18, rtol=1e-15))


def taken_in_m(
    k: float, sorption: float, start_m: float, stands_m: float, comes_m_s: float, step_s: float
) -> float:
    """Depth that goes in during a step of steady supply, some water standing there at first."""
    until = used_up_s(k, sorption, start_m, stands_m, comes_m_s, step_s) if stands_m > 0 else 0.0
    if until == step_s:
        return front_m(k, sorption, start_m, step_s) - start_m
    # nothing stands any more: all that comes goes in, until the ground is sated
    so_far = start_m + (stands_m + comes_m_s * until)
    rest = step_s - until
    if comes_m_s <= k:
        return so_far - start_m + comes_m_s * rest
    ponds_at = k * sorption / (comes_m_s - k)
    dry_for = min(max((ponds_at - so_far) / comes_m_s, 0.0), rest)
    return front_m(k, sorption, so_far + comes_m_s * dry_for, rest - dry_for) - start_m


def used_up_s(
    k: float, sorption: float, start_m: float, stands_m: float, comes_m_s: float, step_s: float
) -> float:
    """Time after which the front has taken all that stood and came; the whole step if never."""

    def left(time_s: float) -> float:
        return stands_m + comes_m_s * time_s - (front_m(k, sorption, start_m, time_s) - start_m)

    # the front slows down: least is left where it takes what comes, or at the end
    least = step_s
    if comes_m_s > k:
        ponds_at = max(k * sorption / (comes_m_s - k), start_m)
        grown = sorption * log((ponds_at + sorption) / (start_m + sorption)) if sorption > 0 else 0
        least = min((ponds_at - start_m - grown) / k, step_s)
    return step_s if left(least) >= 0 else float(brentq(left, 0.0, least, xtol=1e-12))


@dataclass
class Store:
    """Ground that has taken in water: its deficit, then its drainable pores (per area)."""

    surface: Surface
    infiltrated_m: float = 0.0
    deficit_m: float = field(init=False)
    water_m: float = field(init=False)

    def __post_init__(self) -> None:
        self.deficit_m = self.surface.deficit_m
        self.water_m = self.surface.water_m

    def can_take_m(self, stands_m: float, comes_m_s: float, step_s: float) -> float:
        """Return what the front and the room in the ground let in during a step [m]."""
        s = self.surface
        into = taken_in_m(s.k_m_s, s.sorption_m, self.infiltrated_m, stands_m, comes_m_s, step_s)
        if self.after(into, step_s) <= s.room_m:
            return into
        # full ground takes no more than it hands on
        return float(brentq(lambda x: self.after(x, step_s) - s.room_m, 0.0, into, xtol=1e-18))

    def after(self, into_m: float, step_s: float) -> float:
        """Return the drainable water after a step in which water went in evenly [m]."""
        time = self.surface.time_s
        rate = into_m / step_s
        # it drains from the moment on at which the deficit is met
        rest = step_s - self.deficit_m / rate if into_m > self.deficit_m else 0.0
        return self.water_m * exp(-step_s / time) + rate * time * (1 - exp(-rest / time))

    def take(self, into_m: float, step_s: float) -> float:
        """Take that in, and return what drained in the step [m]."""
        after = self.after(into_m, step_s)
        drained = self.water_m + max(into_m - self.deficit_m, 0.0) - after
        self.infiltrated_m += into_m
        self.deficit_m = max(self.deficit_m - into_m, 0.0)
        self.water_m = after
        return drained


WALL_COLUMNS = (
    "roof_at_wall", "gutter_overflow", "roof_tied_in", "window_wells", "run_on", "at_wall",
    "gap_direct", "infiltration", "ponded_to_gap", "run_off", "gap_flow", "fill_drainage",
    "lot_infiltration", "recharge",
)  # fmt: skip


def wall_water(
    rain_mm: Sequence[float], step_s: float, draw: Mapping[str, float], fill: Surface, lot: Surface
) -> dict[str, list[float]]:
    """Water at the wall and on the lot, mean flows of each step [m3/s] (section 3)."""
    out: dict[str, list[float]] = {name: [] for name in (*WALL_COLUMNS, "ponded_m")}
    roof = draw["roof_area_m2"] * draw["roof_runoff_share"]
    gutter = draw["gutter_capacity_mm_h"] / 3.6e6
    g, gap_time, ponding_time = draw["gap_share"], draw["gap_time_s"], draw["ponding_time_s"]
    fill_store, lot_store = Store(fill), Store(lot)
    ponded = gap = 0.0
    fade_gap = exp(-step_s / gap_time)
    for mm in rain_mm:
        rain = mm / 1000 / step_s
        flow = {
            "roof_at_wall": min(rain, gutter) * roof * draw["at_wall_share"],
            "gutter_overflow": max(rain - gutter, 0.0) * roof,
            "roof_tied_in": min(rain, gutter) * roof * draw["to_drain_share"],
            "window_wells": rain * draw["well_area_m2"],
        }
        lot_in = lot_store.can_take_m(0.0, rain, step_s)
        recharge = lot_store.take(lot_in, step_s)
        flow["lot_infiltration"] = lot_in * lot.area_m2 / step_s
        flow["recharge"] = recharge * lot.area_m2 / step_s
        # it comes from the lot: from no more than all of it
        sloping = min(draw["runon_area_m2"], lot.area_m2)
        flow["run_on"] = (rain - lot_in / step_s) * sloping
        flow["at_wall"] = (
            rain * fill.area_m2 + flow["roof_at_wall"] + flow["gutter_overflow"] + flow["run_on"]
        )
        arriving = flow["at_wall"] / fill.area_m2
        out["ponded_m"].append(ponded)

        into = fill_store.can_take_m(ponded, (1 - g) * arriving, step_s)
        net = (1 - g) * arriving - into / step_s
        before = ponded
        most = draw["ponding_depth_m"]
        ponded, to_gap, off = ponding_step(ponded, net, ponding_time, most, step_s)
        # ponded water that is gone before the step ends gave to the gap what it cannot give twice
        into = before + (1 - g) * arriving * step_s - to_gap - off - ponded
        drained = fill_store.take(into, step_s)
        flow["gap_direct"] = g * flow["at_wall"]
        flow["infiltration"] = into * fill.area_m2 / step_s
        flow["ponded_to_gap"] = to_gap * fill.area_m2 / step_s
        flow["run_off"] = off * fill.area_m2 / step_s
        flow["fill_drainage"] = drained * fill.area_m2 / step_s

        into_gap = flow["gap_direct"] + flow["ponded_to_gap"]
        into_gap += flow["window_wells"] + flow["roof_tied_in"]
        after = into_gap * gap_time + (gap - into_gap * gap_time) * fade_gap
        flow["gap_flow"] = into_gap - (after - gap) / step_s
        gap = after
        for name in WALL_COLUMNS:
            out[name].append(flow[name])
    out["on its way"] = [
        gap, ponded * fill.area_m2, fill_store.water_m * fill.area_m2,
        lot_store.water_m * lot.area_m2,
    ]  # fmt: skip
    out["in"] = [gap_time, ponding_time, fill.time_s, lot.time_s]
    return out


def ponding_step(
    ponded: float, net_m_s: float, time_s: float, most_m: float, step_s: float
) -> tuple[float, float, float]:
    """Follow the ponded water through a step: depth after it, what drained, what ran off [m]."""
    settles = net_m_s * time_s
    fade = exp(-step_s / time_s)
    after = settles + (ponded - settles) * fade
    if after > most_m:
        # full from the moment at which it reaches its greatest depth
        full_after = time_s * log((settles - ponded) / (settles - most_m))
        rest = step_s - full_after
        drained = ponded + net_m_s * full_after - most_m + most_m / time_s * rest
        return most_m, drained, net_m_s * rest - most_m / time_s * rest
    if after < 0:
        empty_after = time_s * log((ponded - settles) / -settles) if ponded > 0 else 0.0
        return 0.0, max(ponded + net_m_s * empty_after, 0.0), 0.0
    return after, ponded + net_m_s * step_s - after, 0.0
