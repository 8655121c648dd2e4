"""A table of words and numbers, built once and shown by every surface in its own way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Column", "Kind", "Table", "new_table", "without_columns"]


class Kind(StrEnum):
    """What the cells of a column hold."""

    WORDS = "words"  # to the left; may go on in the next line
    NUMBER = "number"  # to the right; a number never goes on in the next line


@dataclass(frozen=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    head : str
        Its heading; empty where the cells say it themselves.
    kind : Kind
        What its cells hold.
    share : float
        Its width on a printed sheet, against those of the others [-].
    """

    head: str
    kind: Kind = Kind.NUMBER
    share: float = 1.0


@dataclass(frozen=True)
class Table:
    """A table as text; the first cell of each row names the row.

    Parameters
    ----------
    title : str
        What it is; empty where a heading above says so.
    columns : tuple of Column
        Its columns.
    rows : tuple of tuple of str
        A cell for each column.
    notes : tuple of str
        What to know of it, a paragraph each.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"{self.title}: a row has more or fewer cells than there are columns")

    @property
    def head(self) -> tuple[str, ...]:
        """Headings of the columns."""
        return tuple(column.head for column in self.columns)


def new_table(
    title: str,
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    notes: Sequence[str] = (),
    *,
    words: Sequence[int] = (0,),
    shares: Sequence[float] = (),
) -> Table:
    """Make a table from its parts.

    Parameters
    ----------
    title : str
        What it is.
    head : sequence of str
        Headings of the columns.
    rows : sequence of sequence of str
        A cell for each column.
    notes : sequence of str
        What to know of it.
    words : sequence of int
        Which columns hold words; the others hold numbers [-].
    shares : sequence of float
        Widths on a printed sheet; all alike where none is given [-].

    Returns
    -------
    Table
        The table.
    """
    kinds = [Kind.WORDS if i in words else Kind.NUMBER for i in range(len(head))]
    wide = shares or [1.0] * len(head)
    columns = (Column(*parts) for parts in zip(head, kinds, wide, strict=True))
    return Table(title, tuple(columns), tuple(tuple(row) for row in rows), tuple(notes))


def without_columns(table: Table, *heads: str) -> Table:
    """Leave columns out.

    Parameters
    ----------
    table : Table
        The table.
    *heads : str
        Headings of the columns that go.

    Returns
    -------
    Table
        The others, in their order.
    """
    kept = [i for i, name in enumerate(table.head) if name not in heads]
    rows = tuple(tuple(row[i] for i in kept) for row in table.rows)
    return Table(table.title, tuple(table.columns[i] for i in kept), rows, table.notes)
