"""From a home and years of weather to the water at the mouth of its drain, by the hour."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.continuous import RootZone, continuous_water
from riskkit.inflow.snow import day_setting
from riskkit.inflow.soils import SoilProperties, soil_properties
from riskkit.inflow.wetness import total_available_water_mm
from riskkit.pit.vessels import free_drainage
from riskkit.records import FloatArray
from riskkit.simulate.wall import ROOTS_M
from riskkit.simulate.water import Ground, Water, footing_water

__all__ = ["continuous_waters", "root_zone_of"]

_HOUR_S = 3600.0
_CHUNK = 8760  # hours held in memory at a time


def root_zone_of(homes: HomeSamples) -> RootZone:
    """Return what the plants of each home draw on, at the wall and on the lot.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    RootZone
        Depths of ground and roots, and available water [m].

    References
    ----------
    fao56 : eq. 82
    """
    height_m = homes["depth_below_ground_m"] + homes["drain_depth_m"]
    roots_m = np.minimum(ROOTS_M, height_m)

    def available(soil: SoilProperties) -> FloatArray:
        return total_available_water_mm(soil.field_capacity, soil.wilting_point, roots_m) * 1e-3

    fill, ground = soil_properties(homes.backfill), soil_properties(homes.soil)
    return RootZone(height_m, roots_m, available(fill), height_m, roots_m, available(ground))


def continuous_waters(
    homes: HomeSamples, ground: Ground, water_mm: FloatArray, demand_mm: FloatArray
) -> Iterator[tuple[int, Water]]:
    """Run the ground of each home through the hours of a place, the drain flowing freely.

    It begins as the homes are before a storm; a year is enough for that to be forgotten.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    ground : Ground
        The ground round them.
    water_mm, demand_mm : (n_hours,) arrays
        Rain and melt, and what plants use where water is not scarce [mm].

    Yields
    ------
    int
        Hour at which a part of the hours begins, counted from 0 [-].
    Water
        The water of that part, a year or less.
    """
    roots, state = root_zone_of(homes), None
    level, stores = ground.footing.level_m[:, 0], ground.lot_m3
    easy, none = day_setting("easy"), np.zeros(0, dtype=np.int64)
    for first in range(0, water_mm.size, _CHUNK):
        part = slice(first, first + _CHUNK)
        wall, state = continuous_water(
            water_mm[part], demand_mm[part], _HOUR_S, ground.wall, roots, easy, state
        )
        arriving = footing_water(wall)
        free = free_drainage(ground.footing, arriving, level, stores, none)
        yield first, Water(wall, arriving, free, stores)
        level, stores = free.end_level_m, free.end_stores_m3
