"""What was found in a rain record: in a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted, significant
from riskkit.rainfall.analysis import RainAnalysis
from riskkit.rainfall.doubts import (
    asks_for_unit,
    deciding_words,
    place_words,
    quality_words,
)
from riskkit.rainfall.quality_rows import Check, QualityRow, Verdict
from riskkit.report.number_words import cases_words, hours_words, rain_words
from riskkit.report.rain_rows import comparison_table, depths_table, fit_table, quality_table
from riskkit.report.rain_storms import storm_table
from riskkit.report.rows import Table
from riskkit.report.table_text import print_table

if TYPE_CHECKING:
    from riskkit.records import DepthDurationFrequency

__all__ = [
    "checks_words",
    "doubt_words",
    "mass_sentence",
    "print_rain_analysis",
    "rain_notes",
    "rain_sentence",
    "rain_tables",
    "storm_words",
]


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
    parts = [f"{doubt}{_years_words(found)}, {checks}{storm_words(found, system)}"]
    if found.deciding is not None:
        parts.append(deciding_words(found.deciding, system))
    comparison = found.comparison
    if comparison is not None and comparison.inside is not None:
        parts.append(
            f"{100 * comparison.inside.mean():.0f} % of the official depths lie within the limits "
            "of the own ones."
        )
    if found.mass is not None:
        parts.append(mass_sentence(found))
    return " ".join(parts)


def _years_words(found: RainAnalysis) -> str:
    if found.maxima is None:
        return f"A record of {_length_words(found)}"
    years = counted(found.maxima.year.size, "year", "years")
    return f"{years} of rain known well enough to count"


def _length_words(found: RainAnalysis) -> str:
    days = found.record.depth_mm.size * found.record.interval_s / 86400.0
    return f"{days / 365.25:.1f} years" if days > 500 else counted(round(days), "day", "days")


def storm_words(found: RainAnalysis, system: UnitSystem) -> str:
    """Say what the 10-year storm brings, or why that cannot be said.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        The end of a sentence.
    """
    if found.own is None:
        return f"; it is too short for depths by return period ({found.too_short})."
    wrong = any(row.verdict is Verdict.FAIL for row in found.quality)
    climate = f"{found.own.climate.words(system)} " if found.own.climate else ""
    brings = "would bring" if wrong else "brings"
    return f"; {climate}the 10-year storm {brings} {_storm(found.own, system)}."


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
    unit = " Is its unit the right one?" if any(map(asks_for_unit, bad)) else ""
    return (
        f"This record cannot be right, {len(bad)} of {len(quality)} checks {fails}: {named}.{unit} "
    )


def _failed(row: QualityRow, system: UnitSystem) -> str:
    found, expected = quality_words(row, system)
    where = place_words(row.places, system)
    when = f", {where}" if where else ""
    return f"{row.check.value} ({found}, expected {expected}{when})"


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
    passed = sum(row.verdict.in_order for row in quality)
    notes = sum(row.verdict is Verdict.NOTE for row in quality)
    noted = f", {notes} of them with a note" if notes else ""
    if passed == len(quality):
        return f"all {passed} checks in order{noted}"
    words = f"{passed} of {len(quality)} checks in order{noted}"
    if any(row.verdict is Verdict.FAIL for row in quality):
        return words  # those that fail are named first, and count for more
    look = ", ".join(row.check.value for row in quality if row.verdict is Verdict.WARN)
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
    alike = next(row for row in found.quality if row.check is Check.NEIGHBOUR_STEP)
    both = (
        f"In {mass.year.size} years that both gauges have, the record holds "
        f"{_ratio_words(mass.slope)} its neighbour"
    )
    chance = f"chance alone makes one as large in {cases_words(step.p_value)} records"
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
    maxima = found.maxima
    left_out = [str(y) for y in found.years if maxima is not None and y not in maxima.year]
    words = f"Years that are not known well enough to count: {', '.join(left_out)}."
    some = [words] if left_out else []
    own = () if found.own is None else found.own.notes
    return list(dict.fromkeys([*found.record.notes, *some, *own, *official]))


def rain_tables(found: RainAnalysis, system: UnitSystem) -> list[Table]:
    """Write what was found in a record as tables.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Table
        Depths, storms, the fit and the quality, as far as they are known.
    """
    tables = [
        None if found.own is None
        else depths_table(found.own, system, "Own analysis of the record"),
        None if found.official is None else depths_table(found.official, system, "Official table"),
        None if found.comparison is None else comparison_table(found.comparison),
        storm_table(found.record, found.storms, system),
        fit_table(found),
        quality_table(found.quality, system),
    ]  # fmt: skip
    return [table for table in tables if table is not None]


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
    for table in rain_tables(found, system):
        print_table(console, table)
    for note in rain_notes(found):
        console.print(Text(f"Note: {note}"))
