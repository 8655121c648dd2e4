"""A rain record as tables: depths, an official table beside them, the fit, the quality."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import signed_percent
from riskkit.rainfall.doubts import meaning_words, quality_words
from riskkit.rainfall.quality_rows import QualityRow, Verdict
from riskkit.report.number_words import hours_words, rain_amount
from riskkit.report.rows import Table, new_table

if TYPE_CHECKING:
    from riskkit.rainfall.analysis import RainAnalysis
    from riskkit.rainfall.extremes import TableComparison
    from riskkit.records import DepthDurationFrequency

__all__ = ["comparison_table", "depths_table", "fit_table", "mark_words", "quality_table"]

_LOOKED_AT = (2.0, 10.0, 100.0)  # return periods of the second way [yr]
_LIMITS = "In brackets the limits within which the depth lies nine times in ten."
_OUTSIDE = "* the official depth lies outside the limits of the own one."
_FIT_WORDS = (
    "Chances under 5 % say that the curve does not suit the maxima. By peaks: depths from the two "
    "or three largest storms of a year on average, generalised Pareto, against those above."
)
_MARK = {Verdict.PASS: "ok", Verdict.NOTE: "note", Verdict.WARN: "look", Verdict.FAIL: "bad"}


def depths_table(table: DepthDurationFrequency, system: UnitSystem, title: str) -> Table:
    """Write depths by duration and return period, with their limits where there are some.

    Parameters
    ----------
    table : DepthDurationFrequency
        The depths.
    system : UnitSystem
        Units of the reader.
    title : str
        What it is.

    Returns
    -------
    Table
        A row for each duration; its source in the notes.
    """
    unit, digits = ("in", 2) if system is UnitSystem.US else ("mm", 1)
    wide = table.lower_mm is not None

    def shown(depth_mm: float) -> str:
        if wide:  # its limits do not allow more than two digits
            return rain_amount(depth_mm, system).number
        return f"{convert(depth_mm, 'mm', unit):.{digits}f}"

    rows = []
    for i, hours in enumerate(table.duration_h):
        cells = [shown(v) for v in table.depth_mm[i]]
        if table.lower_mm is not None and table.upper_mm is not None:
            limits = zip(table.lower_mm[i], table.upper_mm[i], strict=True)
            cells = [
                f"{cell} ({shown(low)}–{shown(high)})"
                for cell, (low, high) in zip(cells, limits, strict=True)
            ]
        rows.append((hours_words(float(hours)), *cells))
    head = ("duration", *(f"{period:g} yr" for period in table.return_period_yr))
    source = f"{table.source}; return periods of {table.series.value}."
    notes = [source, _LIMITS] if wide else [source]
    return new_table(f"{title}: depth of rain [{unit}]", head, rows, notes)


def comparison_table(comparison: TableComparison) -> Table:
    """Write the own depths against official ones, in per cent; an asterisk where limits miss them.

    Parameters
    ----------
    comparison : TableComparison
        The comparison.

    Returns
    -------
    Table
        A row for each duration, its cells such as ``"+8"`` or ``"+15*"``.
    """
    rows = [
        (hours_words(float(hours)), *_comparison_cells(comparison, i))
        for i, hours in enumerate(comparison.duration_h)
    ]
    head = ("duration", *(f"{period:g} yr" for period in comparison.return_period_yr))
    notes = [] if comparison.inside is None else [_OUTSIDE]
    return new_table("Own record against the official table [%]", head, rows, notes)


def _comparison_cells(comparison: TableComparison, row: int) -> list[str]:
    values = comparison.difference_pct[row]
    inside = np.ones(values.size, bool) if comparison.inside is None else comparison.inside[row]
    return [
        f"{signed_percent(v)}{'' if held else '*'}" for v, held in zip(values, inside, strict=True)
    ]


def fit_table(found: RainAnalysis) -> Table | None:
    """Write how well the curve fits the maxima, and what a second way gives.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    Table or None
        A row for each duration that the record shows; none where it is too short.
    """
    if found.own is None or found.maxima is None:
        return None
    periods = found.own.return_period_yr.tolist()
    columns = [periods.index(t) for t in _LOOKED_AT if t in periods]
    fitness = found.maxima.fitness
    rows = []
    for i, hours in enumerate(found.maxima.duration_h):
        chance = fitness.p_value[i]
        rows.append(
            (
                hours_words(float(hours)),
                f"{fitness.correlation[i]:.3f}",
                "-" if math.isnan(chance) else f"{100 * chance:.0f} %",
                *(_percent(found.maxima.peaks_pct[i, c]) for c in columns),
            )
        )
    head = ["duration", "correlation of the plot", "chance of a lower one"]
    head += [f"by peaks, {periods[c]:g} yr" for c in columns]
    return new_table("The fit, and a second way", head, rows, [_FIT_WORDS])


def _percent(value: float) -> str:
    return "too few" if math.isnan(value) else f"{signed_percent(value)} %"


def mark_words(verdict: Verdict) -> str:
    """Name a verdict in one short word.

    Parameters
    ----------
    verdict : Verdict
        The verdict.

    Returns
    -------
    str
        Such as ``"ok"``.
    """
    return _MARK[verdict]


def quality_table(rows: tuple[QualityRow, ...], system: UnitSystem) -> Table:
    """Write the quality of a record.

    Parameters
    ----------
    rows : tuple of QualityRow
        The checks.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row for each check.
    """
    head = ("check", "verdict", "found", "expected", "meaning")
    cells = [
        (row.check.value, _MARK[row.verdict], *quality_words(row, system),
         meaning_words(row, system))
        for row in rows
    ]  # fmt: skip
    return new_table("Quality of the record", head, cells, words=(0, 2, 3, 4))
