"""Storm seasons in words, tables and files: the record beside what is generated from it."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING, Any

import numpy as np

from riskkit.quantities.text import one_line
from riskkit.quantities.units import UnitSystem, convert
from riskkit.rainfall.readers.plain import GENERATED
from riskkit.records import FloatArray, RainRecord
from riskkit.records.wet_rows import wet_rows_csv
from riskkit.report.number_words import hours_words, rain_words
from riskkit.report.rows import Table, new_table
from riskkit.report.table_text import print_table
from riskkit.seasons.check import (
    LARGE_STORM_MM,
    RETURN_PERIODS_YR,
    MonthYears,
    SeasonCheck,
    largest_mm,
    median_off_pct,
)
from riskkit.seasons.fit import STATISTICS, WINDOWS_H, StormSeasons
from riskkit.version import __version__

if TYPE_CHECKING:
    from rich.console import Console

__all__ = [
    "MonthSummary",
    "generated_csv",
    "month_summary",
    "print_seasons",
    "season_form",
    "season_notes",
    "season_sentence",
    "season_tables",
    "written_sentence",
]

SEASONS = {"Dec–Feb": (11, 0, 1), "Mar–May": (2, 3, 4), "Jun–Aug": (5, 6, 7), "Sep–Nov": (8, 9, 10)}
_WELL, _PARTLY = 0.85, 0.65  # share of what is compared that lies within its limits (judgement)


MonthSummary = dict[str, FloatArray]
"""Mean, and the limits within which 8 of 10 years lie, by quantity and month."""


def season_sentence(check: SeasonCheck) -> str:
    """Say how well generated seasons hold.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.

    Returns
    -------
    str
        Two sentences, the second on how far the largest rains are off in the middle.
    """
    within, of = check.statistics_within
    depths, of_depths = check.depths_within
    worst = min(within / of, depths / of_depths)
    verdict = "do not hold" if worst < _PARTLY else "hold in part" if worst < _WELL else "hold well"
    return (
        f"The generated seasons {verdict}: {within} of the record's {of} statistics by month "
        "(mean, spread, persistence and dry share over 1, 6 and 24 h) lie where 8 of 10 such "
        f"records lie, and {depths} of {of_depths} largest rains (2, 10 and 50 years over 1, 6 and "
        f"24 h) lie within the limits that {check.years} years of record give. {_bias(check)}"
    )


def _bias(check: SeasonCheck) -> str:
    """Say how far generated rains are off, and how well so many years tell it."""
    off = off_words(median_off_pct(check, check.generated_depth_mm))
    low, high = (abs(median_off_pct(check, end)) for end in (check.lower_mm, check.upper_mm))
    return (
        f"In the middle they are {off} those of the record, and {check.years} years of record tell "
        f"these only to within {low:.0f} % less and {high:.0f} % more."
    )


def off_words(off_pct: float) -> str:
    """Say how far largest rains lie off others, to go on with what these are.

    Parameters
    ----------
    off_pct : float
        The difference [%].

    Returns
    -------
    str
        Such as ``"12 % above"`` or ``"as large as"``.
    """
    size = round(abs(off_pct))
    if not size:
        return "as large as"
    return f"{size} % {'above' if off_pct > 0 else 'below'}"


def month_summary(months: MonthYears) -> MonthSummary:
    """Sum up the years of each month.

    Parameters
    ----------
    months : MonthYears
        Months by year.

    Returns
    -------
    dict of str to (3, 12) array
        Mean, and 10 and 90 % of the years, of ``total_mm``, ``large_storms`` and
        ``largest_day_mm`` [mm, -, mm].
    """
    return {
        name: np.concatenate(
            [
                np.nanmean(values, axis=0, keepdims=True),
                np.nanquantile(values, (0.1, 0.9), axis=0),
            ]
        )
        for name, values in vars(months).items()
    }


def _depth(depth_mm: float, system: UnitSystem) -> str:
    """Without its unit, to two or three digits."""
    if system is UnitSystem.US:
        return f"{convert(depth_mm, 'mm', 'in'):.2f}"
    return f"{depth_mm:.0f}" if depth_mm >= 10 else f"{depth_mm:.2g}"


def season_tables(check: SeasonCheck, system: UnitSystem) -> list[Table]:
    """Set record and generated years side by side: months, seasons and largest rains.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Table
        A table each.
    """
    return [_months(check, system), _windows(check, system), _largest(check, system)]


def _months(check: SeasonCheck, system: UnitSystem) -> Table:
    own, made = month_summary(check.record_months), month_summary(check.generated_months)
    rows = []
    for month in range(12):
        cells = []
        for name in ("total_mm", "large_storms", "largest_day_mm"):
            count = name == "large_storms"
            mean, median, low, high = (
                f"{value:.1f}" if count else _depth(float(value), system)
                for value in (own[name][0, month], *made[name][:, month])
            )
            cells.append(f"{mean} | {median}" + ("" if count else f" ({low}–{high})"))
        rows.append([calendar.month_name[month + 1], *cells])
    title = f"Months, record | generated [{_unit(system)}]; in brackets 8 of 10 generated years"
    large = f"storms over {rain_words(LARGE_STORM_MM, system)}"
    return new_table(title, ["month", "rain", large, "largest day"], rows)


def _windows(check: SeasonCheck, system: UnitSystem) -> Table:
    rows = []
    for name, months in SEASONS.items():
        for i, window in enumerate(WINDOWS_H):
            pairs = zip(
                check.record[list(months), i].mean(axis=0),
                check.generated[list(months), i].mean(axis=0),
                strict=True,
            )
            cells = [
                _pair(kind, *pair, system) for kind, pair in zip(STATISTICS, pairs, strict=True)
            ]
            rows.append([f"{name}, {hours_words(window)}", *cells])
    title = f"Seasons and windows, record | generated [{_unit(system)}]"
    head = ["window", "mean", "standard deviation", "correlation with the next", "dry share"]
    return new_table(title, head, rows)


def _largest(check: SeasonCheck, system: UnitSystem) -> Table:
    rows = []
    for i, window in enumerate(WINDOWS_H):
        depths = zip(
            check.record_depth_mm[i], check.lower_mm[i], check.upper_mm[i],
            check.generated_depth_mm[i], strict=True,
        )  # fmt: skip
        cells = [[_depth(float(depth), system) for depth in row] for row in depths]
        words = [f"{own} ({low}–{high}) | {made}" for own, low, high, made in cells]
        rows.append([hours_words(window), *words])
    title = f"Largest rains [{_unit(system)}], record and its limits | generated"
    return new_table(title, ["duration", *(f"{t:g} yr" for t in RETURN_PERIODS_YR)], rows)


def season_notes(check: SeasonCheck) -> str:
    """Say how the comparison was made, and what it does not tell.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.

    Returns
    -------
    str
        Some sentences.
    """
    return (
        f"Generated: {check.copies} records of the same years, seen through the record's gauge and "
        "gaps. In each pair the record comes first. The storms were fitted to what is compared "
        "here; other years may differ more. Rain within the hour is not fitted, and comes out too "
        "even."
    )


def print_seasons(check: SeasonCheck, console: Console, system: UnitSystem) -> None:
    """Print how well generated seasons hold, then the tables.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    from rich.text import Text

    console.print(Text(season_sentence(check)))
    console.print()
    for table in season_tables(check, system):
        print_table(console, table)
    console.print(Text(season_notes(check)))


def _unit(system: UnitSystem) -> str:
    return "in" if system is UnitSystem.US else "mm"


def _pair(kind: str, own: float, made: float, system: UnitSystem) -> str:
    if kind == "dry":
        return f"{own:.1%} | {made:.1%}"
    if kind == "lag1":
        return f"{own:.2f} | {made:.2f}"
    shown = (convert(value, "mm", _unit(system)) for value in (own, made))
    return " | ".join(f"{value:#.3g}" for value in shown)


def season_form(check: SeasonCheck, seasons: StormSeasons) -> dict[str, Any]:
    """Turn seasons into plain values for JSON.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.
    seasons : StormSeasons
        The storms.

    Returns
    -------
    dict
        Lists and numbers; depths [mm], windows [h], return periods [yr].
    """
    kinds = {
        name: {
            key: value.tolist() if isinstance(value, np.ndarray) else value
            for key, value in vars(kind).items()
        }
        for name, kind in zip(("steady", "thunder"), seasons.kinds, strict=True)
    }
    return {
        "form": "riskkit-season",
        "form_version": 1,
        "record": seasons.name,
        "sentence": season_sentence(check),
        "storms": {"gauge_mm": seasons.gauge_mm} | kinds,
        "windows_h": list(WINDOWS_H),
        "statistics": list(STATISTICS),
        "statistics_units": ["mm", "mm", "1", "1"],
        "by_month": {
            name: getattr(check, name).tolist() for name in ("record", "generated", "low", "high")
        },
        "return_period_yr": list(RETURN_PERIODS_YR),
        "largest": {
            name: getattr(check, name).tolist()
            for name in ("record_depth_mm", "lower_mm", "upper_mm", "generated_depth_mm")
        },
        "months": {
            name: {key: value.tolist() for key, value in month_summary(months).items()}
            for name, months in (
                ("record", check.record_months), ("generated", check.generated_months),
            )
        },
    }  # fmt: skip


def written_sentence(check: SeasonCheck, made: RainRecord) -> str:
    """Say how the largest rains of one generated record lie against those of the record.

    A file is one chance out of many, and is rain as it falls, not as the record's gauge saw it.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.
    made : RainRecord
        The record that is written.

    Returns
    -------
    str
        One sentence.
    """
    found = largest_mm(made)
    if found is None:
        return "This file is too short to tell its largest rains."
    held = int(np.sum((found >= check.lower_mm) & (found <= check.upper_mm)))
    median = median_off_pct(check, found)
    return (
        f"Of this file itself {held} of {found.size} largest rains lie within the limits of the "
        f"record; in the middle they are {off_words(median)} those of the record."
    )


def generated_csv(
    record: RainRecord, seasons: StormSeasons, check: SeasonCheck, source: str, seed: int
) -> str:
    """Write a generated record as a plain table that says first what it is.

    Parameters
    ----------
    record : RainRecord
        The generated record, hourly.
    seasons : StormSeasons
        Its storms.
    check : SeasonCheck
        How well they hold.
    source : str
        The file they were fitted to.
    seed : int
        Seed of the generator [-].

    Returns
    -------
    str
        The text of the file.
    """
    plain = one_line(source, "?")
    head = [
        f"Generated by riskkit {__version__}, not measured; seed {seed}",
        f"name: generated from {plain}",
        f"origin: {GENERATED}",
        season_sentence(check),
        written_sentence(check, record),
        f"Cells of thunder: Weibull shape {seasons.thunder.weibull_shape:.4g}, of steady rain "
        f"{seasons.steady.weibull_shape:.4g}; spread of storms {seasons.steady.storm_sigma:.4g}",
        "By month: storms, mean length [h], cells per hour, length of a cell [h], intensity [mm/h]",
    ]
    for name, kind in zip(("steady", "thunder"), seasons.kinds, strict=True):
        columns = (
            kind.count, kind.storm_h, kind.cell_rate_per_h, kind.cell_h, kind.intensity_mm_h,
        )  # fmt: skip
        for month, row in enumerate(np.stack(columns, axis=1), 1):
            numbers = " ".join(f"{value:.4g}" for value in row)
            head.append(f"{calendar.month_name[month]} {name} {numbers}")
    return wet_rows_csv(record, head)
