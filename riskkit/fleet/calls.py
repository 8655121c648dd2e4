"""What is taken of the night of a storm: calls, work, outages, and how far a storm reaches."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from scipy.special import ndtri

from riskkit.quantities.distributions import spread_at
from riskkit.quantities.variables import Spread
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = ["call_drawn", "call_spread"]


@cache
def _rows() -> Mapping[str, tuple[Spread, str]]:
    found = {}
    for row in load_table("calls").rows:
        low, median, high = (float(row[point]) for point in ("p05", "p50", "p95"))
        spread = Spread(low, median, high, row["words"], row["source"])
        found[row["key"]] = (spread, row["scale"])
    return MappingProxyType(found)


def call_spread(key: str) -> Spread:
    """Return what is taken, a row of ``tables/calls.csv``.

    Parameters
    ----------
    key : str
        Its key.

    Returns
    -------
    Spread
        Its points, words and basis.
    """
    return _rows()[key][0]


def call_drawn(key: str, places: FloatArray) -> FloatArray:
    """Return values at places in the spread of a row.

    Parameters
    ----------
    key : str
        Its key.
    places : (n,) array
        Shares that lie below, between 0 and 1 [-].

    Returns
    -------
    (n,) array
        Values [any].
    """
    spread, scale = _rows()[key]
    return spread_at(spread, scale, ndtri(places))
