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
def _is_row_before(values: FloatArray | IntArray, d: int) -> bool:
    """Whether a row holds the same as the row before it."""
    for m in range(values.shape[1]):  # noqa: SIM110 - numba compiles no generators
        if values[d, m] != values[d - 1, m]:
            return False
    return True


@compiled(**OPTIONS)
def is_same_home(v: Vessels, d: int) -> bool:
    """Whether a row is of the home of the row before it; only water and storm are others."""
    return bool(
        v.conductance[d] == v.conductance[d - 1]
        and _is_row_before(v.in_level, d)
        and _is_row_before(v.in_area, d)
        and _is_row_before(v.out_level, d)
        and _is_row_before(v.steady, d)
        and _is_row_before(v.out_area, d)
        and _is_row_before(v.store_s, d)
        and _is_row_before(v.store_area, d)
        and _is_row_before(v.marks, d)
    )


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
