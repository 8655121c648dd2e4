"""What a remedy makes better, in plain sentences."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from riskkit.options.remedies import DAY_S, Gain
from riskkit.quantities.variables import counted
from riskkit.report.number_words import about_share
from riskkit.report.state_words import since_words
from riskkit.report.stop_words import stopped_words
from riskkit.report.time_words import about_duration, more_or_less
from riskkit.risk.clock import Clock

if TYPE_CHECKING:
    from riskkit.assessment import StormAnswer
    from riskkit.home.home import Home
    from riskkit.options.remedies import Remedy

__all__ = ["gain_words"]


def gain_words(
    remedy: Remedy, home: Home | None = None, share: Callable[[float, int], str] = about_share
) -> tuple[str, ...]:
    """Say what gets better.

    Parameters
    ----------
    remedy : Remedy
        A remedy that was tried.
    home : Home, optional
        The home as it is; of one with two pumps both stand still.
    share : callable
        How a share of so many variants is written [-], as the rest of the sheet writes it.

    Returns
    -------
    tuple of str
        A sentence for each gain.
    """
    ends = {Gain.OVERFLOW: -1}  # told of the largest storm, the rest of that of the first sentence
    return tuple(
        _WORDS[gain](remedy.before[ends.get(gain, 0)], remedy.after[ends.get(gain, 0)], home, share)
        for gain in remedy.gains
    )


_Share = Callable[[float, int], str]


def _chance(before: StormAnswer, after: StormAnswer, home: Home | None, share: _Share) -> str:
    stopped = f" with {stopped_words(home)}" if before.trace.has_pump else ""
    was, now = before.worst_stop.to_floor_s, after.worst_stop.to_floor_s
    return (
        f"The chance that the floor stays dry{stopped} goes from "
        f"{share(was.never_share, was.n_draws)} to {share(now.never_share, now.n_draws)}."
    )


def _time(before: StormAnswer, after: StormAnswer, home: Home | None, _: _Share) -> str:
    old, new = before.worst_stop.to_floor_s.median, after.worst_stop.to_floor_s.median
    clock = before.trace.clock
    since = "From alarm" if clock is Clock.ALARM else since_words(clock, home).capitalize()
    now = f"{since} to floor: {about_duration(old)} now"
    if new > DAY_S:
        return f"{now}, more than a day with it."
    # the gain itself: two rounded times, side by side, make two minutes look like five
    return f"{now}, {more_or_less(new - old)} more with it."


def _overflow(before: StormAnswer, after: StormAnswer, _: Home | None, share: _Share) -> str:
    keeps = "the pump keeps the pit from overflowing"
    if not before.trace.has_pump:
        keeps = "the pit does not overflow"
    was, now = (one.pump_working.floor_dry_share for one in (before, after))
    return (
        f"In a {before.return_period_yr:g}-year storm, the chance that {keeps} goes from "
        f"{share(was, before.n_draws)} to {share(now, after.n_draws)}."
    )


def _starts(before: StormAnswer, after: StormAnswer, *_: object) -> str:
    was, now = (round(one.pump_working.starts_per_hour.median) for one in (before, after))
    return f"The pump starts {counted(now, 'time', 'times')} an hour at most, not {was}."


_WORDS: dict[Gain, Callable[[StormAnswer, StormAnswer, Home | None, _Share], str]] = {
    Gain.TIME: _time, Gain.CHANCE: _chance, Gain.OVERFLOW: _overflow, Gain.STARTS: _starts,
}  # fmt: skip
