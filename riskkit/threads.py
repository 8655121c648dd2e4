"""Threads that share out homes, storms, and the draws of compiled loops.

The loops release the interpreter, so that what one home needs of it runs beside the loops of
another. Work that nobody waits for stands back between two parts while other work goes first: it
holds no lock there that the other may ask for, and what is called off or broken off ends at once,
for a thread that goes first may be the one that waits for its end.
"""

from __future__ import annotations

import os
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from contextvars import Context, ContextVar, copy_context
from functools import cache
from typing import Any, Generic, Self, TypeVar, overload

from riskkit.errors import RiskkitWarning, collect_warnings

__all__ = [
    "at_once",
    "going_first",
    "quick_hand_over",
    "share_out",
    "standing_back",
    "worked_out_once",
]

_Part = TypeVar("_Part")
_Thing = TypeVar("_Thing")
_Result = TypeVar("_Result")
_MOST_DRAWS = 1024  # of each home: more fill the processors and the memory by themselves
_IS_SHARED: ContextVar[bool] = ContextVar("one of several things at once", default=False)
_HAND_OVER_S = 0.0005
_USUAL_S: list[float] = []  # one for each that asks for quicker hand-overs, what it was before
_USUAL_LOCK = threading.Lock()
_ASK_AGAIN_S = 0.02  # whether work that stands back is wanted still
_CLEAR = threading.Event()  # set while nothing goes first
_CLEAR.set()
_ASKED: ContextVar[Callable[[], None] | None] = ContextVar("asked between parts", default=None)


class _BrokenOffError(Exception):
    """Nobody takes the result any more."""


@contextmanager
def going_first() -> Iterator[None]:
    """Let all work that stands back wait meanwhile; one thread of a process may ask for it.

    Yields
    ------
    None
        While the other work waits.
    """
    was_clear = _CLEAR.is_set()
    _CLEAR.clear()
    try:
        yield
    finally:
        if was_clear:
            _CLEAR.set()


@contextmanager
def quick_hand_over() -> Iterator[None]:
    """Let the threads of this process hand over to each other sooner, while any work asks for it.

    The interval is one for the whole interpreter, so the last that asks puts back what it was.

    Yields
    ------
    None
        While they do.
    """
    with _USUAL_LOCK:
        _USUAL_S.append(_USUAL_S[0] if _USUAL_S else sys.getswitchinterval())
        sys.setswitchinterval(_HAND_OVER_S)
    try:
        yield
    finally:
        with _USUAL_LOCK:
            usual_s = _USUAL_S.pop()
            if not _USUAL_S:
                sys.setswitchinterval(usual_s)


@contextmanager
def standing_back(ask: Callable[[], None]) -> Iterator[None]:
    """Let the work of this thread wait while other work goes first.

    Parameters
    ----------
    ask : callable
        Called before every part of a loop; it may raise, to call the work off.

    Yields
    ------
    None
        While it stands back.
    """
    token = _ASKED.set(ask)
    try:
        yield
    finally:
        _ASKED.reset(token)


class worked_out_once(Generic[_Result]):  # noqa: N801 - written as a decorator
    """A property that is worked out when it is first asked for, and kept in its object.

    That of the standard library holds one lock for all objects of a class in Python 3.11: work that
    stands back in it would keep the work that goes first from the property of another object, and
    both would wait for ever. Here nothing is held; two threads at once work out the same twice.

    Parameters
    ----------
    work : callable
        What works it out of its object.
    """

    def __init__(self, work: Callable[[Any], _Result]) -> None:
        self._work, self._name, self.__doc__ = work, work.__name__, work.__doc__

    @overload
    def __get__(self, thing: None, kind: type) -> Self: ...
    @overload
    def __get__(self, thing: object, kind: type) -> _Result: ...
    def __get__(self, thing: object | None, kind: type) -> Self | _Result:
        if thing is None:
            return self
        # the first to be there stays, so that all get one object
        result: _Result = vars(thing).setdefault(self._name, self._work(thing))
        return result


def at_once(
    work: Callable[[_Thing], _Result], things: Iterable[_Thing], n_draws: int
) -> Iterator[_Result]:
    """Work on several homes or storms at once, a thread for each processor.

    Where whoever takes the results breaks off, nothing more is begun, and what stands back ends.
    What is warned of is said in the order of the things, in the thread that takes the results.

    Parameters
    ----------
    work : callable
        What to do with each. What it works on at once in turn is done one after the other.
    things : iterable
        What to work on.
    n_draws : int
        Draws of each home; where they are many the things come one after the other [-].

    Yields
    ------
    object
        Results, in the order of the things.
    """
    if _IS_SHARED.get() or n_draws > _MOST_DRAWS:
        yield from map(work, things)
        return

    ask, over = _ASKED.get(), threading.Event()

    def asked() -> None:
        if over.is_set():
            raise _BrokenOffError
        if ask is not None:
            ask()

    def one(place: Context, thing: _Thing) -> tuple[_Result, list[str]]:
        with collect_warnings() as notes:
            place.run(_IS_SHARED.set, True)
            if ask is not None:
                place.run(_ASKED.set, asked)
            return place.run(work, thing), notes

    pool = ThreadPoolExecutor(os.cpu_count() or 1)
    try:
        each = list(things)
        for result, notes in pool.map(one, [copy_context() for _ in each], each):
            for note in notes:
                warnings.warn(note, RiskkitWarning, stacklevel=2)
            yield result
    finally:
        over.set()
        pool.shutdown(cancel_futures=True)


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
                while not _CLEAR.wait(_ASK_AGAIN_S):
                    ask()
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
