"""Moments of the Bartlett-Lewis process in closed form, and those of a record, month by month.

With storms at rate lambda, of mean length 1/gamma, cells at rate beta besides the first, of mean
length 1/eta: a storm has 1 + beta/gamma cells on average; a given cell has others of its storm at a
distance u, before and after it, with density beta exp(-gamma u).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import gamma

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.storm.pulses import StormKind, StormSeasons

__all__ = [
    "MONTH_H",
    "STATISTICS",
    "WINDOWS_H",
    "covariance_mm2",
    "dry_exponent",
    "mean_mm",
    "month_statistics",
    "process_statistics",
    "variance_mm2",
]

WINDOWS_H = (1, 6, 24)
"""Windows in which rain is looked at, by the clock [h]."""

STATISTICS = ("mean", "sd", "lag1", "dry")
"""Mean and standard deviation [mm], correlation with the next window, share of dry windows."""

MONTH_H = 24.0 * np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
"""Mean length of each month [h]."""

_NODE, _WEIGHT = np.polynomial.legendre.leggauss(32)
_NODE, _WEIGHT = 0.5 * (_NODE + 1.0), 0.5 * _WEIGHT  # on 0 to 1


def mean_mm(kind: StormKind, window_h: FloatArray) -> FloatArray:
    """Mean rain in a window: lambda (1 + beta/gamma) mu h / eta.

    Parameters
    ----------
    kind : StormKind
        One kind of storm.
    window_h : (n_windows,) array
        Lengths of windows [h].

    Returns
    -------
    (12, n_windows) array
        Mean depth by month [mm].

    References
    ----------
    rodriguez_iturbe1987 : section 4
    """
    cells = 1.0 + kind.cell_rate_per_h * kind.storm_h
    rate = kind.count / MONTH_H
    return np.outer(rate * cells * kind.intensity_mm_h * kind.cell_h, window_h)


def _waves(kind: StormKind) -> tuple[tuple[FloatArray, FloatArray], ...]:
    """Covariance of the rate at lag t as a sum of A exp(-a t): pairs of A and a."""
    eta, gam, beta = 1.0 / kind.cell_h, 1.0 / kind.storm_h, kind.cell_rate_per_h
    eta = np.where(np.abs(eta / gam - 1.0) < 1e-6, eta * (1.0 + 2e-6), eta)  # 0/0 where equal
    shape = kind.weibull_shape
    second = gamma(1.0 + 2.0 / shape) / gamma(1.0 + 1.0 / shape) ** 2  # E(X²) / E(X)²
    scale = (
        kind.count / MONTH_H * (1.0 + beta / gam) * kind.intensity_mm_h**2 / eta
        * np.exp(kind.storm_sigma**2)
    )  # fmt: skip
    other = beta / (gam**2 - eta**2)
    return (scale * (second + other * gam), eta), (-scale * other * eta, gam)


def variance_mm2(kind: StormKind, window_h: FloatArray) -> FloatArray:
    """Variance of the rain in a window, twice the integral of (h - u) c(u).

    The covariance of the rate at lag u is, with E(F²) of the storms' factor before both terms,
    c(u) = lambda mu_c / eta [(E(X²) + beta gamma mu² / (gamma² - eta²)) exp(-eta u)
    - beta eta mu² / (gamma² - eta²) exp(-gamma u)].

    Parameters
    ----------
    kind : StormKind
        One kind of storm.
    window_h : (n_windows,) array
        Lengths of windows [h].

    Returns
    -------
    (12, n_windows) array
        Variance by month [mm2].

    References
    ----------
    rodriguez_iturbe1987 : section 4
    """
    total = np.zeros((12, np.size(window_h)))
    for size, rate in _waves(kind):
        x = np.outer(rate, window_h)
        total += (2.0 * size / rate**2)[:, None] * (x + np.expm1(-x))
    return total


def covariance_mm2(kind: StormKind, window_h: FloatArray) -> FloatArray:
    """Covariance of the rain in a window and in the next one.

    Parameters
    ----------
    kind : StormKind
        One kind of storm.
    window_h : (n_windows,) array
        Lengths of windows [h].

    Returns
    -------
    (12, n_windows) array
        Covariance by month [mm2].

    References
    ----------
    rodriguez_iturbe1987 : section 4
    """
    total = np.zeros((12, np.size(window_h)))
    for size, rate in _waves(kind):
        total += (size / rate**2)[:, None] * np.expm1(-np.outer(rate, window_h)) ** 2
    return total


def dry_exponent(kind: StormKind, window_h: FloatArray) -> FloatArray:
    """Mean number of storms that wet a window; it is dry with probability exp(-that).

    lambda [h + mu_T - G (gamma + beta exp(-(beta + gamma) h)) / (beta + gamma)], where mu_T is the
    mean time from a storm's begin until it is over and all its cells are, and G the mean time in
    which it is not over but no cell rains. Both are integrals over the state at the storm's end
    and at a moment of it, done by 32 Gauss points; nothing is expanded in a series.

    Parameters
    ----------
    kind : StormKind
        One kind of storm.
    window_h : (n_windows,) array
        Lengths of windows [h].

    Returns
    -------
    (12, n_windows) array
        Mean number by month [-].

    References
    ----------
    rodriguez_iturbe1987 : section 4
    """
    from scipy.special import exp1

    beta, gam = kind.cell_rate_per_h[:, None], 1.0 / kind.storm_h[:, None]
    kappa, phi = beta * kind.cell_h[:, None], gam * kind.cell_h[:, None]
    # exp(-eta t) at the end of a storm of random length: v^(1/phi), v even on 0 to 1
    left = _NODE ** (1.0 / phi)
    busy = np.maximum(kappa * (1.0 - left), 1e-12)  # mean number of later cells that still rain
    # cells that rain at the end outlast it by the mean of the largest of their lengths
    entire = exp1(busy) + np.log(busy) + np.euler_gamma
    after = entire + left * -np.expm1(-busy) / busy
    over_h = kind.storm_h + kind.cell_h * (after @ _WEIGHT)
    idle_h = kind.storm_h * (((1.0 - left) * np.exp(-busy)) @ _WEIGHT)
    quiet = (gam + beta * np.exp(-(beta + gam) * window_h)) / (beta + gam)
    wetting_h = window_h + over_h[:, None] - idle_h[:, None] * quiet
    return np.asarray((kind.count / MONTH_H)[:, None] * wetting_h)


def process_statistics(seasons: StormSeasons, windows_h: Sequence[int] = WINDOWS_H) -> FloatArray:
    """Statistics of the rain itself, before any gauge: kinds add up, being independent.

    Parameters
    ----------
    seasons : StormSeasons
        The storms of a place.
    windows_h : sequence of int
        Windows [h].

    Returns
    -------
    (12, n_windows, 4) array
        `STATISTICS` by month and window [mm, mm, -, -].

    References
    ----------
    rodriguez_iturbe1987 : section 4
    cowpertwait2004 : two kinds on each other
    """
    window = np.array(windows_h, dtype=np.float64)
    first, second = seasons.kinds
    mean, variance, covariance, wet = (
        part(first, window) + part(second, window)
        for part in (mean_mm, variance_mm2, covariance_mm2, dry_exponent)
    )
    return np.stack([mean, np.sqrt(variance), covariance / variance, np.exp(-wet)], axis=2)


def month_statistics(record: RainRecord, windows_h: Sequence[int] = WINDOWS_H) -> FloatArray:
    """Statistics of a record by calendar month, in windows by the clock.

    A window with a gap is left out; the next window counts for the month of the first.

    Parameters
    ----------
    record : RainRecord
        A record of an hour or less.
    windows_h : sequence of int
        Windows, parts of a day [h].

    Returns
    -------
    (12, n_windows, 4) array
        `STATISTICS` by month and window [mm, mm, -, -]; not a number where a month has no window.

    Raises
    ------
    InputError
        Where the record's interval is longer than an hour, or does not fill it.

    References
    ----------
    arithmetic : sample moments
    """
    hourly, month = by_hour_and_day(record)
    return np.stack(
        [_sample_statistics(hourly.reshape(-1, w).sum(axis=1), month) for w in windows_h], axis=1
    )


def by_hour_and_day(record: RainRecord, where: str = "rain record") -> tuple[FloatArray, IntArray]:
    """Return the hours of a record in whole days, and the month of each day.

    Parameters
    ----------
    record : RainRecord
        A record of an hour or less.
    where : str
        Which one, for messages.

    Returns
    -------
    tuple of (24 n_days,) array and (n_days,) array of int
        Depths, missing where the first or last day lacks hours [mm]; months from 0 to 11 [-].

    Raises
    ------
    InputError
        Where the record's interval is longer than an hour, or does not fill it.
    """
    step = record.interval_s
    if step > 3600 or 3600 % step:
        raise InputError(
            where,
            f"its interval of {step / 3600:g} h is not an hour or a part of one",
            "seasons are fitted to hours",
        )
    first = record.start.astype("datetime64[D]")
    before = int((record.start - first).astype(np.int64)) // step
    per_day = 86400 // step
    after = -(before + record.depth_mm.size) % per_day
    depth = np.concatenate([np.full(before, np.nan), record.depth_mm, np.full(after, np.nan)])
    hourly = depth.reshape(-1, 3600 // step).sum(axis=1)
    day = first + np.arange(hourly.size // 24)
    month = day.astype("datetime64[M]").astype(np.int64) % 12
    return np.asarray(hourly), np.asarray(month)


def _sample_statistics(depth: FloatArray, month: IntArray) -> FloatArray:
    """Sample moments of windows by the month of their day, from sums over each day."""
    known = ~np.isnan(depth)
    rain = np.where(known, depth, 0.0)
    after, known_after = np.append(rain[1:], 0.0), np.append(known[1:], False)
    both = known & known_after

    def per_window(values: FloatArray | NDArray[np.bool_]) -> FloatArray:
        by_day = values.reshape(month.size, -1).sum(axis=1)
        return np.asarray(np.bincount(month, by_day, 12))

    with np.errstate(invalid="ignore", divide="ignore"):  # a month without a window has no mean
        n, pairs = per_window(known), per_window(both)
        mean = per_window(rain) / n
        variance = per_window(rain**2) / n - mean**2
        first, second = per_window(rain * both) / pairs, per_window(after * both) / pairs
        covariance = per_window(rain * after * both) / pairs - mean * (first + second - mean)
        dry = per_window(known & (rain == 0.0)) / n
        return np.stack([mean, np.sqrt(variance), covariance / variance, dry], axis=1)
