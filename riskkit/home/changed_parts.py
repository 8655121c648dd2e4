"""Which part of the system a visit changed, by what people call it."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from functools import cache

from riskkit.tables import load_table

__all__ = ["ChangedPart", "changed_part", "changed_parts"]


class ChangedPart(Enum):
    """A part whose change means something for what was seen before, or for its age."""

    PUMP = "pump"
    SWITCH = "switch"
    CHECK_VALVE = "check_valve"
    DISCHARGE_PIPE = "discharge_pipe"
    PIT = "pit"
    ALARM = "alarm"
    SECOND_PUMP = "second_pump"
    BATTERY = "battery"
    GENERATOR = "generator"


def changed_part(name: str) -> ChangedPart | None:
    """Return the part that a name is of.

    Parameters
    ----------
    name : str
        As a visit has it.

    Returns
    -------
    ChangedPart or None
        None for any other part, such as a gasket.

    Examples
    --------
    >>> changed_part("Sump pump")
    <ChangedPart.PUMP: 'pump'>
    """
    return _names().get(name.strip().casefold())


def changed_parts(names: Iterable[str]) -> frozenset[ChangedPart]:
    """Return the parts that some names are of.

    Parameters
    ----------
    names : iterable of str
        As a visit has them.

    Returns
    -------
    frozenset of ChangedPart
        Those that mean something.
    """
    return frozenset(part for name in names if (part := changed_part(name)) is not None)


@cache
def _names() -> dict[str, ChangedPart]:
    return {row["name"]: ChangedPart(row["part"]) for row in load_table("part_names").rows}
