"""The storms of each return period that a home must stand, and the rain of several side by side.

No duration is singled out. For each return period the storms of several durations are run, and each
draw of the home counts with the storm that is worst for it (`riskkit.risk.runs.pooled`). A draw
with little room and a fast inflow is hit by the short storm, one that fills slowly by the long one.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError, OutOfRangeWarning, collect_warnings
from riskkit.quantities.distributions import Z95
from riskkit.records import DepthDurationFrequency, FloatArray, Hyetograph, IntArray
from riskkit.storm.design import Burst, burst_of, design_storm
from riskkit.storm.patterns import Pattern

__all__ = [
    "DAY_H",
    "DURATIONS_H",
    "StormToRun",
    "closer_steps",
    "day_of",
    "durations_to_run",
    "padded_rain_mm",
    "stop_steps",
    "storms_to_run",
    "wet_stops",
]

DURATIONS_H = (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0)
"""Durations of storms that are run for a pattern with a length of its own [h]."""
NESTED_H = (2.0, 24.0, 72.0)
"""Durations that are run for nested storms, each of which holds all shorter ones [h]."""
DAY_H = 24.0
"""The storm that is named and drawn lasts so long, or as near below as the table allows [h]."""
_LONG_STEP_S = 900.0  # of storms of more than a day, which are worst for homes that fill in hours
_TAIL_S = 6 * 3600.0  # after a storm in its own steps; what comes later is followed in longer ones
# Hours from the peak of a storm at which the pump may stop. The worst stop is often the one from
# which the water has come up to just below the alarm when the peak arrives: a day earlier where it
# comes slowly. Around the worst of these it is looked for more closely.
_STOPS_H = (-36.0, -24.0, -16.0, -10.0, -6.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
_FEW_STOPS_H = (-30.0, -20.0, -12.0, -6.0, -2.0, 0.0)  # in storms neither named nor drawn
_CLOSER_H = 0.25
_WET_S = 6 * 3600.0
# Standard deviation of the logarithm of a depth from a table that states no limits (judgement:
# about what the limits of official tables span at 10 to 100 years).
_TABLE_LOG_SD = 0.1


@dataclass(frozen=True)
class StormToRun:
    """One storm of a return period.

    Parameters
    ----------
    return_period_yr : float
        Return period [yr].
    duration_h : float
        Duration [h].
    rain : Hyetograph
        Its rain.
    log_sd : float
        Standard deviation of the logarithm of its depth [-].
    burst : Burst, optional
        The inner part that rests on ratios, and how it may differ; None where there is none.
    log_factor : (n_draws,) array, optional
        Logarithm of what falls at one home against the place, draw by draw; None for as much [-].
    """

    return_period_yr: float
    duration_h: float
    rain: Hyetograph
    log_sd: float
    burst: Burst | None = None
    log_factor: FloatArray | None = None


def padded_rain_mm(storms: Sequence[Hyetograph], step_s: float) -> FloatArray:
    """Put storms side by side, with dry steps after each for the drainage.

    Parameters
    ----------
    storms : sequence of Hyetograph
        Storms with the same step.
    step_s : float
        That step [s].

    Returns
    -------
    (n_storms, n_steps) array
        Rain in each step [mm].

    References
    ----------
    arithmetic : zeros after the rain
    """
    longest = max(storm.depth_mm.size for storm in storms) + int(_TAIL_S / step_s)
    rain = np.zeros((len(storms), longest))
    for row, storm in zip(rain, storms, strict=True):
        row[: storm.depth_mm.size] = storm.depth_mm
    return rain


def stop_steps(
    rain_mm: FloatArray, step_s: float, *, few: bool = False, has_pump: bool = True
) -> IntArray:
    """List the steps of storms at whose start the pump may stop, the beginning first.

    Close around the peaks, where minutes count; every hour in the wet hours around them; every few
    hours in the day and a half before. Without a pump nothing stops: the water is followed from the
    beginning alone.

    Parameters
    ----------
    rain_mm : (n_storms, n_steps) array
        Padded rain of the storms [mm].
    step_s : float
        Length of a step [s].
    few : bool
        Fewer, where the storm is one of several that are worst of all together.
    has_pump : bool
        Whether there is a pump that could stop.

    Returns
    -------
    (n_stops,) array of int
        Steps, increasing from 0 [-].

    References
    ----------
    judgement : how close the stops lie
    """
    if not has_pump:
        return np.zeros(1, dtype=np.int64)
    return _round_peaks(rain_mm, np.array(_FEW_STOPS_H if few else _STOPS_H), step_s)


def closer_steps(rain_mm: FloatArray, step_s: float) -> IntArray:
    """List the steps among which the worst stop is looked for more closely.

    Parameters
    ----------
    rain_mm : (n_storms, n_steps) array
        Padded rain of the storms [mm].
    step_s : float
        Length of a step [s].

    Returns
    -------
    (n_steps,) array of int
        Steps, increasing from 0, with all of `stop_steps` among them [-].

    References
    ----------
    judgement : a test compares what is found so with all of them
    """
    first, last = _STOPS_H[0], _STOPS_H[-1]
    return _round_peaks(rain_mm, np.arange(first, last + _CLOSER_H / 2, _CLOSER_H), step_s)


def _round_peaks(rain_mm: FloatArray, hours: FloatArray, step_s: float) -> IntArray:
    """Steps so many hours from the peaks, within the storms, and their beginning."""
    peaks = np.unique(rain_mm.argmax(axis=1))
    offsets = np.round(hours * 3600.0 / step_s).astype(np.int64)
    steps = np.unique(np.append((peaks[:, None] + offsets).ravel(), 0))
    return np.asarray(steps[(steps >= 0) & (steps < rain_mm.shape[1])])


def wet_stops(rain_mm: FloatArray, step_s: float, step: IntArray) -> NDArray[np.bool_]:
    """Mark the stops that count for a typical one: every hour in the wettest six hours.

    The rest of a long storm is drizzle, in which little happens. Of a storm without such an hour
    the stop nearest to the peak counts.

    Parameters
    ----------
    rain_mm : (n_storms, n_steps) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    step : (n_stops,) array of int
        Steps at whose start the pump stops [-].

    Returns
    -------
    (n_storms, n_stops) array of bool
        Whether a stop counts [-].

    References
    ----------
    judgement : which part of a storm counts as wet
    """
    n = min(max(1, round(_WET_S / step_s)), rain_mm.shape[1])
    fallen = np.cumsum(np.pad(rain_mm, ((0, 0), (1, 0))), axis=1)
    begin = (fallen[:, n:] - fallen[:, :-n]).argmax(axis=1)[:, None]
    peak = rain_mm.argmax(axis=1)[:, None]
    # the closer stops around the peak would weigh too much in a median
    hour = max(1, round(3600.0 / step_s))
    wet = ((step - peak) % hour == 0) & (step >= begin) & (step < begin + n) & (step > 0)
    nearest = np.abs(step - peak).argmin(axis=1)
    wet[~wet.any(axis=1), nearest[~wet.any(axis=1)]] = True
    return np.asarray(wet)


def durations_to_run(rain: DepthDurationFrequency, pattern: Pattern) -> tuple[float, ...]:
    """List the durations whose storms are run, for every return period alike.

    A nested storm holds the depths of all shorter durations, so few lengths tell all: they differ
    in how wet the ground is when the peak comes, and in how much water follows. The other patterns
    have one shape at every length, and every length is run; the NRCS types last a day.

    Parameters
    ----------
    rain : DepthDurationFrequency
        Depths of rain.
    pattern : Pattern
        How the rain of a storm is spread over time.

    Returns
    -------
    tuple of float
        Durations within the table, increasing [h].

    Raises
    ------
    InputError
        Where the table covers none of them.

    References
    ----------
    judgement : durations
    """
    low, high = float(rain.duration_h[0]), float(rain.duration_h[-1])
    held = [d for d in DURATIONS_H if low - 1e-9 <= d <= high + 1e-9]
    if pattern.is_nrcs:
        held = [d for d in held if d == DAY_H]
    if not held:
        raise InputError("rain table", f"it covers {low:g} to {high:g} h, which holds no storm")
    if pattern is Pattern.ALTERNATING_BLOCK:
        return tuple(d for d in held if d in NESTED_H or d == held[-1])
    return tuple(held)


def day_of(durations_h: Sequence[float]) -> float:
    """Choose the storm that is named and drawn: a day, or as near below as there is.

    Parameters
    ----------
    durations_h : sequence of float
        Durations that are run, increasing [h].

    Returns
    -------
    float
        One of them [h].

    References
    ----------
    common_practice : design storms usually last a day
    """
    return max((d for d in durations_h if d <= DAY_H), default=durations_h[0])


def storms_to_run(
    rain: DepthDurationFrequency,
    return_periods_yr: Sequence[float],
    pattern: Pattern,
    step_s: float,
) -> tuple[tuple[StormToRun, ...], ...]:
    """Make the storms of each duration, one for each return period.

    Parameters
    ----------
    rain : DepthDurationFrequency
        Depths of rain.
    return_periods_yr : sequence of float
        Return periods [yr].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Length of a step; a quarter of an hour at least for storms of more than a day [s].

    Returns
    -------
    tuple of tuple of StormToRun
        For each of `durations_to_run` the storms of all return periods, in their order.

    Raises
    ------
    InputError
        Where the table covers none of the durations.

    References
    ----------
    arithmetic : design storms of given durations
    """
    storms, notes = _storms(rain, tuple(return_periods_yr), pattern, step_s)
    for note in notes:  # said every time, also where the storms are at hand
        warnings.warn(note, OutOfRangeWarning, stacklevel=2)
    return storms


@lru_cache(maxsize=4)  # storms belong to the place: its homes and what is tried share them
def _storms(
    rain: DepthDurationFrequency, periods_yr: tuple[float, ...], pattern: Pattern, step_s: float
) -> tuple[tuple[tuple[StormToRun, ...], ...], tuple[str, ...]]:
    """Make the storms, and tell what was to be warned of."""
    with collect_warnings() as notes:
        storms = tuple(
            tuple(
                _storm(rain, period, hours, pattern, _step_s(hours, step_s))
                for period in periods_yr
            )
            for hours in durations_to_run(rain, pattern)
        )
    return storms, tuple(dict.fromkeys(notes))


def _storm(
    rain: DepthDurationFrequency, period_yr: float, hours: float, pattern: Pattern, step_s: float
) -> StormToRun:
    nested = pattern is Pattern.ALTERNATING_BLOCK
    return StormToRun(
        return_period_yr=period_yr,
        duration_h=hours,
        rain=design_storm(rain, period_yr, hours, pattern, step_s),
        log_sd=_log_sd(rain, hours, period_yr),
        burst=burst_of(rain, period_yr, hours, step_s) if nested else None,
    )


def _step_s(duration_h: float, step_s: float) -> float:
    """Step of a storm: whom the peak floods within minutes is told by the storm of a day."""
    return step_s if duration_h <= DAY_H else max(step_s, _LONG_STEP_S)


def _log_sd(rain: DepthDurationFrequency, duration_h: float, return_period_yr: float) -> float:
    limits = rain.limits_at(duration_h, return_period_yr)
    if limits is None:
        of_ratios = float(rain.ratio_log_sd_at(np.array([duration_h]))[0])
        return float(np.hypot(_TABLE_LOG_SD, of_ratios))
    return float(np.log(limits[1] / limits[0]).item()) / (2 * Z95)
