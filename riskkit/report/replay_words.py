"""Years of a home in words: the first sentence, and what the tables do not say themselves."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted
from riskkit.report.amounts import Amount, volume_amount
from riskkit.report.number_words import rain_words
from riskkit.report.state_words import after_words, dangers, due_words
from riskkit.risk.system_state import Fault, Severity, SystemState, system_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.options.replays import YearsStudy
    from riskkit.years.calendar import VisitSeason
    from riskkit.years.records import Replay
    from riskkit.years.trends import Trend

__all__ = [
    "DEAD_WORDS",
    "STORM_WORDS",
    "due_faults",
    "due_line",
    "gap_line",
    "often_words",
    "replay_sentence",
    "season_line",
    "trend_lines",
    "within_words",
]

STORM_WORDS = (
    "The worst for this pit first, not the deepest. Time: the pump stops in the day before the "
    "wettest hour or within an hour of it, at its worst moment; the median of all simulated "
    "variants of the home, 'never' counted as the longest, and in brackets 8 of 10 of them. "
    "Reached: the share in which water gets to the floor."
)
DEAD_WORDS = (
    "Times a year in which a pump that stopped in the storm, or the day before it, would have "
    "meant water on the floor: the mean of the simulated variants of the home, in brackets 8 of 10 "
    "of them. The first sentence tells the median variant instead, which many storms of few "
    "variants do not move."
)
_UNITS = {"water_mm": "mm", "pumped_m3": "m3", "run_h": "h", "peak_use": "1", "dead_floods": "1"}
_NAMES = {
    "water_mm": "rain and melt",
    "pumped_m3": "water pumped",
    "run_h": "hours the pump runs",
    "peak_use": "peak use of the pump",
    "dead_floods": "storms in which a dead pump floods",
}


def often_words(per_year: float) -> str:
    """Say how often something happens.

    Parameters
    ----------
    per_year : float
        Times a year [1/yr].

    Returns
    -------
    str
        Such as ``"9 times a year"``, ``"1 year in 12"`` or ``"not once"``.

    Examples
    --------
    >>> often_words(8.9), often_words(1.2), often_words(0.92), often_words(0.25), often_words(0.0)
    ('9 times a year', '1.2 times a year', '9 years in 10', '1 year in 4', 'not once')
    """
    return str(_often(per_year))


_TIMES = "times a year"


def _often(per_year: float) -> Amount:
    if per_year <= 0.0:
        return Amount("not once")
    if per_year >= 1.5:
        return Amount(f"{per_year:.0f}", _TIMES)
    if per_year > 1.05:
        return Amount(f"{per_year:.1f}", _TIMES)
    if per_year >= 0.95:
        return Amount("once", "a year")
    if per_year > 0.55:
        return Amount(f"{per_year * 10:.0f} years in 10")
    return Amount(f"1 year in {float(f'{1.0 / per_year:.2g}'):g}")


def within_words(limit_s: float, replay: Replay) -> str:
    """Name a time to the floor that is counted.

    Parameters
    ----------
    limit_s : float
        The time; infinite for at all [s].
    replay : Replay
        The years, which say from when it runs.

    Returns
    -------
    str
        Such as ``"within 15 min after the alarm"``.
    """
    if np.isinf(limit_s):
        return "at all"
    time = f"{limit_s / 60:.0f} min" if limit_s < 3600 else f"{limit_s / 3600:.0f} h"
    return f"within {time} {after_words(replay.clock)}"


def _years(replay: Replay) -> str:
    first, last = str(replay.month[0])[:4], str(replay.month[-1])[:4]
    return f"the {counted(round(replay.years), 'year', 'years')} {first} to {last}"


def replay_sentence(study: YearsStudy, *, state_first: bool = True) -> str:
    """Say what the years mean for the home.

    Parameters
    ----------
    study : YearsStudy
        The years.
    state_first : bool
        Begin with what leaves the home without warning or without a pump; not where all of its
        state stands above the sentence.

    Returns
    -------
    str
        Two or three sentences; the first of the years stands alone.
    """
    grave = dangers(system_state(study.replay.home)) if state_first else ""
    return f"{grave} {_years_sentence(study)}".lstrip()


def _years_sentence(study: YearsStudy) -> str:
    replay = study.replay
    often = outcome(study.months.dead_floods.sum(axis=1))
    if often.high <= 0.0:
        return (
            f"In none of the storms of {_years(replay)} would a pump that had failed have meant "
            "water on the floor."
        )
    months = study.months.dead_floods.mean(axis=0)
    first = (
        f"In the storms and thaws of {_years(replay)} a pump that had failed would have meant "
        f"water on the floor {_about(often)}, most often in "
        f"{calendar.month_name[int(months.argmax()) + 1]}."
    )
    soon = float((replay.outcomes.worst_s <= 3600.0).any(axis=1).mean())
    among = f"{soon * 100:.0f} % of the simulated variants of the home"
    if soon <= 0.0:
        none = "In none of the simulated variants would it have come"
        return f"{first} {none} within 1 h {_after(replay)}."
    return f"{first} In {among} it would have come at least once within 1 h {_after(replay)}."


def _after(replay: Replay) -> str:
    return after_words(replay.clock)


def _about(often: Points) -> str:
    """Say how often, and between what 8 of 10 variants of the home lie."""
    low, median, high = (_often(x) for x in (often.low, often.median, often.high))
    if low == high:
        return f"about {median}"
    if often.median <= 0.0:
        return f"{median} in most simulated variants of the home, {high} in the worst tenth"
    ends = f"{low} to {high}"
    if median.unit == high.unit == _TIMES:
        ends = f"{low.number} to {high.number}"
    return f"about {median} in the median variant of the home (8 of 10: {ends})"


def due_faults(state: SystemState) -> list[Fault]:
    """Return what is out of order and waits for no season.

    Parameters
    ----------
    state : SystemState
        The state of the system.

    Returns
    -------
    list of Fault
        The gravest first.
    """
    return [f.fault for f in state.findings if f.severity is not Severity.NOTE]


def due_line(faults: Sequence[Fault], *, more: bool = False) -> str:
    """Say what is due now, whatever the season.

    Parameters
    ----------
    faults : sequence of Fault
        What is out of order.
    more : bool
        Whether a visit left something else in bad order.

    Returns
    -------
    str
        A sentence; empty where all is well.
    """
    due = [f"{words[:1].lower()}{words[1:]}" for words in map(due_words, faults)]
    if more:
        due.append("see to what the last visit left in bad order")
    told = " and ".join([*([", ".join(due[:-1])] if due[1:] else []), *due[-1:]])
    return f"Due now, whatever the season: {told}." if due else ""


def season_line(season: VisitSeason | None, due: str = "") -> str:
    """Say by when visits are best done, and why.

    Parameters
    ----------
    season : VisitSeason, optional
        When a dead pump most often means water on the floor; None where it never does.
    due : str
        What is due now, as `due_line` says it; then no season is told to wait for.

    Returns
    -------
    str
        A sentence or two.
    """
    if season is None:
        words = "No season is worse than another: a failed pump would not have flooded the floor."
        return f"{due} {words}".lstrip()
    month, day = season.first_day
    date = f"{day} {calendar.month_name[month]}"
    share = f"{season.share * 100:.0f} % of the storms in which a failed pump floods"
    if not season.stands_out:
        any_time = "" if due else " A visit is as good at any time."
        words = (
            f"No season stands out: {share} fall into the {season.weeks} weeks from {date}, "
            f"{season.expected * 100:.0f} % of the year.{any_time}"
        )
        return f"{due} {words}".lstrip()
    words = (
        f"inish visits by {date}: {share} fall into the {season.weeks} weeks that begin then, "
        f"which are {season.expected * 100:.0f} % of the year."
    )
    return f"{due} In other years, f{words}" if due else f"F{words}"


def gap_line(replay: Replay) -> str:
    """Say how much of the record is missing; empty where nothing is.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    str
        A sentence.
    """
    missing = float(replay.missing_share.mean())
    if missing == 0.0:
        return ""
    near = sum(storm.touches_gap for storm in replay.record_storms)
    share = f"{missing * 100:.0f} %" if missing >= 0.01 else "less than 1 %"
    return (
        f"{share} of the hours are missing from the record and count as dry; "
        f"{counted(near, 'storm lies', 'storms lie')} beside such hours. What is given by the year "
        "is too low by about as much."
    )


def _amount(what: str, value: float, system: UnitSystem) -> str:
    if what == "water_mm":
        return rain_words(abs(value), system)
    if what == "pumped_m3":
        return str(volume_amount(abs(value), system))
    if what == "peak_use":
        return f"{abs(value) * 100:.2g} % of what it carries"
    return f"{abs(value):.2g}{' h' if what == 'run_h' else ''}"


def trend_lines(trends: tuple[Trend, ...], system: UnitSystem) -> list[str]:
    """Say what changed over the decades, and what so short a record could show at all.

    Parameters
    ----------
    trends : tuple of Trend
        The trends.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        Sentences.
    """
    if not trends:
        return ["The years are too few, or too incomplete, to look for changes."]
    clear = [trend for trend in trends if trend.is_clear]
    lines = [
        f"{_NAMES[t.what].capitalize()}: {'more' if t.per_decade > 0 else 'less'} by about "
        f"{_amount(t.what, t.per_decade, system)} in ten years "
        f"({_amount(t.what, t.low, system)} to {_amount(t.what, t.high, system)}); chance alone "
        f"shows as much in {max(1.0, t.p_value * 100):.0f} of 100 such records."
        for t in clear
        if t.per_decade != 0.0
    ]
    rest = [_NAMES[t.what] for t in trends if not t.is_clear]
    if rest:
        few = "Nothing" if len(rest) == len(trends) else "Nothing else"
        lines.append(f"{few} changes beyond chance over the {trends[0].years} years that count.")
    seen = next((t for t in trends if t.what == "pumped_m3"), trends[0])
    share = f", {seen.detectable / seen.mean * 100:.0f} % of the mean" if seen.mean > 0 else ""
    lines.append(
        f"So short a record shows a change only from about "
        f"{_amount(seen.what, seen.detectable, system)} of {_NAMES[seen.what]} in ten years on"
        f"{share}: a smaller one may be there and not be seen. Of quantities that do not change, "
        "one in twenty seems to by chance."
    )
    return lines
