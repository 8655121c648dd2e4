"""Chance of a top event from minimal cut sets, exactly: what the chance of a year is held against.

Shannon's expansion: take an event, and weigh the chance with it by its own chance and the chance
without it by the rest. So events that stand in several places of the tree are no trouble. Events
are independent.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import numpy as np

from riskkit.records import FloatArray
from riskkit.reliability.fault_tree import CutSets


def top_chance(
    sets: CutSets, chances: Mapping[str, FloatArray], done: dict[CutSets, FloatArray] | None = None
) -> FloatArray:
    """Chance that all events of at least one set happen, draw by draw [-]."""
    if frozenset() in sets:
        return np.ones(1)
    if not sets:
        return np.zeros(1)
    done = {} if done is None else done
    if sets not in done:
        counted = Counter(event for each in sets for event in each)
        event = min(counted, key=lambda one: (-counted[one], one))
        without = frozenset(each for each in sets if event not in each)
        with_it = _least(frozenset(each - {event} for each in sets))
        yes, no = top_chance(with_it, chances, done), top_chance(without, chances, done)
        done[sets] = chances[event] * yes + (1 - chances[event]) * no
    return done[sets]


def _least(sets: CutSets) -> CutSets:
    """Drop each set that holds another one."""
    return frozenset(each for each in sets if not any(other < each for other in sets))
