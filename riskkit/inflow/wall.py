"""Storm water at the wall and on the lot: everything between the rain and the footing.

::

    rain on strip ─┐                       ┌─ gap ────────────────────────┐
    roof at wall ──┼─ arrives on the strip ┤       ^                      ├─ minutes ─┐
    gutter overflow ──┤                       │       └──── ponded water     │           │
    run-on ────────┘                       └─ infiltrates ─ fill ─────────┼─ hours ───┼─> footing
                                              │ └ stands, spills, runs off│           │
    wells, downspouts tied to the drain ──────┼───────────────────────────┘           │
                                              └ deficit                               │
    rain on the lot ── infiltrates ── deficit, then down to the water table ── lot ───┘
                       └ runs off, a part towards the house

What the footing gets does not depend on the level of the water there, and neither does the
recharge of the lot's water table: `pit.vessels` joins both to the drain and the pit.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import BalanceError, RangeError
from riskkit.inflow import _kernel
from riskkit.inflow._kernel import WallDraws
from riskkit.inflow.soils import sorption_m
from riskkit.records import FloatArray, FrozenMapping, IntArray, freeze_arrays, hand_over
from riskkit.threads import share_out

__all__ = ["FLOWS", "PARTS", "WallModel", "WallWater", "run_wall", "start_state", "wall_water"]

PARTS = (
    "arrived",
    "reached the footing",
    "reached the water table of the lot",
    "ran off",
    "led away by downspouts",
    "taken up by dry fill",
    "taken up by the dry lot",
    "used by plants",
    "still on the way",
)
"""Where the water that arrived went; the keys of `WallWater.parts_m3`."""

FLOWS = (
    "rain on the strip",
    "roof let out at the wall",
    "gutter overflow",
    "run-on",
    "roof tied into the drain",
    "roof led away",
    "window wells",
    "straight into the gap",
    "ponded water into the gap",
    "infiltration",
    "run-off of the strip",
    "gap to the footing",
    "fill to the footing",
    "infiltration of the lot",
    "run-off of the lot",
    "recharge",
)
"""What goes from store to store in a step, where it is asked for; see `run_wall`."""

_USED = PARTS.index("used by plants")
_BALANCE = 1e-9
_ROUNDING_M3 = 1e-12  # where next to nothing arrived, deficits of a whole lot round to more
_MM_H = 1e-3 / 3600.0  # mm/h in m/s
_LEAST_FOR_THREADS = 8_000  # steps of draws, a millisecond: with fewer one more costs more
_MOST_IN_PART = 256  # draws of a call of the loop, after which other work may go first


@dataclass(frozen=True)
class WallModel:
    """The strip of fill at the wall, the roof above it and the lot beside it.

    Every field is one number per draw, (n_draws,).

    Parameters
    ----------
    perimeter_m : array
        Length of wall with a drain, above zero [m].
    fill_width_m : array
        Width of the backfilled strip, above zero [m].
    roof_area_m2 : array
        Roof area in plan [m2].
    runoff_share : array
        Runoff coefficient of the roof, 0 to 1 [-].
    gutter_capacity_mm_h : array
        Rain intensity that the gutters carry; 0 for no gutters [mm/h].
    share_at_wall : array
        Share of the gutter water let out on the strip [-].
    share_to_drain : array
        Share of the gutter water tied into the drain; with the share above at most 1 [-].
    well_area_m2 : array
        Window wells and stairwells that drain to the tile [m2].
    gap_share : array
        Share of the water that arrives on the strip and meets a gap at the wall first [-].
    ponding_time_s : array
        Time constant with which ponded water on the strip drains down the gap, above zero [s].
    gap_time_s : array
        Time constant of this water on its way; 0 for none [s].
    ponding_depth_m : array
        How deep water can stand on the strip [m].
    fill_k_m_s, fill_suction_m, fill_moisture_deficit : array
        Green and Ampt's conductivity, suction head and moisture deficit of the fill [m/s, m, -].
    fill_deficit_m : array
        Water that the fill takes up before it drains [m].
    fill_storage_m : array
        Drainable water that it can hold, above zero [m].
    fill_time_s : array
        Time constant of its drainage, above zero [s].
    fill_water_m : array
        Drainable water in it before the storm [m].
    lot_area_m2 : array
        Ground between the wall and the divide that drains to the foundation drain [m2].
    runon_area_m2 : array
        Part of it that sheds its runoff towards the house [m2].
    lot_k_m_s, lot_suction_m, lot_moisture_deficit : array
        Green and Ampt's conductivity, suction head and moisture deficit of the lot [m/s, m, -].
    lot_deficit_m : array
        Water that the root zone takes up before it drains [m].
    lot_storage_m : array
        Drainable water that it can hold above the water table, above zero [m].
    lot_time_s : array
        Time constant of the way down to the water table, above zero [s].
    lot_water_m : array
        Water on that way before the storm [m].
    """

    perimeter_m: FloatArray
    fill_width_m: FloatArray
    roof_area_m2: FloatArray
    runoff_share: FloatArray
    gutter_capacity_mm_h: FloatArray
    share_at_wall: FloatArray
    share_to_drain: FloatArray
    well_area_m2: FloatArray
    gap_share: FloatArray
    ponding_time_s: FloatArray
    gap_time_s: FloatArray
    ponding_depth_m: FloatArray
    fill_k_m_s: FloatArray
    fill_suction_m: FloatArray
    fill_moisture_deficit: FloatArray
    fill_deficit_m: FloatArray
    fill_storage_m: FloatArray
    fill_time_s: FloatArray
    fill_water_m: FloatArray
    lot_area_m2: FloatArray
    runon_area_m2: FloatArray
    lot_k_m_s: FloatArray
    lot_suction_m: FloatArray
    lot_moisture_deficit: FloatArray
    lot_deficit_m: FloatArray
    lot_storage_m: FloatArray
    lot_time_s: FloatArray
    lot_water_m: FloatArray

    def __post_init__(self) -> None:
        values = {item.name: np.atleast_1d(getattr(self, item.name)) for item in fields(self)}
        try:
            shape = np.broadcast_shapes(*(v.shape for v in values.values()))
        except ValueError:
            raise RangeError("wall", "values are of different numbers of draws") from None
        if len(shape) > 1:
            raise RangeError("wall", "a value is a table", "one number per draw")
        for name, value in values.items():
            if not (np.all(np.isfinite(value)) and np.all(value >= 0)):
                raise RangeError(name, "a value is missing or negative")
            if name in _ABOVE_ZERO and not np.all(value > 0):
                raise RangeError(name, "a value is not above zero")
            if name in _SHARES and not np.all(value <= 1):
                raise RangeError(name, "a share is above 1")
            object.__setattr__(self, name, np.broadcast_to(value, shape))
        if not np.all(self.share_at_wall + self.share_to_drain <= 1 + 1e-12):
            raise RangeError("share_at_wall, share_to_drain", "they are more than 1 together")
        if not np.all(self.runon_area_m2 <= self.lot_area_m2 * (1 + 1e-12)):
            raise RangeError("runon_area_m2", "it is more than the lot")
        freeze_arrays(self)


_ABOVE_ZERO = (
    "perimeter_m", "fill_width_m", "ponding_time_s", "fill_k_m_s", "fill_storage_m", "fill_time_s",
    "lot_area_m2", "lot_k_m_s", "lot_storage_m", "lot_time_s",
)  # fmt: skip
_SHARES = (
    "runoff_share", "share_at_wall", "share_to_drain", "gap_share", "fill_moisture_deficit",
    "lot_moisture_deficit",
)  # fmt: skip


_ROOTS = (
    "fill_depth_m", "fill_roots_m", "fill_available_m",
    "lot_depth_m", "lot_roots_m", "lot_available_m",
)  # fmt: skip


@dataclass(frozen=True)
class WallWater:
    """Water on its way to the drain, whatever stands there.

    Parameters
    ----------
    footing_m3_s : (n_draws, n_steps) array
        Mean flow that reaches the footing in each step [m3/s].
    recharge_m3_s : (n_draws, n_steps) array
        Mean flow that reaches the water table of the lot in each step [m3/s].
    step_s : float
        Length of a step [s].
    tail_m3 : (n_draws, 4) array
        On its way when the steps end: in the gap, ponded, in the fill, on the lot [m3].
    tail_s : (n_draws, 4) array
        Time constants with which that arrives [s].
    parts_m3 : mapping of str to (n_draws,) array
        Where the water went, by the names of `PARTS` [m3].
    """

    footing_m3_s: FloatArray
    recharge_m3_s: FloatArray
    step_s: float
    tail_m3: FloatArray
    tail_s: FloatArray
    parts_m3: Mapping[str, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        freeze_arrays(self)
        object.__setattr__(self, "parts_m3", FrozenMapping(self.parts_m3))


def wall_water(
    rain_mm: ArrayLike,
    step_s: float,
    wall: WallModel,
    rain_factor: ArrayLike = 1.0,
    threads: int | None = None,
    *,
    state: FloatArray | None = None,
    marked: IntArray | None = None,
    noted: FloatArray | None = None,
    flows: FloatArray | None = None,
) -> WallWater:
    """Storm water that reaches the footing and the lot's water table, for many draws side by side.

    Per step, on the strip of area A = perimeter x width: water arrives as rain, roof water let out
    at the wall, gutter overflow and run-on (infiltration excess of the lot). A share of it meets
    the gap first, the rest infiltrates by Green and Ampt or ponds; what would pond deeper than the
    ground can hold runs off away from the house, and ponded water drains down the gap as a linear
    reservoir.
    Gap water, wells and downspouts tied in go through a linear reservoir of minutes. Infiltrated
    water fills a deficit, then a store that drains as a linear reservoir, in the fill to the
    footing and on the lot to the water table. Full ground takes no more than it hands on. Each
    part is solved in closed form within the step. The soil does not dry between showers.

    Parameters
    ----------
    rain_mm : (n_steps,) or (n_draws, n_steps) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    wall : WallModel
        Strip, roof and lot.
    rain_factor : float or (n_draws,) array
        Multiplier of the rain, for its own uncertainty or a climate factor [-].
    threads : int, optional
        Threads to share the draws; None for one per processor, where there is enough to do [-].
    state : (n_draws, 11) array, optional
        As for `run_wall`; that which the model tells where it is left out [m, m3, s].
    marked : (n_marked,) array of int, optional
        As for `run_wall` [-].
    noted : (n_draws, n_marked, 11) array, optional
        As for `run_wall` [m, m3, s].
    flows : (n_draws, n_steps, 16) array, optional
        As for `run_wall` [m3].

    Returns
    -------
    WallWater
        Flows [m3/s], what is on its way at the end [m3], and where the water went [m3].

    Raises
    ------
    RangeError
        Where the rain or the step cannot be.
    BalanceError
        Where the parts do not close to 1e-9 of the water that arrived.

    References
    ----------
    green_ampt1911 : infiltration
    mein_larson1973 : ponding within a step
    hec22 : section 3.2.2, roof water
    arithmetic : linear reservoirs and water balance
    judgement : gap share and gap time
    """
    rain = np.atleast_2d(np.asarray(rain_mm, float))
    factor = np.atleast_1d(np.asarray(rain_factor, float))
    _check_rain(rain, step_s, factor)
    sizes = {wall.perimeter_m.size, factor.size, rain.shape[0]}
    n_draws = max(sizes)
    if not sizes <= {1, n_draws}:
        raise RangeError("wall", f"arguments are of {sorted(sizes)} draws", "one per draw, or one")
    now = start_state(wall, n_draws) if state is None else state
    return run_wall(
        rain, step_s, wall, factor, now, marked=marked, noted=noted, flows=flows, threads=threads
    )


def start_state(wall: WallModel, n_draws: int) -> FloatArray:
    """Return the state of the strip and the lot before a storm, as the model tells it.

    Parameters
    ----------
    wall : WallModel
        Strip, roof and lot.
    n_draws : int
        Number of draws [-].

    Returns
    -------
    (n_draws, 11) array
        Deficit and drainable water of the fill and of the lot [m], infiltration of the wetting
        front into both [m], ponded water [m], gap water [m3], sorption of both [m], time without
        water on the ground [s].

    References
    ----------
    green_ampt1911 : sorption, suction head times moisture deficit
    """
    none = np.zeros(1)
    columns = (
        wall.fill_deficit_m, wall.fill_water_m, wall.lot_deficit_m, wall.lot_water_m,
        none, none, none, none,
        sorption_m(wall.fill_suction_m, wall.fill_moisture_deficit),
        sorption_m(wall.lot_suction_m, wall.lot_moisture_deficit), none,
    )  # fmt: skip
    return np.stack([np.broadcast_to(column, (n_draws,)) for column in columns], axis=1)


def run_wall(
    rain_mm: FloatArray,
    step_s: float,
    wall: WallModel,
    rain_factor: FloatArray,
    state: FloatArray,
    *,
    demand_mm: FloatArray | None = None,
    scarce_share: FloatArray | None = None,
    thawed_share: FloatArray | None = None,
    front_s: float = np.inf,
    roots: Mapping[str, FloatArray] | None = None,
    marked: IntArray | None = None,
    noted: FloatArray | None = None,
    flows: FloatArray | None = None,
    threads: int | None = None,
) -> WallWater:
    """Run the compiled loop from a state, which it leaves as it is at the end.

    Parameters
    ----------
    rain_mm : (n_steps,) or (n_draws, n_steps) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    wall : WallModel
        Strip, roof and lot.
    rain_factor : (n_draws,) array
        Multiplier of the rain [-].
    state : (n_draws, 11) array
        See `start_state`; changed in place [m, m3, s].
    demand_mm : (n_steps,) array, optional
        What plants use in each step where water is not scarce; nothing in a storm [mm].
    scarce_share : (n_steps,) array, optional
        Share of the available water below which they draw less in that step [-].
    thawed_share : (n_steps,) or (n_draws, n_steps) array, optional
        Share of the lot that takes water, the rest being frozen; all of it where left out [-].
    front_s : float
        Time without water on the ground that ends a wetting front [s].
    roots : mapping of str to array, optional
        Depths of ground and roots, and available water [m]; see `continuous.RootZone`.
    marked : (n_marked,) array of int, optional
        Steps before which the state is noted, increasing [-].
    noted : (n_draws, n_marked, 11) array, optional
        Takes these states; see `start_state` [m, m3, s].
    flows : (n_draws, n_steps, 16) array, optional
        Takes what went from store to store in each step, by `FLOWS` [m3].
    threads : int, optional
        See `wall_water`.

    Returns
    -------
    WallWater
        Flows [m3/s], what is on its way at the end [m3], and where the water went [m3].

    Raises
    ------
    BalanceError
        Where the parts do not close to 1e-9 of the water that arrived.
    """
    n_draws = state.shape[0]
    rain = np.array(np.atleast_2d(rain_mm))
    draws = _prepare(wall, rain_factor, n_draws, roots or {})
    footing, recharge = np.empty((n_draws, rain.shape[1])), np.empty((n_draws, rain.shape[1]))
    tail, parts = np.empty((n_draws, 4)), np.empty((n_draws, len(PARTS)))
    demand = np.zeros(0) if demand_mm is None else np.array(demand_mm, dtype=np.float64)
    scarce = np.ones(demand.size) if scarce_share is None else np.array(scarce_share)
    thawed = np.zeros((1, 0))
    if thawed_share is not None and thawed_share.min() < 1:
        thawed = np.array(np.atleast_2d(thawed_share))
    marks = np.zeros(0, dtype=np.int64) if marked is None else np.array(marked, dtype=np.int64)
    kept = np.empty((n_draws, marks.size, state.shape[1])) if noted is None else noted
    each = np.empty((n_draws, 0, len(FLOWS))) if flows is None else flows
    out = (state, kept, footing, recharge, tail, parts, each)
    of_all = (demand, scarce, float(front_s), float(step_s))
    _run((rain, thawed), of_all, draws, marks, out, threads)
    _check_balance(parts)
    tail_s = np.stack(
        [draws.gap_time_s, draws.ponding_time_s, draws.fill_time_s, draws.lot_time_s], axis=1
    )
    hand_over(footing, recharge, tail)
    return WallWater(
        footing, recharge, float(step_s), tail, np.maximum(tail_s, 1.0),
        {name: parts[:, i] for i, name in enumerate(PARTS)},
    )  # fmt: skip


def _check_rain(rain: FloatArray, step_s: float, rain_factor: FloatArray) -> None:
    if not (step_s > 0 and np.isfinite(step_s)):
        raise RangeError("step_s", "the step is not above zero")
    if rain.size == 0 or rain.ndim != 2:
        raise RangeError("rain_mm", "it is not one row of steps per draw")
    if not (np.all(np.isfinite(rain)) and np.all(rain >= 0)):
        raise RangeError("rain_mm", "a depth is missing or negative")
    if not (np.all(np.isfinite(rain_factor)) and np.all(rain_factor >= 0)):
        raise RangeError("rain_factor", "a value is missing or negative")


def _prepare(
    wall: WallModel, rain_factor: FloatArray, n_draws: int, roots: Mapping[str, FloatArray]
) -> WallDraws:
    """Work out what the loop needs, each a fresh array (n_draws,)."""
    derived = {
        "rain_factor": rain_factor,
        "strip_m2": wall.perimeter_m * wall.fill_width_m,
        "roof_m2": wall.roof_area_m2 * wall.runoff_share,
        "well_m2": wall.well_area_m2,
        "gutter_m_s": wall.gutter_capacity_mm_h * _MM_H,
        "pond_m": wall.ponding_depth_m,
        "lot_m2": wall.lot_area_m2,
        "runon_m2": wall.runon_area_m2,
        **dict.fromkeys(_ROOTS, np.ones(1)),
        **roots,
    }
    given = {name: derived[name] if name in derived else getattr(wall, name)
             for name in WallDraws._fields}  # fmt: skip
    return WallDraws(**{k: np.array(np.broadcast_to(v, (n_draws,))) for k, v in given.items()})


def _run(
    weather: tuple[FloatArray, FloatArray],
    of_all: tuple[FloatArray, FloatArray, float, float],
    draws: WallDraws,
    marks: IntArray,
    out: tuple[FloatArray, ...],
    threads: int | None,
) -> None:
    """Run the compiled loop, the draws shared between threads (it releases the lock)."""
    n_draws = out[0].shape[0]
    if threads is None:
        threads = min(os.cpu_count() or 1, out[2].size // _LEAST_FOR_THREADS)
    threads = max(1, min(threads, n_draws))

    def some(rows: slice) -> None:
        own = (one[rows] if one.shape[0] > 1 else one for one in weather)
        chunk = WallDraws(*(values[rows] for values in draws))
        _kernel.wall_loop(*own, *of_all, chunk, marks, *(array[rows] for array in out))

    n_parts = max(threads, math.ceil(n_draws / _MOST_IN_PART))
    edges = np.linspace(0, n_draws, n_parts + 1).astype(int)
    share_out(some, [slice(int(i), int(j)) for i, j in pairwise(edges)], threads)


def _check_balance(parts: FloatArray) -> None:
    arrived = parts[:, 0]
    error = np.abs(arrived - parts[:, 1:].sum(axis=1))
    moved = arrived + parts[:, _USED]  # in dry months plants use what came before
    allowed = np.maximum(_BALANCE * moved, _ROUNDING_M3)
    if not np.all(error <= allowed):
        worst = int(np.argmax(error - allowed))
        come, off = arrived[worst], error[worst]
        text = f"Water of draw {worst} does not add up: {off:g} m3 are off, of {come:g} m3."
        raise BalanceError(text)
