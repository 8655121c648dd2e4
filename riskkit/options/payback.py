"""What a remedy costs against what it saves, draw by draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.ensemble.quantiles import Outcome, Points, outcome
from riskkit.failures.money import RemedyCost
from riskkit.options.ties import ALIKE_ERRORS, error_of_ratio
from riskkit.records import ByValue, FloatArray, freeze_arrays

__all__ = ["CostBenefit", "payback_of"]


@dataclass(frozen=True, eq=False)
class CostBenefit(ByValue):
    """Cost and savings of something that is done at a home.

    Parameters
    ----------
    cost : RemedyCost
        What it costs.
    loss_before, loss_after : (n_draws,) arrays
        Loss of a year without and with it, under the same draws [money/yr].
    """

    cost: RemedyCost
    loss_before: FloatArray
    loss_after: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def saved_by_draw(self) -> FloatArray:
        """What it saves of the loss of a year; below zero where it adds some [money/yr]."""
        return np.asarray(self.loss_before - self.loss_after)

    @property
    def saved(self) -> Points:
        """The same, eight in ten draws between low and high [money/yr]."""
        found = outcome(self.saved_by_draw)
        return Points(found.low, found.median, found.high)

    @property
    def mean_saved(self) -> float:
        """The same, mean of all draws: what to expect of many such homes [money/yr]."""
        return float(self.saved_by_draw.mean())

    @property
    def pays(self) -> bool:
        """Whether it saves more than it costs in the mean."""
        return self.mean_saved > self.cost.per_yr

    @property
    def saved_error(self) -> float:
        """Two standard errors of what it saves in the mean, by the picking of draws [money/yr]."""
        saved = self.saved_by_draw
        return ALIKE_ERRORS * error_of_ratio(saved, np.zeros_like(saved))

    @property
    def is_within_error(self) -> bool:
        """Whether its gain may as well be none: of what costs nothing at once, the gain is net."""
        gain = self.mean_saved - (0.0 if self.cost.once else self.cost.per_yr)
        return self.saved_error > 0.0 and abs(gain) <= self.saved_error

    @property
    def mean_payback_yr(self) -> float:
        """Years until it has paid for itself by the mean of all draws; infinite for never [yr]."""
        return float(payback_of(self.cost, np.array([self.mean_saved]))[0])

    @property
    def mean_payback_limits_yr(self) -> tuple[float, float]:
        """The same by what is saved in the mean, two standard errors up and down [yr]."""
        ends = self.mean_saved + self.saved_error * np.array([1.0, -1.0])
        soon, late = payback_of(self.cost, ends)
        return float(soon), float(late)

    @property
    def pays_back_share(self) -> float:
        """Share of the draws in which it pays for itself while it lasts [-]."""
        return 1.0 - self.payback_yr.never_share

    @property
    def payback_yr(self) -> Outcome:
        """Years until it has paid for itself, over the draws; infinite for never [yr]."""
        return outcome(payback_of(self.cost, self.saved_by_draw))


def payback_of(cost: RemedyCost, saved_per_yr: FloatArray) -> FloatArray:
    """Years until what is paid at once has come back, without interest.

    Parameters
    ----------
    cost : RemedyCost
        What it costs.
    saved_per_yr : (n_draws,) array
        What it saves [money/yr].

    Returns
    -------
    (n_draws,) array
        Years; infinite where the upkeep takes all, or where it lasts for less [yr].

    References
    ----------
    arithmetic : amount over yearly savings
    """
    kept = np.asarray(saved_per_yr, dtype=np.float64) - cost.upkeep_per_yr
    years = np.where(kept > 0, cost.once / np.where(kept > 0, kept, 1.0), np.inf)
    return np.asarray(np.where(years <= cost.lasts_yr, years, np.inf))
