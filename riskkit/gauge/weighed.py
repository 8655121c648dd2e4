"""What a log says of the inflow in a storm: the draws of a home, run through the days of the log.

Each draw goes through the hours that were logged. What it would have counted in all, on the wettest
days, after the wettest hours and in dry weather is compared with what was counted; draws that fit
weigh more. What they then say of the inflow at the end of a design rain is narrower than before,
and what made it narrower is handed on as one reading with its error.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.antecedent.water_table import antecedent_ground
from riskkit.ensemble.draws import draw_homes
from riskkit.errors import InputError
from riskkit.evidence.overlay import home_as_seen
from riskkit.gauge.answer import Fitted, LogAnalysis
from riskkit.gauge.cycles import Bins
from riskkit.gauge.response import dry_bins
from riskkit.gauge.water import Water, between
from riskkit.home.samples import HomeSamples
from riskkit.records import FloatArray, RainRecord
from riskkit.simulate import cycle_volume_m3_of, ground_of, water_of
from riskkit.simulate.continuous import run_hours

__all__ = [
    "STORM_M",
    "STORM_S",
    "LogMisfitError",
    "NoStorm",
    "StormFlow",
    "counted_logs",
    "storm_flow",
]

STORM_M, STORM_S = 0.0508, 7200.0
"""The rain for which the inflow is told: two inches, even over two hours (judgement)."""
_HOUR_S, _DAY_S = 3600.0, 86400.0
_LEAD_H = 365 * 24
_LONGEST_S = 2.0 * 365.25 * _DAY_S  # of the end of a log, which is enough
_BLOCK = 16
_STEP_S = 600.0
_WETTEST = 10  # days, and hours a day apart
_AFTER_H = 3
_ERRORS = np.array([0.25, 0.3, 0.3, 0.5])  # of the model, on the scale of logarithms (judgement)
_SURER = 0.85  # of the spread before; what narrows less says nothing
_FEWEST = 5.0  # draws in effect below which nothing is told
_FAR = 3.0**2  # mean square of errors, from which a draw does not count as the log does (judgement)
_HARDLY = (
    0.05  # of the draws; where fewer count as the log does, home and log do not fit (judgement)
)
_Z95 = 1.6449


class LogMisfitError(InputError):
    """A log that hardly any simulated variant of its home comes near."""


class NoStorm(Enum):
    """Why a log tells nothing of the inflow in a storm."""

    NO_RAIN = "no_rain"  # of its days, with temperatures and the latitude, and a response to it
    DAYS_NOT_HELD = "days_not_held"  # by the rain record, with the year before them
    FEW_FIT = "few_fit"  # simulated variants that count as the log does
    NOTHING_SURER = "nothing_surer"


@dataclass(frozen=True)
class StormFlow:
    """Inflow at the end of the rain, on ground as it is before large storms.

    Parameters
    ----------
    before, after : Fitted
        What the home file alone says, and with the log [m3/s].
    reading : Fitted
        The reading with its error that leads from the one to the other [m3/s].
    effective : float
        Of how many draws the weighed ones are worth [-].
    """

    before: Fitted
    after: Fitted
    reading: Fitted
    effective: float


def storm_flow(
    found: LogAnalysis,
    record: RainRecord,
    weather: DailyWeather,
    *,
    n_draws: int = 256,
    seed: int = 1,
) -> StormFlow | NoStorm:
    """Tell what a log says of the inflow in a storm.

    Parameters
    ----------
    found : LogAnalysis
        What the log tells.
    record : RainRecord
        Rain of its days.
    weather : DailyWeather
        Days of the same place with temperatures.
    n_draws : int
        A power of two [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    StormFlow or NoStorm
        Why it tells nothing, where it does not.

    Raises
    ------
    LogMisfitError
        Where fewer than 1 in 20 variants come within three errors of it.

    References
    ----------
    arithmetic : a normal reading that leads from one normal spread to another
    judgement : the errors of the model
    """
    home = home_as_seen(found.home)
    latitude = home.place.latitude
    if found.response is None or found.water is None or latitude is None:
        return NoStorm.NO_RAIN
    bins = found.bins.picked(found.bins.begin_s > found.bins.end_s[-1] - _LONGEST_S)
    hours = hourly_weather(record, weather, latitude).led_in(_LEAD_H)
    start = (hours.first_day * _DAY_S, hours.water_mm.size)
    first = int((bins.begin_s[0] - start[0]) // _HOUR_S) - _LEAD_H
    last = int(np.ceil((bins.end_s[-1] - start[0]) / _HOUR_S))
    if first < 0 or last > start[1]:
        return NoStorm.DAYS_NOT_HELD
    before, _ = antecedent_ground(home, weather, None)
    homes = draw_homes(home, n_draws, seed, before)
    cut = slice(first, last)
    edges: FloatArray = np.asarray(start[0] + _HOUR_S * np.arange(first, last + 1))
    came = np.concatenate(
        [
            _volumes(homes.picked(range(i, i + _BLOCK)), hours, cut, edges, bins)
            for i in range(0, n_draws, _BLOCK)
        ]
    )  # fmt: skip
    groups = _groups(bins, found.water)
    draws = counted_logs(came / cycle_volume_m3_of(homes)[:, None], groups)
    logged = counted_logs(bins.inflow_m3[None, :] / found.cycle_m3.value, groups)
    misfit = ((draws - logged) / _ERRORS[: draws.shape[1]]) ** 2
    weight = np.exp(-0.5 * (misfit.sum(axis=1) - misfit.sum(axis=1).min()))
    if np.mean(misfit.mean(axis=1) <= _FAR) < _HARDLY:
        raise LogMisfitError(
            found.log.name,
            f"hardly any simulated variant of {home.name!r} counts as this log does",
            "check what is entered of the home, and whether it is its log",
        )
    effective = float(weight.sum() ** 2 / (weight**2).sum())
    if effective < _FEWEST:
        return NoStorm.FEW_FIT
    return _told(np.log(np.maximum(_rain_flow_m3_s(homes), 1e-9)), weight, effective)


def _volumes(
    homes: HomeSamples,
    hours: HourlyWeather,
    cut: slice,
    edges_s: FloatArray,
    bins: Bins,
) -> FloatArray:
    """What comes to the pit of each draw in each bin, (n_draws, n_bins) [m3]."""
    run = run_hours(
        homes, ground_of(homes), hours.water_mm[cut], hours.demand_mm[cut],
        thawed_share=hours.thawed_share[cut],
    )  # fmt: skip
    flow = run.free.to_pit_m3_s * _HOUR_S
    return np.array([between(edges_s, one, bins.begin_s, bins.end_s) for one in flow])


def _groups(bins: Bins, water: Water) -> tuple[NDArray[np.bool_], ...]:
    """All bins, those of the wettest days, those after the wettest hours, and dry ones."""
    hours = np.arange(bins.begin_s[0], bins.end_s[-1], _HOUR_S)
    by_hour = water.between(hours, hours + _HOUR_S)
    by_day = water.between(hours, hours + _DAY_S)
    days, peaks = np.zeros(bins.begin_s.size, bool), np.zeros(bins.begin_s.size, bool)
    for fell, length, group in ((by_day, _DAY_S, days), (by_hour, _AFTER_H * _HOUR_S, peaks)):
        for at in _apart(fell):
            group |= (bins.end_s > hours[at]) & (bins.begin_s < hours[at] + length)
    dry = dry_bins(bins, water, 2 * _DAY_S)
    every = np.ones(bins.begin_s.size, bool)
    return (every, days, peaks, dry) if dry.any() else (every, days, peaks)


def _apart(fell: FloatArray) -> list[int]:
    """Hours in which most falls, a day from each other."""
    found: list[int] = []
    for i in np.argsort(-fell, kind="stable").tolist():
        if len(found) == _WETTEST or fell[i] <= 0:
            break
        if all(abs(i - other) >= 24 for other in found):
            found.append(i)
    return found


def counted_logs(cycles: FloatArray, groups: tuple[NDArray[np.bool_], ...]) -> FloatArray:
    """Return the logarithms of what is counted in groups of bins.

    Parameters
    ----------
    cycles : (n, n_bins) array
        Cycles of each bin [-].
    groups : tuple of (n_bins,) arrays of bool
        Which bins belong to each [-].

    Returns
    -------
    (n, n_groups) array
        Logarithm of the sum; a tenth of a cycle is added, so that none has one too [-].
    """
    return np.log(np.stack([cycles[:, group].sum(axis=1) for group in groups], axis=1) + 0.1)


def _rain_flow_m3_s(homes: HomeSamples) -> FloatArray:
    """Inflow at the end of the rain, (n_draws,) [m3/s]."""
    n = round(STORM_S / _STEP_S)
    rain = np.full(n, STORM_M * 1e3 / n)
    flow = water_of(ground_of(homes), rain, _STEP_S, np.ones(homes.n_draws)).free.to_pit_m3_s
    return np.asarray(flow[:, -1])


def _told(log_flow: FloatArray, weight: FloatArray, effective: float) -> StormFlow | NoStorm:
    """Prior, posterior, and the normal reading between them on the scale of logarithms."""
    share = weight / weight.sum()
    prior, spread = float(log_flow.mean()), float(log_flow.std())
    median = float(share @ log_flow)
    left = float(np.sqrt(share @ (log_flow - median) ** 2 / (1.0 - 1.0 / effective)))
    if left >= _SURER * spread:
        return NoStorm.NOTHING_SURER
    sureness = 1.0 / left**2 - 1.0 / spread**2
    reading = (median / left**2 - prior / spread**2) / sureness
    return StormFlow(
        _normal(prior, spread), _normal(median, left), _normal(reading, sureness**-0.5), effective
    )


def _normal(median: float, sd: float) -> Fitted:
    low, half, high = np.exp(median + np.array([-_Z95, 0.0, _Z95]) * sd)
    return Fitted("log.storm_flow", float(half), float(low), float(high))
