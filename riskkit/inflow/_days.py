"""The compiled loops of days: snow and frost once, soil water for several soils side by side.

Depths are mm of water, temperatures degC. What it means, with sources, stands in the public modules
`snow` and `wetness`.
"""

from __future__ import annotations

import math

from riskkit.compiled import compiled
from riskkit.records import FloatArray

__all__ = ["frost_loop", "reservoir_loop", "snow_loop", "soil_loop"]


@compiled()
def snow_loop(
    rain: FloatArray, snow: FloatArray, melt: FloatArray, water: FloatArray, pack: FloatArray
) -> None:
    """Fill the water that reaches the ground and the pack at the end of each day (n_days,)."""
    lying = 0.0
    for i in range(rain.size):
        lying += snow[i]
        melted = min(lying, melt[i])
        lying -= melted
        water[i] = rain[i] + melted
        pack[i] = lying


@compiled()
def frost_loop(
    mean: FloatArray,
    snow_cm: FloatArray,
    keep: float,
    shield_cold: float,
    shield_warm: float,
    index: FloatArray,
) -> None:
    """Fill the frost index at the end of each day (n_days,)."""
    frost = 0.0
    for i in range(mean.size):
        shield = shield_cold if mean[i] < 0.0 else shield_warm
        frost = max(0.0, keep * frost - mean[i] * math.exp(-0.4 * shield * snow_cm[i]))
        index[i] = frost


@compiled()
def soil_loop(
    water: FloatArray,
    demand: FloatArray,
    available: FloatArray,
    full: FloatArray,
    easy: float,
    kept: FloatArray,
    start: FloatArray,
    stored: FloatArray,
    recharge: FloatArray,
    unmet: FloatArray,
    parts: FloatArray,
) -> None:
    """Fill store, drainage and unmet demand (n_soils, n_days), and what was used and ran off.

    `parts` is (n_soils, 2).
    """
    n_soils, n_days = stored.shape
    for s in range(n_soils):
        store = start[s]
        for i in range(n_days):
            store += water[i]
            over = max(0.0, store - full[s])
            store -= over
            share = min(0.8, max(0.1, easy + 0.04 * (5.0 - demand[i])))
            lacking = max(0.0, available[s] - store)
            stress = min(1.0, (available[s] - lacking) / ((1.0 - share) * available[s]))
            used = min(store, stress * demand[i])
            store -= used
            drained = max(0.0, store - available[s]) * (1.0 - kept[s])
            store -= drained
            stored[s, i] = store
            recharge[s, i] = drained
            unmet[s, i] = demand[i] - used
            parts[s, 0] += used
            parts[s, 1] += over


@compiled()
def reservoir_loop(
    recharge: FloatArray,
    kept: FloatArray,
    rise: FloatArray,
    base: FloatArray,
    top: FloatArray,
    level: FloatArray,
) -> None:
    """Fill the level at the end of each day (n_draws, n_days); it begins where it would settle."""
    n_draws, n_days = level.shape
    first = min(n_days, 365)
    for d in range(n_draws):
        now = min(top[d], base[d] + rise[d] * recharge[d, :first].mean())
        for i in range(n_days):
            goal = base[d] + rise[d] * recharge[d, i]
            now = min(top[d], goal + (now - goal) * kept[d])
            level[d, i] = now
