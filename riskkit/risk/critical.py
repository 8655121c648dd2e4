"""Which storm of each return period is the critical one, and the rain of several side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from riskkit.errors import InputError
from riskkit.homes import Homes
from riskkit.records import DepthDurationFrequency, FloatArray, Hyetograph, PitModel
from riskkit.risk.clock import Clock, times_to_floor
from riskkit.risk.spreads import Z95
from riskkit.simulate import inflow_of
from riskkit.storm.design import design_storm
from riskkit.storm.patterns import Pattern

__all__ = [
    "CriticalStorm",
    "critical_storms",
    "known_storms",
    "moments_of",
    "padded_rain_mm",
    "too_late_share",
    "wet_moments",
]

DURATIONS_H = (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0)
_TAIL_S = 14 * 3600.0  # of drainage after a storm: 2 h of moments and 12 h of rising water
_MOMENT_S = 900.0  # between the moments at which the pump may stop
_ABOUT_EQUAL = 0.98  # durations within 2 % of the worst are alike
_WET_S = 6 * 3600.0
_NEAR_S = 3600.0  # to the peak of a storm
_USUAL_H = 24.0  # longest storm taken without need
# Standard deviation of the logarithm of a depth from a table that states no limits (judgement:
# about what the limits of official tables span at 10 to 100 years).
_TABLE_LOG_SD = 0.1


@dataclass(frozen=True)
class CriticalStorm:
    """The storm of a return period that is worst for a home.

    Parameters
    ----------
    return_period_yr : float
        Return period [yr].
    duration_h : float
        Critical duration [h].
    rain : Hyetograph
        Its rain.
    log_sd : float
        Standard deviation of the logarithm of its depth [-].
    """

    return_period_yr: float
    duration_h: float
    rain: Hyetograph
    log_sd: float


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


def moments_of(rain_mm: FloatArray, step_s: float) -> FloatArray:
    """List the moments at which the alarm may sound: until two hours after the longest storm.

    Every quarter of an hour, and every step around the peak of each storm, where minutes count.

    Parameters
    ----------
    rain_mm : (n_storms, n_steps) array
        Padded rain of the storms [mm].
    step_s : float
        Length of a step [s].

    Returns
    -------
    (n_moments,) array
        Moments, increasing [s].

    References
    ----------
    judgement : how close the moments lie
    """
    last = rain_mm.shape[1] * step_s - _TAIL_S + 2 * 3600.0
    near = np.arange(-_NEAR_S, _NEAR_S, step_s)
    peaks = np.unique(rain_mm.argmax(axis=1)) * step_s
    fine = (peaks[:, None] + near).ravel()
    moments = np.unique(np.concatenate([np.arange(0.0, last, _MOMENT_S), fine]))
    return np.asarray(moments[(moments >= 0) & (moments < last)], dtype=np.float64)


def wet_moments(rain_mm: FloatArray, step_s: float, moment_s: FloatArray) -> FloatArray:
    """Mark the wet part of each storm: its wettest six hours, or all of a shorter one.

    The rest of a long storm is drizzle, in which little happens.

    Parameters
    ----------
    rain_mm : (n_storms, n_steps) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    moment_s : (n_moments,) array
        Moments [s].

    Returns
    -------
    (n_storms, n_moments) array
        1 for wet, 0 for dry [-].

    References
    ----------
    judgement : which part of a storm counts as wet
    """
    n = min(max(1, round(_WET_S / step_s)), rain_mm.shape[1])
    fallen = np.cumsum(np.pad(rain_mm, ((0, 0), (1, 0))), axis=1)
    begin = (fallen[:, n:] - fallen[:, :-n]).argmax(axis=1)[:, None] * step_s
    last = (rain_mm.shape[1] - (rain_mm > 0)[:, ::-1].argmax(axis=1))[:, None] * step_s
    end = np.minimum(begin + n * step_s, last)
    # the closer moments around the peak would weigh too much in a median
    even = np.abs(moment_s / _MOMENT_S - np.round(moment_s / _MOMENT_S)) < 1e-9
    return np.asarray(even & (moment_s >= begin) & (moment_s < end), dtype=np.float64)


def too_late_share(time_s: FloatArray) -> FloatArray:
    """Tell how likely help comes too late when it takes about an hour: mean of 1 / (1 + T / 1 h).

    A smooth measure of how bad a storm is for a home, in which a flood after ten minutes counts
    nearly whole, one after a day hardly, and never not at all.

    Parameters
    ----------
    time_s : (..., n_draws) array
        Times from the alarm to the floor; infinite for never [s].

    Returns
    -------
    (...) array
        From 0 to 1 [-].

    References
    ----------
    judgement : an hour, and the form of the curve

    Examples
    --------
    >>> float(too_late_share(np.array([0.0, 3600.0, np.inf, np.inf])))
    0.375
    """
    return np.asarray(np.mean(1.0 / (1.0 + time_s / 3600.0), axis=-1))


def critical_storms(
    homes: Homes,
    pit: PitModel,
    rain: DepthDurationFrequency,
    return_periods_yr: Sequence[float],
    pattern: Pattern,
    step_s: float,
    progress: Callable[[str], None] | None = None,
) -> tuple[CriticalStorm, ...]:
    """Search for each return period the duration that floods soonest and most often.

    Measured by `too_late_share` over a few draws. Of durations that are alike within 2 % the
    longest of up to a day is taken: it brings the most water after the alarm, and a day is what
    design storms usually last. Longer ones only where they are worse.

    Parameters
    ----------
    homes : Homes
        A few draws of the home.
    pit : PitModel
        Their pits.
    rain : DepthDurationFrequency
        Depths of rain.
    return_periods_yr : sequence of float
        Return periods [yr].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Length of a step [s].
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    tuple of CriticalStorm
        One per return period.

    Raises
    ------
    InputError
        Where the table covers none of the durations.

    References
    ----------
    judgement : durations, and which differences count
    """
    low, high = rain.duration_h[0], rain.duration_h[-1]
    durations = [d for d in DURATIONS_H if low - 1e-9 <= d <= high + 1e-9]
    if pattern.is_nrcs:
        durations = [d for d in durations if d == 24.0]
    if not durations:
        raise InputError("rain table", f"it covers {low:g} to {high:g} h, which holds no storm")
    storms = [
        [design_storm(rain, period, d, pattern, step_s) for period in return_periods_yr]
        for d in durations
    ]
    found = []
    for hours, alike in zip(durations, storms, strict=True):  # short storms need few steps
        if progress is not None:
            progress(f"searching the critical storms, {hours:g} h")
        found.append(_scores(homes, pit, alike, step_s))
    scores = np.array(found)
    chosen = []
    for i, (period, score) in enumerate(zip(return_periods_yr, scores.T, strict=True)):
        equal = np.flatnonzero(score >= _ABOUT_EQUAL * score.max())
        usual = [k for k in equal if durations[k] <= _USUAL_H]
        best = int(usual[-1] if usual else equal[0])
        log_sd = _log_sd(rain, durations[best], period)
        chosen.append(CriticalStorm(period, durations[best], storms[best][i], log_sd))
    return tuple(chosen)


def _scores(homes: Homes, pit: PitModel, storms: Sequence[Hyetograph], step_s: float) -> FloatArray:
    """How bad each of some storms of one duration is for the home (n_storms,).

    By the level of the alarm in any case: the storm is the same whether an alarm works or not.
    """
    rain_mm = padded_rain_mm(storms, step_s)
    n, many = homes.n_draws, len(storms)
    inflow = inflow_of(
        homes.repeated(many), np.repeat(rain_mm, n, axis=0), step_s, np.ones(n * many)
    )
    moments = moments_of(rain_mm, step_s)
    starts = times_to_floor(pit.repeated(many), inflow, moments, Clock.ALARM)
    return too_late_share(starts.to_floor_s.min(axis=1).reshape(many, n))


def _log_sd(rain: DepthDurationFrequency, duration_h: float, return_period_yr: float) -> float:
    limits = rain.limits_at(duration_h, return_period_yr)
    if limits is None:
        return _TABLE_LOG_SD
    return float(np.log(limits[1] / limits[0]).item()) / (2 * Z95)


def known_storms(
    rain: DepthDurationFrequency,
    return_periods_yr: Sequence[float],
    durations_h: Sequence[float],
    pattern: Pattern,
    step_s: float,
) -> tuple[CriticalStorm, ...]:
    """Return the storms of given durations, without a search.

    Parameters
    ----------
    rain : DepthDurationFrequency
        Depths of rain.
    return_periods_yr : sequence of float
        Return periods [yr].
    durations_h : sequence of float
        Duration of each, such as `critical_storms` found for much the same home [h].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Length of a step [s].

    Returns
    -------
    tuple of CriticalStorm
        One per return period.

    References
    ----------
    arithmetic : design storms of given durations
    """
    return tuple(
        CriticalStorm(
            period,
            hours,
            design_storm(rain, period, hours, pattern, step_s),
            _log_sd(rain, hours, period),
        )
        for period, hours in zip(return_periods_yr, durations_h, strict=True)
    )
