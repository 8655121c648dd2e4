"""What breaking hours down into minutes does to the years of a home, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from riskkit.report.number_words import two_digits
from riskkit.report.replay_words import within_words
from riskkit.years.minutes_effect import MinutesEffect, TwoWays, minutes_effect

if TYPE_CHECKING:
    from riskkit.years.records import Replay

__all__ = ["minutes_line"]

_HOUR_S = 3600.0
_LITTLE = 0.005  # of a time: less is said as none


def minutes_line(replay: Replay) -> str:
    """Say how counts and times differ from those of even hours.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    str
        Two or three sentences.
    """
    effect = minutes_effect(replay)
    if not effect.heavy_storms:
        return "No storm holds an hour heavy enough to be broken down into minutes."
    hour, at_all = (
        next(row for row in effect.floods if row.within_s == limit) for limit in (_HOUR_S, np.inf)
    )
    return (
        f"Hours of heavy rain, which {effect.heavy_storms} of the {effect.storms} storms hold, are "
        "broken down into minutes by the ratios that official tables print. "
        f"{_counts(effect, hour, at_all, replay)}{_times(effect)}"
    )


def _counts(effect: MinutesEffect, hour: TwoWays, at_all: TwoWays, replay: Replay) -> str:
    soon = within_words(hour.within_s, replay)
    return (
        f"In {effect.draws} variants run both ways, a pump that stops in a storm floods {soon} "
        f"{two_digits(hour.minutes)} times a year in place of {two_digits(hour.even)} with even "
        f"hours, and at all {two_digits(at_all.minutes)} in place of {two_digits(at_all.even)}."
    )


def _times(effect: MinutesEffect) -> str:
    change = effect.time_change
    if change is None:
        return ""
    low, median, high = (_percent(x) for x in (change.low, change.median, change.high))
    return f" The time to the floor is {median} in the middle; 8 of 10: {low} to {high}."


def _percent(share: float) -> str:
    if abs(share) < _LITTLE:
        return "the same"
    return f"{abs(share) * 100:.0f} % {'longer' if share > 0 else 'shorter'}"
