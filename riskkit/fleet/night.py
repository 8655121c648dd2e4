"""The night of a storm over the whole region: who is alarmed, whose floor gets wet, who calls.

The rain is shared: draw i of every home belongs to one world, and one world is taken for each
night; from place to place it differs as `fleet.storm_rain` says. The power fails in a whole
neighbourhood at once: one number at random decides for all its homes, each of which is without
power as often as it would be by itself. Pumps, alarms and people fail each for themselves. Water
comes at the worst moment of an outage, as in the chance of a year.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.errors import InputError
from riskkit.fleet.calls import call_drawn, call_spread
from riskkit.fleet.past import BEFORE_H
from riskkit.fleet.past_told import PastTold, past_of_run
from riskkit.fleet.queue import crews_for, waits_h
from riskkit.fleet.seeds import seed_of
from riskkit.fleet.store import read_columns, read_manifest
from riskkit.records import FloatArray, IntArray, freeze_arrays

__all__ = ["HOURS", "Night", "Nights", "nights_of", "past_nights_of"]

HOURS = 72
"""Hours from the beginning of the storm that are counted."""
_BY_STORM = (
    "wet", "alarms", "dead_to_alarm_s", "dead_to_floor_s", "stop_to_floor_s", "stop_warning_s",
    "out_chance", "lost_chance",
)  # fmt: skip
_TOLD = ["id", "place", "neighbourhood"]
_BY_HOME = ("sounds_chance", "sounds_out_chance", "hears", "can_act", "acts_after_s", "acts_log_sd")
_MOST_NIGHTS = 100_000
_PEAK_H = 12.0  # of a storm of a day, when a working pump is overtopped (judgement)


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
    past : PastTold, optional
        The storm of the record that it is; its hours count from the beginning of its window.
    """

    storm_yr: float
    homes: int
    nights: tuple[Night, ...]
    past: PastTold | None = None

    @property
    def hours(self) -> int:
        """How many hours are counted [h]."""
        return _hours_of(self.past)

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
            Calls of each hour [1/h].
        """
        edges = np.arange(self.hours + 1)
        counts = np.array([np.histogram(n.calls_h, edges)[0] for n in self.nights], dtype=float)
        told = [outcome(counts[:, hour]) for hour in range(self.hours)]
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
    kept = [float(each) for each in read_manifest(folder)["settings"]["kept_yr"]]
    if storm_yr not in kept:
        told = ", ".join(f"{each:g}" for each in kept)
        what = f"the run kept no storm of {storm_yr:g} {'year' if storm_yr == 1 else 'years'}"
        raise InputError("storm", what, f"it kept those of {told}; name others with --storms")
    wanted = _Wanted(storm_yr, {None: kept.index(storm_yr)})
    return _played(folder, [wanted], count, seed, work_min)[0]


def past_nights_of(
    folder: Path,
    count: int = 128,
    seed: int = 1,
    work_min: float | None = None,
    day: str | None = None,
) -> tuple[Nights, ...]:
    """Let the large storms of the rain records come again over the homes of a run.

    A storm comes over the homes whose rain is that record; homes under another record have their
    own.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    count : int
        Nights of each storm [-].
    seed : int
        Of the nights [-].
    work_min : float, optional
        Work of a crew at a call with the drive there, in half of the cases [min].
    day : str, optional
        The storms that began on this day alone, such as ``"2014-06-09"``.

    Returns
    -------
    tuple of Nights
        The rarest storm first, place by place; none where no record tells hours.

    Raises
    ------
    InputError
        Where there is no run, or no storm of that day.
    """
    first = len(read_manifest(folder)["settings"]["kept_yr"])
    told = past_of_run(folder)
    wanted = [
        _Wanted(storm.return_period_yr, {storm.place: first + storm.number}, storm)
        for storm in told if day in (None, storm.name)
    ]  # fmt: skip
    if day is not None and not wanted:
        known = ", ".join(storm.name for storm in told) or "none"
        what = f"the run kept no storm that began on {day}"
        raise InputError("past storms", what, f"it kept those of {known}")
    return tuple(_played(folder, wanted, count, seed, work_min)) if wanted else ()


@dataclass(frozen=True)
class _Wanted:
    """A storm to play: its row among the storms of each home, by place or for all."""

    storm_yr: float
    row_of: Mapping[str | None, int]
    past: PastTold | None = None

    def row(self, place: str) -> int | None:
        return self.row_of.get(None, self.row_of.get(place))


class _Tally:
    """What is counted of a storm: one row a home would be large."""

    def __init__(self, count: int) -> None:
        self.homes = 0
        self.alarms, self.wet, self.dark = (np.zeros(count, dtype=np.int64) for _ in range(3))
        self.calls: list[list[float]] = [[] for _ in range(count)]

    def add(self, found: Mapping[str, Any]) -> None:
        self.homes += 1
        self.alarms += found["alarm"]
        self.wet += found["wet"]
        self.dark += found["out"]
        for night in np.flatnonzero(np.isfinite(found["call_h"])):
            self.calls[night].append(float(found["call_h"][night]))


def _played(
    folder: Path, wanted: Sequence[_Wanted], count: int, seed: int, work_min: float | None
) -> list[Nights]:
    """Play storms, all in one pass through the run."""
    if not 1 <= count <= _MOST_NIGHTS:
        raise InputError("nights", f"{count} is not from 1 to {_MOST_NIGHTS:,}", "such as 128")
    n_draws = int(read_manifest(folder)["settings"]["n_draws"])
    world = np.random.default_rng(seed_of("world", "", seed)).permutation(count) % n_draws
    power, tallies = _SharedPower(count, seed), [_Tally(count) for _ in wanted]
    for home in _homes(folder, n_draws):
        for storm, tally in zip(wanted, tallies, strict=True):
            row = storm.row(home["place"])
            if row is None:
                continue
            one = home | {name: home[name][row] for name in _BY_STORM}
            peak_h = _PEAK_H if storm.past is None else float(BEFORE_H)
            tally.add(_home_nights(one, world, power, seed, peak_h, _hours_of(storm.past)))
    return [_nights(one, tally, seed, work_min) for one, tally in zip(wanted, tallies, strict=True)]


def _hours_of(past: PastTold | None) -> int:
    return HOURS if past is None else len(past.rain_mm)


def _nights(storm: _Wanted, tally: _Tally, seed: int, work_min: float | None) -> Nights:
    spread, nights = call_spread("work"), []
    for k, calls in enumerate(tally.calls):
        rng = np.random.default_rng([seed_of("work", "", seed), k])
        work = call_drawn("work", rng.uniform(1e-9, 1, len(calls))) / 60
        if work_min is not None:
            work = work * (work_min / spread.p50)
        counts = int(tally.alarms[k]), int(tally.wet[k]), int(tally.dark[k])
        nights.append(Night(*counts, np.sort(np.array(calls)), work))
    return Nights(storm.storm_yr, tally.homes, tuple(nights), storm.past)


class _SharedPower:
    """When the power fails, and how readily, in each neighbourhood and night."""

    def __init__(self, count: int, seed: int) -> None:
        self._count, self._seed = count, seed
        self._found: dict[str, tuple[FloatArray, FloatArray]] = {}

    def of(self, neighbourhood: str) -> tuple[FloatArray, FloatArray]:
        if neighbourhood not in self._found:
            rng = np.random.default_rng(seed_of("power", neighbourhood, self._seed))
            begins = call_drawn("outage_begins", rng.uniform(1e-9, 1, self._count))
            self._found[neighbourhood] = rng.random(self._count), begins
        return self._found[neighbourhood]


def _homes(folder: Path, n_draws: int) -> Iterator[dict[str, Any]]:
    """Each home: a row of draws for each storm, and its draws."""
    for part in read_columns(folder, [*_TOLD, *_BY_STORM, *_BY_HOME]):
        drawn = {name: _lists_of(part[name].combine_chunks()) for name in (*_BY_STORM, *_BY_HOME)}
        for k, row in enumerate(part.select(_TOLD).to_pylist()):
            yield (
                row
                | {name: drawn[name][k].reshape(-1, n_draws) for name in _BY_STORM}
                | {name: drawn[name][k] for name in _BY_HOME}
            )


def _lists_of(column: Any) -> list[FloatArray]:
    """The lists of a column as arrays."""
    values = column.values.to_numpy(zero_copy_only=False).astype(np.float64)
    ends = column.offsets.to_numpy()
    return [values[first:last] for first, last in pairwise(ends)]


def _home_nights(
    row: Mapping[str, Any],
    world: IntArray,
    power: _SharedPower,
    seed: int,
    peak_h: float,
    hours: int,
) -> dict[str, Any]:
    """What befalls one home in each night; the storm is at its height at `peak_h`."""
    rng = np.random.default_rng(seed_of("night", row["id"], seed))
    chance = {name: row[name][world] for name in (*_BY_STORM, *_BY_HOME)}
    n = world.size

    def happens(name: str) -> Any:
        return rng.random(n) < chance[name]

    ready, begins_h = power.of(row["neighbourhood"] or row["id"])
    outage_h = np.maximum(begins_h + (peak_h - _PEAK_H), 0.0)
    out, lost, over = ready < chance["out_chance"], happens("lost_chance"), happens("wet")
    sounds = rng.random(n) < np.where(out, chance["sounds_out_chance"], chance["sounds_chance"])
    hears, can_act = happens("hears"), happens("can_act")
    acts_h = chance["acts_after_s"] / 3600 * np.exp(chance["acts_log_sd"] * rng.standard_normal(n))
    calls_alarm = rng.random(n) < call_drawn("calls_on_alarm", rng.uniform(1e-9, 1, n))
    calls_water = rng.random(n) < call_drawn("calls_on_water", rng.uniform(1e-9, 1, n))
    after_alarm, after_water = (
        call_drawn(key, rng.uniform(1e-9, 1, n)) / 60 for key in ("after_alarm", "after_water")
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
    in_order = np.where(chance["alarms"] > 0, peak_h, never)
    alarm_h = np.where(lost, dead_alarm, np.where(out, np.minimum(stop_alarm, in_order), in_order))
    floor_h = np.where(lost, dead_floor, np.where(out, stop_floor, never))
    floor_h = np.where(over, np.minimum(floor_h, peak_h), floor_h)
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
        "call_h": np.where(call_h < hours, call_h, np.inf),
    }
