"""Sensitivity of the answer: the quantities that the spread of the time to flood hangs on most.

Nothing is tried again quantity by quantity. The draws of the answer already differ in everything
that is not known for sure, so they tell which quantity goes with the time to flood.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.ensemble.draws import Assumption
from riskkit.home.samples import HomeSamples
from riskkit.quantities.distributions import rank_correlation
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import variable
from riskkit.records import FloatArray

__all__ = ["SOIL", "Sensitivity", "sensitivities"]

SOIL = "ground.soil"
"""The one thing drawn that is not a number: the texture of the ground."""
_SURE = 3.0  # standard errors of a rank correlation, below which it may be chance


@dataclass(frozen=True)
class Sensitivity:
    """How much the answer hangs on one quantity.

    Parameters
    ----------
    key : str
        Section and key of the home file.
    share : float
        Part of the spread of the time to flood that goes with it: the square of their rank
        correlation [-].
    """

    key: str
    share: float


def sensitivities(
    homes: HomeSamples,
    assumptions: tuple[Assumption, ...],
    textures: tuple[str, ...],
    to_floor_s: FloatArray,
) -> tuple[Sensitivity, ...]:
    """Find the quantities not yet measured that decide most how long it takes.

    Shares of quantities that go together, such as wetness and water table, overlap; what only
    matters together with something else, or up and down by turns, is missed.

    Parameters
    ----------
    homes : HomeSamples
        The draws of the home.
    assumptions : tuple of Assumption
        What was taken for every quantity.
    textures : tuple of str
        Those that the ground may have, from coarse to fine.
    to_floor_s : (n_draws,) array
        Time to water on the floor of each draw; infinite for never [s].

    Returns
    -------
    tuple of Sensitivity
        Those beyond chance, the greatest first; empty where all draws are alike.

    References
    ----------
    judgement : three standard errors of a rank correlation are beyond chance
    """
    drawn = {
        row.key: homes[variable(row.key).name]
        for row in assumptions
        if row.basis is not Basis.MEASURED
    }
    drawn[SOIL] = np.array([textures.index(soil) for soil in homes.soil], dtype=np.float64)
    shares = {key: _shared(values, to_floor_s) for key, values in drawn.items()}
    least = _SURE**2 / (homes.n_draws - 1)
    found = [Sensitivity(key, share) for key, share in shares.items() if share > least]
    return tuple(sorted(found, key=lambda one: -one.share))


def _shared(values: FloatArray, times: FloatArray) -> float:
    """Square of the rank correlation; 0 where one of both is the same in all draws or not used."""
    if not np.isfinite(values).all() or np.ptp(values) == 0 or (times == times[0]).all():
        return 0.0
    return rank_correlation(values, times) ** 2
