"""The answer in a terminal: the key figure first, then the tables, then where numbers come from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.report.draws_words import draws_words
from riskkit.report.key_figure import key_figure
from riskkit.report.origin_words import rests_on, unknown_table
from riskkit.report.state_words import ORDER_FIRST, reading
from riskkit.report.storm_rows import answer_tables
from riskkit.report.table_text import print_table
from riskkit.report.visit_words import alerts
from riskkit.report.wall_words import wall_lines
from riskkit.report.water_words import parts_table, water_lines
from riskkit.report.words import sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.assessment import Assessment

__all__ = ["print_assessment", "print_state"]


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


def print_assessment(
    answer: Assessment, console: Console, system: UnitSystem, beneath: Sequence[str] = ()
) -> None:
    """Print an answer.

    Parameters
    ----------
    answer : Assessment
        The answer.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    beneath : sequence of str
        What to say beneath the key figure, such as the chance of a year.
    """
    console.print(Text(answer.home.name, style="bold"))
    print_state(alerts(answer.home, answer.state, system), console)
    found = key_figure(answer)
    console.print(Text(found.line(), style="bold"))
    for line in beneath:
        console.print(Text(line))
    console.print(Text(found.short))
    console.print()
    console.print(Text(sentence(answer, system, state_first=False)), soft_wrap=False)
    console.print()
    for line in water_lines(answer):
        console.print(Text(line))
    console.print()
    for table in answer_tables(answer, system):
        print_table(console, table)
    console.print(Text(" ".join(reading(answer.state)), style="dim"))
    console.print()
    print_table(console, parts_table(answer, system))
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
    for basis in (Basis.MEASURED, Basis.GIVEN):
        rows = [
            f"{row.words}: {row.value if row.quantity is None else row.quantity.amount}"
            for row in known
            if row.basis is basis
        ]
        if rows:
            console.print(Text(f"{basis.value.capitalize()}: {'; '.join(rows)}."))
    unknown = unknown_table(answer, system)
    if unknown.rows:
        print_table(console, unknown)
    for note in answer.warnings:
        console.print(Text(f"Note: {note}"))
    console.print(Text(f"riskkit {answer.version}, {draws_words(answer)}", style="dim"))
    console.print()
