"""From a home to the ground beside its footing: gravel and fill that fill, the lot that drains."""

from __future__ import annotations

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.lot import reservoir_coefficient_s, reservoir_shares, reservoir_times_s
from riskkit.inflow.soils import soil_properties
from riskkit.pit.geometry import round_area_m2
from riskkit.pit.vessels import FootingModel
from riskkit.records import FloatArray
from riskkit.simulate.ground_water import equivalent_depth_m, steady_inflow_of, water_table_of
from riskkit.simulate.wall import MM_D, native_k_m_s

__all__ = ["footing_of", "lot_before_m3"]

_GRAVEL_HEIGHT_M = 0.3  # of the gravel round the drain, from beside the footing to above it
_HALF_HEAD_M = 0.3  # of the water table above the drain, at which the lot's reservoirs are taken
_SEEN_HEAD_M = 0.1  # of water over the drain at most, that brings the inflow of dry weather
_LEAST_M2_S = 1e-5  # of a drain that is closed: what seeps under the footing (judgement)
_LEAST_BAND_M = 1e-7
_FLOOR, _SURFACE = 2, 3  # columns of the levels that bound bands
_DEEP_M = 1.0  # of ground water below the drain, from which the ground takes water freely


def footing_of(homes: HomeSamples) -> FootingModel:
    """Return the ground beside the footing of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    FootingModel
        What it holds, what comes through it, and what leads away.
    """
    fill, ground = soil_properties(homes.backfill), soil_properties(homes.soil)
    perimeter, width = homes["perimeter_m"], homes["backfill_width_m"]
    invert = -homes["drain_depth_m"]
    lot_area = perimeter * homes["half_distance_m"]
    k = native_k_m_s(homes)
    below = equivalent_depth_m(homes)
    j_s = reservoir_coefficient_s(
        ground.drainable_porosity, homes["half_distance_m"], k, below + _HALF_HEAD_M
    )
    share = reservoir_shares()
    pores = ground.drainable_porosity * lot_area  # water per metre of rise of the water table
    # gravel round the drain, fill above and beside it; the lot next to the wall goes along at once
    gravel_top = invert + _GRAVEL_HEIGHT_M
    gravel = np.minimum(homes["drain_gravel_area_m2"], 0.9 * width * _GRAVEL_HEIGHT_M)
    fill_area = perimeter * width * fill.drainable_porosity
    low = perimeter * (
        gravel / _GRAVEL_HEIGHT_M * homes["gravel_pore_share"]
        + (width - gravel / _GRAVEL_HEIGHT_M) * fill.drainable_porosity
        + homes["drain_open_share"] * round_area_m2(homes["drain_bore_m"]) / _GRAVEL_HEIGHT_M
    )  # fmt: skip
    table = invert + water_table_of(homes)
    surface = np.maximum(homes["depth_below_ground_m"], 0.3)
    floor = np.zeros(homes.n_draws)
    within = invert[:, None] + (table - invert)[:, None] * np.array([0.25, 0.5, 0.75, 1.0])
    within = np.where((table > invert)[:, None], within, invert[:, None])
    marks = np.column_stack([invert, gravel_top, floor, surface, within.clip(max=surface[:, None])])
    order = np.argsort(marks, axis=1, kind="stable")
    apart = np.arange(order.shape[1]) * _LEAST_BAND_M  # no band of zero height
    level = np.take_along_axis(marks, order, axis=1) + apart
    level[:, 0] = invert
    # a level that rises would pass one band after the other: where no ground water stands above
    # the drain, those that only ground water tells apart go to the top, where no water comes
    idle = (table <= invert)[:, None] & ((order == _FLOOR) | (order > _SURFACE))
    level = np.sort(np.where(idle, level[:, -1:] + apart, level), axis=1)
    middle = (level[:, 1:] + level[:, :-1]) / 2
    area = np.where(middle < gravel_top[:, None], low[:, None], fill_area[:, None])
    area = area + ((1 - share.sum()) * pores)[:, None]
    return FootingModel(
        level_m=level,
        area_m2=area,
        steady_m3_s=steady_inflow_of(homes, level),
        conductance_m2_s=_conductance_m2_s(homes),
        joint_m2_s=homes["joint_conductance_m2_s"],
        deep_m3_s=homes["deep_percolation_mm_d"] * MM_D * np.clip(
            (invert - table) / _DEEP_M, 0.0, 1.0
        ) * perimeter * (width + homes["half_distance_m"]),
        store_s=reservoir_times_s(j_s),
        store_area_m2=share * pores[:, None],
        store_share=share,
    )  # fmt: skip


def _conductance_m2_s(homes: HomeSamples) -> FloatArray:
    """Conductance of the drain; never too small for the inflow that was seen in dry weather."""
    open_m2_s = homes["drain_conductance_m2_s"] * homes["drain_open_share"]
    seen = np.nan_to_num(homes["dry_inflow_m3_s"]) / _SEEN_HEAD_M
    return np.maximum(open_m2_s, np.maximum(seen, _LEAST_M2_S))


def lot_before_m3(homes: HomeSamples, footing: FootingModel) -> FloatArray:
    """Return the water in the lot's reservoirs under the recharge of the days before.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    footing : FootingModel
        Their footings.

    Returns
    -------
    (n_draws, n_stores) array
        Water above the level of the drain [m3].
    """
    area = homes["perimeter_m"] * homes["half_distance_m"]
    rate = homes["antecedent_recharge_mm_d"] * MM_D * area
    return rate[:, None] * footing.store_share * footing.store_s
