"""A hose that runs at the wall: how soon more water comes to the pit, and how much of it.

The strip of fill under the hose is that of the model of storms, with a hose in place of rain.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskkit.evidence.expected import LOG, METRES, Expected
from riskkit.evidence.pit_tests import rise_sd_m
from riskkit.evidence.shared import ground_of
from riskkit.home.samples import HomeSamples
from riskkit.inflow.wall import wall_water
from riskkit.pit.drainage import free_drainage
from riskkit.pit.geometry import volume_m3
from riskkit.records import FloatArray
from riskkit.simulate import footing_water, storage_of

__all__ = ["SEEN_M3_S", "WET_M", "expected_hose", "hose_flow_m3_s", "lag_log", "rise_from_flow_m"]

WET_M = 2.0
"""Length of the wall that the hose wets [m]."""
SEEN_M3_S = 1e-5
"""More water by which somebody who looks sees that it comes: a thread of it (judgement) [m3/s]."""
_STEP_S = 60.0
_NEVER_LOG = 20.0
_HALVINGS = 24
_TINY = 1e-9


def hose_flow_m3_s(homes: HomeSamples, hose_m3_s: float, time_s: float) -> FloatArray:
    """Return the flow to the pit while a hose runs at the wall in dry weather.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    hose_m3_s : float
        Flow of the hose [m3/s].
    time_s : float
        How long it runs [s].

    Returns
    -------
    (n_draws, n_steps) array
        Mean flow in each minute [m3/s].

    References
    ----------
    green_ampt1911 : infiltration of the strip, as in a storm
    """
    ground, n = ground_of(homes), homes.n_draws
    wall, none = ground.wall, np.zeros(homes.n_draws)
    wet = replace(
        wall,
        perimeter_m=np.full(n, WET_M),
        roof_area_m2=none, well_area_m2=none, runon_area_m2=none,
        lot_area_m2=np.full(n, _TINY), lot_water_m=none, fill_water_m=none,
    )  # fmt: skip
    steps = int(np.ceil(time_s / _STEP_S))
    strip_m2 = WET_M * wall.fill_width_m
    rain_mm = np.repeat((hose_m3_s * _STEP_S / strip_m2 * 1e3)[:, None], steps, axis=1)
    arriving = footing_water(wall_water(rain_mm, _STEP_S, wet, np.ones(n)))
    footing = ground.footing
    invert = footing.level_m[:, 0]
    comes = np.maximum(footing.steady_m3_s[:, 0] - footing.deep_m3_s, 0.0)
    start = invert + comes / footing.conductance_m2_s
    stores = np.zeros_like(ground.lot_m3)  # dry weather: the lot has given what it had
    return free_drainage(footing, arriving, start, stores, np.zeros(0, np.int64)).to_pit_m3_s


def lag_log(flow_m3_s: FloatArray) -> FloatArray:
    """Return the logarithm of the time until more water is seen to come.

    Parameters
    ----------
    flow_m3_s : (n_draws, n_steps) array
        Flow to the pit in each minute, as of `hose_flow_m3_s` [m3/s].

    Returns
    -------
    (n_draws,) array
        Logarithm of the time in seconds; very large where none is seen [-].

    References
    ----------
    judgement : what is seen
    """
    more = flow_m3_s - flow_m3_s.min(axis=1, keepdims=True)
    seen = more >= SEEN_M3_S
    at = (seen.argmax(axis=1) + 0.5) * _STEP_S
    return np.where(seen.any(axis=1), np.log(at), _NEVER_LOG)


def rise_from_flow_m(homes: HomeSamples, begin_m: float, inflow_m3: FloatArray) -> FloatArray:
    """Return how far a volume of water raises the level in each pit, the drain flowing freely.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    begin_m : float
        Level at the start, relative to the floor [m].
    inflow_m3 : (n_draws,) array
        Water that comes in [m3].

    Returns
    -------
    (n_draws,) array
        Rise [m].

    References
    ----------
    arithmetic : volume by halving
    """
    room, n = storage_of(homes), homes.n_draws
    want = volume_m3(room, np.full(n, begin_m)) + inflow_m3
    low, high = np.full(n, begin_m), np.full(n, 1.0)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        less = volume_m3(room, middle) < want
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    return low - begin_m


def expected_hose(
    homes: HomeSamples,
    hose_m3_s: float,
    after_s: float,
    levels_m: tuple[float, float],
    time_s: float,
    lag_s: float | None,
    errors: tuple[float, float],
) -> tuple[Expected, ...]:
    """Return what each draw would show of a hose at the wall.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    hose_m3_s : float
        Flow of the hose [m3/s].
    after_s : float
        Time since it was opened when the rise is measured [s].
    levels_m : tuple of float
        Levels at the start and end of that rise, relative to the floor [m].
    time_s : float
        Time between them [s].
    lag_s : float or None
        Time until more water was seen to come [s].
    errors : tuple of float
        Of the model: share of the rise, and of the logarithm of the lag [-].

    Returns
    -------
    tuple of Expected
        Rise [m] and, where it was noted, logarithm of the lag [-].
    """
    flow = hose_flow_m3_s(homes, hose_m3_s, after_s + time_s)
    first = min(int(after_s // _STEP_S), flow.shape[1] - 1)
    rise = rise_from_flow_m(homes, levels_m[0], flow[:, first:].mean(axis=1) * time_s)
    ends = rise[:, None] * np.array([1 - errors[0], 1 + errors[0]])
    seen = [Expected(levels_m[1] - levels_m[0], rise, rise_sd_m(ends), METRES)]
    if lag_s is not None:
        sd = np.full(homes.n_draws, errors[1])
        seen.append(Expected(float(np.log(lag_s)), lag_log(flow), sd, LOG))
    return tuple(seen)
