"""What a remedy makes better, in plain sentences."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from riskkit.options.remedies import DAY_S, Gain
from riskkit.quantities.variables import counted
from riskkit.report.number_words import about_share
from riskkit.report.state_words import since_words
from riskkit.report.time_words import about_duration
from riskkit.risk.clock import Clock

if TYPE_CHECKING:
    from riskkit.assessment import StormAnswer
    from riskkit.options.remedies import Remedy

__all__ = ["gain_words"]


def gain_words(remedy: Remedy) -> tuple[str, ...]:
    """Say what gets better.

    Parameters
    ----------
    remedy : Remedy
        A remedy that was tried.

    Returns
    -------
    tuple of str
        A sentence for each gain.
    """
    ends = {Gain.OVERFLOW: -1}  # told of the greatest storm, the rest of that of the first sentence
    return tuple(
        _WORDS[gain](remedy.before[ends.get(gain, 0)], remedy.after[ends.get(gain, 0)])
        for gain in remedy.gains
    )


def _chance(before: StormAnswer, after: StormAnswer) -> str:
    stopped = " with the pump stopped" if before.trace.has_pump else ""
    return (
        f"The chance that the pit does not overflow{stopped} goes from "
        f"{about_share(before.worst_s.never_share)} to {about_share(after.worst_s.never_share)}."
    )


def _time(before: StormAnswer, after: StormAnswer) -> str:
    old, new = before.worst_s.median, after.worst_s.median
    clock = before.trace.clock
    since = "From alarm" if clock is Clock.ALARM else since_words(clock).capitalize()
    now = f"{since} to floor: {about_duration(old)} now"
    if new > DAY_S:
        return f"{now}, more than a day with it."
    # the gain itself: two rounded times, side by side, make two minutes look like five
    return f"{now}, about {about_duration(new - old)} more with it."


def _overflow(before: StormAnswer, after: StormAnswer) -> str:
    keeps = "the pump keeps the pit from overflowing"
    if not before.trace.has_pump:
        keeps = "the pit does not overflow"
    return (
        f"In a {before.return_period_yr:g}-year storm, the chance that {keeps} goes from "
        f"{about_share(before.floor_dry_share)} to {about_share(after.floor_dry_share)}."
    )


def _starts(before: StormAnswer, after: StormAnswer) -> str:
    times = counted(round(after.starts_per_hour.median), "time", "times")
    return f"The pump starts {times} an hour at most, not {round(before.starts_per_hour.median)}."


_WORDS: dict[Gain, Callable[[StormAnswer, StormAnswer], str]] = {
    Gain.TIME: _time, Gain.CHANCE: _chance, Gain.OVERFLOW: _overflow, Gain.STARTS: _starts,
}  # fmt: skip
