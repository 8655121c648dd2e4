"""The night of a storm over the whole region: who is alarmed, whose floor gets wet, who calls.

The rain is shared: draw i of every home belongs to one world, and one world is taken for each
night. The power fails in a whole neighbourhood at once: one number at random decides for all its
homes, each of which is without power as often as it would be by itself. Pumps, alarms and people
fail each for themselves. Water comes at the worst moment of an outage, as in the chance of a year.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from scipy.special import ndtri

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.errors import InputError
from riskkit.fleet.queue import crews_for, waits_h
from riskkit.fleet.seeds import seed_of
from riskkit.fleet.store import read_columns, read_manifest
from riskkit.quantities.distributions import spread_at
from riskkit.quantities.variables import Spread
from riskkit.records import FloatArray, IntArray, freeze_arrays
from riskkit.tables import load_table

__all__ = ["HOURS", "Night", "Nights", "call_spread", "nights_of"]

HOURS = 72
"""Hours from the beginning of the storm that are counted."""
_BY_STORM = (
    "wet", "alarms", "dead_to_alarm_s", "dead_to_floor_s", "stop_to_floor_s", "stop_warning_s",
    "out_chance", "lost_chance",
)  # fmt: skip
_BY_HOME = ("sounds_chance", "sounds_out_chance", "hears", "can_act", "acts_after_s", "acts_log_sd")
_PEAK_H = 12.0  # of a storm of a day, when a pump in order is overtopped (judgement)


@dataclass(frozen=True)
class Night:
    """One night.

    Parameters
    ----------
    alarms, wet, without_power : int
        Homes whose alarm sounds, whose floor gets wet, and that are without power [-].
    calls_h : (n_calls,) array
        Moments of the calls from the beginning of the storm, in order [h].
    work_h : (n_calls,) array
        How long a crew is taken up by each [h].
    """

    alarms: int
    wet: int
    without_power: int
    calls_h: FloatArray
    work_h: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class Nights:
    """Many nights of one storm.

    Parameters
    ----------
    storm_yr : float
        Return period of the storm [yr].
    homes : int
        Homes of the company [-].
    nights : tuple of Night
        One a world.
    """

    storm_yr: float
    homes: int
    nights: tuple[Night, ...]

    def counted(self, name: str) -> Points:
        """Return how many homes it is, over the nights.

        Parameters
        ----------
        name : str
            ``"alarms"``, ``"wet"``, ``"without_power"`` or ``"calls"``.

        Returns
        -------
        Points
            Homes, or calls [-].
        """
        told = [n.calls_h.size if name == "calls" else getattr(n, name) for n in self.nights]
        found = outcome(np.array(told, dtype=np.float64))
        return Points(found.low, found.median, found.high)

    def mean(self, name: str) -> float:
        """Return how many homes it is, mean of the nights.

        Parameters
        ----------
        name : str
            As for `counted`.

        Returns
        -------
        float
            Homes, or calls [-].
        """
        told = [n.calls_h.size if name == "calls" else getattr(n, name) for n in self.nights]
        return float(np.mean(told))

    def calls_by_hour(self) -> tuple[Points, ...]:
        """Return the calls of each hour, over the nights.

        Returns
        -------
        tuple of Points
            Calls of each of `HOURS` hours [1/h].
        """
        edges = np.arange(HOURS + 1)
        counts = np.array([np.histogram(n.calls_h, edges)[0] for n in self.nights], dtype=float)
        told = [outcome(counts[:, hour]) for hour in range(HOURS)]
        return tuple(Points(each.low, each.median, each.high) for each in told)

    def in_time(self, crews: int, within_h: float) -> float:
        """Share of all calls for which a crew sets out in time.

        Parameters
        ----------
        crews : int
            How many there are [-].
        within_h : float
            Time from the call [h].

        Returns
        -------
        float
            Share; 1 where nobody calls [-].
        """
        waits = [waits_h(n.calls_h, n.work_h, crews) for n in self.nights]
        every = np.concatenate(waits) if waits else np.zeros(0)
        return float((every <= within_h).mean()) if every.size else 1.0

    def crews_for(self, within_h: float, share: float = 0.9) -> int:
        """Fewest crews with which so many calls are answered in time.

        Parameters
        ----------
        within_h : float
            Time from the call until a crew sets out [h].
        share : float
            Of the calls [-].

        Returns
        -------
        int
            Crews [-].
        """
        return crews_for([(n.calls_h, n.work_h) for n in self.nights], within_h, share)


@cache
def _rows() -> Mapping[str, tuple[Spread, str]]:
    found = {}
    for row in load_table("calls").rows:
        low, median, high = (float(row[point]) for point in ("p05", "p50", "p95"))
        spread = Spread(low, median, high, row["words"], row["source"])
        found[row["key"]] = (spread, row["scale"])
    return MappingProxyType(found)


def call_spread(key: str) -> Spread:
    """Return what is taken of calls, a row of ``tables/calls.csv``.

    Parameters
    ----------
    key : str
        Its key.

    Returns
    -------
    Spread
        Its points, words and basis.
    """
    return _rows()[key][0]


def _drawn(key: str, places: FloatArray) -> FloatArray:
    spread, scale = _rows()[key]
    return spread_at(spread, scale, ndtri(places))


def nights_of(
    folder: Path,
    storm_yr: float,
    count: int = 128,
    seed: int = 1,
    work_min: float | None = None,
) -> Nights:
    """Let a storm come over all homes of a run, many times.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    storm_yr : float
        Return period of the storm, one of those that the run kept [yr].
    count : int
        Nights [-].
    seed : int
        Of the nights [-].
    work_min : float, optional
        Work of a crew at a call with the drive there, in half of the cases [min].

    Returns
    -------
    Nights
        What comes of them.

    Raises
    ------
    InputError
        Where there is no run, or it did not keep that storm.
    """
    settings = read_manifest(folder)["settings"]
    kept, n_draws = [float(each) for each in settings["kept_yr"]], int(settings["n_draws"])
    if storm_yr not in kept:
        told = ", ".join(f"{each:g}" for each in kept)
        what = f"the run kept no storm of {storm_yr:g} years"
        raise InputError("storm", what, f"it kept those of {told}; name others with --storms")
    if count < 1:
        raise InputError("nights", f"{count} are none", "such as 128")
    world = np.random.default_rng(seed_of("world", "", seed)).permutation(count) % n_draws
    power = _SharedPower(count, seed)
    # one row a home would be large: what is kept is counts, and a few calls
    alarms, wet, dark = (np.zeros(count, dtype=np.int64) for _ in range(3))
    calls: list[list[float]] = [[] for _ in range(count)]
    homes = 0
    for row in _homes(folder, kept.index(storm_yr), len(kept), n_draws):
        homes += 1
        found = _home_nights(row, world, power, seed)
        alarms += found["alarm"]
        wet += found["wet"]
        dark += found["out"]
        for night in np.flatnonzero(np.isfinite(found["call_h"])):
            calls[night].append(float(found["call_h"][night]))
    spread = call_spread("work")
    nights = []
    for k in range(count):
        rng = np.random.default_rng([seed_of("work", "", seed), k])
        work = _drawn("work", rng.uniform(1e-9, 1, len(calls[k]))) / 60
        if work_min is not None:
            work = work * (work_min / spread.p50)
        nights.append(
            Night(int(alarms[k]), int(wet[k]), int(dark[k]), np.sort(np.array(calls[k])), work)
        )
    return Nights(storm_yr, homes, tuple(nights))


class _SharedPower:
    """When the power fails, and how readily, in each neighbourhood and night."""

    def __init__(self, count: int, seed: int) -> None:
        self._count, self._seed = count, seed
        self._found: dict[str, tuple[FloatArray, FloatArray]] = {}

    def of(self, neighbourhood: str) -> tuple[FloatArray, FloatArray]:
        if neighbourhood not in self._found:
            rng = np.random.default_rng(seed_of("power", neighbourhood, self._seed))
            begins = _drawn("outage_begins", rng.uniform(1e-9, 1, self._count))
            self._found[neighbourhood] = rng.random(self._count), np.maximum(begins, 0.0)
        return self._found[neighbourhood]


def _homes(folder: Path, at: int, n_storms: int, n_draws: int) -> Iterator[dict[str, Any]]:
    for part in read_columns(folder, ["id", "neighbourhood", "has_pump", *_BY_STORM, *_BY_HOME]):
        for row in part.to_pylist():
            for name in _BY_STORM:
                row[name] = np.array(row[name]).reshape(n_storms, n_draws)[at]
            for name in _BY_HOME:
                row[name] = np.array(row[name])
            yield row


def _home_nights(
    row: Mapping[str, Any], world: IntArray, power: _SharedPower, seed: int
) -> dict[str, Any]:
    """What befalls one home in each night."""
    rng = np.random.default_rng(seed_of("night", row["id"], seed))
    chance = {name: row[name][world] for name in (*_BY_STORM, *_BY_HOME)}
    n = world.size

    def happens(name: str) -> Any:
        return rng.random(n) < chance[name]

    ready, outage_h = power.of(row["neighbourhood"] or row["id"])
    out, lost, over = ready < chance["out_chance"], happens("lost_chance"), happens("wet")
    sounds = rng.random(n) < np.where(out, chance["sounds_out_chance"], chance["sounds_chance"])
    hears, can_act = happens("hears"), happens("can_act")
    acts_h = chance["acts_after_s"] / 3600 * np.exp(chance["acts_log_sd"] * rng.standard_normal(n))
    calls_alarm = rng.random(n) < _drawn("calls_on_alarm", rng.uniform(1e-9, 1, n))
    calls_water = rng.random(n) < _drawn("calls_on_water", rng.uniform(1e-9, 1, n))
    after_alarm, after_water = (
        _drawn(key, rng.uniform(1e-9, 1, n)) / 60 for key in ("after_alarm", "after_water")
    )
    # moments in hours from the beginning of the storm: of a dead pump, of a stop, of one in order
    dead_alarm, dead_floor = chance["dead_to_alarm_s"] / 3600, chance["dead_to_floor_s"] / 3600
    stop_floor = outage_h + chance["stop_to_floor_s"] / 3600
    with np.errstate(invalid="ignore"):  # never less never
        stop_alarm = np.where(
            np.isfinite(stop_floor), stop_floor - chance["stop_warning_s"] / 3600, np.inf
        )
    stop_alarm = np.maximum(stop_alarm, outage_h)
    never = np.full(n, np.inf)
    in_order = np.where(chance["alarms"] > 0, _PEAK_H, never)
    alarm_h = np.where(lost, dead_alarm, np.where(out, np.minimum(stop_alarm, in_order), in_order))
    floor_h = np.where(lost, dead_floor, np.where(out, stop_floor, never))
    floor_h = np.where(over, np.minimum(floor_h, _PEAK_H), floor_h)
    alarm_h = np.where(sounds, np.minimum(alarm_h, floor_h), never)
    heard_h = np.where(hears, alarm_h, never)
    # nobody lifts away what both pumps in order cannot
    kept = can_act & ~over & (heard_h + acts_h < floor_h)
    floor_h = np.where(kept, never, floor_h)
    found_h = np.where(calls_water, floor_h + after_water, never)
    call_h = np.where(calls_alarm, heard_h + after_alarm, never)
    call_h = np.minimum(call_h, found_h)
    return {
        "alarm": np.isfinite(alarm_h),
        "wet": np.isfinite(floor_h),
        "out": out,
        "call_h": np.where(call_h < HOURS, call_h, np.inf),
    }
