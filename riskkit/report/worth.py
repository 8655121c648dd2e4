"""What is worth measuring next: the quantities that the spread of the answer hangs on most.

Nothing is tried again quantity by quantity. The draws of the answer already differ in everything
that is not known for sure, so they tell which quantity goes with the time to flood.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import rankdata

from riskkit.antecedent.textures import soil_weights
from riskkit.ensemble.draws import draw_homes
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import variable
from riskkit.tables import load_table

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.records import FloatArray

__all__ = [
    "SOIL",
    "Worth",
    "how_to_settle",
    "quantity_words",
    "worth_measuring",
    "worth_words",
]

SOIL = "ground.soil"
"""The one thing drawn that is no number: the texture of the ground."""
_TENTH = 0.095  # from here on a share is a tenth or more when rounded
_SURE = 3.0  # standard errors of a rank correlation, below which it may be chance


@dataclass(frozen=True)
class Worth:
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


def worth_measuring(answer: Assessment) -> tuple[Worth, ...]:
    """Find the quantities not yet measured that decide most how long it takes.

    Shares of quantities that go together, such as wetness and water table, overlap; what only
    matters together with something else, or up and down by turns, is missed.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of Worth
        Those beyond chance, the greatest first; empty where all draws are alike.
    """
    homes = draw_homes(answer.home, answer.settings.n_draws, answer.settings.seed, answer.before)
    times = answer.headline_storm.worst_by_draw_s
    drawn = {
        row.key: homes[variable(row.key).name]
        for row in answer.assumptions
        if row.basis is not Basis.MEASURED
    }
    textures = list(soil_weights(answer.home))  # from coarse to fine
    drawn[SOIL] = np.array([textures.index(soil) for soil in homes.soil], dtype=np.float64)
    shares = {key: _shared(values, times) for key, values in drawn.items()}
    least = _SURE**2 / (homes.n_draws - 1)
    found = [Worth(key, share) for key, share in shares.items() if share > least]
    return tuple(sorted(found, key=lambda worth: -worth.share))


def worth_words(answer: Assessment) -> str:
    """Name the one measurement that would narrow the answer most.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        One sentence; empty where nothing that can be measured decides a tenth of the spread.
    """
    for worth in worth_measuring(answer):
        how = how_to_settle(worth.key)
        if how and worth.share >= _TENTH:
            return f"Worth most to find out next: {quantity_words(worth.key)} ({how})."
    return ""


def quantity_words(key: str) -> str:
    """Name something drawn.

    Parameters
    ----------
    key : str
        Section and key of the home file, or `SOIL`.

    Returns
    -------
    str
        A phrase without article.
    """
    return "soil of the ground" if key == SOIL else variable(key).words


def _shared(values: FloatArray, times: FloatArray) -> float:
    """Square of the rank correlation; 0 where one of both is the same in all draws or not used."""
    if not np.isfinite(values).all() or np.ptp(values) == 0 or (times == times[0]).all():
        return 0.0
    return float(np.corrcoef(rankdata(values), rankdata(times))[0, 1] ** 2)


def how_to_settle(key: str) -> str:
    """Say how a quantity is settled at a home.

    Parameters
    ----------
    key : str
        Section and key of the home file, of a quantity that is drawn or of the soil.

    Returns
    -------
    str
        A few words; empty where no visit can settle it.

    Raises
    ------
    KeyError
        Where the key is none of these.
    """
    rows = {row["key"]: row["words"] for row in load_table("measuring").rows}
    return rows[key]
