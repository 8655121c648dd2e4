"""Can this record be trusted? One row per check, with the figure, the limit and what it means.

The limits stand in ``riskkit/tables/quality_limits.csv``. Nothing is repaired here: a reader
repairs what it knows, this tells what is left.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.homogeneity import DoubleMass, Step, maxima_step, totals_step
from riskkit.rainfall.noaa import accumulations_after_gaps, coarse_years
from riskkit.rainfall.snowfall import SnowRatio
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.tables import load_table

__all__ = [
    "Beside",
    "QualityRow",
    "Verdict",
    "check_record",
    "mean_annual_depth_mm",
    "missing_by_year",
    "smallest_step_mm",
    "world_envelope_mm",
]

COMPLETE_SHARE = 0.8  # a year counts when at least this share of it is there
LARGE_QUANTILE = 0.95  # a wet value above it is large
STEP_SHARE = 0.95  # share of wet values that are whole steps
SIGNIFICANT = 0.05  # a chance of a step below it is told with its place
ENVELOPE_RANGE_H = (1.0 / 60.0, 48.0)  # of the curve of the world's records
ENVELOPE_HOURS = 24.0  # the envelope holds up to a day or two
TENTH_INCH_MM = 2.54
ROUNDING = 1e-3  # of a step: values were turned between units and rounded


class Verdict(Enum):
    """What a check says."""

    PASS = "pass"  # noqa: S105 - not a password
    WARN = "warn"
    FAIL = "fail"


@dataclass(frozen=True)
class QualityRow:
    """One check of a record.

    Parameters
    ----------
    check : str
        What was looked at.
    figure : float
        What was found, in `unit`; NaN where the record is too short to tell [any].
    unit : str
        Unit of the figure.
    limit : str
        What is expected, in words.
    verdict : Verdict
        Pass, warn or fail.
    meaning : str
        Why it matters, in plain words; with `when` where the check does not pass.
    when : str
        Where in the record, such as ``"in 2007"``; empty where it is of the whole record.
    """

    check: str
    figure: float
    unit: str
    limit: str
    verdict: Verdict
    meaning: str
    when: str = ""


def world_envelope_mm(duration_h: float | FloatArray) -> FloatArray:
    """Return the greatest rain that the world has seen in a time.

    .. math:: P = 425 D^{0.47}

    with P in mm and D in h. Valid from one minute to two days; at three and four days the records
    of Réunion in 2007 lie above it.

    Parameters
    ----------
    duration_h : float or (n,) array
        Duration, 1/60 to 48 [h].

    Returns
    -------
    (n,) array
        Depth, or a single number for a single duration [mm].

    Raises
    ------
    RangeError
        Where a duration is outside the range of the curve.

    References
    ----------
    jennings1950 : pages 4-5; the curve as given in later textbooks
    """
    hours = np.asarray(duration_h, dtype=np.float64)
    shortest, longest = ENVELOPE_RANGE_H
    if not np.all((hours >= shortest) & (hours <= longest)):
        asked = " to ".join(f"{end:g}" for end in np.unique([hours.min(), hours.max()]))
        raise RangeError(
            "world envelope", f"a duration of {asked} h is beyond it", "it goes from 1 min to 48 h"
        )
    return 425.0 * hours**0.47


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

    References
    ----------
    arithmetic : counting
    """
    year = _years(record)
    years = np.arange(year[0], year[-1] + 1)
    there = np.bincount(year - year[0], weights=~np.isnan(record.depth_mm), minlength=years.size)
    begin = (years - 1970).astype("datetime64[Y]").astype("datetime64[s]")
    end = (years - 1969).astype("datetime64[Y]").astype("datetime64[s]")
    length_s = (end - begin).astype(np.int64)
    share = 1.0 - there * record.interval_s / length_s
    return years, np.clip(share, 0.0, 1.0)


class _Found(NamedTuple):
    """A figure, what more it says, and where in the record it lies."""

    figure: float
    more: str = ""
    when: str = ""


def _at_times(record: RainRecord, at: IntArray) -> _Found:
    """Count intervals, and name the years that they lie in."""
    years = _years(record)[at]
    if not years.size:
        return _Found(0.0)
    first, last = years.min(), years.max()
    return _Found(
        float(years.size), "", f"in {first}" if first == last else f"from {first} to {last}"
    )


def _time_words(record: RainRecord, at: int) -> str:
    return str(record.times[at].astype("datetime64[m]")).replace("T", " ")


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
    return _Found(missing, "", f"in {years[covered][worst]}" if missing else "")


def _years(record: RainRecord) -> IntArray:
    years: IntArray = record.times.astype("datetime64[Y]").astype(np.int64) + 1970
    return years


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
    return _at_times(record, np.array(begins, dtype=np.int64))


def _longest_run(record: RainRecord) -> _Found:
    """Longest run of one value above the smallest step; single steps repeat in steady rain."""
    depth = record.depth_mm
    step = smallest_step_mm(record)
    high = depth > step * 1.001
    same = np.zeros(depth.size, dtype=np.bool_)
    same[1:] = (depth[1:] == depth[:-1]) & high[1:]
    if not same.any():
        return _Found(1.0 if high.any() else 0.0)
    edge = np.flatnonzero(np.diff(np.concatenate([[0], same.astype(np.int8), [0]])))
    repeats = edge[1::2] - edge[::2]
    longest = int(np.argmax(repeats))
    begin = int(edge[::2][longest]) - 1  # the first of the values is no repeat
    return _Found(float(repeats[longest] + 1), "", f"from {_time_words(record, begin)}")


def _large_after_gap(record: RainRecord) -> _Found:
    wet = record.depth_mm[record.depth_mm > 0]
    if not wet.size:
        return _Found(0.0)
    large = record.depth_mm > np.quantile(wet, LARGE_QUANTILE)
    return _at_times(record, np.flatnonzero(accumulations_after_gaps(record.depth_mm) & large))


def _envelope_share(record: RainRecord) -> _Found:
    """Largest share of the world envelope, over durations from one interval to a day."""
    sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(record.depth_mm))])
    longest = min(int(ENVELOPE_HOURS * 3600 // record.interval_s), record.depth_mm.size)
    lengths = np.unique(np.geomspace(1, max(longest, 1), 12).astype(np.int64))
    begins = [int(np.argmax(sums[n:] - sums[:-n])) for n in lengths]
    largest = np.array([sums[b + n] - sums[b] for b, n in zip(begins, lengths, strict=True)])
    share = largest / world_envelope_mm(lengths * record.interval_s / 3600.0)
    worst = int(np.argmax(share))
    return _Found(float(share[worst]), "", f"from {_time_words(record, begins[worst])}")


def _coarse_share(record: RainRecord) -> float:
    year = _years(record)
    wet_years = np.unique(year[record.depth_mm > 0])
    coarse = coarse_years(record.depth_mm, year, TENTH_INCH_MM)
    return float(coarse.size / wet_years.size) if wet_years.size else 0.0


@dataclass(frozen=True)
class Beside:
    """What a record can be held against.

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


def _of_step(step: Step | None) -> _Found | None:
    """Chance of a step; where chance is no likely cause, its size and place."""
    if step is None:
        return None
    moved = "more" if step.change > 0 else "less"
    words = f"{100 * abs(step.change):.0f} % {moved} after {step.last_year}"
    return _Found(step.p_value, words if step.p_value < SIGNIFICANT else "")


def _of_snow(snow: SnowRatio | None) -> _Found | None:
    if snow is None:
        return None
    low, high = (snow.ratio * factor for factor in (10.0, 0.1))
    words = f"{snow.days} days of {snow.column}"
    if 8.0 <= low <= 25.0:
        words += ", where snow is ten times too small or rain ten times too large"
    elif 8.0 <= high <= 25.0:
        words += ", where snow is ten times too large or rain ten times too small"
    return _Found(snow.ratio, words)


_FIGURES: dict[str, Callable[[RainRecord, Beside], float | _Found | None]] = {
    "negative values": lambda record, _: _at_times(record, np.flatnonzero(record.depth_mm < 0)),
    "repeated days": lambda record, _: _repeated_days(record),
    "missing share": lambda record, _: float(np.mean(np.isnan(record.depth_mm))),
    "worst year missing": lambda record, _: _worst_year(record),
    "complete years": lambda record, _: float(complete_years(record).size),
    "longest run of one value": lambda record, _: _longest_run(record),
    "large values after a gap": lambda record, _: _large_after_gap(record),
    "share of the world envelope": lambda record, _: _envelope_share(record),
    "mean annual depth": lambda record, _: mean_annual_depth_mm(record),
    "smallest step": lambda record, _: smallest_step_mm(record),
    "years in tenths of an inch": lambda record, _: _coarse_share(record),
    "step in yearly totals": lambda record, _: _of_step(totals_step(record)),
    "step in largest days": lambda record, _: _of_step(maxima_step(record)),
    "snow over its water": lambda _, beside: _of_snow(beside.snow),
    "rain over the neighbour": lambda _, beside: beside.mass.slope if beside.mass else None,
    "step against the neighbour": lambda _, beside: (
        _of_step(beside.mass.step) if beside.mass else None
    ),
    "own over official depths": lambda _, beside: beside.over_official,
}


def check_record(record: RainRecord, beside: Beside | None = None) -> tuple[QualityRow, ...]:
    """Check a rain record.

    Parameters
    ----------
    record : RainRecord
        The record.
    beside : Beside, optional
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
        found = _FIGURES[row["check"]](record, beside or Beside())
        if found is None:
            continue
        figure, more, when = found if isinstance(found, _Found) else _Found(found)
        limits = {key: float(row[key]) for key in _LIMITS if row[key]}
        verdict = _verdict(figure, limits)
        place = "" if verdict is Verdict.PASS else when
        rows.append(
            QualityRow(
                row["check"],
                figure,
                row["unit"],
                _expected(limits, row["unit"]),
                verdict,
                "; ".join(part for part in (row["meaning"], more, place) if part),
                when,
            )
        )
    return tuple(rows)


_LIMITS = ("warn_below", "warn_above", "fail_below", "fail_above")


def _verdict(figure: float, limits: dict[str, float]) -> Verdict:
    if np.isnan(figure):
        return Verdict.WARN  # too short to tell is not the same as in order
    for kind, verdict in (("fail", Verdict.FAIL), ("warn", Verdict.WARN)):
        if figure < limits.get(f"{kind}_below", -np.inf):
            return verdict
        if figure > limits.get(f"{kind}_above", np.inf):
            return verdict
    return Verdict.PASS


def _expected(limits: dict[str, float], unit: str) -> str:
    low = limits.get("warn_below", limits.get("fail_below"))
    high = limits.get("warn_above", limits.get("fail_above"))
    if low is not None and high is not None:
        return f"{low:g} to {high:g} {unit}"
    return f"at least {low:g} {unit}" if low is not None else f"at most {high:g} {unit}"
