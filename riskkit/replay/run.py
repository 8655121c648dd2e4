"""Years of a record through the pit of a home: months, days and storms, draw by draw."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.antecedent.water_table import ground_before
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError, NoPitError, need_type
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.quantities.components import Component
from riskkit.records import FloatArray, PitInflow, freeze_arrays
from riskkit.replay.storms import BEFORE_H, RecordStorm, StormOutcomes, follow_storms, storms_of
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain, design_rain
from riskkit.risk.system_state import system_state
from riskkit.simulate import ground_of, pit_of
from riskkit.simulate.continuous import root_zone_of, run_hours

__all__ = ["PumpMonths", "Replay", "ReplaySettings", "replay"]

_YEAR_H, _DAY_H = 8760, 24
_BLOCK = 4  # homes whose hours are in memory at once, for each thread
_LEAST_YEARS = 2


@dataclass(frozen=True)
class ReplaySettings:
    """How a record is replayed.

    Parameters
    ----------
    n_draws : int
        Simulated variants of the home, a power of two [-].
    seed : int
        Of the draws [-].
    least_mm : float
        Rain and melt of a storm from which it is followed [mm].
    """

    n_draws: int = 64
    seed: int = 1
    least_mm: float = 12.7

    def __post_init__(self) -> None:
        if self.n_draws < 2 or self.n_draws & (self.n_draws - 1) or self.n_draws > 4096:
            raise InputError(
                "settings", f"{self.n_draws} draws", "give a power of two from 2 to 4096"
            )
        if not self.least_mm > 0:
            raise InputError(
                "settings", f"storms from {self.least_mm:g} mm on", "give a depth above zero"
            )


@dataclass(frozen=True)
class PumpMonths:
    """What the pump of each draw did in each month; (n_draws, n_months) arrays.

    Parameters
    ----------
    starts : array
        Number of pump starts [-].
    run_h : array
        Time the pump ran [h].
    pumped_m3 : array
        Water lifted [m3].
    inflow_m3 : array
        Water that came to the pit [m3].
    peak_use : array
        Largest flow of an hour as a share of what the pump carries [-].
    """

    starts: FloatArray
    run_h: FloatArray
    pumped_m3: FloatArray
    inflow_m3: FloatArray
    peak_use: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class Replay:
    """A home through the years of a record.

    Parameters
    ----------
    home : Home
        The home.
    settings : ReplaySettings
        How it was replayed.
    clock : Clock
        From when minutes to the floor are counted.
    record_name : str
        What the record is called.
    month : (n_months,) array of datetime64[M]
        Whole months of the record.
    rain_mm, melt_mm, missing_share : (n_months,) arrays
        Rain that reaches the ground as rain, snow melt, and share of the hours that are
        missing [mm, mm, -].
    wetness : (n_months,) array
        Water in the root zone of the lot of the median home, between wilting point and field
        capacity, mean of the month [-].
    lot_mm : (n_months,) array
        Water above the drain in the lot of the median home, mean of the month, over its area [mm].
    months : PumpMonths
        What the pump does, all draws.
    day : (n_days,) array of datetime64[D]
        Days of these months.
    median_days : PumpMonths
        What the pump of the median home does by the day; one row.
    storms : tuple of RecordStorm
        Storms and thaws.
    outcomes : StormOutcomes
        What they mean, all draws.
    median_outcomes : StormOutcomes
        The same for the median home; one row.
    """

    home: Home
    settings: ReplaySettings
    clock: Clock
    record_name: str
    month: NDArray[np.datetime64]
    rain_mm: FloatArray
    melt_mm: FloatArray
    missing_share: FloatArray
    wetness: FloatArray
    lot_mm: FloatArray
    months: PumpMonths
    day: NDArray[np.datetime64]
    median_days: PumpMonths
    storms: tuple[RecordStorm, ...]
    outcomes: StormOutcomes
    median_outcomes: StormOutcomes

    @property
    def years(self) -> float:
        """Length of the whole months [yr]."""
        return self.month.size / 12


class _Spans:
    """Days and whole months of the hours of a place, behind a first year that is thrown away."""

    def __init__(self, hours: HourlyWeather) -> None:
        self.hours = hours
        day = np.datetime64(hours.first_day, "D") + np.arange(hours.water_mm.size // _DAY_H)
        month = day.astype("datetime64[M]")
        first, last = month[0], month[-1]
        if day[0] != first.astype("datetime64[D]"):
            first = first + 1
        if day[-1] + 1 != (last + 1).astype("datetime64[D]"):
            last = last - 1
        self._in = (month >= first) & (month <= last)
        self.day = day[self._in]
        self.month = np.arange(first, last + 1)
        self.begins = np.searchsorted(self.day, self.month.astype("datetime64[D]"))

    def days_in(self, by_day: FloatArray) -> FloatArray:
        """Take the days of the whole months, of an account that begins with the first year."""
        return np.asarray(by_day[..., _YEAR_H // _DAY_H :][..., self._in])

    def sums(self, by_day: FloatArray) -> FloatArray:
        """Add days of the whole months up to months."""
        return np.asarray(np.add.reduceat(by_day, self.begins, axis=-1))

    def most(self, by_day: FloatArray) -> FloatArray:
        """Take the largest of the days of each month."""
        return np.asarray(np.maximum.reduceat(by_day, self.begins, axis=-1))

    def means(self, by_day: FloatArray) -> FloatArray:
        """Take the mean of the days of each month."""
        return self.sums(by_day) / self.sums(np.ones(self.day.size))

    def weather(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return rain and melt of each month [mm], and the share of hours that are missing."""
        hours = self.hours
        rain, melt, gap = (
            x.reshape(-1, _DAY_H).sum(axis=1)[self._in]
            for x in (hours.water_mm - hours.melt_mm, hours.melt_mm, hours.is_gap)
        )
        return self.sums(rain), self.sums(melt), self.means(gap) / _DAY_H


@dataclass(frozen=True)
class _Found:
    """What is found for some homes; the last three for the median home alone."""

    months: PumpMonths
    outcomes: StormOutcomes
    days: PumpMonths
    lacking_share: FloatArray
    lot_mm: FloatArray


def replay(
    home: Home,
    rain: DesignRain | None = None,
    settings: ReplaySettings | None = None,
    *,
    progress: Callable[[str, float], None] | None = None,
) -> Replay:
    """Run the years of the rain record of a home through its ground, its pit and its pump.

    The first year runs twice: what the ground held when the record began is not known. Gaps count
    as dry and are told by month.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain, optional
        Rain of its place, with a record and temperatures; read from the files that the home names
        where it is left out.
    settings : ReplaySettings, optional
        How to run it.
    progress : callable, optional
        Told in words what is being done and the share that is done [-].

    Returns
    -------
    Replay
        Months, days and storms.

    Raises
    ------
    InputError
        Where there is no record or no temperatures, the record is too short, or the home has no
        pump.
    NoPitError
        Where the home has no pit.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    if home.lacks(Component.PIT):
        raise NoPitError
    settings = settings or ReplaySettings()
    tell = progress or (lambda words, share: None)
    rain = rain or design_rain(home)
    hours = _hours_of(home, rain)
    before, _ = ground_before(home, rain.weather, rain.levels)
    state = system_state(home)
    middle = median_home(home, before)
    if not middle.has_pump:
        raise InputError(
            "pump", "the home has none, so there is nothing to replay", "use riskkit assess"
        )
    pit_of(middle, strict=True)
    whole = hours.led_in(_YEAR_H)
    storms = storms_of(whole, settings.least_mm, _YEAR_H)
    spans = _Spans(hours)
    tell("running the median home", 0.0)
    median = _run(middle, whole, storms, state.clock, spans)
    homes = draw_homes(home, settings.n_draws, settings.seed, before)
    blocks = [
        homes.picked(range(i, min(i + _BLOCK, homes.n_draws)))
        for i in range(0, homes.n_draws, _BLOCK)
    ]
    found = []
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        jobs = [pool.submit(_run, b, whole, storms, state.clock, spans) for b in blocks]
        try:
            for i, job in enumerate(jobs):
                found.append(job.result())
                tell(f"running {settings.n_draws} variants", (i + 1) / len(jobs))
        except BaseException:
            for job in jobs:
                job.cancel()
            raise
    rain_mm, melt_mm, missing = spans.weather()
    return Replay(
        home=home, settings=settings, clock=state.clock,
        record_name=rain.record.name if rain.record is not None else "",
        month=spans.month, rain_mm=rain_mm, melt_mm=melt_mm, missing_share=missing,
        wetness=spans.means(median.lacking_share), lot_mm=spans.means(median.lot_mm),
        months=PumpMonths(**_joined([f.months for f in found])),
        day=spans.day, median_days=median.days, storms=storms,
        outcomes=StormOutcomes(**_joined([f.outcomes for f in found])),
        median_outcomes=median.outcomes,
    )  # fmt: skip


def _hours_of(home: Home, rain: DesignRain) -> HourlyWeather:
    """Join rain and temperatures by the hour, or say what is missing."""
    if rain.record is None:
        raise InputError(
            "rain", "there is no rain record, and a table of depths has no days to replay",
            'name a record under [rain] in the home file, record = "rain.csv"',
        )  # fmt: skip
    if rain.weather is None:
        raise InputError(
            "rain", "there are no temperatures, and without them no snow and no dry summers",
            'name daily temperatures under [rain] in the home file, temperature = "days.csv"',
        )  # fmt: skip
    latitude = home.place.latitude
    if latitude is None:
        raise InputError(
            "place", "the latitude is missing, which tells how much grass drinks",
            "write latitude = 42.0 under [place] in the home file",
        )  # fmt: skip
    hours = hourly_weather(rain.record, rain.weather, latitude)
    if hours.water_mm.size < _LEAST_YEARS * _YEAR_H:
        raise InputError(
            rain.record.name or "rain record",
            f"rain and temperatures have {hours.water_mm.size / _YEAR_H:.1f} years in common",
            f"give at least {_LEAST_YEARS} years",
        )
    return hours


def _run(
    homes: HomeSamples,
    hours: HourlyWeather,
    storms: tuple[RecordStorm, ...],
    clock: Clock,
    spans: _Spans,
) -> _Found:
    """Run some homes through the hours, and through each storm from the state of its hour."""
    pit, ground = pit_of(homes), ground_of(homes)
    starts = np.array([storm.peak - BEFORE_H for storm in storms], dtype=np.int64)
    daily = np.arange(0, hours.water_mm.size, _DAY_H) if homes.n_draws == 1 else starts[:0]
    marks = np.concatenate([starts, daily])
    order = np.argsort(marks, kind="stable")
    run = run_hours(homes, ground, hours.water_mm, hours.demand_mm, marks[order])
    place = np.argsort(order, kind="stable")
    flow = run.free.to_pit_m3_s
    pumped = run_pit(pit, PitInflow(flow, 3600.0), account_steps=_DAY_H, workers=1).accounts
    if pumped is None:
        raise TypeError("run_pit kept no accounts")
    capacity = np.take_along_axis(pit.pump_m3_s, pit.on_index[:, None], axis=1)
    by_day = flow.reshape(homes.n_draws, -1, _DAY_H)
    days = PumpMonths(
        starts=spans.days_in(pumped.starts),
        run_h=spans.days_in(pumped.run_time_s) / 3600.0,
        pumped_m3=spans.days_in(pumped.pumped_m3),
        inflow_m3=spans.days_in(by_day.sum(axis=2) * 3600.0),
        peak_use=spans.days_in(by_day.max(axis=2) / np.maximum(capacity, 1e-12)),
    )
    months = PumpMonths(
        **{f.name: spans.sums(getattr(days, f.name)) for f in fields(days) if f.name != "peak_use"},
        peak_use=spans.most(days.peak_use),
    )
    begin = run.at.moments(place[: starts.size])
    outcomes = follow_storms(homes, pit, ground, hours, storms, begin, clock)
    lacking = lot = np.zeros(0)
    if daily.size:
        at = place[starts.size :]
        available = root_zone_of(homes).lot_available_m[0]
        lacking = spans.days_in(1.0 - run.at.wall[0, at, 2] / available)
        area = float((homes["perimeter_m"] * homes["half_distance_m"])[0])
        lot = spans.days_in(run.at.lot_m3[0, at].sum(axis=1) / area * 1e3)
    return _Found(months, outcomes, days, lacking, lot)


def _joined(parts: list[Any]) -> dict[str, FloatArray]:
    """Join arrays of blocks of draws, field by field."""
    return {
        f.name: np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(parts[0])
    }
