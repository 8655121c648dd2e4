"""The one-call answer for one home and its rain: ``assess(site, design_rain(site, folder))``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

import riskkit
from riskkit.errors import InputError, collect_warnings
from riskkit.homes import Homes
from riskkit.pit.balance import dry_time_to_flood, run_pit
from riskkit.pit.geometry import below_minimum_size
from riskkit.records import DepthDurationFrequency, PitModel
from riskkit.risk.clock import Clock, dry_start_m, storm_start_m
from riskkit.risk.conflicts import ground_water_conflict
from riskkit.risk.critical import (
    CriticalStorm,
    critical_storms,
    known_storms,
    moments_of,
    padded_rain_mm,
    wet_moments,
)
from riskkit.risk.days import DailyWeather
from riskkit.risk.draws import Assumption, assumptions, draw_homes, middle_home
from riskkit.risk.failure import (
    HOURS_AFTER,
    FailureSummary,
    summarise_failure,
    within_a_week_s,
)
from riskkit.risk.groundwater import GroundBefore, ground_before
from riskkit.risk.levels import WaterLevels
from riskkit.risk.outcome import FloorDepth, Outcome, floor_depth, outcome
from riskkit.risk.place import DesignRain, RecordDoubts, design_rain
from riskkit.risk.record_doubts import doubt_lines
from riskkit.risk.state import SystemState, system_state
from riskkit.risk.trace import Trace, traces_of
from riskkit.simulate import deep_ground_factor_of, inflow_of, pit_of
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
_FAR_MORE = 2.0  # times the ground water that is counted, from which it is worth a word
_MOST_DRAWS = 65536


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
        n = self.n_draws
        if not _FEW <= n <= _MOST_DRAWS or n & (n - 1):
            raise InputError("draws", f"{n} is not a power of two from 16 to 65536", "such as 512")
        if self.headline_yr not in self.return_periods_yr:
            raise InputError(
                "headline", f"{self.headline_yr:g} years is not one of the storms looked at"
            )


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
        Share of the draws in which the pit does not overflow with the pump working [-].
    alarm_share : float
        Share of the draws in which the alarm sounds with the pump working [-].
    highest_level_m : Outcome
        Highest level with the pump working, relative to the floor [m].
    starts_per_hour : Outcome
        Most pump starts in an hour [1/h].
    worst_s : Outcome
        To the floor, by the clock of `Assessment.state`, the pump stopping at the worst moment [s].
    typical_s : Outcome
        The same, median over the wet part of the storm [s].
    depth_after_m : dict of float to FloorDepth
        Depth on the floor so many hours after that clock starts at the worst moment [m].
    trace : Trace
        The middle home through time: the same home in every storm.
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
    depth_after_m: dict[float, FloorDepth]
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
        To the floor in dry weather, by the same clock [s].
    dry_inflow_m3_s : Outcome
        Ground water at the level where the pump starts [m3/s].
    assumptions : tuple of Assumption
        What was taken for every quantity, and why.
    warnings : tuple of str
        What the reader should know of the numbers, one sentence each.
    version : str
        Of riskkit.
    weather : DailyWeather, optional
        Days of the place, where temperatures were given.
    levels : WaterLevels, optional
        Measured levels of the water table, where they were given.
    before : GroundBefore
        Wetness and water table before the big storms of the record, where they were used.
    state : SystemState
        What is out of order or missing; it says from when the time to the floor is counted.
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
    weather: DailyWeather | None = None
    levels: WaterLevels | None = None
    before: GroundBefore = field(default_factory=GroundBefore)
    state: SystemState = field(default_factory=SystemState)

    @property
    def headline_storm(self) -> StormAnswer:
        """The storm of the first sentence."""
        wanted = self.settings.headline_yr
        return next(s for s in self.storms if s.return_period_yr == wanted)

    @property
    def home(self) -> Homes:
        """The home that every picture shows: each quantity as known, or at its middle."""
        return middle_home(self.site, self.before)


def assess(
    site: Site,
    rain: DesignRain | DepthDurationFrequency,
    settings: Settings | None = None,
    *,
    progress: Callable[[str], None] | None = None,
) -> Assessment:
    """Answer for one home: does it carry the storms, and how long if the pump stops.

    Parameters
    ----------
    site : Site
        The home.
    rain : DesignRain or DepthDurationFrequency
        Rain of its place, see `design_rain`; or only its depths, in partial-duration terms.
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
    place = rain if isinstance(rain, DesignRain) else DesignRain(rain)
    rain = place.used
    settings = _within(settings, rain)
    with collect_warnings() as caught:
        tell("drawing homes")
        state = system_state(site)
        before, told = ground_before(site, place.weather, place.levels)
        middle = middle_home(site, before)
        pit_of(middle, strict=True)  # refuses a pump that cannot lift
        homes = draw_homes(site, settings.n_draws, settings.seed, before)
        pit = pit_of(homes)
        storms = _storms(site, before, rain, settings, tell)
        tell("filling the pits")
        found = {}
        for alike in _alike(storms):
            for answer in _storm_answers(homes, pit, middle, alike, settings, state.clock, tell):
                found[answer.return_period_yr] = answer
        answers = tuple(found[storm.return_period_yr] for storm in storms)
    without = _without_value(site, place, settings, tell)
    headline_s = found[settings.headline_yr].worst_s
    said = doubt_lines(place.doubts, headline_s, None if without is None else without.worst_s)
    conflict = ground_water_conflict(site, before)
    about = (*_about_pit(site, middle), *_about_ground(middle), *([conflict] if conflict else ()))
    notes = dict.fromkeys([*said, *rain.notes, *told, *caught, *about])
    on_seepage = np.take_along_axis(pit.seepage_m3_s, pit.on_index[:, None], axis=1)[:, 0]
    return Assessment(
        site=site,
        settings=settings,
        rain=rain,
        storms=answers,
        dry_s=outcome(within_a_week_s(dry_time_to_flood(pit, dry_start_m(pit, state.clock)))),
        dry_inflow_m3_s=outcome(on_seepage),
        assumptions=assumptions(site, before),
        warnings=tuple(notes),
        weather=place.weather,
        levels=place.levels,
        before=before,
        state=state,
    )


def _without_value(
    site: Site, place: DesignRain, settings: Settings, tell: Callable[[str], None]
) -> StormAnswer | None:
    """Answer for the headline storm without a single value that decides the depths."""
    if place.doubts.without is None:
        return None
    tell("answering without the value that decides")
    others = replace(place, used=place.doubts.without, doubts=RecordDoubts())
    alone = replace(settings, return_periods_yr=(settings.headline_yr,), durations_h=None)
    return assess(site, others, alone, progress=tell).headline_storm


def _within(settings: Settings, rain: DepthDurationFrequency) -> Settings:
    """Look only at the storms that the table of depths holds."""
    low, high = rain.return_period_yr[0], rain.return_period_yr[-1]
    held = tuple(p for p in settings.return_periods_yr if low - 1e-9 <= p <= high + 1e-9)
    if settings.headline_yr not in held:
        raise InputError(
            "rain table",
            f"it holds storms of {low:g} to {high:g} years, not of {settings.headline_yr:g} years",
            "ask for another storm in the first sentence, with --storm on the command line",
        )
    if held == settings.return_periods_yr:
        return settings
    durations = settings.durations_h
    if durations is not None:
        pairs = zip(settings.return_periods_yr, durations, strict=True)
        durations = tuple(d for p, d in pairs if p in held)
    return replace(settings, return_periods_yr=held, durations_h=durations)


def _about_pit(site: Site, middle: Homes) -> list[str]:
    """Remark on a pit that is known to be smaller than a model code allows."""
    known = [site.quantity(key) for key in ("pit.diameter", "pit.depth")]
    if not all(known) or not below_minimum_size(middle["pit_diameter_m"], middle["pit_depth_m"])[0]:
        return []
    return ["The pit is smaller than the 18 in by 24 in that a model code asks for; ask locally."]


def _about_ground(middle: Homes) -> list[str]:
    """Remark on ground water that may come from below the drain, which is not reckoned with."""
    factor = float(deep_ground_factor_of(middle)[0])
    if factor < _FAR_MORE:
        return []
    return [
        "Ground water is counted from the foot of the drain up; where the ground is as permeable "
        f"for 10 ft (3 m) below it, about {factor:.0f} times as much may come (Hooghoudt). An "
        "inflow measured in dry weather settles it."
    ]


def _storms(
    site: Site,
    before: GroundBefore,
    rain: DepthDurationFrequency,
    settings: Settings,
    tell: Callable[[str], None],
) -> tuple[CriticalStorm, ...]:
    periods, pattern, step_s = settings.return_periods_yr, settings.pattern, settings.step_s
    if settings.durations_h is not None:
        return known_storms(rain, periods, settings.durations_h, pattern, step_s)
    tell("searching the critical storms")
    few = draw_homes(site, min(_FEW, settings.n_draws), settings.seed, before)
    return critical_storms(few, pit_of(few), rain, periods, pattern, step_s, tell)


def _alike(storms: tuple[CriticalStorm, ...]) -> list[tuple[CriticalStorm, ...]]:
    """Storms of one length together: what is said of a storm never hangs on a longer one."""
    lengths = sorted({storm.duration_h for storm in storms})
    return [tuple(s for s in storms if s.duration_h == length) for length in lengths]


def _storm_answers(
    homes: Homes,
    pit: PitModel,
    middle: Homes,
    storms: tuple[CriticalStorm, ...],
    settings: Settings,
    clock: Clock,
    tell: Callable[[str], None],
) -> tuple[StormAnswer, ...]:
    """Run all draws through storms of one length at once and summarise each storm."""
    n, step_s = homes.n_draws, settings.step_s
    rain_mm = padded_rain_mm([storm.rain for storm in storms], step_s)
    factor = np.exp(np.concatenate([storm.log_sd * homes.rain_score for storm in storms]))
    pits = pit.repeated(len(storms))
    inflow = inflow_of(homes.repeated(len(storms)), np.repeat(rain_mm, n, axis=0), step_s, factor)
    tell("running the pumps")
    run = run_pit(pits, inflow, storm_start_m(pits))
    tell("stopping the pumps")
    moments = moments_of(rain_mm, step_s)
    wet = np.repeat(wet_moments(rain_mm, step_s, moments), n, axis=0)
    failed = summarise_failure(pits, inflow, moments, wet, clock)
    at_on = np.take_along_axis(pits.seepage_m3_s, pits.on_index[:, None], axis=1)[:, 0]
    capacity = np.take_along_axis(pits.pump_m3_s, pits.on_index[:, None], axis=1)[:, 0]
    peak = inflow.storm_m3_s.max(axis=1) + at_on
    use = np.where(capacity > 0, peak / np.where(capacity > 0, capacity, 1.0), np.inf)
    blocks = [slice(i * n, (i + 1) * n) for i in range(len(storms))]
    traces = traces_of(middle, rain_mm, step_s, clock)
    return tuple(
        StormAnswer(
            return_period_yr=storm.return_period_yr,
            duration_h=storm.duration_h,
            depth_mm=float(storm.rain.depth_mm.sum()),
            peak_inflow_m3_s=outcome(peak[block]),
            peak_use=outcome(use[block]),
            floor_dry_share=float(np.isinf(run.flood_s[block]).mean()),
            alarm_share=float(np.isfinite(run.alarm_s[block]).mean()),
            highest_level_m=outcome(run.highest_level_m[block]),
            starts_per_hour=outcome(run.starts_per_hour[block]),
            worst_s=outcome(failed.worst_s[block]),
            typical_s=outcome(failed.typical_s[block]),
            depth_after_m=_depths(failed, block),
            trace=trace,
        )
        for storm, block, trace in zip(storms, blocks, traces, strict=True)
    )


def _depths(failed: FailureSummary, block: slice) -> dict[float, FloorDepth]:
    return {hour: floor_depth(failed.depth_m[block, k]) for k, hour in enumerate(HOURS_AFTER)}
