"""One remedy that was tried, beside the home as it is, and the order of several."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from riskkit.ensemble.quantiles import Outcome
from riskkit.failures.answer import YearlyChance
from riskkit.options.limits import LONGER, LONGER_S, SURER
from riskkit.options.payback import CostBenefit
from riskkit.options.ties import error_of_ratio, ratio_to, tie_groups
from riskkit.options.trials import Tried

__all__ = ["RankedRemedy", "held_against_lesser", "in_order"]

_LESSER = {"bigger_pump": "new_pump", "bigger_battery": "new_battery", "ground": "gap"}
_FIRST = frozenset({"mend", "first_pump"})  # before anything else that helps
# A difference of the chance in a year that is worth saying (judgement)
_FEWER, _LEAST_CHANCE = 0.05, 5e-4


@dataclass(frozen=True)
class RankedRemedy:
    """What a remedy does for a home.

    Parameters
    ----------
    remedy : Tried
        What was tried.
    before_s, after_s : Outcome
        To the floor in the 10-year storm, from the event of `Clock` for the home as it is, the pump
        stopping at the worst moment, and a second one when its battery is spent; infinite for
        never [s].
    chance_before, chance_after : YearlyChance
        Chance of water on the floor in a year, of the draws that were picked.
    cost_benefit : CostBenefit, optional
        Cost and savings; None where its cost is not known.
    no_better_than : str
        A lesser remedy that does as much here; empty where there is none.
    of_all : YearlyChance, optional
        The home as it is, of all draws out of which those were picked. Means of the picked are
        held to it, in the ratio of the two; they are told as they are where it is left out.
    wet_of_all : float, optional
        Share of all those draws in which that storm brings water to the floor of the home as it is,
        to which the shares of the picked are held likewise [-].
    tie_group : int
        Of what helps, counted from 1: those of one number help about equally; 0 where it does not
        help [-].
    """

    remedy: Tried
    before_s: Outcome
    after_s: Outcome
    chance_before: YearlyChance
    chance_after: YearlyChance
    cost_benefit: CostBenefit | None = None
    no_better_than: str = ""
    of_all: YearlyChance | None = None
    wet_of_all: float | None = None
    tie_group: int = 0

    @property
    def cost_per_avoided(self) -> float:
        """Cost for each year with water that is avoided; infinite where none is, NaN if unknown."""
        if self.cost_benefit is None:
            return math.nan
        return (
            self.cost_benefit.cost.per_yr / self.saved_chance if self.saved_chance > 0 else math.inf
        )

    @property
    def floods_before_per_yr(self) -> float:
        """Floods a year without it, mean of all draws [1/yr]."""
        return self._floods_ratio * self.chance_before.floods_per_yr

    @property
    def floods_after_per_yr(self) -> float:
        """Floods a year with it, mean of all draws [1/yr]."""
        return self._floods_ratio * self.chance_after.floods_per_yr

    @property
    def saved_per_yr(self) -> float:
        """Floods a year that it saves, mean of all draws; below zero where it adds some [1/yr]."""
        return self.floods_before_per_yr - self.floods_after_per_yr

    @property
    def mean_before(self) -> float:
        """Chance in a year without it, mean of all draws [-]."""
        return self._ratio * self.chance_before.mean

    @property
    def mean_after(self) -> float:
        """Chance in a year with it, mean of all draws [-]."""
        return min(1.0, self._ratio * self.chance_after.mean)

    @property
    def saved_chance(self) -> float:
        """By how much the chance in a year gets less, mean of all draws [-]."""
        return self.mean_before - self.mean_after

    @property
    def saved_error(self) -> float:
        """Standard error of that by the picking of draws, given the chance of today [-]."""
        before = self.chance_before.chance_by_draw
        return self._ratio * error_of_ratio(before - self.chance_after.chance_by_draw, before)

    def better_by(self, other: RankedRemedy) -> tuple[float, float]:
        """Tell how much more chance it saves than another remedy of the same home.

        Parameters
        ----------
        other : RankedRemedy
            Tried with the same draws.

        Returns
        -------
        tuple of float
            Mean of all draws, and its standard error [-].
        """
        apart = other.chance_after.chance_by_draw - self.chance_after.chance_by_draw
        error = error_of_ratio(apart, self.chance_before.chance_by_draw)
        return other.mean_after - self.mean_after, self._ratio * error

    @property
    def _ratio(self) -> float:
        return 1.0 if self.of_all is None else ratio_to(self.of_all.mean, self.chance_before.mean)

    @property
    def _floods_ratio(self) -> float:
        if self.of_all is None:
            return 1.0
        return ratio_to(self.of_all.floods_per_yr, self.chance_before.floods_per_yr)

    @property
    def dry_before(self) -> float:
        """Share of all draws whose floor stays dry in the 10-year storm without it [-]."""
        return 1.0 - self._wet_ratio * (1.0 - self.before_s.never_share)

    @property
    def dry_after(self) -> float:
        """Share of all draws whose floor stays dry in the 10-year storm with it [-]."""
        return max(0.0, 1.0 - self._wet_ratio * (1.0 - self.after_s.never_share))

    @property
    def _wet_ratio(self) -> float:
        if self.wet_of_all is None:
            return 1.0
        return ratio_to(self.wet_of_all, 1.0 - self.before_s.never_share)

    @property
    def gained_s(self) -> float:
        """Time that it gains in the median of all draws; 0 where that is never reached [s]."""
        old, new = self.before_s.median, self.after_s.median
        return new - old if math.isfinite(old) and math.isfinite(new) else 0.0

    @property
    def helps_chance(self) -> bool:
        """Whether it saves a twentieth of the chance."""
        return self.saved_chance >= _worth_saying(self.mean_before)

    @property
    def helps_time(self) -> bool:
        """Whether it gains time worth saying, or more draws in which the floor stays dry."""
        if self.dry_after >= self.dry_before + SURER:
            return True
        if self.dry_after < self.dry_before - SURER:
            return False  # more that flood are no gain, however late
        longer = self.after_s.median >= LONGER * self.before_s.median
        return self.gained_s >= LONGER_S and longer

    @property
    def helps(self) -> bool:
        """Whether it helps here at all, and more than the lesser remedy that it contains."""
        return not self.no_better_than and (self.helps_chance or self.helps_time)


def in_order(rows: Sequence[RankedRemedy]) -> list[RankedRemedy]:
    """Put the best first; no seed decides on the order of what helps about equally.

    Parameters
    ----------
    rows : sequence of RankedRemedy
        Tried with the same draws.

    Returns
    -------
    list of RankedRemedy
        As `Ranking.rows` tells.
    """
    firsts = [row for row in rows if row.helps and row.remedy.name in _FIRST]
    later = [row for row in rows if row.helps and row.remedy.name not in _FIRST]
    by_time = [row for row in later if not row.helps_chance]
    by_time.sort(key=lambda row: (-_more_dry(row), -row.gained_s, row.remedy.name))
    by_chance = [row for row in later if row.helps_chance]
    by_chance.sort(key=lambda row: (row.mean_after, row.remedy.name))
    firsts.sort(key=lambda row: (row.mean_after, row.remedy.name))
    numbers: tuple[int, ...] = ()
    if by_chance:
        today = by_chance[0].chance_before.chance_by_draw
        least = _worth_saying(float(today.mean()))
        left = [row.chance_after.chance_by_draw for row in by_chance]
        numbers = tie_groups(left, today, least)
    tied = [
        replace(row, tie_group=len(firsts) + number)
        for row, number in zip(by_chance, numbers, strict=True)
    ]
    tied.sort(key=lambda row: (row.tie_group, _cost_per_yr(row), row.remedy.name))
    last = len(firsts) + max(numbers, default=0)
    return [
        *(replace(row, tie_group=at) for at, row in enumerate(firsts, start=1)),
        *tied,
        *(replace(row, tie_group=last + at) for at, row in enumerate(by_time, start=1)),
        *(row for row in rows if not row.helps),
    ]


def _worth_saying(chance: float) -> float:
    """Difference from which a remedy is said to lower a chance."""
    return max(_FEWER * chance, _LEAST_CHANCE)


def _more_dry(row: RankedRemedy) -> float:
    """Share of the draws that stay dry with it alone; 0 where that is not worth saying."""
    more = row.dry_after - row.dry_before
    return more if more >= SURER else 0.0


def _cost_per_yr(row: RankedRemedy) -> float:
    return math.inf if row.cost_benefit is None else row.cost_benefit.cost.per_yr


def held_against_lesser(rows: Sequence[RankedRemedy]) -> list[RankedRemedy]:
    """Mark what holds a lesser remedy and does no more: a bigger pump is a new one too.

    Parameters
    ----------
    rows : sequence of RankedRemedy
        Tried with the same draws.

    Returns
    -------
    list of RankedRemedy
        The same rows, in the same order.
    """
    by_name = {row.remedy.name: row for row in rows}
    for name, lesser in _LESSER.items():
        if name not in by_name or lesser not in by_name:
            continue
        much, little = by_name[name], by_name[lesser]
        against = replace(
            much, before_s=little.after_s, chance_before=little.chance_after,
            of_all=None, wet_of_all=None,
        )  # fmt: skip
        if not (against.helps_chance or against.helps_time):
            by_name[name] = replace(much, no_better_than=lesser)
    return list(by_name.values())
