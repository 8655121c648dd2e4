"""Storm water to the pit: everything between the rain and the mouth of the drain.

::

    rain on strip ─┐                       ┌─ gap share ────────────┐
    roof at wall ──┼─ arrives on the strip ┤                        ├─ fast ───────┐
    gutter spill ──┤                       └─ rest: Green-Ampt      │  (minutes)   ├─> pit
    run-on ────────┘                          │ │ └ ponds, runs off │              │
    wells, downspouts tied to the drain ──────┼─┼───────────────────┘              │
                                              │ └ deficit, then backfill store ────┘
                                              │                     └ native soil
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import BalanceError, RangeError
from riskkit.inflow import _kernel
from riskkit.inflow._kernel import StripDraws
from riskkit.inflow.infiltration import sorption_m
from riskkit.records import FloatArray, PitInflow

__all__ = ["PARTS", "storm_inflow"]

# Where the water that arrived went, in words; the keys of `PitInflow.parts_m3`.
PARTS = (
    "rain",
    "reached the pit",
    "ran off",
    "led away by downspouts",
    "taken up by dry backfill",
    "lost to the native soil",
    "still on the way",
)

_BALANCE = 1e-9
_MM_H = 1e-3 / 3600.0  # mm/h in m/s
# below this many draw-steps a second thread costs more than it saves
_WORTH_A_THREAD = 100_000


def storm_inflow(
    rain_mm: ArrayLike,
    step_s: float,
    *,
    perimeter_m: ArrayLike,
    backfill_width_m: ArrayLike,
    roof_area_m2: ArrayLike,
    runoff_share: ArrayLike,
    gutter_capacity_mm_h: ArrayLike,
    share_at_wall: ArrayLike,
    share_to_drain: ArrayLike,
    well_area_m2: ArrayLike,
    runon_area_m2: ArrayLike,
    gap_share: ArrayLike,
    fast_time_s: ArrayLike,
    ponding_depth_m: ArrayLike,
    backfill_k_m_s: ArrayLike,
    backfill_suction_m: ArrayLike,
    backfill_moisture_deficit: ArrayLike,
    deficit_m: ArrayLike,
    drainable_porosity: ArrayLike,
    drain_depth_m: ArrayLike,
    native_k_m_s: ArrayLike,
    native_suction_m: ArrayLike,
    native_moisture_deficit: ArrayLike,
    loss_share: ArrayLike = 1.0,
    rain_factor: ArrayLike = 1.0,
    threads: int | None = None,
) -> PitInflow:
    """Flow of storm water to the pit, for many draws of a home side by side.

    Per step, on the strip of area A = perimeter x width: water arrives as rain, roof water let out
    at the wall, gutter overflow and run-on (infiltration excess of the lot). A gap share of it goes
    straight to the drain, with the wells and the downspouts tied in, through a linear reservoir of
    minutes. The rest infiltrates by Green and Ampt, ponds up to a depth, or runs off away from the
    house. Infiltrated water fills a deficit, then a store S that drains by
    dS/dt = q - s K_native - S/tau, tau = drainable porosity x drain depth / K_backfill; the share s
    is 1 over deep ground water and 0 where it stands at the drain and takes none. Full backfill
    (S = porosity x depth) takes no more than it hands on. Each part is solved in closed form within
    the step.

    Rain must be padded with dry steps until the drainage of interest is over. One storm at a time:
    the soil's thirst does not come back in dry spells, so a record of years is to be cut in storms.

    Parameters
    ----------
    rain_mm : (n_steps,) or (n_draws, n_steps) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    perimeter_m : float or (n_draws,) array
        Length of wall with a drain, above zero [m].
    backfill_width_m : float or (n_draws,) array
        Width of the backfilled strip, above zero [m].
    roof_area_m2 : float or (n_draws,) array
        Roof area in plan [m2].
    runoff_share : float or (n_draws,) array
        Runoff coefficient of the roof, 0 to 1 [-].
    gutter_capacity_mm_h : float or (n_draws,) array
        Rain intensity that the gutters carry; 0 for no gutters [mm/h].
    share_at_wall : float or (n_draws,) array
        Share of the gutter water let out on the strip [-].
    share_to_drain : float or (n_draws,) array
        Share of the gutter water tied into the drain; with the share above at most 1 [-].
    well_area_m2 : float or (n_draws,) array
        Window wells and stairwells that drain to the tile [m2].
    runon_area_m2 : float or (n_draws,) array
        Part of the lot that sheds its excess towards the house [m2].
    gap_share : float or (n_draws,) array
        Share of the water on the strip that falls through gaps at the wall, 0 to 1 [-].
    fast_time_s : float or (n_draws,) array
        Time constant of the fast water; 0 for none [s].
    ponding_depth_m : float or (n_draws,) array
        How deep water can stand on the strip; 0 where the ground falls away [m].
    backfill_k_m_s : float or (n_draws,) array
        Conductivity of the backfill, looseness included, above zero [m/s].
    backfill_suction_m : float or (n_draws,) array
        Suction head at the wetting front in the backfill [m].
    backfill_moisture_deficit : float or (n_draws,) array
        Water that the wetting front adds to the backfill, 0 to 1 [-].
    deficit_m : float or (n_draws,) array
        Water that the backfill takes up before it drains [m].
    drainable_porosity : float or (n_draws,) array
        Share of the backfill's volume that drains by gravity, above zero [-].
    drain_depth_m : float or (n_draws,) array
        Height of backfill above the drain, above zero [m].
    native_k_m_s : float or (n_draws,) array
        Conductivity of the native soil, above zero [m/s].
    native_suction_m : float or (n_draws,) array
        Suction head at the wetting front in the native soil [m].
    native_moisture_deficit : float or (n_draws,) array
        Water that the wetting front adds to the native soil, 0 to 1 [-].
    loss_share : float or (n_draws,) array
        Share of the native conductivity at which the store loses water downwards, 0 to 1 [-].
    rain_factor : float or (n_draws,) array
        Multiplier of the rain, for its own uncertainty or a climate factor [-].
    threads : int, optional
        Threads to share the draws; the answer does not depend on it. None for one per processor,
        where there is enough to do [-].

    Returns
    -------
    PitInflow
        Mean flow in each step, shape (n_draws, n_steps) [m3/s], and the parts named by `PARTS`,
        each (n_draws,) [m3].

    Raises
    ------
    RangeError
        Where an argument cannot be.
    BalanceError
        Where the parts do not close to 1e-9 of the water that arrived.

    References
    ----------
    green_ampt1911 : infiltration
    mein_larson1973 : ponding within a step
    hec22 : section 3.2.2, roof water
    arithmetic : linear reservoirs and water balance
    judgement : gap share, fast time, constant loss to the native soil
    """
    given: dict[str, ArrayLike] = {
        "perimeter_m": perimeter_m,
        "backfill_width_m": backfill_width_m,
        "roof_area_m2": roof_area_m2,
        "runoff_share": runoff_share,
        "gutter_capacity_mm_h": gutter_capacity_mm_h,
        "share_at_wall": share_at_wall,
        "share_to_drain": share_to_drain,
        "well_area_m2": well_area_m2,
        "runon_area_m2": runon_area_m2,
        "gap_share": gap_share,
        "fast_time_s": fast_time_s,
        "ponding_depth_m": ponding_depth_m,
        "backfill_k_m_s": backfill_k_m_s,
        "backfill_suction_m": backfill_suction_m,
        "backfill_moisture_deficit": backfill_moisture_deficit,
        "deficit_m": deficit_m,
        "drainable_porosity": drainable_porosity,
        "drain_depth_m": drain_depth_m,
        "native_k_m_s": native_k_m_s,
        "native_suction_m": native_suction_m,
        "native_moisture_deficit": native_moisture_deficit,
        "loss_share": loss_share,
        "rain_factor": rain_factor,
    }
    rain = np.array(np.atleast_2d(np.asarray(rain_mm, float)))
    _check_rain(rain, step_s)
    per_draw = _per_draw(given, rain.shape[0])
    draws = _prepare(per_draw)
    n_draws = draws.strip_m2.size
    flow = np.empty((n_draws, rain.shape[1]))
    parts = np.empty((n_draws, len(PARTS)))
    _run(rain, float(step_s), draws, flow, parts, threads)
    _check_balance(parts)
    return PitInflow(flow, float(step_s), {name: parts[:, i] for i, name in enumerate(PARTS)})


_ABOVE_ZERO = (
    "perimeter_m", "backfill_width_m", "backfill_k_m_s", "drainable_porosity", "drain_depth_m",
    "native_k_m_s",
)  # fmt: skip
_SHARES = (
    "runoff_share", "share_at_wall", "share_to_drain", "gap_share", "drainable_porosity",
    "backfill_moisture_deficit", "native_moisture_deficit", "loss_share",
)  # fmt: skip


def _check_rain(rain: FloatArray, step_s: float) -> None:
    if not (step_s > 0 and np.isfinite(step_s)):
        raise RangeError("step_s", "the step is not above zero")
    if rain.size == 0 or rain.ndim != 2:
        raise RangeError("rain_mm", "it is not one row of steps per draw")
    if not (np.all(np.isfinite(rain)) and np.all(rain >= 0)):
        raise RangeError("rain_mm", "a depth is missing or negative")


def _per_draw(given: Mapping[str, ArrayLike], n_rows: int) -> dict[str, FloatArray]:
    """Bring every argument to (n_draws,) and refuse what cannot be."""
    arrays = {name: np.asarray(value, float) for name, value in given.items()}
    sizes = {a.size for a in arrays.values() if a.ndim == 1} | {n_rows}
    n_draws = max(sizes)
    if any(a.ndim > 1 for a in arrays.values()) or not sizes <= {1, n_draws}:
        raise RangeError(
            "inflow", f"arguments are of {sorted(sizes)} draws", "one per draw, or one"
        )
    for name, values in arrays.items():
        if not (np.all(np.isfinite(values)) and np.all(values >= 0)):
            raise RangeError(name, "a value is missing or negative")
        if name in _ABOVE_ZERO and not np.all(values > 0):
            raise RangeError(name, "a value is not above zero")
        if name in _SHARES and not np.all(values <= 1):
            raise RangeError(name, "a share is above 1")
    if not np.all(arrays["share_at_wall"] + arrays["share_to_drain"] <= 1 + 1e-12):
        raise RangeError("share_at_wall, share_to_drain", "they are more than 1 together")
    return {name: np.array(np.broadcast_to(a, (n_draws,))) for name, a in arrays.items()}


def _prepare(a: Mapping[str, FloatArray]) -> StripDraws:
    """Work out what the loop needs, each a fresh array (n_draws,)."""
    store_max_m = a["drainable_porosity"] * a["drain_depth_m"]
    return StripDraws(
        rain_factor=a["rain_factor"],
        strip_m2=a["perimeter_m"] * a["backfill_width_m"],
        roof_m2=a["roof_area_m2"] * a["runoff_share"],
        well_m2=a["well_area_m2"],
        runon_m2=a["runon_area_m2"],
        gutter_m_s=a["gutter_capacity_mm_h"] * _MM_H,
        share_at_wall=a["share_at_wall"],
        share_to_drain=a["share_to_drain"],
        gap_share=a["gap_share"],
        fast_s=a["fast_time_s"],
        k_m_s=a["backfill_k_m_s"],
        sorption_m=sorption_m(a["backfill_suction_m"], a["backfill_moisture_deficit"]),
        pond_m=a["ponding_depth_m"],
        deficit_m=a["deficit_m"],
        store_max_m=store_max_m,
        tau_s=store_max_m / a["backfill_k_m_s"],
        native_k_m_s=a["native_k_m_s"],
        native_sorption_m=sorption_m(a["native_suction_m"], a["native_moisture_deficit"]),
        loss_m_s=a["loss_share"] * a["native_k_m_s"],
    )


def _run(
    rain: FloatArray,
    step_s: float,
    draws: StripDraws,
    flow: FloatArray,
    parts: FloatArray,
    threads: int | None,
) -> None:
    """Run the compiled loop, the draws shared between threads (it releases the lock)."""
    n_draws = flow.shape[0]
    if threads is None:
        threads = min(os.cpu_count() or 1, flow.size // _WORTH_A_THREAD)
    threads = max(1, min(threads, n_draws))

    def some(rows: slice) -> None:
        own = rain[rows] if rain.shape[0] > 1 else rain
        chunk = StripDraws(*(values[rows] for values in draws))
        _kernel.strip_loop(own, step_s, chunk, flow[rows], parts[rows])

    if threads == 1:
        some(slice(0, n_draws))
        return
    edges = np.linspace(0, n_draws, threads + 1).astype(int)
    slices = [slice(int(i), int(j)) for i, j in pairwise(edges)]
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(some, slices))


def _check_balance(parts: FloatArray) -> None:
    arrived = parts[:, 0]
    error = np.abs(arrived - parts[:, 1:].sum(axis=1))
    if not np.all(error <= _BALANCE * arrived):
        worst = int(np.argmax(error - _BALANCE * arrived))
        raise BalanceError(
            f"The water of draw {worst} does not add up: {arrived[worst]:g} m3 arrived, "
            f"{error[worst]:g} m3 are not accounted for."
        )
