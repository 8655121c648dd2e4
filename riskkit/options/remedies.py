"""What would help a home: each remedy is tried in the model; only what makes a difference is said.

Before and after are worked out with the same draws, so that their difference is that of the remedy.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from riskkit.assessment import assess, storms_with
from riskkit.options.changes import Change, remedies
from riskkit.options.limits import LONGER, LONGER_S, SURER
from riskkit.risk.storm_water import StormWater
from riskkit.threads import at_once

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.options.ranking import Ranking

__all__ = ["DAY_S", "Gain", "Remedy", "best_homes", "try_remedies"]

DAY_S = 86_400.0
# A difference worth saying: what a person would call longer, surer or seldomer
_SELDOMER = 0.8
_FEW_STARTS = 4.0  # an hour; fewer do no harm


class Gain(Enum):
    """What a remedy can make better."""

    TIME = "time"
    CHANCE = "chance"
    OVERFLOW = "overflow"
    STARTS = "starts"


@dataclass(frozen=True)
class Remedy:
    """One remedy, tried.

    Parameters
    ----------
    change : Change
        What is done.
    is_known : bool
        Whether the home file says how it is now.
    before, after : tuple of StormAnswer
        The storm of the first sentence and the greatest one, without and with it; see
        `riskkit.assessment.storms_with` for what is told of those with it.
    """

    change: Change
    is_known: bool
    before: tuple[StormAnswer, ...]
    after: tuple[StormAnswer, ...]

    @property
    def gains(self) -> tuple[Gain, ...]:
        """What gets better; empty where it makes no difference."""
        first, then = self.before[0], self.after[0]
        found = {
            Gain.TIME: _time_gains(first, then),
            Gain.CHANCE: _chance_gains(first, then),
            Gain.OVERFLOW: _overflow_gains(self.before[-1], self.after[-1]),
            Gain.STARTS: _starts_gain(first, then),
        }
        return tuple(gain for gain, better in found.items() if better)

    @property
    def helps(self) -> bool:
        """Whether anything gets better by enough to be worth saying."""
        return bool(self.gains)


def _chance_gains(before: StormAnswer, after: StormAnswer) -> bool:
    old, new = before.worst_stop.to_floor_s, after.worst_stop.to_floor_s
    return new.never_share >= old.never_share + SURER


def _time_gains(before: StormAnswer, after: StormAnswer) -> bool:
    """Compare the median times of all draws, 'never' the longest, as the answer tells them."""
    was, now = before.worst_stop.to_floor_s, after.worst_stop.to_floor_s
    if now.never_share <= was.never_share - SURER:
        return False  # more that flood are no gain, however late
    old, new = was.median, now.median
    # "more than a day now, more than a day with it" says nothing; 'never' is told as a chance
    if old > DAY_S or math.isinf(new):
        return False
    return new >= LONGER * old and new >= old + LONGER_S


def _overflow_gains(before: StormAnswer, after: StormAnswer) -> bool:
    return after.pump_working.floor_dry_share >= before.pump_working.floor_dry_share + SURER


def _starts_gain(before: StormAnswer, after: StormAnswer) -> bool:
    old, new = before.pump_working.starts_per_hour.median, after.pump_working.starts_per_hour.median
    return old >= _FEW_STARTS and new <= _SELDOMER * old and round(new) != round(old)


def try_remedies(
    answer: Assessment, *, progress: Callable[[str], None] | None = None
) -> tuple[Remedy, ...]:
    """Try every remedy that is not in place yet.

    Parameters
    ----------
    answer : Assessment
        The answer for the home as it is.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    tuple of Remedy
        Those that help first, the most minutes first; then those that do not.
    """
    settings = answer.settings
    told_yr = {settings.headline_yr, settings.return_periods_yr[-1]}
    before, known = _told(answer.storms, told_yr), StormWater()
    changes = [
        one for one in remedies() if one.fits(answer.home) and not one.is_in_place(answer.home)
    ]
    changes.reverse()  # those of pit and pump first: they share the water of the home as it is

    def with_it(change: Change) -> Remedy:
        # all storms, for each counts with the commoner ones
        storms = storms_with(answer, change.applied(answer.home), known)
        is_known = change.is_known(answer.home)
        return Remedy(change, is_known, before, _told(storms, told_yr))

    tried, found = [], at_once(with_it, changes, settings.n_draws)
    for at in range(1, len(changes) + 1):
        if progress is not None:
            progress(f"trying what would help, {at} of {len(changes)}")
        tried.append(next(found))
    tried.reverse()
    return tuple(sorted(tried, key=lambda remedy: (not remedy.helps, -_order(remedy))))


def best_homes(
    answer: Assessment,
    ranking: Ranking,
    most: int,
    *,
    progress: Callable[[str], None] | None = None,
) -> tuple[tuple[Change, Assessment], ...]:
    """Answer the home with each of the remedies that help most, from the same draws.

    Parameters
    ----------
    answer : Assessment
        The answer for the home as it is.
    ranking : Ranking
        What helps it, the best first; only what changes its file can be answered.
    most : int
        How many remedies at most [-].
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    tuple of (Change, Assessment)
        In the order of the ranking.
    """
    changes = {change.name: change for change in remedies()}
    names = [row.remedy.name for row in ranking.rows if row.helps]
    helpful = [changes[name] for name in names if name in changes][:most]
    found = []
    for at, change in enumerate(helpful, start=1):
        if progress is not None:
            progress(f"working out the home with remedy {at} of {len(helpful)}")
        after = assess(change.applied(answer.home), answer.place_rain, answer.settings)
        found.append((change, after))
    return tuple(found)


def _told(
    storms: tuple[StormAnswer, ...], return_periods_yr: set[float]
) -> tuple[StormAnswer, ...]:
    return tuple(s for s in storms if s.return_period_yr in return_periods_yr)


def _order(remedy: Remedy) -> float:
    """How much longer it takes, in seconds, or the chance gained where it takes for ever."""
    old, new = remedy.before[0].worst_stop.to_floor_s, remedy.after[0].worst_stop.to_floor_s
    gained = new.never_share - old.never_share
    if math.isinf(new.median):
        return 1e9 + gained if math.isfinite(old.median) else gained
    return new.median - old.median if math.isfinite(old.median) else gained
