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
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskkit.antecedent.hours import HourlyWeather
from riskkit.evidence.running import cycle_volume_m3, pump_ends_m3_s
from riskkit.evidence.shared import ground_of, once, pit_of
from riskkit.home.samples import HomeSamples
from riskkit.inflow.wall import wall_water
from riskkit.pit.balance import run_pit
from riskkit.pit.drainage import FreeDrainage, free_drainage
from riskkit.pit.vessels import FootingModel, FootingWater, StopRun, follow_stops
from riskkit.pit.works import mark_m, working
from riskkit.records import (
    DepthDurationFrequency,
    FloatArray,
    IntArray,
    PitInflow,
    PitModel,
    freeze_arrays,
)
from riskkit.simulate import Ground, drainback_m3_of, footing_water
from riskkit.simulate import pit_of as _pit_of
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
_SURELY = 0.999  # of a flow or a room, so that no rounding decides


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
    thawed = hours.thawed_share[begin:last]
    levels, wet = (np.empty((homes.n_draws, _THIRDS.size)) for _ in range(2))
    for draws, some, ground in _blocks(homes, rain.size):
        run = run_hours(some, ground, rain, demand, np.array([lead]), thawed_share=thawed)
        arriving = run.arriving(np.arange(draws.size), np.full(draws.size, lead), last - first)
        start = (run.at.level_m[:, 0], run.at.lot_m3[:, 0])
        levels[draws], wet[draws] = _highest(homes, draws, ground, arriving, start, sd)
    return Highest(levels, wet, -homes["alarm_depth_m"])


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
    """Return how high water comes in rain on ground as it is before large storms.

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
    arithmetic : `riskkit.inflow.wall.wall_water`, then `riskkit.pit.works.working`
    """
    return _highest_in_rains(homes, rain_mm[None, :], step_s, sd)[0]


def _highest_in_rains(
    homes: HomeSamples, rain_mm: FloatArray, step_s: float, sd: float
) -> tuple[Highest, ...]:
    """How high water came in each of several rains, the greatest of them last.

    What a pump keeps down in the greatest, it keeps down in those that are less throughout.
    """
    many, n = rain_mm.shape[0], homes.n_draws
    on, alarm = -homes["on_depth_m"], -homes["alarm_depth_m"]
    each = np.arange(n)
    levels, wet = np.tile(on[:, None], (many, 1, _THIRDS.size)), np.zeros((many, n, _THIRDS.size))
    last = many - 1
    levels[last], wet[last] = _highest_in_rows(homes, rain_mm, step_s, sd, each, each * 0 + last)
    rose = np.flatnonzero(_is_over(levels[last, :, -1], wet[last, :, -1], on))
    draws = [rose if _is_less(one, rain_mm[last]) else each for one in rain_mm[:last]]
    draw = np.concatenate([*draws, each[:0]])
    rain = np.repeat(np.arange(last), [one.size for one in draws])
    levels[rain, draw], wet[rain, draw] = _highest_in_rows(homes, rain_mm, step_s, sd, draw, rain)
    return tuple(Highest(levels[k], wet[k], alarm) for k in range(many))


def _is_less(rain_mm: FloatArray, most_mm: FloatArray) -> bool:
    """Tell whether less falls in every span of time that holds the greatest step of the other."""
    more = np.concatenate([[0.0], np.cumsum(most_mm - rain_mm)])
    peak = int(most_mm.argmax())
    return bool(more[peak + 1 :].min() >= more[: peak + 1].max())


def _highest_in_rows(
    homes: HomeSamples, rain_mm: FloatArray, step_s: float, sd: float, draw: IntArray,
    rain: IntArray,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Levels and wet floors of some draws, each in one of the rains."""
    levels, wet = (np.empty((draw.size, _THIRDS.size)) for _ in range(2))
    block = max(16, _AT_ONCE // rain_mm.shape[1])
    for first in range(0, draw.size, block):
        rows = slice(first, first + block)
        at = draw[rows]
        ground = ground_of(homes)
        if not np.array_equal(at, np.arange(homes.n_draws)):
            ground = ground.picked(at)
        water = wall_water(rain_mm[rain[rows]], step_s, ground.wall, np.ones(at.size))
        start = (ground.footing.level_m[:, 0], ground.lot_m3)
        levels[rows], wet[rows] = _highest(homes, at, ground, footing_water(water), start, sd)
    return levels, wet


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
    thawed = hours.thawed_share[begin:last]
    starts, run_s = [], []
    for draws, some, ground in _blocks(homes, rain.size):
        run = run_hours(some, ground, rain, demand, thawed_share=thawed)
        flow = run.free.to_pit_m3_s[:, lead:]
        inflow = PitInflow(np.ascontiguousarray(flow), _HOUR_S)
        done = run_pit(_pits(homes, draws), inflow)
        starts.append(done.starts)
        run_s.append(done.run_time_s)
    return np.concatenate(starts).astype(np.float64), np.concatenate(run_s)


def _blocks(homes: HomeSamples, n_steps: int) -> Iterator[tuple[IntArray, HomeSamples, Ground]]:
    """Some of the draws after the others, with the ground round them."""
    ground, block = ground_of(homes), max(16, _AT_ONCE // n_steps)
    if block >= homes.n_draws:
        yield np.arange(homes.n_draws), homes, ground
        return
    for first in range(0, homes.n_draws, block):
        at = np.arange(first, min(first + block, homes.n_draws))
        yield at, homes.picked(at), ground.picked(at)


def _highest(
    homes: HomeSamples,
    draw: IntArray,
    ground: Ground,
    arriving: FootingWater,
    start: tuple[FloatArray, FloatArray],
    sd: float,
) -> tuple[FloatArray, FloatArray]:
    """Run the pumps of some draws against the water that arrives, and against more and less."""
    factors, on = flow_factors(sd), -homes["on_depth_m"][draw]
    levels, wet = np.tile(on[:, None], (1, factors.size)), np.zeros((draw.size, factors.size))
    at, footing, pit = np.arange(draw.size), ground.footing, None
    for k in range(factors.size - 1, -1, -1):  # what a pump keeps down, it keeps down with less
        some = arriving if at.size == draw.size else arriving.picked(at)
        water = _times(some, float(factors[k]))
        free = free_drainage(footing, water, start[0][at], start[1][at], _NONE)
        rest = np.flatnonzero(~_keeps_down(homes, draw[at], free))
        if not rest.size:
            break
        at, footing = at[rest], footing.picked(rest)
        pit = _pits(homes, draw[at]) if pit is None else pit.picked(rest)
        done = _working(
            pit, footing, water.picked(rest), start[1][at], free.level_m[rest],
            free.to_pit_m3_s[rest],
        )  # fmt: skip
        levels[at, k] = np.maximum(np.reshape(done.highest_m, at.size), on[at])
        wet[at, k] = np.isfinite(np.reshape(done.floor_s, at.size))
        over = np.flatnonzero(_is_over(levels[at, k], wet[at, k], on[at]))
        if not over.size:
            break
        at, footing, pit = at[over], footing.picked(over), pit.picked(over)
    return levels, wet


def _is_over(level_m: FloatArray, wet: FloatArray, on_m: FloatArray) -> NDArray[np.bool_]:
    return np.asarray((level_m > on_m + _ABOVE_M) | (wet > 0))


def _times(water: FootingWater, factor: float) -> FootingWater:
    return replace(
        water, footing_m3_s=water.footing_m3_s * factor,
        recharge_m3_s=water.recharge_m3_s * factor, tail_m3=water.tail_m3 * factor,
        recharge_tail_m3=water.recharge_tail_m3 * factor,
    )  # fmt: skip


def _keeps_down(homes: HomeSamples, draw: IntArray, free: FreeDrainage) -> NDArray[np.bool_]:
    """Tell where a look at the flows is enough to know that no water passes the start level.

    The pump carries more at every level than may come at once, with what it sends back to itself;
    what falls back from the pipe does not fill the pit; and the ground stays below the joint.
    """
    if not homes.has_pump:
        return np.zeros(draw.size, dtype=np.bool_)
    pump = pump_ends_m3_s(homes)[draw]
    comes = free.to_pit_m3_s.max(axis=1) + homes["return_share"][draw] * pump[:, 1]
    falls = drainback_m3_of(homes)[draw] < _SURELY * cycle_volume_m3(homes)[draw]
    return np.asarray((comes < _SURELY * pump[:, 0]) & falls & (free.level_m.max(axis=1) <= 0.0))


def _pits(homes: HomeSamples, draw: IntArray) -> PitModel:
    """Pits of some draws, each built once though a draw may come several times."""
    which, place = np.unique(draw, return_inverse=True)
    built = pit_of(homes) if which.size == homes.n_draws else _pit_of(homes.picked(which))
    return built.picked(place)


def _working(
    pit: PitModel, footing: FootingModel, water: FootingWater, stores_m3: FloatArray,
    level_m: FloatArray, flow_m3_s: FloatArray,
) -> StopRun:  # fmt: skip
    """Run the pumps of some draws, or their pits without a pump as where one has stopped."""
    if not pit.has_pump:
        return follow_stops(
            pit, footing, water, np.zeros((len(level_m), 1), np.int64),
            mark_m(pit, pit.on_index)[:, None], level_m[:, :1], stores_m3[:, None],
        )  # fmt: skip
    run = run_pit(pit, PitInflow(flow_m3_s, float(water.step_s[0])))
    return working(pit, footing, water, level_m, stores_m3, run)
