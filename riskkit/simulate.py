"""The only place where the stages meet: from a home and a rain to the water in its pit.

::

    rain ──> inflow.storm_inflow ──> PitInflow ─┐
                                                ├──> pit.run_pit          pump in order
    home ──> pit.build_pit ───────> PitModel ───┴──> pit.time_to_flood    pump stopped
                  ^
                  └── inflow.seepage: ground water, falling as the level rises
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.seepage import deep_ground_factor, dupuit_seepage_m3_s, sichardt_reach_m
from riskkit.inflow.soils import field_capacity_deficit_m, soil_properties
from riskkit.inflow.total import storm_inflow
from riskkit.pit.geometry import (
    Slab,
    basement_room,
    drain_room,
    gravel_room,
    measured_room,
    pump_body,
    rectangular_room,
    round_area_m2,
    round_room,
    tapered_room,
)
from riskkit.pit.model import build_pit
from riskkit.pit.pipe import equivalent_length_m, pipe_water_m3
from riskkit.pit.pump import (
    PumpCurve,
    curve_from_points,
    curve_from_rating,
    duty_flow_m3_s,
    need_duty_point,
)
from riskkit.quantities.variables import variable
from riskkit.records import FloatArray, PitInflow, PitModel

__all__ = [
    "deep_ground_factor_of",
    "inflow_of",
    "least_water_table_of",
    "pit_of",
    "pump_flow_of",
    "room_of",
    "seepage_of",
    "water_table_of",
]

_LEAST_CONTENT = 1e-3  # a wetting front always adds a little water
_DEEP_M = 1.0  # of ground water below the drain, from which the ground takes water freely
_LEAST_HEAD_M = 0.02  # of ground water over the level at which it was seen to come in
_SEAMS = 10.0  # times the usual conductivity, with seams of sand or a soil told wrongly (judgement)
_HALVINGS = 30  # of some metres: far below a millimetre
_MOST_PUMP = 0.6  # of the pit's area


def inflow_of(
    homes: HomeSamples, rain_mm: FloatArray, step_s: float, rain_factor: FloatArray
) -> PitInflow:
    """Return the storm water that reaches the pit of each home.

    Parameters
    ----------
    homes : HomeSamples
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
        loss_share=np.clip(-water_table_of(homes) / _DEEP_M, 0.0, 1.0),
        rain_factor=rain_factor,
    )


def _deficit(effective_porosity: FloatArray, saturation: FloatArray) -> FloatArray:
    return np.maximum(effective_porosity * (1 - saturation), _LEAST_CONTENT)


def water_table_of(homes: HomeSamples) -> FloatArray:
    """Return the height of the ground water above the foundation drain.

    As given or drawn, but never too low for the inflow that was seen in dry weather, see
    `least_water_table_of`: a depth that is told is a guess, the inflow is there. Where the depth is
    unknown (NaN), the height that explains the inflow by Dupuit's formula with the conductivity of
    the draw, up to the ground outside.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Height above the bottom of the drain; negative below it [m].
    """
    height = homes["drain_depth_m"] - homes["water_table_depth_m"]
    measured = homes["dry_inflow_m3_s"]
    comes = np.isfinite(measured) & (measured > 0)
    if not comes.any():
        return height
    level = _level_when_measured(homes)
    derived = np.isnan(height)
    if derived.any():
        k = soil_properties(homes.soil).k_m_s * homes["tightness"]
        needed = level + 0.1
        for _ in range(60):  # height = sqrt(level^2 + c reach(height)): a contraction
            reach = sichardt_reach_m(needed, k)
            needed = np.sqrt(level**2 + 2 * reach * measured / (homes["perimeter_m"] * k))
        height = np.where(derived, np.minimum(needed, _ground_above_drain(homes)), height)
    return np.where(comes, np.maximum(height, least_water_table_of(homes)), height)


def _ground_above_drain(homes: HomeSamples) -> FloatArray:
    return homes["drain_depth_m"] + homes["depth_below_ground_m"]


def least_water_table_of(homes: HomeSamples) -> FloatArray:
    """Return how high ground water must stand at least to bring the dry-weather inflow.

    In ground that lets through ten times as much as is usual for its kind, for seams and a soil
    that is told wrongly, and goes on so below the drain (Hooghoudt); up to the ground outside.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Height above the bottom of the drain; minus infinity where no such inflow is known [m].
    """
    measured, level = homes["dry_inflow_m3_s"], _level_when_measured(homes)
    comes = np.isfinite(measured) & (measured > 0)
    most_open = _SEAMS * variable("ground.tightness").unknown.p50
    k = soil_properties(homes.soil).k_m_s * np.maximum(homes["tightness"], most_open)
    low, high = level + _LEAST_HEAD_M, np.maximum(_ground_above_drain(homes), level + _LEAST_HEAD_M)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        reach = sichardt_reach_m(middle, k)
        most = dupuit_seepage_m3_s(homes["perimeter_m"], k, middle, level[:, None], reach)[:, 0]
        too_low = most * deep_ground_factor(middle, reach) < measured
        low, high = np.where(too_low, middle, low), np.where(too_low, high, middle)
    return np.where(comes, high, -np.inf)


def _level_when_measured(homes: HomeSamples) -> FloatArray:
    """Level above the drain while the pump cycles, where a dry-weather inflow is measured."""
    return np.maximum(homes["drain_depth_m"] - homes["on_depth_m"], 0.0)


def seepage_of(homes: HomeSamples, level_m: FloatArray) -> FloatArray:
    """Return the ground water that enters the pit at given levels.

    One-sided Dupuit flow with a Sichardt reach; where a dry-weather inflow was measured, the same
    curve scaled to pass through it.

    Parameters
    ----------
    homes : HomeSamples
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


def deep_ground_factor_of(homes: HomeSamples) -> FloatArray:
    """Return how many times as much ground water might come through the ground below the drain.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Factor on `seepage_of`; 1 where no ground water comes or its inflow was measured [-].
    """
    table = water_table_of(homes)
    k = soil_properties(homes.soil).k_m_s * homes["tightness"]
    reach = sichardt_reach_m(table, k)
    counts = (table > 0) & ~np.isfinite(homes["dry_inflow_m3_s"])
    return np.where(counts, deep_ground_factor(np.where(counts, table, 1.0), reach), 1.0)


def pit_of(homes: HomeSamples, *, strict: bool = False) -> PitModel:
    """Return the pit of each home, with its pump and its ground water.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    strict : bool
        Refuse a pump that cannot lift water to the outlet; else such a draw pumps nothing.

    Returns
    -------
    PitModel
        Bands of constant area and linear flows.

    Raises
    ------
    NoDutyPointError
        Where the pump is too weak and `strict` is set.
    InputError
        Where the switch levels cannot be, or the pump leaves no room for water.
    """
    if strict and homes.has_pump:
        need_duty_point(-homes["on_depth_m"], _curve(homes), homes["outlet_height_m"])
    riser_m = homes["outlet_height_m"] + homes["on_depth_m"]
    pit = build_pit(
        room_of(homes),
        homes["off_depth_m"],
        homes["on_depth_m"],
        homes["alarm_depth_m"],
        lambda level_m: pump_flow_of(homes, level_m),
        lambda level_m: seepage_of(homes, level_m),
        extra_depth_m=(homes["drain_depth_m"], homes["drain_depth_m"] - water_table_of(homes)),
        return_share=homes["return_share"],
        drainback_m3=pipe_water_m3(homes["pipe_bore_m"], riser_m, homes["drainback_share"]),
    )
    return replace(pit, has_pump=homes.has_pump)


def _curve(homes: HomeSamples) -> PumpCurve:
    if homes.pump_curve is not None:
        flow, head = np.array(homes.pump_curve).T
        return curve_from_points(flow, head)
    return curve_from_rating(
        homes["rated_flow_m3_s"], homes["rated_head_m"], homes["shutoff_head_m"]
    )


def pump_flow_of(homes: HomeSamples, level_m: FloatArray) -> FloatArray:
    """Return what the running pump of each home carries at given levels.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    level_m : (n_draws, n_levels) array
        Levels relative to the floor [m].

    Returns
    -------
    (n_draws, n_levels) array
        Flow; zero where the pump cannot lift water to the outlet, or is not there [m3/s].
    """
    if not homes.has_pump:
        return np.zeros_like(level_m)
    bore = homes["pipe_bore_m"]
    valves = float(homes.has_check_valve)
    fittings = equivalent_length_m(bore, {"elbow_90": homes["elbows"], "swing_check_valve": valves})
    return duty_flow_m3_s(
        level_m,
        _curve(homes),
        homes["outlet_height_m"],
        bore,
        homes["pipe_length_m"] + fittings,
        homes["capacity_share"],
    )


def room_of(homes: HomeSamples) -> list[Slab]:
    """Return the room for water in and around the pit of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    list of Slab
        The pit bottom up, then its pump, drain, gravel and the basement.
    """
    depth, diameter = homes["pit_depth_m"], homes["pit_diameter_m"]
    if homes.pit_table is not None:
        pit = measured_room(*np.array(homes.pit_table).T)
        area = np.full(homes.n_draws, max(float(slab.area_m2.max()) for slab in pit))
        depth = np.full(homes.n_draws, -min(float(slab.low_m.min()) for slab in pit))
    elif np.isfinite(homes["pit_length_m"]).all():
        pit = rectangular_room(depth, homes["pit_length_m"], homes["pit_width_m"])
        area = homes["pit_length_m"] * homes["pit_width_m"]
    elif np.isfinite(homes["pit_bottom_diameter_m"]).all():
        bottom = np.minimum(homes["pit_bottom_diameter_m"], diameter)
        pit, area = tapered_room(depth, diameter, bottom), round_area_m2(bottom)
    else:
        pit, area = round_room(depth, diameter), round_area_m2(diameter)
    # a pump drawn too large for the pit fills most of it, never all
    body = homes.has_pump * np.minimum(
        homes["pump_volume_m3"], _MOST_PUMP * area * homes["pump_height_m"]
    )
    gravel_m = np.minimum(homes["gravel_thickness_m"], depth - homes["slab_thickness_m"] - 0.01)
    return [
        *pit,
        pump_body(depth, body, homes["pump_height_m"]),
        drain_room(
            np.minimum(homes["drain_depth_m"], depth - 0.01),
            homes["drain_bore_m"],
            homes["perimeter_m"],
            homes["drain_open_share"],
        ),
        gravel_room(
            homes["slab_thickness_m"],
            np.maximum(gravel_m, 0.0),
            homes["basement_area_m2"],
            homes["gravel_pore_share"],
            homes["gravel_connected_share"],
        ),
        basement_room(homes["basement_area_m2"], homes["occupied_share"]),
    ]
