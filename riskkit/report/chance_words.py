"""Chance of water in a year, in words: the sentence and its causes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from riskkit.failures.yearly import AT_JOINT, NO_PUMP, OVERTOPPED
from riskkit.quantities.variables import variables
from riskkit.report.number_words import cases_words, percent_words
from riskkit.report.time_words import about_duration
from riskkit.tables import load_table

if TYPE_CHECKING:
    from riskkit.failures.answer import YearlyChance
    from riskkit.quantities.units import UnitSystem

__all__ = [
    "CAUSES_HEAD",
    "RESTS_ON",
    "cause_rows",
    "cause_words",
    "certain_lines",
    "chance_line",
    "chance_sentence",
    "chance_words",
    "commonest_line",
    "one_year_in_words",
    "second_line",
]

RESTS_ON = (
    "No measured failure rates of house pumps, nor how fast people act, were found: how often "
    "parts fail, who hears the alarm and who acts in time are judgement. Ice in the outlet counts "
    "only where temperatures of the place are known. Compare homes and remedies by it; do not "
    "promise it."
)
"""What every chance of a year rests on."""
CAUSES_HEAD = ("What brings the water", "share", "of the chance in a year")
_NOT_COUNTED_ON = {
    "second_pump_fails": "The second pump did not run when it was tested",
    "battery_weak": "The battery did not carry the second pump with the power off",
}
_LEAST = 0.001  # of chance, below which no number is said
_STEPS = ((20, 1), (50, 5), (200, 10), (500, 50), (math.inf, 100))  # by which years are rounded
_RARE = 0.0005  # of the chance in a year, below which a cause is not listed


def chance_words(chance: float) -> str:
    """Write a chance in a year.

    Parameters
    ----------
    chance : float
        From 0 to 1 [-].

    Returns
    -------
    str
        In per cent.

    Examples
    --------
    >>> chance_words(0.163), chance_words(0.0123), chance_words(0.0004), chance_words(0.9996)
    ('16 %', '1.2 %', 'less than 0.1 %', 'more than 99 %')
    """
    if chance < _LEAST:
        return "less than 0.1 %"
    if chance > 0.99:
        return "more than 99 %"
    return f"{100 * chance:.1f} %" if chance < 0.0995 else f"{100 * chance:.0f} %"


def one_year_in_words(chance: float) -> str:
    """Say how often a year has water on the floor.

    Parameters
    ----------
    chance : float
        From 0 to 1 [-].

    Returns
    -------
    str
        As coarse as a number of such a spread may be.

    Examples
    --------
    >>> one_year_in_words(0.163), one_year_in_words(0.0123), one_year_in_words(0.0)
    ('1 year in 6', '1 year in 80', 'less than 1 year in 1000')
    >>> one_year_in_words(0.7)
    'most years'
    """
    if chance < _LEAST:
        return "less than 1 year in 1000"
    if chance > 0.6:
        return "most years"
    years = 1 / chance
    step = next(step for most, step in _STEPS if years < most)
    return f"1 year in {round(years / step) * step}"


def chance_sentence(found: YearlyChance) -> str:
    """Say how likely water on the floor is in a year.

    Parameters
    ----------
    found : YearlyChance
        The answer.

    Returns
    -------
    str
        Two sentences.
    """
    return (
        f"Water on the floor: {one_year_in_words(found.mean)} ({chance_words(found.mean)} a year), "
        f"the mean of all simulated variants of this home; {_spread_words(found)}. The median is "
        f"{chance_words(found.chance.median)} a year."
    )


def _spread_words(found: YearlyChance, whom: str = "") -> str:
    """What 8 in 10 lie between; they may be alike without being like the mean."""
    low, high = one_year_in_words(found.chance.low), one_year_in_words(found.chance.high)
    eight = f"8 in 10 {whom}".rstrip()
    if low != high:
        return f"{eight} lie between {low} and {high}"
    if low == one_year_in_words(found.mean):
        return f"{eight} are alike in this"
    return f"for {eight} it is {low}"


def chance_line(found: YearlyChance, *, owner: bool = False) -> str:
    """Say the chance of a year in one line, with what it rests on.

    Parameters
    ----------
    found : YearlyChance
        The answer.
    owner : bool
        Whether the owner reads it, who is told of cases and not of variants.

    Returns
    -------
    str
        One sentence.
    """
    whom = "cases" if owner else "simulated variants of this home"
    return (
        f"Water on the floor by storm or failure, by judgement of how often parts fail: "
        f"{one_year_in_words(found.mean)} on average; {_spread_words(found, whom)}."
    )


def second_line(found: YearlyChance, system: UnitSystem, *, owner: bool = False) -> str:
    """Say what the second pump does where the first one is lost.

    Parameters
    ----------
    found : YearlyChance
        The answer.
    system : UnitSystem
        Units of the reader.
    owner : bool
        Whether the owner reads it, who is told of cases and not of per cent.

    Returns
    -------
    str
        A sentence or two; empty where there is no second pump.
    """
    second = found.second
    if second is None:
        return ""
    for cause, words in _NOT_COUNTED_ON.items():
        if cause in found.certain:
            return f"{words}: do not count on the second pump until it is mended."
    _, flow = variables()["pump.rated_flow"].spread_text(
        second.flow_m3_s.low, second.flow_m3_s.median, second.flow_m3_s.high, system
    )
    n = found.per_yr_by_draw.size
    shares = f"{percent_words(second.carries_share, n)} of the variants"
    if owner:
        shares = f"{cases_words(second.carries_share, n)} cases"
    storm = f"a {second.return_period_yr:g}-year storm"
    said = (
        f"If the first pump is lost, the second one lifts {flow}, and carries {storm} in "
        f"{shares} while it runs."
    )
    lasts = second.outlasts_s
    if lasts.high == 0:
        return f"{said} It stops with the power."
    if not second.has_battery:
        takes = variables()["pump.rated_flow"].text(second.mains_m3_s, system, 2)
        return f"{said} It needs no power; while it runs it takes about {takes} of mains water."
    low, median, high = (about_duration(each) for each in (lasts.low, lasts.median, lasts.high))
    whom = "cases" if owner else "variants"
    span = "" if low == high else f" (8 in 10 {whom}: {low} to {high})"
    if low != high == median:  # the longer end would say the middle again
        span = f" (9 in 10 {whom}: at least {low})"
    return f"{said} Without power its battery lasts {median} in the worst part of that storm{span}."


def cause_words(cause: str) -> str:
    """Say one cause.

    Parameters
    ----------
    cause : str
        Its name.

    Returns
    -------
    str
        A short sentence without its point.
    """
    return _cause_words()[cause].rstrip(".")


@cache
def _cause_words() -> Mapping[str, str]:
    of_table = {row["cause"]: row["words"] for row in load_table("failure_causes").rows}
    return MappingProxyType(of_table | {
        OVERTOPPED: "The storm brings more than the working pump can carry.",
        AT_JOINT: "Water comes in where wall and floor meet though the pump works.",
        NO_PUMP: "There is no pump.",
    })  # fmt: skip


def cause_rows(found: YearlyChance) -> list[tuple[str, str, str]]:
    """Write the causes that matter, the greatest first.

    Parameters
    ----------
    found : YearlyChance
        The answer.

    Returns
    -------
    list of tuple of str
        Cells as in `CAUSES_HEAD`.
    """
    return [
        (
            cause_words(each.cause) + (" (out of order now)" if each.is_certain else ""),
            percent_words(each.share),
            chance_words(each.chance),
        )
        for each in found.causes
        if each.chance >= _RARE
    ]


def commonest_line(found: YearlyChance, *, owner: bool = False) -> str:
    """Say how likely a lost pump floods in a storm that comes six times a year.

    Parameters
    ----------
    found : YearlyChance
        The answer.
    owner : bool
        In plain words.

    Returns
    -------
    str
        Sentences; empty where it is unlikely.
    """
    if found.commonest_share < 0.25:
        return ""
    n = found.per_yr_by_draw.size
    if owner:
        return (
            f"In {cases_words(found.commonest_share, n)} cases a pump that has failed means water "
            "on the floor even in a storm that comes six times a year, and perhaps in smaller "
            "rain, which is not counted: the chance may be higher."
        )
    return (
        f"In {percent_words(found.commonest_share, n)} of the simulated variants a dead pump means "
        "water on the floor in a storm that comes six times a year. Smaller rain is not counted, "
        "so the chance may be higher."
    )


def certain_lines(found: YearlyChance) -> list[str]:
    """Say what decides before anything else is looked at.

    Parameters
    ----------
    found : YearlyChance
        The answer.

    Returns
    -------
    list of str
        Sentences; none where there is nothing.
    """
    lines = [
        f"{cause_words(key)}: nobody is warned."
        if key == "alarm_missing"
        else f"{cause_words(key)}, as it was found: this counts as certain until it is mended."
        for key in found.certain
    ]
    if found.dry_share >= 0.1:
        lines.append(
            f"{percent_words(found.dry_share)} of it comes in dry weather, by ground water alone."
        )
    return [*lines, *filter(None, [commonest_line(found)])]
