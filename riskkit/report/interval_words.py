"""Intervals between visits, in words: a table, and what pays."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from riskkit.failures.service import ALIKE, VisitVerdict
from riskkit.report.chance_words import cause_words, chance_words
from riskkit.report.number_words import percent_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.failures.service import IntervalRow, Intervals

__all__ = ["INTERVAL_HEAD", "INTERVAL_TITLES", "every_words", "interval_lines", "interval_rows"]

INTERVAL_TITLES = (
    "Visits alone",
    "With the owner's test besides, water poured in every three months",
)
INTERVAL_HEAD = (
    "Visits", "chance in a year", "8 in 10 variants", "found at a visit", "fails in use",
    "met by a storm", "cost",
)  # fmt: skip


def every_words(every_yr: float) -> str:
    """Say how often somebody comes.

    Parameters
    ----------
    every_yr : float
        Time between visits; infinite for never [yr].

    Returns
    -------
    str
        In words.

    Examples
    --------
    >>> every_words(0.5), every_words(1), every_words(3), every_words(float("inf"))
    ('twice a year', 'every year', 'every 3 years', 'never')
    """
    if math.isinf(every_yr):
        return "never"
    if 0.95 < every_yr < 1.05:
        return "every year"
    if 0.475 < every_yr < 0.525:
        return "twice a year"
    if every_yr < 0.95:
        return f"every {12 * every_yr:.2g} months"
    return f"every {every_yr:.2g} years"


def interval_rows(rows: Sequence[IntervalRow], currency: str) -> list[tuple[str, ...]]:
    """Write intervals between visits.

    Parameters
    ----------
    rows : sequence of IntervalRow
        The intervals.
    currency : str
        Of the costs.

    Returns
    -------
    list of tuple of str
        Cells as in `INTERVAL_HEAD`.
    """
    return [
        (
            every_words(row.every_yr),
            chance_words(row.mean_chance),
            f"{chance_words(row.chance.low)} to {chance_words(row.chance.high)}",
            _times(row.found_per_yr, can_be=math.isfinite(row.every_yr) or row.owner_tests),
            _times(row.shown_per_yr),
            _times(row.met_per_yr),
            f"{_two_digits(row.cost_per_yr)} {currency} a year",
        )
        for row in rows
    ]


def _times(per_yr: float, *, can_be: bool = True) -> str:
    if not can_be:
        return "never"
    if per_yr < 0.005:
        return "hardly ever"
    if per_yr > 0.7:
        return f"{per_yr:.1f} times a year"
    return f"once in {_two_digits(1 / per_yr)} years"


def _two_digits(number: float) -> str:
    """Write a number above 1 to two digits."""
    step = 10.0 ** (math.floor(math.log10(max(number, 1.0))) - 1)
    return f"{round(number / step) * step:g}"


def interval_lines(found: Intervals) -> list[str]:
    """Say what visits do for this home.

    Parameters
    ----------
    found : Intervals
        The comparison.

    Returns
    -------
    list of str
        Sentences, the verdict first.
    """
    now = "nobody knows" if found.now_every_yr is None else every_words(found.now_every_yr)
    lines = [_verdict(found), f"Visits as they are now: {now}."]
    if found.verdict is VisitVerdict.NO_PUMP:
        return lines[:1]
    if found.mend_first:
        named = "; ".join(cause_words(key) for key in found.mend_first)
        lines.insert(
            0,
            f"Mend first what is out of order. It counts as certain: {named}. What follows is "
            "for the home when that is mended.",
        )
    lines.append(f"With these prices, a year costs least {_who_comes(found.best)}{_saves(found)}.")
    lines += _owner_lines(found)
    lines.append(
        "A cost is that of visits, of what they find to repair, of what fails in use before it is "
        "found, and of water; only one flood a year is charged. Met by a storm: one that would "
        "bring water to the floor comes while the pump lies dead."
    )
    if found.prices.invented:
        named = ", ".join(f"{key} {found.prices.of(key):g}" for key in found.prices.invented)
        lines.append(
            f"Prices that nobody gave are invented figures ({named} {found.prices.currency}): give "
            "your own before you decide by cost."
        )
    return lines


def _who_comes(row: IntervalRow) -> str:
    visits = "without visits"
    if math.isfinite(row.every_yr):
        visits = f"if somebody comes {every_words(row.every_yr)}"
    if not row.owner_tests:
        return visits
    if math.isinf(row.every_yr):
        return "if the owner pours water in every three months and nobody comes"
    return f"{visits} and the owner pours water in every three months"


def _owner_lines(found: Intervals) -> list[str]:
    """Say what the test by the owner does beside visits, and instead of some."""
    best, alone, currency = found.best, found.cheapest, found.prices.currency
    lines = []
    if best.owner_tests:
        more = _two_digits(alone.cost_per_yr - best.cost_per_yr)
        lines.append(
            f"Without the test by the owner it costs least {_who_comes(alone)}: {more} {currency} "
            "a year more."
        )
    elif found.verdict is VisitVerdict.HELPS:
        lines.append("The test by the owner, every three months, saves next to nothing besides.")
    instead = found.as_good_with_owner
    if instead is not None:
        same = "without visits" if math.isinf(alone.every_yr) else every_words(alone.every_yr)
        visits = "and no visits"
        if math.isfinite(instead.every_yr):
            visits = f"and visits {every_words(instead.every_yr)}"
        lines.append(f"With that test {visits}, no more water comes than with visits alone {same}.")
    return lines


def _saves(found: Intervals) -> str:
    """By how much what costs least pays, with its spread."""
    other, best = found.compared_with, found.best
    alike = best is other or abs(best.every_yr - other.every_yr) < 0.05 * best.every_yr
    if alike and best.owner_tests == other.owner_tests:
        return ", as it is now" if found.as_now is not None else ""
    saved, mean = best.saves_against(other), other.cost_per_yr - best.cost_per_yr
    than = "as it is now" if found.as_now is not None else every_words(other.every_yr)
    if mean < ALIKE * other.cost_per_yr:
        return f", but by next to nothing against {than}"
    return (
        f": {_two_digits(mean)} {found.prices.currency} a year less than {than} in the mean "
        f"(8 in 10 variants: from {_less_words(saved.low)} to {_less_words(saved.high)})"
    )


def _less_words(saved: float) -> str:
    return f"{_two_digits(abs(saved))} {'more' if saved < 0 else 'less'}"


def _verdict(found: Intervals) -> str:
    oftenest, rarest = found.rows[0], found.rows[-1]
    if found.verdict is VisitVerdict.NO_PUMP:
        return "There is no pump: visits find nothing to mend. Put in a pump first."
    if found.verdict is VisitVerdict.HELPS_LITTLE:
        return (
            "More visits do not help this home: water comes, or stays away, whatever is found at "
            "a visit."
        )
    share = 1 - oftenest.mean_chance / rarest.mean_chance
    rare = "without visits"
    if math.isfinite(rarest.every_yr):
        rare = f"if somebody comes {every_words(rarest.every_yr)}"
    return (
        f"Visits help this home. If somebody comes {every_words(oftenest.every_yr)}, years with "
        f"water on the floor are {percent_words(share)} fewer than {rare}."
    )
