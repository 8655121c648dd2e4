"""Columns of a table of homes: those of the home file, and what a company knows besides."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from riskkit.errors import InputError
from riskkit.home._renamed import RENAMED
from riskkit.home.sections import AREAS, FEELS, TEXTURES
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.choice_labels import choice_labels
from riskkit.quantities.quantity import examples
from riskkit.quantities.units import UnitSystem, parse_quantity
from riskkit.quantities.variables import choices, variables
from riskkit.tables import load_table

__all__ = ["HEADER", "Column", "columns", "read_header", "template_text"]

HEADER = re.compile(r"\s*([a-z_.]+)\s*(?:\[([^\[\]]*)\])?\s*")
_CHOSEN = {
    "place.area": AREAS,
    "ground.soil": TEXTURES,
    "ground.backfill": TEXTURES,
    "ground.feel": tuple(FEELS),
}


@dataclass(frozen=True)
class Column:
    """A column of a table of homes.

    Parameters
    ----------
    key : str
        Its name: section and key of the home file, or a name of ``tables/fleet_columns.csv``.
    unit : str
        SI unit of its quantity; empty where it has none.
    us_unit, metric_unit : str
        Units in which readers see it.
    words : str
        What it holds.
    low, high : str
        Ends of the plausible range, as written with their units; empty where it has none.
    options : tuple of str
        Words of which a cell holds one; empty where it is free.
    example : str
        A cell as it may be written.
    unknown : str
        What is taken where the cell is empty.
    """

    key: str
    unit: str
    us_unit: str
    metric_unit: str
    words: str
    low: str = ""
    high: str = ""
    options: tuple[str, ...] = ()
    example: str = ""
    unknown: str = ""


@cache
def columns() -> Mapping[str, Column]:
    """Return every column that a table of homes may have, in their order.

    Returns
    -------
    mapping of str to Column
        By key.
    """
    found = {}
    for row in load_table("fleet_columns").rows:
        key = row["key"]
        found[key] = Column(
            key, row["unit"], row["unit"], row["unit"], row["words"],
            options=tuple(row["options"].split()), example=row["example"], unknown=row["unknown"],
        )  # fmt: skip
    for key, item in (*variables().items(), *backup_quantities().items()):
        low, high = item.end_texts(UnitSystem.US)
        found[key] = Column(
            key, item.unit, item.us_unit, item.metric_unit, item.words, low, high,
            example=examples(item)[0], unknown=item.unknown.words,
        )  # fmt: skip
    chosen = {key: tuple(choice.options) for key, choice in choices().items()}
    chosen |= {key: tuple(options) for key, options in backup_choices().items()}
    for key, options in (chosen | _CHOSEN).items():
        words = choice_labels()[key]
        found[key] = Column(key, "", "", "", words, options=options, example=options[0])
    return MappingProxyType(found)


def read_header(text: str, where: str) -> tuple[str, str]:
    """Read the name of a column and its unit, as in ``pit.depth [in]``.

    Parameters
    ----------
    text : str
        A cell of the header.
    where : str
        The table, for messages.

    Returns
    -------
    tuple of str
        Key and unit; the unit is empty where the header names none.

    Raises
    ------
    InputError
        Where there is no such column, or it has another kind of unit.
    """
    match = HEADER.fullmatch(text)
    key = match[1] if match else text.strip()
    key = RENAMED.get(key, key)
    if match is None or key not in columns():
        right = "riskkit fleet template lists all columns"
        raise InputError(where, f"there is no column {key[:60]!r}", right)
    unit = (match[2] or "").strip()
    column = columns()[key]
    if unit and unit != column.unit:
        if not column.unit:
            raise InputError(where, f"{key} has no unit", "leave the brackets out")
        try:
            parse_quantity(f"1 {unit}", column.unit, key)
        except InputError:
            right = f"write it like {key} [{column.us_unit}]"
            raise InputError(where, f"{key} is not measured in {unit}", right) from None
    return key, unit


def template_text(system: str = "us") -> str:
    """Write the header of an empty table of homes with all columns, as a line of CSV.

    Parameters
    ----------
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        One line.
    """
    cells = []
    for column in columns().values():
        unit = column.us_unit if system == "us" else column.metric_unit
        cells.append(f"{column.key} [{unit}]" if unit not in ("", "1") else column.key)
    return ",".join(cells) + "\n"
