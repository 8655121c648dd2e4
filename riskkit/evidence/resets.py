"""What was seen of a part does not count any more when a later visit changed that part."""

from __future__ import annotations

import datetime

from riskkit.home.changed_parts import ChangedPart, changed_part
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
    told = observation_kinds()[kind]["parts"]
    parts = {ChangedPart(part) for part in told.split(";")} if told else set()
    changed = (
        name
        for visit in home.visit
        if visit.date > date
        for name in visit.parts
        if changed_part(name) in parts
    )
    return next(changed, "")
