"""The ground beside the footing while its drain flows freely into the pit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.errors import RangeError
from riskkit.pit import _footing
from riskkit.pit.threads import share_draws, still
from riskkit.pit.vessels import CHUNK, FootingModel, FootingWater, need_balance, vessels_of
from riskkit.records import FloatArray, IntArray, freeze_arrays, hand_over

__all__ = ["FreeDrainage", "free_drainage"]


@dataclass(frozen=True)
class FreeDrainage:
    """The footing while the drain flows freely into the pit.

    Parameters
    ----------
    to_pit_m3_s : (n_draws, n_steps) array
        Flow of the drain in each step [m3/s].
    level_m : (n_draws, n_steps) array
        Level at the footing before each step [m].
    stores_m3 : (n_draws, n_marked, n_stores) array
        Reservoirs of the lot before the steps asked for, beyond what goes with the level [m3].
    end_level_m, end_stores_m3 : (n_draws,), (n_draws, n_stores) arrays
        State after the last step [m, m3].
    lot_m3, steady_m3, deep_m3 : (n_draws,) arrays
        What the lot handed on, what came from far off, and what the deep ground took [m3].
    so_far_m3 : (n_draws, n_counted, 3) array
        These three before the steps asked for [m3].
    """

    to_pit_m3_s: FloatArray
    level_m: FloatArray
    stores_m3: FloatArray
    end_level_m: FloatArray
    end_stores_m3: FloatArray
    lot_m3: FloatArray
    steady_m3: FloatArray
    deep_m3: FloatArray
    so_far_m3: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def free_drainage(
    footing: FootingModel,
    water: FootingWater,
    start_level_m: FloatArray,
    start_stores_m3: FloatArray,
    marked: IntArray,
    counted: IntArray | None = None,
) -> FreeDrainage:
    """Run the ground beside the footing while the pit stands below the drain.

    Parameters
    ----------
    footing : FootingModel
        The ground beside the footing, ``n_draws`` of them.
    water : FootingWater
        What arrives.
    start_level_m : (n_draws,) array
        Level at the footing at the start [m].
    start_stores_m3 : (n_draws, n_stores) array
        Reservoirs of the lot at the start [m3].
    marked : (n_marked,) array of int
        Steps before which the reservoirs are noted, increasing [-].
    counted : (n_counted,) array of int, optional
        Steps before which the sums so far are noted; those marked when left out [-].

    Returns
    -------
    FreeDrainage
        Flow of the drain [m3/s], levels [m] and reservoirs [m3].

    Raises
    ------
    BalanceError
        Where water was made or lost beyond 1e-9 of the water that arrived.
    RangeError
        Where the steps are not all alike.

    References
    ----------
    kraijenhoff1958 : reservoirs of the lot
    arithmetic : closed form of a linear differential equation
    """
    n_draws, n_steps = water.footing_m3_s.shape
    n_stores = footing.store_s.shape[1]
    outside = np.array(np.broadcast_to(start_level_m, (n_draws,)), dtype=np.float64)
    stores = np.array(np.broadcast_to(start_stores_m3, (n_draws, n_stores)), dtype=np.float64)
    to_pit, level = np.empty((n_draws, n_steps)), np.empty((n_draws, n_steps))
    counted = marked if counted is None else counted
    noted = np.zeros((n_draws, len(marked), n_stores))
    so_far = np.zeros((n_draws, len(counted), _footing.N_PARTS))
    sums = np.zeros((n_draws, _footing.N_SUMS))
    vessels = vessels_of(None, footing, water)
    if not np.all(water.step_s == water.step_s[0]):
        raise RangeError("footing", "the steps are not all alike")
    rows = (still(water.footing_m3_s), still(water.recharge_m3_s))
    share = still(footing.store_share)
    at = [still(np.asarray(steps, dtype=np.int64)) for steps in (marked, counted)]

    def work(first: int, last: int) -> None:
        _footing.drain_freely(
            vessels, *rows, float(water.step_s[0]), outside, stores, share, *at, first, last,
            to_pit, level, noted, sums, so_far,
        )  # fmt: skip

    share_draws(work, n_draws, n_steps, CHUNK)
    need_balance(sums[:, _footing.ERROR_FREE])
    hand_over(to_pit, level, noted, outside, stores, sums, so_far)
    return FreeDrainage(
        to_pit, level, noted, outside, stores,
        sums[:, _footing.LOT], sums[:, _footing.STEADY], sums[:, _footing.DEEP], so_far,
    )  # fmt: skip
