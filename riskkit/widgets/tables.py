"""A table as a plain value, for the panels of the pages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from riskkit.report.rows import Table

__all__ = ["table_blocks"]


def table_blocks(table: Table, marks: Mapping[str, str] | None = None) -> list[dict[str, Any]]:
    """Return a table and its notes as blocks for a panel.

    Parameters
    ----------
    table : Table
        The table.
    marks : mapping of str to str, optional
        How rows stand out, by their first cell.

    Returns
    -------
    list of dict
        The table, then a block for each note.
    """
    block: dict[str, Any] = {
        "kind": "table",
        "title": table.title,
        "head": list(table.head),
        "rows": [list(row) for row in table.rows],
    }
    if marks is not None:
        block["marks"] = dict(marks)
    return [block, *({"kind": "text", "class": "small", "text": note} for note in table.notes)]
