"""Threads that share out the draws of compiled loops, which release the interpreter.

Work that nobody waits for stands back between two parts while other work goes first.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from typing import TypeVar

__all__ = ["going_first", "share_out", "standing_back"]

_Part = TypeVar("_Part")
_CLEAR = threading.Event()  # set while nothing goes first
_CLEAR.set()
_ASKED: ContextVar[Callable[[], None] | None] = ContextVar("asked between parts", default=None)


@contextmanager
def going_first() -> Iterator[None]:
    """Let all work that stands back wait meanwhile; one thread of a process may ask for it."""
    was_clear = _CLEAR.is_set()
    _CLEAR.clear()
    try:
        yield
    finally:
        if was_clear:
            _CLEAR.set()


@contextmanager
def standing_back(ask: Callable[[], None]) -> Iterator[None]:
    """Let the work of this thread wait while other work goes first.

    Parameters
    ----------
    ask : callable
        Called before every part of a loop; it may raise, to call the work off.
    """
    token = _ASKED.set(ask)
    try:
        yield
    finally:
        _ASKED.reset(token)


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
    ask = _ASKED.get()

    def some() -> None:
        for part in waiting:
            work(part)
            if ask is not None and not _CLEAR.is_set():
                return  # this thread is wanted elsewhere

    beside: list[Future[None]] = [_helpers().submit(some) for _ in range(workers - 1)]
    try:
        for part in waiting:
            if ask is not None:
                _CLEAR.wait()
                ask()
            work(part)
    finally:
        for _ in waiting:  # of work that is called off nothing is left to take
            pass
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
