"""What water on the floor, visits and remedies cost: the user's own figures, else invented ones.

A loss is the user's own figure for each flood, or that of one of two published families by the
depth of the water, never of both. Nothing is turned from one currency or price year into another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType

import numpy as np

from riskkit.errors import InputError, collect_warnings
from riskkit.failures.prices import Prices
from riskkit.failures.storms import HomeStorms
from riskkit.failures.yearly import Floods, storms_per_yr
from riskkit.home.home import Home
from riskkit.records import FloatArray, FrozenMapping, need
from riskkit.reliability.annual import annual_chance_of
from riskkit.reliability.loss import LossFamily, alberta_loss, egm_loss, own_loss
from riskkit.tables import load_table

__all__ = ["Costs", "RemedyCost", "costs_of", "loss_per_yr"]

_LEAST_M = 1e-3  # depth of any water on the floor


@dataclass(frozen=True)
class RemedyCost:
    """What a remedy costs.

    Parameters
    ----------
    once : float
        Paid at once [money].
    lasts_yr : float
        For so long [yr].
    upkeep_per_yr : float
        Paid every year besides [money/yr].
    is_invented : bool
        Whether the figure is the invented one.
    """

    once: float
    lasts_yr: float
    upkeep_per_yr: float
    is_invented: bool

    @property
    def per_yr(self) -> float:
        """Cost of a year, without interest [money/yr]."""
        return self.once / self.lasts_yr + self.upkeep_per_yr


@dataclass(frozen=True)
class Costs:
    """What things cost at a home, in one currency of one year.

    Parameters
    ----------
    prices : Prices
        Visits, repairs and a flood, with the currency.
    family : LossFamily
        Where the loss of a flood comes from.
    price_year : int or None
        Year of the prices; None where nobody says [yr].
    structure_value : float or None
        Value of the structure, for the first family [money].
    finished_m2 : float or None
        Finished area of the basement, for the second family [m2].
    own : mapping of str to float
        What remedies cost by the user's own figures [money].
    """

    prices: Prices = field(default_factory=Prices)
    family: LossFamily = LossFamily.OWN
    price_year: int | None = None
    structure_value: float | None = None
    finished_m2: float | None = None
    own: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "own", FrozenMapping(self.own))
        for key, amount in self.own.items():
            need(key in _rows(), f"costs.{key}", "there is no such remedy")
            need(amount >= 0, f"costs.{key}", "it is no amount of money")
        if self.family is LossFamily.EGM_04_01 and self.structure_value is None:
            what = "losses by this family are shares of the value of the house, and none is given"
            raise InputError("costs.loss", what, "give costs.structure_value")
        if self.family is LossFamily.ALBERTA and self.currency != "CAD":
            what = f"losses by this family are Canadian dollars of 2014, not {self.currency}"
            raise InputError("costs.loss", what, 'give all costs in "CAD", or use another family')
        if self.family is LossFamily.ALBERTA and self.finished_m2 is None:
            what = "losses by this family go by the finished area, and none is given"
            raise InputError("costs.loss", what, "give costs.finished_area")

    @property
    def currency(self) -> str:
        """Code of the currency."""
        return self.prices.currency

    def of_remedy(self, key: str, visit_every_yr: float) -> RemedyCost | None:
        """Return what a remedy costs.

        Parameters
        ----------
        key : str
            Its key; a change of one's own has none in the table.
        visit_every_yr : float
            Time between visits now; infinite for never [yr].

        Returns
        -------
        RemedyCost or None
            None where nobody knows: no own figure, and no invented one in this currency.
        """
        row, own = _rows().get(key), self.own.get(key)
        if row is None:
            return None
        upkeep_is_visit = row["upkeep"] == "visit"
        invented = own is None and not upkeep_is_visit
        if self.currency != "USD" and (invented or (not upkeep_is_visit and float(row["upkeep"]))):
            return None
        if upkeep_is_visit:
            upkeep = self.prices.of("visit") * max(0.0, 1 - 1 / visit_every_yr)
            invented = "visit" in self.prices.invented
        else:
            upkeep = float(row["upkeep"])
        once = float(row["usd"]) if own is None else own
        return RemedyCost(once, float(row["lasts"]), upkeep, invented)

    def of_flood(self, depth_m: FloatArray | None, shape: tuple[int, ...]) -> FloatArray:
        """Return what water on the floor costs once.

        Parameters
        ----------
        depth_m : (n_storms, n_draws) array or None
            Depth of the water in each storm, for a published family [m].
        shape : tuple of int
            Storms and draws.

        Returns
        -------
        (n_storms, n_draws) array
            Loss of a flood in each storm [money].

        References
        ----------
        egm0401 : one-storey home with basement
        alberta2015 : finished basement
        """
        year = self.price_year or 0
        if self.family is LossFamily.OWN:
            wet = np.ones(shape)
            return own_loss(wet, self.prices.of("flood"), self.currency, year).amount
        if depth_m is None:
            raise InputError("costs.loss", "losses go by a depth that was not looked for")
        wet = np.maximum(depth_m, _LEAST_M)
        with collect_warnings():  # shallower or deeper than the tables: their nearest end, as told
            if self.family is LossFamily.EGM_04_01:
                return egm_loss(wet, self.structure_value or 0.0, self.currency, year).amount
            return alberta_loss(wet, self.finished_m2 or 0.0).amount


@cache
def _rows() -> Mapping[str, Mapping[str, str]]:
    return MappingProxyType({row["key"]: row for row in load_table("remedy_costs").rows})


def costs_of(home: Home, prices: Prices | None = None) -> Costs:
    """Return what things cost at a home: as told now, else as in its file, else invented.

    Parameters
    ----------
    home : Home
        The home.
    prices : Prices, optional
        What is told now, before its file.

    Returns
    -------
    Costs
        In one currency.

    Raises
    ------
    InputError
        Where a family of losses lacks what it goes by, or a currency has no invented figures.
    """
    told = home.currency
    currency = prices.currency if prices is not None else told or "USD"
    same = (told or "USD") == currency  # beside another currency nothing of the file can stand

    def in_file(key: str) -> float | None:
        return home.cost(key) if same else None

    given = {}
    for key in Prices.names():
        now = None if prices is None else getattr(prices, key)
        given[key] = in_file(key) if now is None else now
    word = home.choice("costs.loss") if same else None
    family = LossFamily.OWN if word is None else LossFamily(word)
    if prices is not None and prices.flood is not None and in_file("flood") is None:
        family = LossFamily.OWN  # what is told now takes precedence over the file
    if family is not LossFamily.OWN:
        if given["flood"] is not None:
            what = "a flood has a price of its own and a published family besides"
            raise InputError("costs.loss", what, 'leave one out, or write loss = "own"')
        given["flood"] = 0.0  # never used
    area = home.quantity("costs.finished_area")
    own = {key: in_file(key) for key in _rows()}
    return Costs(
        prices=Prices(**given, currency=currency),
        family=family,
        price_year=home.price_year if same else None,
        structure_value=in_file("structure_value"),
        finished_m2=None if area is None else area.value,
        own={key: amount for key, amount in own.items() if amount is not None},
    )


def loss_per_yr(storms: HomeStorms, floods: Floods, costs: Costs) -> FloatArray:
    """Return the loss of a year; of several floods in a year one counts.

    Parameters
    ----------
    storms : HomeStorms
        The storms, with depths on the floor where a published family tells the loss.
    floods : Floods
        Chances given each storm, and floods of a year.
    costs : Costs
        What a flood costs.

    Returns
    -------
    (n_draws,) array
        Loss [money/yr].

    References
    ----------
    arithmetic : integral over the storms
    """
    one = costs.of_flood(storms.depth_m, floods.given_storm.shape)
    top = max(float(one.max()), 1e-12)
    in_storms = top * storms_per_yr(storms, floods.given_storm * one / top)
    in_dry = one[0] * np.asarray(sum(floods.dry_per_yr.values()))
    total = floods.total_per_yr
    per_flood = (in_storms + in_dry) / np.where(total > 0, total, 1.0)
    return np.asarray(annual_chance_of(total) * per_flood)
