"""Mains outages by area: how often and how long, from official statistics.

SAIFI and CAIDI are the means of the years in the table. Outages are of two kinds, those of major
events and the ordinary rest, for the statistics are printed with and without major events. Lengths
are exponential within each kind (judgement), so that their mean is CAIDI and no parameter is left
to fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import InputError
from riskkit.records import FloatArray, need
from riskkit.tables import load_table

__all__ = [
    "COUNTRY",
    "Outages",
    "outage_areas",
    "outage_rate_per_yr",
    "outage_rates_by_kind_per_yr",
    "outages_of",
]

COUNTRY = "United States"
"""The area whose figures national shares belong to."""


@dataclass(frozen=True)
class Outages:
    """Outages of one area, of two kinds.

    Parameters
    ----------
    area : str
        Name in the table.
    ordinary_per_yr : float
        Outages outside major events per customer [1/yr].
    ordinary_h : float
        Their mean length [h].
    major_per_yr : float
        Outages of major events per customer [1/yr].
    major_h : float
        Their mean length [h].
    """

    area: str
    ordinary_per_yr: float
    ordinary_h: float
    major_per_yr: float
    major_h: float

    def __post_init__(self) -> None:
        numbers = (self.ordinary_per_yr, self.ordinary_h, self.major_per_yr, self.major_h)
        need(min(numbers) >= 0, "outages", "a rate or length is below zero")

    @property
    def rate_per_yr(self) -> float:
        """Outages of both kinds per customer [1/yr]."""
        return self.ordinary_per_yr + self.major_per_yr

    @property
    def mean_h(self) -> float:
        """Mean length of both kinds [h]."""
        hours = self.ordinary_per_yr * self.ordinary_h + self.major_per_yr * self.major_h
        return hours / self.rate_per_yr


def outage_areas() -> tuple[str, ...]:
    """Areas of the table, in its order.

    Returns
    -------
    tuple of str
        Country, regions and states.
    """
    return tuple(dict.fromkeys(row["area"] for row in load_table("outages").rows))


@cache
def outages_of(area: str) -> Outages:
    """Outages of an area, as the mean of the years in the table.

    Parameters
    ----------
    area : str
        One of `outage_areas`.

    Returns
    -------
    Outages
        Rates and mean lengths of both kinds.

    Raises
    ------
    InputError
        Where the area is not in the table.

    References
    ----------
    eia_epa2023 : SAIDI and SAIFI with all events and without major events
    """
    rows = [row for row in load_table("outages").rows if row["area"] == area]
    if not rows:
        right = f"use one of {', '.join(outage_areas())}"
        raise InputError("area", f"{area!r} has no outage statistics", right)

    def mean(column: str) -> float:
        return float(np.mean([float(row[column]) for row in rows]))

    ordinary, ordinary_min = mean("saifi_ordinary"), mean("saidi_ordinary")
    major, major_min = mean("saifi") - ordinary, mean("saidi") - ordinary_min
    return Outages(area, ordinary, ordinary_min / ordinary / 60, major, major_min / major / 60)


def outage_rates_by_kind_per_yr(
    outages: Outages, over_h: ArrayLike = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Outages of at least some length per customer and year, ordinary and of major events.

    Parameters
    ----------
    outages : Outages
        Of the area.
    over_h : (n_draws,) array
        Least length [h].

    Returns
    -------
    tuple of (n_draws,) array
        Outages of either kind [1/yr].

    References
    ----------
    eia_epa2023 : rates and mean lengths; exponential lengths within each kind are judgement
    """
    hours = np.asarray(over_h, dtype=np.float64)
    need(bool(np.all(hours >= 0)), "length", "it is below zero", "give hours")
    return (
        outages.ordinary_per_yr * np.exp(-hours / outages.ordinary_h),
        outages.major_per_yr * np.exp(-hours / outages.major_h),
    )


def outage_rate_per_yr(outages: Outages, over_h: ArrayLike = 0.0) -> FloatArray:
    """Outages of at least some length per customer and year.

    Parameters
    ----------
    outages : Outages
        Of the area.
    over_h : (n_draws,) array
        Least length [h].

    Returns
    -------
    (n_draws,) array
        Outages [1/yr].

    References
    ----------
    eia_epa2023 : rates and mean lengths; exponential lengths within each kind are judgement
    """
    return np.asarray(sum(outage_rates_by_kind_per_yr(outages, over_h)))
