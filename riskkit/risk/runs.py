"""All draws of a home through storms, and what they come to over several durations together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.records import FloatArray, PitModel, freeze_arrays
from riskkit.risk.clock import Clock, storm_start_m
from riskkit.risk.critical import StormToRun, moments_of, padded_rain_mm, wet_moments
from riskkit.risk.time_to_flood import summarise_failure
from riskkit.simulate import inflow_of

__all__ = ["StormRuns", "pooled", "run_storms"]


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
    alarms, floods : (n_storms, n_draws) array
        1 where the alarm sounds, and where water stands on the floor, with the pump working [-].
    highest_level_m : (n_storms, n_draws) array
        Highest level with the pump working, relative to the floor [m].
    starts_per_hour : (n_storms, n_draws) array
        Most pump starts in an hour [1/h].
    worst_s : (n_storms, n_draws) array
        To the floor, by the clock, the pump stopping at the worst moment; infinite for never [s].
    typical_s : (n_storms, n_draws) array
        The same, median over the wet part of the storm [s].
    depth_m : (n_storms, n_draws, n_hours) array
        Depth on the floor some hours after the clock starts at the worst moment [m].
    """

    peak_m3_s: FloatArray
    peak_use: FloatArray
    alarms: FloatArray
    floods: FloatArray
    highest_level_m: FloatArray
    starts_per_hour: FloatArray
    worst_s: FloatArray
    typical_s: FloatArray
    depth_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


_LEAST_IS_WORST = frozenset({"worst_s", "typical_s"})
_OF_THE_DAY = frozenset({"typical_s", "depth_m"})


def run_storms(
    homes: HomeSamples,
    pit: PitModel,
    storms: Sequence[StormToRun],
    clock: Clock = Clock.ALARM,
    *,
    with_depth: bool = True,
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
    clock : Clock
        From when the time to the floor is counted.
    with_depth : bool
        Whether the depth on the floor is looked for; else it is 0.

    Returns
    -------
    StormRuns
        A row for each storm.
    """
    n, many, step_s = homes.n_draws, len(storms), storms[0].rain.step_s
    rain_mm = padded_rain_mm([storm.rain for storm in storms], step_s)
    factor = np.exp(np.concatenate([storm.log_sd * homes.rain_score for storm in storms]))
    pits = pit.repeated(many)
    rain = np.repeat(rain_mm, n, axis=0)
    for block, storm in zip(np.split(rain, many), storms, strict=True):
        if storm.burst is not None:
            block[:, storm.burst.place] = storm.burst.rain_mm(homes.burst_score)
    inflow = inflow_of(homes.repeated(many), rain, step_s, factor)
    run = run_pit(pits, inflow, storm_start_m(pits))
    moments = moments_of(rain_mm, step_s)
    wet = np.repeat(wet_moments(rain_mm, step_s, moments), n, axis=0)
    failed = summarise_failure(pits, inflow, moments, wet, clock, with_depth=with_depth)
    at_on = np.take_along_axis(pits.seepage_m3_s, pits.on_index[:, None], axis=1)[:, 0]
    capacity = np.take_along_axis(pits.pump_m3_s, pits.on_index[:, None], axis=1)[:, 0]
    peak = inflow.storm_m3_s.max(axis=1) + at_on
    by_storm = {
        "peak_m3_s": peak,
        "peak_use": np.where(capacity > 0, peak / np.where(capacity > 0, capacity, 1.0), np.inf),
        "alarms": np.isfinite(run.alarm_s).astype(np.float64),
        "floods": np.isfinite(run.flood_s).astype(np.float64),
        "highest_level_m": run.highest_level_m,
        "starts_per_hour": run.starts_per_hour,
        "worst_s": failed.worst_s,
        "typical_s": failed.typical_s,
        "depth_m": failed.depth_m,
    }
    shaped = {name: v.reshape(many, n, *v.shape[1:]) for name, v in by_storm.items()}
    return StormRuns(**shaped)


def pooled(runs: Sequence[StormRuns], day: int) -> StormRuns:
    """Let each draw count with the storm that is worst for it, of its return period or commoner.

    Over the durations each figure of each draw is the worst of them. The typical moment and the
    depth are those of the day's storm: the wet part of a short storm is all peak, and twelve hours
    of water are more than it brings. Over the return
    periods each figure is the worst so far, for a home that a 10-year storm floods is not safe in
    the 25-year one because that happens to soak less into the ground. So no figure of any draw,
    and none of their percentiles, ever gets better as storms get rarer.

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
    for item in fields(StormRuns):
        worst = np.minimum if item.name in _LEAST_IS_WORST else np.maximum
        each = [getattr(run, item.name) for run in runs]
        of_all = each[day] if item.name in _OF_THE_DAY else worst.reduce(each)
        found[item.name] = worst.accumulate(of_all, axis=0)
    return replace(runs[0], **found)
