"""The variants of a home that pictures show: drawn as it is known, its time the median.

A home of median values has not the median time. So of the simulated variants, and those between two
of them, one is shown whose time in the storm is the median of all: figure, picture and time line
tell one time. What is drawn is the same in every storm; ground, gravel and drain are the variant's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskkit.ensemble.quantiles import outcome
from riskkit.errors import collect_warnings
from riskkit.home.samples import HomeSamples
from riskkit.quantities.components import Component
from riskkit.quantities.variables import variables
from riskkit.records import ByValue, FloatArray, IntArray, freeze_arrays
from riskkit.risk.clock import Clock, MainTime
from riskkit.risk.critical import StormToRun, padded_rain_mm
from riskkit.risk.runs import StormRuns, run_storms
from riskkit.risk.system_state import Effect, SystemState
from riskkit.risk.trace import Trace, traces_of
from riskkit.simulate import ground_of, pit_of
from riskkit.threads import worked_out_once

__all__ = [
    "LIKELY_JOINT",
    "ShownVariants",
    "drawn_as",
    "main_time",
    "main_times_s",
    "mixed",
    "nearest",
    "paths_apart",
    "shown_of",
]

LIKELY_JOINT = 0.1
"""Chance of water at the joint of wall and floor from which it is told apart [-]."""
_TIMES, _NEAR = 8, 0.005  # halvings between two variants, and what is near enough
_LOOKED_AT = 64  # variants, an equal number from the middle of the times of each storm
_DRAWN = ("house.", "pit.", "switch.", "pump.", "pipe.", "roof.at_wall", "roof.to_drain",
          "gravel.thickness", "gravel.slab_thickness", "ground.drain_depth", "ground.water_table",
          "ground.depth")  # fmt: skip
"""What is drawn, or known of pit and pump: beginnings of keys, the same in every storm."""


def main_time(state: SystemState, joint_first_shares: Sequence[float]) -> MainTime:
    """Choose the main time, the same in every storm so that its rows compare.

    Parameters
    ----------
    state : SystemState
        State of the system.
    joint_first_shares : sequence of float
        Of each storm the share of the draws in which water comes in at the joint first [-].

    Returns
    -------
    MainTime
        Which.
    """
    if state.has(Component.PUMP) and any(
        finding.effect is Effect.NO_PUMPING for finding in state.findings
    ):
        return MainTime.DEAD
    # the minutes of one path must not pass for those of the other
    return MainTime.RIM if paths_apart(joint_first_shares) else MainTime.FLOOR


def paths_apart(joint_first_shares: Sequence[float]) -> bool:
    """Tell whether the paths over the rim and at the joint are told apart, in every storm alike.

    Parameters
    ----------
    joint_first_shares : sequence of float
        Of each storm the share of the draws in which water comes in at the joint first [-].

    Returns
    -------
    bool
        Whether in some storm that is likely.
    """
    return any(share >= LIKELY_JOINT for share in joint_first_shares)


@dataclass(frozen=True, eq=False)
class ShownVariants(ByValue):
    """The variants of a home among which those shown are looked for, when somebody looks.

    Parameters
    ----------
    variants : HomeSamples
        The median home, and others with everything that is drawn from it.
    wanted_s : (n_storms,) array
        The median of all times in each storm; infinite for never [s].
    storms : tuple of StormToRun
        The storms that are drawn, of one duration.
    clock : Clock
        From when the time is counted.
    main : MainTime
        Which time it is.
    """

    variants: HomeSamples
    wanted_s: FloatArray
    storms: tuple[StormToRun, ...]
    clock: Clock
    main: MainTime

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @worked_out_once
    def traces(self) -> tuple[Trace, ...]:
        """For each storm the variant whose time is nearest to the median of all, followed."""
        with collect_warnings():  # what is to be said of the home was said of its draws
            return _followed(self)


def shown_of(
    median: HomeSamples,
    homes: HomeSamples,
    found: StormRuns,
    storms: tuple[StormToRun, ...],
    clock: Clock,
    main: MainTime,
) -> ShownVariants:
    """Choose the variants of a home, of which in each storm one is shown.

    The variants have everything that is drawn from the median home, and the rain at its median; all
    else is that of draws from the middle of the times. Between the two whose times lie next to the
    median their values are mixed. The median home is one of them.

    Parameters
    ----------
    median : HomeSamples
        The home of median values, one draw.
    homes : HomeSamples
        The draws.
    found : StormRuns
        What they came to in the storms, each with the worst of all durations.
    storms : tuple of StormToRun
        The storms that are drawn, of one duration.
    clock : Clock
        From when the time is counted.
    main : MainTime
        Which time it is.

    Returns
    -------
    ShownVariants
        One for each storm, with its home.

    References
    ----------
    judgement : among how many variants the nearest is looked for
    """
    of_draws = main_times_s(found, main)
    wanted = np.array([outcome(row).median for row in of_draws])
    each = max(1, _LOOKED_AT // len(of_draws))
    some = np.unique([_about(row, each) for row in of_draws])
    return ShownVariants(drawn_as(median, homes.picked(some.tolist())), wanted, storms, clock, main)


def _followed(shown: ShownVariants) -> tuple[Trace, ...]:
    variants, wanted, storms, main = shown.variants, shown.wanted_s, shown.storms, shown.main
    runs = run_storms(variants, pit_of(variants), storms, ground_of(variants), shown.clock)
    below, above = _next_to(main_times_s(runs, main), wanted, variants)
    step_s = storms[0].rain.step_s
    rain_mm = padded_rain_mm([storm.rain for storm in storms], step_s)
    share, low, high = np.zeros(len(storms)), np.zeros(len(storms)), np.ones(len(storms))
    best: list[Trace] = []
    for _ in range(_TIMES):
        followed = traces_of(
            mixed(variants, below, above, share), rain_mm, step_s, shown.clock, main
        )
        best = [
            one if _apart(one, w, main) <= _apart(other, w, main) else other
            for one, other, w in zip(best or followed, followed, wanted, strict=True)
        ]
        if all(_apart(one, w, main) <= _NEAR for one, w in zip(best, wanted, strict=True)):
            break
        late = np.array([_main_s(one, main) for one in followed]) > wanted
        low, high = np.where(late, low, share), np.where(late, share, high)
        share = (low + high) / 2
    return tuple(best)


def mixed(homes: HomeSamples, one: IntArray, other: IntArray, share: FloatArray) -> HomeSamples:
    """Return homes between two of others; textures are those of the first.

    Parameters
    ----------
    homes : HomeSamples
        The others.
    one, other : (n,) arrays of int
        Which two, for each [-].
    share : (n,) array
        How far from the one to the other, 0 to 1 [-].

    Returns
    -------
    HomeSamples
        One for each.

    References
    ----------
    arithmetic : between two values
    """
    first, last = homes.picked(one.tolist()), homes.picked(other.tolist())
    values = {
        name: np.where(share == 0.0, value, value + share * (last[name] - value))
        for name, value in first.values.items()
    }
    return replace(first, values=values)


def _next_to(
    times_s: FloatArray, wanted_s: FloatArray, homes: HomeSamples
) -> tuple[IntArray, IntArray]:
    """For each row the variants below and above the time wanted, of one soil; else the nearest."""
    at = nearest(times_s, wanted_s)
    below, above = at.copy(), at.copy()
    soils = np.array([f"{a} {b}" for a, b in zip(homes.soil, homes.backfill, strict=True)])
    for i, (row, wanted) in enumerate(zip(times_s, wanted_s, strict=True)):
        same = np.isfinite(row) & (soils == soils[at[i]])
        under, over = np.flatnonzero(same & (row <= wanted)), np.flatnonzero(same & (row >= wanted))
        if np.isfinite(wanted) and under.size and over.size:
            below[i], above[i] = under[row[under].argmax()], over[row[over].argmin()]
    return below, above


def _main_s(trace: Trace, main: MainTime) -> float:
    return trace.to_rim_s if main is MainTime.RIM else trace.to_floor_s


def _apart(trace: Trace, wanted_s: float, main: MainTime) -> float:
    """How far a time is from the one wanted: the difference of their logarithms."""
    one, wanted = _logs(np.array([_main_s(trace, main), wanted_s]))
    return float(abs(one - wanted))


def _logs(times_s: FloatArray) -> FloatArray:
    week_s = 7 * 86400.0  # the longest time there is; never is far from it
    return np.where(np.isinf(times_s), 2 * np.log(week_s), np.log(np.maximum(times_s, 1.0)))


def _about(times_s: FloatArray, n: int) -> IntArray:
    """Some draws about the middle of their times."""
    order = np.argsort(times_s, kind="stable")
    first = max(0, (order.size - n) // 2)
    return np.asarray(order[first : first + n])


def main_times_s(runs: StormRuns, main: MainTime) -> FloatArray:
    """Return the main times.

    Parameters
    ----------
    runs : StormRuns
        What storms came to.
    main : MainTime
        Which time it is.

    Returns
    -------
    (n_storms, n_draws) array
        Infinite for never [s].

    References
    ----------
    arithmetic : look-up
    """
    return {
        MainTime.FLOOR: runs.worst_s, MainTime.RIM: runs.rim_worst_s,
        MainTime.DEAD: runs.dead_from_rain_s,
    }[main]  # fmt: skip


def nearest(times_s: FloatArray, wanted_s: FloatArray) -> IntArray:
    """Choose in each row the time nearest to the one wanted, by its ratio to it.

    Parameters
    ----------
    times_s : (n_rows, n) array
        Times; infinite for never [s].
    wanted_s : (n_rows,) array
        One wanted in each row, which may be infinite [s].

    Returns
    -------
    (n_rows,) array of int
        Which, the first of those that are equally near [-].

    References
    ----------
    arithmetic : differences of logarithms, never apart from every time but never

    Examples
    --------
    >>> nearest(np.array([[60.0, 600.0, np.inf]] * 2), np.array([500.0, np.inf])).tolist()
    [1, 2]
    """
    return np.asarray(np.abs(_logs(times_s) - _logs(wanted_s)[:, None]).argmin(axis=1))


def drawn_as(median: HomeSamples, draws: HomeSamples) -> HomeSamples:
    """Return draws with everything that is drawn from the median home, which goes first.

    Parameters
    ----------
    median : HomeSamples
        One home.
    draws : HomeSamples
        Draws of the same home.

    Returns
    -------
    HomeSamples
        The median home, and one for each draw, with the rain at its median.

    References
    ----------
    arithmetic : values of one put for those of the other
    """
    n = draws.n_draws + 1
    kept = {item.name for item in variables().values() if item.key.startswith(_DRAWN)}
    values = {
        name: np.full(n, value[0]) if name in kept else np.append(value, draws[name])
        for name, value in median.values.items()
    }
    return replace(
        median,
        values=values,
        backfill=(*median.backfill, *draws.backfill),
        soil=(*median.soil, *draws.soil),
        rain_score=np.zeros(n),
        burst_score=np.zeros(n),
    )
