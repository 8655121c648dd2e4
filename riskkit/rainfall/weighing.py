"""What doubtful values of a record do to its depths: left out, and the rest fitted again.

A check that finds something is a doubt only where it matters. The values it names are left out and
the distribution is fitted to what is left; where no depth moves beyond its own limits, the chance
in so few years is larger than the doubt, and the check is a note. In the same way a single value is
told that lies beyond what the other years allow and decides the fit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskkit.errors import RangeError
from riskkit.rainfall.frequency import (
    depth_by_return_period_mm,
    depth_limits_mm,
    fit_maxima,
    monotone_depths_mm,
)
from riskkit.rainfall.maxima import (
    AnnualMaxima,
    annual_maxima,
    running_sums,
    weiss_factor,
    window_sums,
)
from riskkit.rainfall.quality_rows import (
    Check,
    Place,
    QualityRow,
    Verdict,
    Weighing,
    Weight,
    doubtful_intervals,
    places_of,
)
from riskkit.records import DepthDurationFrequency, FloatArray, IntArray, RainRecord
from riskkit.tables import load_table

__all__ = ["DecidingValue", "deciding_value", "maxima_without", "weighed"]

FEWEST_LEFT = 5  # years; fewer are fitted by no method
FEW_GONE = 0.8  # share of the years that must stay for their scale to be that of the record
RARE = 20.0  # the other years allow a value that is the largest of so many records like theirs
_SEED = 1  # of the limits of the other years


@dataclass(frozen=True)
class DecidingValue:
    """A single value that decides the depths and lies beyond what the other years allow.

    Parameters
    ----------
    place : Place
        Its interval.
    allowed_mm : float
        What the other years allow in the shortest duration, at the upper of their limits [mm].
    weight : Weight
        The depth that it moves most.
    without : RainRecord
        The record without it.
    """

    place: Place
    allowed_mm: float
    weight: Weight
    without: RainRecord


def weighed(
    rows: tuple[QualityRow, ...], record: RainRecord, table: DepthDurationFrequency
) -> tuple[QualityRow, ...]:
    """Weigh each check by what its doubtful values do to the depths.

    Parameters
    ----------
    rows : tuple of QualityRow
        The checks of `riskkit.rainfall.quality.check_record`.
    record : RainRecord
        The record.
    table : DepthDurationFrequency
        Its depths with their limits, of `riskkit.rainfall.extremes.depth_duration_frequency`.

    Returns
    -------
    tuple of QualityRow
        The same checks; a note where no depth moves by more than its limits.

    References
    ----------
    judgement : what is a doubt
    """
    kinds = {row["check"]: Weighing(row["weighed"]) for row in load_table("quality_limits").rows}
    maxima = annual_maxima(record, _own_durations(record, table))
    return tuple(_weighed_row(row, kinds[row.check.value], record, table, maxima) for row in rows)


def _weighed_row(
    row: QualityRow,
    kind: Weighing,
    record: RainRecord,
    table: DepthDurationFrequency,
    maxima: AnnualMaxima,
) -> QualityRow:
    counts = {Weighing.NONE: (), Weighing.WARNING: (Verdict.WARN,),
              Weighing.ANY: (Verdict.WARN, Verdict.FAIL)}[kind]  # fmt: skip
    if row.verdict not in counts or np.isnan(row.figure):
        return row
    if row.check is Check.SMALLEST_STEP:
        weight = _weight(table, maxima, _depths(maxima, maxima.depth_mm, table) + 0.5 * row.figure)
    else:
        left = maxima_without(record, maxima, row.places)
        if left.shape[1] < FEWEST_LEFT:
            return row
        scale = _scale_left(maxima, left)
        weight = _weight(table, maxima, _depths(maxima, left, table), scale)
    verdict = row.verdict if weight.reach > 1.0 else Verdict.NOTE
    return replace(row, verdict=verdict, weight=weight)


def _own_durations(record: RainRecord, table: DepthDurationFrequency) -> list[float]:
    return [d for d in table.duration_h.tolist() if d * 3600.0 >= record.interval_s * (1 - 1e-6)]


def _depths(
    maxima: AnnualMaxima, depth_mm: FloatArray, table: DepthDurationFrequency
) -> FloatArray:
    """Depths of the durations that the record shows, from maxima as its gauge caught them."""
    true_mm = depth_mm * weiss_factor(maxima.intervals)[:, None]
    return monotone_depths_mm(depth_by_return_period_mm(true_mm, table.return_period_yr))[0]


def _weight(
    table: DepthDurationFrequency,
    maxima: AnnualMaxima,
    without: FloatArray,
    scale: FloatArray | float = 1.0,
) -> Weight:
    """Find the depth that moves most against its limits, which shrink with the fitted scale."""
    rows = np.isin(table.duration_h, maxima.duration_h)
    if table.lower_mm is None or table.upper_mm is None:
        raise RangeError("rain table", "it has no limits to weigh a doubt by")
    depth = table.depth_mm[rows]
    room = np.where(without > depth, table.upper_mm[rows] - depth, depth - table.lower_mm[rows])
    reach = np.abs(without - depth) / np.maximum(room * scale, 1e-9)
    i, j = np.unravel_index(int(reach.argmax()), reach.shape)
    return Weight(
        float(reach[i, j]),
        float(maxima.duration_h[i]),
        float(table.return_period_yr[j]),
        float(depth[i, j]),
        float(without[i, j]),
    )


def _scale_left(maxima: AnnualMaxima, left: FloatArray) -> FloatArray:
    """Fitted scale without doubtful values over that with them, where it is smaller.

    Wrong values widen the limits of the very fit that they spoil. Where many years go, the scale of
    the rest differs by chance.
    """
    if left.shape[1] < FEW_GONE * maxima.year.size:
        return np.ones((maxima.intervals.size, 1))
    ratio = fit_maxima(left).scale / fit_maxima(maxima.depth_mm).scale
    return np.asarray(np.minimum(ratio, 1.0))[:, None]


def maxima_without(
    record: RainRecord, maxima: AnnualMaxima, places: tuple[Place, ...]
) -> FloatArray:
    """Annual maxima without some stretches of the record; a year with too little left is dropped.

    Only the years that the stretches touch are looked at again.

    Parameters
    ----------
    record : RainRecord
        The record.
    maxima : AnnualMaxima
        Its annual maxima.
    places : tuple of Place
        What is left out.

    Returns
    -------
    (n_durations, n_years_left) array
        The maxima, as measured [mm].

    References
    ----------
    arithmetic : running sums
    """
    longest = int(maxima.intervals.max())
    out = doubtful_intervals(record, places)
    depth = maxima.depth_mm.copy()
    left = np.ones(maxima.year.size, dtype=np.bool_)
    for i, year in enumerate(maxima.year):
        begin, end = _year_slice(record, int(year))
        early = max(begin - longest, 0)
        if not out[early:end].any():
            continue
        known = np.where(out[early:end], np.nan, record.depth_mm[early:end])
        before, now = (np.sum(~np.isnan(one)) for one in (
            record.depth_mm[begin:end], known[begin - early :]))  # fmt: skip
        left[i] = now > 0 and maxima.known_share[i] * now / before >= 0.8
        if left[i]:
            depth[:, i] = _largest(replace(record, depth_mm=known), begin - early, maxima.intervals)
    return depth[:, left]


def _year_slice(record: RainRecord, year: int) -> tuple[int, int]:
    found = []
    for one in (year, year + 1):
        seconds = int((np.datetime64(f"{one:04d}-01-01", "s") - record.start).astype(np.int64))
        found.append(min(max(-(-seconds // record.interval_s), 0), record.depth_mm.size))
    return found[0], found[1]


def _largest(part: RainRecord, begin: int, intervals: IntArray) -> FloatArray:
    sums = running_sums(part)
    return np.array([max(window_sums(sums, int(n))[0][begin:].max(), 0.0) for n in intervals])


def deciding_value(record: RainRecord, table: DepthDurationFrequency) -> DecidingValue | None:
    """Find a single value that decides the depths and that the other years do not allow.

    The largest value of the years that count is left out and the rest fitted again. It is told
    where it lies above the upper limit of what the other years bring once in twenty records of
    their length, and a depth with it lies beyond the limits of that depth without it.

    Parameters
    ----------
    record : RainRecord
        The record.
    table : DepthDurationFrequency
        Its depths.

    Returns
    -------
    DecidingValue or None
        The value; None where there is none such.

    References
    ----------
    judgement : what decides
    """
    maxima = annual_maxima(record, _own_durations(record, table))
    at = _largest_value(record, maxima.year)
    if at is None:
        return None
    place = places_of(record, np.array([at]))
    left = maxima_without(record, maxima, place)
    if left.shape[1] < FEWEST_LEFT:
        return None
    true_mm = left * weiss_factor(maxima.intervals)[:, None]
    rare = np.array([RARE * left.shape[1]])
    period = np.concatenate([table.return_period_yr, rare])
    rng = np.random.default_rng(_SEED)
    lower, upper = depth_limits_mm(true_mm, period, rng)
    value = float(maxima.depth_mm[0].max() * weiss_factor(maxima.intervals)[0])
    allowed = float(max(upper[0, -1], depth_by_return_period_mm(true_mm, rare)[0, 0]))
    if value <= allowed:
        return None
    others = replace(
        table,
        duration_h=maxima.duration_h,
        depth_mm=_depths(maxima, left, table),
        lower_mm=lower[:, :-1],
        upper_mm=upper[:, :-1],
    )
    weight = _weight(others, maxima, _depths(maxima, maxima.depth_mm, table))
    if weight.reach <= 1.0:
        return None
    weight = replace(weight, with_mm=weight.without_mm, without_mm=weight.with_mm)
    depth = np.array(record.depth_mm)
    depth[at] = np.nan
    return DecidingValue(place[0], allowed, weight, replace(record, depth_mm=depth))


def _largest_value(record: RainRecord, years: IntArray) -> int | None:
    """Place of the largest value in the years that count."""
    best: int | None = None
    for year in years:
        begin, end = _year_slice(record, int(year))
        part = record.depth_mm[begin:end]
        at = begin + int(np.nanargmax(part))
        if best is None or record.depth_mm[at] > record.depth_mm[best]:
            best = at
    return best
