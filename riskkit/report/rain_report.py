"""What was found in a rain record: in a terminal, as JSON and as one page."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.console import Console
from rich.text import Text

from riskkit.rainfall.analysis import RainAnalysis
from riskkit.rainfall.doubts import quality_words
from riskkit.rainfall.quality import QualityRow, Verdict
from riskkit.report.json_form import comparison_form, numbers, quality_form, rain_form
from riskkit.report.terminal import (
    hours_words,
    new_table,
    print_comparison,
    print_quality,
    print_rain,
    show_table,
)
from riskkit.report.words import about_share, rain_words
from riskkit.units import UnitSystem
from riskkit.variables import counted, signed_percent, significant

if TYPE_CHECKING:
    from riskkit.records import DepthDurationFrequency

__all__ = [
    "checks_words",
    "doubt_words",
    "fit_rows",
    "mass_sentence",
    "print_rain_analysis",
    "rain_analysis_form",
    "rain_notes",
    "rain_sentence",
]

FORM_VERSION = 1
_LOOKED_AT = (2.0, 10.0, 100.0)  # return periods of the second way [yr]


def rain_sentence(found: RainAnalysis, system: UnitSystem) -> str:
    """Say in a few sentences what a record holds.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Plain words.
    """
    checks = checks_words(found.quality)
    doubt = doubt_words(found.quality, system)
    brings = "would bring" if doubt else "brings"
    climate = f"{found.own.climate.words(system)} " if found.own.climate else ""
    years = counted(found.maxima.year.size, "year", "years")
    parts = [
        f"{doubt}{years} of rain known well enough to count, {checks}; "
        f"{climate}the 10-year storm {brings} {_storm(found.own, system)}."
    ]
    comparison = found.comparison
    if comparison is not None and comparison.inside is not None:
        parts.append(
            f"{100 * comparison.inside.mean():.0f} % of the official depths lie within the limits "
            "of the own ones."
        )
    if found.mass is not None:
        parts.append(mass_sentence(found))
    return " ".join(parts)


def doubt_words(quality: tuple[QualityRow, ...], system: UnitSystem) -> str:
    """Say first which checks a record fails, with what was found and where.

    Parameters
    ----------
    quality : tuple of QualityRow
        The checks.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        A sentence or two and a space; empty where none fails.
    """
    bad = [row for row in quality if row.verdict is Verdict.FAIL]
    if not bad:
        return ""
    fails = "fails" if len(bad) == 1 else "fail"
    named = "; ".join(_failed(row, system) for row in bad)
    unit = " Is its unit the right one?" if any("wrong unit" in row.meaning for row in bad) else ""
    return (
        f"This record cannot be right, {len(bad)} of {len(quality)} checks {fails}: {named}.{unit} "
    )


def _failed(row: QualityRow, system: UnitSystem) -> str:
    found, expected = quality_words(row, system)
    when = f" {row.when}" if row.when else ""
    return f"{row.check} ({found}{when}, expected {expected})"


def checks_words(quality: tuple[QualityRow, ...]) -> str:
    """Say how many checks a record passes, and which need a look where none fails.

    Parameters
    ----------
    quality : tuple of QualityRow
        The checks.

    Returns
    -------
    str
        Such as ``"11 of 13 checks in order (to look at: repeated days, complete years)"``.
    """
    passed = sum(row.verdict is Verdict.PASS for row in quality)
    if passed == len(quality):
        return f"all {passed} checks in order"
    words = f"{passed} of {len(quality)} checks in order"
    if any(row.verdict is Verdict.FAIL for row in quality):
        return words  # those that fail are named first, and count for more
    look = ", ".join(row.check for row in quality if row.verdict is Verdict.WARN)
    return f"{words} (to look at: {look})"


def mass_sentence(found: RainAnalysis) -> str:
    """Say what a record and its neighbour have in common, and whether one of them changed.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    str
        A sentence; empty where there is no neighbour.
    """
    if found.mass is None:
        return ""
    mass, step = found.mass, found.mass.step
    alike = next(row for row in found.quality if row.check == "step against the neighbour")
    both = (
        f"In {mass.year.size} years that both gauges have, the record holds "
        f"{_ratio_words(mass.slope)} its neighbour"
    )
    chance = f"chance alone makes one as large in {about_share(step.p_value)} records"
    if alike.verdict is Verdict.PASS:
        return f"{both}, without a step that would mean anything ({chance})."
    turn = "more" if step.change > 0 else "less"
    return (
        f"{both}; after {step.last_year} it holds {significant(abs(100.0 * step.change), 2)} % "
        f"{turn} of it than before ({chance}): one of the two gauges was moved or changed."
    )


def _ratio_words(ratio: float) -> str:
    """Say how much rain against another's: per cent near one, else how many times as much."""
    if ratio >= 2.0:
        return f"{significant(ratio, 2)} times as much rain as"
    share = significant(100.0 * ratio, 2)
    return "as much rain as" if share == "100" else f"{share} % of the rain of"


def _storm(table: DepthDurationFrequency, system: UnitSystem) -> str:
    hours = 24.0 if table.duration_h[0] <= 24.0 <= table.duration_h[-1] else table.duration_h[-1]
    words = f"{rain_words(table.depth_at(hours, 10.0).item(), system)} within {hours_words(hours)}"
    limits = table.limits_at(hours, 10.0)
    if limits is None:
        return words
    low, high = (rain_words(limit.item(), system) for limit in limits)
    return f"{words} (nine times out of ten {low} to {high})"


def rain_notes(found: RainAnalysis) -> list[str]:
    """List what was read, repaired and assumed, a sentence each.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    list of str
        Of the record first, then of the tables.
    """
    official = () if found.official is None else found.official.notes
    left_out = [str(y) for y in found.years if y not in found.maxima.year]
    words = f"Years that are not known well enough to count: {', '.join(left_out)}."
    some = [words] if left_out else []
    return list(dict.fromkeys([*found.record.notes, *some, *found.own.notes, *official]))


def fit_rows(found: RainAnalysis) -> tuple[list[str], list[list[str]]]:
    """Write how well the curve fits the maxima, and what a second way gives.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    head : list of str
        Names of the columns.
    rows : list of list of str
        A row per duration that the record shows.
    """
    periods = found.own.return_period_yr.tolist()
    columns = [periods.index(t) for t in _LOOKED_AT if t in periods]
    head = ["duration", "correlation of the plot", "chance of a lower one"]
    head += [f"by peaks, {periods[c]:g} yr" for c in columns]
    rows = []
    for i, hours in enumerate(found.maxima.duration_h):
        chance = found.maxima.fitness.p_value[i]
        rows.append(
            [
                hours_words(float(hours)),
                f"{found.maxima.fitness.correlation[i]:.3f}",
                "-" if math.isnan(chance) else f"{100 * chance:.0f} %",
                *(_percent(found.maxima.peaks_pct[i, c]) for c in columns),
            ]
        )
    return head, rows


def _percent(value: float) -> str:
    return "too few" if math.isnan(value) else f"{signed_percent(value)} %"


FIT_WORDS = (
    "Chances under 5 % say that the curve does not suit the maxima. By peaks: depths from the two "
    "or three largest storms of a year on average, generalised Pareto, against those above."
)


def print_rain_analysis(found: RainAnalysis, console: Console, system: UnitSystem) -> None:
    """Print what was found in a record: the sentence first, notes last.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    console.print(Text(found.record.name or "Rain record", style="bold"))
    console.print(Text(rain_sentence(found, system)))
    console.print()
    print_rain(found.own, console, system, "Own analysis of the record")
    if found.official is not None and found.comparison is not None:
        print_rain(found.official, console, system, "Official table")
        print_comparison(found.comparison, console)
    head, rows = fit_rows(found)
    view = new_table("The fit, and a second way", *head)
    for row in rows:
        view.add_row(*row)
    show_table(console, view)
    console.print(Text(FIT_WORDS))
    console.print()
    print_quality(found.quality, console, system)
    for note in rain_notes(found):
        console.print(Text(f"Note: {note}"))


def rain_analysis_form(found: RainAnalysis) -> dict[str, Any]:
    """Turn what was found in a record into plain values for JSON.

    SI units, named in every key; rain in mm. The version is raised when a key is removed or changes
    its meaning, not when one is added.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    dict
        Lists, numbers and words.
    """
    form: dict[str, Any] = {
        "form": "riskkit-rain",
        "form_version": FORM_VERSION,
        "sentence": rain_sentence(found, UnitSystem.METRIC),
        "record": {"name": found.record.name, "notes": list(found.record.notes)},
        "quality": quality_form(found.quality),
        "years": {
            "year": found.years.tolist(),
            "missing_share": numbers(found.missing_share),
        },
        "table": rain_form(found.own),
        "annual_maxima": {
            "duration_h": numbers(found.maxima.duration_h),
            "year": found.maxima.year.tolist(),
            "depth_mm": numbers(found.maxima.depth_mm),
            "depth_mm_contains": "fixed_interval_factor, but no climate_factor",
            "fixed_interval_factor": numbers(found.maxima.fixed_interval_factor),
            "plot_correlation": numbers(found.maxima.fitness.correlation),
            "plot_chance_of_lower": numbers(found.maxima.fitness.p_value),
            "by_peaks_difference_pct": numbers(found.maxima.peaks_pct),
        },
    }
    if found.official is not None and found.comparison is not None:
        form |= {
            "official": rain_form(found.official),
            "comparison": comparison_form(found.comparison),
        }
    if found.mass is not None:
        mass = found.mass
        form["neighbour"] = {
            "year": mass.year.tolist(),
            "own_sum_mm": numbers(mass.own_mm),
            "neighbour_sum_mm": numbers(mass.neighbour_mm),
            "own_over_neighbour": float(np.round(mass.slope, 6)),
            "step_chance": float(np.round(mass.step.p_value, 6)),
            "step_after_year": mass.step.last_year,
            "step_change": float(np.round(mass.step.change, 6)),
        }
    return form
