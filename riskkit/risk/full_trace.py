"""The median home through one storm with every value between rain and floor, step by step.

It is the storm of a `Trace`, run once more with nothing left out, so that each column of
``tables/trace_columns.csv`` can be worked out from the others and from the numbers of the model.
"""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.inflow.wall import FLOWS, WallModel, start_state
from riskkit.pit.balance import run_pit
from riskkit.pit.vessels import N_ACCOUNTS, FootingModel, follow_stops
from riskkit.records import FloatArray, PitModel, PitRun, need
from riskkit.risk.time_to_flood import Stops, dead_before, mark_m, stops_in_storm
from riskkit.risk.trace import Trace
from riskkit.simulate import Ground, Water, ground_of, pit_of, water_of

__all__ = ["storm_columns", "storm_model"]

# columns of a state at the wall, see `inflow.wall.start_state`
_DEFICIT, _STORE, _LOT_DEFICIT, _LOT_STORE, _WETTED, _LOT_WETTED, _POND, _GAP = range(8)
_SORPTION, _LOT_SORPTION = 8, 9
_WALL_COLUMNS = (
    "strip_rain_m3_s", "roof_at_wall_m3_s", "gutter_overflow_m3_s", "run_on_m3_s",
    "roof_tied_in_m3_s", "roof_led_away_m3_s", "window_wells_m3_s", "gap_direct_m3_s",
    "ponded_to_gap_m3_s", "infiltration_m3_s", "run_off_m3_s", "gap_flow_m3_s",
    "fill_drainage_m3_s", "lot_infiltration_m3_s", "lot_run_off_m3_s", "recharge_m3_s",
)  # fmt: skip
"""The names here of `inflow.wall.FLOWS`."""
_AT_WALL = _WALL_COLUMNS[:4]
_STOPPED_FLOWS = ("lot_drain", "ground_water", "deep", "drain", "joint")


def storm_columns(home: HomeSamples, trace: Trace) -> dict[str, FloatArray]:
    """Return every value of one home through one storm.

    Parameters
    ----------
    home : HomeSamples
        The home of the trace.
    trace : Trace
        It through the storm.

    Returns
    -------
    dict of str to (n_steps + 1,) array
        By the names of ``tables/trace_columns.csv``; a flow is NaN in the last row, where no step
        begins, and what follows from a stopped pump before it stops [any].

    Raises
    ------
    RangeError
        Where there is more than one home.

    References
    ----------
    arithmetic : the states and flows of the compiled runs
    """
    need(home.n_draws == 1, "trace", f"it follows one home, not {home.n_draws}")
    n, step_s = trace.time_s.size, float(trace.time_s[1] - trace.time_s[0])
    rain_mm = (trace.rain_mm_h * step_s / 3600.0)[None]
    pit, ground = pit_of(home), ground_of(home)
    every = np.arange(n, dtype=np.int64)
    flows = np.empty((1, n, len(FLOWS)))
    water = water_of(ground, rain_mm, step_s, np.ones(1), every, flows)
    dead = dead_before(pit, ground)
    run = run_pit(
        pit, water.to_pit, None if home.has_pump else dead[0], keep_levels=True, account_steps=1
    )
    begin = round(trace.stop_s / step_s)
    stops = stops_in_storm(np.array([[begin]]), pit, run, water, dead)
    found = {
        "time_s": np.arange(n + 1) * step_s,
        "rain_mm": rain_mm[0],
        "rain_mm_h": trace.rain_mm_h,
        "rain_total_mm": np.append(0.0, np.cumsum(rain_mm)),
        **_at_wall(ground.wall, rain_mm[0], water, flows[0], step_s),
        **_beside(ground.footing, water),
        **_in_pit(pit, run, step_s),
        **_stopped(pit, ground, water, stops, begin),
    }
    found["since_stop_min"] = _from(0.0, (found["time_s"] - trace.stop_s) / 60.0)
    found["since_alarm_min"] = _from(0.0, found["since_stop_min"] - trace.to_alarm_s / 60.0)
    return {name: _as_long(values, n + 1) for name, values in found.items()}


def _as_long(values: FloatArray, n: int) -> FloatArray:
    """Leave the last rows empty where no step begins."""
    return np.append(values, np.full(n - values.size, np.nan))


def _from(low: float, values: FloatArray) -> FloatArray:
    return np.where(values >= low, values, np.nan)


def _at_wall(
    wall: WallModel, rain_mm: FloatArray, water: Water, flows_m3: FloatArray, step_s: float
) -> dict[str, FloatArray]:
    """What the strip, the fill, the gap and the lot did."""
    if water.wall_at is None:
        raise TypeError("the states at the wall were not noted")
    state = water.wall_at[0, 1:].T  # the first is there twice
    area, lot = float(wall.perimeter_m[0] * wall.fill_width_m[0]), float(wall.lot_area_m2[0])
    found = dict(zip(_WALL_COLUMNS, flows_m3.T / step_s, strict=True))
    found["at_wall_m3_s"] = np.sum([found[name] for name in _AT_WALL], axis=0)
    found["lot_rain_m3_s"] = rain_mm * 1e-3 * lot / step_s
    return found | {
        "ponded_m": state[_POND],
        "ponded_m3": state[_POND] * area,
        "infiltrated_m": state[_WETTED],
        "fill_deficit_m3": state[_DEFICIT] * area,
        "fill_m3": state[_STORE] * area,
        "gap_m3": state[_GAP],
        "lot_infiltrated_m": state[_LOT_WETTED],
        "lot_deficit_m3": state[_LOT_DEFICIT] * lot,
        "lot_way_down_m3": state[_LOT_STORE] * lot,
    }


def _beside(footing: FootingModel, water: Water) -> dict[str, FloatArray]:
    """What came and went beside the footing while the drain flows freely."""
    free, step_s = water.free, water.wall.step_s
    level = np.append(free.level_m[0], free.end_level_m)
    last = np.array([free.lot_m3, free.steady_m3, free.deep_m3]).T
    lot, steady, deep = np.diff(np.concatenate([free.so_far_m3[0], last]), axis=0).T / step_s
    stores = np.concatenate([free.stores_m3[0], free.end_stores_m3])
    each = stores + footing.store_area_m2[0] * (level - footing.level_m[0, 0])[:, None]
    return {
        **{f"lot_store_{i}_m3": water for i, water in enumerate(each.T, start=1)},
        "lot_m3": stores.sum(axis=1) + _risen_m3(footing, level),
        "lot_drain_m3_s": lot,
        "ground_water_m3_s": steady,
        "deep_m3_s": deep,
        "footing_level_m": level,
        "footing_m3": _held_m3(footing.level_m[0], footing.area_m2[0], level),
        "to_pit_m3_s": free.to_pit_m3_s[0],
    }


def _risen_m3(footing: FootingModel, level_m: FloatArray) -> FloatArray:
    """Water that the lot keeps back because the level at the wall is high."""
    return np.asarray(footing.store_area_m2.sum() * (level_m - footing.level_m[0, 0]))


def _held_m3(level_m: FloatArray, area_m2: FloatArray, at_m: FloatArray) -> FloatArray:
    """Water up to each of some levels; the outermost bands go on."""
    bottom, top = level_m[:-1].copy(), level_m[1:].copy()
    bottom[0], top[-1] = -np.inf, np.inf
    stands = np.clip(at_m[:, None], bottom, top) - level_m[:-1]
    return np.asarray(stands @ area_m2)


def _in_pit(pit: PitModel, run: PitRun, step_s: float) -> dict[str, FloatArray]:
    """What the pit did with the pump working."""
    if run.level_m is None or run.accounts is None:
        raise TypeError("run_pit kept no levels")
    lifted = run.accounts.pumped_m3[0]
    return {
        "returned_m3_s": _returned_m3(pit, lifted, step_s) / step_s,
        "pump_m3_s": lifted / step_s,
        "pit_level_m": run.level_m[0],
        "pit_m3": _held_m3(pit.level_m[0], pit.area_m2[0], run.level_m[0]),
    }


def _returned_m3(pit: PitModel, lifted_m3: FloatArray, step_s: float) -> FloatArray:
    """What comes back of what left by the outlet; water that fell back first is owed."""
    lag = max(1, round(pit.return_lag_s / step_s))
    back, owed = np.zeros(lifted_m3.size + lag), 0.0
    for k, lifted in enumerate(lifted_m3):
        out = owed + lifted
        owed = min(out, 0.0)
        back[k + lag] = pit.return_share[0] * max(out, 0.0)
    return back[: lifted_m3.size]


def _stopped(
    pit: PitModel, ground: Ground, water: Water, stops: Stops, begin: int
) -> dict[str, FloatArray]:
    """What follows from the pump that stops before a step; NaN before it."""
    footing, step_s = ground.footing, water.wall.step_s
    n = water.free.to_pit_m3_s.shape[1]
    accounts = np.zeros((1, 1, n - begin, N_ACCOUNTS))
    after = np.arange(n - begin + 1) * step_s
    inside, outside, lot = stops.inside_m, stops.outside_m, stops.lot_m3
    run = follow_stops(
        pit, footing, water.arriving, np.full((1, 1), begin), inside, outside, lot, after,
        accounts_m3=accounts,
    )  # fmt: skip
    *flows, held = accounts[0, 0].T
    first = lot.sum() + _risen_m3(footing, outside[0])
    found = {f"stopped_{name}_m3_s": flow / step_s
             for name, flow in zip(_STOPPED_FLOWS, flows, strict=True)}  # fmt: skip
    level, beside = run.level_m[0, 0], run.footing_m[0, 0]
    found |= {
        "stopped_lot_m3": np.append(first, held),
        "stopped_footing_level_m": beside,
        "stopped_footing_m3": _held_m3(footing.level_m[0], footing.area_m2[0], beside),
        "stopped_pit_level_m": level,
        "stopped_pit_m3": _held_m3(pit.level_m[0], pit.area_m2[0], level),
    }
    return {name: np.append(np.full(begin, np.nan), values) for name, values in found.items()}


def storm_model(home: HomeSamples) -> dict[str, float | list[float]]:
    """Return the numbers with which the columns are worked out, as they follow from a home.

    Parameters
    ----------
    home : HomeSamples
        One home.

    Returns
    -------
    dict of str to float or list of float
        Strip, roof and lot as in `WallModel`; levels, areas and flows of footing and pit, bottom
        up. Each name ends in its unit [any].

    References
    ----------
    arithmetic : the models of the stages
    """
    pit, ground = pit_of(home), ground_of(home)
    wall, footing = ground.wall, ground.footing
    found: dict[str, FloatArray] = {f.name: getattr(wall, f.name) for f in fields(WallModel)}
    sorption = _sorption(ground)
    found |= {
        "fill_sorption_m": sorption[:1],
        "lot_sorption_m": sorption[1:],
        "invert_m": footing.level_m[:, 0],
        "conductance_m2_s": footing.conductance_m2_s,
        "joint_m2_s": footing.joint_m2_s,
        "deep_m3_s": footing.deep_m3_s,
        "on_m": mark_m(pit, pit.on_index),
        "off_m": mark_m(pit, pit.off_index),
        "alarm_m": mark_m(pit, pit.alarm_index),
        "return_share": pit.return_share,
        "return_lag_s": np.array([pit.return_lag_s]),
        "drainback_m3": pit.drainback_m3,
    }
    listed = {
        "footing_level_m": footing.level_m[0],
        "footing_area_m2": footing.area_m2[0],
        "footing_ground_water_m3_s": footing.steady_m3_s[0],
        "store_s": footing.store_s[0],
        "store_area_m2": footing.store_area_m2[0],
        "store_share": footing.store_share,
        "pit_level_m": pit.level_m[0],
        "pit_area_m2": pit.area_m2[0],
        "pit_pump_m3_s": pit.pump_m3_s[0],
    }
    one = {name: float(values[0]) for name, values in found.items()}
    return one | {name: values.tolist() for name, values in listed.items()}


def _sorption(ground: Ground) -> FloatArray:
    return np.asarray(start_state(ground.wall, 1)[0, [_SORPTION, _LOT_SORPTION]])
