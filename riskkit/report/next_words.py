"""What the observations of a home told, and what to look at next, in words and as plain data."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from riskkit.evidence.remarks import observation_remarks
from riskkit.home.observations import WHEN_WORDS, observation_kinds
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.report.days import day_words
from riskkit.report.number_words import percent_words
from riskkit.report.stop_words import stop_words
from riskkit.report.time_words import minutes_words

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.ensemble.quantiles import Outcome
    from riskkit.evidence.planning import UsefulObservation
    from riskkit.home.observations import Observation
    from riskkit.options.observed import ObservationsEffect

__all__ = [
    "NOTHING_LEFT",
    "effect_lines",
    "how_words",
    "narrowing_words",
    "next_form",
    "next_lines",
    "next_steps",
    "observation_words",
    "points_form",
    "remark_lines",
]

NOTHING_LEFT = "Nothing that is left to look at would narrow this."
"""What is said where there is nothing to look at."""

_BEST = 3
_LEAST = 0.005  # of the spread, below which nothing is gained


def observation_words(one: Observation, system: UnitSystem) -> str:
    """Name an observation, with its day.

    Parameters
    ----------
    one : Observation
        The observation.
    system : UnitSystem
        Where the reader is from.

    Returns
    -------
    str
        Such as ``"how often the pump runs in spring (April 14, 2026)"``.
    """
    when = "" if one.when is None else f" {WHEN_WORDS[one.when]}"
    told = f", {one.count_words}" if one.times is not None else ""
    return f"{observation_kinds()[one.kind]['words']}{when}{told} ({day_words(one.date, system)})"


def how_words(one: UsefulObservation, system: UnitSystem) -> str:
    """Say what to do to make an observation.

    Parameters
    ----------
    one : UsefulObservation
        The observation.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        A sentence or some.
    """
    row = observation_kinds()[one.kind]
    words = row["how_us" if system is UnitSystem.US else "how_metric"]
    return words.format(when=WHEN_WORDS.get(one.when or "", ""))


def next_steps(
    worth: tuple[UsefulObservation, ...], system: UnitSystem
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Say the best three observations not yet made, each with its cautions.

    Parameters
    ----------
    worth : tuple of UsefulObservation
        The best for its time first.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of (str, tuple of str)
        What to do, how long it takes and what it is worth; then what can hurt at it.
    """
    best = [one for one in worth if one.narrowing >= _LEAST][:_BEST]
    found = []
    for one in best:
        places = observation_kinds()[one.kind]["places"].split()
        gain = percent_words(one.narrowing)
        words = (
            f"{how_words(one, system)} It takes about {one.minutes:g} minutes and is expected to "
            f"take {gain} off the spread of the time to the floor."
        )
        found.append((words, cautions(*places, system=system) if places else ()))
    return tuple(found)


def next_lines(
    answer: Assessment, effect: ObservationsEffect | None, system: UnitSystem
) -> list[str]:
    """Say what the observations of a home told, and what to look at next, for a terminal.

    Parameters
    ----------
    answer : Assessment
        The answer for the home.
    effect : ObservationsEffect or None
        What its observations did; None where there is none.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        Lines.
    """
    storm = answer.headline_storm
    lines = [
        answer.home.name,
        f"From {answer.state.clock.value} to water on the floor, if {stop_words(answer.home)} in a "
        f"{storm.return_period_yr:g}-year storm: {minutes_words(storm.worst_stop.to_floor_s)}, "
        f"chance {percent_words(1.0 - storm.worst_stop.to_floor_s.never_share, storm.n_draws)}.",
    ]
    if effect is not None:
        first, *each, last = effect_lines(effect, system)
        lines += [first, *(f"  {words}" for words in each), last]
    lines += [f"Note: {words}" for words in remark_lines(answer)]
    steps = next_steps(answer.useful_observations, system)
    if steps:
        lines.append("What to observe next, in order of the narrowing for each minute of work:")
    else:
        lines.append(NOTHING_LEFT)
    for number, (words, warned) in enumerate(steps, 1):
        lines.append(f"{number}. {words}")
        lines += [f"   Caution: {caution}" for caution in warned]
    return lines


def effect_lines(effect: ObservationsEffect, system: UnitSystem) -> list[str]:
    """Say what was known before, what each observation told alone, and what all of them told.

    Parameters
    ----------
    effect : ObservationsEffect
        What the observations of a home did.
    system : UnitSystem
        Where the reader is from.

    Returns
    -------
    list of str
        One sentence each.
    """
    return [
        f"Before anything was observed: {_range(effect.then)}.",
        *(
            f"With {observation_words(one.observation, system)} alone: {_range(one.time)}."
            for one in effect.each
        ),
        f"With all of it: {_range(effect.now)}, {narrowing_words(effect.narrowing)}.",
    ]


def remark_lines(answer: Assessment) -> tuple[str, ...]:
    """Say which observations of a home do not fit, and which do not count.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    return observation_remarks(answer.home, answer.weighed)


def _range(time: Outcome) -> str:
    return f"{minutes_words(time)}, chance {percent_words(1.0 - time.never_share, time.n_draws)}"


def narrowing_words(narrowing: float) -> str:
    """Say how much narrower a spread has become.

    Parameters
    ----------
    narrowing : float
        Share of it that was taken away; below zero where it has grown [-].

    Returns
    -------
    str
        Without a full stop.
    """
    if narrowing <= -_LEAST:
        wider = percent_words(-narrowing)
        return f"the spread is {wider} wider, for what was observed was not expected"
    if narrowing < _LEAST:
        return "the spread stays as it was"
    return f"the spread is {percent_words(narrowing)} narrower"


def next_form(answer: Assessment, effect: ObservationsEffect | None) -> dict[str, Any]:
    """Return what the observations of a home told, and what to look at next, as plain data.

    Parameters
    ----------
    answer : Assessment
        The answer for the home.
    effect : ObservationsEffect or None
        What its observations did; None where there is none.

    Returns
    -------
    dict
        For JSON; null stands for 'never'.
    """
    storm = answer.headline_storm
    found: dict[str, Any] = {
        "home": answer.home.name,
        "return_period_yr": storm.return_period_yr,
        "counted_from": answer.state.clock.value,
        "to_floor_s": points_form(storm.worst_stop.to_floor_s),
        "observed": None,
        "next": [
            {"kind": one.kind, "when": one.when, "narrowing": one.narrowing,
             "takes_min": one.minutes}
            for one in answer.useful_observations
        ],
        "remarks": list(remark_lines(answer)),
    }  # fmt: skip
    if effect is not None:
        found["observed"] = {
            "to_floor_before_s": points_form(effect.then),
            "narrowing": effect.narrowing,
            "each": [
                {"kind": one.observation.kind, "when": one.observation.when,
                 "date": one.observation.date.isoformat(), "to_floor_s": points_form(one.time),
                 "narrowing": one.narrowing, "effective_per_thousand": one.effective}
                for one in effect.each
            ],
        }  # fmt: skip
    return found


def points_form(time: Outcome) -> dict[str, float | None]:
    """Return a time as plain data.

    Parameters
    ----------
    time : Outcome
        The time [s].

    Returns
    -------
    dict
        Its 10 %, 50 % and 90 % points [s], null for never, and the share of never [-].
    """
    ends = {"p10": time.low, "p50": time.median, "p90": time.high}
    never = {"never_share": time.never_share}
    return {name: None if math.isinf(end) else end for name, end in ends.items()} | never
