"""The rows of a text table as columns of cells, a part at a time, so that large ones need little.

A table of millions of rows is cut by some ten thousand at once where all of them are plain; where
a cell is quoted, a row is a comment or has too many cells, row by row.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence

import numpy as np

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.rainfall.readers.files import CsvText, lines_of
from riskkit.records import IntArray

__all__ = ["read_batches", "read_columns"]

BATCH_ROWS = 5000
_BATCH_LETTERS = 2_000_000


def read_columns(table: CsvText, names: Sequence[str]) -> tuple[list[list[str]], IntArray]:
    """Read some columns of a table as text.

    Parameters
    ----------
    table : CsvText
        The table.
    names : sequence of str
        Names of columns, as in the header.

    Returns
    -------
    columns : list of list of str
        The cells of each column, in the order of `names`.
    lines : (n_rows,) array of int
        Line of the file of each row [-].

    Raises
    ------
    InputError
        Where a column is absent or named twice, or a row has too few or too many cells.
    """
    columns: list[list[str]] = [[] for _ in names]
    lines = []
    for batch, at in read_batches(table, names):
        for column, cells in zip(columns, batch, strict=True):
            column.extend(cells)
        lines.append(at)
    return columns, np.concatenate(lines)


def read_batches(
    table: CsvText, names: Sequence[str]
) -> Iterator[tuple[list[list[str]], IntArray]]:
    """Read some columns of a table as text, some ten thousand rows at a time.

    Parameters
    ----------
    table : CsvText
        The table.
    names : sequence of str
        Names of columns, as in the header.

    Returns
    -------
    iterator of tuple
        The cells of each column, in the order of `names`, and the line of the file of each row [-].

    Raises
    ------
    InputError
        As `read_columns`.
    """
    for name in names:
        if table.header.count(name) != 1:
            many = "more than once" if name in table.header else "nowhere"
            raise InputError(
                table.where,
                f"the column {brief(name)!r} is {many} in the header",
                f"the header is {', '.join(table.header)[:120]}",
            )
    places = [table.header.index(name) for name in names]
    some = False
    for columns, lines in _cut(table, places):
        if lines.size:
            some = True
            yield columns, lines
    if not some:
        raise InputError(table.where, "it has a header but no rows")


def _cut(table: CsvText, places: Sequence[int]) -> Iterator[tuple[list[list[str]], IntArray]]:
    text, begin, line = table.text, table.begin, table.first_line
    if text.find('"', begin) >= 0:  # a quoted cell may hold a line end
        yield from _row_by_row(table, lines_of(text, begin), line, places)
        return
    while begin < len(text):
        end = text.find("\n", begin + _BATCH_LETTERS)
        end = len(text) if end < 0 else end
        part = text[begin:end]
        columns = _columns_at_once(part.rstrip("\n"), table, places)
        if columns is None:
            yield from _row_by_row(table, iter(part.split("\n")), line, places)
        else:
            yield columns, np.arange(line, line + len(columns[0]), dtype=np.int64)
        begin, line = end + 1, line + part.count("\n") + 1


def _row_by_row(
    table: CsvText, rows: Iterator[str], first_line: int, places: Sequence[int]
) -> Iterator[tuple[list[list[str]], IntArray]]:
    width = len(table.header)
    batch: list[list[str]] = []
    lines: list[int] = []
    reader = csv.reader(rows, delimiter=table.separator)
    try:
        for row in reader:
            if not any(row):  # empty, or filled up by a spreadsheet
                continue
            if len(row) != width:
                if row[0].startswith("#"):
                    continue
                _check_width(table, row, first_line - 1 + reader.line_num)
            batch.append(row)
            lines.append(first_line - 1 + reader.line_num)
            if len(batch) == BATCH_ROWS:
                yield [[row[place] for row in batch] for place in places], np.array(lines)
                batch, lines = [], []
    except csv.Error as error:
        raise InputError(
            table.place(first_line - 1 + reader.line_num), f"the row is broken ({error})"
        ) from None
    yield [[row[place] for row in batch] for place in places], np.array(lines, dtype=np.int64)


def _columns_at_once(text: str, table: CsvText, places: Sequence[int]) -> list[list[str]] | None:
    """Cut rows without quotes, comments or ragged ends, five times as fast; None for others."""
    width = len(table.header)
    filled = f"\n{table.separator * (width - 1)}"  # a row of empty cells, such as the last one
    if width < 2 or not text or "#" in text or f"{filled}\n" in f"\n{text}\n":
        return None
    letters = np.frombuffer((text + "\n").encode(), dtype=np.uint8)
    ends = letters[(letters == ord(table.separator)) | (letters == ord("\n"))] == ord("\n")
    if ends.size % width:
        return None
    by_row = ends.reshape(-1, width)
    if by_row[:, :-1].any() or not by_row[:, -1].all():
        return None
    cells = text.replace("\n", table.separator).split(table.separator)
    return [cells[place::width] for place in places]


def _check_width(table: CsvText, row: Sequence[str], line: int) -> None:
    """Refuse a row of the wrong width; empty cells at its end do no harm."""
    width = len(table.header)
    if len(row) > width and not any(cell.strip() for cell in row[width:]):
        return
    right = "every row needs as many cells as the header"
    if len(row) > width and table.separator == ",":
        right = "if commas are decimal marks, write 1.5, or separate the columns by semicolons"
    raise InputError(
        table.place(line), f"the row has {len(row)} cells, the header has {width}", right
    )
