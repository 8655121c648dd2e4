"""What rows of the joined vessels have in common.

`_follow` is the loop, `vessels` the public side.
"""

from __future__ import annotations

from riskkit.compiled import compiled
from riskkit.pit._bands import OPTIONS
from riskkit.pit._footing import Vessels
from riskkit.records import FloatArray, IntArray

__all__ = ["is_same_home", "join_steps"]


@compiled(**OPTIONS)
def is_same_home(v: Vessels, d: int) -> bool:
    """Whether a row is of the home of the row before it; only water and storm are others."""
    for m in range(v.in_level.shape[1]):
        if v.in_level[d, m] != v.in_level[d - 1, m]:
            return False
    for m in range(v.in_area.shape[1]):
        if v.in_area[d, m] != v.in_area[d - 1, m]:
            return False
    for m in range(v.out_level.shape[1]):
        if v.out_level[d, m] != v.out_level[d - 1, m] or v.steady[d, m] != v.steady[d - 1, m]:
            return False
    for m in range(v.out_area.shape[1]):
        if v.out_area[d, m] != v.out_area[d - 1, m]:
            return False
    for m in range(v.store_s.shape[1]):
        if v.store_s[d, m] != v.store_s[d - 1, m] or v.store_area[d, m] != v.store_area[d - 1, m]:
            return False
    for m in range(v.marks.shape[1]):
        if v.marks[d, m] != v.marks[d - 1, m]:
            return False
    return bool(v.conductance[d] == v.conductance[d - 1])


@compiled(**OPTIONS)
def join_steps(
    flow: FloatArray, step_s: FloatArray, edges: IntArray, first: int, mean: FloatArray
) -> None:
    """Fill the mean flow of steps that are joined from one edge to the next, from a column on."""
    for d in range(flow.shape[0]):
        for k in range(edges.size - 1):
            if edges[k + 1] == edges[k] + 1:
                mean[d, first + k] = flow[d, edges[k]]
            else:
                volume = length = 0.0
                for j in range(edges[k], edges[k + 1]):
                    volume += flow[d, j] * step_s[j]
                    length += step_s[j]
                mean[d, first + k] = volume / length
