"""A table in a terminal: as wide as it may be, and no number goes on in the next line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from riskkit.report.rows import Column, Kind, Table

__all__ = ["print_table"]

_UNITS = frozenset(
    {"in", "ft", "mm", "cm", "m", "ft2", "m2", "gal", "m³", "gpm", "L/min", "min", "h", "d", "%"}
)
_SIGNS = ("<", ">", "|")
_FEWEST = 12  # letters of a column of words
_FEW = 2  # columns that are never parted


class _Break(IntEnum):
    """Where a cell with numbers may go on in the next line, from nowhere to between any two."""

    NOWHERE = 0
    HEADS = 1
    PARTS = 2  # before a bracket, after a colon or a semicolon
    SPACES = 3  # but not between a number and its sign or unit


@dataclass(frozen=True)
class _Layout:
    """Columns that stand side by side, with the ends of the lines in their cells."""

    columns: tuple[Column, ...]
    widths: list[int]
    cells: list[list[str]]  # the head first


def print_table(console: Console, table: Table) -> None:
    """Print a table with its title on a line of its own, and its notes below.

    A table that is too wide is cut into several, one below the other, each with the first column.

    Parameters
    ----------
    console : Console
        Where to.
    table : Table
        The table.
    """
    if table.title:
        console.print(Text(table.title, style="bold"))
    for layout in _layouts(table, console.width):
        view = Grid(box=box.SIMPLE_HEAD)
        for column, head, width in zip(layout.columns, layout.cells[0], layout.widths, strict=True):
            side: Literal["left", "right"] = "left" if column.kind is Kind.WORDS else "right"
            view.add_column(Text(head), justify=side, overflow="fold", width=width)
        for row in layout.cells[1:]:
            view.add_row(*map(Text, row))
        console.print(view)
    for note in table.notes:
        console.print(Text(note))
    if table.notes:
        console.print()


def _layouts(table: Table, width: int) -> list[_Layout]:
    """Lay a table out in as few parts as fit, and in lines as few as those allow."""
    found: list[_Layout] = []
    first, n = 1, len(table.columns)
    while first < n or not found:
        end = n
        while (layout := _laid_out(table, [0, *range(first, end)], width)) is None:
            end -= 1
        found.append(layout)
        first = end
    return found


def _laid_out(table: Table, kept: list[int], width: int) -> _Layout | None:
    """Lay some columns out side by side; None where they do not fit and could be fewer."""
    columns = tuple(table.columns[j] for j in kept)
    texts = [[row[j] for j in kept] for row in (table.head, *table.rows)]
    n = len(columns)
    room = width - 2 * n - (n - 1) - 2  # between and beside the columns
    words = [j for j in range(n) if columns[j].kind is Kind.WORDS]
    for level in _Break if n <= _FEW else (_Break.NOWHERE, _Break.HEADS, _Break.PARTS):
        parts = [_parts(row, columns, level, is_head=i == 0) for i, row in enumerate(texts)]
        widths = [max(cell_len(part) for row in parts for part in row[j]) for j in range(n)]
        left = room - sum(widths[j] for j in range(n) if j not in words)
        full = [max(cell_len(row[j]) for row in texts) for j in words]
        least = [min(max(widths[j], _FEWEST), most) for j, most in zip(words, full, strict=True)]
        if left >= sum(least):
            break
    else:
        if n > _FEW:
            return None
    for j, wide in zip(words, _shared_out(left, least, full), strict=True):
        widths[j] = wide
    heads = [max(cell_len(text), wide) for text, wide in zip(texts[0], widths, strict=True)]
    if room > sum(widths):
        widths = _shared_out(room, widths, heads)
    cells = [
        [text if j in words else _packed(row[j], widths[j]) for j, text in enumerate(line)]
        for line, row in zip(texts, parts, strict=True)
    ]
    return _Layout(columns, widths, cells)


def _shared_out(left: int, least: list[int], full: list[int]) -> list[int]:
    """Share the room out among columns of words: what each needs, else by what it lacks."""
    if left >= sum(full):
        return full
    spare, lack = max(left - sum(least), 0), max(sum(full) - sum(least), 1)
    return [low + spare * (most - low) // lack for low, most in zip(least, full, strict=True)]


def _parts(
    row: list[str], columns: tuple[Column, ...], level: _Break, *, is_head: bool
) -> list[list[str]]:
    """Parts of each cell that stay in one line."""
    return [
        text.split() or [""]
        if column.kind is Kind.WORDS or (is_head and level >= _Break.HEADS)
        else _number_parts(text, level)
        for text, column in zip(row, columns, strict=True)
    ]


def _number_parts(text: str, level: _Break) -> list[str]:
    if level < _Break.PARTS:
        return [text]
    parts: list[str] = []
    for word in text.split():
        if not parts or not _may_part(parts[-1], word, level):
            parts[-1:] = [f"{parts[-1]} {word}" if parts else word]
        else:
            parts.append(word)
    return parts or [""]


def _may_part(before: str, word: str, level: _Break) -> bool:
    if word.startswith("(") or before.endswith((":", ";")):
        return True
    if level < _Break.SPACES or before.endswith(_SIGNS):
        return False
    is_unit = word.strip("().,;:") in _UNITS or word in _SIGNS
    return not (is_unit and before.strip("().,;:")[-1:].isdigit())


def _packed(parts: list[str], width: int) -> str:
    """As many parts in each line as there is room for."""
    lines = [parts[0]]
    for part in parts[1:]:
        if cell_len(lines[-1]) + 1 + cell_len(part) <= width:
            lines[-1] = f"{lines[-1]} {part}"
        else:
            lines.append(part)
    return "\n".join(lines)
