"""The model of a pit as piecewise-linear functions of the level."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from riskkit.errors import InputError, Key, Words
from riskkit.pit.geometry import StorageLayer
from riskkit.records import FloatArray, PitModel

__all__ = ["FlowAtLevel", "build_pit"]

# Ground water bends most just above the floor, and no slab ends there
_EXTRA_ABOVE_FLOOR_M = (0.05, 0.15, 0.4, 1.0)

FlowAtLevel = Callable[[FloatArray], FloatArray]


def build_pit(
    room: Sequence[StorageLayer],
    off_depth_m: FloatArray,
    on_depth_m: FloatArray,
    alarm_depth_m: FloatArray,
    pump_m3_s: FlowAtLevel | FloatArray,
    seepage_m3_s: FlowAtLevel | FloatArray,
    extra_depth_m: Sequence[FloatArray] = (),
    return_share: FloatArray | float = 0.0,
    return_lag_s: float = 900.0,
    drainback_m3: FloatArray | float = 0.0,
) -> PitModel:
    """Build the model of a pit: bands between all levels at which something changes.

    Between two levels the flows are taken as linear in the level. Levels at which a flow bends
    (where ground water no longer comes in, say) are given as `extra_depth_m`; the middle between
    alarm and floor and some levels above the floor are added.

    Parameters
    ----------
    room : sequence of StorageLayer
        The pit first, bottom up, then its pump, drain, gravel and the basement; at least the pit
        and the basement. What lies below the bottom of the pit does not count.
    off_depth_m : (n_draws,) array
        Depth below the floor at which the pump stops [m].
    on_depth_m : (n_draws,) array
        Depth below the floor at which it starts [m].
    alarm_depth_m : (n_draws,) array
        Depth below the floor at which the alarm sounds [m].
    pump_m3_s : callable or (n_draws,) array
        Flow of the running pump: of the levels, ``(n_draws, n_levels)`` to the same shape, or one
        for all levels [m3/s].
    seepage_m3_s : callable or (n_draws,) array
        Ground-water inflow, in the same way; never negative [m3/s].
    extra_depth_m : sequence of (n_draws,) arrays
        Further depths below the floor where bands shall end; negative above it [m].
    return_share : float or (n_draws,) array
        Share of the pumped water that arrives again [-].
    return_lag_s : float
        After how long it does [s].
    drainback_m3 : float or (n_draws,) array
        Water that falls back from the pipe after every stop [m3].

    Returns
    -------
    PitModel
        The bands, bottom up.

    Raises
    ------
    InputError
        Where the switch levels are in an impossible order, the pump stops below the bottom of the
        pit, or the pump leaves no room for water.

    References
    ----------
    arithmetic : sum of slabs
    """
    switch = [
        np.atleast_1d(np.asarray(depth, dtype=np.float64))
        for depth in (off_depth_m, on_depth_m, alarm_depth_m)
    ]
    extra = [np.atleast_1d(np.asarray(depth, dtype=np.float64)) for depth in extra_depth_m]
    edges = [edge for slab in room for edge in (slab.low_m, slab.high_m)]
    n_draws = max(item.size for item in [*switch, *extra, *edges])
    off, on, alarm = (-np.broadcast_to(depth, (n_draws,)) for depth in switch)
    floor = np.zeros(n_draws)
    bottom = np.broadcast_to(room[0].low_m, (n_draws,))
    top = np.max([np.broadcast_to(slab.high_m, (n_draws,)) for slab in room], axis=0)
    _refuse_order(bottom, off, on, alarm)

    above = [np.full(n_draws, level) for level in _EXTRA_ABOVE_FLOOR_M]
    levels = [off, on, alarm, floor]  # first, so that these columns are known
    for item in [*edges, *(-depth for depth in extra), alarm / 2.0, *above]:
        column = np.clip(np.broadcast_to(item, (n_draws,)), bottom, top)
        if not any(np.array_equal(column, known) for known in levels):
            levels.append(column)
    stack = np.stack(levels, axis=1)
    order = np.argsort(stack, axis=1, kind="stable")
    place = np.argsort(order, axis=1)
    level_m = np.take_along_axis(stack, order, axis=1)

    middle = (level_m[:, 1:] + level_m[:, :-1]) / 2.0
    area = np.zeros((n_draws, middle.shape[1]))
    for slab in room:
        inside = (slab.low_m[:, None] <= middle) & (middle < slab.high_m[:, None])
        area += np.where(inside, slab.area_m2[:, None], 0.0)
    thin = np.diff(level_m, axis=1) < 1e-9
    if np.any((area <= 0.0) & ~thin):
        raise InputError(
            "pit.pump_volume",
            "the pump leaves no room for water in the pit",
            Words("check it, ", Key("pit.pump_height"), " and the size of the pit"),
        )

    def flow(given: FlowAtLevel | FloatArray) -> FloatArray:
        if callable(given):
            return np.broadcast_to(given(level_m), level_m.shape)
        return np.broadcast_to(np.atleast_1d(given)[:, None], level_m.shape)

    return PitModel(
        level_m=level_m,
        area_m2=np.where(thin, 1.0, area),  # never used; only has to be positive
        pump_m3_s=flow(pump_m3_s),
        seepage_m3_s=flow(seepage_m3_s),
        off_index=place[:, 0],
        on_index=place[:, 1],
        alarm_index=place[:, 2],
        floor_index=place[:, 3],
        return_share=np.broadcast_to(np.asarray(return_share, dtype=np.float64), (n_draws,)),
        return_lag_s=return_lag_s,
        drainback_m3=np.broadcast_to(np.asarray(drainback_m3, dtype=np.float64), (n_draws,)),
    )


def _refuse_order(bottom: FloatArray, off: FloatArray, on: FloatArray, alarm: FloatArray) -> None:
    refusals = (
        (off < bottom, "the pump stops below the bottom of the pit", "let it stop higher up"),
        (on - off < 1e-6, "the pump starts at or below the level at which it stops",
         "let it start higher up"),
        (alarm - on <= 0, "the alarm sounds at or below the level at which the pump starts",
         "put it higher, so that normal running does not trip it"),
        (alarm >= 0, "the alarm sounds only when water is on the floor", "put it below the floor"),
    )  # fmt: skip
    for wrong, what, right in refusals:
        if np.any(wrong):
            share = float(np.mean(wrong))
            which = "" if share == 1.0 else f" (draw {int(np.argmax(wrong))}, {share:.0%} of all)"
            raise InputError("switch levels", what + which, right)
