"""The compiled loop of dry steps, which most hours of a year are, and what plants use in a step.

`_kernel` has the steps in which rain falls or water stands on the ground.
"""

from __future__ import annotations

from typing import Any

from riskkit.compiled import compiled
from riskkit.records import FloatArray

__all__ = ["OPTIONS", "dry_steps", "used_by_plants"]

# As in the loops of the pit, but for fused sums: what is divided by zero is not asked at every step
OPTIONS: dict[str, Any] = {"error_model": "numpy"}


@compiled(**OPTIONS)
def used_by_plants(
    deficit: float, store: float, demand: float, per_scarce: float, available: float, reach: float
) -> tuple[float, float, float]:
    """Return deficit, store and what plants use in a step: FAO-56, eqs 83 to 85.

    They draw on the drainable water within reach of their roots first, at their full demand.
    `per_scarce` is one over the available water at which they begin to draw less.
    """
    free = min(demand, store * reach)
    store -= free
    demand -= free
    if demand <= 0.0 or available <= 0.0:
        return deficit, store, free
    left = max(0.0, available - deficit)
    used = min(left, demand * min(1.0, left * per_scarce))
    return deficit + used, store, free + used


@compiled(**OPTIONS)
def dry_steps(
    rain_mm: FloatArray, demand_mm: FloatArray, scarce: FloatArray, first: int, stop: int,
    footing: FloatArray, recharge: FloatArray, deficit: float, store: float, lot_deficit: float,
    lot_store: float, fast: float, decay: float, lot_decay: float, fast_decay: float,
    available: float, lot_available: float, reach: float, lot_reach: float, area: float,
    lot: float, per_step: float,
) -> tuple[int, float, float, float, float, float, float, float, float]:  # fmt: skip
    """Let the stores fall while no rain comes, up to a step at most.

    Returns that step, the stores, and what reached the footing, seeped and was used meanwhile. It
    is the loop of all steps without what a dry one does not need: most hours of a year are dry, and
    in a short loop what they share stays in the registers.
    """
    with_plants = demand_mm.size > 0
    reached = seeped = transpired = 0.0
    j = first
    while j < stop and rain_mm[j] <= 0.0:
        drained, down, fast_out = store, lot_store, fast
        store *= decay
        lot_store *= lot_decay
        fast *= fast_decay
        drained -= store
        down -= lot_store
        fast_out -= fast
        if with_plants and demand_mm[j] > 0.0:
            demand = demand_mm[j] * 1e-3
            deficit, store, used = used_by_plants(
                deficit, store, demand, 1.0 / (scarce[j] * available), available, reach
            )
            lot_deficit, lot_store, lot_used = used_by_plants(
                lot_deficit, lot_store, demand, 1.0 / (scarce[j] * lot_available), lot_available,
                lot_reach,
            )  # fmt: skip
            transpired += used * area + lot_used * lot
        out = fast_out + drained * area
        reached += out
        seeped += down * lot
        footing[j] = out * per_step
        recharge[j] = down * lot * per_step
        j += 1
    return j, deficit, store, lot_deficit, lot_store, fast, reached, seeped, transpired
