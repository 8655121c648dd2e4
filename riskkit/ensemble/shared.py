"""What homes that are looked at together share of their draws: the ground, and the rain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from riskkit.quantities.variables import variables
from riskkit.tables import load_table

__all__ = ["RAIN_COLUMN", "SOIL_COLUMN", "Seeds", "seeds_of", "shared_columns"]

SOIL_COLUMN, RAIN_COLUMN = 47, 49
"""Columns of the draws for the texture of the ground and for the depths of rain."""


@dataclass(frozen=True)
class Seeds:
    """Seeds of a home among others, which share what lies around them.

    Columns of a Sobol sequence are scrambled one by one, so that columns of different seeds still
    fill the space evenly.

    Parameters
    ----------
    own : int
        Of what belongs to the home alone [-].
    ground : int
        Of the columns that a neighbourhood shares [-].
    rain : int
        Of the columns that all homes under one rain table share [-].
    """

    own: int
    ground: int
    rain: int


def seeds_of(seed: int | Seeds) -> Seeds:
    """Return the seeds of a home; one seed stands for all three.

    Parameters
    ----------
    seed : int or Seeds
        As given [-].

    Returns
    -------
    Seeds
        The seeds.
    """
    return seed if isinstance(seed, Seeds) else Seeds(seed, seed, seed)


@cache
def shared_columns() -> Mapping[str, tuple[int, ...]]:
    """Return which columns of the draws homes share.

    Returns
    -------
    mapping of str to tuple of int
        By what is shared, ``"ground"`` or ``"rain"``.
    """
    found: dict[str, list[int]] = {"ground": [SOIL_COLUMN], "rain": [RAIN_COLUMN]}
    for row in load_table("shared_draws").rows:
        column = variables()[row["key"]].column
        if column is None:
            raise ValueError(f"{row['key']} of shared_draws.csv is not drawn")
        found[row["shared"]].append(column)
    return {name: tuple(columns) for name, columns in found.items()}
