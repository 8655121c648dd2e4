"""What is said beside a picture: that it is one home, its own time, and the range of the answer."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from riskkit.report.words import about_duration, chance_and_time

if TYPE_CHECKING:
    from riskkit.assessment import StormAnswer

__all__ = ["ONE_HOME", "picture_words", "time_words"]

ONE_HOME = (
    "One home, the same in every storm: what is known of it as it is known, the rest at its middle"
)
"""Which home the pictures and charts show."""


def time_words(storm: StormAnswer) -> str:
    """Say the time of the home in the picture, and beside it the range of the answer.

    Parameters
    ----------
    storm : StormAnswer
        The storm that the picture shows.

    Returns
    -------
    str
        Two sentences, for a pump that stops at the worst moment.
    """
    own_s = storm.trace.to_floor_s
    if math.isinf(own_s):
        own = "Here water does not reach the floor."
    else:
        own = f"Here water reaches the floor {about_duration(own_s)} after the alarm."
    answer = chance_and_time(storm.worst_s)
    return f"{own} The answer is that of all likely forms of the home: {answer}."


def picture_words(storm: StormAnswer, stopped_at_s: float | None) -> str:
    """Say what the moving picture shows.

    Parameters
    ----------
    storm : StormAnswer
        The storm that it shows.
    stopped_at_s : float, optional
        When the pump stops in it, from the start of the storm; None where it works [s].

    Returns
    -------
    str
        Plain sentences.
    """
    if stopped_at_s is None:
        return f"{ONE_HOME}. The pump works."
    stop = (
        "The pump stops so that" if stopped_at_s > 0 else "The pump had stopped before the storm;"
    )
    return f"{ONE_HOME}. {stop} the alarm sounds at the worst moment. {time_words(storm)}"
