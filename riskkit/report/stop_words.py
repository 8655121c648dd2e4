"""Which pumps stand still in the storm of the answer: the pump, or both where there are two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.home.backup import backup_of
from riskkit.risk.system_state import Fault, system_state

if TYPE_CHECKING:
    from riskkit.home.home import Home

__all__ = ["has_second_pump", "stop_words", "stopped_words"]


def has_second_pump(home: Home) -> bool:
    """Tell whether a second pump stands by that works, which the minutes of the answer do without.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    bool
        Whether the home file tells of one, and no visit left it out of order.
    """
    fails = Fault.SECOND_PUMP_NO_START in system_state(home).faults
    return backup_of(home).runs_on is not None and not fails


def stop_words(home: Home | None) -> str:
    """Say what stops.

    Parameters
    ----------
    home : Home or None
        The home; None where it is told of any.

    Returns
    -------
    str
        A clause, for after "if".
    """
    both = home is not None and has_second_pump(home)
    return "both pumps stop" if both else "the pump stops"


def stopped_words(home: Home | None) -> str:
    """Say what stands still.

    Parameters
    ----------
    home : Home or None
        The home; None where it is told of any.

    Returns
    -------
    str
        For after "with".
    """
    both = home is not None and has_second_pump(home)
    return "both pumps stopped" if both else "the pump stopped"
