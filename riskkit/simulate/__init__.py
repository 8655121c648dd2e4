"""The only place where the stages meet: from a home and a rain to the water in its pit.

::

    rain ──> inflow.wall_water ──────────────┐
               gap, fill, surface of the lot │
    home ──> footing_of ──> FootingModel ────┼─> pit.free_drainage ──> PitInflow ─┐
    │          gravel, fill, lot, ground     │     the drain flows freely         ├─> pit.run_pit
    │          water                         │                                    │    pump works
    └──────> pit_of ──────> PitModel ────────┼────────────────────────────────────┘
               pit, gravel under the slab,   └─> pit.follow_stops
               pump, pipe                          drain under water, pump stopped
"""

from riskkit.simulate.accounts import WINDOWS_H, PitPart, pit_water_m3
from riskkit.simulate.footing import footing_of, lot_before_m3
from riskkit.simulate.ground_water import (
    least_water_table_of,
    steady_inflow_of,
    water_table_of,
)
from riskkit.simulate.pit import (
    cycle_volume_m3_of,
    drainback_m3_of,
    pit_of,
    pump_flow_of,
    storage_of,
)
from riskkit.simulate.wall import native_k_m_s, saturated_k_m_s, wall_of
from riskkit.simulate.water import (
    Ground,
    Water,
    at_footing,
    dry_water,
    footing_water,
    ground_of,
    water_of,
)

__all__ = [
    "WINDOWS_H",
    "Ground",
    "PitPart",
    "Water",
    "at_footing",
    "cycle_volume_m3_of",
    "drainback_m3_of",
    "dry_water",
    "footing_of",
    "footing_water",
    "ground_of",
    "least_water_table_of",
    "lot_before_m3",
    "native_k_m_s",
    "pit_of",
    "pit_water_m3",
    "pump_flow_of",
    "saturated_k_m_s",
    "steady_inflow_of",
    "storage_of",
    "wall_of",
    "water_of",
    "water_table_of",
]
