"""The largest storms of the record of a place: their rain in time, and how seldom as much comes.

Each is a window round its wettest quarter of an hour, so that all of a place can be run side by
side, and the moments at which the pump may stop are the same hours from the peak in each.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtr, ndtri

from riskkit.antecedent.before_storm import Eve, eve_of
from riskkit.antecedent.days import DailyWeather
from riskkit.failures.at_place import COMMONEST_PER_YR, with_commoner
from riskkit.rainfall.largest import LargeStorm, largest_storms
from riskkit.rainfall.maxima import weiss_factor
from riskkit.records import (
    DepthDurationFrequency,
    FloatArray,
    Hyetograph,
    RainRecord,
    freeze_arrays,
)
from riskkit.years.minutes import minutes_of_hours

__all__ = [
    "AFTER_H",
    "BEFORE_H",
    "DepthCurve",
    "PastStorm",
    "curve_of",
    "log_period_of_score",
    "past_storms",
    "score_of_log_period",
]

BEFORE_H, AFTER_H = 36, 48
"""Hours of the window before and after the wettest quarter of an hour [h]."""
_STEP_S, _HOUR_S = 900, 3600
_PER_HOUR = _HOUR_S // _STEP_S
_LEAST_LOG = float(np.log(1 / COMMONEST_PER_YR)) + 1e-6  # no storm that counts is commoner


@dataclass(frozen=True, eq=False)
class DepthCurve:
    """Depth of one duration by how seldom it comes.

    Parameters
    ----------
    log_period : (n,) array
        Logarithm of the return period in years, rising [-].
    depth_mm : (n,) array
        Depth, rising [mm].
    """

    log_period: FloatArray
    depth_mm: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def _beyond_mm(self) -> float:
        """Growth of the depth beyond the last return period."""
        rise = self.depth_mm[-1] - self.depth_mm[-2]
        return float(max(rise, 1e-9) / (self.log_period[-1] - self.log_period[-2]))

    def depth_at(self, log_period: FloatArray | float) -> FloatArray:
        """Return depths, the last line of the curve carried on.

        Parameters
        ----------
        log_period : (n,) array or float
            Logarithm of return periods [-].

        Returns
        -------
        (n,) array
            Depths [mm].
        """
        asked = np.asarray(log_period, dtype=np.float64)
        more = np.maximum(asked - self.log_period[-1], 0.0) * self._beyond_mm
        return np.asarray(np.interp(asked, self.log_period, self.depth_mm) + more)

    def log_period_of(self, depth_mm: float) -> float:
        """Return how seldom a depth comes, the last line of the curve carried on.

        Parameters
        ----------
        depth_mm : float
            Depth [mm].

        Returns
        -------
        float
            Logarithm of the return period [-].
        """
        if depth_mm > self.depth_mm[-1]:
            return float(self.log_period[-1] + (depth_mm - self.depth_mm[-1]) / self._beyond_mm)
        return max(float(np.interp(depth_mm, self.depth_mm, self.log_period)), _LEAST_LOG)


def curve_of(table: DepthDurationFrequency, duration_h: float) -> DepthCurve:
    """Return the depths of one duration, commoner storms added.

    Parameters
    ----------
    table : DepthDurationFrequency
        Depths of a place.
    duration_h : float
        Duration; the nearest of the table counts [h].

    Returns
    -------
    DepthCurve
        Its depths.
    """
    whole = with_commoner(table)
    row = int(np.argmin(np.abs(np.log(whole.duration_h / duration_h))))
    return DepthCurve(np.log(whole.return_period_yr), whole.depth_mm[row])


def score_of_log_period(log_period: FloatArray | float) -> FloatArray:
    """Normal score of a storm among the storms that count at a place.

    Parameters
    ----------
    log_period : (n,) array or float
        Logarithm of its return period in years [-].

    Returns
    -------
    (n,) array
        Where a standard normal value is exceeded by as many [-].

    References
    ----------
    herr_krzysztofowicz2005 : rain at two places by normal scores
    """
    rarer = np.exp(-np.maximum(np.asarray(log_period, dtype=np.float64), _LEAST_LOG))
    return np.asarray(-ndtri(rarer / COMMONEST_PER_YR))


def log_period_of_score(score: FloatArray) -> FloatArray:
    """Logarithm of the return period of a normal score among the storms that count.

    Parameters
    ----------
    score : (n,) array
        Standard normal values [-].

    Returns
    -------
    (n,) array
        Logarithm of the return period in years [-].

    References
    ----------
    herr_krzysztofowicz2005 : rain at two places by normal scores
    """
    return np.asarray(-np.log(COMMONEST_PER_YR * ndtr(-np.asarray(score))))


@dataclass(frozen=True, eq=False)
class PastStorm:
    """A large storm of a record.

    Parameters
    ----------
    begin, end : numpy.datetime64
        Its first and last wet interval.
    window : numpy.datetime64
        Beginning of its window, `BEFORE_H` before its wettest quarter of an hour.
    rain : Hyetograph
        Rain of the window.
    duration_h : float
        Duration in which it is rarest [h].
    depth_mm : float
        Rain of that duration [mm].
    log_period : float
        Logarithm of its return period, the depths of the table carried on [-].
    curve : DepthCurve
        Depths of that duration at the place.
    beside_gap : bool
        Whether time is missing in it or within a day of it.
    eve : Eve
        The last whole day before its window, and whether it tells the ground.
    """

    begin: np.datetime64
    end: np.datetime64
    window: np.datetime64
    rain: Hyetograph
    duration_h: float
    depth_mm: float
    log_period: float
    curve: DepthCurve
    beside_gap: bool
    eve: Eve

    @property
    def name(self) -> str:
        """Its first day."""
        return str(self.begin.astype("datetime64[D]"))

    def form(self) -> dict[str, Any]:
        """Return it as plain data, its rain by the hour.

        Returns
        -------
        dict
            For JSON.
        """
        hourly = self.rain.depth_mm.reshape(-1, _PER_HOUR).sum(axis=1)
        return {
            "name": self.name,
            "begin": str(self.begin.astype("datetime64[m]")),
            "end": str(self.end.astype("datetime64[m]")),
            "window": str(self.window.astype("datetime64[m]")),
            "duration_h": self.duration_h,
            "depth_mm": round(self.depth_mm, 3),
            "return_period_yr": round(float(np.exp(self.log_period)), 3),
            "beside_gap": self.beside_gap,
            "ground": self.eve.ground.value,
            "snow_mm": round(self.eve.snow_mm, 1),
            "may_be_frozen": self.eve.may_be_frozen,
            "rain_mm": [round(float(each), 3) for each in hourly],
        }


def past_storms(
    record: RainRecord,
    table: DepthDurationFrequency,
    count: int,
    weather: DailyWeather | None = None,
) -> tuple[PastStorm, ...]:
    """Find the large storms of a record, and cut their windows out.

    Parameters
    ----------
    record : RainRecord
        The record.
    table : DepthDurationFrequency
        Depths of the place.
    count : int
        How many at most [-].
    weather : DailyWeather, optional
        Days of the same place.

    Returns
    -------
    tuple of PastStorm
        The rarest first; none of a record that tells no hours.

    References
    ----------
    judgement : the window
    """
    if count == 0 or record.interval_s > _HOUR_S:
        return ()
    found = largest_storms(record, table, count)
    return tuple(_past_storm(record, table, storm, weather) for storm in found)


def _past_storm(
    record: RainRecord,
    table: DepthDurationFrequency,
    storm: LargeStorm,
    weather: DailyWeather | None,
) -> PastStorm:
    hours = float(storm.duration_h[storm.rarest])
    curve = curve_of(table, hours)
    steps = max(1, round(hours * _HOUR_S / record.interval_s))
    depth = float(storm.depth_mm[storm.rarest])
    # two windows round it: the peak may be at either end of the storm
    first = storm.begin.astype("datetime64[h]") - np.timedelta64(2 * BEFORE_H, "h")
    last = storm.end.astype("datetime64[h]") + np.timedelta64(2 * AFTER_H, "h")
    quarters = _quarters_mm(record, first, int((last - first) / np.timedelta64(1, "h")))
    step = np.timedelta64(_STEP_S, "s")
    within = slice(int((storm.begin - first) / step), int(np.ceil((storm.end - first) / step)))
    peak = within.start + int(quarters[within].argmax())
    begin = peak - BEFORE_H * _PER_HOUR
    window = first.astype("datetime64[s]") + begin * step
    rain = quarters[begin : begin + (BEFORE_H + AFTER_H) * _PER_HOUR]
    return PastStorm(
        storm.begin, storm.end, window, Hyetograph(rain, float(_STEP_S), str(storm.begin)), hours,
        depth, curve.log_period_of(depth * float(weiss_factor(steps))), curve, storm.beside_gap,
        eve_of(weather, window),
    )  # fmt: skip


def _quarters_mm(record: RainRecord, first: np.datetime64, n_hours: int) -> FloatArray:
    """Rain of each quarter of an hour; time that is missing counts as dry."""
    interval = np.timedelta64(record.interval_s, "s")
    start = record.start.astype("datetime64[s]")
    if record.interval_s == _HOUR_S and (first.astype("datetime64[s]") - start) % interval == 0:
        at = int((first.astype("datetime64[s]") - start) / interval) + np.arange(n_hours)
        there = (at >= 0) & (at < record.depth_mm.size)
        hourly = np.where(there, record.depth_mm[np.clip(at, 0, record.depth_mm.size - 1)], 0.0)
        fine = minutes_of_hours(np.nan_to_num(hourly)[None])[0]
        return np.asarray(fine.reshape(-1, fine.size // (n_hours * _PER_HOUR)).sum(axis=1))
    edges = first.astype("datetime64[s]") + np.arange(n_hours * _PER_HOUR + 1) * np.timedelta64(
        _STEP_S, "s"
    )
    fallen = np.concatenate([[0.0], np.cumsum(np.nan_to_num(record.depth_mm))])
    seconds = (edges - start) / np.timedelta64(1, "s")
    at_s = np.arange(fallen.size, dtype=np.float64) * record.interval_s
    return np.diff(np.interp(seconds, at_s, fallen))
