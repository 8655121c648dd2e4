"""What is most useful to measure next, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.quantities.variables import variable
from riskkit.risk.sensitivity import SOIL
from riskkit.tables import load_table

if TYPE_CHECKING:
    from riskkit.assessment import Assessment

__all__ = ["how_to_settle", "quantity_words", "to_measure_words"]

_TENTH = 0.095  # from here on a share is a tenth or more when rounded


def to_measure_words(answer: Assessment) -> str:
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
    for one in answer.sensitivities:
        how = how_to_settle(one.key)
        if how and one.share >= _TENTH:
            return f"Not known, and decides most: {quantity_words(one.key)} ({how})."
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
