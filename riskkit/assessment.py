"""The one-call answer for one home and its rain: ``assess(home, design_rain(home, folder))``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.levels import WaterLevels
from riskkit.antecedent.textures import soil_weights
from riskkit.antecedent.water_table import AntecedentGround, antecedent_ground
from riskkit.ensemble.draws import Assumption, median_home
from riskkit.ensemble.quantiles import Outcome, outcome
from riskkit.errors import NoPitError, collect_warnings, need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import Past, past_of
from riskkit.evidence.planning import UsefulObservation, useful_observations
from riskkit.evidence.posterior import Weighed, weighed_homes
from riskkit.evidence.remarks import observation_remarks, taken_after
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.pit.geometry import below_minimum_size
from riskkit.quantities.components import Component
from riskkit.records import DepthDurationFrequency, IntArray, PitModel, RainRecord
from riskkit.records.shown import ShownInNotebook
from riskkit.risk.clock import Clock, MainTime
from riskkit.risk.conflicts import ground_water_conflict
from riskkit.risk.critical import StormToRun, day_of, storms_to_run
from riskkit.risk.design_rain import DesignRain, RecordDoubts, design_rain, rain_of, regional_rain
from riskkit.risk.record_doubts import doubt_lines
from riskkit.risk.runs import StormRuns, pooled, run_storms
from riskkit.risk.sensitivity import Sensitivity, sensitivities
from riskkit.risk.settings import Settings, settings_within
from riskkit.risk.shown import main_time, shown_of
from riskkit.risk.storm_answer import (
    PUMP_COLUMNS,
    StormAnswer,
    short_time,
    storm_answers,
    storm_columns,
    storm_of,
)
from riskkit.risk.storm_water import StormWater
from riskkit.risk.system_state import SystemState, system_state
from riskkit.risk.time_to_flood import dry_times_s
from riskkit.risk.trace import Trace
from riskkit.simulate import Ground, PitPart, ground_of, pit_of, steady_inflow_of
from riskkit.storm.patterns import Pattern
from riskkit.threads import at_once, worked_out_once
from riskkit.version import __version__

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "Assessment",
    "DesignRain",
    "Pattern",
    "PitPart",
    "Settings",
    "StormAnswer",
    "Trace",
    "assess",
    "design_rain",
    "need_system",
    "regional_rain",
]


@dataclass(frozen=True, repr=False)
class Assessment(ShownInNotebook):
    """The answer for one home, with all that it rests on.

    Parameters
    ----------
    home : Home
        The home as given.
    settings : Settings
        How it was worked out.
    rain : DepthDurationFrequency
        The depths used, in partial-duration terms.
    storms : tuple of StormAnswer
        One per return period.
    dry_s : Outcome
        To the floor in dry weather, from the same event [s].
    dry_inflow_m3_s : Outcome
        Ground water at the level where the pump starts [m3/s].
    assumptions : tuple of Assumption
        What was taken for every quantity, and why.
    weighed : Weighed
        The draws, as the observations of the home weigh them, and what does not fit.
    warnings : tuple of str
        What the reader should know of the numbers, one sentence each.
    version : str
        Of riskkit.
    weather : DailyWeather, optional
        Days of the place, where temperatures were given.
    levels : WaterLevels, optional
        Measured levels of the water table, where they were given.
    antecedent : AntecedentGround
        Wetness and water table before the large storms of the record, where they were used.
    record : RainRecord, optional
        Rain of the place, against which what was seen on certain days is held.
    state : SystemState
        What is out of order or missing; it says from when the time to the floor is counted.
    """

    home: Home
    settings: Settings
    rain: DepthDurationFrequency
    storms: tuple[StormAnswer, ...]
    dry_s: Outcome
    dry_inflow_m3_s: Outcome
    assumptions: tuple[Assumption, ...]
    weighed: Weighed
    warnings: tuple[str, ...] = ()
    version: str = field(default=__version__)
    weather: DailyWeather | None = None
    levels: WaterLevels | None = None
    antecedent: AntecedentGround = field(default_factory=AntecedentGround)
    record: RainRecord | None = None
    state: SystemState = field(default_factory=SystemState)

    def to_frame(self) -> pd.DataFrame:
        """Return the storms as a DataFrame, a row for each.

        Returns
        -------
        pandas.DataFrame
            By ``return_period_yr`` [yr]; each column carries its unit in its name. Spreads are
            ``_low``, ``_median`` and ``_high``, the 10 %, 50 % and 90 % points. The times to the
            floor, ``worst_…_min`` and ``typical_…_min``, are those of the draws in which water
            gets there, beside the share in which it never does; ``counted_from`` says from when.
            What is said of a pump or an alarm is NaN where there is none to count on.
        """
        import pandas as pd

        frame = pd.DataFrame([storm_columns(storm) for storm in self.storms])
        frame["counted_from"] = self.state.clock.value
        if not self.state.warns:
            frame["alarm_share"] = float("nan")
        if not self.state.has(Component.PUMP):  # nothing is said of what is not there
            frame[list(PUMP_COLUMNS)] = float("nan")
        return frame.set_index("return_period_yr")

    def __repr__(self) -> str:
        storm = self.headline_storm
        found, never = storm.worst_stop.to_floor_s.if_ever, storm.worst_stop.to_floor_s.never_share
        minutes = "no water on the floor" if found is None else short_time(found.median)
        return (
            f"Assessment({self.home.name!r}, {storm.return_period_yr:g}-year storm: {minutes} from "
            f"{self.state.clock.value} to floor, never {never:.0%}; {len(self.storms)} storms, "
            f"{self.settings.n_draws} draws)"
        )

    @property
    def headline_storm(self) -> StormAnswer:
        """The storm of the first sentence."""
        return self.storm(self.settings.headline_yr)

    def storm(self, years: float) -> StormAnswer:
        """Return the answer for one storm.

        Parameters
        ----------
        years : float
            Return period of the storm [yr].

        Returns
        -------
        StormAnswer
            One of `storms`.

        Raises
        ------
        InputError
            Where there is no such storm.
        """
        return storm_of(self.storms, years)

    @property
    def median_home(self) -> HomeSamples:
        """The home that every picture draws: each quantity as known, or at its median."""
        return self.weighed.median

    def trace(self, years: float | None = None) -> pd.DataFrame:
        """Return every value between rain and floor of one home in one storm, step by step.

        The home is the one that is shown, see `StormAnswer.trace`.

        Parameters
        ----------
        years : float, optional
            Return period of the storm; that of the first sentence where it is left out [yr].

        Returns
        -------
        pandas.DataFrame
            See `riskkit.risk.trace_frame.trace_frame`.

        Raises
        ------
        InputError
            Where there is no such storm.
        """
        from riskkit.risk.trace_frame import trace_frame

        storm = self.storm(self.settings.headline_yr if years is None else years)
        about = {"home": self.home.name, "pattern": self.settings.pattern.value} | {
            name: getattr(storm, name) for name in ("return_period_yr", "duration_h", "depth_mm")
        }
        return trace_frame(self.home, storm.trace.home, storm.trace, self.assumptions, about)

    @property
    def main_time(self) -> MainTime:
        """Which time to the floor is the main one, the same in every storm."""
        return main_time(self.state, [storm.worst_stop.joint_first_share for storm in self.storms])

    def main_s(self, storm: StormAnswer) -> Outcome:
        """Return the main time to the floor of a storm.

        Parameters
        ----------
        storm : StormAnswer
            One of the storms.

        Returns
        -------
        Outcome
            Over all draws [s].
        """
        return {
            MainTime.FLOOR: storm.worst_stop.to_floor_s, MainTime.RIM: storm.worst_stop.to_rim_s,
            MainTime.DEAD: storm.dead_before.rain_to_floor_s,
        }[self.main_time]  # fmt: skip

    @property
    def pit(self) -> PitModel:
        """The pit of the home that is shown in the storm of the first sentence."""
        return self.headline_storm.trace.pit

    @property
    def homes(self) -> HomeSamples:
        """The draws that were answered for, in the order of `WorstStop.to_floor_by_draw_s`."""
        return self.weighed.homes

    @property
    def place_rain(self) -> DesignRain:
        """The rain that it rests on, for whatever else is worked out for the same place."""
        return DesignRain(self.rain, record=self.record, weather=self.weather, levels=self.levels)

    @worked_out_once  # read by several panels of a page
    def useful_observations(self) -> tuple[UsefulObservation, ...]:
        """What each observation not yet made would narrow, the best for its time first."""
        past = Past(None, self.rain)
        times_s = self.headline_storm.worst_stop.to_floor_by_draw_s
        return useful_observations(self.home, self.homes, times_s, past)

    @property
    def sensitivities(self) -> tuple[Sensitivity, ...]:
        """What is not yet measured and decides most how long it takes in the headline storm."""
        return sensitivities(
            self.homes,
            self.assumptions,
            tuple(soil_weights(self.home)),
            self.headline_storm.worst_stop.to_floor_by_draw_s,
        )


def need_system(home: Home) -> None:
    """Refuse a pit that cannot be, or a pump that cannot lift the water to its outlet.

    Parameters
    ----------
    home : Home
        The home.

    Raises
    ------
    RiskkitError
        Where they cannot be; it says why.
    """
    pit_of(median_home(home_as_seen(home)), strict=True)


def assess(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    settings: Settings | None = None,
    *,
    progress: Callable[[str], None] | None = None,
    only: IntArray | None = None,
    known: Weighed | None = None,
) -> Assessment:
    """Answer for one home: does it carry the storms, and how long if the pump stops.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        Rain of its place, see `design_rain`; or only its depths, or a record of it. Where it is
        left out, the files are read that the home names.
    settings : Settings, optional
        How to work it out.
    progress : callable, optional
        Told in words what is being done.
    only : array of int, optional
        Which of the draws are run, counted from 0, a power of two of them; the settings of the
        answer tell how many. All when left out [-].
    known : Weighed, optional
        The draws of the home before something was changed, see `weighed_homes`.

    Returns
    -------
    Assessment
        The answer.

    Raises
    ------
    InputError
        Where the rain does not cover the storms, or the home cannot be.
    NoPitError
        Where the home is said to be without a pit.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    settings = Settings() if settings is None else settings
    need_type(settings, Settings, "settings", "write Settings(n_draws=512)")
    if home.lacks(Component.PIT):
        raise NoPitError
    tell = progress or (lambda _: None)
    place = rain_of(home, rain, settings.seed)
    rain = place.used
    settings, left_out = settings_within(rain, settings)
    with collect_warnings() as caught:
        tell("drawing homes")
        state, seen = system_state(home), home_as_seen(home)
        antecedent, of_ground = antecedent_ground(seen, place.weather, place.levels)
        weighed = _drawn(seen, place, settings, antecedent, known)
        if only is not None:
            weighed = replace(weighed, homes=weighed.homes.picked(only))
        homes, median = weighed.homes, weighed.median
        pit, ground = pit_of(homes), ground_of(homes)
        storms = storms_to_run(rain, settings.return_periods_yr, settings.pattern, settings.step_s)
        found = _run_all(homes, pit, ground, storms, state.clock, tell)
        drawn = _of_a_day(storms)
        main = main_time(state, found.joint_first.mean(axis=1).tolist())
        shown = shown_of(median, homes, found, drawn, state.clock, main)
        answers = storm_answers(found, drawn, shown)
    without = _without_value(home, place, settings, tell, only, known)
    settings = replace(settings, n_draws=homes.n_draws)
    headline = next(s for s in answers if s.return_period_yr == settings.headline_yr)
    said = doubt_lines(
        place.doubts,
        headline.worst_stop.to_floor_s,
        None if without is None else without.worst_stop.to_floor_s,
    )
    conflict = ground_water_conflict(seen, antecedent)
    about = (*_about_pit(home, median), *([conflict] if conflict else ()))
    about = (*about, *observation_remarks(home, weighed))
    notes = dict.fromkeys([*left_out, *said, *rain.notes, *of_ground, *caught, *about])
    return Assessment(
        home=home,
        settings=settings,
        rain=rain,
        storms=answers,
        dry_s=outcome(dry_times_s(pit, ground, state.clock)),
        dry_inflow_m3_s=outcome(steady_inflow_of(homes, -homes["on_depth_m"][:, None])[:, 0]),
        assumptions=taken_after(seen, antecedent, homes),
        weighed=weighed,
        warnings=tuple(notes),
        weather=place.weather,
        levels=place.levels,
        antecedent=antecedent,
        record=place.record,
        state=state,
    )


def storms_with(
    answer: Assessment, home: Home, known: StormWater | None = None
) -> tuple[StormAnswer, ...]:
    """Answer the storms of a home once more with a change made, for what decides on the change.

    It takes a third of the time of `assess`: no stop that takes longer than another is followed to
    its end, and water that is the same as that of another home is not worked out again.

    Parameters
    ----------
    answer : Assessment
        The home as it is.
    home : Home
        The same with a change made.
    known : StormWater, optional
        Water of these storms that was worked out for another change.

    Returns
    -------
    tuple of StormAnswer
        One for each storm of the answer, with the figures that `assess` gives; but the typical
        time, those of rim and joint alone, and depths on the floor are not asked for, and are no
        numbers or zero.

    Raises
    ------
    InputError
        Where the home cannot be.
    """
    place, settings = answer.place_rain, answer.settings
    with collect_warnings():  # the answer has told them
        state, seen = system_state(home), home_as_seen(home)
        antecedent, _ = antecedent_ground(seen, place.weather, place.levels)
        weighed = _drawn(seen, place, settings, antecedent)
        pit, ground = pit_of(weighed.homes), ground_of(weighed.homes)
        storms = storms_to_run(
            place.used, settings.return_periods_yr, settings.pattern, settings.step_s
        )
        found = _run_all(
            weighed.homes, pit, ground, storms, state.clock, lambda _: None,
            known=known, least_only=True,
        )  # fmt: skip
        drawn, main = _of_a_day(storms), main_time(state, ())
        shown = shown_of(weighed.median, weighed.homes, found, drawn, state.clock, main)
        return storm_answers(found, drawn, shown)


def _drawn(
    seen: Home,
    place: DesignRain,
    settings: Settings,
    antecedent: AntecedentGround,
    known: Weighed | None = None,
) -> Weighed:
    """Draw a home, as visits saw it, that a pump can keep dry at all."""
    pit_of(median_home(seen, antecedent), strict=True)  # refuses a pump that cannot lift
    past = past_of(seen, place.record, place.weather, place.used)
    return weighed_homes(seen, settings.n_draws, settings.seed, antecedent, past, known)


def _without_value(
    home: Home,
    place: DesignRain,
    settings: Settings,
    tell: Callable[[str], None],
    only: IntArray | None,
    known: Weighed | None,
) -> StormAnswer | None:
    """Answer for the headline storm without a single value that decides the depths."""
    if place.doubts.without is None:
        return None
    tell("answering without the value that decides")
    others = replace(place, used=place.doubts.without, doubts=RecordDoubts())
    # with the commoner storms, for it counts with them
    up_to = tuple(p for p in settings.return_periods_yr if p <= settings.headline_yr)
    some = replace(settings, return_periods_yr=up_to)
    return assess(home, others, some, progress=tell, only=only, known=known).headline_storm


def _about_pit(home: Home, median: HomeSamples) -> list[str]:
    """Remark on a pit that is known to be smaller than a model code allows."""
    known = [home.quantity(key) for key in ("pit.diameter", "pit.depth")]
    if not all(known) or not below_minimum_size(median["pit_diameter_m"], median["pit_depth_m"])[0]:
        return []
    return ["The pit is smaller than the 18 in by 24 in that a model code asks for; ask locally."]


def _run_all(
    homes: HomeSamples,
    pit: PitModel,
    ground: Ground,
    storms: tuple[tuple[StormToRun, ...], ...],
    clock: Clock,
    tell: Callable[[str], None],
    *,
    known: StormWater | None = None,
    least_only: bool = False,
) -> StormRuns:
    """Run all draws through the storms of every duration, and take the worst of each draw."""
    day, runs = storms.index(_of_a_day(storms)), []

    def run(alike: tuple[StormToRun, ...]) -> StormRuns:
        return run_storms(
            homes, pit, alike, ground, clock,
            with_depth=alike is storms[day], least_only=least_only, known=known,
        )  # fmt: skip

    each = at_once(run, storms, homes.n_draws)
    for alike in storms:
        tell(f"running the storms of {alike[0].duration_h:g} h")
        runs.append(next(each))
    found = pooled(runs, day)
    # without a pump there is no moment to choose, and so none that is typical
    return found if pit.has_pump else replace(found, typical_s=found.worst_s)


def _of_a_day(storms: tuple[tuple[StormToRun, ...], ...]) -> tuple[StormToRun, ...]:
    """Those that are named and drawn, the same duration in every row of a table."""
    by_duration = {alike[0].duration_h: alike for alike in storms}
    return by_duration[day_of(list(by_duration))]
