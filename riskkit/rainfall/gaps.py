"""Totals after gaps: rain that fell over hours or days but stands in one interval.

A gauge that could not be read reports the rain of the whole gap when it comes back. Taken as the
rain of one interval such a total ruins the short storms. One rule for every reader: it is set to
missing, and listed.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskkit.quantities.variables import counted
from riskkit.records import FloatArray, IntArray
from riskkit.records.removed import Removed, Why

__all__ = [
    "SuspectValues",
    "after_gaps",
    "holds_totals",
    "large_after_gaps",
    "without_values",
]

LARGE_QUANTILE = 0.95  # a wet value above it is large
CHANCE = 1e-3  # so seldom are values after gaps so often large by chance alone
_LISTED = 3  # in a note; the record holds them all


def after_gaps(values: FloatArray) -> NDArray[np.bool_]:
    """Find rain right after a gap: it may be a total over the gap, not of its own interval.

    Parameters
    ----------
    values : (n,) array
        Rain per interval, NaN where missing [any].

    Returns
    -------
    (n,) array of bool
        True where a value above zero follows a missing one [-].

    References
    ----------
    noaa_hpd : measurement flags a, . and A
    """
    after = np.zeros(values.size, dtype=np.bool_)
    after[1:] = np.isnan(values[:-1]) & (values[1:] > 0)
    return after


def large_after_gaps(values: FloatArray, after: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Find the values after a gap that are larger than 95 of 100 wet values elsewhere.

    Parameters
    ----------
    values : (n,) array
        Rain per interval, NaN where missing [any].
    after : (n,) array of bool
        Which of them follow a gap [-].

    Returns
    -------
    (n,) array of bool
        The large ones [-].

    References
    ----------
    judgement : what is large
    """
    elsewhere = values[(values > 0) & ~after]
    if not elsewhere.size:
        return np.zeros(values.size, dtype=np.bool_)
    return np.asarray(after & (values > np.quantile(elsewhere, LARGE_QUANTILE)))


def holds_totals(values: FloatArray) -> bool:
    """Tell whether a record holds totals after its gaps.

    Of ordinary rain 5 in 100 wet values are large, after a gap as elsewhere. Where so many of the
    values after gaps are large that chance makes it less than once in a thousand records, they are
    totals over the gaps.

    Parameters
    ----------
    values : (n,) array
        Rain per interval, NaN where missing [any].

    Returns
    -------
    bool
        Whether they are totals.

    References
    ----------
    arithmetic : binomial distribution
    judgement : the chance
    """
    after = after_gaps(values)
    n, large = int(after.sum()), int(large_after_gaps(values, after).sum())
    return large > 0 and _chance_of_at_least(large, n, 1.0 - LARGE_QUANTILE) < CHANCE


def _chance_of_at_least(found: int, n: int, share: float) -> float:
    """Chance of so many or more among n that come true with a share each."""
    logs = (
        math.lgamma(n + 1) - math.lgamma(i + 1) - math.lgamma(n - i + 1)
        + i * math.log(share) + (n - i) * math.log1p(-share)
        for i in range(found, n + 1)
    )  # fmt: skip
    return math.fsum(math.exp(one) for one in logs)


class SuspectValues(NamedTuple):
    """Values that are not to be believed: which, why, and what a note calls them."""

    which: NDArray[np.bool_]
    why: Why
    words: str


def without_values(
    values_mm: FloatArray, start: np.datetime64, interval_s: int, *wrong: SuspectValues
) -> tuple[FloatArray, tuple[Removed, ...], list[str]]:
    """Set values to missing, and say which they were.

    Parameters
    ----------
    values_mm : (n,) array
        Rain per interval, NaN where missing [mm].
    start : numpy.datetime64
        Start of the first interval.
    interval_s : int
        Length of an interval [s].
    *wrong : SuspectValues
        What is not to be believed; a value that is wrong twice counts for the first reason.

    Returns
    -------
    values : (n,) array
        The others [mm].
    removed : tuple of Removed
        What was set to missing, in order of time.
    notes : list of str
        A sentence per reason, with the day and hour of the largest values.
    """
    kept, removed, notes = values_mm.copy(), list[Removed](), list[str]()
    for which, why, words in wrong:
        at: IntArray = np.flatnonzero(which & ~np.isnan(kept))
        times = start.astype("datetime64[s]") + at * np.timedelta64(interval_s, "s")
        found = [Removed(t, float(d), why) for t, d in zip(times, kept[at], strict=True)]
        kept[at] = np.nan
        removed += found
        notes += [_note(found, interval_s, words)] if found else []
    return kept, tuple(sorted(removed, key=lambda one: one.time)), notes


def _note(removed: list[Removed], interval_s: int, words: str) -> str:
    largest = sorted(removed, key=lambda one: -one.depth_mm)[:_LISTED]
    unit: Literal["D", "m"] = "D" if interval_s == 86400 else "m"
    named = ", ".join(
        f"{np.datetime_as_string(one.time, unit=unit).replace('T', ' ')} ({_both(one.depth_mm)})"
        for one in largest
    )
    begin = f"Kept as missing: {counted(len(removed), 'value', 'values')} {words}"
    if len(removed) == 1:
        return f"{begin}: {named}."
    together = _both(sum(one.depth_mm for one in removed))
    lead = "" if len(removed) <= _LISTED else "the largest on "
    return f"{begin}, {together} together: {lead}{named}."


def _both(depth_mm: float) -> str:
    return f"{depth_mm / 25.4:.3g} in or {depth_mm:.3g} mm"
