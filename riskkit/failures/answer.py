"""What is said of a home in a year: chance, its causes, how they come together, and the rates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.failures.circumstances import Circumstances
from riskkit.records import ByValue, FloatArray, freeze_arrays, need
from riskkit.records.shown import ShownInNotebook
from riskkit.reliability.annual import annual_chance_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CauseShare", "CutSet", "RateUsed", "SecondPumpSummary", "YearlyChance"]


@dataclass(frozen=True)
class CauseShare:
    """The part of one cause in the water on the floor.

    Parameters
    ----------
    cause : str
        ``"overtopped"``, ``"at_joint"``, ``"no_pump"``, or a cause of
        ``tables/failure_causes.csv``.
    share : float
        Its share of the chance; those of all causes add up to 1 [-].
    chance : float
        Its part of the chance in a year, mean of all draws; all parts add up to it [-].
    per_yr : float
        Floods a year by it, mean of all draws; they add up to those of all causes [1/yr].
    is_certain : bool
        The last visit found it and left it.
    """

    cause: str
    share: float
    chance: float
    per_yr: float
    is_certain: bool = False


@dataclass(frozen=True)
class CutSet:
    """Causes that together bring water onto the floor, none of which can be left out.

    Parameters
    ----------
    causes : tuple of str
        Their names.
    per_yr : float
        How often a year they meet and the floor gets wet, mean of all draws; a flood by two sets
        counts in both [1/yr].
    chance : float
        Their part of the chance of a year: that of each draw shared out by its floods, so that a
        draw that floods often does not count for more than a year; the parts of all sets add up to
        the chance [-].
    """

    causes: tuple[str, ...]
    per_yr: float
    chance: float


@dataclass(frozen=True, eq=False)
class RateUsed(ByValue):
    """One chance or rate that the answer rests on.

    Parameters
    ----------
    key : str
        Cause, or row of ``tables/response.csv``.
    kind : str
        ``"on_demand"`` [-], ``"per_yr"`` [1/yr], ``"unavailable"`` [-] or ``"response"``.
    values : Points
        Over the draws, in that unit [any].
    basis : str
        Key of its source, such as ``"judgement"``; ``"given"`` where the user said it.
    shown_per_yr : float
        How often a year use, or chance, shows such a fault while nobody tests, median of the draws;
        NaN where the question does not arise [1/yr].
    """

    key: str
    kind: str
    values: Points
    basis: str
    shown_per_yr: float = float("nan")


@dataclass(frozen=True)
class SecondPumpSummary:
    """What a second pump does in one storm when the first is lost.

    Parameters
    ----------
    return_period_yr : float
        Return period of the storm [yr].
    flow_m3_s : Points
        What it lifts at its start level [m3/s].
    carries_share : float
        Share of the draws in which it keeps the floor dry while it runs [-].
    outlasts_s : Points
        How long it runs in an outage, from its worst moment; infinite for as long as it takes [s].
    has_battery : bool
        Whether it lives on a battery.
    mains_m3_s : float
        Mains water that it takes while it runs, median of the draws; 0 where none drives it [m3/s].
    """

    return_period_yr: float
    flow_m3_s: Points
    carries_share: float
    outlasts_s: Points
    has_battery: bool
    mains_m3_s: float = 0.0


@dataclass(frozen=True, repr=False, eq=False)
class YearlyChance(ByValue, ShownInNotebook):
    """Chance of water on the floor in a year.

    Parameters
    ----------
    home_name : str
        Name of the home.
    circumstances : Circumstances
        What was known besides the home file.
    per_yr_by_draw : (n_draws,) array
        Floods a year of each draw of the home [1/yr].
    dry_per_yr_by_draw : (n_draws,) array
        Of these, those in dry weather [1/yr].
    causes : tuple of CauseShare
        The greatest first.
    cut_sets : tuple of CutSet
        The commonest first.
    rates : tuple of RateUsed
        What it rests on.
    commonest_share : float
        Share of the draws in which a dead pump floods the floor in the commonest storm that counts:
        where it is large, still commoner rain would do so too, and the chance is too small [-].
    certain : tuple of str
        Causes that the last visit found and left, and a missing alarm.
    second : SecondPumpSummary, optional
        What the second pump does; None where there is none.
    """

    home_name: str
    circumstances: Circumstances
    per_yr_by_draw: FloatArray
    dry_per_yr_by_draw: FloatArray
    causes: tuple[CauseShare, ...]
    cut_sets: tuple[CutSet, ...]
    rates: tuple[RateUsed, ...]
    commonest_share: float
    certain: tuple[str, ...] = ()
    second: SecondPumpSummary | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)
        need(bool(np.all(self.per_yr_by_draw >= 0)), "floods", "there are fewer than none a year")

    @property
    def chance_by_draw(self) -> FloatArray:
        """Chance of each draw that a year has water on the floor [-]."""
        return annual_chance_of(self.per_yr_by_draw)

    @property
    def chance(self) -> Points:
        """Chance in a year, eight in ten draws between low and high [-]."""
        found = outcome(self.chance_by_draw)
        return Points(found.low, found.median, found.high)

    @property
    def mean(self) -> float:
        """Chance in a year, mean of all draws: what to expect of many such homes [-]."""
        return float(self.chance_by_draw.mean())

    @property
    def floods_per_yr(self) -> float:
        """Floods a year, mean of all draws [1/yr]."""
        return float(self.per_yr_by_draw.mean())

    @property
    def one_year_in(self) -> Points:
        """The N of "1 year in N"; low belongs to the greatest chance, infinite for never [yr]."""
        chance = self.chance
        low, median, high = (
            1 / each if each > 0 else float("inf")
            for each in (chance.high, chance.median, chance.low)
        )
        return Points(low, median, high)

    @property
    def dry_share(self) -> float:
        """Share of the floods that come in dry weather [-]."""
        total = self.per_yr_by_draw.sum()
        return float(self.dry_per_yr_by_draw.sum() / total) if total > 0 else 0.0

    def to_frame(self) -> pd.DataFrame:
        """Return the causes as a DataFrame, the greatest first.

        Returns
        -------
        pandas.DataFrame
            By ``cause``: ``share`` of the chance [-], ``chance`` [-], ``floods_per_yr`` [1/yr] and
            ``is_certain``.
        """
        import pandas as pd

        rows = [
            {
                "cause": each.cause,
                "share": each.share,
                "chance": each.chance,
                "floods_per_yr": each.per_yr,
                "is_certain": each.is_certain,
            }
            for each in self.causes
        ]
        return pd.DataFrame(
            rows, columns=["cause", "share", "chance", "floods_per_yr", "is_certain"]
        ).set_index("cause")

    def __repr__(self) -> str:
        chance = self.chance
        return (
            f"YearlyChance({self.home_name!r}, mean {self.mean:.2g} a year; median "
            f"{chance.median:.2g}, 8 in 10 variants {chance.low:.2g} to {chance.high:.2g})"
        )
