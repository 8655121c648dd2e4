"""Frozen values that the stages hand to each other, checked once, on creation.

::

    RainRecord ──> DepthDurationFrequency ──> Hyetograph ──> PitInflow ──┐
                                                             PitModel  ──┴──> PitRun

Arrays are set read-only. ``n_draws`` is the number of homes (or draws of one home) side by side,
``n_steps`` the number of equal time steps, ``n_bands`` the number of level bands of a pit. Levels
are metres above the basement floor: negative below it, the depth of water on the floor above it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from riskkit.records.frozen import (
    ByValue,
    FloatArray,
    FrozenMapping,
    IntArray,
    freeze_arrays,
    hand_over,
    need,
    picked,
)
from riskkit.records.rain import DepthDurationFrequency, RainRecord, Series

__all__ = [
    "ByValue",
    "DepthDurationFrequency",
    "FloatArray",
    "FrozenMapping",
    "Hyetograph",
    "IntArray",
    "PitInflow",
    "PitModel",
    "PitRun",
    "PumpAccounts",
    "RainRecord",
    "Series",
    "freeze_arrays",
    "hand_over",
    "need",
    "picked",
]


@dataclass(frozen=True, eq=False)
class Hyetograph(ByValue):
    """Rain of one storm in equal steps.

    Parameters
    ----------
    depth_mm : (n_steps,) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    name : str
        Pattern, depth and duration, in words.
    """

    depth_mm: FloatArray
    step_s: float
    name: str = ""

    def __post_init__(self) -> None:
        freeze_arrays(self)
        need(self.depth_mm.ndim == 1 and self.depth_mm.size > 0, "storm", "it has no steps")
        need(bool(np.all(np.isfinite(self.depth_mm))), "storm", "a depth is missing")
        need(bool(np.all(self.depth_mm >= 0)), "storm", "a depth is negative")
        need(self.step_s > 0, "storm", "the step is not positive")


@dataclass(frozen=True)
class PitInflow:
    """Storm water that reaches the pit, whatever the level in it.

    Ground water, which depends on the level, is part of `PitModel`.

    Parameters
    ----------
    storm_m3_s : (n_draws, n_steps) array
        Mean flow in each step [m3/s].
    step_s : float
        Length of a step [s].
    parts_m3 : mapping of str to (n_draws,) array
        Where the water went over the whole storm, each part in words [m3]; with ``"rain"`` the sum
        that arrived at the wall, and the rest where it went. They close to 1e-9.
    """

    storm_m3_s: FloatArray
    step_s: float
    parts_m3: Mapping[str, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        freeze_arrays(self)
        object.__setattr__(self, "parts_m3", FrozenMapping(self.parts_m3))
        need(self.storm_m3_s.ndim == 2, "inflow", "not one row per draw")
        # without a copy of it, for years of hours of many draws are large
        least, most = self.storm_m3_s.min(initial=0.0), self.storm_m3_s.max(initial=0.0)
        need(bool(np.isfinite([least, most]).all()), "inflow", "a flow is missing")
        need(bool(least >= 0), "inflow", "a flow is negative")
        need(self.step_s > 0, "inflow", "the step is not positive")


@dataclass(frozen=True)
class PitModel:
    """Pit, pump and ground water as piecewise-linear functions of the level.

    Inside a band the free area is constant and the flows are linear in the level, so the water
    balance has a closed form there. Bands are given bottom up; some may be of zero height.

    Parameters
    ----------
    level_m : (n_draws, n_bands + 1) array
        Levels that bound the bands, not decreasing, relative to the floor [m].
    area_m2 : (n_draws, n_bands) array
        Free water area in each band [m2].
    pump_m3_s : (n_draws, n_bands + 1) array
        Flow of the running pump at each bounding level [m3/s].
    seepage_m3_s : (n_draws, n_bands + 1) array
        Ground-water inflow at each bounding level [m3/s].
    off_index, on_index, alarm_index, floor_index : (n_draws,) arrays of int
        Which bounding level is the switch-off, switch-on, alarm and floor level.
    return_share : (n_draws,) array
        Share of the pumped water that arrives again [-].
    return_lag_s : float
        After how long it does [s].
    drainback_m3 : (n_draws,) array, optional
        Water that falls back from the pipe after every stop, for a check valve stuck open [m3].
    has_pump : bool
        Whether there is one; where there is none all its flows are zero.
    """

    level_m: FloatArray
    area_m2: FloatArray
    pump_m3_s: FloatArray
    seepage_m3_s: FloatArray
    off_index: IntArray
    on_index: IntArray
    alarm_index: IntArray
    floor_index: IntArray
    return_share: FloatArray
    return_lag_s: float = 900.0
    drainback_m3: FloatArray = field(default_factory=lambda: np.zeros(0))
    has_pump: bool = True

    def __post_init__(self) -> None:
        where = "pit"
        n_draws, n_levels = self.level_m.shape
        if self.drainback_m3.size == 0:
            object.__setattr__(self, "drainback_m3", np.zeros(n_draws))
        freeze_arrays(self)
        need(self.area_m2.shape == (n_draws, n_levels - 1), where, "areas do not fit the levels")
        need(self.pump_m3_s.shape == (n_draws, n_levels), where, "pump does not fit the levels")
        need(self.seepage_m3_s.shape == (n_draws, n_levels), where, "seepage does not fit levels")
        need(bool(np.all(np.diff(self.level_m, axis=1) >= 0)), where, "levels do not increase")
        need(bool(np.all(self.area_m2 > 0)), where, "an area is not positive")
        need(bool(np.all(self.pump_m3_s >= 0)), where, "a pump flow is negative")
        flows = self.has_pump or not np.any(self.pump_m3_s)
        need(flows, where, "there is no pump, and it carries water")
        need(bool(np.all(self.seepage_m3_s >= 0)), where, "a seepage flow is negative")
        order = (self.off_index, self.on_index, self.alarm_index, self.floor_index)
        need(
            all(bool(np.all(a < b)) for a, b in pairwise(order)),
            where,
            "switch levels are not in the order off, on, alarm, floor",
        )
        need(
            bool(np.all((self.return_share >= 0) & (self.return_share <= 1))),
            where,
            "the share of pumped water that returns is outside 0 to 1",
        )
        need(self.return_lag_s > 0, where, "pumped water that returns does so in no time")
        need(bool(np.all(self.drainback_m3 >= 0)), where, "the water falling back is negative")

    def repeated(self, times: int) -> PitModel:
        """Return the pits `times` times over: all of them for each of several storms.

        Parameters
        ----------
        times : int
            How often [-].

        Returns
        -------
        PitModel
            ``times * n_draws`` pits, in blocks.
        """
        return self.picked(np.tile(np.arange(self.level_m.shape[0]), times))

    def picked(self, draws: IntArray) -> PitModel:
        """Return some of the pits, in the order asked.

        Parameters
        ----------
        draws : (n,) array of int
            Which ones, counted from 0 [-].

        Returns
        -------
        PitModel
            One pit for each.
        """
        return picked(self, draws)


@dataclass(frozen=True)
class PumpAccounts:
    """What the pump did in each of many equal spans of time; (n_draws, n_spans) arrays.

    Parameters
    ----------
    starts : array
        Number of pump starts [-].
    run_time_s : array
        Time the pump ran [s].
    pumped_m3 : array
        Water lifted [m3].
    highest_level_m : array
        Highest level, relative to the floor [m].
    """

    starts: FloatArray
    run_time_s: FloatArray
    pumped_m3: FloatArray
    highest_level_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class PitRun:
    """What the pit did in one storm with the pump working.

    Parameters
    ----------
    highest_level_m : (n_draws,) array
        Highest level, relative to the floor [m].
    alarm_s, flood_s : (n_draws,) arrays
        First time at the alarm level and at the floor; infinite for never [s].
    starts : (n_draws,) array
        Number of pump starts [-].
    starts_per_hour : (n_draws,) array
        Most starts in any clock hour of the storm [1/h].
    run_time_s : (n_draws,) array
        Time the pump ran [s].
    pumped_m3, returned_m3 : (n_draws,) arrays
        Water lifted, and the part of it that arrived again [m3].
    inflow_m3 : (n_draws,) array
        Storm and ground water that arrived, without the returned part [m3].
    balance_error : (n_draws,) array
        Water made or lost as a share of the water that arrived or was lifted [-].
    level_m : (n_draws, n_steps + 1) array, optional
        Level at the ends of the steps [m].
    level_at : (n_kept,) array of int, optional
        Steps before which these are; every one of them when left out [-].
    accounts : PumpAccounts, optional
        What the pump did in each of the spans that were asked for.
    """

    highest_level_m: FloatArray
    alarm_s: FloatArray
    flood_s: FloatArray
    starts: FloatArray
    starts_per_hour: FloatArray
    run_time_s: FloatArray
    pumped_m3: FloatArray
    returned_m3: FloatArray
    inflow_m3: FloatArray
    balance_error: FloatArray
    level_m: FloatArray | None = None
    level_at: IntArray | None = None
    accounts: PumpAccounts | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)
