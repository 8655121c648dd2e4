"""What water on the basement floor costs: one of two published families, or the user's own figure.

The families differ about tenfold where the water is shallow, and nobody knows which is right for a
home. So they are never blended: a loss says its family, currency and price year, and only losses of
one kind can be put together.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import OutOfRangeWarning
from riskkit.records import FloatArray, freeze_arrays, need
from riskkit.tables import load_table

__all__ = [
    "Loss",
    "LossFamily",
    "LossPart",
    "alberta_loss",
    "alberta_loss_per_m2",
    "egm_loss",
    "egm_loss_share",
    "own_loss",
]


class LossFamily(StrEnum):
    """Where a loss comes from."""

    EGM_04_01 = "egm0401"
    ALBERTA = "alberta2015"
    OWN = "own"


class LossPart(StrEnum):
    """What is damaged."""

    STRUCTURE = "structure"
    CONTENTS = "contents"


@dataclass(frozen=True)
class Loss:
    """An amount of money with what it is counted in.

    Parameters
    ----------
    amount : (n_draws,) array
        Loss of one flood [money].
    currency : str
        Code of three letters.
    price_year : int
        Year of the prices [yr].
    family : LossFamily
        Where it comes from.
    """

    amount: FloatArray
    currency: str
    price_year: int
    family: LossFamily

    def __post_init__(self) -> None:
        freeze_arrays(self)
        need(len(self.currency) == 3, "currency", "it is not a code of three letters", "write USD")
        need(bool(np.all(self.amount >= 0)), "loss", "it is below zero")


def _by_depth(family: LossFamily, part: LossPart, depth_m: ArrayLike) -> list[FloatArray]:
    """Least and greatest loss of the table at a depth; zero where there is no water."""
    rows = [
        row
        for row in load_table("depth_damage").rows
        if row["family"] == family and row["part"] == part
    ]
    known = np.array([float(row["depth"]) for row in rows])
    depth = np.asarray(depth_m, dtype=np.float64)
    wet = depth > 0
    outside = wet & ((depth < known[0]) | (depth > known[-1]))
    if np.any(outside):
        at = f"{np.min(depth[outside]):g} to {np.max(depth[outside]):g} m"
        span = f"{known[0]:g} to {known[-1]:g} m"
        text = f"losses are known for depths of {span}, not of {at}: its nearest end is taken"
        warnings.warn(text, OutOfRangeWarning, stacklevel=3)
    ends = ([float(row[column]) for row in rows] for column in ("low", "high"))
    return [np.where(wet, np.interp(depth, known, end), 0.0) for end in ends]


def egm_loss_share(depth_m: ArrayLike, part: LossPart) -> FloatArray:
    """Loss as a share of the value of the structure, one storey with basement.

    Straight between the depths of the table. Contents too are a share of the structure's value.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Water above the basement floor, up to 1 [m].
    part : LossPart
        Structure or contents.

    Returns
    -------
    (n_draws,) array
        Share of the value of the structure; 0 where there is no water [-].

    Warns
    -----
    OutOfRangeWarning
        Where water is deeper than the table.

    References
    ----------
    egm0401 : one-storey home with basement
    """
    return _by_depth(LossFamily.EGM_04_01, part, depth_m)[0] / 100


def egm_loss(depth_m: ArrayLike, value: ArrayLike, currency: str, price_year: int) -> Loss:
    """Loss of structure and contents together by the first family.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Water above the basement floor [m].
    value : (n_draws,) array
        Value of the structure [money].
    currency : str
        Currency of the value.
    price_year : int
        Year of the value [yr].

    Returns
    -------
    Loss
        In the currency and year of the value.

    References
    ----------
    egm0401 : one-storey home with basement
    """
    share = sum(egm_loss_share(depth_m, part) for part in LossPart)
    return Loss(np.asarray(share * np.asarray(value)), currency, price_year, LossFamily.EGM_04_01)


def alberta_loss_per_m2(depth_m: ArrayLike, part: LossPart, between: ArrayLike = 0.5) -> FloatArray:
    """Loss of a finished basement per floor area, Canadian dollars of 2014.

    The table gives a least and a greatest value by kind of home and begins at 0.1 m; shallower
    water counts as 0.1 m, with a warning, for carpets and plasterboard are lost at once.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Water above the basement floor, 0.1 to 1 [m].
    part : LossPart
        Structure or contents.
    between : (n_draws,) array
        Place between the least (0) and the greatest value (1) [-].

    Returns
    -------
    (n_draws,) array
        Loss; 0 where there is no water [CAD/m2].

    Warns
    -----
    OutOfRangeWarning
        Where water is shallower or deeper than the table.

    References
    ----------
    alberta2015 : finished basement
    """
    place = np.asarray(between, dtype=np.float64)
    need(bool(np.all((place >= 0) & (place <= 1))), "place", "it is not a share", "give 0 to 1")
    low, high = _by_depth(LossFamily.ALBERTA, part, depth_m)
    return np.asarray(low + place * (high - low))


def alberta_loss(depth_m: ArrayLike, area_m2: ArrayLike, between: ArrayLike = 0.5) -> Loss:
    """Loss of structure and contents together by the second family.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Water above the basement floor [m].
    area_m2 : (n_draws,) array
        Finished area [m2].
    between : (n_draws,) array
        Place between the least (0) and the greatest value (1) [-].

    Returns
    -------
    Loss
        In Canadian dollars of 2014.

    References
    ----------
    alberta2015 : finished basement
    """
    each = sum(alberta_loss_per_m2(depth_m, part, between) for part in LossPart)
    return Loss(np.asarray(each * np.asarray(area_m2)), "CAD", 2014, LossFamily.ALBERTA)


def own_loss(depth_m: ArrayLike, amount: ArrayLike, currency: str, price_year: int) -> Loss:
    """Loss by the user's own figure, the same for any water on the floor.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Water above the basement floor [m].
    amount : (n_draws,) array
        What a flood costs [money].
    currency : str
        Its currency.
    price_year : int
        Its year [yr].

    Returns
    -------
    Loss
        The figure where there is water.
    """
    wet = np.asarray(depth_m, dtype=np.float64) > 0
    return Loss(np.where(wet, amount, 0.0), currency, price_year, LossFamily.OWN)
