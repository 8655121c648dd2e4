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
from riskkit.antecedent.water_table import antecedent_ground
from riskkit.ensemble.draws import median_home
from riskkit.errors import InputError, NoPitError, need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import past_of
from riskkit.evidence.posterior import weighed_homes
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.quantities.components import Component
from riskkit.records import FloatArray, IntArray, PitInflow, RainRecord
from riskkit.records.arguments import need_if_given
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.risk.system_state import system_state
from riskkit.simulate import ground_of, pit_of
from riskkit.simulate.continuous import root_zone_of, run_hours
from riskkit.years.records import PumpMonths, Replay, ReplaySettings
from riskkit.years.storms import (
    BEFORE_H,
    EARLY_H,
    NEAR_H,
    RecordStorm,
    StormOutcomes,
    follow_storms,
    storms_of,
)

__all__ = ["replay", "replayed_months"]

_YEAR_H, _DAY_H = 8760, 24
_LEAD_H = 2 * _YEAR_H  # thrown away: some ground remembers for more than a year
_BLOCK = 8  # homes whose hours are in memory at once, for each thread
_LEAST_YEARS = 2
_EVEN_DRAWS = 16  # that are run with even hours too, to see what breaking down does


class _Spans:
    """Days and whole months of the hours of a place, behind first years that are thrown away."""

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
        """Take the days of the whole months, of an account that begins with the first years."""
        return np.asarray(by_day[..., _LEAD_H // _DAY_H :][..., self._in])

    def sums(self, by_day: FloatArray) -> FloatArray:
        """Add days of the whole months up to months."""
        return np.asarray(np.add.reduceat(by_day, self.begins, axis=-1))

    def most(self, by_day: FloatArray) -> FloatArray:
        """Take the largest of the days of each month."""
        return np.asarray(np.maximum.reduceat(by_day, self.begins, axis=-1))

    def weather(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return rain and melt of each day [mm], and the share of its hours that are missing."""
        hours = self.hours
        rain, melt, gap = (
            x.reshape(-1, _DAY_H).sum(axis=1)[self._in]
            for x in (hours.water_mm - hours.melt_mm, hours.melt_mm, hours.is_gap)
        )
        return rain, melt, gap / _DAY_H


@dataclass(frozen=True)
class _Found:
    """What is found for some homes; days and the rest for the median home alone."""

    months: PumpMonths
    outcomes: StormOutcomes
    even: StormOutcomes | None
    days: PumpMonths
    wetness: FloatArray
    lot_mm: FloatArray


def replay(
    home: Home,
    rain: DesignRain | RainRecord | None = None,
    settings: ReplaySettings | None = None,
    *,
    progress: Callable[[str, float], None] | None = None,
) -> Replay:
    """Run the years of the rain record of a home through its ground, its pit and its pump.

    The first two years run twice, for nobody knows what the ground held when the record began.
    Gaps count as dry and are reported by month.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain or RainRecord, optional
        Rain of its place, with temperatures: those that the home names, beside a record. Read from
        the files that the home names where it is left out.
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
    need_if_given(settings, ReplaySettings, "settings", "write ReplaySettings(n_draws=64)")
    settings = settings or ReplaySettings()
    tell = progress or (lambda words, share: None)
    rain = rain_of(home, rain, 1)
    hours = _hours_of(home, rain)
    state, seen = system_state(home), home_as_seen(home)
    before, _ = antecedent_ground(seen, rain.weather, rain.levels)
    as_given = median_home(seen, before)
    if not as_given.has_pump:
        raise InputError(
            "pump",
            "the home has none, so there is nothing to replay",
            "assess it",
            argument="assess",
        )
    pit_of(as_given, strict=True)
    whole = hours.led_in(_LEAD_H)
    storms = storms_of(whole, settings.least_mm, _LEAD_H)
    spans = _Spans(hours)
    tell("running the median home", 0.0)
    past = past_of(seen, rain.record, rain.weather, rain.used)
    weighed = weighed_homes(seen, settings.n_draws, settings.seed, before, past)
    homes = weighed.homes
    median = _run(weighed.median, whole, storms, state.clock, spans)
    blocks = [
        homes.picked(range(i, min(i + _BLOCK, homes.n_draws)))
        for i in range(0, homes.n_draws, _BLOCK)
    ]
    found = []
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        jobs = [
            pool.submit(_run, b, whole, storms, state.clock, spans, even=i * _BLOCK < _EVEN_DRAWS)
            for i, b in enumerate(blocks)
        ]
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
        month=spans.month, day=spans.day, rain_mm=rain_mm, melt_mm=melt_mm, missing_share=missing,
        wetness=median.wetness, lot_mm=median.lot_mm,
        by_month=PumpMonths(**_joined([f.months for f in found])),
        median_by_day=median.days, record_storms=storms,
        outcomes=StormOutcomes(**_joined([f.outcomes for f in found])),
        median_outcomes=median.outcomes,
        even_outcomes=StormOutcomes(**_joined([f.even for f in found if f.even is not None])),
    )  # fmt: skip


def replayed_months(home: Home, rain: DesignRain) -> NDArray[np.datetime64]:
    """Return the months that a replay has, without running it.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain
        Rain of its place, with a record and temperatures.

    Returns
    -------
    (n_months,) array
        Whole months of the days that rain and temperatures share [month].

    Raises
    ------
    InputError
        Where there is no record or no temperatures, or the record is too short.
    """
    return _Spans(_hours_of(home, rain)).month


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
    *,
    even: bool = False,
) -> _Found:
    """Run some homes through the hours, and through each storm from the state of its hour."""
    pit, ground = pit_of(homes), ground_of(homes)
    peaks, n = np.array([storm.peak for storm in storms], dtype=np.int64), len(storms)
    daily = np.arange(0, hours.water_mm.size, _DAY_H) if homes.n_draws == 1 else peaks[:0]
    stated = (BEFORE_H, *EARLY_H, NEAR_H)
    marks = np.concatenate([*(peaks - hour for hour in stated), daily])
    order = np.argsort(marks, kind="stable")
    run = run_hours(
        homes, ground, hours.water_mm, hours.demand_mm, marks[order],
        thawed_share=hours.thawed_share,
    )  # fmt: skip
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
    states = tuple(run.at.moments(place[i * n : (i + 1) * n]) for i in range(len(stated)))
    outcomes = follow_storms(homes, pit, ground, hours, storms, run, states, clock)
    also = None
    if even:
        heavy = np.flatnonzero([storm.is_heavy for storm in storms])
        states = tuple(
            run.at.moments(place[i * n : (i + 1) * n][heavy]) for i in range(len(stated))
        )
        some = [storms[i] for i in heavy]
        found = follow_storms(homes, pit, ground, hours, some, run, states, clock, even=True)
        also = _with_columns(outcomes, found, heavy)
    wetness = lot = np.zeros(0)
    if daily.size:
        at = place[len(stated) * n :]
        available = root_zone_of(homes).lot_available_m[0]
        wetness = spans.days_in(1.0 - run.at.wall[0, at, 2] / available)
        area = float((homes["perimeter_m"] * homes["half_distance_m"])[0])
        lot = spans.days_in(run.at.lot_m3[0, at].sum(axis=1) / area * 1e3)
    return _Found(months, outcomes, also, days, wetness, lot)


def _with_columns(whole: StormOutcomes, some: StormOutcomes, at: IntArray) -> StormOutcomes:
    """Put the outcomes of some storms into the place of theirs among all."""
    columns = {f.name: np.array(getattr(whole, f.name)) for f in fields(whole)}
    for name, values in columns.items():
        values[:, at] = getattr(some, name)
    return StormOutcomes(**columns)


def _joined(parts: list[Any]) -> dict[str, FloatArray]:
    """Join arrays of blocks of draws, field by field."""
    return {
        f.name: np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(parts[0])
    }
