"""What a check of a record says, as enums, numbers and dates; the words stand in `doubts`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from riskkit.rainfall.homogeneity import DoubleMass, Step
from riskkit.rainfall.readers.snowfall import SnowRatio
from riskkit.records import IntArray, RainRecord

__all__ = [
    "Check",
    "ComparisonData",
    "Limits",
    "Place",
    "QualityRow",
    "Verdict",
    "Weighing",
    "Weight",
    "doubtful_intervals",
    "places_of",
    "whole_years",
]


class Verdict(Enum):
    """What a check says. A note is looked at and changes no depth by more than its limits."""

    PASS = "pass"  # noqa: S105 - not a password
    NOTE = "note"
    WARN = "warn"
    FAIL = "fail"

    @property
    def in_order(self) -> bool:
        """Whether nothing speaks against using the record."""
        return self in (Verdict.PASS, Verdict.NOTE)


class Check(Enum):
    """What is looked at in a record, as named in ``riskkit/tables/quality_limits.csv``."""

    NEGATIVE = "negative values"
    REPEATED_DAYS = "repeated days"
    MISSING = "missing share"
    WORST_YEAR = "worst year missing"
    COMPLETE_YEARS = "complete years"
    LONGEST_RUN = "longest run of one value"
    AFTER_GAP = "large values after a gap"
    ENVELOPE = "share of the world envelope"
    ANNUAL_DEPTH = "mean annual depth"
    SMALLEST_STEP = "smallest step"
    TENTHS_OF_INCH = "years in tenths of an inch"
    TOTALS_STEP = "step in yearly totals"
    MAXIMA_STEP = "step in largest days"
    SNOW = "snow over its water"
    OVER_NEIGHBOUR = "rain over the neighbour"
    NEIGHBOUR_STEP = "step against the neighbour"
    OVER_OFFICIAL = "own over official depths"


class Weighing(Enum):
    """Which verdicts of a check count only where its doubtful values move the depths."""

    NONE = "none"
    WARNING = "warn"
    ANY = "fail"


@dataclass(frozen=True)
class Limits:
    """Beyond which a figure is a warning or a failure; infinite where there is no limit.

    Parameters
    ----------
    warn_below, warn_above, fail_below, fail_above : float
        In the unit of the figure [any].
    """

    warn_below: float = -math.inf
    warn_above: float = math.inf
    fail_below: float = -math.inf
    fail_above: float = math.inf

    def verdict(self, figure: float) -> Verdict:
        """Judge a figure; too short to tell (NaN) is not the same as in order.

        Parameters
        ----------
        figure : float
            What was found [any].

        Returns
        -------
        Verdict
            Pass, warn or fail.
        """
        if figure < self.fail_below or figure > self.fail_above:
            return Verdict.FAIL
        beyond = figure < self.warn_below or figure > self.warn_above
        return Verdict.WARN if beyond or math.isnan(figure) else Verdict.PASS


@dataclass(frozen=True)
class Place:
    """A stretch of a record.

    Parameters
    ----------
    begin, end : numpy.datetime64
        Start of its first and end of its last interval, to the second.
    depth_mm : float
        Rain in it [mm].
    """

    begin: np.datetime64
    end: np.datetime64
    depth_mm: float


@dataclass(frozen=True)
class Weight:
    """What doubtful values do to the depths: the depth that they move most against its limits.

    Parameters
    ----------
    reach : float
        How far it moves, over the distance from it to its limit on that side; above 1 it leaves
        its limits [-].
    duration_h, return_period_yr : float
        Which depth [h, yr].
    with_mm, without_mm : float
        The depth with and without the doubtful values [mm].
    """

    reach: float
    duration_h: float
    return_period_yr: float
    with_mm: float
    without_mm: float


@dataclass(frozen=True)
class QualityRow:
    """One check of a record.

    Parameters
    ----------
    check : Check
        What was looked at.
    figure : float
        What was found, in `unit`; NaN where the record is too short to tell [any].
    unit : str
        Unit of the figure: mm, share, times, or what is counted.
    limits : Limits
        What is expected.
    verdict : Verdict
        What it says.
    places : tuple of Place
        Where in the record the doubtful values lie, in order of time; empty where it is the whole.
    detail : Step or SnowRatio, optional
        More on what was found.
    weight : Weight, optional
        What the doubtful values do to the depths, where that was worked out.
    """

    check: Check
    figure: float
    unit: str
    limits: Limits
    verdict: Verdict
    places: tuple[Place, ...] = ()
    detail: Step | SnowRatio | None = None
    weight: Weight | None = None


@dataclass(frozen=True)
class ComparisonData:
    """What a record can be compared with.

    Parameters
    ----------
    snow : SnowRatio, optional
        New snow over its water, from the same file.
    mass : DoubleMass, optional
        The record against a neighbour's.
    over_official : float, optional
        Middle of own depths over official ones [-].
    """

    snow: SnowRatio | None = None
    mass: DoubleMass | None = None
    over_official: float | None = None


def places_of(record: RainRecord, first: IntArray, size: IntArray | int = 1) -> tuple[Place, ...]:
    """Name stretches of a record.

    Parameters
    ----------
    record : RainRecord
        The record.
    first : (n,) array of int
        The first interval of each stretch [-].
    size : (n,) array of int, or int
        How many intervals it has [-].

    Returns
    -------
    tuple of Place
        The stretches.
    """
    step = np.timedelta64(record.interval_s, "s")
    sizes = np.broadcast_to(size, np.shape(first))
    return tuple(
        Place(
            record.start + int(a) * step,
            record.start + int(a + n) * step,
            float(np.nansum(record.depth_mm[a : a + n])),
        )
        for a, n in zip(first, sizes, strict=True)
    )


def whole_years(record: RainRecord, years: IntArray) -> tuple[Place, ...]:
    """Name calendar years of a record.

    Parameters
    ----------
    record : RainRecord
        The record.
    years : (n,) array of int
        The years [yr].

    Returns
    -------
    tuple of Place
        One for each.
    """
    begins = (np.asarray(years) - 1970).astype("datetime64[Y]").astype("datetime64[s]")
    ends = (np.asarray(years) - 1969).astype("datetime64[Y]").astype("datetime64[s]")
    found = []
    for begin, end in zip(begins, ends, strict=True):
        inside = slice(*_intervals_of(record, begin, end))
        found.append(Place(begin, end, float(np.nansum(record.depth_mm[inside]))))
    return tuple(found)


def doubtful_intervals(record: RainRecord, places: tuple[Place, ...]) -> NDArray[np.bool_]:
    """Mark the intervals of a record that begin in some stretches.

    Parameters
    ----------
    record : RainRecord
        The record.
    places : tuple of Place
        The stretches.

    Returns
    -------
    (n,) array of bool
        True in the stretches [-].
    """
    marked = np.zeros(record.depth_mm.size, dtype=np.bool_)
    for place in places:
        marked[slice(*_intervals_of(record, place.begin, place.end))] = True
    return marked


def _intervals_of(record: RainRecord, begin: np.datetime64, end: np.datetime64) -> tuple[int, int]:
    """First interval that begins at or after a moment, and one past the last before another."""
    seconds = (int((moment - record.start).astype(np.int64)) for moment in (begin, end))
    first, last = (min(max(-(-s // record.interval_s), 0), record.depth_mm.size) for s in seconds)
    return first, last
