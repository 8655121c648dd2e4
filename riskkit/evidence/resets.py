"""What was seen of a part does not count any more when a later visit changed that part."""

from __future__ import annotations

import datetime

from riskkit.home.home import Home
from riskkit.home.observations import observation_kinds

__all__ = ["changed_since"]


def changed_since(home: Home, kind: str, date: datetime.date) -> str:
    """Return the part, of those that a kind of observation tells of, that was changed since.

    Parameters
    ----------
    home : Home
        The home with its visits.
    kind : str
        A row of ``tables/observations.csv``.
    date : date
        Day of the observation.

    Returns
    -------
    str
        As the visit has it; empty where none was.
    """
    parts = {name.strip() for name in observation_kinds()[kind]["parts"].split(";")}
    changed = (
        part
        for visit in home.visit
        if visit.date > date
        for part in visit.parts
        if part.strip().casefold() in parts
    )
    return next(changed, "")
