"""Tests at the pit: how far the water rises or how fast it falls, and what each draw would show."""

from __future__ import annotations

import numpy as np

from riskkit.evidence.expected import LOG, METRES, Expected
from riskkit.evidence.filling import levels_m
from riskkit.home.samples import HomeSamples
from riskkit.home.visits import visit_value
from riskkit.pit.geometry import volume_m3
from riskkit.records import FloatArray
from riskkit.simulate import pump_flow_of, steady_inflow_of, storage_of

__all__ = [
    "draw_down_log",
    "draw_down_sd",
    "expected_draw_down",
    "expected_rise",
    "rise_sd_m",
    "rises",
]

_UNEVEN_M = 0.005  # of a level in gravel, which does not fill evenly (judgement)
_LEVELS = 3  # at which the flow of the pump is asked for
_NEVER_LOG = 20.0  # logarithm of the time of a pump that does not draw down: years


def rise_sd_m(levels_m: FloatArray) -> FloatArray:
    """Return how far off a level may be at the end of a test: tape, gravel that is not even, flow.

    What comes in and what there is room for is known but for a share, and that is as if the test
    had gone on by this share longer or shorter.

    Parameters
    ----------
    levels_m : (n_draws, 2) array
        Level where the test is by that share shorter and longer [m].

    Returns
    -------
    (n_draws,) array
        Standard deviation [m].

    References
    ----------
    judgement : independent errors
    """
    tape = visit_value("level").reading_error
    spread = (levels_m[:, 1] - levels_m[:, 0]) / 2
    return np.sqrt(2 * tape**2 + _UNEVEN_M**2 + spread**2)


def rises(
    homes: HomeSamples, begin_m: float, time_s: FloatArray, hose_m3_s: float, share: float
) -> tuple[FloatArray, FloatArray]:
    """Return how far the water of each draw rises with the pump off, and how far off that may be.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    begin_m : float
        Level at the start, relative to the floor [m].
    time_s : (n_times,) array
        Lengths of the test [s].
    hose_m3_s : float
        Flow of a hose into the pit [m3/s].
    share : float
        Error of flow and room, as a share [-].

    Returns
    -------
    rise, sd : (n_draws, n_times) arrays
        Rise and its standard deviation [m].

    References
    ----------
    arithmetic : levels between the steps of `riskkit.evidence.filling.levels_m`
    """
    longest = float(time_s.max()) * (1 + share)
    level = levels_m(homes, begin_m, longest, hose_m3_s)
    steps = level.shape[1] - 1

    def at(times_s: FloatArray) -> FloatArray:
        place = times_s / longest * steps
        before = np.minimum(place.astype(np.int64), steps - 1)
        part = place - before
        return np.asarray(level[:, before] * (1 - part) + level[:, before + 1] * part)

    ends = np.stack([at(time_s * (1 - share)), at(time_s * (1 + share))], axis=2)
    sd = [rise_sd_m(ends[:, i]) for i in range(time_s.size)]
    return at(time_s) - begin_m, np.stack(sd, axis=1)


def expected_rise(
    homes: HomeSamples, begin_m: float, end_m: float, time_s: float, hose_m3_s: float, share: float
) -> Expected:
    """Return what each draw would show of a rise with the pump off.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    begin_m, end_m : float
        Levels as read, relative to the floor [m].
    time_s : float
        Time between them [s].
    hose_m3_s : float
        Flow of a hose into the pit [m3/s].
    share : float
        Error of flow and room, as a share [-].

    Returns
    -------
    Expected
        Rise in that time [m].
    """
    rise, sd = rises(homes, begin_m, np.array([time_s]), hose_m3_s, share)
    return Expected(end_m - begin_m, rise[:, 0], sd[:, 0], METRES)


def draw_down_log(homes: HomeSamples, begin_m: float, end_m: float) -> FloatArray:
    """Return the logarithm of the time in which the pump of each draw lowers the water.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    begin_m, end_m : float
        Levels, relative to the floor [m].

    Returns
    -------
    (n_draws,) array
        Logarithm of the time in seconds; very large where more comes in than the pump carries [-].

    References
    ----------
    arithmetic : volume over net flow
    """
    room, n = storage_of(homes), homes.n_draws
    fallen = volume_m3(room, np.full(n, begin_m)) - volume_m3(room, np.full(n, end_m))
    levels = np.tile(np.linspace(end_m, begin_m, _LEVELS), (n, 1))
    pump = pump_flow_of(homes, levels).mean(axis=1)
    comes = steady_inflow_of(homes, np.full((n, 1), (begin_m + end_m) / 2))[:, 0]
    net = pump - comes
    time = fallen / np.where(net > 0, net, 1.0)
    return np.where(net > 0, np.log(np.maximum(time, 1e-3)), _NEVER_LOG)


def draw_down_sd(begin_m: float, end_m: float, time_s: float, share: float) -> float:
    """Return how far off the logarithm of a draw-down time may be.

    Parameters
    ----------
    begin_m, end_m : float
        Levels, relative to the floor [m].
    time_s : float
        Time between them [s].
    share : float
        Error of the model [-].

    Returns
    -------
    float
        Standard deviation of the logarithm [-].

    References
    ----------
    judgement : independent errors of tape, watch and model
    """
    tape = 2**0.5 * visit_value("level").reading_error / abs(begin_m - end_m)
    watch = visit_value("time").reading_error / time_s
    return float(np.sqrt(tape**2 + watch**2 + share**2))


def expected_draw_down(
    homes: HomeSamples, begin_m: float, end_m: float, time_s: float, share: float
) -> Expected:
    """Return what each draw would show of a draw-down.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    begin_m, end_m : float
        Levels as read, relative to the floor [m].
    time_s : float
        Time between them [s].
    share : float
        Error of the model, on the scale of logarithms [-].

    Returns
    -------
    Expected
        Logarithm of the time [-].
    """
    sd = np.full(homes.n_draws, draw_down_sd(begin_m, end_m, time_s, share))
    return Expected(float(np.log(time_s)), draw_down_log(homes, begin_m, end_m), sd, LOG)
