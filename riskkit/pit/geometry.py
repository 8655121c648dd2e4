"""Room for water in and around a pit.

Room is a stack of slabs: each holds water over a constant area between two levels. The pump's body
is a slab of negative area. `model` makes a `riskkit.records.PitModel` of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from riskkit.errors import InputError
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "StorageLayer",
    "basement_storage",
    "below_minimum_size",
    "gravel_storage",
    "measured_storage",
    "pump_body",
    "rectangular_storage",
    "round_area_m2",
    "round_storage",
    "tapered_storage",
    "volume_m3",
]


@dataclass(frozen=True)
class StorageLayer:
    """Room for water over a constant area between two levels, relative to the floor.

    Parameters
    ----------
    low_m, high_m : (n_draws,) arrays
        Levels [m].
    area_m2 : (n_draws,) array
        Free area; negative for a body that takes room away [m2].
    """

    low_m: FloatArray
    high_m: FloatArray
    area_m2: FloatArray


def _slab(low_m: object, high_m: object, area_m2: object) -> StorageLayer:
    low, high, area = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(item, dtype=np.float64)) for item in (low_m, high_m, area_m2))
    )
    return StorageLayer(low, np.maximum(low, high), area)


def round_area_m2(diameter_m: FloatArray) -> FloatArray:
    """Area of a round pit, pi d² / 4.

    Parameters
    ----------
    diameter_m : (n_draws,) array
        Inside diameter [m].

    Returns
    -------
    (n_draws,) array
        Area [m2].

    References
    ----------
    arithmetic : area of a circle
    """
    return np.pi / 4.0 * np.asarray(diameter_m, dtype=np.float64) ** 2


def round_storage(depth_m: FloatArray, diameter_m: FloatArray) -> tuple[StorageLayer, ...]:
    """Room of a round pit.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Bottom of the pit below the floor [m].
    diameter_m : (n_draws,) array
        Inside diameter [m].

    Returns
    -------
    tuple of StorageLayer
        One slab from the bottom to the floor.

    References
    ----------
    arithmetic : volume of a cylinder
    """
    return (_slab(-np.asarray(depth_m), 0.0, round_area_m2(diameter_m)),)


def rectangular_storage(
    depth_m: FloatArray, length_m: FloatArray, width_m: FloatArray
) -> tuple[StorageLayer, ...]:
    """Room of a rectangular pit.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Bottom of the pit below the floor [m].
    length_m : (n_draws,) array
        Inside length [m].
    width_m : (n_draws,) array
        Inside width [m].

    Returns
    -------
    tuple of StorageLayer
        One slab from the bottom to the floor.

    References
    ----------
    arithmetic : volume of a box
    """
    return (_slab(-np.asarray(depth_m), 0.0, np.asarray(length_m) * np.asarray(width_m)),)


def tapered_storage(
    depth_m: FloatArray, top_diameter_m: FloatArray, bottom_diameter_m: FloatArray, slices: int = 6
) -> tuple[StorageLayer, ...]:
    """Room of a round pit that narrows to the bottom, as slices of equal height.

    Each slice has the volume of its frustum, V = pi h (d0² + d0 d1 + d1²) / 12, so the volume is
    exact at the ends of the slices.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Bottom of the pit below the floor [m].
    top_diameter_m : (n_draws,) array
        Inside diameter at the floor [m].
    bottom_diameter_m : (n_draws,) array
        Inside diameter at the bottom [m].
    slices : int
        How many slices [-].

    Returns
    -------
    tuple of StorageLayer
        The slices, bottom first.

    References
    ----------
    arithmetic : volume of a frustum
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    top = np.asarray(top_diameter_m, dtype=np.float64)
    bottom = np.asarray(bottom_diameter_m, dtype=np.float64)
    cuts = np.linspace(0.0, 1.0, slices + 1)
    room = []
    for low, high in pairwise(cuts):
        d0, d1 = bottom + (top - bottom) * low, bottom + (top - bottom) * high
        area = np.pi / 12.0 * (d0**2 + d0 * d1 + d1**2)
        # the top slice ends at the floor exactly, whatever the rounding
        room.append(_slab(-depth * (1.0 - low), -depth * (1.0 - high), area))
    return tuple(room)


def measured_storage(depth_m: FloatArray, volume_m3: FloatArray) -> tuple[StorageLayer, ...]:
    """Room of a pit from a measured table of what it holds.

    Parameters
    ----------
    depth_m : (n_points,) array
        Depths of the water level below the floor, in any order, the least of them zero [m].
    volume_m3 : (n_points,) array
        Water in the pit up to that level, zero at the greatest depth [m3].

    Returns
    -------
    tuple of StorageLayer
        A slab between each two depths.

    Raises
    ------
    InputError
        Where the table has fewer than two rows, does not reach from empty to the floor, or holds
        less water at a higher level.

    References
    ----------
    arithmetic : area = volume / height
    """
    where = "pit table"
    depth = np.asarray(depth_m, dtype=np.float64)
    volume = np.asarray(volume_m3, dtype=np.float64)
    if depth.ndim != 1 or depth.shape != volume.shape or depth.size < 2:
        raise InputError(where, "it has fewer than two rows", "give depth and volume in pairs")
    order = np.argsort(-depth, kind="stable")
    level, volume = -depth[order], volume[order]
    if volume[0] != 0.0:
        raise InputError(where, "the pit is not empty at the greatest depth", "begin with no water")
    if level[-1] != 0.0:
        raise InputError(where, "it does not end at the floor", "add the volume at a depth of zero")
    if np.any(np.diff(level) <= 0.0) or np.any(np.diff(volume) <= 0.0):
        raise InputError(where, "a higher level does not hold more water", "check the rows")
    area = np.diff(volume) / np.diff(level)
    return tuple(_slab(*row) for row in zip(level[:-1], level[1:], area, strict=True))


def pump_body(
    depth_m: FloatArray, pump_volume_m3: FloatArray, pump_height_m: FloatArray
) -> StorageLayer:
    """Room that the pump itself takes from the bottom of the pit up.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Bottom of the pit below the floor [m].
    pump_volume_m3 : (n_draws,) array
        Volume of the pump [m3].
    pump_height_m : (n_draws,) array
        Height of the pump [m].

    Returns
    -------
    StorageLayer
        A slab of negative area.

    References
    ----------
    arithmetic : area = volume / height
    """
    bottom = -np.asarray(depth_m, dtype=np.float64)
    height = np.asarray(pump_height_m, dtype=np.float64)
    # a pump higher than the pit stands above the floor, where it is part of what stands there
    high = np.minimum(bottom + height, 0.0)
    return _slab(bottom, high, -np.asarray(pump_volume_m3) / height)


def gravel_storage(
    slab_thickness_m: FloatArray,
    gravel_thickness_m: FloatArray,
    basement_area_m2: FloatArray,
    pore_share: FloatArray,
    connected_share: FloatArray,
) -> StorageLayer:
    """Room in the pores of the gravel under the floor slab; often what decides on the minutes.

    Parameters
    ----------
    slab_thickness_m : (n_draws,) array
        Thickness of the floor slab [m].
    gravel_thickness_m : (n_draws,) array
        Thickness of the gravel below it [m].
    basement_area_m2 : (n_draws,) array
        Area of the basement [m2].
    pore_share : (n_draws,) array
        Share of the gravel that water can fill [-].
    connected_share : (n_draws,) array
        Share of the gravel that the pit is open to [-].

    Returns
    -------
    StorageLayer
        A slab of the thickness of the gravel.

    References
    ----------
    arithmetic : area · porosity · connected share
    """
    high = -np.asarray(slab_thickness_m, dtype=np.float64)
    area = np.asarray(basement_area_m2) * np.asarray(pore_share) * np.asarray(connected_share)
    return _slab(high - np.asarray(gravel_thickness_m), high, area)


def basement_storage(
    basement_area_m2: FloatArray, occupied_share: FloatArray, height_m: float = 3.0
) -> StorageLayer:
    """Room above the floor, less what stands on it.

    Parameters
    ----------
    basement_area_m2 : (n_draws,) array
        Area of the basement [m2].
    occupied_share : (n_draws,) array
        Share of it that is taken by walls and things [-].
    height_m : float
        How high it is followed [m].

    Returns
    -------
    StorageLayer
        A slab from the floor up.

    References
    ----------
    arithmetic : area less occupied area
    """
    area = np.asarray(basement_area_m2) * (1.0 - np.asarray(occupied_share))
    return _slab(0.0, height_m, area)


def below_minimum_size(diameter_m: FloatArray, depth_m: FloatArray) -> FloatArray:
    """Tell which pits are smaller than a model code allows.

    Parameters
    ----------
    diameter_m : (n_draws,) array
        Inside diameter, or the shorter side [m].
    depth_m : (n_draws,) array
        Bottom of the pit below the floor [m].

    Returns
    -------
    (n_draws,) array
        1 where the pit is narrower or less deep than the code's least, else 0 [-].

    References
    ----------
    irc_p3303 : P3303.1.2
    """
    row = load_table("pit_minimum").rows[0]
    # half a millimetre, so that a size given in whole millimetres is not refused
    least = (float(row["diameter"]) - 5e-4, float(row["depth"]) - 5e-4)
    small = (np.asarray(diameter_m) < least[0]) | (np.asarray(depth_m) < least[1])
    return small.astype(np.float64)


def volume_m3(room: Sequence[StorageLayer], level_m: FloatArray) -> FloatArray:
    """Water held up to a level.

    Parameters
    ----------
    room : sequence of StorageLayer
        Slabs of ``n_draws``.
    level_m : (n_draws,) or (n_draws, n_levels) array
        Levels relative to the floor [m].

    Returns
    -------
    array like `level_m`
        Volume below each level [m3].

    References
    ----------
    arithmetic : sum of area · height
    """
    level = np.asarray(level_m, dtype=np.float64)
    total = np.zeros_like(level)
    for slab in room:
        low, high, area = (
            item if level.ndim < 2 else item[:, None]
            for item in (slab.low_m, slab.high_m, slab.area_m2)
        )
        total = total + area * np.clip(level - low, 0.0, high - low)
    return total
