"""What the design storms of one return period mean for a home."""

from __future__ import annotations

from dataclasses import dataclass

from riskkit.ensemble.quantiles import FloorDepth, Outcome, floor_depth, outcome
from riskkit.records import ByValue, FloatArray
from riskkit.risk.critical import StormToRun
from riskkit.risk.runs import StormRuns
from riskkit.risk.shown import Shown
from riskkit.risk.time_to_flood import HOURS_AFTER
from riskkit.risk.trace import Trace
from riskkit.simulate import PitPart

__all__ = ["StormAnswer", "short_time", "storm_answers"]


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
        The same, median over the wet part of the storm that is named [s].
    to_alarm_s : Outcome
        From that worst stop to the alarm [s].
    dead_to_alarm_s, dead_to_floor_s : Outcome
        For a pump that was dead before the storm: from its beginning to the alarm, and from the
        alarm to the floor [s].
    dead_from_rain_s : Outcome
        The same from the beginning of the storm to the floor [s].
    rim_worst_s, joint_worst_s : Outcome
        By the same clock until the pit overflows, and until water comes in at the joint of wall
        and floor, the pump stopping at the worst moment for that [s].
    joint_share : float
        Share of the draws in which, with the pump working, water comes in at the joint of wall and
        floor [-].
    at_joint_share : float
        Share of the draws in which at the worst stop water comes in at the joint before the pit
        overflows [-].
    depth_after_m : dict of float to FloorDepth
        Depth on the floor so many hours after that clock starts at the worst moment [m].
    first_day_m3, next_days_m3 : dict of PitPart to Outcome
        Where the water of the pit comes from, with the drain flowing freely, in the first 24 h of
        the storm that is named and in the 48 h after them [m3].
    worst_by_draw_s : (n_draws,) array
        What `worst_s` sums up, draw by draw [s].
    use_by_draw : (n_draws,) array
        Draw by draw what `peak_use` summarises [-].
    shown : Shown
        The variants of the home of which one is drawn.
    row : int
        Which of the storms drawn this is, counted from 0 [-].
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
    to_alarm_s: Outcome
    dead_to_alarm_s: Outcome
    dead_to_floor_s: Outcome
    dead_from_rain_s: Outcome
    rim_worst_s: Outcome
    joint_worst_s: Outcome
    joint_share: float
    at_joint_share: float
    depth_after_m: dict[float, FloorDepth]
    first_day_m3: dict[PitPart, Outcome]
    next_days_m3: dict[PitPart, Outcome]
    worst_by_draw_s: FloatArray
    use_by_draw: FloatArray
    shown: Shown
    row: int

    @property
    def trace(self) -> Trace:
        """One home through the storm that is named, followed when it is first asked for.

        It is drawn as the median home in every storm, in ground and gravel it is the simulated
        variant whose time is nearest to the median of all.
        """
        return self.shown.traces[self.row]

    def __repr__(self) -> str:
        found = self.worst_s.if_ever
        time = "no water on the floor" if found is None else f"{short_time(found.median)} to floor"
        return (
            f"StormAnswer({self.return_period_yr:g}-year storm, {self.depth_mm:.3g} mm in "
            f"{self.duration_h:g} h: {time}, never {self.worst_s.never_share:.0%})"
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
    found: StormRuns, storms: tuple[StormToRun, ...], shown: Shown
) -> tuple[StormAnswer, ...]:
    """Summarise what the draws came to, for each return period.

    Parameters
    ----------
    found : StormRuns
        What each draw came to.
    storms : tuple of StormToRun
        The storm that is named, one a return period.
    shown : Shown
        What is drawn of each.

    Returns
    -------
    tuple of StormAnswer
        One a return period.
    """
    return tuple(
        StormAnswer(
            return_period_yr=storm.return_period_yr,
            duration_h=storm.duration_h,
            depth_mm=float(storm.rain.depth_mm.sum()),
            peak_inflow_m3_s=outcome(found.peak_m3_s[i]),
            peak_use=outcome(found.peak_use[i]),
            floor_dry_share=float(1.0 - found.floods[i].mean()),
            alarm_share=float(found.alarms[i].mean()),
            highest_level_m=outcome(found.highest_level_m[i]),
            starts_per_hour=outcome(found.starts_per_hour[i]),
            worst_s=outcome(found.worst_s[i]),
            typical_s=outcome(found.typical_s[i]),
            to_alarm_s=outcome(found.to_alarm_s[i]),
            dead_to_alarm_s=outcome(found.dead_to_alarm_s[i]),
            dead_to_floor_s=outcome(found.dead_to_floor_s[i]),
            dead_from_rain_s=outcome(found.dead_from_rain_s[i]),
            rim_worst_s=outcome(found.rim_worst_s[i]),
            joint_worst_s=outcome(found.joint_worst_s[i]),
            joint_share=float(found.joint_wet[i].mean()),
            at_joint_share=float(found.at_joint[i].mean()),
            depth_after_m={
                hour: floor_depth(found.depth_m[i, :, k]) for k, hour in enumerate(HOURS_AFTER)
            },
            first_day_m3=_by_part(found.pit_water_m3[i, :, 0]),
            next_days_m3=_by_part(found.pit_water_m3[i, :, 1]),
            worst_by_draw_s=found.worst_s[i],
            use_by_draw=found.peak_use[i],
            shown=shown,
            row=i,
        )
        for i, storm in enumerate(storms)
    )


def _by_part(water_m3: FloatArray) -> dict[PitPart, Outcome]:
    return {part: outcome(water_m3[:, k]) for k, part in enumerate(PitPart)}
