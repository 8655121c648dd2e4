"""What may stand by a pump, and what a household says of itself: quantities of no storm.

They are keys of the home file as all others, but belong to no column of the draws: a home without a
second pump, a battery or a generator is answered as if nobody had thought of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from riskkit.quantities.part_states import part_states
from riskkit.quantities.variables import Variable, choices, variable_of
from riskkit.tables import load_table

__all__ = ["backup_choices", "backup_quantities"]


@cache
def backup_quantities() -> Mapping[str, Variable]:
    """Return every such quantity by its key, in the order of ``tables/backup.csv``.

    Returns
    -------
    mapping of str to Variable
        For example ``backup_quantities()["battery.capacity"]``.
    """
    return MappingProxyType({row["key"]: variable_of(row) for row in load_table("backup").rows})


@cache
def backup_choices() -> Mapping[str, Mapping[str, str]]:
    """Return the words that a home file chooses from, and what each means.

    Returns
    -------
    mapping of str to mapping of str to str
        Meaning by option by key, in the order of ``tables/backup_choices.csv``, and then the
        states of parts that set no quantity of the draws.
    """
    found: dict[str, dict[str, str]] = {}
    for row in load_table("backup_choices").rows:
        found.setdefault(row["choice"], {})[row["option"]] = row["words"]
    for key, options in part_states().items():
        if key not in choices():
            found[key] = {option: state.words for option, state in options.items()}
    return MappingProxyType(found)
