"""Threads that share out the draws of compiled loops, which release the interpreter."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from functools import cache
from typing import TypeVar

__all__ = ["share_out"]

_Part = TypeVar("_Part")


def share_out(work: Callable[[_Part], None], parts: Iterable[_Part], workers: int) -> None:
    """Run compiled loops over parts of their arrays, in this thread and in others beside it.

    The others stay for the next time: to start a thread may take longer than a loop, above all on a
    machine that has other work.

    Parameters
    ----------
    work : callable
        Runs a part; it asks for no threads of its own.
    parts : iterable
        The parts, each run once.
    workers : int
        Threads at most, this one among them [-].
    """
    waiting = iter(tuple(parts))  # which threads may share

    def some() -> None:
        for part in waiting:
            work(part)

    beside: list[Future[None]] = [_helpers().submit(some) for _ in range(workers - 1)]
    try:
        some()
    finally:
        # one that has not begun when all is done has nothing to do
        begun = [each for each in beside if not each.cancel()]
        wait(begun)
    for each in begun:
        each.result()  # hands on its error


@cache
def _helpers() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(os.cpu_count() or 1, "riskkit-loops")


if hasattr(os, "register_at_fork"):  # threads do not go along into a process that is forked off
    os.register_at_fork(after_in_child=_helpers.cache_clear)
