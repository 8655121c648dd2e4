"""The one figure of an answer that can be read across a room, and the short sentence below it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from riskkit.quantities.components import Component
from riskkit.report.chance_words import one_year_in_words
from riskkit.report.number_words import cases_words
from riskkit.report.path_words import LIKELY_JOINT
from riskkit.report.state_words import since_words
from riskkit.report.stop_words import has_second_pump, stop_words
from riskkit.report.time_words import likely_range, short_duration
from riskkit.report.words import CERTAIN, doubt_words
from riskkit.risk.clock import Clock, MainTime

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.ensemble.quantiles import Outcome
    from riskkit.failures.answer import YearlyChance

__all__ = ["KeyFigure", "chance_figure", "key_figure"]

_SURE, _LIKELY_DRY = 0.9, 0.1


@dataclass(frozen=True)
class KeyFigure:
    """The figure, and what a reader needs beside it.

    Parameters
    ----------
    value : str
        The median of all variants of the home, such as ``"30 min"``.
    likely : str
        The range that holds 8 in 10 of them, or how many of them stay dry.
    of : str
        From when to when it is counted, or what does not come where it stays dry.
    when : str
        In which storm, and what fails.
    short : str
        Two or three short sentences.
    goes_on : bool
        Whether `likely` goes on where `value` ends.
    """

    value: str
    likely: str
    of: str
    when: str
    short: str
    goes_on: bool = False

    def line(self) -> str:
        """Return the figure and what it is of in one line.

        Returns
        -------
        str
            For a terminal.
        """
        return f"{self.cell()}: {self.of}, {self.when}"

    def cell(self) -> str:
        """Return the figure and how likely it is.

        Returns
        -------
        str
            For a cell of a table.
        """
        return f"{self.value}{' ' if self.goes_on else ', '}{self.likely}"


def key_figure(answer: Assessment) -> KeyFigure:
    """Return the figure of an answer.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    KeyFigure
        Of the time to water on the floor in the storm of the settings; of that without any pump
        where a visit left one that lifts nothing.
    """
    storm, state = answer.headline_storm, answer.state
    name = _name(storm)
    if not state.has(Component.PUMP):
        when = f"in a {name}, without a pump"
    elif _dead(answer):
        when = f"in a {name}, with the pump as it was left"
        if has_second_pump(answer.home):
            when += " and the second one stopped"
    else:
        when = f"if {stop_words(answer.home)} in a {name}, at the worst moment"
    time, goal = answer.main_s(storm), _goal(answer)
    value, likely = _figure(time, "no overflow" if answer.main_time is MainTime.RIM else "dry")
    clock = Clock.RAIN if _dead(answer) else state.clock
    of = f"{since_words(clock, answer.home)} to {goal}"
    if math.isinf(time.low):
        of = f"no {goal}"  # there is no time to be counted
    return KeyFigure(value, likely, of, when, _short(answer), math.isinf(time.median))


def chance_figure(found: YearlyChance) -> tuple[str, str]:
    """Return the chance of a year as a figure beside the other.

    Parameters
    ----------
    found : YearlyChance
        The chance of a year.

    Returns
    -------
    value, likely : str
        Such as ``"1 year in 60"`` and ``"likely 1 year in 15 to 1 year in 250"``; the first is the
        mean, which few variants may make, and the others may be alike without being like it.
    """
    low, high = one_year_in_words(found.chance.low), one_year_in_words(found.chance.high)
    value = one_year_in_words(found.mean)  # as remedies and intervals are told: what to expect
    if low != high:
        return value, f"likely {high} to {low}"
    return value, "in nearly all cases" if low == value else f"for 8 in 10 cases {low}"


def _name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year storm"


def _dead(answer: Assessment) -> bool:
    """Whether a visit left a pump that lifts nothing."""
    return answer.main_time is MainTime.DEAD


def _goal(answer: Assessment) -> str:
    return (
        "water over the rim of the pit"
        if answer.main_time is MainTime.RIM
        else "water on the floor"
    )


def _figure(time: Outcome, never: str) -> tuple[str, str]:
    """Middle and likely range; 'never' counts as the longest time and is said as such."""
    if math.isinf(time.low):
        value = "stays dry" if never == "dry" else never
        return value, f"in {cases_words(time.never_share, time.n_draws)} cases"
    low = short_duration(time.low)
    if math.isinf(time.median):
        return (
            f"{never} in {cases_words(time.never_share, time.n_draws)}",
            f"cases; in the worst tenth it comes in {low}",
        )
    value = short_duration(time.median)
    high = short_duration(time.high)
    if low == value == high:
        return value, "in nearly all cases"
    return value, f"likely {likely_range(time.low, time.high, time.median)}"


def _short(answer: Assessment) -> str:
    works = _works(answer)
    if answer.rain.climate:  # what the storms are taken to be is never left out
        climate = answer.rain.climate.words()
        works = f"{climate[:1].upper()}{climate[1:]}: {works[:1].lower()}{works[1:]}"
    return " ".join(filter(None, (doubt_words(answer), works, _stops(answer), _dry(answer))))


def _works(answer: Assessment) -> str:
    """What a working pump carries, beginning with what keeps it from that."""
    who, carries, carry = "The pump", "carries", "carry"
    if not answer.state.has(Component.PUMP):
        who, carries, carry = "The pit", "holds the water of", "hold the water of"
    elif _dead(answer):
        who = "Once it is in order, the pump"
    sure = [s for s in answer.storms if s.pump_working.floor_dry_share >= _SURE]
    unsure = [s for s in answer.storms if s.pump_working.floor_dry_share < _SURE]
    if not unsure:
        # water beside a pump that keeps up is water on the floor too
        least = min(
            s.pump_working.floor_dry_share - s.pump_working.joint_share for s in answer.storms
        )
        likely = "" if least >= CERTAIN else "very likely "
        said = f"{who} {likely}{carries} all storms up to the {_name(sure[-1])}"
    elif sure:
        said = f"{who} {carries} the {_name(sure[-1])}, but maybe not the {_name(unsure[0])}"
    else:
        said = f"{who} may not {carry} a {_name(unsure[0])}"
    storm = answer.headline_storm
    share = storm.pump_working.joint_share
    if share >= LIKELY_JOINT:
        cases = cases_words(share, storm.n_draws)
        said += f"; water may come in where wall and floor meet, in {cases} cases"
    return f"{said}."


def _stops(answer: Assessment) -> str:
    storm = answer.headline_storm
    time = storm.dead_before.rain_to_floor_s if _dead(answer) else storm.worst_stop.to_floor_s
    wet, two = cases_words(1.0 - time.never_share, time.n_draws), has_second_pump(answer.home)
    if not answer.state.has(Component.PUMP):
        said = f"In a {_name(storm)}, water reaches the floor in {wet} cases"
    elif _dead(answer):
        other = " and if the second one stops" if two else ""
        said = f"As it was left{other}, water reaches the floor in {wet} cases"
    else:
        stops = "both pumps stop" if two else "it stops"
        said = f"If {stops} in a {_name(storm)}, water reaches the floor in {wet} cases"
    if storm.worst_stop.joint_first_share >= LIKELY_JOINT and not _dead(answer):
        first = cases_words(storm.worst_stop.joint_first_share, storm.n_draws)
        said += f", in {first} first where wall and floor meet"
    return f"{said}."


def _dry(answer: Assessment) -> str:
    """Ground water alone; nothing is said where it hardly ever comes so high."""
    wet = 1.0 - answer.dry_s.never_share
    if wet < _LIKELY_DRY:
        return ""
    return f"It may come in dry weather too, in {cases_words(wet, answer.dry_s.n_draws)} cases."
