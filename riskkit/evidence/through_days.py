"""Draws of a home through days of a record or storms of a table: how high water came, what ran.

::

    hours before ── ground as the weather left it ──> hours of which it is told, three times:
                                                      as much water, and more and less of it
                                                           │
                                                      highest level in the pit, water on the floor

What falls at a gauge is not what falls on a home, and no model is right: both together are one
factor on the water that arrives, of three equally likely sizes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from riskkit.antecedent.hours import HourlyWeather
from riskkit.evidence.shared import ground_of, once, pit_of
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.pit.drainage import free_drainage
from riskkit.pit.vessels import FootingWater, StopRun, follow_stops
from riskkit.pit.works import mark_m, working
from riskkit.records import (
    DepthDurationFrequency,
    FloatArray,
    IntArray,
    PitInflow,
    PitModel,
    freeze_arrays,
)
from riskkit.simulate import Ground, water_of
from riskkit.simulate.continuous import run_hours
from riskkit.storm.design import design_storm

__all__ = [
    "RETURN_YR",
    "Highest",
    "counted",
    "flow_factors",
    "highest_in_hours",
    "highest_in_rain",
    "highest_in_storms",
]

RETURN_YR = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
"""Return periods of the storms by which years without a record are told [yr]."""
_HOUR_S = 3600.0
_AT_ONCE = 1_500_000  # hours of draws that are in memory
_THIRDS = np.array([-(1.5**0.5), 0.0, 1.5**0.5])  # equally likely, standard deviation 1
_STORM_H, _AFTER_H = 24.0, 12
_NONE = np.zeros(0, dtype=np.int64)
_ABOVE_M = 1e-6


@dataclass(frozen=True)
class Highest:
    """How high water came with the pump working.

    Parameters
    ----------
    level_m : (n_draws, 3) array
        Highest level in the pit for each size of the factor, relative to the floor [m].
    is_wet : (n_draws, 3) array
        1 where water came onto the floor, over the rim or at the joint of wall and floor [-].
    alarm_m : (n_draws,) array
        Level of the alarm, relative to the floor [m].
    """

    level_m: FloatArray
    is_wet: FloatArray
    alarm_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def flow_factors(sd: float) -> FloatArray:
    """Return three equally likely factors on the water that arrives.

    Parameters
    ----------
    sd : float
        Standard deviation of their logarithm [-].

    Returns
    -------
    (3,) array
        Factors [-].

    References
    ----------
    arithmetic : -sqrt(3/2), 0 and sqrt(3/2) have mean 0 and variance 1
    """
    return np.asarray(np.exp(sd * _THIRDS))


@once
def highest_in_hours(
    homes: HomeSamples, hours: HourlyWeather, first: int, n_hours: int, lead_h: int, sd: float
) -> Highest:
    """Return how high water came in some hours of a record.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    hours : HourlyWeather
        The record.
    first : int
        Place of the first of the hours [-].
    n_hours : int
        How many there are [h].
    lead_h : int
        Hours before them in which the ground runs alone [h].
    sd : float
        As for `flow_factors` [-].

    Returns
    -------
    Highest
        A row for each draw.

    References
    ----------
    arithmetic : `riskkit.simulate.continuous.run_hours`, then `riskkit.pit.works.working`
    """
    begin = max(0, first - lead_h)
    lead, last = first - begin, min(first + n_hours, hours.water_mm.size)
    rain, demand = hours.water_mm[begin:last], hours.demand_mm[begin:last]
    window = np.arange(lead, last - begin)
    found = []
    for draws, pit, ground in _blocks(homes, rain.size):
        some = _some_of(homes, draws)
        run = run_hours(some, ground, rain, demand, np.array([lead]))
        draw = np.arange(some.n_draws)
        arriving = run.arriving(draw, np.tile(window, (some.n_draws, 1)))
        start = (run.at.level_m[:, 0], run.at.lot_m3[:, 0])
        found.append(_highest(pit, ground, arriving, start, sd))
    return _joined(found)


@once
def highest_in_storms(
    homes: HomeSamples, depths: DepthDurationFrequency, sd: float
) -> tuple[FloatArray, tuple[Highest, ...]]:
    """Return how high water comes in nested storms of a day, on ground as it is before storms.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    depths : DepthDurationFrequency
        Depths of the place, in partial-duration terms.
    sd : float
        As for `flow_factors` [-].

    Returns
    -------
    rate_per_yr : (n_storms,) array
        How often storms as great or greater come, falling [1/yr].
    highest : tuple of Highest
        One for each storm.

    References
    ----------
    arithmetic : `riskkit.storm.design.design_storm`, then `riskkit.pit.works.working`
    """
    low, high = depths.return_period_yr[[0, -1]]
    periods = [p for p in RETURN_YR if low <= p * (1 + 1e-9) and p <= high * (1 + 1e-9)]
    lasting_h = min(_STORM_H, float(depths.duration_h[-1]))
    storms = [design_storm(depths, p, lasting_h, step_s=_HOUR_S).depth_mm for p in periods]
    rain = np.pad(np.stack(storms), ((0, 0), (0, _AFTER_H)))
    found = _highest_in_rains(homes, rain, _HOUR_S, sd)
    return 1.0 / np.array(periods), found


def highest_in_rain(homes: HomeSamples, rain_mm: FloatArray, step_s: float, sd: float) -> Highest:
    """Return how high water comes in rain on ground as it is before big storms.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    rain_mm : (n_steps,) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    sd : float
        As for `flow_factors` [-].

    Returns
    -------
    Highest
        A row for each draw.

    References
    ----------
    arithmetic : `riskkit.simulate.water_of`, then `riskkit.pit.works.working`
    """
    return _highest_in_rains(homes, rain_mm[None, :], step_s, sd)[0]


def _highest_in_rains(
    homes: HomeSamples, rain_mm: FloatArray, step_s: float, sd: float
) -> tuple[Highest, ...]:
    """How high water came in each of several rains, which run side by side."""
    many, n = rain_mm.shape[0], homes.n_draws
    found = []
    for draw, pit, ground in _blocks(homes, rain_mm.shape[1], many):
        rain = np.repeat(rain_mm, n, axis=0)[draw]
        water = water_of(ground, rain, step_s, np.ones(len(rain)))
        start = (ground.footing.level_m[:, 0], ground.lot_m3)
        found.append(_highest(pit, ground, water.arriving, start, sd))
    each = [
        np.split(np.concatenate([getattr(one, item.name) for one in found]), many)
        for item in fields(Highest)
    ]
    return tuple(Highest(*of_rain) for of_rain in zip(*each, strict=True))


def counted(
    homes: HomeSamples, hours: HourlyWeather, first: int, n_hours: int, lead_h: int
) -> tuple[FloatArray, FloatArray]:
    """Return how often and how long each pump ran in some hours of a record.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    hours : HourlyWeather
        The record.
    first, n_hours, lead_h : int
        As for `highest_in_hours` [h].

    Returns
    -------
    starts : (n_draws,) array
        Starts of the pump [-].
    run_s : (n_draws,) array
        Time for which it ran [s].

    References
    ----------
    arithmetic : `riskkit.pit.balance.run_pit` by the hour
    """
    begin = max(0, first - lead_h)
    lead, last = first - begin, min(first + n_hours, hours.water_mm.size)
    rain, demand = hours.water_mm[begin:last], hours.demand_mm[begin:last]
    starts, run_s = [], []
    for draws, pit, ground in _blocks(homes, rain.size):
        flow = run_hours(_some_of(homes, draws), ground, rain, demand).free.to_pit_m3_s[:, lead:]
        done = run_pit(pit, PitInflow(np.ascontiguousarray(flow), _HOUR_S))
        starts.append(done.starts)
        run_s.append(done.run_time_s)
    return np.concatenate(starts).astype(np.float64), np.concatenate(run_s)


def _blocks(
    homes: HomeSamples, n_steps: int, times: int = 1
) -> Iterator[tuple[slice, PitModel, Ground]]:
    """Some of the draws after the others, all of them `times` over, with their pits and ground."""
    pit, ground = pit_of(homes), ground_of(homes)
    if times > 1:
        pit, ground = pit.repeated(times), ground.repeated(times)
    n_draws = times * homes.n_draws
    block = max(16, _AT_ONCE // n_steps)
    if block >= n_draws:
        yield slice(0, n_draws), pit, ground
        return
    for first in range(0, n_draws, block):
        at = np.arange(first, min(first + block, n_draws))
        yield slice(first, first + block), pit.picked(at), ground.picked(at)


def _some_of(homes: HomeSamples, draws: slice) -> HomeSamples:
    if draws.stop >= homes.n_draws and draws.start == 0:
        return homes
    return homes.picked(range(*draws.indices(homes.n_draws)))


def _highest(
    pit: PitModel,
    ground: Ground,
    arriving: FootingWater,
    start: tuple[FloatArray, FloatArray],
    sd: float,
) -> Highest:
    """Run the pump against the water that arrives, and against more and less of it."""
    factors, on = flow_factors(sd), mark_m(pit, pit.on_index)
    n = on.size
    levels, wet = np.tile(on[:, None], (1, factors.size)), np.zeros((n, factors.size))
    at = np.arange(n)
    for k in range(factors.size - 1, -1, -1):  # what a pump keeps down, it keeps down with less
        if not at.size:
            break
        done = _working(pit, ground, arriving, start, float(factors[k]), at)
        levels[at, k] = np.maximum(np.reshape(done.highest_m, at.size), on[at])
        wet[at, k] = np.isfinite(np.reshape(done.floor_s, at.size))
        at = at[(levels[at, k] > on[at] + _ABOVE_M) | (wet[at, k] > 0)]
    alarm = mark_m(pit, pit.alarm_index)
    return Highest(levels, wet, alarm)


def _working(
    pit: PitModel,
    ground: Ground,
    arriving: FootingWater,
    start: tuple[FloatArray, FloatArray],
    factor: float,
    at: IntArray,
) -> StopRun:
    """Run the pumps of some draws, or their pits without a pump as where one has stopped."""
    level, stores = start
    some = arriving
    if at.size < level.size:
        pit, ground, some = pit.picked(at), ground.picked(at), arriving.picked(at)
        level, stores = level[at], stores[at]
    water = replace(
        some, footing_m3_s=some.footing_m3_s * factor, recharge_m3_s=some.recharge_m3_s * factor,
        tail_m3=some.tail_m3 * factor, recharge_tail_m3=some.recharge_tail_m3 * factor,
    )  # fmt: skip
    if not pit.has_pump:
        return follow_stops(
            pit, ground.footing, water, np.zeros((at.size, 1), np.int64),
            mark_m(pit, pit.on_index)[:, None], level[:, None], stores[:, None],
        )  # fmt: skip
    free = free_drainage(ground.footing, water, level, stores, _NONE)
    run = run_pit(pit, PitInflow(free.to_pit_m3_s, float(water.step_s[0])))
    return working(pit, ground.footing, water, free.level_m, stores, run)


def _joined(parts: list[Highest]) -> Highest:
    return Highest(
        np.concatenate([one.level_m for one in parts]),
        np.concatenate([one.is_wet for one in parts]),
        np.concatenate([one.alarm_m for one in parts]),
    )
