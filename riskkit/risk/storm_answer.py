"""What the design storms of one return period mean for a home."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from numbers import Real

from riskkit.ensemble.frames import columns_of
from riskkit.ensemble.quantiles import FloorDepth, Outcome, floor_depth, outcome
from riskkit.errors import InputError, need_type
from riskkit.records import ByValue, FloatArray
from riskkit.risk.critical import StormToRun
from riskkit.risk.runs import StormRuns
from riskkit.risk.shown import ShownVariants
from riskkit.risk.time_to_flood import HOURS_AFTER
from riskkit.risk.trace import Trace
from riskkit.simulate import PitPart

__all__ = [
    "PUMP_COLUMNS",
    "DeadBefore",
    "PumpWorking",
    "StormAnswer",
    "WaterToPit",
    "WorstStop",
    "short_time",
    "storm_answers",
    "storm_columns",
    "storm_of",
]

PUMP_COLUMNS = (
    "peak_use_low", "peak_use_median", "peak_use_high",
    "starts_low_per_hour", "starts_median_per_hour", "starts_high_per_hour",
)  # fmt: skip
"""Columns of `storm_columns` that say something of a pump at work."""


@dataclass(frozen=True)
class WaterToPit:
    """Where the water of the pit comes from in the storm that is named, the drain flowing freely.

    Parameters
    ----------
    first_day_m3, next_days_m3 : dict of PitPart to Outcome
        In the first 24 h of the storm, and in the 48 h after them [m3].
    """

    first_day_m3: dict[PitPart, Outcome]
    next_days_m3: dict[PitPart, Outcome]


@dataclass(frozen=True, eq=False)
class PumpWorking(ByValue):
    """What the storms come to with the pump working.

    Parameters
    ----------
    peak_inflow_m3_s : Outcome
        Largest storm and ground water inflow of any step [m3/s].
    peak_use : Outcome
        That inflow against what the pump can lift at its start level [-].
    peak_use_by_draw : (n_draws,) array
        The same draw by draw [-].
    floor_dry_share : float
        Share of the draws in which the pit does not overflow [-].
    alarm_share : float
        Share of the draws in which the alarm sounds [-].
    joint_share : float
        Share of the draws in which water comes in at the joint of wall and floor [-].
    highest_level_m : Outcome
        Highest level, relative to the floor [m].
    starts_per_hour : Outcome
        Most pump starts in an hour [1/h].
    """

    peak_inflow_m3_s: Outcome
    peak_use: Outcome
    peak_use_by_draw: FloatArray = field(repr=False)
    floor_dry_share: float
    alarm_share: float
    joint_share: float
    highest_level_m: Outcome
    starts_per_hour: Outcome


@dataclass(frozen=True, eq=False)
class WorstStop(ByValue):
    """What the storms come to where the pump stops at the worst moment for each of these figures.

    Parameters
    ----------
    to_alarm_s : Outcome
        From the stop that is worst for the floor to the alarm [s].
    to_floor_s : Outcome
        To water on the floor, counted from `Assessment.state.clock` [s].
    to_floor_by_draw_s : (n_draws,) array
        The same draw by draw [s].
    to_rim_s, to_joint_s : Outcome
        From the same event until the pit overflows, and until water comes in at the joint of wall
        and floor [s].
    joint_first_share : float
        Share of the draws in which water comes in at the joint before the pit overflows [-].
    depth_after_m : dict of float to FloorDepth
        Depth on the floor so many hours after that clock starts [m].
    """

    to_alarm_s: Outcome
    to_floor_s: Outcome
    to_floor_by_draw_s: FloatArray = field(repr=False)
    to_rim_s: Outcome
    to_joint_s: Outcome
    joint_first_share: float
    depth_after_m: dict[float, FloorDepth]


@dataclass(frozen=True)
class DeadBefore:
    """What the storms come to where the pump was dead before the rain began.

    Parameters
    ----------
    rain_to_alarm_s, rain_to_floor_s : Outcome
        From the beginning of the storm to the alarm, and to water on the floor [s].
    alarm_to_floor_s : Outcome
        From the one to the other [s].
    """

    rain_to_alarm_s: Outcome
    alarm_to_floor_s: Outcome
    rain_to_floor_s: Outcome


@dataclass(frozen=True, eq=False, repr=False)
class StormAnswer(ByValue):
    """What the design storms of one return period mean for the home.

    Storms of several durations are run, and each draw counts with the one that is worst for it, of
    this return period or a commoner one; see `riskkit.risk.runs.pooled`.

    Parameters
    ----------
    return_period_yr : float
        Return period [yr].
    duration_h : float
        Duration of the storm that is named and drawn, the same for every return period [h].
    depth_mm : float
        Its depth of rain, the middle of its spread [mm].
    water_to_pit : WaterToPit
        Where its water comes from.
    pump_working : PumpWorking
        With the pump working.
    worst_stop : WorstStop
        With a pump that stops at the worst moment.
    typical_to_floor_s : Outcome
        From the same event as `WorstStop.to_floor_s`, the median over all stops in the wet part of
        the storm that is named [s].
    dead_before : DeadBefore
        With a pump that was dead before the storm.
    shown : ShownVariants
        The variants of the home of which one is drawn.
    row : int
        Which of the storms drawn this is, counted from 0 [-].
    """

    return_period_yr: float
    duration_h: float
    depth_mm: float
    water_to_pit: WaterToPit
    pump_working: PumpWorking
    worst_stop: WorstStop
    typical_to_floor_s: Outcome
    dead_before: DeadBefore
    shown: ShownVariants
    row: int

    @property
    def trace(self) -> Trace:
        """One home through the storm that is named, followed when it is first asked for.

        It is drawn as the median home in every storm, in ground and gravel it is the simulated
        variant whose time is nearest to the median of all.
        """
        return self.shown.traces[self.row]

    @property
    def n_draws(self) -> int:
        """How many draws its shares were counted of [-]."""
        return self.worst_stop.to_floor_by_draw_s.size

    def __repr__(self) -> str:
        found = self.worst_stop.to_floor_s.if_ever
        time = "no water on the floor" if found is None else f"{short_time(found.median)} to floor"
        return (
            f"StormAnswer({self.return_period_yr:g}-year storm, {self.depth_mm:.3g} mm in "
            f"{self.duration_h:g} h: {time}, never {self.worst_stop.to_floor_s.never_share:.0%})"
        )


def short_time(seconds: float) -> str:
    """Write a time short, for a `repr`: minutes, or hours from two of them on.

    Parameters
    ----------
    seconds : float
        A time [s].

    Returns
    -------
    str
        Three digits of it.

    Examples
    --------
    >>> short_time(3000.0), short_time(9000.0)
    ('50 min', '2.5 h')
    """
    return f"{seconds / 60:.3g} min" if seconds < 7200.0 else f"{seconds / 3600:.3g} h"


def storm_answers(
    found: StormRuns, storms: tuple[StormToRun, ...], shown: ShownVariants
) -> tuple[StormAnswer, ...]:
    """Summarise what the draws came to, for each return period.

    Parameters
    ----------
    found : StormRuns
        What each draw came to.
    storms : tuple of StormToRun
        The storm that is named, one a return period.
    shown : ShownVariants
        What is drawn of each.

    Returns
    -------
    tuple of StormAnswer
        One a return period.
    """
    return tuple(_answer(found, i, storm, shown) for i, storm in enumerate(storms))


def _answer(found: StormRuns, i: int, storm: StormToRun, shown: ShownVariants) -> StormAnswer:
    return StormAnswer(
        return_period_yr=storm.return_period_yr,
        duration_h=storm.duration_h,
        depth_mm=float(storm.rain.depth_mm.sum()),
        water_to_pit=WaterToPit(
            first_day_m3=_by_part(found.pit_water_m3[i, :, 0]),
            next_days_m3=_by_part(found.pit_water_m3[i, :, 1]),
        ),
        pump_working=PumpWorking(
            peak_inflow_m3_s=outcome(found.peak_m3_s[i]),
            peak_use=outcome(found.peak_use[i]),
            peak_use_by_draw=found.peak_use[i],
            floor_dry_share=float(1.0 - found.floods[i].mean()),
            alarm_share=float(found.alarms[i].mean()),
            joint_share=float(found.joint_wet[i].mean()),
            highest_level_m=outcome(found.highest_level_m[i]),
            starts_per_hour=outcome(found.starts_per_hour[i]),
        ),
        worst_stop=WorstStop(
            to_alarm_s=outcome(found.to_alarm_s[i]),
            to_floor_s=outcome(found.worst_s[i]),
            to_floor_by_draw_s=found.worst_s[i],
            to_rim_s=outcome(found.rim_worst_s[i]),
            to_joint_s=outcome(found.joint_worst_s[i]),
            joint_first_share=float(found.joint_first[i].mean()),
            depth_after_m={
                hour: floor_depth(found.depth_m[i, :, k]) for k, hour in enumerate(HOURS_AFTER)
            },
        ),
        typical_to_floor_s=outcome(found.typical_s[i]),
        dead_before=DeadBefore(
            rain_to_alarm_s=outcome(found.dead_to_alarm_s[i]),
            alarm_to_floor_s=outcome(found.dead_alarm_to_floor_s[i]),
            rain_to_floor_s=outcome(found.dead_from_rain_s[i]),
        ),
        shown=shown,
        row=i,
    )


def storm_of(storms: Sequence[StormAnswer], years: float) -> StormAnswer:
    """Return the storm of a return period.

    Parameters
    ----------
    storms : sequence of StormAnswer
        All storms of an answer.
    years : float
        Return period [yr].

    Returns
    -------
    StormAnswer
        The storm.

    Raises
    ------
    InputError
        Where there is no such storm.
    """
    need_type(years, Real, "years", "give a number, such as 10")
    found = {storm.return_period_yr: storm for storm in storms}
    if years not in found:
        held = ", ".join(f"{one:g}" for one in found)
        raise InputError("years", f"there is no storm of {years:g} years", f"they are of {held}")
    return found[years]


def storm_columns(storm: StormAnswer) -> dict[str, float]:
    """Turn what a storm means into columns of a table.

    Parameters
    ----------
    storm : StormAnswer
        The storm.

    Returns
    -------
    dict of str to float
        A value for each column, named as by `columns_of` [any].
    """
    pump, worst, dead = storm.pump_working, storm.worst_stop, storm.dead_before
    water = storm.water_to_pit
    told: dict[str, float | Outcome | FloorDepth] = {
        "return_period_yr": storm.return_period_yr,
        "duration_h": storm.duration_h,
        "depth_mm": storm.depth_mm,
        "peak_inflow_m3_s": pump.peak_inflow_m3_s,
        "peak_use": pump.peak_use,
        "floor_dry_share": pump.floor_dry_share,
        "alarm_share": pump.alarm_share,
        "highest_level_m": pump.highest_level_m,
        "starts_per_hour": pump.starts_per_hour,
        "worst_s": worst.to_floor_s,
        "typical_s": storm.typical_to_floor_s,
        "to_alarm_s": worst.to_alarm_s,
        "dead_to_alarm_s": dead.rain_to_alarm_s,
        "dead_to_floor_s": dead.alarm_to_floor_s,
        "dead_from_rain_s": dead.rain_to_floor_s,
        "rim_worst_s": worst.to_rim_s,
        "joint_worst_s": worst.to_joint_s,
        "joint_share": pump.joint_share,
        "at_joint_share": worst.joint_first_share,
    }
    told |= {f"depth_after_{hours:g}_h": depth for hours, depth in worst.depth_after_m.items()}
    for name, parts in (("first_day", water.first_day_m3), ("next_days", water.next_days_m3)):
        told |= {f"{name}_{part.value}_m3": amount for part, amount in parts.items()}
    return columns_of(told | {"row": storm.row})


def _by_part(water_m3: FloatArray) -> dict[PitPart, Outcome]:
    return {part: outcome(water_m3[:, k]) for k, part in enumerate(PitPart)}
