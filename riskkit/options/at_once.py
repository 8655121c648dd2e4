"""Several homes worked out at once."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextvars import Context, copy_context
from typing import TypeVar

__all__ = ["at_once"]

_Thing = TypeVar("_Thing")
_Result = TypeVar("_Result")


_MOST_DRAWS = 1024  # of each home: more fill the processors and the memory by themselves


def at_once(
    work: Callable[[_Thing], _Result], things: Iterable[_Thing], n_draws: int
) -> Iterator[_Result]:
    """Work on several homes at once, a thread for each processor.

    The loops over draws let go of the interpreter, so that what one home needs of it runs beside
    the loops of another. Where whoever takes the results breaks off, nothing more is begun.

    Parameters
    ----------
    work : callable
        What to do with each.
    things : iterable
        What to work on.
    n_draws : int
        Draws of each home; where they are many the homes come one after the other [-].

    Yields
    ------
    object
        Results, in the order of the things.
    """
    pool = ThreadPoolExecutor((os.cpu_count() or 1) if n_draws <= _MOST_DRAWS else 1)

    def in_place(place: Context, thing: _Thing) -> _Result:
        return place.run(work, thing)

    try:
        each = list(things)
        yield from pool.map(in_place, [copy_context() for _ in each], each)
    finally:
        pool.shutdown(cancel_futures=True)
