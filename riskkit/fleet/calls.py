"""What is taken of the night of a storm: calls, work, outages, and how far a storm reaches."""

from __future__ import annotations

from scipy.special import ndtri

from riskkit.quantities.distributions import spread_at
from riskkit.quantities.spread_tables import scaled_spreads
from riskkit.quantities.variables import Spread
from riskkit.records import FloatArray

__all__ = ["call_drawn", "call_spread"]


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
    return scaled_spreads("calls")[key][0]


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
    spread, scale = scaled_spreads("calls")[key]
    return spread_at(spread, scale, ndtri(places))
