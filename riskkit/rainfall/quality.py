"""Can this record be trusted? One row per check, with the figure, the limit and what it means.

The limits stand in ``riskkit/tables/quality_limits.csv``. Nothing is repaired here: a reader
repairs what it knows, this tells what is left.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskkit.rainfall.envelope import world_envelope_mm
from riskkit.rainfall.gaps import after_gaps, large_after_gaps
from riskkit.rainfall.homogeneity import Step, maxima_step, totals_step
from riskkit.rainfall.maxima import running_sums, window_sums, year_starts
from riskkit.rainfall.quality_rows import (
    Check,
    ComparisonData,
    Limits,
    Place,
    QualityRow,
    Verdict,
    places_of,
    whole_years,
)
from riskkit.rainfall.readers.noaa import coarse_years
from riskkit.rainfall.readers.snowfall import SnowRatio
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.tables import load_table

__all__ = [
    "ComparisonData",
    "QualityRow",
    "Verdict",
    "check_record",
    "mean_annual_depth_mm",
    "missing_by_year",
    "smallest_step_mm",
]

COMPLETE_SHARE = 0.8  # a year counts when at least this share of it is there
GAPPY_SHARE = 0.1  # a year that counts and of which more is missing may hide its largest storm
SHORT_RUN = 11  # intervals; shorter runs of one value are common
LARGE_RUN_SHARE = 0.5  # of the usual largest rain of a year: a run from there on matters
STEP_SHARE = 0.95  # share of wet values that are whole steps
SIGNIFICANT = 0.05  # a chance of a step below it is told with its place
ENVELOPE_HOURS = 24.0  # the envelope holds up to a day or two
TENTH_INCH_MM = 2.54
ROUNDING = 1e-3  # of a step: values were turned between units and rounded


def missing_by_year(record: RainRecord) -> tuple[IntArray, FloatArray]:
    """Return the share of each calendar year that is missing.

    A year that the record begins or ends in counts as missing where the record is not.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    years : (n_years,) array of int
        Calendar years [yr].
    share : (n_years,) array
        Missing share of each [-].
    """
    first, years = year_starts(record)
    there = np.add.reduceat((~np.isnan(record.depth_mm)).astype(np.float64), first)
    begin = (years - 1970).astype("datetime64[Y]").astype("datetime64[s]")
    end = (years - 1969).astype("datetime64[Y]").astype("datetime64[s]")
    length_s = (end - begin).astype(np.int64)
    share = 1.0 - there * record.interval_s / length_s
    return years, np.clip(share, 0.0, 1.0)


class _Found(NamedTuple):
    """A figure, where in the record it lies, more on it, and whether it matters for maxima."""

    figure: float
    places: tuple[Place, ...] = ()
    detail: Step | SnowRatio | None = None
    matters: bool = True


def _single(record: RainRecord, which: NDArray[np.bool_]) -> _Found:
    places = places_of(record, np.flatnonzero(which))
    return _Found(float(len(places)), places)


def _missing(record: RainRecord) -> _Found:
    """Missing share of all, and the years that count though much of them is missing."""
    years, share = missing_by_year(record)
    gappy = (share > GAPPY_SHARE) & np.isin(years, complete_years(record))
    figure = float(np.mean(np.isnan(record.depth_mm)))
    return _Found(figure, whole_years(record, years[gappy]))


def _worst_year(record: RainRecord) -> _Found:
    """Largest missing share of the years that the record covers from begin to end."""
    years, share = missing_by_year(record)
    day = np.timedelta64(86400, "s")
    whole_first = record.times[0] < np.datetime64(f"{years[0]}-01-01") + day
    whole_last = record.times[-1] >= np.datetime64(f"{years[-1] + 1}-01-01") - day
    covered = slice(0 if whole_first else 1, share.size if whole_last else -1)
    if not share[covered].size:
        return _Found(float("nan"))
    worst = int(np.argmax(share[covered]))
    missing = float(share[covered][worst])
    named = years[covered][worst : worst + 1] if missing else years[:0]
    return _Found(missing, whole_years(record, named))


def _years(record: RainRecord) -> IntArray:
    first, year = year_starts(record)
    return np.repeat(year, np.diff(np.append(first, record.depth_mm.size)))


def complete_years(record: RainRecord, share: float = COMPLETE_SHARE) -> IntArray:
    """Return the calendar years that are complete enough to count.

    Parameters
    ----------
    record : RainRecord
        The record.
    share : float, default 0.8
        Share of a year that must be there [-].

    Returns
    -------
    (n_complete,) array of int
        The years [yr].

    References
    ----------
    judgement : share of 0.8
    """
    years, missing = missing_by_year(record)
    enough: IntArray = years[missing <= 1.0 - share + 1e-12]
    return enough


def mean_annual_depth_mm(record: RainRecord) -> float:
    """Return the mean annual depth of the years that are complete enough.

    What is missing in such a year is filled at the year's own mean rate.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    float
        Mean annual depth [mm]; NaN where no year is complete enough.

    References
    ----------
    arithmetic : mean of yearly totals
    """
    years, missing = missing_by_year(record)
    year = _years(record)
    total = np.bincount(year - year[0], weights=np.nan_to_num(record.depth_mm))
    enough = np.isin(years, complete_years(record))
    if not enough.any():
        return float("nan")
    return float(np.mean(total[enough] / (1.0 - missing[enough])))


def smallest_step_mm(record: RainRecord) -> float:
    """Return the coarsest known gauge step that nearly all wet values are multiples of.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    float
        The step [mm]; 0 where the values are finer than any, or none is wet.

    References
    ----------
    common_practice : steps of gauges
    """
    wet = record.depth_mm[record.depth_mm > 0]
    if not wet.size:
        return 0.0
    for step in sorted(load_table("gauge_steps").column("step"), reverse=True):
        ratio = wet / step
        if np.mean(np.abs(ratio - np.round(ratio)) < ROUNDING) >= STEP_SHARE:
            return step
    return 0.0


def _repeated_days(record: RainRecord) -> _Found:
    """Count times of 24 wet hours that equal the 24 before, interval by interval, none twice.

    They begin at any hour: a copy seldom keeps to midnight, since observers and zones do not.
    """
    per_day = 86400 // record.interval_s
    depth = record.depth_mm
    if per_day < 4 or 86400 % record.interval_s or depth.size < 2 * per_day:
        return _Found(0.0)
    now = depth[per_day:]
    same = np.concatenate([[0], np.cumsum(now == depth[:-per_day])])
    wet = np.concatenate([[0], np.cumsum(now > 0)])
    found = (same[per_day:] - same[:-per_day] == per_day) & (wet[per_day:] - wet[:-per_day] >= 3)
    begins: list[int] = []
    for begin in np.flatnonzero(found).tolist():
        if not begins or begin >= begins[-1] + per_day:
            begins.append(begin)
    # the copy is the later of the two days
    places = places_of(record, np.array(begins, dtype=np.int64) + per_day, per_day)
    return _Found(float(len(places)), places)


def _longest_run(record: RainRecord) -> _Found:
    """Longest run of one value above the smallest step; single steps repeat in steady rain.

    Some weather services spread light rain evenly over hours, so long runs of one small depth are
    how such records are made. A stuck gauge matters where its run makes, or nearly makes, the
    largest rain of a year; the longest of such runs counts before longer ones of light rain.
    """
    depth = record.depth_mm
    step = smallest_step_mm(record)
    high = depth > step * 1.001
    same = np.zeros(depth.size, dtype=np.bool_)
    same[1:] = (depth[1:] == depth[:-1]) & high[1:]
    if not same.any():
        return _Found(1.0 if high.any() else 0.0)
    edge = np.flatnonzero(np.diff(np.concatenate([[0], same.astype(np.int8), [0]])))
    begin, size = edge[::2] - 1, edge[1::2] - edge[::2] + 1  # the first value is no repeat
    long = size > min(SHORT_RUN, size.max() - 1)
    begin, size = begin[long], size[long]
    large = size * depth[begin] >= LARGE_RUN_SHARE * _usual_largest_mm(record, size)
    matters = bool(large.any())
    if matters:
        begin, size = begin[large], size[large]
    else:
        begin, size = begin[[size.argmax()]], size[[size.argmax()]]
    return _Found(float(size.max()), places_of(record, begin, size), matters=matters)


def _usual_largest_mm(record: RainRecord, sizes: IntArray) -> FloatArray:
    """Median over the years of the largest rain in so many intervals, or somewhat fewer [mm]."""
    first = np.searchsorted(_years(record), np.unique(_years(record)))
    sums = running_sums(record)
    power = 2 ** np.floor(np.log2(sizes)).astype(np.int64)  # few windows do for all lengths
    found = np.zeros(sizes.size)
    for n in np.unique(power):
        largest = np.maximum.reduceat(window_sums(sums, int(n))[0], first)
        found[power == n] = np.median(largest[largest > 0]) if np.any(largest > 0) else 0.0
    return found


def _large_after_gap(record: RainRecord) -> _Found:
    """Large values after a gap; a value that the reader removed is no gap for the next one."""
    after = after_gaps(record.depth_mm)
    step = np.timedelta64(record.interval_s, "s")
    times = np.array([one.time for one in record.removed], dtype="datetime64[s]")
    next_to = ((times - record.start) // step).astype(np.int64) + 1
    after[next_to[(next_to > 0) & (next_to < after.size)]] = False
    return _single(record, large_after_gaps(record.depth_mm, after))


def _envelope_share(record: RainRecord) -> _Found:
    """Largest share of the world envelope, over durations from one interval to a day."""
    sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(record.depth_mm))])
    longest = min(int(ENVELOPE_HOURS * 3600 // record.interval_s), record.depth_mm.size)
    lengths = np.unique(np.geomspace(1, max(longest, 1), 12).astype(np.int64))
    begins = [int(np.argmax(sums[n:] - sums[:-n])) for n in lengths]
    largest = np.array([sums[b + n] - sums[b] for b, n in zip(begins, lengths, strict=True)])
    share = largest / world_envelope_mm(lengths * record.interval_s / 3600.0)
    worst = int(np.argmax(share))
    place = places_of(record, np.array([begins[worst]]), int(lengths[worst]))
    return _Found(float(share[worst]), place)


def _coarse_share(record: RainRecord) -> _Found:
    year = _years(record)
    wet_years = np.unique(year[record.depth_mm > 0])
    coarse = coarse_years(record.depth_mm, year, TENTH_INCH_MM)
    share = float(coarse.size / wet_years.size) if wet_years.size else 0.0
    return _Found(share, whole_years(record, coarse))


def _of_step(record: RainRecord, step: Step | None) -> _Found | None:
    """Chance of a step; where chance is no likely cause, its place: the shorter side of it."""
    if step is None:
        return None
    if step.p_value >= SIGNIFICANT:
        return _Found(step.p_value)
    years = np.unique(_years(record))
    before = years <= step.last_year
    shorter = before if 2 * before.sum() <= before.size else ~before
    return _Found(step.p_value, whole_years(record, years[shorter]), step)


_FIGURES: dict[Check, Callable[[RainRecord, ComparisonData], float | _Found | None]] = {
    Check.NEGATIVE: lambda record, _: _single(record, record.depth_mm < 0),
    Check.REPEATED_DAYS: lambda record, _: _repeated_days(record),
    Check.MISSING: lambda record, _: _missing(record),
    Check.WORST_YEAR: lambda record, _: _worst_year(record),
    Check.COMPLETE_YEARS: lambda record, _: float(complete_years(record).size),
    Check.LONGEST_RUN: lambda record, _: _longest_run(record),
    Check.AFTER_GAP: lambda record, _: _large_after_gap(record),
    Check.ENVELOPE: lambda record, _: _envelope_share(record),
    Check.ANNUAL_DEPTH: lambda record, _: mean_annual_depth_mm(record),
    Check.SMALLEST_STEP: lambda record, _: smallest_step_mm(record),
    Check.TENTHS_OF_INCH: lambda record, _: _coarse_share(record),
    Check.TOTALS_STEP: lambda record, _: _of_step(record, totals_step(record)),
    Check.MAXIMA_STEP: lambda record, _: _of_step(record, maxima_step(record)),
    Check.SNOW: lambda _, beside: (
        None if beside.snow is None else _Found(beside.snow.ratio, (), beside.snow)
    ),
    Check.OVER_NEIGHBOUR: lambda _, beside: beside.mass.slope if beside.mass else None,
    Check.NEIGHBOUR_STEP: lambda record, beside: (
        _of_step(record, beside.mass.step) if beside.mass else None
    ),
    Check.OVER_OFFICIAL: lambda _, beside: beside.over_official,
}


def check_record(
    record: RainRecord, beside: ComparisonData | None = None
) -> tuple[QualityRow, ...]:
    """Check a rain record; `riskkit.rainfall.weighing` says what the findings do to the depths.

    Parameters
    ----------
    record : RainRecord
        The record.
    beside : ComparisonData, optional
        What to hold it against.

    Returns
    -------
    tuple of QualityRow
        A row per check that there is something to look at for, in the order of the table of limits.

    References
    ----------
    judgement : riskkit/tables/quality_limits.csv
    """
    rows = []
    for row in load_table("quality_limits").rows:
        check = Check(row["check"])
        found = _FIGURES[check](record, beside or ComparisonData())
        if found is None:
            continue
        found = found if isinstance(found, _Found) else _Found(found)
        limits = Limits(**{item.name: float(row[item.name]) for item in fields(Limits)
                           if row[item.name]})  # fmt: skip
        verdict = limits.verdict(found.figure)
        if not (verdict is Verdict.PASS or found.matters):
            verdict = Verdict.NOTE
        rows.append(
            QualityRow(
                check, found.figure, row["unit"], limits, verdict, found.places, found.detail
            )
        )
    return tuple(rows)
