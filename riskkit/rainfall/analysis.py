"""All that is looked at in one rain record, in one call."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.errors import RangeError, collect_warnings
from riskkit.quantities.climate import Climate
from riskkit.rainfall.extremes import (
    TableComparison,
    compare_tables,
    depth_duration_frequency,
    in_climate,
)
from riskkit.rainfall.homogeneity import DoubleMass, double_mass
from riskkit.rainfall.largest import LargeStorm, largest_storms
from riskkit.rainfall.maxima import annual_maxima, running_sums, weiss_factor
from riskkit.rainfall.peaks import independent_peaks, pareto_depth_mm
from riskkit.rainfall.plotting import Fitness, fitness
from riskkit.rainfall.quality import check_record, missing_by_year
from riskkit.rainfall.quality_rows import ComparisonData, QualityRow
from riskkit.rainfall.readers.snowfall import SnowRatio
from riskkit.rainfall.weighing import DecidingValue, deciding_value, weighed
from riskkit.records import DepthDurationFrequency, FloatArray, IntArray, RainRecord

__all__ = ["Maxima", "RainAnalysis", "analyse_rain", "weighed_checks"]


@dataclass(frozen=True)
class Maxima:
    """The annual maxima behind a table, and two looks at the curve fitted to them.

    Parameters
    ----------
    duration_h : (n_durations,) array
        Durations that the record itself shows [h].
    year : (n_years,) array of int
        Years that count [yr].
    depth_mm : (n_durations, n_years) array
        Annual maxima, times `fixed_interval_factor` [mm].
    fixed_interval_factor : (n_durations,) array
        What is added for storms that straddle the intervals of the gauge [-].
    fitness : Fitness
        Correlation of each probability plot, and chance of a lower one.
    peaks_pct : (n_durations, n_periods) array
        Depths from peaks above a threshold less those from annual maxima, in per cent of these, at
        the return periods of the table; NaN where the peaks are too few [%].
    """

    duration_h: FloatArray
    year: IntArray
    depth_mm: FloatArray
    fixed_interval_factor: FloatArray
    fitness: Fitness
    peaks_pct: FloatArray


@dataclass(frozen=True)
class RainAnalysis:
    """What was found in a record.

    Parameters
    ----------
    record : RainRecord
        The record.
    quality : tuple of QualityRow
        Its checks.
    own : DepthDurationFrequency, optional
        Depths from it, with limits; None where it is too short for any.
    maxima : Maxima, optional
        What they rest on.
    years : (n_years,) array of int
        Calendar years that the record touches [yr].
    missing_share : (n_years,) array
        Missing share of each [-].
    official : DepthDurationFrequency, optional
        An official table, in partial-duration terms.
    comparison : TableComparison, optional
        Own against official depths.
    mass : DoubleMass, optional
        The record against a neighbour's.
    storms : tuple of LargeStorm
        Its ten largest storms, the rarest first.
    deciding : DecidingValue, optional
        A single value that decides the depths and that the other years do not allow.
    too_short : str
        Why there are no depths; empty where there are.
    """

    record: RainRecord
    quality: tuple[QualityRow, ...]
    own: DepthDurationFrequency | None
    maxima: Maxima | None
    years: IntArray
    missing_share: FloatArray
    official: DepthDurationFrequency | None = None
    comparison: TableComparison | None = None
    mass: DoubleMass | None = None
    storms: tuple[LargeStorm, ...] = ()
    deciding: DecidingValue | None = None
    too_short: str = ""


def weighed_checks(record: RainRecord) -> tuple[QualityRow, ...]:
    """Check a record, and weigh what is found by what it does to the depths.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    tuple of QualityRow
        Its checks; not weighed where it is too short for depths.

    References
    ----------
    judgement : riskkit/tables/quality_limits.csv
    """
    rows = check_record(record)
    if all(row.verdict.in_order for row in rows):
        return rows
    with collect_warnings():  # of the table, which is not shown
        table, _ = _own_table(record, np.random.default_rng(1))
    return rows if table is None else weighed(rows, record, table)


def _own_table(
    record: RainRecord, rng: np.random.Generator
) -> tuple[DepthDurationFrequency | None, str]:
    """Depths of a record, or why there are none."""
    try:
        return depth_duration_frequency(record, rng), ""
    except RangeError as error:
        return None, f"{error.where}: {error.what}"


def analyse_rain(
    record: RainRecord,
    rng: np.random.Generator,
    *,
    official: DepthDurationFrequency | None = None,
    neighbour: RainRecord | None = None,
    snow: SnowRatio | None = None,
    climate: Climate | None = None,
) -> RainAnalysis:
    """Check a record, work out its depths, and hold them against what else is known.

    Parameters
    ----------
    record : RainRecord
        The record.
    rng : numpy.random.Generator
        For the limits and the goodness of fit.
    official : DepthDurationFrequency, optional
        An official table, in partial-duration terms.
    neighbour : RainRecord, optional
        A record near by, for the double-mass comparison.
    snow : SnowRatio, optional
        New snow over its water in the same file.
    climate : Climate, optional
        Change of the climate after the years of the record; both tables are scaled.

    Returns
    -------
    RainAnalysis
        What was found.

    Raises
    ------
    InputError
        Where the record is too short, or the neighbour or the table has nothing in common with it.
    """
    own, too_short = _own_table(record, rng)
    comparison = None
    if own is not None and official is not None:
        comparison = compare_tables(own, official)
    mass = double_mass(record, neighbour) if neighbour is not None else None
    over = None
    if comparison is not None:
        over = 1.0 + float(np.median(comparison.difference_pct)) / 100.0
    years, missing = missing_by_year(record)
    rows = check_record(record, ComparisonData(snow, mass, over))
    return RainAnalysis(
        record=record,
        quality=rows if own is None else weighed(rows, record, own),
        own=None if own is None else in_climate(own, climate),
        maxima=None if own is None else _maxima(record, own, rng),
        years=years,
        missing_share=missing,
        official=None if official is None else in_climate(official, climate),
        comparison=comparison,
        mass=mass,
        storms=largest_storms(record, own),
        deciding=None if own is None else deciding_value(record, own),
        too_short=too_short,
    )


def _maxima(record: RainRecord, own: DepthDurationFrequency, rng: np.random.Generator) -> Maxima:
    shown = [d for d in own.duration_h if d * 3600.0 >= record.interval_s * (1 - 1e-6)]
    found = annual_maxima(record, shown)
    factor = weiss_factor(found.intervals)[:, None]
    peaks = np.full((len(shown), own.return_period_yr.size), np.nan)
    sums = running_sums(record)
    for row, duration in enumerate(shown):
        try:
            depth = pareto_depth_mm(
                independent_peaks(record, duration, sums=sums), own.return_period_yr
            )
        except RangeError:  # too few wet times; the annual maxima stand alone
            continue
        mine = own.depth_mm[own.duration_h.tolist().index(duration)]
        peaks[row] = 100.0 * (depth * factor[row] / mine - 1.0)
    return Maxima(
        duration_h=found.duration_h,
        year=found.year,
        depth_mm=found.depth_mm * factor,
        fixed_interval_factor=factor[:, 0],
        fitness=fitness(found.depth_mm, rng),
        peaks_pct=peaks,
    )
