"""All draws of a home through storms, and what they come to over several durations together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.pit.works import working
from riskkit.records import FloatArray, IntArray, PitModel, freeze_arrays
from riskkit.risk.clock import Clock
from riskkit.risk.critical import StormToRun, padded_rain_mm, stop_steps, wet_stops
from riskkit.risk.storm_water import StormWater, rain_by_draw
from riskkit.risk.time_to_flood import (
    Stops,
    dead_before,
    stops_in_storm,
)
from riskkit.risk.worst_stop import summarise_stops
from riskkit.simulate import WINDOWS_H, Ground, PitPart, pit_water_m3

__all__ = ["StormRuns", "pooled", "run_storms", "with_worst"]


@dataclass(frozen=True)
class StormRuns:
    """What storms come to, storm by storm and draw by draw.

    Parameters
    ----------
    peak_m3_s : (n_storms, n_draws) array
        Largest storm and ground water inflow of any step [m3/s].
    peak_use : (n_storms, n_draws) array
        That inflow against what the pump can lift at its start level; infinite where it lifts
        nothing [-].
    alarms, floods, joint_wet : (n_storms, n_draws) array
        1 where, with the pump working, the alarm sounds, the pit overflows, and the water outside
        comes in at the joint of wall and floor [-].
    highest_level_m : (n_storms, n_draws) array
        Highest level with the pump working, relative to the floor [m].
    starts_per_hour : (n_storms, n_draws) array
        Most pump starts in an hour [1/h].
    worst_s : (n_storms, n_draws) array
        To the floor, from the event of `Clock`, the pump stopping at the worst moment; infinite
        for never [s].
    typical_s : (n_storms, n_draws) array
        The same, median over the wet part of the storm [s].
    to_alarm_s : (n_storms, n_draws) array
        From the worst stop to the alarm [s].
    dead_to_alarm_s, dead_alarm_to_floor_s : (n_storms, n_draws) array
        For a pump that was dead before the storm: from its beginning to the alarm, and from there
        to the floor [s].
    dead_from_rain_s : (n_storms, n_draws) array
        The same from the beginning of the storm to the floor [s].
    rim_worst_s, joint_worst_s : (n_storms, n_draws) array
        From the event of `Clock` until the pit overflows, and until water comes in at the joint of
        wall and floor, the pump stopping at the worst moment for that [s].
    joint_first : (n_storms, n_draws) array
        1 where at the worst stop water comes in at the joint before the pit overflows [-].
    depth_m : (n_storms, n_draws, n_hours) array
        Depth on the floor some hours after the clock starts at the worst moment [m].
    pit_water_m3 : (n_storms, n_draws, n_windows, n_parts) array
        Where the water of the pit comes from, see `riskkit.simulate.pit_water_m3` [m3].
    """

    peak_m3_s: FloatArray
    peak_use: FloatArray
    alarms: FloatArray
    floods: FloatArray
    joint_wet: FloatArray
    highest_level_m: FloatArray
    starts_per_hour: FloatArray
    worst_s: FloatArray
    typical_s: FloatArray
    to_alarm_s: FloatArray
    dead_to_alarm_s: FloatArray
    dead_alarm_to_floor_s: FloatArray
    dead_from_rain_s: FloatArray
    rim_worst_s: FloatArray
    joint_worst_s: FloatArray
    joint_first: FloatArray
    depth_m: FloatArray
    pit_water_m3: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


_LEAST_IS_WORST = frozenset(
    {
        "worst_s",
        "typical_s",
        "dead_from_rain_s",
        "rim_worst_s",
        "joint_worst_s",
    }
)
# A least time to the floor, the time to the alarm of the same storm, and all that is told of it
_OF_THE_WORST = (
    ("worst_s", "to_alarm_s", ("to_alarm_s", "joint_first")),
    ("dead_from_rain_s", "dead_to_alarm_s", ("dead_to_alarm_s", "dead_alarm_to_floor_s")),
)
_OF_THE_DAY = frozenset({"typical_s", "depth_m", "pit_water_m3"})
_AS_THEY_ARE = frozenset({"pit_water_m3"})  # parts of a whole: the worst of each would not add up


def run_storms(
    homes: HomeSamples,
    pit: PitModel,
    storms: Sequence[StormToRun],
    ground: Ground,
    clock: Clock = Clock.ALARM,
    *,
    with_depth: bool = True,
    least_only: bool = False,
    known: StormWater | None = None,
) -> StormRuns:
    """Run all draws through storms of one duration, with the pump working and stopped.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    pit : PitModel
        Their pits.
    storms : sequence of StormToRun
        Storms of one duration, in the same steps.
    ground : Ground
        The ground round them, or round them before each storm, storm by storm.
    clock : Clock
        From when the time to the floor is counted.
    with_depth : bool
        Whether the depth on the floor and the parts of the water are looked for; else they are 0.
    least_only : bool
        Whether of a stopped pump nothing is asked but the least time to the floor; see
        `summarise_stops`.
    known : StormWater, optional
        Water of the same storms that was worked out for another home with the same draws.

    Returns
    -------
    StormRuns
        A row for each storm.
    """
    n, many, step_s = homes.n_draws, len(storms), storms[0].rain.step_s
    rain_mm = padded_rain_mm([storm.rain for storm in storms], step_s)
    pits, grounds = pit.repeated(many), ground.before_storms(n, many)
    steps = stop_steps(rain_mm, step_s, few=not with_depth, has_pump=pit.has_pump)
    water = (known or StormWater()).of(homes, ground, storms, with_depth=with_depth)
    dead = dead_before(pits if ground is grounds else pit, ground)
    if ground is not grounds:  # the same before each storm
        inside, outside, lot = dead
        dead = np.tile(inside, many), np.tile(outside, many), np.tile(lot, (many, 1))
    run = run_pit(pits, water.to_pit, None if pit.has_pump else dead[0], keep_at=water.marked)

    def stops_at(at: IntArray) -> Stops:
        return stops_in_storm(at, pits, run, water, dead)

    wet = np.repeat(wet_stops(rain_mm, step_s, steps), n, axis=0)
    failed = summarise_stops(
        pits, grounds.footing, water, stops_at, steps, wet, clock,
        closer=water.marked, with_depth=with_depth, least_only=least_only,
    )  # fmt: skip
    works = working(pits, grounds.footing, water.arriving, water.free.level_m, water.start_m3, run)
    alarm_s, rim_s, joint_s = works.alarm_s, works.rim_s, works.joint_s
    if not pit.has_pump:  # pit and ground together, as where a pump has stopped
        alarm_s, rim_s = failed.dead_to_alarm_s, failed.rim_worst_s
        joint_s = failed.joint_worst_s
    parts = np.zeros((n * many, len(WINDOWS_H), len(PitPart)))
    if with_depth:
        parts = pit_water_m3(grounds, water, *rain_by_draw(homes, storms))
    capacity = np.take_along_axis(pits.pump_m3_s, pits.on_index[:, None], axis=1)[:, 0]
    peak = water.free.to_pit_m3_s.max(axis=1)
    by_storm = {
        "peak_m3_s": peak,
        "peak_use": np.where(capacity > 0, peak / np.where(capacity > 0, capacity, 1.0), np.inf),
        "alarms": np.isfinite(alarm_s).astype(np.float64),
        "floods": np.isfinite(rim_s).astype(np.float64),
        "joint_wet": np.isfinite(joint_s).astype(np.float64),
        "highest_level_m": works.highest_m,
        "starts_per_hour": run.starts_per_hour,
        "worst_s": failed.worst_s,
        "typical_s": failed.typical_s,
        "to_alarm_s": failed.to_alarm_s,
        "dead_to_alarm_s": failed.dead_to_alarm_s,
        "dead_alarm_to_floor_s": failed.dead_alarm_to_floor_s,
        "dead_from_rain_s": failed.dead_from_rain_s,
        "rim_worst_s": failed.rim_worst_s,
        "joint_worst_s": failed.joint_worst_s,
        "joint_first": failed.joint_first,
        "depth_m": failed.depth_m,
        "pit_water_m3": parts,
    }
    shaped = {name: v.reshape(many, n, *v.shape[1:]) for name, v in by_storm.items()}
    return StormRuns(**shaped)


def pooled(runs: Sequence[StormRuns], day: int) -> StormRuns:
    """Let each draw count with the storm that is worst for it, of its return period or commoner.

    Over the durations each figure of each draw is the worst of them. The typical moment and the
    depth are those of the day's storm: the wet part of a short storm is all peak, and twelve hours
    of water are more than it brings. What comes with the worst stop, the time to the alarm and the
    path of the water, is that of the storm with the least time to the floor; so are, with a pump
    that was dead before, the time to the alarm and from there to the floor: the times of two
    storms never follow one another. Over the return periods each other figure is the worst so far,
    for a home that a 10-year storm floods is not safe in the 25-year one because that happens to
    soak less into the ground. So none of these of any draw, and none of their percentiles, ever
    gets better as storms get rarer.

    Parameters
    ----------
    runs : sequence of StormRuns
        One for each duration; their rows are return periods, increasing.
    day : int
        Which of them is the storm of a day [-].

    Returns
    -------
    StormRuns
        A row for each return period.

    References
    ----------
    judgement : the worst duration of each draw
    """
    found = {}
    for floor, alarm, names in _OF_THE_WORST:
        to_floor_s = [getattr(run, floor) for run in runs]
        to_alarm_s = [getattr(run, alarm) for run in runs]
        for name in names:
            told = [getattr(run, name) for run in runs]
            found[name] = with_worst(to_floor_s, to_alarm_s, told)
    for item in fields(StormRuns):
        if item.name in found:
            continue
        worst = np.minimum if item.name in _LEAST_IS_WORST else np.maximum
        each = [getattr(run, item.name) for run in runs]
        of_all = each[day] if item.name in _OF_THE_DAY else worst.reduce(each)
        alone = item.name in _AS_THEY_ARE
        found[item.name] = of_all if alone else worst.accumulate(of_all, axis=0)
    return replace(runs[0], **found)


def with_worst(
    to_floor_s: Sequence[FloatArray], to_alarm_s: Sequence[FloatArray], told: Sequence[FloatArray]
) -> FloatArray:
    """Return of each draw what comes with its least time to the floor, in any storm as common.

    Storms that are commoner count too. Where the floor is never reached the earliest alarm counts.

    Parameters
    ----------
    to_floor_s, to_alarm_s : sequences of (n_storms, n_draws) arrays
        For each duration the times to the floor and to the alarm; rows are return periods,
        increasing; infinite for never [s].
    told : sequence of (n_storms, n_draws) arrays
        What is asked for, of the same storms [any].

    Returns
    -------
    (n_storms, n_draws) array
        The same of the storm that counts [any].

    References
    ----------
    arithmetic : the values of one storm belong together
    """
    least, earliest, value = np.full((3, *told[0].shape[1:]), np.inf)
    rows = []
    for i in range(told[0].shape[0]):
        for floor_s, alarm_s, each in zip(to_floor_s, to_alarm_s, told, strict=True):
            none = np.isinf(floor_s[i]) & np.isinf(least)
            worse = (floor_s[i] < least) | (none & (alarm_s[i] < earliest))
            worse |= none & np.isinf(earliest)
            least = np.where(worse, floor_s[i], least)
            earliest = np.where(worse, alarm_s[i], earliest)
            value = np.where(worse, each[i], value)
        rows.append(value)
    return np.array(rows)
