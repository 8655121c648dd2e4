"""Words about many homes: what a run came to, its table of columns, and how far it is."""

from __future__ import annotations

from shlex import quote
from typing import TYPE_CHECKING

from riskkit.fleet.columns import columns
from riskkit.fleet.export import csv_text
from riskkit.quantities.variables import counted

if TYPE_CHECKING:
    from pathlib import Path

    from riskkit.fleet.run import Progress, RunSummary
    from riskkit.fleet.table import BadRow

__all__ = [
    "demo_words",
    "dictionary_text",
    "missing_words",
    "progress_words",
    "summary_words",
    "time_words",
]


def dictionary_text() -> str:
    """Write the columns of a table of homes with their meaning, as CSV.

    Returns
    -------
    str
        One line a column.
    """
    rows = []
    for column in columns().values():
        units = dict.fromkeys((column.us_unit, column.metric_unit))
        rows.append((
            column.key, column.words, " or ".join(unit for unit in units if unit not in ("", "1")),
            column.low, column.high, ", ".join(column.options), column.example,
            "" if column.key == "id" else column.unknown,
        ))  # fmt: skip
    head = ("column", "what it holds", "units, such as", "least", "greatest", "one of", "example",
            "where it is empty")  # fmt: skip
    return csv_text(head, rows)


def demo_words(count: int, table: Path, truth: Path | None, sites: Path | None) -> list[str]:
    """Say what was written of an invented company, and what to do with it.

    Parameters
    ----------
    count : int
        Homes [-].
    table : Path
        What the company knows of them.
    truth : Path or None
        What is true of them; None where it was not asked for.
    sites : Path or None
        Folder of the invented homes, with the record and the temperatures of their place; None
        where it is not installed.

    Returns
    -------
    list of str
        A line each.
    """
    run, named = table.with_name(f"{table.stem}_run"), "--rain RECORD"
    if sites is not None:
        rain, air = (sites / f"alder_bend_{name}.csv.gz" for name in ("rain", "temperature"))
        named = f"--rain {quote(str(rain))} --temperature {quote(str(air))}"
    lines = [f"{counted(count, 'invented home stands', 'invented homes stand')} in {table}."]
    if truth is not None:
        lines.append(f"What is true of them, known or not, stands in {truth}.")
    return [
        *lines,
        "No home names its rain, so a run of them needs a record, --rain, or a table, --table.",
        "Next:" if sites is None else "Next, with the invented record of Alder Bend:",
        f"  riskkit fleet run {quote(str(table))} {named} --out {quote(str(run))}",
    ]


def time_words(seconds: float) -> str:
    """Write a time that a run takes.

    Parameters
    ----------
    seconds : float
        The time [s].

    Returns
    -------
    str
        In seconds, minutes or hours.

    Examples
    --------
    >>> [time_words(time) for time in (12.3, 200.0, 9000.0)]
    ['12 s', '3 min', '2.5 h']
    """
    if seconds < 100:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 6000 else f"{seconds / 3600:.1f} h"


def progress_words(progress: Progress) -> str:
    """Say how far a run is.

    Parameters
    ----------
    progress : Progress
        How far.

    Returns
    -------
    str
        Homes done, and the time left.
    """
    left = "" if progress.left_s is None else f", {time_words(progress.left_s)} left"
    return f"{progress.done:,} of {progress.total:,} rows{left}"


def missing_words(far: tuple[int, int] | None) -> str:
    """Say that homes are missing in what follows, where the run was stopped.

    Parameters
    ----------
    far : tuple of int or None
        Rows of the table that the run came to, and all; None where that is not known [-].

    Returns
    -------
    str
        A sentence; empty where none is missing.

    Examples
    --------
    >>> missing_words((150, 400))[:69]
    'The run is not finished: 250 of 400 homes are missing in what follows'
    """
    if far is None or far[0] >= far[1]:
        return ""
    missing = far[1] - far[0]
    of = f"{missing:,} of {counted(far[1], 'home', 'homes')} {'is' if missing == 1 else 'are'}"
    return (
        f"The run is not finished: {of} missing in what follows; the same fleet run goes on from "
        "there."
    )


def summary_words(summary: RunSummary, first_bad: BadRow | None = None) -> list[str]:
    """Say what a run came to.

    Parameters
    ----------
    summary : RunSummary
        What it came to.
    first_bad : BadRow, optional
        The first row that was refused.

    Returns
    -------
    list of str
        A line each.
    """
    lines = [f"{counted(summary.homes, 'home is', 'homes are')} worked out."]
    if summary.bad:
        lines.append(f"{counted(summary.bad, 'row was', 'rows were')} refused; see bad_rows.csv.")
    if first_bad is not None:
        lines.append(f"The first, row {first_bad.number}: {first_bad.reason}")
    if summary.new:
        lines.append(
            f"This time {counted(summary.new, 'row', 'rows')} in {time_words(summary.seconds)}."
        )
    return lines
