"""Tables of spreads that are asked by a key, each on the scale on which it is a normal one."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from riskkit.quantities.variables import Spread, spread_of_row
from riskkit.tables import load_table

__all__ = ["scaled_spreads"]


@cache
def scaled_spreads(table: str) -> Mapping[str, tuple[Spread, str]]:
    """Return every spread of a table, with its scale.

    Parameters
    ----------
    table : str
        Name of a table with a key, a scale and three points in each row.

    Returns
    -------
    mapping of str to tuple
        Spread and scale (normal, log or logit) by key, in the order of the table.
    """
    rows = load_table(table).rows
    return MappingProxyType({row["key"]: (spread_of_row(row), row["scale"]) for row in rows})
