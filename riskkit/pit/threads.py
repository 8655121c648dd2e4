"""How the draws of the compiled loops are shared between threads, and their arrays handed over."""

from __future__ import annotations

import os
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from riskkit.threads import share_out

__all__ = ["share_draws", "still"]

# Below some thousand steps a thread costs more than it brings
_LEAST_STEPS = 20_000


def still(values: NDArray[np.generic]) -> NDArray[np.generic]:
    """Return a contiguous and read-only view: the compiled loops meet one type of array only.

    Parameters
    ----------
    values : array
        Any array; it stays as it is [any].

    Returns
    -------
    array
        The same values [any].
    """
    view = np.ascontiguousarray(values).view()
    view.flags.writeable = False
    return view


def share_draws(
    work: Callable[[int, int], None],
    n_draws: int,
    n_each: int,
    chunk: int,
    workers: int | None = None,
) -> None:
    """Run chunks of draws in threads; the compiled loops let go of the interpreter.

    Parameters
    ----------
    work : callable
        Runs the draws from a first one to a last, which is not run.
    n_draws : int
        Number of draws [-].
    n_each : int
        About how many steps each takes [-].
    chunk : int
        Draws of a call: enough to hide the call, few enough to share out evenly [-].
    workers : int, optional
        Threads; as many as there are processors when left out [-].
    """
    if workers is None:
        workers = os.cpu_count() or 1
    bounds = range(0, n_draws, chunk)
    parts = [(first, min(first + chunk, n_draws)) for first in bounds]
    if workers < 2 or len(bounds) < 2 or n_draws * n_each < _LEAST_STEPS:
        parts = [(0, n_draws)]
    share_out(lambda part: work(*part), parts, min(workers, len(parts)))
