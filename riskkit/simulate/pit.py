"""From a home to its pit, its pump and its pipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.pit.geometry import (
    StorageLayer,
    basement_storage,
    gravel_storage,
    measured_storage,
    pump_body,
    rectangular_storage,
    round_area_m2,
    round_storage,
    tapered_storage,
    volume_m3,
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
from riskkit.records import FloatArray, PitModel

__all__ = ["cycle_volume_m3_of", "drainback_m3_of", "pit_of", "pump_flow_of", "storage_of"]

_MOST_PUMP = 0.6  # of the pit's area


def pit_of(homes: HomeSamples, *, strict: bool = False) -> PitModel:
    """Return the pit of each home, with its pump.

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
    pit = build_pit(
        storage_of(homes),
        homes["off_depth_m"],
        homes["on_depth_m"],
        homes["alarm_depth_m"],
        lambda level_m: pump_flow_of(homes, level_m),
        np.zeros(homes.n_draws),
        extra_depth_m=(homes["drain_depth_m"],),
        return_share=homes["return_share"],
        drainback_m3=drainback_m3_of(homes),
    )
    return replace(pit, has_pump=homes.has_pump)


def cycle_volume_m3_of(homes: HomeSamples) -> FloatArray:
    """Return the water between the start and the stop of each pump.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Volume [m3].

    References
    ----------
    arithmetic : volume between two levels
    """
    room = storage_of(homes)
    return volume_m3(room, -homes["on_depth_m"]) - volume_m3(room, -homes["off_depth_m"])


def drainback_m3_of(homes: HomeSamples) -> FloatArray:
    """Return the water that falls back from the pipe of each home after every stop of the pump.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Volume [m3].

    References
    ----------
    arithmetic : the riser above the level at which the pump starts
    """
    riser_m = homes["outlet_height_m"] + homes["on_depth_m"]
    return pipe_water_m3(homes["pipe_bore_m"], riser_m, homes["drainback_share"])


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
    carried = duty_flow_m3_s(
        level_m,
        _curve(homes),
        homes["outlet_height_m"],
        bore,
        homes["pipe_length_m"] + fittings,
        homes["capacity_share"],
    )
    return np.asarray(homes["passing_share"][:, None] * carried)


def storage_of(homes: HomeSamples) -> list[StorageLayer]:
    """Return the room for water in and around the pit of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    list of StorageLayer
        The pit bottom up, then its pump, the gravel under the slab and the basement.
    """
    depth, diameter = homes["pit_depth_m"], homes["pit_diameter_m"]
    if homes.pit_table is not None:
        pit = measured_storage(*np.array(homes.pit_table).T)
        depth = np.full(homes.n_draws, -min(float(slab.low_m.min()) for slab in pit))
        area = _narrowest_m2(pit, homes["pump_height_m"] - depth)
    elif np.isfinite(homes["pit_length_m"]).all():
        pit = rectangular_storage(depth, homes["pit_length_m"], homes["pit_width_m"])
        area = homes["pit_length_m"] * homes["pit_width_m"]
    elif np.isfinite(homes["pit_bottom_diameter_m"]).all():
        bottom = np.minimum(homes["pit_bottom_diameter_m"], diameter)
        pit, area = tapered_storage(depth, diameter, bottom), round_area_m2(bottom)
    else:
        pit, area = round_storage(depth, diameter), round_area_m2(diameter)
    # a pump drawn too large for the pit fills most of it, never all
    body = homes.has_pump * np.minimum(
        homes["pump_volume_m3"], _MOST_PUMP * area * homes["pump_height_m"]
    )
    gravel_m = np.minimum(homes["gravel_thickness_m"], depth - homes["slab_thickness_m"] - 0.01)
    return [
        *pit,
        pump_body(depth, body, homes["pump_height_m"]),
        gravel_storage(
            homes["slab_thickness_m"],
            np.maximum(gravel_m, 0.0),
            homes["basement_area_m2"],
            homes["gravel_pore_share"],
            homes["gravel_connected_share"],
        ),
        basement_storage(homes["basement_area_m2"], homes["occupied_share"]),
    ]


def _narrowest_m2(pit: Sequence[StorageLayer], top_m: FloatArray) -> FloatArray:
    """Smallest area of a pit below each of some levels, where pumps stand in it."""
    reached = [np.where(slab.low_m < top_m, slab.area_m2, np.inf) for slab in pit]
    return np.asarray(np.min(reached, axis=0))
