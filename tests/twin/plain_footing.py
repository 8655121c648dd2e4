"""The ground beside the footing while its drain flows freely, written from the method notebook."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from math import exp, log

import numpy as np

from tests.twin.plain_home import Footing


def lot_step(
    footing: Footing,
    stores: Sequence[float],
    levels_m: tuple[float, float],
    recharge_m3_s: float,
    step_s: float,
) -> tuple[list[float], float]:
    """Follow the reservoirs of the lot through a step in which the level goes straight on.

    Returns the reservoirs after it and what they gave in it [m3].
    """
    begin, end = (level - footing.invert_m for level in levels_m)
    slope = (end - begin) / step_s
    after = []
    for n, water in enumerate(stores):
        time, area = footing.store_s[n], footing.store_area_m2[n]
        # dN/dt = w R - (N - a (begin + slope t)) / time
        lag = area * (begin - slope * time) + footing.store_share[n] * recharge_m3_s * time
        after.append(lag + area * slope * step_s + (water - lag) * exp(-step_s / time))
    return after, recharge_m3_s * step_s - (sum(after) - sum(stores))


def ground_water_at(footing: Footing, level_m: float) -> float:
    """Ground water from far off at a level [m3/s]."""
    return float(np.interp(level_m, footing.level_m, footing.ground_water_m3_s))


def mean_ground_water(footing: Footing, begin_m: float, end_m: float) -> float:
    """Ground water of a step, from its levels at both ends [m3/s]."""
    return (ground_water_at(footing, begin_m) + ground_water_at(footing, end_m)) / 2


def drained_level(
    footing: Footing, level_m: float, inflow_m3_s: float, step_s: float, lot_m2: float
) -> float:
    """Level after a step with the drain flowing freely, band by band.

    The inflow is that of a level that stays. Where it moves, lot and ground far off give less: for
    each metre of rise that volume of the lot, of the ground far off half of what its flow falls.
    """
    left, c, z = step_s, footing.conductance_m2_s, footing.invert_m
    settles = z + inflow_m3_s / c
    rising = settles > level_m
    while left > 0:
        band = min(max(bisect_right(footing.level_m, level_m) - 1, 0), len(footing.area_m2) - 1)
        if not rising and level_m == footing.level_m[band] and band > 0:
            band -= 1
        low, high = footing.level_m[band], footing.level_m[band + 1]
        falls = ground_water_at(footing, low) - ground_water_at(footing, high)
        area = footing.area_m2[band] + lot_m2 + falls / (high - low) * step_s / 2
        after = settles + (level_m - settles) * exp(-left * c / area)
        edge = high if rising else low
        last = band == len(footing.area_m2) - 1 if rising else band == 0
        beyond = edge < settles if rising else edge > settles
        if last or not beyond or (after <= edge if rising else after >= edge):
            return after
        left -= area / c * log((level_m - settles) / (edge - settles))
        level_m = edge
    return level_m


def level_after(
    footing: Footing,
    stores: Sequence[float],
    level_m: float,
    other_m3_s: float,
    recharge_m3_s: float,
    step_s: float,
) -> float:
    """Level after a step in which lot and ground water give less, the more the level has risen."""
    _, staying = lot_step(footing, stores, (level_m, level_m), recharge_m3_s, step_s)
    _, rising = lot_step(footing, stores, (level_m, level_m + 1), recharge_m3_s, step_s)
    inflow = other_m3_s + staying / step_s + ground_water_at(footing, level_m)
    return drained_level(footing, level_m, inflow, step_s, staying - rising)


def free_drainage(
    footing: Footing, footing_m3_s: Sequence[float], recharge_m3_s: Sequence[float], step_s: float
) -> dict[str, list[float]]:
    """Follow the footing through a storm while its drain flows freely (section 4)."""
    out: dict[str, list[float]] = {
        name: [] for name in ("level_m", "stores_m3", "lot_drain", "ground_water", "deep", "to_pit")
    }
    level, stores = footing.invert_m, list(footing.store_m3)
    for direct, recharge in zip(footing_m3_s, recharge_m3_s, strict=True):
        out["level_m"].append(level)
        out["stores_m3"].append(stores)
        ground = ground_water_at(footing, level)

        # the deep ground takes of what comes while the level stays, also of what the lot takes up
        _, staying = lot_step(footing, stores, (level, level), recharge, step_s)
        deep = min(footing.deep_m3_s, direct + ground + max(staying / step_s, 0.0))
        then = level_after(footing, stores, level, direct - deep, recharge, step_s)
        after, gave = lot_step(footing, stores, (level, then), recharge, step_s)
        ground = mean_ground_water(footing, level, then)
        arrives = direct + gave / step_s + ground
        held = held_m3(footing, then) - held_m3(footing, level)
        out["lot_drain"].append(gave / step_s)
        out["ground_water"].append(ground)
        out["deep"].append(deep)
        out["to_pit"].append(arrives - deep - held / step_s)
        level, stores = then, after
    return out


def held_m3(footing: Footing, level_m: float) -> float:
    """Water in gravel and fill above the drain [m3]."""
    volume = 0.0
    for band, area in enumerate(footing.area_m2):
        low, high = footing.level_m[band], footing.level_m[band + 1]
        top = level_m if band == len(footing.area_m2) - 1 else min(level_m, high)
        volume += area * max(top - low, 0.0)
    return volume
