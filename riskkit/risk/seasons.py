"""Storm seasons of a place: a generator fitted to its record, and how well it holds.

The moments of the process hold before any gauge; a record is what a gauge made of the rain. Rain
of as many years is therefore generated again and again, seen through the record's own gauge, year
by year, and its own gaps, and compared like with like. What the gauge does to each statistic is
taken off the record's before the process is fitted. The tail of the cells and the spread between
storms, which the moments leave open, are set by the largest rain of each year.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.quality import smallest_step_mm
from riskkit.records import FloatArray, RainRecord
from riskkit.storm.fit import match_statistics
from riskkit.storm.moments import WINDOWS_H, month_statistics, process_statistics
from riskkit.storm.pulses import StormSeasons, fallen_mm, read_by_gauge
from riskkit.storm.synthetic import synthetic_seasons

_COPIES = 8
_FINEST_MM = 0.01


@dataclass(frozen=True)
class Gauge:
    """How a record sees rain."""

    record: RainRecord  # by the hour
    first_year: int
    n_years: int
    step_mm: FloatArray  # (n_years,)


def gauge_of(record: RainRecord) -> Gauge:
    year = record.times.astype("datetime64[Y]").astype(np.int64) + 1970
    first, last = int(year[0]), int(year[-1])
    bounds = np.searchsorted(year, np.arange(first, last + 2))
    steps = []
    for a, b in zip(bounds[:-1], bounds[1:], strict=True):
        part = replace(record, depth_mm=record.depth_mm[a:b])
        steps.append(smallest_step_mm(part) or _FINEST_MM)
    return Gauge(record, first, last - first + 1, np.array(steps))


def seen(seasons: StormSeasons, gauge: Gauge, rng: np.random.Generator) -> RainRecord:
    fallen = fallen_mm(seasons, gauge.n_years, gauge.first_year, rng)
    start = np.datetime64(f"{gauge.first_year:04d}-01-01T00")
    year = (gauge.first_year - 1970 + np.arange(gauge.n_years + 1)).astype("datetime64[Y]")
    bounds = (year.astype("datetime64[h]") - start).astype(np.int64)
    depth = np.concatenate(
        [
            read_by_gauge(fallen[a : b + 1] - fallen[a], step)
            for a, b, step in zip(bounds[:-1], bounds[1:], gauge.step_mm, strict=True)
        ]
    )
    record = gauge.record
    before = int((record.start - start.astype("datetime64[s]")).astype(np.int64)) // 3600
    depth = depth[before : before + record.depth_mm.size]
    return replace(record, depth_mm=np.where(np.isnan(record.depth_mm), np.nan, depth))


def try_storms(seasons, gauge, seed, copies=_COPIES):
    stats, maxima = [], []
    for child in np.random.default_rng(seed).spawn(copies):
        rec = seen(seasons, gauge, child)
        stats.append(month_statistics(rec))
        maxima.append(annual_maxima(rec, WINDOWS_H).depth_mm)
    return np.mean(stats, axis=0), np.concatenate(maxima, axis=1)


def l12(x):
    x = np.sort(x, axis=1)
    n = x.shape[1]
    l1 = x.mean(1)
    return np.log(np.stack([l1, 2 * (x * (np.arange(n) / (n - 1))).mean(1) - l1]))


def fit(record, tell=print, weights=(0.03, 0.12)):
    from scipy.optimize import least_squares
    import time

    t0 = time.time()
    gauge = gauge_of(record)
    own = month_statistics(record)
    own_l = l12(annual_maxima(record, WINDOWS_H).depth_mm)
    usual = synthetic_seasons()
    state = {"seasons": usual, "bias": None}

    def at(x):
        shape, sigma = np.exp(x)
        start = state["seasons"]
        start = replace(
            start,
            steady=replace(start.steady, storm_sigma=sigma),
            thunder=replace(start.thunder, storm_sigma=sigma, weibull_shape=shape),
        )
        if state["bias"] is None:
            fitted = match_statistics(own, start, usual)
            stats, _ = try_storms(fitted, gauge, 1)
            state["bias"] = bias(stats, process_statistics(fitted))
            start = fitted
        fitted = match_statistics(unbias(own, state["bias"]), start, usual)
        stats, maxima = try_storms(fitted, gauge, 1)
        state["bias"] = bias(stats, process_statistics(fitted))
        state["seasons"] = fitted
        res = (l12(maxima) - own_l) / np.array(weights)[:, None]
        tell(time.time() - t0, shape, sigma, (np.exp(l12(maxima) - own_l)).round(3).tolist(), (res**2).sum())
        return res.ravel()

    done = least_squares(at, np.log([1.3, 0.3]), diff_step=0.2, max_nfev=4, bounds=(np.log([0.6, 0.05]), np.log([3.0, 1.0])))
    at(done.x)
    return state["seasons"], gauge, own


def bias(stats, process):
    b = np.where([1, 1, 0, 0], stats / process, stats - process)
    b[..., 3] = (1 - stats[..., 3]) / (1 - process[..., 3])
    return b


def unbias(own, b):
    t = np.where([1, 1, 0, 0], own / b, own - b)
    t[..., 3] = 1 - (1 - own[..., 3]) / b[..., 3]
    return t
