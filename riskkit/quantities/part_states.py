"""States in which a part of the system may be, and what each does to flow and levels in the pit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from types import MappingProxyType

from riskkit.quantities.variables import Spread, spread_of_row
from riskkit.tables import load_table

__all__ = ["PartState", "StateEffect", "part_states", "sound_option"]


class StateEffect(Enum):
    """What a state changes in the pit."""

    NONE = "none"
    FLOW = "flow"  # share of the flow of the pump that still passes
    START = "start"  # by how much higher the water stands when the pump starts


@dataclass(frozen=True)
class PartState:
    """One state of one part.

    Parameters
    ----------
    choice : str
        Section and key of the home file.
    option : str
        Its word there.
    effect : StateEffect
        What it changes.
    spread : Spread or None
        By how much, a share of the flow [-] or a height [m]; None where it changes nothing.
    fault : str
        Code of ``tables/faults.csv``; empty for a sound part.
    check : str
        Check of ``tables/visit_checks.csv`` whose "no" finds it; empty where none does.
    words : str
        What it means.
    """

    choice: str
    option: str
    effect: StateEffect
    spread: Spread | None
    fault: str
    check: str
    words: str


@cache
def part_states() -> Mapping[str, Mapping[str, PartState]]:
    """Return every state by part and option, in the order of ``tables/part_states.csv``.

    Returns
    -------
    mapping of str to mapping of str to PartState
        For example ``part_states()["pump.inlet"]["clogged"]``.
    """
    found: dict[str, dict[str, PartState]] = {}
    for row in load_table("part_states").rows:
        effect, spread = StateEffect(row["effect"]), None
        if effect is not StateEffect.NONE:
            spread = spread_of_row(row)
        found.setdefault(row["choice"], {})[row["option"]] = PartState(
            row["choice"], row["option"], effect, spread, row["fault"], row["check"], row["words"]
        )
    return MappingProxyType({key: MappingProxyType(each) for key, each in found.items()})


def sound_option(choice: str) -> str:
    """Return the word that says that a part is in order.

    Parameters
    ----------
    choice : str
        Section and key of the home file.

    Returns
    -------
    str
        The first option of the table.

    Examples
    --------
    >>> sound_option("pipe.check_valve"), sound_option("switch.float")
    ('works', 'free')
    """
    return next(iter(part_states()[choice]))
