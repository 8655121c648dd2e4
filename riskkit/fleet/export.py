"""Tables that go out: CSV and xlsx in which no cell is ever taken for a formula.

A spreadsheet runs a cell that begins with one of ``= + - @``, a tab or a line break. In CSV such a
text gets an apostrophe before it; in xlsx it is stored as text. Numbers are written as numbers.
"""

from __future__ import annotations

import csv
import datetime
import io
import math
from collections.abc import Iterable, Sequence

from riskkit.errors import InputError

__all__ = ["csv_text", "plain_cell", "unguarded", "xlsx_bytes"]

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def plain_cell(value: object) -> str | int | float | None:
    """Return what stands in a cell of a table that goes out.

    Parameters
    ----------
    value : object
        A text, number, day, or None for an empty cell.

    Returns
    -------
    str, int, float or None
        A number as it is, any other as text; None also for a number that is none [any].

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell(-3.5), plain_cell("Mill Lane")
    ("'=1+1", -3.5, 'Mill Lane')
    """
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and math.isinf(value):
        return "never"
    if isinstance(value, int | float):
        return value
    text = value.isoformat() if isinstance(value, datetime.date) else str(value)
    text = "".join(letter if letter.isprintable() or letter == "\t" else " " for letter in text)
    return f"'{text}" if text.lstrip(" ").startswith(_STARTS_A_FORMULA) else text


def unguarded(text: str) -> str:
    """Take away the apostrophe that `plain_cell` puts before what begins like a formula.

    Parameters
    ----------
    text : str
        What stands in a cell of a table that comes in.

    Returns
    -------
    str
        What was meant.

    Examples
    --------
    >>> unguarded("'-3 in"), unguarded("'s Lane")
    ('-3 in', "'s Lane")
    """
    rest = text.removeprefix("'")
    return rest if rest.lstrip(" ").startswith(_STARTS_A_FORMULA) else text


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Write a table as CSV.

    Parameters
    ----------
    header : sequence of str
        Names of the columns.
    rows : iterable of sequences
        Cells.

    Returns
    -------
    str
        Lines.
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([plain_cell(cell) for cell in row] for row in rows)
    return stream.getvalue()


def xlsx_bytes(header: Sequence[str], rows: Iterable[Sequence[object]], title: str) -> bytes:
    """Write a table as a workbook of one sheet.

    Parameters
    ----------
    header : sequence of str
        Names of the columns.
    rows : iterable of sequences
        Cells.
    title : str
        Name of the sheet, at most 31 letters.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        Where openpyxl is not installed.
    """
    try:
        import openpyxl
    except ModuleNotFoundError:
        raise InputError("xlsx", "it needs openpyxl", 'pip install "riskkit[fleet]"') from None
    from openpyxl.cell import WriteOnlyCell

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet(title)
    sheet.freeze_panes = "A2"
    sheet.append(list(header))
    for row in rows:
        cells = []
        for value in row:
            cell = WriteOnlyCell(sheet, value=plain_cell(value))
            if isinstance(cell.value, str):
                cell.data_type = "s"  # a text, whatever it begins with
            cells.append(cell)
        sheet.append(cells)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()
