"""From a home to the strip of fill at its wall, its roof and its lot."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.soils import SoilProperties, field_capacity_deficit_m, soil_properties
from riskkit.inflow.texture import texture_water
from riskkit.inflow.wall import WallModel
from riskkit.records import FloatArray

__all__ = ["MM_D", "ROOTS_M", "native_k_m_s", "saturated_k_m_s", "wall_of"]

MM_D = 1e-3 / 86400.0
"""A millimetre a day [m/s]."""
_LEAST_CONTENT = 1e-3  # a wetting front always adds a little water
ROOTS_M = 0.5
"""Depth of a lawn's roots: what they dry takes up water before it goes deeper [m]."""
_FULL_SHARE = 0.9  # of its drainable pores that ground may hold before a storm


def wall_of(homes: HomeSamples) -> WallModel:
    """Return the strip of fill, the roof and the lot of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    WallModel
        What storm water meets on its way to the footing.
    """
    fill, ground = soil_properties(homes.backfill), soil_properties(homes.soil)
    saturation = homes["saturation"]
    height_m = homes["depth_below_ground_m"] + homes["drain_depth_m"]
    roots_m = np.minimum(ROOTS_M, height_m)
    fill_room = fill.drainable_porosity * height_m
    # the lot's water table stands at or above the drain, so its room is that above the drain
    lot_room = ground.drainable_porosity * height_m
    fill_time = fill_room / (saturated_k_m_s(homes.backfill) * homes["backfill_k_factor"])
    lot_time = lot_room / native_k_m_s(homes)
    lot_area = homes["perimeter_m"] * homes["half_distance_m"]
    before = homes["antecedent_recharge_mm_d"] * MM_D
    return WallModel(
        perimeter_m=homes["perimeter_m"],
        fill_width_m=homes["backfill_width_m"],
        roof_area_m2=homes["roof_area_m2"],
        runoff_share=homes["roof_runoff_share"],
        gutter_capacity_mm_h=homes["gutter_capacity_mm_h"],
        share_at_wall=homes["at_wall_share"],
        share_to_drain=homes["to_drain_share"],
        well_area_m2=homes["well_area_m2"],
        gap_share=homes["gap_share"],
        ponding_time_s=homes["ponding_time_s"],
        gap_time_s=homes["gap_time_s"],
        ponding_depth_m=homes["ponding_depth_m"],
        fill_k_m_s=fill.k_m_s * homes["backfill_k_factor"],
        fill_suction_m=fill.suction_m,
        fill_moisture_deficit=_deficit(fill.effective_porosity, saturation),
        fill_deficit_m=_lacking(fill, saturation, height_m),
        fill_storage_m=fill_room,
        fill_time_s=fill_time,
        fill_water_m=np.minimum(before * fill_time, _FULL_SHARE * fill_room),
        lot_area_m2=lot_area,
        runon_area_m2=np.minimum(homes["runon_area_m2"], lot_area),
        lot_k_m_s=ground.k_m_s * homes["native_k_factor"],
        lot_suction_m=ground.suction_m,
        lot_moisture_deficit=_deficit(ground.effective_porosity, saturation),
        lot_deficit_m=_lacking(ground, saturation, roots_m),
        lot_storage_m=lot_room,
        lot_time_s=lot_time,
        lot_water_m=np.minimum(before * lot_time, _FULL_SHARE * lot_room),
    )


def _lacking(soil: SoilProperties, saturation: FloatArray, depth_m: FloatArray) -> FloatArray:
    content = soil.porosity - soil.effective_porosity * (1 - saturation)
    return field_capacity_deficit_m(soil.field_capacity, content, depth_m)


def _deficit(effective_porosity: FloatArray, saturation: FloatArray) -> FloatArray:
    return np.maximum(effective_porosity * (1 - saturation), _LEAST_CONTENT)


def saturated_k_m_s(textures: Sequence[str]) -> FloatArray:
    """Return the saturated conductivity of soils by Saxton and Rawls.

    Green and Ampt's conductivity is about half of it and less: air is trapped at a wetting front.

    Parameters
    ----------
    textures : sequence of str
        Texture classes, one per draw.

    Returns
    -------
    (n_draws,) array
        Conductivity [m/s].
    """
    return np.array([_of_texture(name) for name in textures])


@cache
def _of_texture(texture: str) -> float:
    return float(texture_water([texture]).k_m_s[0])


def native_k_m_s(homes: HomeSamples) -> FloatArray:
    """Return the saturated conductivity of the ground beyond the fill of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Conductivity [m/s].
    """
    return saturated_k_m_s(homes.soil) * homes["native_k_factor"]
