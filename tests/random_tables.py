"""Tables of rain made at random, and what an answer must never say of them.

More rain, and a rarer storm, is never better. The tests look at some tables for each home;
`tests/speed/study_tables.py` at hundreds.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from riskkit.assessment import Settings, StormAnswer, assess
from riskkit.ensemble.quantiles import chance_of_draws, share_between
from riskkit.home.home import Home
from riskkit.records import DepthDurationFrequency, Series

PERIODS = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
DURATIONS_H = np.array([1 / 12, 1 / 6, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0])


def random_table(rng: np.random.Generator) -> DepthDurationFrequency:
    """A table such as any climate might have, and rougher than an agency would print."""
    minutes = rng.uniform(3.0, 12.0)
    growth = minutes * np.cumprod(1.0 + rng.uniform(0.02, 0.6, DURATIONS_H.size))
    periods = np.cumprod(1.0 + rng.uniform(0.02, 0.35, len(PERIODS)))
    depth = growth[:, None] * periods * np.exp(rng.normal(0.0, 0.03, (growth.size, periods.size)))
    depth = np.maximum.accumulate(np.maximum.accumulate(depth, axis=0), axis=1)
    return DepthDurationFrequency(DURATIONS_H, np.array(PERIODS), depth, Series.PARTIAL_DURATION)


def with_more_rain(
    table: DepthDurationFrequency, rng: np.random.Generator
) -> DepthDurationFrequency:
    """The same table with more rain in one duration, in all storms.

    What falls more in it falls more in every longer one too: rain that only came faster runs off
    clay that would have taken it, and is rightly not as bad.
    """
    depth = table.depth_mm.copy()
    which = rng.integers(0, DURATIONS_H.size)
    depth[which:] += depth[which] * rng.uniform(0.02, 0.4)
    return replace(table, depth_mm=depth)


def figures(storm: StormAnswer) -> dict[str, float]:
    """All that is said of a storm, such that more is worse."""
    found = {
        "wet floor": 1 - storm.pump_working.floor_dry_share,
        "alarm": storm.pump_working.alarm_share,
    }
    found |= {
        f"water after {h:g} h": depth.share for h, depth in storm.worst_stop.depth_after_m.items()
    }
    shorter = {"worst": storm.worst_stop.to_floor_s, "typical": storm.typical_to_floor_s}
    more = {
        "peak": storm.pump_working.peak_inflow_m3_s, "use": storm.pump_working.peak_use,
        "level": storm.pump_working.highest_level_m, "starts": storm.pump_working.starts_per_hour,
    }  # fmt: skip
    for sign, outcomes in ((-1, shorter), (1, more)):
        for name, spread in outcomes.items():
            for point in ("low", "median", "high"):
                found[f"{name} {point}"] = sign * getattr(spread, point)
    for name, spread in shorter.items():
        found[f"{name} not never"] = 1 - spread.never_share
    return found


def better_when_rarer(home: Home, seed: int) -> list[str]:
    """Figures that are better in a storm than in a commoner one: none should be."""
    storms = assess(home, random_table(np.random.default_rng(seed)), Settings(n_draws=16)).storms
    found = [
        f"{name}, {rare.return_period_yr:g} years"
        for common, rare in pairwise(storms)
        for (name, before), after in zip(
            figures(common).items(), figures(rare).values(), strict=True
        )
        if not after >= before
    ]
    # the rain that is named is that of one duration, so it does not contradict itself either
    if {storm.duration_h for storm in storms} != {24.0}:
        found.append("duration")
    if not np.all(np.diff([storm.depth_mm for storm in storms]) >= -1e-9):
        found.append("depth")
    return found


def better_with_more_rain(home: Home, seed: int) -> list[str]:
    """What is better with more rain in one duration: in no storm anything should be.

    By no more than the stated error, or by one draw of 64. Some variants of a home may be a little
    better off: the wall lets in more of rain that falls on it longer, and the worst stop is known
    to a quarter of an hour. The answer must not be.
    """
    settings = Settings((2.0, 10.0, 100.0), n_draws=64)
    rng = np.random.default_rng(seed)
    table = random_table(rng)
    before = assess(home, table, settings).storms
    one = assess(home, with_more_rain(table, rng), settings).storms
    found = []
    for less, more in zip(before, one, strict=True):
        chance = chance_of_draws(less.worst_stop.to_floor_by_draw_s)
        alarm, dry = less.pump_working.alarm_share, less.pump_working.floor_dry_share
        is_no_better = {
            "median": more.worst_stop.to_floor_s.median <= chance.median[1],
            "never": more.worst_stop.to_floor_s.never_share <= chance.never_share[1],
            "alarm": more.pump_working.alarm_share >= share_between(alarm, 64)[0],
            "dry": more.pump_working.floor_dry_share
            <= max(share_between(dry, 64)[1], dry + 1 / 64),
        }
        found += [
            f"{name}, {less.return_period_yr:g} years"
            for name, holds in is_no_better.items()
            if not holds
        ]
    return found


def better_with_more_of_all(home: Home, seed: int) -> list[str]:
    """Figures that are better with more rain in all durations: none should be."""
    settings = Settings(n_draws=32)
    moments = ("worst", "typical", "peak", "use", "level", "alarm", "wet")
    rng = np.random.default_rng(seed)
    table = random_table(rng)
    wetter = replace(table, depth_mm=table.depth_mm * rng.uniform(1.02, 1.3))
    answers = [assess(home, rain, settings).storms for rain in (table, wetter)]
    found = []
    for less, more in zip(*answers, strict=True):
        after = figures(more)
        for name, before in figures(less).items():
            if not name.startswith(moments):
                continue
            # where the pump cycles at a level, that level is the same to a millimetre; at a stop of
            # a given hour more rain lets the alarm sound sooner, in less inflow
            noise = {"level": 1e-3, "typical": 0.06 * abs(before)}
            slack = noise.get(name.split()[0], 1e-9 * abs(before))
            if name.endswith("never"):
                slack = 0.0
            if not after[name] >= before - slack:
                found.append(f"{name}, {less.return_period_yr:g} years")
    return found
