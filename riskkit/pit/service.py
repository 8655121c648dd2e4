"""Flows from tests at a visit: how fast the water rises with the pump off and falls with it on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskkit.errors import InputError
from riskkit.pit.geometry import StorageLayer, volume_m3
from riskkit.records import FloatArray

__all__ = ["inflow_from_rise_test", "pump_flow_from_drawdown_test"]


def inflow_from_rise_test(
    room: Sequence[StorageLayer], begin_m: FloatArray, end_m: FloatArray, time_s: FloatArray
) -> FloatArray:
    """Inflow while the water in the pit rises with the pump off: Q = (V(end) - V(begin)) / t.

    It is the mean over the test, as the level goes from one to the other. No range of validity but
    that of the room: where water also enters the gravel, the gravel decides.

    Parameters
    ----------
    room : sequence of StorageLayer
        Room of ``n_draws``.
    begin_m : (n_draws,) array
        Level at the start, relative to the floor [m].
    end_m : (n_draws,) array
        Level at the end [m].
    time_s : (n_draws,) array
        How long it took [s].

    Returns
    -------
    (n_draws,) array
        Inflow [m3/s].

    Raises
    ------
    InputError
        Where no time passed.

    References
    ----------
    arithmetic : volume over time
    """
    _need_time(time_s)
    return (volume_m3(room, end_m) - volume_m3(room, begin_m)) / np.asarray(time_s)


def pump_flow_from_drawdown_test(
    room: Sequence[StorageLayer],
    begin_m: FloatArray,
    end_m: FloatArray,
    time_s: FloatArray,
    inflow_m3_s: FloatArray,
) -> FloatArray:
    """Flow of the pump while it draws the water down: Q = (V(begin) - V(end)) / t + inflow.

    Parameters
    ----------
    room : sequence of StorageLayer
        Room of ``n_draws``.
    begin_m : (n_draws,) array
        Level at the start, relative to the floor [m].
    end_m : (n_draws,) array
        Level at the end [m].
    time_s : (n_draws,) array
        How long it took [s].
    inflow_m3_s : (n_draws,) array
        Water that came in meanwhile, as of a rise test [m3/s].

    Returns
    -------
    (n_draws,) array
        Flow of the pump, mean over the test [m3/s].

    Raises
    ------
    InputError
        Where no time passed.

    References
    ----------
    arithmetic : volume over time, and the inflow that the pump carried besides
    """
    _need_time(time_s)
    fallen = (volume_m3(room, begin_m) - volume_m3(room, end_m)) / np.asarray(time_s)
    return np.asarray(fallen + inflow_m3_s)


def _need_time(time_s: FloatArray) -> None:
    if np.any(np.asarray(time_s) <= 0):
        raise InputError("test", "no time passed between its levels", "for example 95 s")
