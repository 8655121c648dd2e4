"""Levels of a pit that contradict each other in a draw are moved, the unknown before the known."""

from __future__ import annotations

from collections.abc import Set

import numpy as np

from riskkit.records import FloatArray

__all__ = ["put_in_order"]

_LEAST_APART_M = 0.02  # of levels of the pump, and of the lowest and the bottom (judgement)
_LEAST_SUMP_M = 0.02  # of the pit below its drain (judgement)


def put_in_order(values: dict[str, FloatArray], known: Set[str]) -> None:
    """Keep draws possible: what is unknown gives way to what is known, and the rest by a little.

    Parameters
    ----------
    values : dict of (n_draws,) array
        Quantities of the draws by the name of their column; alarm, start, stop, bottom, drain,
        heads and downspouts are moved in place [any].
    known : set of str
        Quantities that somebody told; ``"pit.table"`` where rows of the pit were measured, whose
        bottom is the same in every draw.

    References
    ----------
    judgement : how far apart levels are at least
    """
    alarm, on, off = values["alarm_depth_m"], values["on_depth_m"], values["off_depth_m"]
    bottom = values["pit_depth_m"]
    if "pit.depth" in known and "switch.off" not in known:
        off = np.minimum(off, bottom - 0.04)
    if "switch.on" not in known:
        on = np.minimum(on, off - 0.1) if "switch.off" in known or "pit.depth" in known else on
        on = np.maximum(on, alarm + 0.03) if "switch.alarm" in known else on
    if "switch.alarm" not in known:
        alarm = np.minimum(alarm, on - 0.03)
    if "switch.off" not in known:
        off = np.maximum(off, on + 0.05)
    if "pit.depth" in known:  # unknown levels give way to one that is known further up
        off = off if "switch.off" in known else np.minimum(off, bottom - _LEAST_APART_M)
        on = on if "switch.on" in known else np.minimum(on, off - _LEAST_APART_M)
    alarm = np.maximum(alarm, 0.005)
    on = np.maximum(on, alarm + 0.01)
    off = np.maximum(off, on + 0.02)
    if "pit.table" in known:  # whose bottom is no draw: what does not fit above it moves up
        apart = np.minimum(_LEAST_APART_M, bottom / 8)
        off = np.minimum(off, bottom - apart)
        on = np.minimum(on, off - apart)
        alarm = np.minimum(alarm, on - apart / 2)
    values["alarm_depth_m"], values["on_depth_m"], values["off_depth_m"] = alarm, on, off
    drain = values["drain_depth_m"]
    if "ground.drain_depth" in known and "pit.depth" not in known:
        bottom = np.maximum(bottom, drain + _LEAST_SUMP_M)
    if "pit.table" not in known:
        bottom = np.maximum(bottom, off + 0.02)
    values["pit_depth_m"] = bottom
    values["drain_depth_m"] = np.minimum(drain, bottom - _LEAST_SUMP_M)  # it runs into the pit
    values["shutoff_head_m"] = np.maximum(values["shutoff_head_m"], 1.1 * values["rated_head_m"])
    values["to_drain_share"] = np.minimum(values["to_drain_share"], 1 - values["at_wall_share"])
