"""The storms of a place through one home: when water reaches the floor with the pump dead or not.

All draws of the home go through the design storms, and through commoner ones, for a pump that has
failed is found out by an ordinary storm, not by that of ten years.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskkit.antecedent.ice import icy_share
from riskkit.ensemble.shared import Seeds, seeds_of
from riskkit.errors import collect_warnings
from riskkit.evidence.overlay import home_as_seen
from riskkit.failures.at_place import AtPlace, at_place
from riskkit.failures.circumstances import in_service
from riskkit.failures.second_pump import SecondPumpRuns, second_runs
from riskkit.home.backup import backup_of
from riskkit.home.home import Home
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.part_states import part_states
from riskkit.records import (
    FloatArray,
    IntArray,
    PitModel,
    freeze_arrays,
    need,
)
from riskkit.reliability.annual import storm_rate_per_yr
from riskkit.risk.clock import Clock
from riskkit.risk.critical import StormToRun, day_of
from riskkit.risk.design_rain import DesignRain
from riskkit.risk.runs import StormRuns, run_storms, with_worst
from riskkit.risk.storm_water import StormWater
from riskkit.risk.time_to_flood import dry_marks_s
from riskkit.simulate import steady_inflow_of
from riskkit.storm.patterns import Pattern
from riskkit.threads import at_once

__all__ = [
    "HomeStorms",
    "home_storms",
    "second_of",
    "storms_from_runs",
    "water_key",
    "with_second",
]

_WEEK_S = 7 * 86400.0


@dataclass(frozen=True)
class HomeStorms:
    """What storms and dry weather do to each draw of a home; infinite for never.

    Figures never get better from a storm to a rarer one.

    Parameters
    ----------
    rate_per_yr : (n_storms,) array
        How many storms of each size or greater come in a year, falling [1/yr].
    overtopped : (n_storms, n_draws) array
        1 where the pit overflows with the pump working, else 0 [-].
    at_joint : (n_storms, n_draws) array
        1 where it does not, but water comes in at the joint of wall and floor [-].
    dead_to_floor_s, dead_to_alarm_s : (n_storms, n_draws) arrays
        With the pump dead, from the beginning of the storm to floor and to alarm [s].
    dead_warning_s : (n_storms, n_draws) array
        With the pump dead, from the alarm to the floor; 0 where the floor is wet first [s].
    stop_to_floor_s, stop_warning_s : (n_storms, n_draws) arrays
        The pump stopping at the worst moment, from the stop and from the alarm to the floor [s].
    dry_to_floor_s, dry_to_alarm_s : (n_draws,) arrays
        With the pump dead in dry weather [s].
    has_pump : bool
        Whether there is a pump; without one only what is said of a dead one counts.
    second : SecondPumpRuns, optional
        What a second pump does; None where there is none.
    depth_m : (n_storms, n_draws) array, optional
        Depth on the floor 12 hours after the stop that makes it deepest; None where not asked [m].
    alarms : (n_storms, n_draws) array, optional
        1 where the water reaches the alarm with the pump working, else 0; None where nobody asked
        [-].
    highest_m : (n_storms, n_draws) array, optional
        Highest level in the pit with the pump working, relative to the floor [m].
    icy_share : float, optional
        Share of the storms that come while water in the end of the outlet is frozen; None where no
        temperatures of the place are known [-].
    """

    rate_per_yr: FloatArray
    overtopped: FloatArray
    at_joint: FloatArray
    dead_to_floor_s: FloatArray
    dead_to_alarm_s: FloatArray
    dead_warning_s: FloatArray
    stop_to_floor_s: FloatArray
    stop_warning_s: FloatArray
    dry_to_floor_s: FloatArray
    dry_to_alarm_s: FloatArray
    has_pump: bool = True
    second: SecondPumpRuns | None = None
    depth_m: FloatArray | None = None
    highest_m: FloatArray | None = None
    alarms: FloatArray | None = None
    icy_share: float | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)
        rate = self.rate_per_yr
        need(bool(np.all(np.diff(rate) < 0)), "storms", "their rates do not fall")
        shape = (rate.size, self.dry_to_floor_s.size)
        once = bool(np.all(self.overtopped + self.at_joint <= 1))
        need(once, "storms", "one overflows and comes in at the joint")
        need(self.overtopped.shape == shape, "storms", f"they are not {shape[0]} by {shape[1]}")

    @property
    def n_draws(self) -> int:
        """How many draws [-]."""
        return int(self.dry_to_floor_s.size)

    @property
    def dry_warning_s(self) -> FloatArray:
        """From the alarm to the floor in dry weather; 0 where the floor is wet first [s]."""
        return warning_s(self.dry_to_alarm_s, self.dry_to_floor_s)


def warning_s(alarm_s: FloatArray, floor_s: FloatArray) -> FloatArray:
    """Time from the alarm to the floor; 0 where the floor is wet first, infinite for never.

    Parameters
    ----------
    alarm_s, floor_s : (n_draws,) arrays
        From one moment on [s].

    Returns
    -------
    (n_draws,) array
        Time [s].

    References
    ----------
    arithmetic : difference
    """
    ever = np.isfinite(floor_s)
    first = np.where(ever, np.minimum(alarm_s, floor_s), 0.0)
    return np.asarray(np.where(ever, floor_s - first, np.inf))


def home_storms(
    home: Home,
    rain: DesignRain,
    n_draws: int,
    seed: int | Seeds,
    *,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    step_s: float = 300.0,
    with_depth: bool = False,
    known: StormWater | None = None,
    only: IntArray | None = None,
    place: AtPlace | None = None,
    progress: Callable[[str], None] | None = None,
) -> HomeStorms:
    """Run the storms of a place through all draws of a home.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain
        Rain of its place.
    n_draws : int
        Draws of the home, a power of two [-].
    seed : int or Seeds
        Of the draws [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Time step [s].
    with_depth : bool
        Whether the depth on the floor is looked for, in the storms of a day.
    known : StormWater, optional
        Water of these storms that was worked out for the home with other parts.
    only : array of int, optional
        Which of the draws are run, counted from 0; all when left out [-].
    place : AtPlace, optional
        What `at_place` returns for the same home, where it is known already.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    HomeStorms
        A row for each storm, the commonest first.

    Raises
    ------
    InputError
        Where the table of depths holds no storm up to a hundred years, or the draws are no power
        of two.
    NoPitError
        Where the home is said to be without a pit.

    References
    ----------
    judgement : which storms are run
    """
    tell, known = progress or (lambda _: None), known or StormWater()
    if place is None:
        place = at_place(home, rain, n_draws, seed, pattern=pattern, step_s=step_s, only=only)
    homes, ground, pit = place.homes, place.ground, place.pit
    with collect_warnings():

        def run(alike: tuple[StormToRun, ...]) -> StormRuns:
            return run_storms(
                homes, pit, alike, ground, Clock.STOP,
                with_depth=False, least_only=True, known=known,
            )  # fmt: skip

        runs, each = [], at_once(run, place.groups, homes.n_draws)
        for alike in place.groups:
            tell(f"running the storms of {alike[0].duration_h:g} h")
            runs.append(next(each))
        dry_alarm, dry_floor = dry_marks_s(pit, ground)
        storms = storms_from_runs(
            storm_rate_per_yr(place.periods_yr), runs, dry_alarm, dry_floor, has_pump=pit.has_pump
        )
        if with_depth:
            tell("looking for the depth on the floor")
            storms = replace(storms, depth_m=_depth_m(place, pit, known))
        storms = replace(
            storms, icy_share=icy_share(rain.weather, float(np.median(homes["pipe_bore_m"])))
        )
        return second_of(home, storms, place, seed, known)


def _depth_m(place: AtPlace, pit: PitModel, known: StormWater) -> FloatArray:
    """Depth of the water on the floor in each storm, never less in a rarer one."""
    hours = [group[0].duration_h for group in place.groups]
    alike = place.groups[hours.index(day_of(hours))]
    run = run_storms(place.homes, pit, alike, place.ground, Clock.STOP, known=known)
    return np.asarray(np.maximum.accumulate(run.depth_m[:, :, -1], axis=0))


def with_second(
    home: Home,
    storms: HomeStorms,
    rain: DesignRain,
    seed: int | Seeds,
    *,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    step_s: float = 300.0,
    known: StormWater | None = None,
    only: tuple[int, IntArray] | None = None,
) -> HomeStorms:
    """Return the storms of a home with its second pump, where the rest of the home is as it was.

    Parameters
    ----------
    home : Home
        The home with a second pump, or without one.
    storms : HomeStorms
        Its storms, run for the same home whatever its second pump.
    rain : DesignRain
        Rain of its place.
    seed : int or Seeds
        Of the draws [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Time step [s].
    known : StormWater, optional
        Water of these storms that was worked out before.
    only : int and array of int, optional
        How many draws the storms are of, and which of them were run; all when left out [-].

    Returns
    -------
    HomeStorms
        With what the second pump does in them.

    References
    ----------
    judgement : which storms are run
    """
    if not storms.has_pump or backup_of(home).runs_on is None:
        return replace(storms, second=None)
    n_draws, picked = (storms.n_draws, None) if only is None else only
    place = at_place(home, rain, n_draws, seed, pattern=pattern, step_s=step_s, only=picked)
    with collect_warnings():
        return second_of(home, storms, place, seed, known)


def water_key(home: Home) -> str:
    """Return a text that is the same for homes with the same water and the same first pump.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    str
        What its file tells of them.
    """
    told = in_service(home_as_seen(home)).model_dump(
        exclude_defaults=True, exclude={"visit", "name", "note"}
    )
    for key in (*backup_quantities(), *(set(backup_choices()) - set(part_states())), "place.area"):
        section, name = key.split(".")
        if section in told:
            told[section] = {k: v for k, v in told[section].items() if k != name}
    told.pop("costs", None)
    return repr(sorted((section, repr(entries)) for section, entries in told.items() if entries))


def second_of(
    home: Home, storms: HomeStorms, place: AtPlace, seed: int | Seeds, known: StormWater | None
) -> HomeStorms:
    """Return storms with what the second pump of the home does in them, where it has one.

    Parameters
    ----------
    home : Home
        The home.
    storms : HomeStorms
        Its storms.
    place : AtPlace
        Its draws, and the rain of those storms.
    seed : int or Seeds
        Of the draws [-].
    known : StormWater or None
        Water of these storms that was worked out before.

    Returns
    -------
    HomeStorms
        The same without a second pump.
    """
    backup = backup_of(home)
    if not storms.has_pump or backup.runs_on is None:
        return storms
    drain_m = -place.homes["drain_depth_m"]
    inflow = steady_inflow_of(place.homes, drain_m[:, None])[:, 0]
    second = second_runs(
        home, backup, place.homes, place.ground, place.groups, inflow, seeds_of(seed).own,
        known,
    )  # fmt: skip
    return replace(storms, second=second)


def storms_from_runs(
    rate_per_yr: FloatArray,
    runs: Sequence[StormRuns],
    dry_to_alarm_s: FloatArray,
    dry_to_floor_s: FloatArray,
    *,
    has_pump: bool = True,
) -> HomeStorms:
    """Let each draw count with the duration that is worst for it, and never get better when rarer.

    With a pump that was dead before, the alarm is that of the storm with the least time to the
    floor.

    Parameters
    ----------
    rate_per_yr : (n_storms,) array
        Storms a year of each size or greater, falling [1/yr].
    runs : sequence of StormRuns
        One for each duration, by the stop of the pump; their rows are those storms.
    dry_to_alarm_s, dry_to_floor_s : (n_draws,) arrays
        With the pump dead in dry weather [s].
    has_pump : bool
        Whether there is a pump.

    Returns
    -------
    HomeStorms
        A row for each storm.

    References
    ----------
    judgement : the worst duration of each draw
    """

    def within_week(time_s: FloatArray) -> FloatArray:
        return np.where(time_s > _WEEK_S, np.inf, time_s)

    def least(times: list[FloatArray]) -> FloatArray:
        worst = np.minimum.reduce([within_week(each) for each in times])
        return np.asarray(np.minimum.accumulate(worst, axis=0))

    over, joint, alarms = (
        np.maximum.accumulate(np.maximum.reduce([getattr(run, name) for run in runs]), axis=0)
        * has_pump
        for name in ("floods", "joint_wet", "alarms")
    )
    from_rain = [within_week(run.dead_from_rain_s) for run in runs]
    dead_alarm = [within_week(run.dead_to_alarm_s) for run in runs]
    return HomeStorms(
        rate_per_yr=rate_per_yr,
        overtopped=over,
        at_joint=joint * (1 - over),
        dead_to_floor_s=least(from_rain),
        dead_to_alarm_s=with_worst(from_rain, dead_alarm, dead_alarm),
        dead_warning_s=least([run.dead_alarm_to_floor_s for run in runs]),
        stop_to_floor_s=least([run.worst_s for run in runs]),
        stop_warning_s=least([warning_s(run.to_alarm_s, run.worst_s) for run in runs]),
        dry_to_floor_s=dry_to_floor_s,
        dry_to_alarm_s=dry_to_alarm_s,
        has_pump=has_pump,
        alarms=alarms,
        highest_m=np.maximum.accumulate(
            np.maximum.reduce([run.highest_level_m for run in runs]), axis=0
        ),
    )
