"""Ground water that comes from far off: how high it stands, and what it brings to the drain."""

from __future__ import annotations

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.seepage import hooghoudt_equivalent_depth_m, one_sided_m3_s, sichardt_reach_m
from riskkit.quantities.variables import variable
from riskkit.records import FloatArray
from riskkit.simulate.wall import native_k_m_s

__all__ = ["equivalent_depth_m", "least_water_table_of", "steady_inflow_of", "water_table_of"]

DRAIN_RADIUS_M = 0.15
"""Radius of the drain with its gravel [m]."""
_LEAST_HEAD_M = 0.02  # of ground water over the level at which it was seen to come in
_SEAMS = 10.0  # times the usual conductivity, with seams of sand or a soil told wrongly (judgement)
_HALVINGS = 30  # of some metres: far below a millimetre


def equivalent_depth_m(homes: HomeSamples) -> FloatArray:
    """Return Hooghoudt's equivalent depth of the ground below the drain of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Depth [m].
    """
    spacing = 2.0 * homes["half_distance_m"]
    return hooghoudt_equivalent_depth_m(homes["permeable_depth_m"], spacing, DRAIN_RADIUS_M)


def water_table_of(homes: HomeSamples) -> FloatArray:
    """Return the height of the ground water above the foundation drain.

    As given or drawn, unless that is too low for the inflow that was seen in dry weather, see
    `least_water_table_of`: a depth that is told is a guess, the inflow is there. Then, and where
    the depth is unknown (NaN), it is the height that brings the inflow through ground of the
    conductivity drawn, up to the ground outside.

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
    cannot = np.isnan(height) | (height < least_water_table_of(homes))
    return np.where(comes & cannot, _needed(homes, native_k_m_s(homes)), height)


def least_water_table_of(homes: HomeSamples) -> FloatArray:
    """Return how high ground water must stand at least to bring the dry-weather inflow.

    In ground that lets through ten times as much as is usual for its kind, for seams and a soil
    that is told wrongly; up to the ground outside.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Height above the bottom of the drain; minus infinity where no such inflow is known [m].
    """
    measured = homes["dry_inflow_m3_s"]
    comes = np.isfinite(measured) & (measured > 0)
    most_open = _SEAMS * variable("ground.native_k_factor").unknown.p50
    k = native_k_m_s(homes) * np.maximum(1.0, most_open / homes["native_k_factor"])
    return np.where(comes, _needed(homes, k), -np.inf)


def _needed(homes: HomeSamples, k_m_s: FloatArray) -> FloatArray:
    """Height that brings the dry-weather inflow, by halving."""
    level = _level_when_measured(homes)
    ground = homes["drain_depth_m"] + homes["depth_below_ground_m"]
    low = level + _LEAST_HEAD_M
    high = np.maximum(ground, low)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        most = _inflow(homes, k_m_s, middle, level[:, None])[:, 0]
        too_low = most < homes["dry_inflow_m3_s"]
        low, high = np.where(too_low, middle, low), np.where(too_low, high, middle)
    return high


def _inflow(
    homes: HomeSamples, k_m_s: FloatArray, table_m: FloatArray, level_m: FloatArray
) -> FloatArray:
    reach = sichardt_reach_m(table_m, k_m_s)
    return one_sided_m3_s(
        homes["perimeter_m"], k_m_s, table_m, level_m, reach, equivalent_depth_m(homes)
    )


def _level_when_measured(homes: HomeSamples) -> FloatArray:
    """Level above the drain while the pump cycles, where a dry-weather inflow is measured."""
    return np.maximum(homes["drain_depth_m"] - homes["on_depth_m"], 0.0)


def steady_inflow_of(homes: HomeSamples, level_m: FloatArray) -> FloatArray:
    """Return the ground water from far off that reaches the footing at given levels.

    Flow to one side of a drain with a Sichardt reach; where a dry-weather inflow was measured, the
    same curve scaled to pass through it.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    level_m : (n_draws, n_levels) array
        Levels at the footing relative to the floor [m].

    Returns
    -------
    (n_draws, n_levels) array
        Flow, never negative [m3/s].
    """
    k, table = native_k_m_s(homes), water_table_of(homes)
    flow = _inflow(homes, k, table, level_m + homes["drain_depth_m"][:, None])
    measured = homes["dry_inflow_m3_s"]
    if not np.isfinite(measured).any():
        return flow
    at_measured = _inflow(homes, k, table, _level_when_measured(homes)[:, None])[:, 0]
    positive = np.isfinite(measured) & (at_measured > 0)
    scale = np.where(positive, measured / np.where(positive, at_measured, 1.0), 1.0)
    none = np.isfinite(measured) & (measured == 0)
    return flow * np.where(none, 0.0, scale)[:, None]
