"""The answer in a terminal: the sentence first, then the tables, then where numbers come from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import signed_percent
from riskkit.rainfall.doubts import meaning_words, quality_words
from riskkit.rainfall.quality_rows import QualityRow, Verdict
from riskkit.records import DepthDurationFrequency
from riskkit.report.cautions import cautions
from riskkit.report.draws_words import draws_words
from riskkit.report.state_words import (
    ORDER_FIRST,
    depth_title,
    reading,
    time_title,
    working_title,
)
from riskkit.report.storm_rows import (
    STOPPED_HEAD,
    depth_head,
    depth_rows,
    failure_rows,
    hours_words,
    working_head,
    working_rows,
)
from riskkit.report.visit_words import alerts
from riskkit.report.wall_words import wall_lines
from riskkit.report.words import (
    rain_words,
    rests_on,
    sentence,
    taken_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.assessment import Assessment
    from riskkit.rainfall.extremes import TableComparison

__all__ = [
    "INSIDE_WORDS",
    "NINE_OF_TEN",
    "comparison_cells",
    "hours_words",
    "new_table",
    "print_assessment",
    "print_comparison",
    "print_quality",
    "print_rain",
    "print_state",
    "rain_words",
    "show_table",
]

NINE_OF_TEN = "9 of 10 lie within"
"""Head of the column with the spread of what was taken for the home."""


def new_table(title: str, *columns: str) -> Table:
    """Make a table whose first column is words and the others numbers.

    Parameters
    ----------
    title : str
        What it is.
    *columns : str
        Heads of the columns.

    Returns
    -------
    Table
        Without rows.
    """
    table = Table(title=title, box=box.SIMPLE_HEAD)
    for i, name in enumerate(columns):
        table.add_column(name, justify="left" if i == 0 else "right", overflow="fold")
    return table


def show_table(console: Console, table: Table) -> None:
    """Print a table with its title on a line of its own, which a narrow table cannot break.

    Parameters
    ----------
    console : Console
        Where to.
    table : Table
        The table.
    """
    if isinstance(table.title, str):
        console.print(Text(table.title, style="bold"))
    table.title = None
    console.print(table)


def print_state(lines: Sequence[str], console: Console) -> None:
    """Print what is out of order or missing; nothing where all is well.

    Parameters
    ----------
    lines : sequence of str
        A finding each, see `riskkit.report.visit_words.alerts`.
    console : Console
        Where to.
    """
    if not lines:
        return
    console.print(Text(ORDER_FIRST, style="bold"))
    for line in lines:
        console.print(Text(f"! {line}"))
    console.print()


def print_assessment(answer: Assessment, console: Console, system: UnitSystem) -> None:
    """Print an answer.

    Parameters
    ----------
    answer : Assessment
        The answer.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    console.print(Text(answer.home.name, style="bold"))
    print_state(alerts(answer.home, answer.state, system), console)
    console.print(Text(sentence(answer, system, state_first=False)), soft_wrap=False)
    console.print()
    for title, names, rows in (
        (working_title(answer.state), working_head(answer), working_rows(answer, system)),
        (time_title(answer.state), STOPPED_HEAD, failure_rows(answer)),
        (depth_title(answer.state), depth_head(answer), depth_rows(answer, system)),
    ):
        view = new_table(title, *names)
        for cells in rows:
            view.add_row(*cells)
        show_table(console, view)
    console.print(Text(" ".join(reading(answer.state)), style="dim"))
    console.print()
    walls = wall_lines(answer.home, system)
    if walls:
        console.print(Text("Walls", style="bold"))
        for head, words in walls:
            console.print(Text(f"· {head} {words}"))
        console.print()
    _print_origin(answer, console, system)
    console.print(Text("Cautions", style="bold"))
    for caution in cautions("sheet", system=system):
        console.print(Text(f"· {caution}"))


def _print_origin(answer: Assessment, console: Console, system: UnitSystem) -> None:
    console.print(Text("Where the numbers come from", style="bold"))
    console.print(Text("\n".join(rests_on(answer))))
    known = [row for row in answer.assumptions if row.basis is not Basis.UNKNOWN]
    unknown = [row for row in answer.assumptions if row.basis is Basis.UNKNOWN]
    for basis in (Basis.MEASURED, Basis.GIVEN):
        rows = [
            f"{row.words}: {row.taken if row.quantity is None else row.quantity.amount}"
            for row in known
            if row.basis is basis
        ]
        if rows:
            console.print(Text(f"{basis.value.capitalize()}: {'; '.join(rows)}."))
    if unknown:
        table = new_table(
            "Not known, so taken from tables", "quantity", "middle", NINE_OF_TEN, "because"
        )
        table.columns[3].justify = "left"
        for row in unknown:
            middle, span, _ = taken_words(row, system)
            table.add_row(row.words, middle, span, f"{row.why} ({row.source})")
        show_table(console, table)
    for note in answer.warnings:
        console.print(Text(f"Note: {note}"))
    console.print(Text(f"riskkit {answer.version}, {draws_words(answer)}", style="dim"))
    console.print()


def print_rain(
    table: DepthDurationFrequency, console: Console, system: UnitSystem, title: str
) -> None:
    """Print a table of depths by duration and return period, with its limits, without its notes.

    Parameters
    ----------
    table : DepthDurationFrequency
        The table.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    title : str
        What it is.
    """
    unit = "in" if system is UnitSystem.US else "mm"
    view = new_table(
        f"{title}: depth of rain [{unit}]", "duration",
        *(f"{period:g} yr" for period in table.return_period_yr),
    )  # fmt: skip
    digits = 2 if system is UnitSystem.US else 1
    wide = table.lower_mm is not None

    def shown(depth_mm: float) -> str:
        if wide:  # its limits do not allow more than two digits
            return rain_words(depth_mm, system).split()[0]
        return f"{convert(depth_mm, 'mm', unit):.{digits}f}"

    for i, hours in enumerate(table.duration_h):
        cells = [shown(v) for v in table.depth_mm[i]]
        if table.lower_mm is not None and table.upper_mm is not None:
            cells = [
                f"{cell}\n{shown(low)}–{shown(high)}"
                for cell, low, high in zip(cells, table.lower_mm[i], table.upper_mm[i], strict=True)
            ]
        view.add_row(hours_words(float(hours)), *cells)
    show_table(console, view)
    console.print(Text(f"{table.source}; return periods of {table.series.value}."))
    if wide:
        console.print(Text("Under each depth the limits within which it lies nine times in ten."))
    console.print()


def print_comparison(comparison: TableComparison, console: Console) -> None:
    """Print the own table against an official one, in per cent; an asterisk where limits miss it.

    Parameters
    ----------
    comparison : TableComparison
        The comparison.
    console : Console
        Where to.
    """
    view = new_table(
        "Own record against the official table [%]", "duration",
        *(f"{period:g} yr" for period in comparison.return_period_yr),
    )  # fmt: skip
    for i, hours in enumerate(comparison.duration_h):
        view.add_row(hours_words(float(hours)), *comparison_cells(comparison, i))
    show_table(console, view)
    if comparison.inside is not None:
        console.print(Text(INSIDE_WORDS))
        console.print()


INSIDE_WORDS = "* the official depth lies outside the limits of the own one."


def comparison_cells(comparison: TableComparison, row: int) -> list[str]:
    """Write one duration of a comparison in per cent.

    Parameters
    ----------
    comparison : TableComparison
        The comparison.
    row : int
        Which duration [-].

    Returns
    -------
    list of str
        Such as ``"+8"``, or ``"+15*"`` where the official depth lies outside the limits.
    """
    values = comparison.difference_pct[row]
    inside = np.ones(values.size, bool) if comparison.inside is None else comparison.inside[row]
    return [
        f"{signed_percent(v)}{'' if held else '*'}" for v, held in zip(values, inside, strict=True)
    ]


_MARK = {Verdict.PASS: "ok", Verdict.NOTE: "note", Verdict.WARN: "look", Verdict.FAIL: "bad"}


def print_quality(
    rows: tuple[QualityRow, ...], console: Console, system: UnitSystem = UnitSystem.US
) -> None:
    """Print the quality of a record, a row per check.

    Parameters
    ----------
    rows : tuple of QualityRow
        The checks.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    view = new_table("Quality of the record", "check", "verdict", "found", "expected", "meaning")
    view.columns[4].justify = "left"
    for row in rows:
        meaning = meaning_words(row, system)
        view.add_row(row.check.value, _MARK[row.verdict], *quality_words(row, system), meaning)
    show_table(console, view)
