"""The only place where the stages meet: from a home and a rain to the water in its pit.

::

    rain ──> inflow.storm_inflow ──> PitInflow ─┐
                                                ├──> pit.run_pit          pump in order
    home ──> pit.build_pit ───────> PitModel ───┴──> pit.time_to_flood    pump stopped
                  ^
                  └── inflow.seepage: ground water, falling as the level rises
"""

from __future__ import annotations

import numpy as np

from riskkit.inflow.seepage import dupuit_seepage_m3_s, sichardt_reach_m
from riskkit.inflow.soils import field_capacity_deficit_m, soil_properties
from riskkit.inflow.total import storm_inflow
from riskkit.records import FloatArray, Homes, PitInflow

__all__ = ["inflow_of", "seepage_of", "water_table_of"]

_LEAST_CONTENT = 1e-3  # a wetting front always adds a little water


def inflow_of(
    homes: Homes, rain_mm: FloatArray, step_s: float, rain_factor: FloatArray
) -> PitInflow:
    """Return the storm water that reaches the pit of each home.

    Parameters
    ----------
    homes : Homes
        The homes.
    rain_mm : (n_steps,) or (n_draws, n_steps) array
        Rain in each step, with dry steps after the storm [mm].
    step_s : float
        Length of a step [s].
    rain_factor : (n_draws,) array
        Multiplier of the rain [-].

    Returns
    -------
    PitInflow
        Flow in each step [m3/s] and where the water went [m3].
    """
    fill, ground = soil_properties(homes.backfill), soil_properties(homes.soil)
    saturation = homes["saturation"]
    height_m = homes["depth_below_ground_m"] + homes["drain_depth_m"]
    content = fill.porosity - fill.effective_porosity * (1 - saturation)
    return storm_inflow(
        rain_mm,
        step_s,
        perimeter_m=homes["perimeter_m"],
        backfill_width_m=homes["backfill_width_m"],
        roof_area_m2=homes["roof_area_m2"],
        runoff_share=homes["roof_runoff_share"],
        gutter_capacity_mm_h=homes["gutter_capacity_mm_h"],
        share_at_wall=homes["at_wall_share"],
        share_to_drain=homes["to_drain_share"],
        well_area_m2=homes["well_area_m2"],
        runon_area_m2=homes["runon_area_m2"],
        gap_share=homes["gap_share"],
        fast_time_s=homes["gap_time_s"],
        ponding_depth_m=homes["ponding_depth_m"],
        backfill_k_m_s=fill.k_m_s * homes["looseness"],
        backfill_suction_m=fill.suction_m,
        backfill_moisture_deficit=_deficit(fill.effective_porosity, saturation),
        deficit_m=field_capacity_deficit_m(fill.field_capacity, content, height_m),
        drainable_porosity=fill.drainable_porosity,
        drain_depth_m=height_m,
        native_k_m_s=ground.k_m_s * homes["tightness"],
        native_suction_m=ground.suction_m,
        native_moisture_deficit=_deficit(ground.effective_porosity, saturation),
        rain_factor=rain_factor,
    )


def _deficit(effective_porosity: FloatArray, saturation: FloatArray) -> FloatArray:
    return np.maximum(effective_porosity * (1 - saturation), _LEAST_CONTENT)


def water_table_of(homes: Homes) -> FloatArray:
    """Return the height of the ground water above the foundation drain.

    As given or drawn. Where a dry-weather inflow was measured that this height cannot explain, the
    height that does explain it under Dupuit's formula with the conductivity of the draw.

    Parameters
    ----------
    homes : Homes
        The homes.

    Returns
    -------
    (n_draws,) array
        Height above the bottom of the drain; negative below it [m].
    """
    height = homes["drain_depth_m"] - homes["water_table_depth_m"]
    measured = homes["dry_inflow_m3_s"]
    level = _level_when_measured(homes)
    explain = np.isfinite(measured) & (measured > 0) & (height <= level + 0.01)
    if not explain.any():
        return height
    k = soil_properties(homes.soil).k_m_s * homes["tightness"]
    needed = level + 0.1
    highest = homes["drain_depth_m"] + homes["depth_below_ground_m"]
    for _ in range(60):  # height = sqrt(level^2 + c reach(height)): a contraction
        reach = sichardt_reach_m(needed, k)
        needed = np.sqrt(level**2 + 2 * reach * measured / (homes["perimeter_m"] * k))
    return np.where(explain, np.minimum(needed, highest), height)


def _level_when_measured(homes: Homes) -> FloatArray:
    """Level above the drain while the pump cycles, where a dry-weather inflow is measured."""
    return np.maximum(homes["drain_depth_m"] - homes["on_depth_m"], 0.0)


def seepage_of(homes: Homes, level_m: FloatArray) -> FloatArray:
    """Return the ground water that enters the pit at given levels.

    One-sided Dupuit flow with a Sichardt reach; where a dry-weather inflow was measured, the same
    curve scaled to pass through it.

    Parameters
    ----------
    homes : Homes
        The homes.
    level_m : (n_draws, n_levels) array
        Levels relative to the floor [m].

    Returns
    -------
    (n_draws, n_levels) array
        Flow, never negative [m3/s].
    """
    k = soil_properties(homes.soil).k_m_s * homes["tightness"]
    table = water_table_of(homes)
    above_drain = level_m + homes["drain_depth_m"][:, None]
    reach = sichardt_reach_m(table, k)
    flow = dupuit_seepage_m3_s(homes["perimeter_m"], k, table, above_drain, reach)
    measured = homes["dry_inflow_m3_s"]
    if not np.isfinite(measured).any():
        return flow
    at_measured = dupuit_seepage_m3_s(
        homes["perimeter_m"], k, table, _level_when_measured(homes)[:, None], reach
    )[:, 0]
    positive = np.isfinite(measured) & (at_measured > 0)
    scale = np.where(positive, measured / np.where(positive, at_measured, 1.0), 1.0)
    none = np.isfinite(measured) & (measured == 0)
    return flow * np.where(none, 0.0, scale)[:, None]
