"""What an answer rests on in words: rain, soil and water table, and what was taken for the home."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.antecedent.textures import soil_words
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variable
from riskkit.report.rows import Table, new_table
from riskkit.tables import load_sources

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.ensemble.draws import Assumption

__all__ = ["rests_on", "taken_table", "taken_words", "unknown_table"]

_NO_BOOK = {"judgement": "judgement", "common_practice": "common practice"}  # name no book
_NINE_OF_TEN = "9 of 10 lie within"


def taken_words(row: Assumption, system: UnitSystem) -> tuple[str, str, str]:
    """Say what was taken for a quantity: its median, where 9 of 10 lie, and where that is from.

    Parameters
    ----------
    row : Assumption
        What was taken.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    median : str
        As given, or to two digits where it is only known in words or not at all.
    span : str
        Such as ``"0.54 to 22 ft2"``.
    origin : str
        Measured, given, what a word stands for, or the table and its source.
    """
    item = variable(row.key)
    median, span = item.spread_text(row.p05, row.p50, row.p95, system)
    source = _NO_BOOK.get(row.source) or load_sources()[row.source].cite()
    if row.basis is Basis.UNKNOWN:
        return median, span, f"{row.rationale} ({source})"
    if row.option is not None:
        return median, span, f"what “{row.option}” stands for ({source})"
    if row.quantity is None:  # the water table, by levels measured or remembered
        return median, span, f"{row.value}; {row.rationale}"
    origin = "measured at the home" if row.basis is Basis.MEASURED else "as given"
    if row.quantity.is_rough:
        origin = "stated roughly"
    return item.text(row.p50, system), span, origin


def rests_on(answer: Assessment) -> tuple[str, ...]:
    """Say which rain, which soil and which water table an answer rests on.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of str
        The rain with its years and the pattern of its storms; the soil; the water table where it
        was measured or is remembered.
    """
    table = answer.antecedent.water_table
    water = (f"Water table before storms: {table.origin}; {table.spread.words}.",) if table else ()
    return (
        f"Rain: {answer.rain.origin}; {answer.settings.pattern.value} storms.",
        f"Soil: {soil_words(answer.home)}.",
        *water,
    )


def taken_table(answer: Assessment, system: UnitSystem) -> Table:
    """Write what was taken for every quantity of the home, and where that is from.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row for each quantity.
    """
    rows = [(row.words, *taken_words(row, system)) for row in answer.assumptions]
    head = ("quantity", "median", _NINE_OF_TEN, "from")
    return new_table("What was taken for the home", head, rows, words=(0, 3))


def unknown_table(answer: Assessment, system: UnitSystem) -> Table:
    """Write what was taken for each quantity that is not known, and why.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row for each quantity; none where all is known.
    """
    rows = [
        (row.words, *taken_words(row, system)[:2], f"{row.rationale} ({row.source})")
        for row in answer.assumptions
        if row.basis is Basis.UNKNOWN
    ]
    head = ("quantity", "median", _NINE_OF_TEN, "because")
    return new_table("Not known, so taken from tables", head, rows, words=(0, 3))
