"""How often a pump runs, told by its owner or timed by ear, and what each draw would show."""

from __future__ import annotations

from functools import cache

import numpy as np

from riskkit.evidence.expected import CLASS, LOG, Expected, shares_of_classes
from riskkit.evidence.shared import ground_of, once
from riskkit.home.samples import HomeSamples
from riskkit.home.visits import visit_value
from riskkit.records import FloatArray
from riskkit.simulate import cycle_volume_m3_of, pump_flow_of, steady_inflow_of, water_of
from riskkit.tables import load_table

__all__ = [
    "cycle_logs",
    "cycle_volume_m3",
    "dry_flow_m3_s",
    "even_rain",
    "expected_cycle",
    "expected_often",
    "expected_storm",
    "often_shares",
    "pump_ends_m3_s",
    "pump_m3_s",
    "rain_flow_m3_s",
    "weather_flow_m3_s",
]

_DAY_S = 86400.0
_NO_FLOW_M3_S = 1e-9  # a cycle in years
_MOST_LOG = 20.0
_ALMOST_NONE = 1e-12
_KEEPS_UP_SD = 0.3  # of the logarithm of flow against pump at which "it never stops" is said
_STEP_S = 600.0
_Z95 = 1.6449  # of a normal distribution
_SHOWER_M, _SHOWER_S, _UNTIL_S = 0.025, 3600.0, 3 * 3600.0  # an inch in an hour (judgement)


cycle_volume_m3 = once(cycle_volume_m3_of)


@once
def pump_ends_m3_s(homes: HomeSamples) -> FloatArray:
    """Return what each pump carries at its stop level and at its start level: least and most.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws, 2) array
        Flows [m3/s].

    References
    ----------
    arithmetic : `riskkit.simulate.pump_flow_of` at both levels
    """
    return pump_flow_of(homes, -np.stack([homes["off_depth_m"], homes["on_depth_m"]], axis=1))


@once
def pump_m3_s(homes: HomeSamples) -> FloatArray:
    """Return what each pump carries halfway between its start and stop levels.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Flow [m3/s].

    References
    ----------
    arithmetic : `riskkit.simulate.pump_flow_of` at the middle level
    """
    middle = -(homes["on_depth_m"] + homes["off_depth_m"]) / 2
    flow: FloatArray = pump_flow_of(homes, middle[:, None])[:, 0]
    return flow


@once
def dry_flow_m3_s(homes: HomeSamples) -> FloatArray:
    """Return the flow to each pit in dry weather.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    (n_draws,) array
        Ground water from far off [m3/s].

    References
    ----------
    arithmetic : `riskkit.simulate.steady_inflow_of` at the level where the pump starts
    """
    return np.asarray(steady_inflow_of(homes, -homes["on_depth_m"][:, None])[:, 0])


def weather_flow_m3_s(homes: HomeSamples, when: str) -> FloatArray:
    """Return the flow to each pit in dry weather, in spring, or in a common heavy shower.

    Spring is taken as the days before a large storm: ground water, and what the lot still hands on.
    The shower is an inch of rain in an hour, and its wettest ten minutes count.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    when : str
        ``"dry"``, ``"spring"`` or ``"heavy rain"``.

    Returns
    -------
    (n_draws,) array
        Flow [m3/s].

    References
    ----------
    judgement : what owners mean by spring and heavy rain
    """
    if when == "dry":
        return dry_flow_m3_s(homes)
    is_wet = when == "heavy rain"
    rain = even_rain(_SHOWER_M, _SHOWER_S, _UNTIL_S) if is_wet else (np.zeros(1), _STEP_S)
    flow = water_of(ground_of(homes), *rain, np.ones(homes.n_draws)).free.to_pit_m3_s
    return flow.max(axis=1) if is_wet else np.asarray(flow[:, 0])


@cache
def _edges() -> FloatArray:
    rows = load_table("how_often").rows
    edges = np.log([float(row["high"]) for row in rows[:-2]])
    edges.flags.writeable = False
    return edges


def often_shares(homes: HomeSamples, when: str, sd: float) -> FloatArray:
    """Return how likely an owner says each word of how often the pump runs.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    when : str
        Weather of which it is told.
    sd : float
        Standard deviation of the logarithm of the starts per day that is meant [-].

    Returns
    -------
    (n_draws, n_words) array
        Shares, in the order of ``tables/how_often.csv`` [-].

    References
    ----------
    arithmetic : flow over the water of a cycle
    judgement : classes and their spread
    """
    from scipy.special import ndtr

    flow = np.maximum(weather_flow_m3_s(homes, when), _NO_FLOW_M3_S)
    pump = np.maximum(pump_m3_s(homes), _NO_FLOW_M3_S)
    always = ndtr(np.log(flow / pump) / _KEEPS_UP_SD)
    # a cycle is one filling and one emptying, V / Q + V / (P - Q)
    starts = flow * np.clip(1 - flow / pump, 0.05, 1.0) / cycle_volume_m3(homes) * _DAY_S
    rest = shares_of_classes(np.log(starts), sd, _edges())
    return np.hstack([rest * (1 - always)[:, None], always[:, None]]).clip(_ALMOST_NONE)


def expected_often(homes: HomeSamples, when: str, often: str, sd: float) -> Expected:
    """Return how likely each draw makes what an owner says of how often the pump runs.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    when, often : str
        Weather, and what is said of it.
    sd : float
        As for `often_shares` [-].

    Returns
    -------
    Expected
        Number of the word [-].
    """
    words = [row["key"] for row in load_table("how_often").rows]
    none = np.zeros(homes.n_draws)
    shares = often_shares(homes, when, sd)
    return Expected(float(words.index(often)), none, none, CLASS, shares)


def rain_flow_m3_s(homes: HomeSamples, rain_m: float, over_s: float) -> FloatArray:
    """Return the flow to each pit at the end of even rain.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    rain_m : float
        Depth of the rain [m].
    over_s : float
        Time over which it fell [s].

    Returns
    -------
    (n_draws,) array
        Flow in the last step [m3/s].

    References
    ----------
    arithmetic : `riskkit.simulate.water_of` with even rain
    """
    flow = water_of(ground_of(homes), *even_rain(rain_m, over_s, over_s), np.ones(homes.n_draws))
    return np.asarray(flow.free.to_pit_m3_s[:, -1])


def even_rain(rain_m: float, over_s: float, until_s: float) -> tuple[FloatArray, float]:
    """Return even rain in steps of about ten minutes.

    Parameters
    ----------
    rain_m : float
        Depth of the rain [m].
    over_s : float
        Time over which it fell [s].
    until_s : float
        Until when steps are wanted [s].

    Returns
    -------
    rain_mm : (n_steps,) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].

    References
    ----------
    arithmetic : even rain
    """
    wet = max(round(over_s / _STEP_S), 1)
    step_s = over_s / wet
    steps = max(wet, int(np.ceil(until_s / step_s)))
    rain = np.zeros(steps)
    rain[:wet] = rain_m * 1e3 / wet
    return rain, step_s


def cycle_logs(homes: HomeSamples, flow_m3_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the logarithms of run and pause of each pump.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    flow_m3_s : (n_draws,) array
        Flow to the pit [m3/s].

    Returns
    -------
    run, pause : (n_draws,) arrays
        Logarithms of the times in seconds; very large where the one has no end [-].

    References
    ----------
    arithmetic : volume over flow
    """
    pump, volume = pump_m3_s(homes), cycle_volume_m3(homes)
    net = np.maximum(pump - flow_m3_s, _NO_FLOW_M3_S)
    run = np.log(volume / net).clip(max=_MOST_LOG)
    pause = np.log(volume / np.maximum(flow_m3_s, _NO_FLOW_M3_S)).clip(max=_MOST_LOG)
    return run, pause


def expected_cycle(
    homes: HomeSamples, flow_m3_s: FloatArray, run_s: float, pause_s: float, sd: float
) -> tuple[Expected, Expected]:
    """Return what each draw would show of a cycle timed by ear.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    flow_m3_s : (n_draws,) array
        Flow to the pit then [m3/s].
    run_s, pause_s : float
        Times as heard [s].
    sd : float
        Error of the model, on the scale of logarithms [-].

    Returns
    -------
    tuple of Expected
        Logarithms of run and pause [-].
    """
    run, pause = cycle_logs(homes, flow_m3_s)
    return _timed(run_s, run, sd), _timed(pause_s, pause, sd)


def expected_storm(
    homes: HomeSamples,
    rain_m: float,
    over_s: float,
    flow_m3_s: float,
    ends_m3_s: tuple[float, float],
) -> Expected:
    """Return what each draw would bring in a storm of which a log tells the inflow.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    rain_m : float
        Depth of the rain [m].
    over_s : float
        Time over which it fell [s].
    flow_m3_s : float
        Inflow at its end, as told [m3/s].
    ends_m3_s : pair of float
        Its 5 % and 95 % limits [m3/s].

    Returns
    -------
    Expected
        Logarithm of the inflow [-].
    """
    flow = np.log(np.maximum(rain_flow_m3_s(homes, rain_m, over_s), _NO_FLOW_M3_S))
    error = np.log(ends_m3_s[1] / ends_m3_s[0]) / (2 * _Z95)
    return Expected(float(np.log(flow_m3_s)), flow, np.full(flow.size, float(error)), LOG)


def _timed(time_s: float, mean: FloatArray, sd: float) -> Expected:
    error = np.hypot(sd, visit_value("time").reading_error / time_s)
    return Expected(float(np.log(time_s)), mean, np.full(mean.size, error), LOG)
