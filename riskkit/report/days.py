"""Days as people write them."""

from __future__ import annotations

import datetime

from riskkit.quantities.units import UnitSystem

__all__ = ["day_words"]


def day_words(day: datetime.date, system: UnitSystem) -> str:
    """Write a day as people do.

    Parameters
    ----------
    day : date
        The day.
    system : UnitSystem
        Where the reader is from.

    Returns
    -------
    str
        ``"April 14, 2026"`` or ``"14 April 2026"``.

    Examples
    --------
    >>> day_words(datetime.date(2026, 4, 14), UnitSystem.US)
    'April 14, 2026'
    """
    month = day.strftime("%B")
    if system is UnitSystem.US:
        return f"{month} {day.day}, {day.year}"
    return f"{day.day} {month} {day.year}"
