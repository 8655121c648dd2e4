"""Both paths of the water to the floor: the minutes of one never pass for those of the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.report.number_words import cases_words
from riskkit.report.time_words import chance_and_time, chance_words, likely_and_soon
from riskkit.risk.shown import LIKELY_JOINT, paths_apart

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer

__all__ = ["LIKELY_JOINT", "RARE_JOINT", "joint_counts", "reach_words"]

RARE_JOINT = 0.02
"""Chance of it from which a pump is not said to keep up with a storm without a word of it [-]."""


def joint_counts(answer: Assessment) -> bool:
    """Tell whether the paths are told apart, in every storm alike so that its rows compare.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    bool
        Whether in some storm water is likely to come in at the joint before the pit overflows.
    """
    return paths_apart([storm.worst_stop.joint_first_share for storm in answer.storms])


def reach_words(answer: Assessment, storm: StormAnswer) -> str:
    """Say how likely water reaches the floor and how soon, by path where both count.

    Parameters
    ----------
    answer : Assessment
        The answer.
    storm : StormAnswer
        One of its storms.

    Returns
    -------
    str
        A phrase that begins with "chance".
    """
    worst = storm.worst_stop
    if not joint_counts(answer):
        return chance_and_time(worst.to_floor_s)
    rim = likely_and_soon(worst.to_rim_s)
    first = cases_words(worst.joint_first_share, storm.n_draws)
    return (
        f"chance {chance_words(worst.to_floor_s)}, in {first} cases first "
        f"where wall and floor meet; over the rim of the pit {rim}"
    )
