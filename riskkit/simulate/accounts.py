"""Where the water in the pit comes from: volumes of a storm by part, with the drain flowing freely.

::

    gap + window wells + roof tied in + fill + lot + ground water
        = to the pit + deep percolation + more in gravel and fill at the footing

Each part is the difference of two states that the runs have noted, so it costs no second run. What
comes after the last step of the storm is run on in dry steps of an hour or two.
"""

from __future__ import annotations

from enum import Enum
from itertools import pairwise

import numpy as np

from riskkit.errors import BalanceError
from riskkit.inflow.wall import WallModel, run_wall
from riskkit.pit.drainage import free_drainage
from riskkit.records import FloatArray
from riskkit.simulate.water import Ground, Water, footing_water

__all__ = ["WINDOWS_H", "PitPart", "pit_water_m3"]

WINDOWS_H = (24.0, 72.0)
"""Ends of the times in which the water is told: the first day, and the two days after it [h]."""
_BALANCE = 1e-9
_LATER_STEP_S = 2 * 3600.0  # after the storm
_COME = 6  # parts that come; the others are where they go
_DEFICIT, _STORE, _WETTED = 0, 1, 4  # columns of a state at the wall


class PitPart(Enum):
    """A part of the water that comes to the pit, or that does not come as far."""

    GAP = "gap"
    WINDOW_WELLS = "window_wells"
    ROOF_TIED_IN = "roof_tied_in"
    FILL = "fill"
    LOT = "lot"
    GROUND_WATER = "ground_water"
    DEEP_GROUND = "deep_ground"
    AT_FOOTING = "at_footing"
    TO_PIT = "to_pit"


def pit_water_m3(
    ground: Ground, water: Water, rain_mm: FloatArray, rain_factor: FloatArray
) -> FloatArray:
    """Return where the water in the pit comes from, in each of two times after a storm begins.

    The drain flows freely, as it does while the pump keeps up. Water that the pump lifts and that
    comes back is not counted again.

    Parameters
    ----------
    ground : Ground
        The ground round the homes.
    water : Water
        The storm there, its states noted before the steps in which a time of `WINDOWS_H` ends, as
        far as it lasts so long.
    rain_mm : (n_steps,) or (n_draws, n_steps) array
        Rain in each step, as it was run [mm].
    rain_factor : (n_draws,) array
        Multiplier of the rain [-].

    Returns
    -------
    (n_draws, n_windows, n_parts) array
        Volumes by `PitPart`: six that come to the footing, what the deep ground takes of them, by
        how much gravel and fill at the footing hold more at the end, and what reaches the pit [m3].

    Raises
    ------
    BalanceError
        Where the parts do not add up to 1e-9 of the water that came.

    References
    ----------
    arithmetic : differences of the states of linear reservoirs
    """
    step_s, n_steps = water.wall.step_s, water.free.to_pit_m3_s.shape[1]
    ends_s = [hours * 3600.0 for hours in WINDOWS_H]
    within = [round(end / step_s) for end in ends_s if round(end / step_s) < n_steps]
    on_way, come = _direct(ground.wall, rain_mm, step_s, rain_factor, [*within, n_steps])
    sums = [np.zeros((ground.n_draws, len(PitPart)))]
    for i, step in enumerate([*within, n_steps]):
        sums.append(_until(ground, water, step, come[i] - on_way[i]))
    if len(within) < len(ends_s):
        later = [n_steps * step_s, *ends_s[len(within) :]]
        sums[-1:] = _after(ground, water, sums[-1], on_way[-1], later)
    parts = np.diff(np.stack(sums[: len(ends_s) + 1], axis=1), axis=1)
    _need_balance(parts)
    return _without_rounding(parts)


def _without_rounding(parts: FloatArray) -> FloatArray:
    """Return nothing in place of less than nothing that differences of large sums leave.

    What is stored at the footing may really become less.
    """
    least = -_BALANCE * (np.abs(parts).sum(axis=-1, keepdims=True) + 1e-6)
    is_rounded = (parts < 0) & (parts >= least)
    is_rounded[..., list(PitPart).index(PitPart.AT_FOOTING)] = False
    return np.where(is_rounded, 0.0, parts)


def _until(ground: Ground, water: Water, step: int, direct: FloatArray) -> FloatArray:
    """Parts from the beginning of the storm until a step (n_draws, n_parts)."""
    free, step_s = water.free, water.wall.step_s
    if water.wall_at is None or water.counted is None:
        raise TypeError("the states at the wall were not noted")
    if step < free.to_pit_m3_s.shape[1]:
        mark = int(np.searchsorted(water.counted, step))
        state, level = water.wall_at[:, mark + 1], free.level_m[:, step]
        far = free.so_far_m3[:, mark]
    else:
        state, level = water.wall_at[:, -1], free.end_level_m
        far = np.stack([free.lot_m3, free.steady_m3, free.deep_m3], axis=1)
    return _parts(
        ground, water.wall_at[:, 0], state, free.level_m[:, 0], level, direct,
        water.wall.footing_m3_s[:, :step].sum(axis=1) * step_s, far,
        free.to_pit_m3_s[:, :step].sum(axis=1) * step_s,
    )  # fmt: skip


def _parts(
    ground: Ground, first: FloatArray, last: FloatArray, first_m: FloatArray, last_m: FloatArray,
    direct: FloatArray, footing: FloatArray, far: FloatArray, to_pit: FloatArray,
) -> FloatArray:  # fmt: skip
    """Parts from one state to a later one (n_draws, n_parts)."""
    taken_up, gone = first - last, last - first  # deficits fall, the others grow
    fill_m = gone[:, _WETTED] - taken_up[:, _DEFICIT] - gone[:, _STORE]
    fill = fill_m * ground.wall.perimeter_m * ground.wall.fill_width_m
    held = ground.footing.held_m3(last_m) - ground.footing.held_m3(first_m)
    gap = footing - fill - direct.sum(axis=0)
    return np.stack([gap, *direct, fill, *far.T, held, to_pit], axis=1)


def _direct(
    wall: WallModel, rain_mm: FloatArray, step_s: float, rain_factor: FloatArray, ends: list[int]
) -> tuple[FloatArray, FloatArray]:
    """Water from window wells and of the roof tied in: still on its way, and come so far.

    Both (n_ends, 2, n_draws) at the beginning of the steps `ends`. It goes with that of the gap
    through one linear reservoir, whose content is the sum of theirs.
    """
    n = wall.gap_time_s.size
    on_way, come = np.zeros((2, len(ends), 2, n))
    roof_m2 = wall.roof_area_m2 * wall.runoff_share * wall.share_to_drain
    at = np.flatnonzero((roof_m2 > 0) | (wall.well_area_m2 > 0))
    rain_m = np.atleast_2d(rain_mm)
    rain_m = (rain_m[at] if len(rain_m) > 1 else rain_m) * rain_factor[at, None] * 1e-3
    area_m2 = np.stack([wall.well_area_m2[at], roof_m2[at]])
    gutter_m = wall.gutter_capacity_mm_h[at] * 1e-3 / 3600.0 * step_s
    time_s = np.maximum(wall.gap_time_s[at], 1e-9)
    decay, stays = np.exp(-step_s / time_s), -np.expm1(-step_s / time_s) * time_s / step_s
    content, total = np.zeros((2, 2, at.size))
    for step in range(ends[-1] + 1):
        if step in ends:
            on_way[ends.index(step)][:, at], come[ends.index(step)][:, at] = content, total
        if step < ends[-1]:
            rain = rain_m[:, step]
            added = np.stack([rain, np.minimum(rain, gutter_m)]) * area_m2
            content, total = content * decay + added * stays, total + added
    return on_way, come


def _after(
    ground: Ground, water: Water, so_far: FloatArray, on_way: FloatArray, ends_s: list[float]
) -> list[FloatArray]:
    """Parts until each of some times after the storm, of which the first is its last moment."""
    if water.wall_at is None:
        raise TypeError("the states at the wall were not noted")
    state, level, lot = water.wall_at[:, -1], water.free.end_level_m, water.free.end_stores_m3
    sums = []
    for begin, end in pairwise(ends_s):
        if end <= begin:  # the storm ends just then
            sums.append(so_far)
            continue
        many = max(1, int(np.ceil((end - begin) / _LATER_STEP_S)))
        step_s = (end - begin) / many
        first, state = state, state.copy()
        wall = run_wall(np.zeros((1, many)), step_s, ground.wall, np.ones(ground.n_draws), state)
        free = free_drainage(ground.footing, footing_water(wall), level, lot, np.zeros(0, np.int64))
        came = on_way * -np.expm1(-(end - begin) / np.maximum(ground.wall.gap_time_s, 1e-9))
        so_far = so_far + _parts(
            ground, first, state, level, free.end_level_m, came,
            wall.footing_m3_s.sum(axis=1) * step_s,
            np.stack([free.lot_m3, free.steady_m3, free.deep_m3], axis=1),
            free.to_pit_m3_s.sum(axis=1) * step_s,
        )  # fmt: skip
        on_way, level, lot = on_way - came, free.end_level_m, free.end_stores_m3
        sums.append(so_far)
    return sums


def _need_balance(parts: FloatArray) -> None:
    come, gone = parts[..., :_COME].sum(axis=-1), parts[..., _COME:].sum(axis=-1)
    # a comparison that is also false for NaN
    if not np.all(np.abs(come - gone) <= _BALANCE * (np.abs(parts).sum(axis=-1) + 1e-6)):
        raise BalanceError("The water that comes to the pit, part by part, does not add up.")
