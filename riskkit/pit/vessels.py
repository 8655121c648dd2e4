"""Two joined vessels: the ground beside the footing, and the pit with the gravel under the slab.

Above the invert of the foundation drain the gravel round it, the drainable pores of the fill and
the pit fill together, joined by the drain::

    A_out dh_out/dt = q + lot + steady - C (h_out - h_in) - leak       h_out: level at the footing
    A_in  dh_in/dt  = C (h_out - h_in) + leak - pump                   h_in:  level in the pit

with h_in taken as the invert while it is below it. An open drain (large C) makes them one vessel;
with a silted one the water outside stands higher, and it comes in at the joint of wall and floor
while the pump still works. Within a step of constant storm water the two equations are
solved in closed form, band by band; what the lot and the ground far off hand on goes in a line with
the level.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np

from riskkit.errors import BalanceError, ConvergenceError, RangeError
from riskkit.pit import _follow, _rows
from riskkit.pit._footing import Vessels
from riskkit.pit.threads import share_draws, still
from riskkit.records import FloatArray, IntArray, PitModel, freeze_arrays, hand_over, need, picked

__all__ = [
    "CHUNK",
    "N_ACCOUNTS",
    "PUDDLE_M3",
    "FootingModel",
    "FootingWater",
    "StopRun",
    "follow_stops",
    "need_balance",
    "vessels_of",
]

PUDDLE_M3 = _follow.PUDDLE_M3
"""Water that has come in at the joint of wall and floor when the floor counts as wet [m3]."""
N_ACCOUNTS = _follow.N_ACCOUNTS  # columns of the accounts of a step
_BALANCE = 1e-9
CHUNK = 64  # draws of one call of a compiled loop
_STEPS = 100  # of a stop, about


@dataclass(frozen=True)
class FootingModel:
    """The ground beside the footing: what it holds, what comes through it, what leads away.

    Parameters
    ----------
    level_m : (n_draws, n_bands + 1) array
        Levels that bound the bands, the invert of the drain first, relative to the floor [m].
    area_m2 : (n_draws, n_bands) array
        Free area in each band: pores of gravel and fill [m2].
    steady_m3_s : (n_draws, n_bands + 1) array
        Ground water from far off at these levels, not rising with the level [m3/s].
    conductance_m2_s : (n_draws,) array
        Flow of the drain per metre of difference between the levels, above zero [m2/s].
    joint_m2_s : (n_draws,) array
        Flow through the joint of wall and floor per metre of water above the floor [m2/s].
    deep_m3_s : (n_draws,) array
        What the ground below the drain takes of the water that arrives [m3/s].
    store_s : (n_draws, n_stores) array
        Time constants of the lot's reservoirs [s].
    store_area_m2 : (n_draws, n_stores) array
        Water that each takes up per metre by which the level at the wall rises [m2].
    store_share : (n_stores,) array
        Share of the recharge that each takes; the rest passes at once [-].
    """

    level_m: FloatArray
    area_m2: FloatArray
    steady_m3_s: FloatArray
    conductance_m2_s: FloatArray
    joint_m2_s: FloatArray
    deep_m3_s: FloatArray
    store_s: FloatArray
    store_area_m2: FloatArray
    store_share: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)
        where = "footing"
        need(bool(np.all(np.diff(self.level_m, axis=1) > 0)), where, "levels do not increase")
        need(bool(np.all(self.area_m2 > 0)), where, "an area is not positive")
        need(bool(np.all(self.steady_m3_s >= 0)), where, "a flow of ground water is negative")
        need(
            bool(np.all(np.diff(self.steady_m3_s, axis=1) <= 1e-15)), where,
            "ground water rises with the level",
        )  # fmt: skip
        need(bool(np.all(self.conductance_m2_s > 0)), where, "the drain carries nothing")
        for value in (self.joint_m2_s, self.deep_m3_s, self.store_area_m2):
            need(bool(np.all(value >= 0)), where, "a value is negative")
        need(bool(np.all(self.store_s > 0)), where, "a reservoir empties in no time")
        need(self.store_s.shape[1] <= _follow.N_STORES, where, "the lot has too many reservoirs")

    def held_m3(self, level_m: FloatArray) -> FloatArray:
        """Return the water in gravel and fill up to a level, without that of the lot.

        Parameters
        ----------
        level_m : (n_draws,) array
            Level at the footing [m].

        Returns
        -------
        (n_draws,) array
            Above the invert of the drain [m3].

        References
        ----------
        arithmetic : bands of constant area
        """
        bottom, top = self.level_m[:, :-1].copy(), self.level_m[:, 1:].copy()
        top[:, -1] = np.inf
        bottom[:, 0] = -np.inf  # less than none where the lot drew it below the drain
        stands = np.clip(level_m[:, None], bottom, top) - self.level_m[:, :-1]
        return np.asarray((stands * self.area_m2).sum(axis=1))

    def picked(self, draws: IntArray) -> FootingModel:
        """Return some of the footings, in the order asked.

        Parameters
        ----------
        draws : (n,) array of int
            Which ones, counted from 0 [-].

        Returns
        -------
        FootingModel
            One for each.
        """
        return picked(self, draws, shared=("store_share",))


@dataclass(frozen=True)
class FootingWater:
    """What arrives at the footing whatever the level there; see `inflow.wall.WallWater`.

    Parameters
    ----------
    footing_m3_s, recharge_m3_s : (n_draws, n_steps) arrays
        Flow to the footing and to the water table of the lot in each step [m3/s].
    step_s : (n_steps,) array
        Length of each step [s].
    tail_m3, tail_s : (n_draws, n_tails) arrays
        Water on its way to the footing when the steps end [m3], and its time constants [s].
    recharge_tail_m3, recharge_tail_s : (n_draws,) arrays
        The same on its way to the water table [m3, s].
    """

    footing_m3_s: FloatArray
    recharge_m3_s: FloatArray
    step_s: FloatArray
    tail_m3: FloatArray
    tail_s: FloatArray
    recharge_tail_m3: FloatArray
    recharge_tail_s: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)
        need(self.footing_m3_s.shape == self.recharge_m3_s.shape, "footing", "steps do not fit")

    def picked(self, draws: IntArray) -> FootingWater:
        """Return what arrives at some of the footings, in the order asked.

        Parameters
        ----------
        draws : (n,) array of int
            Which ones, counted from 0 [-].

        Returns
        -------
        FootingWater
            A row for each.
        """
        return picked(self, draws, shared=("step_s",))

    def then(self, later: FootingWater) -> FootingWater:
        """Return this water and what arrives after it.

        Parameters
        ----------
        later : FootingWater
            From the end of these steps on; it knows what is on its way when it ends.

        Returns
        -------
        FootingWater
            Steps of both.
        """
        footing = np.concatenate([self.footing_m3_s, later.footing_m3_s], axis=1)
        recharge = np.concatenate([self.recharge_m3_s, later.recharge_m3_s], axis=1)
        hand_over(footing, recharge)
        return replace(
            later, footing_m3_s=footing, recharge_m3_s=recharge,
            step_s=np.concatenate([self.step_s, later.step_s]),
        )  # fmt: skip

    def merged(self, edges: IntArray, before: FootingWater | None = None) -> FootingWater:
        """Return the same water in longer steps, each with the mean flow of those that it joins.

        Parameters
        ----------
        edges : (n_longer + 1,) array of int
            Steps at which a longer one begins, from 0 to the number of steps [-].
        before : FootingWater, optional
            What arrives before it, in steps that stay as they are.

        Returns
        -------
        FootingWater
            In longer steps.
        """
        step_s = np.add.reduceat(self.step_s, edges[:-1])
        parts, ends = still(self.step_s), still(edges)
        begin = before or replace(
            self, step_s=self.step_s[:0],
            footing_m3_s=self.footing_m3_s[:, :0], recharge_m3_s=self.recharge_m3_s[:, :0],
        )  # fmt: skip
        n = begin.step_s.size

        def mean(early: FloatArray, flow: FloatArray) -> FloatArray:
            joined = np.empty((flow.shape[0], n + step_s.size))
            joined[:, :n] = early
            _rows.join_steps(still(flow), parts, ends, n, joined)
            hand_over(joined)
            return joined

        return replace(
            self, step_s=np.concatenate([begin.step_s, step_s]),
            footing_m3_s=mean(begin.footing_m3_s, self.footing_m3_s),
            recharge_m3_s=mean(begin.recharge_m3_s, self.recharge_m3_s),
        )  # fmt: skip


@dataclass(frozen=True)
class StopRun:
    """What follows when the pump stops; times from the stop, infinite for never.

    Parameters
    ----------
    alarm_s : (n_draws, n_stops) array
        Until the alarm sounds [s].
    rim_s : (n_draws, n_stops) array
        Until the pit overflows [s].
    joint_s : (n_draws, n_stops) array
        Until ten litres have come in at the joint of wall and floor [s].
    highest_m : (n_draws, n_stops) array
        Highest level in the pit as far as it was followed [m].
    level_m, footing_m : (n_draws, n_stops, n_after) arrays
        Levels in the pit and at the footing at the times asked for; above zero the depth on the
        floor; NaN where it was not followed so long [m].
    """

    alarm_s: FloatArray
    rim_s: FloatArray
    joint_s: FloatArray
    highest_m: FloatArray
    level_m: FloatArray
    footing_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def floor_s(self) -> FloatArray:
        """Until water reaches the floor, by the first of both paths [s]."""
        return np.minimum(self.rim_s, self.joint_s)


def follow_stops(
    pit: PitModel,
    footing: FootingModel,
    water: FootingWater,
    begin: IntArray,
    inside_m: FloatArray,
    outside_m: FloatArray,
    stores_m3: FloatArray,
    after_s: FloatArray | None = None,
    *,
    from_alarm: bool = False,
    pump_works: bool = False,
    step_after_s: float = 300.0,
    accounts_m3: FloatArray | None = None,
    dry_from: IntArray | None = None,
    alarm_of: IntArray | None = None,
    quickest_s: FloatArray | None = None,
    lots_m3: FloatArray | None = None,
    noted_only: bool = False,
) -> StopRun:
    """Follow both levels from the step in which the pump stops, for up to a week after the storm.

    Parameters
    ----------
    pit : PitModel
        The pits, with a band that ends at the invert of the drain.
    footing : FootingModel
        The ground beside the footing.
    water : FootingWater
        What arrives.
    begin : (n_draws, n_stops) array of int
        Step at whose start the pump stops [-].
    inside_m, outside_m : (n_draws, n_stops) arrays
        Levels in the pit and at the footing then [m].
    stores_m3 : (n_draws, n_stops, n_stores) array
        Reservoirs of the lot then, beyond what goes with the level at the footing [m3].
    after_s : (n_after,) array, optional
        Times after the stop at which the levels are noted, increasing; within a step they lie on a
        straight line [s].
    from_alarm : bool
        Count these times from the alarm instead.
    pump_works : bool
        The pump goes on working: what happens where the water is too much for it.
    step_after_s : float
        Length of the first step after the storm; they grow with the time since then [s].
    accounts_m3 : (n_draws, n_stops, n_kept, 6) array, optional
        Takes of the first steps what came from the lot and from far off, what the deep ground took,
        what came in by the drain and at the joint, and what the lot holds at their ends [m3].
    dry_from : (n_draws,) array of int, optional
        Step from which on a stop is known to leave the floor dry. Such a stop, unless it is the
        first column, is not followed: nothing happens. Where another is found it is entered [-].
    alarm_of : (n_draws,) array of int, optional
        Column of the stop whose alarm is looked for even so; none when left out [-].
    quickest_s : (n_draws,) array, optional
        Least time to the floor that is known, from the alarm where `from_alarm`. A stop that takes
        longer, unless it is the first column, is followed no further: nothing happens. Where a
        lesser one is found it is entered; the last column is followed third for that [s].
    lots_m3 : (n_draws, n_stops, n_after, n_stores) array, optional
        Takes the reservoirs of the lot at these times, as `stores_m3` [m3].
    noted_only : bool
        Follow no further than to the last of these times: nothing but what is noted is asked.

    Returns
    -------
    StopRun
        Times [s] and levels [m].

    Raises
    ------
    RangeError
        Where a pit has no band that ends at the invert of its drain.
    ConvergenceError
        Where the events of one step do not come to an end.
    BalanceError
        Where water was made or lost beyond 1e-9 of the water that arrived.

    References
    ----------
    kraijenhoff1958 : reservoirs of the lot
    arithmetic : closed form of two linear differential equations
    """
    invert = footing.level_m[:, :1]
    if not np.all(np.any(np.abs(pit.level_m - invert) < 1e-12, axis=1)):
        raise RangeError("pit", "no band ends at the invert of the drain")
    after = np.zeros(0) if after_s is None else np.asarray(after_s, dtype=np.float64)
    n_draws, n_stops = begin.shape
    out = np.empty((n_draws, n_stops, _follow.N_COLUMNS))
    levels, beside = (np.full((n_draws, n_stops, after.size), np.nan) for _ in range(2))
    vessels = vessels_of(pit, footing, water)
    state = (
        still(np.asarray(begin, dtype=np.int64)), still(inside_m), still(outside_m),
        still(stores_m3),
    )  # fmt: skip
    rows = (still(water.footing_m3_s), still(water.recharge_m3_s))
    share = still(footing.store_share)
    dry = np.zeros(0, np.int64) if dry_from is None else dry_from
    wanted = np.full(dry.size, -1) if alarm_of is None else alarm_of
    quickest = np.zeros(0) if quickest_s is None else quickest_s
    order = np.arange(n_stops)
    if quickest.size and n_stops > 2:  # the last is often the quickest, and tells of the others
        order = np.concatenate([order[:2], order[-1:], order[2:-1]])

    def work(first: int, last: int) -> None:
        _follow.follow_stops(
            vessels, *rows, still(water.step_s), share, *state, pump_works, after, from_alarm,
            float(step_after_s), first, last, out, levels, beside,
            np.empty((n_draws, n_stops, 0, N_ACCOUNTS)) if accounts_m3 is None else accounts_m3,
            dry, still(wanted), quickest, still(order),
            np.empty((n_draws, n_stops, 0, 0)) if lots_m3 is None else lots_m3, noted_only,
        )  # fmt: skip

    share_draws(work, n_draws, n_stops * _STEPS, CHUNK)
    error = out[:, :, _follow.ERROR]
    if np.any(error < 0):
        draw = int(np.argmax(np.any(error < 0, axis=1)))
        raise ConvergenceError(f"The levels of draw {draw} did not come to an end in one step.")
    need_balance(error)
    hand_over(out, levels, beside)
    return StopRun(
        out[:, :, _follow.ALARM], out[:, :, _follow.RIM], out[:, :, _follow.JOINT],
        out[:, :, _follow.HIGHEST], levels, beside,
    )  # fmt: skip


def vessels_of(pit: PitModel | None, footing: FootingModel, water: FootingWater) -> Vessels:
    """Gather the arrays of both vessels as the compiled loops take them.

    Parameters
    ----------
    pit : PitModel or None
        The pit; None where it does not matter.
    footing : FootingModel
        The ground beside the footing.
    water : FootingWater
        What arrives.

    Returns
    -------
    Vessels
        The arrays, which nobody changes.
    """
    n = footing.level_m.shape[0]
    if pit is None:  # the pit does not matter while the drain flows freely
        inside = (np.zeros((n, 2)), np.ones((n, 1)), np.zeros((n, 2)), np.zeros((n, 4), np.int64))
    else:
        marks = np.stack([pit.off_index, pit.on_index, pit.alarm_index, pit.floor_index], axis=1)
        inside = (pit.level_m, pit.area_m2, pit.pump_m3_s, marks)
    arrays = (
        *inside, footing.level_m, footing.area_m2, footing.steady_m3_s,
        footing.conductance_m2_s, footing.joint_m2_s, footing.deep_m3_s,
        footing.store_s, footing.store_area_m2, water.tail_m3, water.tail_s,
        water.recharge_tail_m3, water.recharge_tail_s,
    )  # fmt: skip
    return Vessels(*(cast(Any, still(array)) for array in arrays))


def need_balance(error: FloatArray) -> None:
    """Refuse a run in which water was made or lost.

    Parameters
    ----------
    error : array
        Share of the water that came, of each draw [-].

    Raises
    ------
    BalanceError
        Where it is more than 1e-9.
    """
    # a comparison that is also false for NaN
    if not np.all(error <= _BALANCE):
        worst = float(np.nan_to_num(error, nan=np.inf).max())
        raise BalanceError(f"Water was made or lost at the footing: {worst:.3g} of all that came.")
