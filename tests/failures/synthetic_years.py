"""Years made up event by event: storms, faults, tests and outages at their times.

An obvious twin of the integral. It knows rates and times only: faults come at random moments, lie
hidden until a visit, a chance look or water shows them, storms come with their sizes from the same
curve, outages begin and end at their hours. Nothing of `riskkit.failures.yearly` is used.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field

import numpy as np

HOURS_PER_YEAR = 8766.0


@dataclass
class World:
    """One draw of a home; times in hours, rates a year."""

    storm_rates: list[float]  # falling
    overtopped: list[bool]
    dead_to_floor_h: list[float]
    dead_warning_h: list[float]
    stop_to_floor_h: list[float]
    stop_warning_h: list[float]
    faults_per_yr: dict[str, float]
    on_demand: dict[str, float]
    silent_per_yr: float
    silent_on_demand: float
    battery_dead: float
    test_every_yr: float
    finds: float
    shown_per_yr: float
    hears: float
    can_act: float
    acts_after_h: float
    acts_log_sd: float
    outages: list[tuple[float, float, float]]  # rate with weather, rate without, mean hours
    storm_h: float = 24.0
    # a second pump: hours that its battery lasts in each storm, whether it carries it alone, how
    # often it does not start, and the share of the faults of the first that take both
    battery_h: list[float] | None = None
    carries: list[bool] | None = None
    second_fails: float = 0.0
    second_per_yr: float = 0.0  # faults that only the visits find
    beta: float = 0.0
    # a generator that starts by itself: how often, and hours that its fuel lasts; one that whoever
    # hears the alarm may start; a service call: how often one comes, and when
    generator: float = 0.0
    fuel_h: float = 0.0
    hand_start: float = 0.0
    calls: float = 0.0
    service_after_h: float = 24.0
    shown_of: dict[str, float] = field(default_factory=dict)  # where a cause is shown oftener
    seed: int = 1
    rng: np.random.Generator = field(init=False)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)


def wet_years(world: World, years: int) -> np.ndarray:
    """Return for each of some years whether the floor got wet."""
    rng, wet = world.rng, np.zeros(years, dtype=bool)
    events: list[tuple[float, int, str, str]] = []
    count = 0

    def add(time: float, kind: str, what: str = "") -> None:
        nonlocal count
        count += 1
        heapq.heappush(events, (time, count, kind, what))

    def moments(rate: float) -> np.ndarray:
        return np.asarray(rng.random(rng.poisson(rate * years)) * years)

    for time in moments(world.storm_rates[0]):
        add(time, "storm")
    if np.isfinite(world.test_every_yr):
        for time in np.arange(world.test_every_yr, years, world.test_every_yr):
            add(time, "test")
    for what, rate in world.faults_per_yr.items():
        for time in moments(rate):
            add(time, "fault", what)
        for time in moments(world.shown_of.get(what, world.shown_per_yr)):
            add(time, "shown", what)
    for time in moments(world.silent_per_yr):
        add(time, "silent")
    for time in moments(world.shown_per_yr):
        add(time, "alarm tried")
    for time in moments(world.second_per_yr):
        add(time, "second")
    # outages without weather lie anywhere; one is found by its beginning
    begins, ends = [], []
    for _, free, mean in world.outages:
        begin = moments(free) * HOURS_PER_YEAR
        begins.append(begin)
        ends.append(begin + rng.exponential(mean, begin.size))
    begin, end = np.concatenate(begins), np.concatenate(ends)
    order = np.argsort(begin)
    begin, end = begin[order], end[order]

    dead: set[str] = set()
    silent = second_dead = False
    while events:
        time, _, kind, what = heapq.heappop(events)
        if kind == "fault":
            dead.add(what)
        elif kind == "shown":
            dead.discard(what)
        elif kind == "silent":
            silent = True
        elif kind == "alarm tried":
            silent = False
        elif kind == "test":
            dead = {each for each in dead if rng.random() > world.finds}
            silent = silent and rng.random() > world.finds
            second_dead = second_dead and rng.random() > world.finds
        elif kind == "second":
            second_dead = True
        elif _storm(world, time, dead, silent, (begin, end), second_dead=second_dead):
            wet[int(time)] = True
            dead.clear()  # a wet floor shows that the pump is dead
    return wet


def _storm(
    world: World,
    time: float,
    dead: set[str],
    silent: bool,
    free: tuple[np.ndarray, np.ndarray],
    *,
    second_dead: bool,
) -> bool:
    rng = world.rng
    row = _row(world)
    if world.overtopped[row]:
        return True
    failed = [*dead, *(key for key, p in world.on_demand.items() if rng.random() < p)]
    fails = bool(failed)
    least_h = world.stop_to_floor_h[row]
    if world.battery_h is not None and world.carries is not None and world.carries[row]:
        both = any(rng.random() < world.beta for _ in failed)
        if not both and not second_dead and rng.random() >= world.second_fails:
            fails = False  # the second pump takes over, until its battery is spent
            least_h += world.battery_h[row]
    if rng.random() < world.generator:
        least_h += world.fuel_h  # filled up before the storm
    out = _is_out(world, time, least_h, free)
    warnings = []
    if fails and np.isfinite(world.dead_to_floor_h[row]):
        warnings.append(world.dead_warning_h[row])
    if out:
        warnings.append(world.stop_warning_h[row])
    if not warnings:
        return False
    sounds = not silent and rng.random() > world.silent_on_demand
    if out:
        sounds = sounds and rng.random() > world.battery_dead
    can = rng.random() < world.can_act
    if out and not fails and rng.random() < world.hand_start:
        can = True  # the generator feeds the pump
    who_h = [world.acts_after_h] * can + [world.service_after_h] * (rng.random() < world.calls)
    come_h = [middle * np.exp(world.acts_log_sd * rng.standard_normal()) for middle in who_h]
    heard = rng.random() < world.hears
    saved = sounds and heard and min(come_h, default=np.inf) < min(warnings)
    if saved and fails:
        dead.clear()  # who came sees it
    return not saved


def _row(world: World) -> int:
    """Which storm: between two that were run, one of them by the place of its logarithm."""
    rates, rng = np.array(world.storm_rates), world.rng
    size = rates[0] * (1 - rng.random())
    if size <= rates[-1]:
        return len(rates) - 1
    k = int(np.flatnonzero(rates >= size)[-1])
    commoner = np.log(size / rates[k + 1]) / np.log(rates[k] / rates[k + 1])
    return k if rng.random() < commoner else k + 1


def _is_out(
    world: World, time_yr: float, least_h: float, free: tuple[np.ndarray, np.ndarray]
) -> bool:
    rng = world.rng
    if not np.isfinite(least_h):
        return False
    for with_weather, _, mean in world.outages:
        for _ in range(rng.poisson(with_weather / world.storm_rates[0])):
            if rng.exponential(mean) >= least_h:
                return True
    at = time_yr * HOURS_PER_YEAR
    begin, end = free
    last = np.searchsorted(begin, at + world.storm_h)
    first = max(0, np.searchsorted(begin, at - 2000))
    some_begin, some_end = begin[first:last], end[first:last]
    return bool(np.any(some_end - np.maximum(some_begin, at) >= least_h))
