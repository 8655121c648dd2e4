"""From a home and years of weather to the water at the mouth of its drain, by the hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from riskkit.home.samples import HomeSamples
from riskkit.inflow.continuous import RootZone, continuous_water
from riskkit.inflow.snow import day_setting
from riskkit.inflow.soils import SoilProperties, soil_properties
from riskkit.inflow.wall import WallWater
from riskkit.inflow.wetness import total_available_water_mm
from riskkit.pit.drainage import FreeDrainage, free_drainage
from riskkit.pit.vessels import FootingWater
from riskkit.records import FloatArray, IntArray, hand_over
from riskkit.simulate.wall import ROOTS_M
from riskkit.simulate.water import Ground, Water, footing_water

__all__ = ["GroundState", "HoursRun", "hours_of", "root_zone_of", "run_hours", "water_from"]

HOUR_S = 3600.0
_STATES = 11  # columns of a state at the wall


@dataclass(frozen=True)
class GroundState:
    """The ground round homes at some moments; the second axis is that of the moments.

    Parameters
    ----------
    wall : (n_draws, n_moments, 11) array
        Strip and lot, see `inflow.wall.start_state` [m, m3, s].
    level_m : (n_draws, n_moments) array
        Level at the footing, relative to the floor [m].
    lot_m3 : (n_draws, n_moments, n_stores) array
        Water in the reservoirs of the lot [m3].
    """

    wall: FloatArray
    level_m: FloatArray
    lot_m3: FloatArray

    def moments(self, which: IntArray) -> GroundState:
        """Return the states at some of the moments, in the order asked.

        Parameters
        ----------
        which : (n,) array of int
            Which ones, counted from 0 [-].

        Returns
        -------
        GroundState
            Those moments.
        """
        return GroundState(self.wall[:, which], self.level_m[:, which], self.lot_m3[:, which])

    def rows(self, draw: IntArray, moment: IntArray) -> GroundState:
        """Return the states of some draws, each at one moment.

        Parameters
        ----------
        draw, moment : (n_rows,) arrays of int
            Which draw and which moment, counted from 0 [-].

        Returns
        -------
        GroundState
            One moment for each row.
        """
        return GroundState(
            self.wall[draw, moment][:, None], self.level_m[draw, moment][:, None],
            self.lot_m3[draw, moment][:, None],
        )  # fmt: skip


@dataclass(frozen=True)
class HoursRun:
    """The ground round homes through the hours of a place, the drain flowing freely.

    Parameters
    ----------
    wall : WallWater
        Water that reaches the footing and the lot's water table.
    free : FreeDrainage
        What the drain hands on.
    at : GroundState
        State before the hours that were marked.
    """

    wall: WallWater
    free: FreeDrainage
    at: GroundState

    def arriving(self, draw: IntArray, first: IntArray, n_hours: int) -> FootingWater:
        """Return what arrives in some hours, and nothing after them.

        Parameters
        ----------
        draw, first : (n_rows,) arrays of int
            Which draw, and the first of its hours, counted from 0 [-].
        n_hours : int
            How many hours [-].

        Returns
        -------
        FootingWater
            A row for each.
        """
        n, none = draw.size, np.zeros(draw.size)
        return FootingWater(
            hours_of(self.wall.footing_m3_s, draw, first, n_hours),
            hours_of(self.wall.recharge_m3_s, draw, first, n_hours),
            np.full(n_hours, HOUR_S), np.zeros((n, 0)), np.ones((n, 0)), none, none + 1.0,
        )  # fmt: skip


def hours_of(values: FloatArray, draw: IntArray, first: IntArray, n_hours: int) -> FloatArray:
    """Return some hours of some draws, one after the other, a row for each.

    Parameters
    ----------
    values : (n_draws, n_all) array
        Of every hour of each draw [any].
    draw, first : (n_rows,) arrays of int
        Which draw, and the first of its hours, counted from 0 [-].
    n_hours : int
        How many hours [-].

    Returns
    -------
    (n_rows, n_hours) array
        A copy that nobody writes to [any].
    """
    taken = np.asarray(sliding_window_view(values, n_hours, axis=1)[draw, first])
    hand_over(taken)
    return taken


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


def run_hours(
    homes: HomeSamples,
    ground: Ground,
    water_mm: FloatArray,
    demand_mm: FloatArray,
    marked: IntArray | None = None,
    *,
    thawed_share: FloatArray | None = None,
) -> HoursRun:
    """Run the ground of each home through the hours of a place.

    It begins as the homes are before a storm; a year is enough for that to be forgotten. Ground
    water from far off stands as high all the time as the home has it.

    Parameters
    ----------
    homes : HomeSamples
        The homes; a few at a time, since every hour of each is held in memory.
    ground : Ground
        The ground round them.
    water_mm, demand_mm : (n_hours,) arrays
        Rain and melt, and what plants use where water is not scarce [mm].
    marked : (n_marked,) array of int, optional
        Hours before which the state is noted, increasing [-].
    thawed_share : (n_hours,) array, optional
        Share of the lot that takes water, the rest being frozen; all of it where left out [-].

    Returns
    -------
    HoursRun
        Flows [m3/s] and states.
    """
    marks = np.zeros(0, dtype=np.int64) if marked is None else np.asarray(marked, dtype=np.int64)
    noted = np.empty((homes.n_draws, marks.size, _STATES))
    wall, _ = continuous_water(
        water_mm, demand_mm, HOUR_S, ground.wall, root_zone_of(homes), day_setting("easy"),
        marked=marks, noted=noted, thawed_share=thawed_share,
    )  # fmt: skip
    free = free_drainage(
        ground.footing, footing_water(wall), ground.footing.level_m[:, 0], ground.lot_m3, marks
    )
    return HoursRun(wall, free, GroundState(noted, free.level_m[:, marks], free.stores_m3))


def water_from(
    ground: Ground,
    roots: RootZone,
    state: GroundState,
    rain_mm: FloatArray,
    step_s: float,
    marked: IntArray,
    later_mm: FloatArray,
    thawed_share: FloatArray,
    later_thawed_share: FloatArray,
) -> Water:
    """Return the water of a storm that meets the ground as it is, one moment for each row.

    Parameters
    ----------
    ground : Ground
        The ground round the homes, a row for each storm of each home.
    roots : RootZone
        What plants draw on there; through a storm they use nothing.
    state : GroundState
        Its state, of one moment.
    rain_mm : (n_rows, n_steps) array
        Rain and melt in each step [mm].
    step_s : float
        Length of a step [s].
    marked : (n_marked,) array of int
        Steps before which the state of the lot is noted, increasing [-].
    later_mm : (n_rows, n_hours) array
        Rain and melt in the hours after these steps [mm].
    thawed_share, later_thawed_share : (n_rows, n_steps) and (n_rows, n_hours) arrays
        Share of the lot that takes water in both, the rest being frozen [-].

    Returns
    -------
    Water
        Flows [m3/s] and states through the steps; what arrives goes on through the hours.
    """

    def run(
        mm: FloatArray, thawed: FloatArray, seconds: float, at: FloatArray
    ) -> tuple[WallWater, FootingWater, FloatArray]:
        wall, end = continuous_water(
            mm, np.zeros(mm.shape[1]), seconds, ground.wall, roots, 0.0, at, thawed_share=thawed
        )
        return wall, footing_water(wall), end

    wall, arriving, end = run(rain_mm, thawed_share, step_s, state.wall[:, 0])
    free = free_drainage(ground.footing, arriving, state.level_m[:, 0], state.lot_m3[:, 0], marked)
    _, later, _ = run(later_mm, later_thawed_share, HOUR_S, end)
    return Water(wall, arriving.then(later), free, np.asarray(state.lot_m3[:, 0]), marked)
