"""Published tables, as CSV: a header, a unit row, then the data, with a source key in every row.

``sources.toml`` says what each key is. Code holds no tables of numbers; it asks here.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

__all__ = ["Source", "Table", "load_sources", "load_table"]


@dataclass(frozen=True)
class Source:
    """Where a number comes from."""

    key: str
    author: str
    title: str
    publisher: str
    year: str
    where: str
    licence: str

    def cite(self) -> str:
        """Return the source as one line of text.

        Returns
        -------
        str
            Author, title, publisher, year and place in it.
        """
        parts = [self.author, self.title, self.publisher, self.year, self.where]
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True)
class Table:
    """A table as read: one mapping of text per row, and the unit of each column."""

    name: str
    rows: tuple[Mapping[str, str], ...]
    units: Mapping[str, str]

    def column(self, name: str) -> list[float]:
        """Return a column of numbers.

        Parameters
        ----------
        name : str
            The column's name in the header.

        Returns
        -------
        list of float
            The values in the column's own unit, see `units` [any].
        """
        return [float(row[name]) for row in self.rows]


@cache
def load_table(name: str) -> Table:
    """Read a table of the package.

    Parameters
    ----------
    name : str
        File name without ``.csv``.

    Returns
    -------
    Table
        Its rows and units.

    Raises
    ------
    ValueError
        Where a row names no source or one that ``sources.toml`` does not know.
    """
    text = files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    reader = csv.DictReader(lines)
    units, *rows = [MappingProxyType(row) for row in reader]
    known = load_sources()
    for row in rows:
        if row.get("source") not in known:
            raise ValueError(f"{name}.csv: row {dict(row)} names no known source")
    return Table(name, tuple(rows), units)


@cache
def load_sources() -> Mapping[str, Source]:
    """Read the list of sources.

    Returns
    -------
    mapping of str to Source
        Every source by its key.
    """
    data = tomllib.loads(files(__name__).joinpath("sources.toml").read_text(encoding="utf-8"))
    fields = ("author", "title", "publisher", "year", "where", "licence")
    return MappingProxyType(
        {
            key: Source(key, **{f: str(entry.get(f, "")) for f in fields})
            for key, entry in data.items()
        }
    )
