"""Fault trees of AND and OR gates: minimal cut sets, exact chance of the top event, importance.

A cut set is a set of events that together bring the top event; it is minimal where none can be left
out. The chance that at least one minimal cut set happens is exact, by Shannon's expansion: take an
event, and weigh the chance with it by its own chance and the chance without it by the rest. So
events that stand in several places of the tree are no trouble. Events are independent.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from types import MappingProxyType

import numpy as np

from riskkit.errors import InputError
from riskkit.records import FloatArray, need

__all__ = [
    "CutSets",
    "FaultTree",
    "Gate",
    "GateKind",
    "birnbaum_importance",
    "cut_set_chances",
    "fussell_vesely_importance",
    "minimal_cut_sets",
    "rare_event_bound",
    "top_chance",
]

CutSets = frozenset[frozenset[str]]
Chances = Mapping[str, FloatArray]


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
        self._below(self.top, ())

    def _below(self, name: str, path: tuple[str, ...]) -> frozenset[str]:
        if name not in self.gates:
            return frozenset({name})
        need(name not in path, f"gate {name}", "it stands below itself")
        below = (self._below(each, (*path, name)) for each in self.gates[name].inputs)
        return frozenset().union(*below)

    def events(self) -> frozenset[str]:
        """Return the basic events below the top.

        Returns
        -------
        frozenset of str
            Their names.
        """
        return self._below(self.top, ())


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


def _chance(sets: CutSets, chances: Chances, done: dict[CutSets, FloatArray]) -> FloatArray:
    """Chance that at least one of some minimal cut sets happens."""
    if not sets:
        return np.zeros(1)
    if frozenset() in sets:
        return np.ones(1)
    if sets not in done:
        counted = Counter(event for each in sets for event in each)
        event = min(counted, key=lambda one: (-counted[one], one))
        with_it = _absorbed(frozenset(each - {event} for each in sets))
        without = frozenset(each for each in sets if event not in each)
        yes, no = _chance(with_it, chances, done), _chance(without, chances, done)
        done[sets] = no + chances[event] * (yes - no)
    return done[sets]


def _checked(sets: CutSets, chances: Chances) -> dict[str, FloatArray]:
    events = frozenset().union(*sets)
    missing = sorted(events - chances.keys())
    if missing:
        raise InputError("fault tree", f"{', '.join(missing)} has no chance", "give one to each")
    found = {event: np.asarray(chances[event], dtype=np.float64) for event in events}
    for event, chance in found.items():
        need(bool(np.all((chance >= 0) & (chance <= 1))), event, "its chance is no share")
    return found


def top_chance(sets: CutSets, chances: Chances) -> FloatArray:
    """Chance of the top event from its minimal cut sets, exact for independent events.

    Parameters
    ----------
    sets : frozenset of frozenset of str
        Minimal cut sets.
    chances : mapping of str to (n_draws,) array
        Chance of each event [-].

    Returns
    -------
    (n_draws,) array
        Chance [-].

    Raises
    ------
    InputError
        Where an event has no chance.

    References
    ----------
    nasa_fta2002 : chance of the union of the minimal cut sets
    """
    return _chance(sets, _checked(sets, chances), {})


def cut_set_chances(sets: CutSets, chances: Chances) -> dict[frozenset[str], FloatArray]:
    """Chance of each minimal cut set, the product of its events, greatest mean first.

    Parameters
    ----------
    sets : frozenset of frozenset of str
        Minimal cut sets.
    chances : mapping of str to (n_draws,) array
        Chance of each event [-].

    Returns
    -------
    dict of frozenset of str to (n_draws,) array
        Chance of each [-].
    """
    known = _checked(sets, chances)
    each = {one: np.asarray(np.prod([known[e] for e in one], axis=0)) for one in _even(sets, known)}
    return dict(sorted(each.items(), key=lambda pair: (-pair[1].mean(), sorted(pair[0]))))


def _even(sets: CutSets, known: dict[str, FloatArray]) -> CutSets:
    """Give all chances one shape, so that they stack."""
    shape = np.broadcast_shapes(*(chance.shape for chance in known.values()))
    known.update({event: np.broadcast_to(chance, shape) for event, chance in known.items()})
    return sets


def rare_event_bound(sets: CutSets, chances: Chances) -> FloatArray:
    """Sum of the chances of the cut sets, never below the chance of the top event.

    Parameters
    ----------
    sets : frozenset of frozenset of str
        Minimal cut sets.
    chances : mapping of str to (n_draws,) array
        Chance of each event [-].

    Returns
    -------
    (n_draws,) array
        Upper bound, may exceed 1 [-].

    References
    ----------
    nasa_fta2002 : rare event approximation
    """
    return np.asarray(sum(cut_set_chances(sets, chances).values()))


def birnbaum_importance(sets: CutSets, chances: Chances) -> dict[str, FloatArray]:
    """Chance of the top event with an event less that without it, for each event.

    It is the derivative by the chance of the event, and the chance that the event decides.

    Parameters
    ----------
    sets : frozenset of frozenset of str
        Minimal cut sets.
    chances : mapping of str to (n_draws,) array
        Chance of each event [-].

    Returns
    -------
    dict of str to (n_draws,) array
        Importance of each event, by name [-].

    References
    ----------
    birnbaum1969 : derivative of the chance
    """
    known = _checked(sets, chances)
    one, none = np.ones(1), np.zeros(1)
    return {
        event: _chance(sets, {**known, event: one}, {}) - _chance(sets, {**known, event: none}, {})
        for event in sorted(known)
    }


def fussell_vesely_importance(sets: CutSets, chances: Chances) -> dict[str, FloatArray]:
    """Chance that a cut set with an event has happened, given that the top event has.

    Parameters
    ----------
    sets : frozenset of frozenset of str
        Minimal cut sets.
    chances : mapping of str to (n_draws,) array
        Chance of each event [-].

    Returns
    -------
    dict of str to (n_draws,) array
        Importance of each event, by name; they add up to more than one where cut sets are of
        several events; zero where the top event cannot happen [-].

    References
    ----------
    fussell1975 : share of the chance through cut sets with the event
    """
    known = _checked(sets, chances)
    top = _chance(sets, known, {})
    found = {}
    for event in sorted(known):
        through = _chance(frozenset(each for each in sets if event in each), known, {})
        found[event] = np.asarray(through / np.where(top > 0, top, 1.0))
    return found
