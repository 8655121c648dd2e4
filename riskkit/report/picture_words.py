"""What is said beside a picture: that it is one home, its own time, and the range of the answer."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from riskkit.quantities.components import Component
from riskkit.report.path_words import reach_words
from riskkit.report.state_words import after_words
from riskkit.report.stop_words import has_second_pump, stop_words
from riskkit.report.time_words import about_duration, chance_and_time
from riskkit.risk.clock import Clock, MainTime

if TYPE_CHECKING:
    from riskkit.assessment import Assessment

__all__ = ["ONE_HOME", "picture_words", "time_words"]

ONE_HOME = (
    "One home, drawn the same in every storm: what is known of it as it is known, the rest at its "
    "median, and its ground such that its time is the median"
)
"""Which home the pictures and charts show."""
_AT_ONCE_S = 60.0
_IDLE = "The second pump stands still here; its effect is part of the chance of a year."


def time_words(answer: Assessment, stopped_at_s: float | None = None) -> str:
    """Say the times of the home in the picture, and beside them the range of the answer.

    Parameters
    ----------
    answer : Assessment
        The answer, whose headline storm the picture shows.
    stopped_at_s : float, optional
        When the pump stops in it, from the start of the storm, where the picture follows the water
        back from the level at which the pump should have started; else when it should have [s].

    Returns
    -------
    str
        Two sentences, for a pump that stops at the worst moment, for one that was left dead, or for
        none.
    """
    storm = answer.headline_storm
    trace, main = storm.trace, answer.main_time
    own_s = trace.to_rim_s if main is MainTime.RIM else trace.to_floor_s
    if math.isinf(own_s):
        own = "Here the pit does not overflow."
    else:
        how = "comes over the rim of the pit" if main is MainTime.RIM else "reaches the floor"
        own = f"water {how} {about_duration(own_s)} {after_words(trace.clock, answer.home)}"
        stop_s = trace.stop_s if stopped_at_s is None else stopped_at_s
        alarm_s = trace.stop_s + trace.to_alarm_s - stop_s
        if trace.clock is Clock.ALARM and trace.has_pump and math.isfinite(alarm_s):
            event = "after the stop" if stop_s > 0 else "after the rain begins"
            soon = "at once" if alarm_s < _AT_ONCE_S else f"{about_duration(alarm_s)} {event}"
            own = f"the alarm sounds {soon}, and {own}"
        own = f"Here {own}."
    if main is MainTime.DEAD:
        all_words = chance_and_time(answer.main_s(storm))
    else:
        all_words = reach_words(answer, storm)
    return f"{own} The answer is that of all simulated variants of the home: {all_words}."


def picture_words(answer: Assessment, stopped_at_s: float | None, *, stopped: bool) -> str:
    """Say what the moving picture shows.

    Parameters
    ----------
    answer : Assessment
        The answer, whose headline storm it shows.
    stopped_at_s : float, optional
        When the pump stops in it, from the start of the storm; None where it works or is not there
        [s].
    stopped : bool
        Whether the picture is of a pump that stops.

    Returns
    -------
    str
        Plain sentences.
    """
    words = _picture_words(answer, stopped_at_s, stopped=stopped)
    return f"{words} {_IDLE}" if has_second_pump(answer.home) else words


def _picture_words(answer: Assessment, stopped_at_s: float | None, *, stopped: bool) -> str:
    state = answer.state
    if not state.has(Component.PUMP):
        return f"{ONE_HOME}. There is no pump. {time_words(answer)}"
    if not stopped or stopped_at_s is None:
        return f"{ONE_HOME}. The pump works."
    if answer.main_time is MainTime.DEAD:
        return f"{ONE_HOME}. The pump does not work, as it was left. {time_words(answer)}"
    two, stops = has_second_pump(answer.home), stop_words(answer.home)
    if not state.warns:
        which = "Neither pump starts" if two else "The pump does not start"
        worst = f"{which} when it should, at the worst moment; no alarm warns."
    elif stopped_at_s > 0:
        worst = f"{stops[:1].upper()}{stops[1:]} so that the alarm sounds at the worst moment."
    else:
        which = "Both pumps" if two else "The pump"
        worst = f"{which} had stopped before the storm; the alarm sounds at the worst moment."
    return f"{ONE_HOME}. {worst} {time_words(answer, stopped_at_s)}"
