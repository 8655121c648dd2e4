"""How often somebody should come: what visits find, what storms meet, and what a year costs.

Defects that can be seen before they are failures go by the delay-time model, failures that lie
hidden by the time between tests. Storms are run once; only the visits change.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.errors import need_type
from riskkit.failures.circumstances import (
    Circumstances,
    ReliabilityInputs,
    circumstances_of,
    reliability_inputs,
)
from riskkit.failures.faults import PUMP_CAUSES, Faults
from riskkit.failures.home_faults import home_faults
from riskkit.failures.money import Costs, costs_of, loss_per_yr
from riskkit.failures.prices import Prices
from riskkit.failures.storms import HomeStorms, home_storms
from riskkit.failures.yearly import floods_of, storms_per_yr, yearly_chance
from riskkit.home.home import Home
from riskkit.records import (
    ByValue,
    DepthDurationFrequency,
    FloatArray,
    RainRecord,
    freeze_arrays,
)
from riskkit.records.arguments import need_numbers
from riskkit.records.shown import ShownInNotebook
from riskkit.reliability.annual import annual_chance_of
from riskkit.reliability.causes import causes
from riskkit.reliability.delay_time import INTERVALS_YR
from riskkit.reliability.loss import LossFamily
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.storm.patterns import Pattern

if TYPE_CHECKING:
    import pandas as pd

    from riskkit.failures.answer import YearlyChance

__all__ = [
    "ALIKE",
    "OWNER_TEST_YR",
    "IntervalRow",
    "Intervals",
    "VisitVerdict",
    "interval",
    "intervals_of",
]

OWNER_TEST_YR = 0.25
"""The owner pours water into the pit every three months."""
ALIKE = 0.02
"""Of costs and chances of a year, within which they are told as alike (judgement)."""
_LITTLE = 0.05  # of the chance, below which a difference is none worth saying (judgement)
_LEAST_CHANCE = 5e-4  # a year, below which nothing is worth doing oftener (judgement)


class VisitVerdict(Enum):
    """What visits do for the chance of water on the floor."""

    HELPS = "helps"
    HELPS_LITTLE = "helps_little"  # all visits together save less than a twentieth of the chance
    NO_PUMP = "no_pump"  # there is nothing to visit


@dataclass(frozen=True, eq=False)
class IntervalRow(ByValue):
    """What comes of one interval between visits; means of all draws but for the chance.

    Parameters
    ----------
    every_yr : float
        Time between visits; infinite for never [yr].
    owner_tests : bool
        Whether the owner pours water in every three months besides.
    chance : Points
        Chance of water on the floor in a year [-].
    mean_chance : float
        The same, mean of all draws [-].
    floods_per_yr : float
        Floods [1/yr].
    found_per_yr : float
        Defects and hidden failures that tests find [1/yr].
    shown_per_yr : float
        Failures that water or chance shows first [1/yr].
    met_per_yr : float
        Storms that would reach the floor and meet a pump that lay dead [1/yr].
    cost_by_draw : (n_draws,) array
        Visits, repairs and water together; of several floods in a year one counts [money/yr].
    """

    every_yr: float
    owner_tests: bool
    chance: Points
    mean_chance: float
    floods_per_yr: float
    found_per_yr: float
    shown_per_yr: float
    met_per_yr: float
    cost_by_draw: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def cost_per_yr(self) -> float:
        """Cost of a year, mean of all draws [money/yr]."""
        return float(self.cost_by_draw.mean())

    @property
    def cost(self) -> Points:
        """Cost of a year, eight in ten draws between low and high [money/yr]."""
        found = outcome(self.cost_by_draw)
        return Points(found.low, found.median, found.high)

    def saves_against(self, other: IntervalRow) -> Points:
        """By how much a year costs less than with another interval, under the same draws.

        Parameters
        ----------
        other : IntervalRow
            The other interval.

        Returns
        -------
        Points
            Eight in ten draws between low and high; below zero where it costs more [money/yr].
        """
        found = outcome(other.cost_by_draw - self.cost_by_draw)
        return Points(found.low, found.median, found.high)


@dataclass(frozen=True, repr=False)
class Intervals(ShownInNotebook):
    """Intervals between visits to one home, side by side.

    Parameters
    ----------
    home_name : str
        Name of the home.
    now : YearlyChance
        With the visits of today.
    now_every_yr : float or None
        Time between them; None where nobody knows [yr].
    rows : tuple of IntervalRow
        Visits alone, the oftenest first.
    with_owner : tuple of IntervalRow
        The same with the test by the owner.
    costs : Costs
        What things cost.
    verdict : VisitVerdict
        What visits do for the chance.
    as_now : IntervalRow or None
        The interval of today with the tests of the owner as they are told, the home mended; None
        where nobody knows it.
    mend_first : tuple of str
        Causes that the last visit found and left; the rows are for the home with them mended.
    """

    home_name: str
    now: YearlyChance
    now_every_yr: float | None
    rows: tuple[IntervalRow, ...]
    with_owner: tuple[IntervalRow, ...]
    costs: Costs
    verdict: VisitVerdict
    as_now: IntervalRow | None = None
    mend_first: tuple[str, ...] = ()

    def __repr__(self) -> str:
        rows = ", ".join(f"{row.every_yr:g}: {row.mean_chance:.2g}" for row in self.rows)
        return f"Intervals({self.home_name!r}, {self.verdict.value}; mean chance by years {rows})"

    @property
    def prices(self) -> Prices:
        """What visits, repairs and a flood cost."""
        return self.costs.prices

    @property
    def compared_with(self) -> IntervalRow:
        """What the best is compared with: visits and tests of today, else the rarest visits."""
        return self.as_now or self.rows[-1]

    @property
    def cheapest(self) -> IntervalRow:
        """The interval without tests by the owner that costs least, the longest of equals."""
        return _cheapest(self.rows)

    @property
    def best(self) -> IntervalRow:
        """What costs least of all: with the test by the owner where that saves worth saying."""
        alone, tested = self.cheapest, _cheapest(self.with_owner)
        saves = tested.cost_per_yr < alone.cost_per_yr * (1 - ALIKE)
        return tested if saves else alone

    @property
    def as_good_with_owner(self) -> IntervalRow | None:
        """The rarest visits that with the test by the owner leave no more than the cheapest alone.

        None where they would have to come as often.
        """
        most = self.cheapest.mean_chance * (1 + ALIKE)
        rarer = [
            row
            for row in self.with_owner
            if row.every_yr > self.cheapest.every_yr and row.mean_chance <= most
        ]
        return max(rarer, key=lambda row: row.every_yr, default=None)

    def to_frame(self) -> pd.DataFrame:
        """Return all intervals as a DataFrame.

        Returns
        -------
        pandas.DataFrame
            By ``every_yr`` [yr] and ``owner_tests``: ``chance_low``, ``chance_median``,
            ``chance_high``, ``chance_mean`` [-], and ``floods``, ``found``, ``shown`` and ``met``
            ``_per_yr`` [1/yr], and ``cost_per_yr``, ``cost_low`` and ``cost_high`` [money/yr];
            ``.attrs["currency"]`` is the currency of the money.
        """
        import pandas as pd

        rows = [
            {
                "every_yr": row.every_yr,
                "owner_tests": row.owner_tests,
                "chance_low": row.chance.low,
                "chance_median": row.chance.median,
                "chance_high": row.chance.high,
                "chance_mean": row.mean_chance,
                "floods_per_yr": row.floods_per_yr,
                "found_per_yr": row.found_per_yr,
                "shown_per_yr": row.shown_per_yr,
                "met_per_yr": row.met_per_yr,
                "cost_per_yr": row.cost_per_yr,
                "cost_low": row.cost.low,
                "cost_high": row.cost.high,
            }
            for row in (*self.rows, *self.with_owner)
        ]
        frame = pd.DataFrame(rows).set_index(["every_yr", "owner_tests"])
        frame.attrs["currency"] = self.costs.currency
        return frame


def _cheapest(rows: Sequence[IntervalRow]) -> IntervalRow:
    least = min(row.cost_per_yr for row in rows)
    return max(
        (row for row in rows if row.cost_per_yr <= least * (1 + 1e-12)),
        key=lambda row: row.every_yr,
    )


def interval(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    circumstances: Circumstances | None = None,
    prices: Prices | None = None,
    *,
    every_yr: Sequence[float] = INTERVALS_YR,
    n_draws: int = 256,
    seed: int = 1,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    progress: Callable[[str], None] | None = None,
) -> Intervals:
    """Compare intervals between visits to a home.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        As for `riskkit.assess`.
    circumstances : Circumstances, optional
        What is known besides.
    prices : Prices, optional
        What things cost, before what the home file tells; invented figures where neither does.
    every_yr : sequence of float
        Times between visits to compare; infinite for never [yr].
    n_draws : int
        Draws of the home, a power of two [-].
    seed : int
        Of the draws [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    Intervals
        The comparison.

    Raises
    ------
    InputError
        Where there is no rain, or the home cannot be.

    References
    ----------
    christer_waller1984 : consequence per unit time
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    circumstances = Circumstances() if circumstances is None else circumstances
    need_type(circumstances, Circumstances, "circumstances", "write Circumstances(pump_age_yr=8)")
    if prices is not None:
        need_type(prices, Prices, "prices", "write Prices(visit=150)")
    need_numbers(every_yr, "intervals", "give years, such as [1, 2]", endless=True)
    circumstances, costs = circumstances_of(home, circumstances), costs_of(home, prices)
    storms = home_storms(
        home, rain_of(home, rain, seed), n_draws, seed, pattern=pattern,
        with_depth=costs.family is not LossFamily.OWN, progress=progress,
    )  # fmt: skip
    return intervals_of(home, storms, circumstances, costs, every_yr, seed)


def intervals_of(
    home: Home,
    storms: HomeStorms,
    circumstances: Circumstances,
    costs: Costs,
    every_yr: Sequence[float] = INTERVALS_YR,
    seed: int = 1,
) -> Intervals:
    """Compare intervals between visits where the storms are run already.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    storms : HomeStorms
        Its storms.
    circumstances : Circumstances
        What is known besides.
    costs : Costs
        What things cost.
    every_yr : sequence of float
        Times between visits; infinite for never [yr].
    seed : int
        Of the draws [-].

    Returns
    -------
    Intervals
        The comparison.

    References
    ----------
    christer_waller1984 : consequence per unit time
    """
    need_numbers(every_yr, "intervals", "give years, such as [1, 2]", endless=True)
    first = tuple(sorted(reliability_inputs(home, circumstances).certain - {"alarm_missing"}))
    mended = replace(circumstances, mended=circumstances.mended | set(first))
    known = reliability_inputs(home, mended)

    def rows(owner_yr: float) -> tuple[IntervalRow, ...]:
        tested = replace(mended, owner_test_every_yr=owner_yr)
        return tuple(
            _row(replace(known, visit_every_yr=float(every)), storms, tested, costs, seed)
            for every in sorted(every_yr)
        )

    alone = rows(math.inf)
    return Intervals(
        home_name=home.name,
        now=yearly_chance(home, circumstances, storms, seed),
        now_every_yr=known.visit_every_yr,
        rows=alone,
        with_owner=rows(OWNER_TEST_YR),
        costs=costs,
        verdict=_verdict(alone, storms),
        as_now=None if known.visit_every_yr is None else _row(known, storms, mended, costs, seed),
        mend_first=first,
    )


def _row(
    known: ReliabilityInputs,
    storms: HomeStorms,
    circumstances: Circumstances,
    costs: Costs,
    seed: int,
) -> IntervalRow:
    faults = home_faults(known, circumstances, storms, seed)
    by_cause = floods_of(storms, faults)
    floods = by_cause.total_per_yr
    chance = annual_chance_of(floods)
    seen, shown, met = (np.zeros(storms.n_draws) for _ in range(3))
    if storms.has_pump:
        seen, shown, met = _what_visits_find(storms, faults, known)
    every = math.inf if known.visit_every_yr is None else known.visit_every_yr
    cost = (
        costs.prices.of("visit") / every
        + costs.prices.of("repair") * seen
        + costs.prices.of("failure") * shown
        + loss_per_yr(storms, by_cause, costs)
    )
    told, owner = outcome(chance), math.isfinite(circumstances.owner_test_every_yr or math.inf)
    return IntervalRow(
        every, owner, Points(told.low, told.median, told.high), float(chance.mean()),
        float(floods.mean()), float(seen.mean()), float(shown.mean()), float(met.mean()), cost,
    )  # fmt: skip


def _what_visits_find(
    storms: HomeStorms, faults: Faults, known: ReliabilityInputs
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Found by tests, shown first by water or chance, and met by a storm, a year.

    A part that works fails at its rate; what lies hidden is shown at its rate; the rest is found.
    """
    seen, shown, works = np.zeros(storms.n_draws), np.zeros(storms.n_draws), np.ones(storms.n_draws)
    for key in PUMP_CAUSES:
        if key not in faults.hidden or key in known.certain:
            continue
        rate, lies = faults.per_yr[key], faults.hidden[key]
        by_use = lies * faults.shown_per_yr[causes()[key].part]
        seen = seen + faults.defects_per_yr[key] - rate + np.maximum(rate * (1 - lies) - by_use, 0)
        shown, works = shown + by_use, works * (1 - lies)
    reaches = np.isfinite(storms.dead_to_floor_s) * (1 - storms.overtopped)
    met = storms_per_yr(storms, reaches * (1 - works))
    return seen, shown, met


def _verdict(rows: Sequence[IntervalRow], storms: HomeStorms) -> VisitVerdict:
    if not storms.has_pump:
        return VisitVerdict.NO_PUMP
    oftenest, rarest = rows[0].mean_chance, rows[-1].mean_chance
    saved = rarest - oftenest
    helps = saved >= _LITTLE * rarest and saved >= _LEAST_CHANCE
    return VisitVerdict.HELPS if helps else VisitVerdict.HELPS_LITTLE
