"""Fault trees of AND and OR gates, and their minimal cut sets.

A cut set is a set of events that together bring the top event; it is minimal where none can be left
out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from types import MappingProxyType

from riskkit.records import need

__all__ = ["CutSets", "FaultTree", "Gate", "GateKind", "minimal_cut_sets"]

CutSets = frozenset[frozenset[str]]


class GateKind(StrEnum):
    """What a gate asks of its inputs."""

    AND = "and"
    OR = "or"


@dataclass(frozen=True)
class Gate:
    """A gate: all of its inputs, or one of them.

    Parameters
    ----------
    kind : GateKind
        What it asks.
    inputs : tuple of str
        Names of gates and events.
    """

    kind: GateKind
    inputs: tuple[str, ...]


@dataclass(frozen=True)
class FaultTree:
    """Gates by name below a top event; what is no gate is a basic event.

    Parameters
    ----------
    top : str
        Name of the gate at the top.
    gates : mapping of str to Gate
        All gates by name.
    """

    top: str
    gates: Mapping[str, Gate]

    def __post_init__(self) -> None:
        object.__setattr__(self, "gates", MappingProxyType(dict(self.gates)))
        need(self.top in self.gates, "fault tree", f"{self.top!r} is no gate of it")
        for name, gate in self.gates.items():
            need(bool(gate.inputs), f"gate {name}", "it has no inputs")
        self._look_below(self.top, ())

    def _look_below(self, name: str, path: tuple[str, ...]) -> None:
        need(name not in path, f"gate {name}", "it stands below itself")
        for each in self.gates[name].inputs if name in self.gates else ():
            self._look_below(each, (*path, name))


def _absorbed(sets: CutSets) -> CutSets:
    """Drop each set that holds another one."""
    least: list[frozenset[str]] = []
    for each in sorted(sets, key=len):
        if not any(smaller <= each for smaller in least):
            least.append(each)
    return frozenset(least)


def minimal_cut_sets(tree: FaultTree, name: str | None = None) -> CutSets:
    """Minimal cut sets of the top event, or of a gate below it.

    Parameters
    ----------
    tree : FaultTree
        The tree.
    name : str or None
        Gate or event; the top where none is given.

    Returns
    -------
    frozenset of frozenset of str
        Events that suffice together.

    References
    ----------
    nasa_fta2002 : minimal cut sets, from the bottom up
    """
    name = tree.top if name is None else name
    if name not in tree.gates:
        return frozenset({frozenset({name})})
    gate = tree.gates[name]
    below = [minimal_cut_sets(tree, each) for each in gate.inputs]
    if gate.kind is GateKind.OR:
        return _absorbed(frozenset().union(*below))
    return _absorbed(frozenset(frozenset().union(*chosen) for chosen in product(*below)))
