"""Remedies in pairs, and the best set for a budget, under common draws."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from riskkit.failures.circumstances import Circumstances
from riskkit.failures.money import Costs, RemedyCost, loss_per_yr
from riskkit.failures.yearly import floods_at
from riskkit.home.home import Home
from riskkit.options.changes import Change
from riskkit.options.payback import CostBenefit
from riskkit.options.trials import Trials, together
from riskkit.records import ByValue, FloatArray
from riskkit.reliability.annual import annual_chance_of
from riskkit.threads import at_once

__all__ = ["RemedySet", "RemedySets", "best_set", "pairs_of", "set_cost"]

_MOST_TOGETHER = 6  # remedies of which sets are made, the best alone first
_ALIKE = 0.02  # of the chance that is left, below which the cheaper set is better (judgement)


@dataclass(frozen=True, eq=False)
class RemedySet(ByValue):
    """Several remedies done together.

    Parameters
    ----------
    names : tuple of str
        Their keys.
    chance_by_draw : (n_draws,) array
        Chance of water on the floor in a year with all of them, of the draws picked [-].
    cost_benefit : CostBenefit or None
        Cost and savings; None where the cost of one of them is not known.
    ratio : float
        Chance of today of all draws, over that of the picked, to which their mean is held [-].
    """

    names: tuple[str, ...]
    chance_by_draw: FloatArray
    cost_benefit: CostBenefit | None
    ratio: float = 1.0

    @property
    def mean_chance(self) -> float:
        """Chance in a year, mean of all draws [-]."""
        return min(1.0, self.ratio * float(self.chance_by_draw.mean()))


@dataclass
class RemedySets:
    """Sets of remedies of one home, tried under common draws.

    Parameters
    ----------
    home : Home
        The home as it is.
    circumstances : Circumstances
        What is known besides.
    changes : tuple of Change
        Changes of its file, by name.
    trials : Trials
        Storms that were run.
    costs : Costs
        What things cost.
    visit_every_yr : float
        Time between visits now; infinite for never [yr].
    ratio : float
        As for `RemedySet` [-].
    """

    home: Home
    circumstances: Circumstances
    changes: tuple[Change, ...]
    trials: Trials
    costs: Costs
    visit_every_yr: float
    ratio: float

    def loss(self, home: Home, circumstances: Circumstances) -> tuple[FloatArray, FloatArray]:
        """Return the chance and the loss of a year of a changed home, draw by draw.

        Parameters
        ----------
        home : Home
            The home.
        circumstances : Circumstances
            What is known besides.

        Returns
        -------
        tuple of (n_draws,) array
            Chance of the draws picked [-], and loss held to that of all [money/yr].
        """
        storms = self.trials.storms(home)
        floods = floods_at(home, circumstances, storms, self.trials.seed)
        chance = annual_chance_of(floods.total_per_yr)
        return chance, self.ratio * loss_per_yr(storms, floods, self.costs)

    def of(self, names: Sequence[str]) -> RemedySet:
        """Try remedies together.

        Parameters
        ----------
        names : sequence of str
            Their keys.

        Returns
        -------
        RemedySet
            All of them together.
        """
        after = together(names, self.home, self.circumstances, self.changes)
        chance, loss = self.loss(*after)
        cost = set_cost([self.costs.of_remedy(name, self.visit_every_yr) for name in names])
        worth = None
        if cost is not None:
            worth = CostBenefit(cost, self.loss(self.home, self.circumstances)[1], loss)
        return RemedySet(tuple(names), chance, worth, self.ratio)


def set_cost(costs: Iterable[RemedyCost | None]) -> RemedyCost | None:
    """Return what several remedies cost together.

    Parameters
    ----------
    costs : iterable of RemedyCost or None
        What each costs.

    Returns
    -------
    RemedyCost or None
        It lasts so long that the cost of a year is the sum of theirs; None where one is not known.
    """
    listed = list(costs)
    known = [cost for cost in listed if cost is not None]
    if len(known) < len(listed) or not known:
        return None
    once = sum(cost.once for cost in known)
    yearly = sum(cost.once / cost.lasts_yr for cost in known)
    return RemedyCost(
        once=once,
        lasts_yr=once / yearly if yearly > 0 else max(cost.lasts_yr for cost in known),
        upkeep_per_yr=sum(cost.upkeep_per_yr for cost in known),
        is_invented=any(cost.is_invented for cost in known),
    )


def pairs_of(
    sets: RemedySets, names: Sequence[str], tell: Callable[[str], None]
) -> tuple[RemedySet, ...]:
    """Try remedies in pairs.

    Parameters
    ----------
    sets : RemedySets
        Of the home.
    names : sequence of str
        Remedies that help, the best first.
    tell : callable
        Told in words what is being done.

    Returns
    -------
    tuple of RemedySet
        The least chance first.
    """
    tell("trying remedies in pairs")
    made = at_once(sets.of, combinations(names[:_MOST_TOGETHER], 2), sets.trials.n_draws)
    return tuple(sorted(made, key=lambda each: each.mean_chance))


def best_set(
    sets: RemedySets, names: Sequence[str], budget: float, tell: Callable[[str], None]
) -> RemedySet | None:
    """Find the set of remedies that leaves the least chance for what may be spent at once.

    Of sets that leave about the same the one that costs least in a year is taken.

    Parameters
    ----------
    sets : RemedySets
        Of the home.
    names : sequence of str
        Remedies that help, the best first.
    budget : float
        What may be spent at once [money].
    tell : callable
        Told in words what is being done.

    Returns
    -------
    RemedySet or None
        None where nothing that helps can be paid.

    References
    ----------
    arithmetic : all sets are tried
    """
    tell("looking for the best set for the budget")
    cost = {name: sets.costs.of_remedy(name, sets.visit_every_yr) for name in names}
    paid = [name for name in names if (c := cost[name]) is not None and c.once <= budget]
    paid = paid[:_MOST_TOGETHER]
    listed = [
        each
        for size in range(1, len(paid) + 1)
        for each in combinations(paid, size)
        if sum(c.once for name in each if (c := cost[name]) is not None) <= budget
    ]
    # a set within another that can be paid leaves no less: only the widest are worked out first
    widest = [each for each in listed if not any(set(each) < set(other) for other in listed)]
    made = list(at_once(sets.of, widest, sets.trials.n_draws))
    if not made:
        return None
    least = min(made, key=lambda each: each.mean_chance)
    return _trimmed(sets, least)


def _trimmed(sets: RemedySets, found: RemedySet) -> RemedySet:
    """Leave out, one by one, what adds next to nothing, the dearest of a year first."""
    kept = found
    most = found.mean_chance * (1 + _ALIKE) + 1e-6

    def dear(name: str) -> float:
        cost = sets.costs.of_remedy(name, sets.visit_every_yr)
        return 0.0 if cost is None else -cost.per_yr

    for name in sorted(found.names, key=dear):
        fewer = tuple(each for each in kept.names if each != name)
        if fewer:
            tried = sets.of(fewer)
            if tried.mean_chance <= most:
                kept = tried
    return kept
