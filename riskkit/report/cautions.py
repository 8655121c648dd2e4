"""What can hurt at this work, from one table: pages, sheets and terminal all say it from here."""

from __future__ import annotations

from riskkit.quantities.units import UnitSystem
from riskkit.tables import load_table

__all__ = ["cautions"]


def cautions(*places: str, system: UnitSystem = UnitSystem.US) -> tuple[str, ...]:
    """Return the cautions that belong to some places.

    Parameters
    ----------
    *places : str
        Places that ``tables/cautions.csv`` names, such as ``"sheet"`` or ``"rise_test"``.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        Each once, in the order of the table.

    Raises
    ------
    ValueError
        Where the table knows no such place: a caution must not go missing by a slip of the pen.

    Examples
    --------
    >>> cautions("unit")
    ('Unplug the unit before you open it.',)
    """
    rows = load_table("cautions").rows
    unknown = set(places) - {place for row in rows for place in row["where"].split()}
    if unknown:
        raise ValueError(f"cautions.csv knows no {', '.join(sorted(unknown))}")
    metric = system is UnitSystem.METRIC
    return tuple(
        (row["words_metric"] if metric else "") or row["words_us"]
        for row in rows
        if not set(places).isdisjoint(row["where"].split())
    )
