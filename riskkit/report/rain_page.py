"""A rain record as one HTML page that needs nothing else: no scripts, no fonts, no network."""

from __future__ import annotations

from typing import Any

from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.analysis import RainAnalysis
from riskkit.rainfall.doubts import meaning_words, quality_words
from riskkit.records import DepthDurationFrequency
from riskkit.report.charts import to_svg
from riskkit.report.page import environment
from riskkit.report.rain_charts import completeness_spec, double_mass_spec, frequency_spec
from riskkit.report.rain_report import FIT_WORDS, fit_rows, rain_notes, rain_sentence
from riskkit.report.rain_storms import STORM_WORDS, storm_table, storm_title
from riskkit.report.terminal import INSIDE_WORDS, comparison_cells, hours_words
from riskkit.report.words import rain_words

__all__ = ["rain_page"]

_MARKS = {"pass": "ok", "note": "note", "warn": "look", "fail": "bad"}


def rain_page(found: RainAnalysis, system: UnitSystem) -> str:
    """Write what was found in a record as a page: sentence, charts, tables, checks, notes.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    import markupsafe

    def drawn(chart: dict[str, Any]) -> str:
        return markupsafe.Markup(to_svg(chart))  # noqa: S704 - drawn by the library from numbers

    head, fits = fit_rows(found)
    storm_head, storms = storm_table(found.record, found.storms, system)
    own = found.own
    comparison = found.comparison
    compared = []
    if comparison is not None:
        compared = [
            [hours_words(float(hours)), *comparison_cells(comparison, i)]
            for i, hours in enumerate(comparison.duration_h)
        ]
    return (
        environment()
        .get_template("rain.html")
        .render(
            name=found.record.name or "Rain record",
            sentence=rain_sentence(found, system),
            frequency=None if own is None else drawn(frequency_spec(found, system)),
            completeness=drawn(completeness_spec(found.years, found.missing_share)),
            mass=None if found.mass is None else drawn(double_mass_spec(found.mass, system)),
            unit="in" if system is UnitSystem.US else "mm",
            periods=[] if own is None else [f"{t:g} yr" for t in own.return_period_yr],
            depths=[] if own is None else _depth_rows(own, system),
            storm_title=storm_title(found.storms),
            storm_head=storm_head,
            storms=storms,
            storm_words=STORM_WORDS,
            compared_periods=(
                [] if comparison is None else [f"{t:g} yr" for t in comparison.return_period_yr]
            ),
            compared=compared,
            inside=INSIDE_WORDS,
            fit_head=head,
            fits=fits,
            fit_words=FIT_WORDS,
            quality=[
                (
                    row.check.value,
                    _MARKS[row.verdict.value],
                    *quality_words(row, system),
                    meaning_words(row, system),
                )
                for row in found.quality
            ],
            notes=rain_notes(found),
        )
    )


def _depth_rows(table: DepthDurationFrequency, system: UnitSystem) -> list[list[str]]:
    def shown(depth_mm: float) -> str:
        return rain_words(depth_mm, system).split()[0]

    rows = []
    for i, hours in enumerate(table.duration_h):
        cells = [shown(v) for v in table.depth_mm[i]]
        if table.lower_mm is not None and table.upper_mm is not None:
            limits = zip(table.lower_mm[i], table.upper_mm[i], strict=True)
            cells = [
                f"{cell} ({shown(low)}–{shown(high)})"
                for cell, (low, high) in zip(cells, limits, strict=True)
            ]
        rows.append([hours_words(float(hours)), *cells])
    return rows
