"""The causes of water on the floor in a home with a sump pump, and how they come together.

Chances and rates are rows of ``failure_causes.csv``, each with its basis; the gates are rows of
``failure_gates.csv``. What only the home knows (age, outages, what there is, who is
there) is given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from riskkit.errors import InputError
from riskkit.quantities.distributions import spread_at
from riskkit.quantities.variables import Spread, spread_of_row
from riskkit.records import FloatArray, need
from riskkit.reliability.fault_tree import FaultTree, Gate, GateKind
from riskkit.reliability.hidden import demand_chance
from riskkit.tables import load_table

__all__ = [
    "Cause",
    "PartLife",
    "cause_chances",
    "causes",
    "fault_rates_per_yr",
    "part_lives",
    "parts_shown",
    "pump_tree",
]


@dataclass(frozen=True)
class Cause:
    """A basic event of the tree.

    Parameters
    ----------
    key : str
        Its name in the tables.
    part : str
        What of the home it belongs to.
    on_demand : Spread or None
        Chance to fail when called upon [-].
    per_year : Spread or None
        Rate of faults that stay hidden [1/yr].
    given : str
        Where its chance comes from when not from here; empty otherwise.
    source : str
        Basis, a key of the sources.
    delay : Spread or None
        How long a visit could see the defect before it is a failure [yr]; None for a fault that
        gives no sign before.
    """

    key: str
    part: str
    on_demand: Spread | None
    per_year: Spread | None
    given: str
    source: str
    delay: Spread | None = None


@dataclass(frozen=True)
class PartLife:
    """How long a part ordinarily lasts.

    Parameters
    ----------
    mean_yr : Spread
        Mean life of such parts [yr].
    shape : float
        Weibull shape around it [-].
    """

    mean_yr: Spread
    shape: float


@cache
def part_lives() -> Mapping[str, PartLife]:
    """Return the lives of the parts that wear out.

    Returns
    -------
    mapping of str to PartLife
        By part.
    """
    rows = load_table("part_lives").rows
    return MappingProxyType(
        {row["part"]: PartLife(spread_of_row(row, "life_"), float(row["shape"])) for row in rows}
    )


@cache
def parts_shown() -> Mapping[str, Spread]:
    """Return how often chance alone shows a hidden fault of each part.

    Returns
    -------
    mapping of str to Spread
        By part [1/yr].
    """
    rows = load_table("part_shown").rows
    return MappingProxyType({row["part"]: spread_of_row(row, "shown_") for row in rows})


@cache
def causes() -> Mapping[str, Cause]:
    """Return all causes.

    Returns
    -------
    mapping of str to Cause
        By name, in the order of the table.
    """
    rows = load_table("failure_causes").rows
    return MappingProxyType(
        {
            row["cause"]: Cause(
                row["cause"],
                row["part"],
                spread_of_row(row, "demand_") if row["demand_p50"] else None,
                spread_of_row(row, "rate_") if row["rate_p50"] else None,
                row["given"],
                row["source"],
                spread_of_row(row, "delay_") if row["delay_p50"] else None,
            )
            for row in rows
        }
    )


@cache
def pump_tree() -> FaultTree:
    """Return the fault tree of a home with a sump pump.

    Returns
    -------
    FaultTree
        Its gates; the events are those of `causes`.
    """
    rows = load_table("failure_gates").rows
    gates = {row["gate"]: Gate(GateKind(row["kind"]), tuple(row["inputs"].split())) for row in rows}
    return FaultTree(rows[0]["gate"], gates)


def cause_chances(
    given: Mapping[str, FloatArray | float],
    hidden: Mapping[str, ArrayLike],
    share: Mapping[str, ArrayLike] = MappingProxyType({}),
) -> dict[str, FloatArray]:
    """Chance of each cause when a storm comes: it lies hidden then, or fails when called upon.

    Parameters
    ----------
    given : mapping of str to (n_draws,) array
        Chances of the causes that the home gives, and of any that shall replace the table's [-].
    hidden : mapping of str to (n_draws,) array
        Chance that each other cause which arises with time lies hidden [-].
    share : mapping of str to (n_draws,) array
        Place of each cause in the spread of its chances, between 0 and 1; the middle where none is
        given [-].

    Returns
    -------
    dict of str to (n_draws,) array
        Chance of every cause [-].

    Raises
    ------
    InputError
        Where a chance that the home has to give, or that a cause lies hidden, is missing.

    References
    ----------
    rausand_hoyland2004 : unavailability of a periodically tested part
    """
    found: dict[str, FloatArray] = {}
    for key, cause in causes().items():
        if key in given:
            found[key] = np.asarray(given[key], dtype=np.float64)
            continue
        if cause.given:
            raise InputError(key, "the home has to give its chance", f"add it from {cause.given}")
        if cause.per_year is not None and key not in hidden:
            raise InputError(key, "nobody says how likely it lies hidden", "give a chance")
        fails = np.zeros(1)
        if cause.on_demand is not None:
            fails = spread_at(cause.on_demand, "logit", _score(share, key))
        found[key] = demand_chance(fails, hidden.get(key, 0.0))
    return found


def fault_rates_per_yr(
    share: Mapping[str, ArrayLike] = MappingProxyType({}),
    unseen: Mapping[str, ArrayLike] = MappingProxyType({}),
) -> dict[str, FloatArray]:
    """Faults a year of each cause that arises with time.

    Parameters
    ----------
    share : mapping of str to (n_draws,) array
        Place of each cause in the spread of its rates, between 0 and 1; the middle where none is
        given [-].
    unseen : mapping of str to (n_draws,) array
        Share of the faults of each cause that no visit saw coming; all where not told [-].

    Returns
    -------
    dict of str to (n_draws,) array
        Faults [1/yr].

    References
    ----------
    christer_waller1984 : share of the defects that become failures
    """
    return {
        key: spread_at(cause.per_year, "log", _score(share, key))
        * np.asarray(unseen.get(key, 1.0), dtype=np.float64)
        for key, cause in causes().items()
        if cause.per_year is not None
    }


def _score(share: Mapping[str, ArrayLike], key: str) -> FloatArray:
    place = np.atleast_1d(np.asarray(share.get(key, 0.5), dtype=np.float64))
    need(bool(np.all((place > 0) & (place < 1))), key, "its share is not between 0 and 1")
    return np.asarray(ndtri(place))
