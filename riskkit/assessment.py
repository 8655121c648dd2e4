"""The one-call answer for one home and its rain.

>>> from riskkit.assessment import assess, design_rain   # doctest: +SKIP
>>> answer = assess(site, design_rain(site, folder).used)   # doctest: +SKIP
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

import riskkit
from riskkit.errors import InputError, collect_warnings
from riskkit.homes import Homes
from riskkit.pit.balance import dry_time_to_flood, level_after, run_pit
from riskkit.pit.geometry import below_minimum_size
from riskkit.rainfall.extremes import depth_duration_frequency
from riskkit.rainfall.frequency import to_partial_duration
from riskkit.rainfall.official import read_rain_table
from riskkit.rainfall.readers import read_rain
from riskkit.records import (
    DepthDurationFrequency,
    PitInflow,
    PitModel,
    RainRecord,
    Series,
)
from riskkit.risk.critical import (
    CriticalStorm,
    critical_storms,
    known_storms,
    moments_of,
    padded_rain_mm,
    wet_moments,
)
from riskkit.risk.draws import Assumption, assumptions, draw_homes, middle_home
from riskkit.risk.failure import (
    HOURS_AFTER,
    FailureSummary,
    summarise_failure,
)
from riskkit.risk.outcome import Outcome, outcome
from riskkit.risk.trace import Trace
from riskkit.simulate import inflow_of, pit_of
from riskkit.site import Site
from riskkit.storm.patterns import Pattern

__all__ = [
    "Assessment",
    "DesignRain",
    "Settings",
    "StormAnswer",
    "Trace",
    "assess",
    "design_rain",
]


_FEW = 16  # draws that search the critical storms


@dataclass(frozen=True)
class Settings:
    """How an assessment is worked out.

    Parameters
    ----------
    return_periods_yr : tuple of float
        Storms to look at [yr].
    headline_yr : float
        The storm of the first sentence, one of them [yr].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Time step [s].
    n_draws : int
        Draws of the home, a power of two [-].
    seed : int
        Of the draws and of the resampling of the record [-].
    durations_h : tuple of float, optional
        Duration of each storm where it is known, such as from an earlier answer for much the same
        home; otherwise the critical one is searched [h].
    """

    return_periods_yr: tuple[float, ...] = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
    headline_yr: float = 10.0
    pattern: Pattern = Pattern.ALTERNATING_BLOCK
    step_s: float = 300.0
    n_draws: int = 512
    seed: int = 1
    durations_h: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        if self.durations_h is not None and len(self.durations_h) != len(self.return_periods_yr):
            raise InputError("durations", "there is not one for each of the storms looked at")
        if self.n_draws < 2 or self.n_draws & (self.n_draws - 1):
            raise InputError("draws", f"{self.n_draws} is not a power of two", "for example 512")
        if self.headline_yr not in self.return_periods_yr:
            raise InputError(
                "headline", f"{self.headline_yr:g} years is not one of the storms looked at"
            )


@dataclass(frozen=True)
class DesignRain:
    """Depths of rain for a place: the table used, and the other one beside it where both exist."""

    used: DepthDurationFrequency
    beside: DepthDurationFrequency | None = None
    record: RainRecord | None = None


@dataclass(frozen=True)
class StormAnswer:
    """What one design storm means for the home.

    Parameters
    ----------
    return_period_yr : float
        Return period [yr].
    duration_h : float
        Critical duration [h].
    depth_mm : float
        Depth of rain, the middle of its spread [mm].
    peak_inflow_m3_s : Outcome
        Largest storm and ground water inflow of any step [m3/s].
    peak_use : Outcome
        That inflow against what the pump can lift at its start level [-].
    floor_dry_share : float
        Share of the draws in which the floor stays dry with the pump working [-].
    alarm_share : float
        Share of the draws in which the alarm sounds with the pump working [-].
    highest_level_m : Outcome
        Highest level with the pump working, relative to the floor [m].
    starts_per_hour : Outcome
        Most pump starts in an hour [1/h].
    worst_s : Outcome
        From the alarm to the floor, the pump stopping at the worst moment [s].
    typical_s : Outcome
        The same, median over the wet part of the storm [s].
    depth_after_m : dict of float to Outcome
        Depth on the floor so many hours after the alarm at the worst moment [m].
    trace : Trace
        The middle home through time.
    """

    return_period_yr: float
    duration_h: float
    depth_mm: float
    peak_inflow_m3_s: Outcome
    peak_use: Outcome
    floor_dry_share: float
    alarm_share: float
    highest_level_m: Outcome
    starts_per_hour: Outcome
    worst_s: Outcome
    typical_s: Outcome
    depth_after_m: dict[float, Outcome]
    trace: Trace


@dataclass(frozen=True)
class Assessment:
    """The answer for one home, with all that it rests on.

    Parameters
    ----------
    site : Site
        The home as given.
    settings : Settings
        How it was worked out.
    rain : DepthDurationFrequency
        The depths used, in partial-duration terms.
    storms : tuple of StormAnswer
        One per return period.
    dry_s : Outcome
        From the alarm to the floor in dry weather [s].
    dry_inflow_m3_s : Outcome
        Ground water at the level where the pump starts [m3/s].
    assumptions : tuple of Assumption
        What was taken for every quantity, and why.
    warnings : tuple of str
        What the reader should know of the numbers, one sentence each.
    version : str
        Of riskkit.
    """

    site: Site
    settings: Settings
    rain: DepthDurationFrequency
    storms: tuple[StormAnswer, ...]
    dry_s: Outcome
    dry_inflow_m3_s: Outcome
    assumptions: tuple[Assumption, ...]
    warnings: tuple[str, ...] = ()
    version: str = field(default=riskkit.__version__)

    @property
    def headline_storm(self) -> StormAnswer:
        """The storm of the first sentence."""
        wanted = self.settings.headline_yr
        return next(s for s in self.storms if s.return_period_yr == wanted)


def design_rain(
    site: Site,
    folder: Path,
    *,
    record: Path | None = None,
    table: Path | None = None,
    unit: str | None = None,
    seed: int = 1,
) -> DesignRain:
    """Read the rain of a home; an official table goes before the own analysis of a record.

    Parameters
    ----------
    site : Site
        The home; its file may name a record and a table.
    folder : Path
        Folder of the home file, from which these names count.
    record : Path, optional
        A rain record that goes before the one named in the home file.
    table : Path, optional
        An official table that goes before the one named in the home file.
    unit : str, optional
        Unit of the record where the file does not say.
    seed : int
        Of the resampling for the limits [-].

    Returns
    -------
    DesignRain
        The table used, and the other one beside it.

    Raises
    ------
    InputError
        Where there is neither, or a file cannot be read.
    """
    if record is None and site.rain.record is not None:
        record = folder / site.rain.record
    if table is None and site.rain.table is not None:
        table = folder / site.rain.table
    official = read_rain_table(table) if table is not None else None
    if official is not None and official.series is Series.ANNUAL_MAXIMUM:
        official = to_partial_duration(official)
    rain = read_rain(record, unit=unit) if record is not None else None
    own = depth_duration_frequency(rain, np.random.default_rng(seed)) if rain is not None else None
    if official is not None:
        return DesignRain(official, own, rain)
    if own is not None:
        return DesignRain(own, None, rain)
    raise InputError(
        "rain",
        "no rain record and no official table is given",
        'name one under [rain] in the home file, record = "rain.csv", or on the command line',
    )


def assess(
    site: Site,
    rain: DepthDurationFrequency,
    settings: Settings | None = None,
    *,
    progress: Callable[[str], None] | None = None,
) -> Assessment:
    """Answer for one home: does it carry the storms, and how long if the pump stops.

    Parameters
    ----------
    site : Site
        The home.
    rain : DepthDurationFrequency
        Depths of rain of its place, in partial-duration terms.
    settings : Settings, optional
        How to work it out.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    Assessment
        The answer.

    Raises
    ------
    InputError
        Where the rain does not cover the storms, or the home cannot be.
    """
    settings = settings or Settings()
    tell = progress or (lambda _: None)
    with collect_warnings() as caught:
        tell("drawing homes")
        middle = middle_home(site)
        homes = draw_homes(site, settings.n_draws, settings.seed)
        middle_pit, pit = pit_of(middle, strict=True), pit_of(homes)
        storms = _storms(site, rain, settings, tell)
        tell("filling the pits")
        answers = _storm_answers(homes, pit, storms, rain, settings)
        traces = _traces(middle, middle_pit, storms, settings)
    notes = dict.fromkeys([*rain.notes, *caught, *_about_pit(site, middle)])
    on_seepage = np.take_along_axis(pit.seepage_m3_s, pit.on_index[:, None], axis=1)[:, 0]
    return Assessment(
        site=site,
        settings=settings,
        rain=rain,
        storms=tuple(build(trace) for build, trace in zip(answers, traces, strict=True)),
        dry_s=outcome(dry_time_to_flood(pit)),
        dry_inflow_m3_s=outcome(on_seepage),
        assumptions=assumptions(site),
        warnings=tuple(notes),
    )


def _about_pit(site: Site, middle: Homes) -> list[str]:
    """Remark on a pit that is known to be smaller than a model code allows."""
    known = [site.quantity(key) for key in ("pit.diameter", "pit.depth")]
    if not all(known) or not below_minimum_size(middle["pit_diameter_m"], middle["pit_depth_m"])[0]:
        return []
    return ["The pit is smaller than the 18 in by 24 in that a model code asks for; ask locally."]


def _storms(
    site: Site,
    rain: DepthDurationFrequency,
    settings: Settings,
    tell: Callable[[str], None],
) -> tuple[CriticalStorm, ...]:
    periods, pattern, step_s = settings.return_periods_yr, settings.pattern, settings.step_s
    if settings.durations_h is not None:
        return known_storms(rain, periods, settings.durations_h, pattern, step_s)
    tell("searching the critical storms")
    few = draw_homes(site, min(_FEW, settings.n_draws), settings.seed)
    return critical_storms(few, pit_of(few), rain, periods, pattern, step_s)


def _storm_answers(
    homes: Homes,
    pit: PitModel,
    storms: tuple[CriticalStorm, ...],
    rain: DepthDurationFrequency,
    settings: Settings,
) -> list[Callable[[Trace], StormAnswer]]:
    """Run all draws through all storms at once and summarise each storm."""
    n, step_s = homes.n_draws, settings.step_s
    rain_mm = padded_rain_mm([storm.rain for storm in storms], step_s)
    factor = np.exp(np.concatenate([storm.log_sd * homes.rain_score for storm in storms]))
    pits = pit.repeated(len(storms))
    inflow = inflow_of(homes.repeated(len(storms)), np.repeat(rain_mm, n, axis=0), step_s, factor)
    run = run_pit(pits, inflow)
    moments = moments_of(rain_mm, step_s)
    wet = np.repeat(wet_moments(rain_mm, step_s, moments), n, axis=0)
    failed = summarise_failure(pits, inflow, moments, wet)
    at_on = np.take_along_axis(pit.seepage_m3_s, pit.on_index[:, None], axis=1)[:, 0]
    capacity = np.take_along_axis(pit.pump_m3_s, pit.on_index[:, None], axis=1)[:, 0]

    def answer(i: int) -> Callable[[Trace], StormAnswer]:
        block = slice(i * n, (i + 1) * n)
        storm = storms[i]
        peak = inflow.storm_m3_s[block].max(axis=1) + at_on
        use = peak / np.maximum(capacity, 1e-12)
        return lambda trace: StormAnswer(
            return_period_yr=storm.return_period_yr,
            duration_h=storm.duration_h,
            depth_mm=float(storm.rain.depth_mm.sum()),
            peak_inflow_m3_s=outcome(peak),
            peak_use=outcome(use),
            floor_dry_share=float(np.isinf(run.flood_s[block]).mean()),
            alarm_share=float(np.isfinite(run.alarm_s[block]).mean()),
            highest_level_m=outcome(run.highest_level_m[block]),
            starts_per_hour=outcome(run.starts_per_hour[block]),
            worst_s=outcome(failed.worst_s[block]),
            typical_s=outcome(failed.typical_s[block]),
            depth_after_m=_depths(failed, block),
            trace=trace,
        )

    return [answer(i) for i in range(len(storms))]


def _depths(failed: FailureSummary, block: slice) -> dict[float, Outcome]:
    return {hour: outcome(failed.depth_m[block, k]) for k, hour in enumerate(HOURS_AFTER)}


def _traces(
    middle: Homes, pit: PitModel, storms: tuple[CriticalStorm, ...], settings: Settings
) -> list[Trace]:
    """Follow the middle home through every storm, with the pump and without it."""
    step_s = settings.step_s
    rain_mm = padded_rain_mm([storm.rain for storm in storms], step_s)
    n_storms, n_steps = rain_mm.shape
    pits = pit.repeated(n_storms)
    inflow: PitInflow = inflow_of(middle.repeated(n_storms), rain_mm, step_s, np.ones(n_storms))
    run = run_pit(pits, inflow, keep_levels=True)
    moments = moments_of(rain_mm, step_s)
    failed = summarise_failure(pits, inflow, moments, wet_moments(rain_mm, step_s, moments))
    time_s = np.arange(n_steps, dtype=np.float64) * step_s
    after = level_after(pits, inflow, failed.worst_moment_s, time_s)
    if run.level_m is None:
        raise TypeError("run_pit kept no levels")
    on, off, alarm = (
        float(pit.level_m[0, index[0]]) for index in (pit.on_index, pit.off_index, pit.alarm_index)
    )
    traces = []
    for i in range(n_storms):
        begin = round(failed.worst_moment_s[i] / step_s)
        stopped = np.full(n_steps, np.nan)
        stopped[begin:] = after[i, : n_steps - begin]
        traces.append(
            Trace(
                time_s=time_s,
                rain_mm_h=rain_mm[i] * 3600.0 / step_s,
                inflow_m3_s=inflow.storm_m3_s[i],
                working_m=run.level_m[i, :-1],
                stopped_m=stopped,
                on_m=on,
                off_m=off,
                alarm_m=alarm,
            )
        )
    return traces
