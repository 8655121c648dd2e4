"""The ground through months and years: the water of storms, and the weather between them.

::

    rain and melt ── as in a storm, see `wall` ──> footing, water table of the lot
                          │
    between storms  plants use what their roots reach, in the fill and on the lot: the deficit
                    grows; after some dry hours the next rain meets a wetting front of its own

The equations of a storm stay; what is added is FAO-56's evapotranspiration, and that the wetting
front starts anew from the water that is in the ground by then.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.inflow.wall import WallModel, WallWater, run_wall, start_state
from riskkit.records import FloatArray, freeze_arrays, picked
from riskkit.records.frozen import IntArray

__all__ = ["RootZone", "continuous_water"]

# A dry spell that separates storms, as usual for rain records; the front has spread by then.
_FRONT_S = 6 * 3600.0
_DAY_S = 86400.0
_FAO_MM = 5.0  # demand of a day at which the share of easy water holds, FAO-56 Table 22


@dataclass(frozen=True)
class RootZone:
    """What plants draw on, at the wall and on the lot; every field is (n_draws,).

    Parameters
    ----------
    fill_depth_m, lot_depth_m : array
        Depth of the ground above the drain, above zero [m].
    fill_roots_m, lot_roots_m : array
        Depth of the roots, above zero and not deeper than that [m].
    fill_available_m, lot_available_m : array
        Total available water within them, above zero [m].
    """

    fill_depth_m: FloatArray
    fill_roots_m: FloatArray
    fill_available_m: FloatArray
    lot_depth_m: FloatArray
    lot_roots_m: FloatArray
    lot_available_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)
        for item in fields(self):
            if not np.all(getattr(self, item.name) > 0):
                raise RangeError(item.name, "a value is not above zero")
        for ground in ("fill", "lot"):
            deep, roots = getattr(self, f"{ground}_depth_m"), getattr(self, f"{ground}_roots_m")
            if not np.all(roots <= deep * (1 + 1e-12)):
                raise RangeError(
                    f"{ground}_roots_m", "roots reach below the ground above the drain"
                )

    def picked(self, draws: IntArray) -> RootZone:
        """Return the roots of some of the homes, in the order asked.

        Parameters
        ----------
        draws : (n,) array of int
            Which ones, counted from 0 [-].

        Returns
        -------
        RootZone
            One for each.
        """
        return picked(self, draws)


def continuous_water(
    water_mm: ArrayLike,
    demand_mm: ArrayLike,
    step_s: float,
    wall: WallModel,
    roots: RootZone,
    easy_share: float,
    state: FloatArray | None = None,
    marked: IntArray | None = None,
    noted: FloatArray | None = None,
    thawed_share: FloatArray | None = None,
) -> tuple[WallWater, FloatArray]:
    """Water that reaches the footing and the lot's water table, step after step for years.

    Parameters
    ----------
    water_mm : (n_steps,) or (n_draws, n_steps) array
        Rain and snow melt in each step [mm].
    demand_mm : (n_steps,) array
        Evapotranspiration of each step where water is not scarce, Kc ETo; zero on snow [mm].
    step_s : float
        Length of a step, an hour or less [s].
    wall : WallModel
        Strip, roof and lot.
    roots : RootZone
        What plants draw on.
    easy_share : float
        Share p of the available water that plants draw without stress, at 5 mm a day [-].
    state : (n_draws, 11) array, optional
        State in which an earlier run ended, see `wall.start_state`; that of the model where it is
        left out [m, m3, s].
    marked : (n_marked,) array of int, optional
        Steps before which the state is noted, increasing [-].
    noted : (n_draws, n_marked, 11) array, optional
        Takes these states [m, m3, s].
    thawed_share : (n_steps,) or (n_draws, n_steps) array, optional
        Share of the lot that takes water, the rest being frozen; all of it where left out [-].

    Returns
    -------
    WallWater
        As in a storm, ``used by plants`` among its parts [m3/s, m3].
    (n_draws, 11) array
        State at the end, from which another run goes on [m, m3, s].

    Raises
    ------
    RangeError
        Where an argument is missing, negative or cannot be.
    BalanceError
        Where the parts do not close to 1e-9 of the water that arrived.

    References
    ----------
    fao56 : eqs 82 to 85, evapotranspiration where water is scarce
    green_ampt1911 : infiltration
    molnau_bissell1983 : frozen ground takes no water, recalled
    judgement : six dry hours end a wetting front; the ground at the wall of a heated basement does
        not freeze
    """
    water, demand = np.asarray(water_mm, float), np.asarray(demand_mm, float)
    n_draws = wall.perimeter_m.size
    rows = {1, n_draws} if water.ndim == 2 else {1}
    if water.ndim not in (1, 2) or not water.size or len(np.atleast_2d(water)) not in rows:
        raise RangeError("water_mm", "it is not one row of steps per draw")
    if demand.shape != water.shape[-1:]:
        raise RangeError("demand_mm", "it is not one row of as many steps")
    for name, values in (("water_mm", water), ("demand_mm", demand)):
        if values.size and not (values.min() >= 0 and values.max() < np.inf):  # neither, where NaN
            raise RangeError(name, "a step is missing or negative")
    if thawed_share is not None:
        thawed = np.asarray(thawed_share, float)
        if thawed.shape not in {water.shape, water.shape[-1:]}:
            raise RangeError("thawed_share", "it is not one row of as many steps")
        if not np.all((thawed >= 0) & (thawed <= 1)):
            raise RangeError("thawed_share", "a step is missing or not a share")
    if not (0 < step_s <= 3600):
        raise RangeError("step_s", "the step is not within an hour")
    now = start_state(wall, n_draws) if state is None else state.copy()
    if state is None:
        # a storm spreads what is lacking over more of the ground than roots reach
        now[:, 0] = np.minimum(now[:, 0], roots.fill_available_m)
        now[:, 2] = np.minimum(now[:, 2], roots.lot_available_m)
    easy = np.clip(easy_share + 0.04 * (_FAO_MM - demand * _DAY_S / step_s), 0.1, 0.8)
    done = run_wall(
        water, step_s, wall, np.ones(n_draws), now, demand_mm=demand, scarce_share=1.0 - easy,
        front_s=_FRONT_S, roots={item.name: getattr(roots, item.name) for item in fields(roots)},
        marked=marked, noted=noted, thawed_share=thawed_share,
    )  # fmt: skip
    return done, now
