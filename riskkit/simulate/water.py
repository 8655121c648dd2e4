"""From a home and its storms to the water at its footing and at the mouth of its drain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.wall import WallModel, WallWater, start_state, wall_water
from riskkit.pit.drainage import FreeDrainage, free_drainage
from riskkit.pit.vessels import FootingModel, FootingWater
from riskkit.records import (
    FloatArray,
    IntArray,
    PitInflow,
    freeze_arrays,
    hand_over,
    need,
    picked,
)
from riskkit.simulate.footing import footing_of, lot_before_m3
from riskkit.simulate.wall import wall_of
from riskkit.threads import worked_out_once

__all__ = [
    "Ground",
    "Water",
    "at_footing",
    "dry_water",
    "footing_water",
    "ground_of",
    "water_of",
]


@dataclass(frozen=True)
class Ground:
    """The ground round homes: at the wall, beside the footing, and what the days before left.

    Parameters
    ----------
    wall : WallModel
        Strip of fill, roof and lot.
    footing : FootingModel
        The ground beside the footing.
    lot_m3 : (n_draws, n_stores) array
        Water in the reservoirs of the lot before the storm [m3].
    """

    wall: WallModel
    footing: FootingModel
    lot_m3: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def n_draws(self) -> int:
        """Number of homes or draws."""
        return int(self.lot_m3.shape[0])

    def picked(self, draws: Sequence[int] | IntArray) -> Ground:
        """Return the ground of some of the homes, in the order asked.

        Parameters
        ----------
        draws : sequence of int
            Which ones, counted from 0 [-].

        Returns
        -------
        Ground
            One for each.
        """
        at = np.asarray(draws, dtype=np.int64)
        return Ground(picked(self.wall, at), self.footing.picked(at), self.lot_m3[at])

    def repeated(self, times: int) -> Ground:
        """Return the ground `times` times over: all of it for each of several storms.

        Parameters
        ----------
        times : int
            How often [-].

        Returns
        -------
        Ground
            In blocks.
        """
        return self.picked(np.tile(np.arange(self.n_draws), times))

    def before_storms(self, n_draws: int, n_storms: int) -> Ground:
        """Return the ground for each of several storms, storm by storm.

        Parameters
        ----------
        n_draws : int
            Draws of each storm [-].
        n_storms : int
            Storms [-].

        Returns
        -------
        Ground
            Itself where it tells each storm by itself, else the same ground for each.

        Raises
        ------
        RangeError
            Where it is of neither so many draws, nor of all storms.
        """
        if self.n_draws == n_draws * n_storms:
            return self
        need(self.n_draws == n_draws, "ground", "it is not one for each draw, or draw and storm")
        return self.repeated(n_storms)


@dataclass(frozen=True)
class Water:
    """The water of storms beside the footing of homes.

    Parameters
    ----------
    wall : WallWater
        Storm water on its way to the footing.
    arriving : FootingWater
        What arrives there, as the joined vessels take it.
    free : FreeDrainage
        What the drain hands on while it flows freely.
    start_m3 : (n_draws, n_stores) array
        Water in the reservoirs of the lot at the beginning [m3].
    marked : (n_marked,) array of int
        Steps before which the reservoirs of the lot are noted, increasing [-].
    wall_at : (n_draws, n_counted + 2, 11) array, optional
        States at the wall, see `inflow.wall.start_state`: at the beginning, before the steps
        counted, and at the end [m, m3, s].
    counted : (n_counted,) array of int, optional
        Steps before which they are noted, and the sums at the footing [-].
    """

    wall: WallWater
    arriving: FootingWater
    free: FreeDrainage
    start_m3: FloatArray
    marked: IntArray
    wall_at: FloatArray | None = None
    counted: IntArray | None = None

    @worked_out_once
    def to_pit(self) -> PitInflow:
        """Flow of the drain to the pit while it flows freely."""
        return PitInflow(self.free.to_pit_m3_s, self.wall.step_s)

    @worked_out_once
    def come_m3(self) -> FloatArray:
        """Water that has come to the pit by the ends of the steps, the beginning first [m3]."""
        flow = self.free.to_pit_m3_s
        come = np.zeros((flow.shape[0], flow.shape[1] + 1))
        np.cumsum(flow, axis=1, out=come[:, 1:])
        come *= self.wall.step_s
        hand_over(come)
        return come

    def lot_m3(self, step: IntArray) -> FloatArray:
        """Return the water in the reservoirs of the lot before some of the marked steps.

        Parameters
        ----------
        step : (n_draws, n_steps) array of int
            Steps, each of them marked [-].

        Returns
        -------
        (n_draws, n_steps, n_stores) array
            Water [m3].
        """
        at = np.searchsorted(self.marked, step)[:, :, None]
        return np.asarray(np.take_along_axis(self.free.stores_m3, at, axis=1))


def ground_of(homes: HomeSamples) -> Ground:
    """Return the ground round each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    Ground
        At the wall and beside the footing, with what the days before left.
    """
    footing = footing_of(homes)
    return Ground(wall_of(homes), footing, lot_before_m3(homes, footing))


def footing_water(water: WallWater) -> FootingWater:
    """Hand the water at the wall on to the footing.

    Parameters
    ----------
    water : WallWater
        Storm water on its way.

    Returns
    -------
    FootingWater
        The same, as the joined vessels take it.
    """
    return FootingWater(
        footing_m3_s=water.footing_m3_s,
        recharge_m3_s=water.recharge_m3_s,
        step_s=np.full(water.footing_m3_s.shape[1], water.step_s),
        tail_m3=water.tail_m3[:, :-1],
        tail_s=water.tail_s[:, :-1],
        recharge_tail_m3=water.tail_m3[:, -1],
        recharge_tail_s=water.tail_s[:, -1],
    )


def water_of(
    ground: Ground,
    rain_mm: FloatArray,
    step_s: float,
    rain_factor: FloatArray,
    marked: IntArray | None = None,
    flows_m3: FloatArray | None = None,
    counted: IntArray | None = None,
) -> Water:
    """Return the storm water of each home, from the rain to the mouth of its drain.

    The ground starts as the days before have left it: recharge of those days is on its way through
    fill and lot.

    Parameters
    ----------
    ground : Ground
        The ground round the homes.
    rain_mm : (n_steps,) or (n_draws, n_steps) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    rain_factor : (n_draws,) array
        Multiplier of the rain [-].
    marked : (n_marked,) array of int, optional
        Steps before which the reservoirs of the lot are noted, increasing [-].
    flows_m3 : (n_draws, n_steps, 16) array, optional
        Takes what went from store to store in each step, see `inflow.wall.FLOWS` [m3].
    counted : (n_counted,) array of int, optional
        Steps before which the states at the wall and the sums at the footing are noted; those
        marked when left out [-].

    Returns
    -------
    Water
        Flows [m3/s] and states.
    """
    steps = np.zeros(0, np.int64) if marked is None else np.asarray(marked, np.int64)
    sums = steps if counted is None else np.asarray(counted, np.int64)
    begin = start_state(ground.wall, max(ground.n_draws, len(np.atleast_2d(rain_mm))))
    end, noted = begin.copy(), np.empty((len(begin), sums.size, begin.shape[1]))
    wall = wall_water(
        rain_mm, step_s, ground.wall, rain_factor, state=end, marked=sums, noted=noted,
        flows=flows_m3,
    )  # fmt: skip
    arriving = footing_water(wall)
    free = free_drainage(
        ground.footing, arriving, ground.footing.level_m[:, 0], ground.lot_m3, steps, sums
    )
    states = np.concatenate([begin[:, None], noted, end[:, None]], axis=1)
    return Water(wall, arriving, free, ground.lot_m3, steps, states, sums)


def at_footing(water: Water, ground: Ground) -> Water:
    """Return the same water at the wall, led on by another footing.

    Parameters
    ----------
    water : Water
        The water of storms.
    ground : Ground
        With the same wall; another footing, and what the days before left in its lot.

    Returns
    -------
    Water
        What `water_of` would return for this ground, the same steps marked and counted.
    """
    counted = water.marked if water.counted is None else water.counted
    free = free_drainage(
        ground.footing, water.arriving, ground.footing.level_m[:, 0], ground.lot_m3,
        water.marked, counted,
    )  # fmt: skip
    return replace(water, free=free, start_m3=ground.lot_m3)


def dry_water(n_draws: int, step_s: float = 300.0) -> FootingWater:
    """Return what arrives at the footing from above in dry weather: nothing.

    Parameters
    ----------
    n_draws : int
        Number of homes [-].
    step_s : float
        Length of its one step [s].

    Returns
    -------
    FootingWater
        Ground water from far off goes on all the same.
    """
    none, time = np.zeros((n_draws, 1)), np.ones((n_draws, 1))
    return FootingWater(none, none, np.array([step_s]), none, time, none[:, 0], time[:, 0])
