"""Depth by duration and return period from a rain record, and beside an official table."""

from __future__ import annotations

import dataclasses
import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError, OutOfRangeWarning, RangeError, need_type
from riskkit.quantities.climate import Climate
from riskkit.quantities.variables import counted
from riskkit.rainfall.frequency import (
    depth_by_return_period_mm,
    depth_limits_mm,
    monotone_depths_mm,
    to_partial_duration,
)
from riskkit.rainfall.maxima import AnnualMaxima, annual_maxima, weiss_factor
from riskkit.rainfall.ratios import (
    RatioSet,
    ShortDepths,
    minutes_words,
    short_depths,
    short_words,
    widened_limits_mm,
)
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord, Series
from riskkit.records.arguments import need_if_given, need_number, need_numbers

__all__ = [
    "DURATIONS_H",
    "RETURN_PERIODS_YR",
    "TableComparison",
    "compare_tables",
    "depth_duration_frequency",
    "in_climate",
    "scale_by_climate",
    "with_short_durations",
]

DURATIONS_H = (1 / 12, 1 / 6, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0)
"""Durations of a table unless others are asked for [h]."""

RETURN_PERIODS_YR = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
"""Return periods of a table unless others are asked for [yr]."""


def depth_duration_frequency(
    record: RainRecord,
    rng: np.random.Generator | None = None,
    *,
    duration_h: Sequence[float] = DURATIONS_H,
    return_period_yr: Sequence[float] = RETURN_PERIODS_YR,
    ratios: RatioSet = RatioSet.REGION_MEAN,
    min_known_share: float = 0.8,
    n_resamples: int = 1000,
) -> DepthDurationFrequency:
    """Depths by duration and partial-duration return period from a record.

    Annual maxima, times the fixed-interval factor, then the distribution of
    `depth_by_return_period_mm`, made monotone. Durations that are multiples of the record's
    interval come from the record; shorter ones from published ratios, with wider limits; longer
    ones that are no multiple are left out. What was done stands in the notes.

    Parameters
    ----------
    record : RainRecord
        The record; at least five years known well enough.
    rng : numpy.random.Generator, optional
        For the limits; without it the table has none.
    duration_h : sequence of float
        Durations, increasing [h].
    return_period_yr : sequence of float
        Partial-duration return periods, increasing [yr].
    ratios : RatioSet
        Ratios to the day for a record that is read less often than by the hour; by default the mean
        of the regions, because the region is not known.
    min_known_share : float
        Share of a year that must be known for it to count, 0 to 1 [-].
    n_resamples : int
        How many records are simulated for the limits [-].

    Returns
    -------
    DepthDurationFrequency
        Depths [mm], with 5 % and 95 % limits where `rng` is given.

    Raises
    ------
    RangeError
        Where fewer than five years count, or no duration is a multiple of the interval.

    References
    ----------
    weiss1964 : fixed-interval factor
    hosking1985 : distribution
    langbein1949 : partial duration
    neh630_4 : Figure 4-72
    hydro35 : minutes from the hour
    """
    need_type(record, RainRecord, "record", "make one with read_rain")
    right = "give numpy.random.default_rng(1), or leave it out"
    need_if_given(rng, np.random.Generator, "rng", right)
    need_numbers(duration_h, "durations", "give hours, such as [1, 24]")
    need_numbers(return_period_yr, "return periods", "give years, such as [2, 10, 100]")
    need_type(ratios, RatioSet, "ratios", "give one of RatioSet, such as RatioSet.REGION_MEAN")
    need_number(min_known_share, "min_known_share", "give a share of 0 to 1", least=0.0, most=1.0)
    need_number(n_resamples, "n_resamples", "give a whole number, such as 1000", least=1)
    asked = np.asarray(duration_h, dtype=np.float64)
    period = np.asarray(return_period_yr, dtype=np.float64)
    steps = asked * 3600.0 / record.interval_s
    own_h = asked[(steps > 1 - 1e-6) & (np.abs(steps - np.round(steps)) < 1e-6)]
    short_h = asked[steps < 1 - 1e-6]
    if own_h.size == 0:
        raise RangeError(
            "rain table", f"no duration is a multiple of the interval of {record.interval_s} s"
        )
    maxima = annual_maxima(record, own_h.tolist(), min_known_share)
    true_mm = maxima.depth_mm * weiss_factor(maxima.intervals)[:, None]
    notes = _about_years(maxima, min_known_share)
    if maxima.year.size * 3 < period[-1]:
        text = (
            f"A return period of {period[-1]:g} years is more than three times the "
            f"{counted(maxima.year.size, 'year', 'years')} of record."
        )
        warnings.warn(text, OutOfRangeWarning, stacklevel=2)
        notes.append(text)
    depth = depth_by_return_period_mm(true_mm, period)
    _need_rain(depth, own_h)
    limits = None if rng is None else depth_limits_mm(true_mm, period, rng, n_resamples)
    log_sd = np.zeros(own_h.size)
    if short_h.size:
        short = short_depths(short_h, own_h, period, depth, ratios)
        why = "the record is read too seldom to show them"
        notes.append(short_words(short_h, float(own_h[short.base]), short, why))
        if limits is not None:
            limits = _joined_limits(depth, limits, short)
        depth = np.concatenate([short.depth_mm, depth])
        log_sd = np.concatenate([short.log_sd, log_sd])
    depth, raised = monotone_depths_mm(depth)
    if raised:
        notes.append(f"{raised} depths were raised so that no longer or rarer rain has less.")
    lower = upper = None
    if limits is not None:
        notes.append(
            "The limits cover the chance in so few years, and the spread of ratios where they are "
            "used; not faults of the gauge, nor a climate that changes."
        )
        lower = np.minimum(monotone_depths_mm(limits[0])[0], depth)
        upper = np.maximum(monotone_depths_mm(limits[1])[0], depth)
    return DepthDurationFrequency(
        duration_h=np.concatenate([short_h, own_h]),
        return_period_yr=period,
        depth_mm=depth,
        series=Series.PARTIAL_DURATION,
        lower_mm=lower,
        upper_mm=upper,
        years=float(maxima.year.size),
        source=f"own analysis of {record.name or 'the rain record'}",
        notes=tuple(notes),
        ratio_log_sd=log_sd,
    )


def _joined_limits(
    depth: FloatArray, limits: tuple[FloatArray, FloatArray], short: ShortDepths
) -> tuple[FloatArray, FloatArray]:
    """Limits of the short durations on top of those that are known."""
    lower, upper = np.minimum(limits[0], depth), np.maximum(limits[1], depth)
    low, high = (limit[short.base] * short.ratio for limit in (lower, upper))
    wider = widened_limits_mm(short.depth_mm, low, high, short.log_sd)
    return np.concatenate([wider[0], lower]), np.concatenate([wider[1], upper])


def with_short_durations(table: DepthDurationFrequency) -> DepthDurationFrequency:
    """Carry a table down to five minutes, by the rule that also serves a record.

    Parameters
    ----------
    table : DepthDurationFrequency
        The table, in partial-duration terms.

    Returns
    -------
    DepthDurationFrequency
        The table with rows for the durations of `DURATIONS_H` below its shortest; the same one
        where it begins at five minutes. Its notes say what was added and how sure it is.

    Raises
    ------
    RangeError
        Where no published ratio leads there.

    References
    ----------
    neh630_4 : the hour from longer durations
    hydro35 : minutes from the hour
    """
    own_h = table.duration_h
    short_h = np.array([d for d in DURATIONS_H if d < own_h[0] * (1 - 0.01)])
    if not short_h.size:
        return table
    short = short_depths(short_h, own_h, table.return_period_yr, table.depth_mm)
    depth = np.concatenate([short.depth_mm, table.depth_mm])
    limits = None
    if table.lower_mm is not None and table.upper_mm is not None:
        limits = _joined_limits(table.depth_mm, (table.lower_mm, table.upper_mm), short)
    note = short_words(short_h, float(own_h[short.base]), short, "the table does not print them")
    return dataclasses.replace(
        table,
        duration_h=np.concatenate([short_h, own_h]),
        depth_mm=monotone_depths_mm(depth)[0],
        lower_mm=None if limits is None else monotone_depths_mm(limits[0])[0],
        upper_mm=None if limits is None else monotone_depths_mm(limits[1])[0],
        notes=(*table.notes, note),
        ratio_log_sd=np.concatenate([short.log_sd, np.zeros(own_h.size)]),
    )


def _about_years(maxima: AnnualMaxima, min_known_share: float) -> list[str]:
    n = maxima.year.size
    notes = [
        f"The depths rest on {n} of {maxima.years_seen} years of record, each known to at least "
        f"{100 * min_known_share:.0f} %; generalised extreme-value distribution by L-moments, its "
        "shape shared by all durations and shrunk towards that of the world's long records."
    ]
    touched = int(maxima.beside_gap.max())
    if touched:
        notes.append(
            f"In up to {counted(touched, 'year', 'years')} the largest depth lies beside a gap "
            "of the record and may have been larger."
        )
    return notes


def _need_rain(depth: FloatArray, own_h: FloatArray) -> None:
    bad = np.any(depth <= 0, axis=1)
    if np.any(bad):
        raise RangeError(
            "rain record",
            f"the {minutes_words(own_h[bad][0])} depths are zero or below for the commonest storms",
            "ask for longer return periods; the place is very dry or the record mostly zero",
        )


@dataclass(frozen=True)
class TableComparison:
    """One table against another at the durations and return periods they share.

    Parameters
    ----------
    duration_h : (n_durations,) array
        Durations in both [h].
    return_period_yr : (n_periods,) array
        Return periods in both [yr].
    difference_pct : (n_durations, n_periods) array
        First table less the second, in per cent of the second [%].
    inside : (n_durations, n_periods) array of bool, optional
        True where the second table's depth lies within the limits of the first [-]; None where the
        first has none.
    """

    duration_h: FloatArray
    return_period_yr: FloatArray
    difference_pct: FloatArray
    inside: NDArray[np.bool_] | None = None


def compare_tables(
    own: DepthDurationFrequency, official: DepthDurationFrequency
) -> TableComparison:
    """Compare two tables at the durations and return periods they share.

    A table of annual maxima is first turned into partial-duration terms.

    Parameters
    ----------
    own : DepthDurationFrequency
        The table to judge.
    official : DepthDurationFrequency
        The table to judge it by.

    Returns
    -------
    TableComparison
        Differences [%].

    Raises
    ------
    InputError
        Where they share no duration or no return period.

    References
    ----------
    arithmetic : per cent of the official depth
    """
    first, second = to_partial_duration(own), to_partial_duration(official)
    rows = _shared(first.duration_h, second.duration_h)
    columns = _shared(first.return_period_yr, second.return_period_yr)
    if not rows[0] or not columns[0]:
        raise InputError("rain tables", "they share no duration or no return period")
    cells = np.ix_(rows[0], columns[0])
    theirs = second.depth_mm[np.ix_(rows[1], columns[1])]
    inside = None
    if first.lower_mm is not None and first.upper_mm is not None:
        inside = (first.lower_mm[cells] <= theirs) & (theirs <= first.upper_mm[cells])
    return TableComparison(
        duration_h=first.duration_h[rows[0]],
        return_period_yr=first.return_period_yr[columns[0]],
        difference_pct=100.0 * (first.depth_mm[cells] / theirs - 1.0),
        inside=inside,
    )


def _shared(mine: FloatArray, theirs: FloatArray) -> tuple[list[int], list[int]]:
    # tables print 5 min as 0.083 h, so nearly equal is equal
    pairs = [
        (i, j)
        for i, a in enumerate(mine)
        for j, b in enumerate(theirs)
        if np.isclose(a, b, rtol=0.005)
    ]
    return [i for i, _ in pairs], [j for _, j in pairs]


def in_climate(table: DepthDurationFrequency, climate: Climate | None) -> DepthDurationFrequency:
    """Scale a table to a changed climate, and say so in its notes.

    Parameters
    ----------
    table : DepthDurationFrequency
        The table.
    climate : Climate, optional
        The change after the years of the record or the table.

    Returns
    -------
    DepthDurationFrequency
        The scaled table; the same one where nothing changes.

    References
    ----------
    ipcc_ar6 : B.2.4
    """
    if climate is None or not climate.words():
        return table
    note = (
        f"All depths are {climate.long_words} against the years of the record or table; "
        f"{climate.caution}."
    )
    scaled = scale_by_climate(table, climate.factor)
    return dataclasses.replace(scaled, notes=(*table.notes, note), climate=climate)


def scale_by_climate(table: DepthDurationFrequency, factor: float) -> DepthDurationFrequency:
    """Multiply every depth of a table, and its limits, by a climate factor.

    Parameters
    ----------
    table : DepthDurationFrequency
        The table.
    factor : float
        Factor on the depths, 0.5 to 3 [-].

    Returns
    -------
    DepthDurationFrequency
        The scaled table; the notes say the factor.

    Raises
    ------
    RangeError
        Where the factor lies outside 0.5 to 3.

    References
    ----------
    judgement : bounds of the factor
    """
    if not 0.5 <= factor <= 3.0:
        raise RangeError("climate factor", f"{factor:g} is outside 0.5 to 3")
    return dataclasses.replace(
        table,
        depth_mm=table.depth_mm * factor,
        lower_mm=None if table.lower_mm is None else table.lower_mm * factor,
        upper_mm=None if table.upper_mm is None else table.upper_mm * factor,
        notes=(*table.notes, f"All depths were multiplied by a climate factor of {factor:.3g}."),
    )
