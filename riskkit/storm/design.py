"""Design storms: the rain of one duration and return period, spread over time by a pattern."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np

from riskkit.errors import InputError, OutOfRangeWarning, RangeError
from riskkit.records import (
    ByValue,
    DepthDurationFrequency,
    FloatArray,
    Hyetograph,
    IntArray,
    Series,
    freeze_arrays,
)
from riskkit.storm.patterns import Pattern, alternating_block_mm, block_places, mass_curve

__all__ = ["Burst", "burst_of", "design_storm", "patterned_storm"]


def patterned_storm(
    depth_mm: float, duration_h: float, pattern: Pattern, step_s: float = 300.0
) -> Hyetograph:
    """Spread a depth over a duration by a pattern that has a curve of its own.

    Parameters
    ----------
    depth_mm : float
        Depth of the storm, above 0 [mm].
    duration_h : float
        Duration, a multiple of the step [h]; 24 for the NRCS types.
    pattern : Pattern
        Any pattern but the alternating block.
    step_s : float
        Length of a step [s].

    Returns
    -------
    Hyetograph
        Rain per step [mm]; it sums to the depth.

    Raises
    ------
    RangeError
        Where an NRCS type is asked for another duration than 24 h, or the depth is not positive.
    InputError
        Where the duration is no multiple of the step.

    References
    ----------
    hds2 : section 6.2
    huff1990 : median curves at a point
    """
    if not (np.isfinite(depth_mm) and depth_mm > 0):
        raise RangeError("storm", f"a depth of {depth_mm:g} mm")
    n = _n_steps(duration_h, step_s)
    if pattern.is_nrcs and abs(duration_h - 24.0) > 1e-9:
        raise RangeError(
            "storm",
            f"{pattern.value} is for 24 h, not {duration_h:g} h",
            "take another pattern or 24 h",
        )
    share = np.diff(mass_curve(pattern, np.arange(n + 1) / n))
    return Hyetograph(
        np.maximum(share, 0.0) * depth_mm, step_s, _name(pattern, depth_mm, duration_h)
    )


def design_storm(
    table: DepthDurationFrequency,
    return_period_yr: float,
    duration_h: float,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    step_s: float = 300.0,
) -> Hyetograph:
    """Storm of a return period and duration from a table of depths.

    Steps shorter than the table's shortest duration share its depth evenly, with a warning: how the
    rain peaks within it is not known from the table. Depths that follow from longer ones by ratios
    are taken at the middle of their spread, see `burst_of`.

    Parameters
    ----------
    table : DepthDurationFrequency
        Depths in partial-duration terms.
    return_period_yr : float
        Return period within the table [yr].
    duration_h : float
        Duration within the table, a multiple of the step [h].
    pattern : Pattern
        How the depth spreads over the duration.
    step_s : float
        Length of a step [s].

    Returns
    -------
    Hyetograph
        Rain per step [mm]; it sums to the table's depth for the duration.

    Raises
    ------
    RangeError
        Where the duration or return period lies beyond the table, or does not suit the pattern.
    InputError
        Where the table counts annual maxima, or the duration is no multiple of the step.

    References
    ----------
    chow1988 : section 14.4
    hds2 : Example 6.6
    huff1990 : median curves at a point
    """
    if table.series is not Series.PARTIAL_DURATION:
        raise InputError(
            "storm", "the table counts annual maxima", "turn it into partial duration first"
        )
    total_mm = float(table.depth_at(duration_h, return_period_yr))
    if pattern is not Pattern.ALTERNATING_BLOCK:
        return patterned_storm(total_mm, duration_h, pattern, step_s)
    n = _n_steps(duration_h, step_s)
    shortest_h = float(table.duration_h[0])
    lasting_h = np.arange(1, n + 1, dtype=np.float64) * (step_s / 3600.0)
    lasting_h[-1] = duration_h  # so that the last depth is the total to the last bit
    if lasting_h[0] < shortest_h * (1 - 1e-9):
        warnings.warn(
            f"a step of {step_s:g} s is shorter than the table's shortest duration of "
            f"{3600 * shortest_h:g} s; the rain within it is spread evenly",
            OutOfRangeWarning,
            stacklevel=2,
        )
    storm = alternating_block_mm(_depth_from_zero(table, lasting_h, return_period_yr))
    burst = burst_of(table, return_period_yr, duration_h, step_s)
    if burst is not None:
        storm[burst.rest_place], storm[burst.place] = burst.rest_mm, burst.rain_mm(np.zeros(1))[0]
    return Hyetograph(storm, step_s, _name(pattern, total_mm, duration_h, return_period_yr))


@dataclass(frozen=True, eq=False)
class Burst(ByValue):
    """The inner part of a nested storm, whose depths are known only by ratios to a longer one.

    Parameters
    ----------
    depth_mm : (n_inner,) array
        Depth of 1, 2 … n_inner steps; the last is that of the longer duration [mm].
    log_sd : (n_inner,) array
        Standard deviation of the logarithm of each against the last, which has none [-].
    place : (n_inner,) array of int
        Steps of the storm that it fills, from the wettest [-].
    rest_mm : (n_rest,) array
        Rain of the other steps [mm].
    rest_place : (n_rest,) array of int
        Where those are [-].
    """

    depth_mm: FloatArray
    log_sd: FloatArray
    place: IntArray
    rest_mm: FloatArray
    rest_place: IntArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    def rain_mm(self, score: FloatArray) -> FloatArray:
        """Rain of the inner steps where the ratios lie elsewhere in their spread.

        All ratios go together, for tables that are high at five minutes are high at fifteen. The
        depth of the longer duration stays: what the worst minutes bring more, the others bring
        less.

        Parameters
        ----------
        score : (n_draws,) array
            Where in the spread, as standard normal scores [-].

        Returns
        -------
        (n_draws, n_inner) array
            Rain of each step, in the order of `place` [mm].

        References
        ----------
        chow1988 : section 14.4, alternating block method
        judgement : ratios that go together
        """
        depth = self.depth_mm * np.exp(score[:, None] * self.log_sd)
        depth = np.minimum(np.maximum.accumulate(depth, axis=1), self.depth_mm[-1])
        return np.sort(np.diff(depth, axis=1, prepend=0.0), axis=1)[:, ::-1]


def burst_of(
    table: DepthDurationFrequency, return_period_yr: float, duration_h: float, step_s: float
) -> Burst | None:
    """Find the inner part of a nested storm that rests on ratios.

    Parameters
    ----------
    table : DepthDurationFrequency
        Depths in partial-duration terms.
    return_period_yr : float
        Return period within the table [yr].
    duration_h : float
        Duration within the table, a multiple of the step [h].
    step_s : float
        Length of a step [s].

    Returns
    -------
    Burst or None
        None where no step within the storm rests on ratios.

    References
    ----------
    arithmetic : independent spreads of neighbouring durations
    """
    n = _n_steps(duration_h, step_s)
    lasting_h = np.arange(1, n + 1, dtype=np.float64) * (step_s / 3600.0)
    lasting_h[-1] = duration_h
    known_h = np.maximum(lasting_h, float(table.duration_h[0]))
    variance = table.ratio_log_sd_at(known_h) ** 2
    # the depth of the whole storm has its own spread, which moves all of it
    log_sd = np.sqrt(np.maximum(variance - variance[-1], 0.0))
    if not log_sd.any():
        return None
    inner = int(np.flatnonzero(log_sd)[-1]) + 2  # and the first that has none
    depth_mm = _depth_from_zero(table, lasting_h, return_period_yr)
    places = block_places(n)
    return Burst(
        depth_mm=depth_mm[:inner],
        log_sd=log_sd[:inner],
        place=places[:inner],
        rest_mm=np.sort(np.diff(depth_mm[inner - 1 :]))[::-1],
        rest_place=places[inner:],
    )


def _depth_from_zero(
    table: DepthDurationFrequency, duration_h: FloatArray, return_period_yr: float
) -> FloatArray:
    shortest_h = float(table.duration_h[0])
    depth = table.depth_at(np.maximum(duration_h, shortest_h), return_period_yr)
    return np.asarray(depth * np.minimum(duration_h / shortest_h, 1.0))


def _n_steps(duration_h: float, step_s: float) -> int:
    if not (step_s > 0 and duration_h > 0):
        raise InputError("storm", f"a duration of {duration_h:g} h in steps of {step_s:g} s")
    n = duration_h * 3600.0 / step_s
    if round(n) < 1 or abs(n - round(n)) > 1e-6 * n:
        raise InputError(
            "storm",
            f"a duration of {duration_h:g} h is no multiple of the step of {step_s:g} s",
        )
    return round(n)


def _name(
    pattern: Pattern, depth_mm: float, duration_h: float, return_period_yr: float | None = None
) -> str:
    rare = "" if return_period_yr is None else f", {return_period_yr:g} years"
    return f"{pattern.value}, {depth_mm:.1f} mm in {duration_h:g} h{rare}"
