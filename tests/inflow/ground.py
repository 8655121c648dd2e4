"""Ground under rain, through the compiled loops by which water goes into the strip at the wall."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from riskkit.inflow._kernel import _infiltrate, _ponded_gain
from riskkit.records import FloatArray


def ponded_m(k: float, sorption: float, time_s: ArrayLike, start_m: float = 0.0) -> FloatArray:
    """Depth infiltrated in all under standing water, from ground that has taken `start_m` [m]."""
    gain = [_ponded_gain(k, sorption, start_m, float(time)) for time in np.atleast_1d(time_s)]
    return start_m + np.reshape(gain, np.shape(time_s))


def soaked_m(
    rain_m: ArrayLike, step_s: float, k: float, sorption: float, pond_max_m: float = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Depths that go in and that run off in each step [m], from dry ground on."""
    soaked, ran_off, wetted, pond = [], [], 0.0, 0.0
    for rain in np.asarray(rain_m, float).tolist():
        taken, pond, excess = _infiltrate(
            wetted, pond, rain / step_s, step_s, k, sorption, pond_max_m
        )
        wetted += taken
        soaked.append(taken)
        ran_off.append(excess)
    return np.array(soaked), np.array(ran_off)


def ponding_time_s(k: float, sorption: float, rain_m_s: float) -> float:
    """First moment at which steady rain on dry ground leaves water standing [s], by halving."""

    def stands(time_s: float) -> bool:
        return bool(_infiltrate(0.0, 0.0, rain_m_s, time_s, k, sorption, math.inf)[1] > 0.0)

    low, high = 0.0, 1.0
    while not stands(high):
        low, high = high, 2 * high
        assert high < 1e12, "it never ponds"
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if stands(middle) else (middle, high)
    return high
