"""What a pump carries, cycle by cycle, and how that changes: steady, wearing, or another pump."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from riskkit.gauge.cycles import Cycles
from riskkit.records import FloatArray
from riskkit.records.frozen import freeze_arrays

__all__ = ["Course", "PumpCourse", "pump_course", "pump_flow_m3_s"]

_YEAR_S = 365.25 * 86400.0
_DAY_S = 86400.0
_MOST_POINTS = 400
_FEWEST_POINTS = 12
_FEWEST_BESIDE = 4  # points on either side of a step
_NEAR = 0.3  # of the median; farther off a cycle is another thing (judgement)
_Z95 = 1.6449


class Course(Enum):
    """How what a pump carries goes on."""

    STEADY = "steady"
    TREND = "trend"
    STEP = "step"
    STEP_AND_TREND = "step and trend"


@dataclass(frozen=True, eq=False)
class PumpCourse:
    """What a pump carried through a log; all flows go with the volume of a cycle.

    Parameters
    ----------
    course : Course
        The simplest that explains the flows.
    time_s, flow_m3_s : (n_points,) arrays
        Mean flows of days, or of more days where there are many [s, m3/s].
    first_m3_s, last_m3_s : float
        What it carried at the beginning and at the end, by the course [m3/s].
    error_m3_s : float
        Standard error of the last [m3/s].
    step_s : float
        When it changed; NaN where it did not [s].
    step_share : float
        By how much, as a share of what it carried before; zero where it did not [-].
    per_year : float
        Change in a year, as a share of the mean [1/yr].
    per_year_low, per_year_high : float
        Its 5 % and 95 % limits; they say how well it is known even where none is seen [1/yr].
    """

    course: Course
    time_s: FloatArray
    flow_m3_s: FloatArray
    first_m3_s: float
    last_m3_s: float
    error_m3_s: float
    step_s: float
    step_share: float
    per_year: float
    per_year_low: float
    per_year_high: float

    def __post_init__(self) -> None:
        freeze_arrays(self)

    def at(self, time_s: FloatArray) -> FloatArray:
        """Return what it carried at some times, by the course.

        Parameters
        ----------
        time_s : (n,) array
            Times since 1970 [s].

        Returns
        -------
        (n,) array
            Flow [m3/s].

        References
        ----------
        arithmetic : a line on either side of the step
        """
        mean = float(self.flow_m3_s.mean())
        slope = mean * self.per_year / _YEAR_S
        if self.course in (Course.STEADY, Course.STEP):
            slope = 0.0
        end = float(self.time_s[-1])
        after = self.last_m3_s + slope * (time_s - end)
        if not np.isfinite(self.step_s):
            return np.asarray(after)
        before = self.first_m3_s + slope * (time_s - float(self.time_s[0]))
        return np.where(time_s < self.step_s, before, after)


def pump_flow_m3_s(cycles: Cycles, volume_m3: FloatArray, back_m3: float) -> FloatArray:
    """Return what the pump carried in each quiet cycle: P = V / run + (V - b) / rest.

    Parameters
    ----------
    cycles : Cycles
        The cycles.
    volume_m3 : (n_cycles,) array
        Water between the levels of start and stop, V [m3].
    back_m3 : float
        Water that falls back from the pipe after each stop, b [m3].

    Returns
    -------
    (n_cycles,) array
        Mean over the run; NaN where it ran hard, or runs are not told [m3/s].

    References
    ----------
    arithmetic : volume over time, and the inflow that the pump carried besides
    """
    if not cycles.tells_runs:
        return np.full(cycles.begin_s.size, np.nan)
    run = cycles.stop_s - cycles.begin_s
    rest = np.maximum(cycles.end_s - cycles.stop_s, 1.0)
    flow = volume_m3 / run + np.maximum(volume_m3 - back_m3, 0.0) / rest
    return np.where(cycles.is_hard, np.nan, flow)


def pump_course(time_s: FloatArray, flow_m3_s: FloatArray) -> PumpCourse | None:
    r"""Tell a steady pump from one that wears and from one that was changed.

    Mean flows of days are explained by a constant, a line, a step, and two lines of one slope;
    the least of Schwarz's criterion, :math:`n \ln(S/n) + k \ln n`, is taken. Where neighbouring
    days are alike (lag-1 correlation r), n is :math:`n (1 - r) / (1 + r)`.

    Parameters
    ----------
    time_s : (n_cycles,) array
        When each cycle began [s].
    flow_m3_s : (n_cycles,) array
        What the pump carried; NaN where that is not told [m3/s].

    Returns
    -------
    PumpCourse or None
        None where too few days tell it.

    References
    ----------
    schwarz1978 : the criterion
    bayley1946 : independent values in a correlated series
    """
    t, q = _points(time_s, flow_m3_s)
    if t.size < _FEWEST_POINTS:
        return None
    year = (t - t[0]) / _YEAR_S
    one = np.ones(t.size)
    line = np.stack([one, year], axis=1)
    step, step_line = _best_step(one[:, None], q), _best_step(line, q)
    steps = {Course.STEP: step, Course.STEP_AND_TREND: step_line}
    designs = {
        Course.STEADY: one[:, None],
        Course.TREND: line,
        Course.STEP: _with_step(one[:, None], step),
        Course.STEP_AND_TREND: _with_step(line, step_line),
    }
    left = {course: _left(design, q) for course, design in designs.items()}
    best = _simplest(designs, left, q.size, left[Course.STEP_AND_TREND])
    # how well a slope is known is told also where none is needed
    shaped = Course.STEP_AND_TREND if best in steps else Course.TREND
    slope, slope_error = _slope(designs[shaped], q)
    coefficients, *_ = np.linalg.lstsq(designs[best], q, rcond=None)
    fitted = designs[best] @ coefficients
    at = steps.get(best)
    mean = float(q.mean())
    n_like = _independent(left[best])
    changed = 0.0
    if at is not None:
        jump = float(coefficients[-1])
        changed = jump / float(fitted[at] - jump)
    return PumpCourse(
        best, t, q, float(fitted[0]), float(fitted[-1]),
        float(np.sqrt(np.mean(left[best] ** 2) / max(n_like - 1.0, 1.0))),
        np.nan if at is None else float((t[at - 1] + t[at]) / 2.0), changed,
        slope / mean if best in (Course.TREND, Course.STEP_AND_TREND) else 0.0,
        (slope - _Z95 * slope_error) / mean, (slope + _Z95 * slope_error) / mean,
    )  # fmt: skip


def _points(time_s: FloatArray, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean flows of days, or of several days where the log is long."""
    known = np.isfinite(flow)
    if not known.any():
        return np.zeros(0), np.zeros(0)
    time_s, flow = time_s[known], flow[known]
    width = max(1.0, np.ceil((time_s[-1] - time_s[0]) / _DAY_S / _MOST_POINTS)) * _DAY_S
    place = ((time_s - time_s[0]) // width).astype(np.int64)
    first = np.concatenate([[0], np.flatnonzero(np.diff(place)) + 1])
    parts = np.split(np.arange(flow.size), first[1:])
    return (
        np.array([time_s[part].mean() for part in parts]),
        np.array([_middle(flow[part]) for part in parts]),
    )


def _middle(flow: FloatArray) -> float:
    """Mean of what lies near the median: a mean evens out runs told to the second."""
    near = np.abs(flow / np.median(flow) - 1.0) < _NEAR
    return float(flow[near].mean())


def _with_step(design: FloatArray, at: int) -> FloatArray:
    after = (np.arange(len(design)) >= at).astype(np.float64)
    return np.column_stack([design, after])


def _best_step(design: FloatArray, q: FloatArray) -> int:
    places = range(_FEWEST_BESIDE, q.size - _FEWEST_BESIDE + 1)
    return min(places, key=lambda at: float((_left(_with_step(design, at), q) ** 2).sum()))


def _left(design: FloatArray, q: FloatArray) -> FloatArray:
    coefficients, *_ = np.linalg.lstsq(design, q, rcond=None)
    return np.asarray(q - design @ coefficients)


def _independent(left: FloatArray) -> float:
    """How many independent values the residuals are worth."""
    total = float((left**2).sum())
    r = float((left[1:] * left[:-1]).sum()) / total if total > 0 else 0.0
    r = min(max(r, 0.0), 0.95)
    return max(left.size * (1.0 - r) / (1.0 + r), 3.0)


def _simplest(
    designs: dict[Course, FloatArray], left: dict[Course, FloatArray], n: int, full: FloatArray
) -> Course:
    like = _independent(full)
    least = 1e-12 * float(np.mean(left[Course.STEADY] ** 2)) + 1e-30

    def criterion(course: Course) -> float:
        stepped = course in (Course.STEP, Course.STEP_AND_TREND)
        k = designs[course].shape[1] + stepped  # where the step is counts as well
        squares = float((left[course] ** 2).sum()) / n
        return float(like * np.log(squares + least) + k * np.log(like))

    return min(designs, key=criterion)


def _slope(design: FloatArray, q: FloatArray) -> tuple[float, float]:
    """Slope [m3/s/yr] of the second column and its standard error."""
    coefficients, *_ = np.linalg.lstsq(design, q, rcond=None)
    left = q - design @ coefficients
    like = _independent(left)
    k = design.shape[1]
    variance = float((left**2).sum()) / max(q.size - k, 1) * q.size / like
    inverse = np.linalg.pinv(design.T @ design)
    return float(coefficients[1]), float(np.sqrt(variance * inverse[1, 1]))
