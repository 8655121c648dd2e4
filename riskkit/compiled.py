"""Compiled loops whose cache on disk follows a change of any of them.

numba keeps what it compiled beside the source and looks only at the file of the function itself: a
change of another function that was compiled into it is not seen. Here all loops of a folder are
forgotten as soon as one of its files of loops, ``_*.py``, is another one. Such a file imports
nothing else of this package, but for types.

numba also numbers the files of its cache without a lock: of two processes that compile at the same
time, such as the kernels of two pages, one could be given the code of the other. Here one waits.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from numba import njit

from riskkit.files import locked

__all__ = ["OneAtATime", "compiled"]

_Result = TypeVar("_Result")
_MARK = "loops-in-cache.txt"


def compiled(**options: Any) -> Callable[[Callable[..., _Result]], Callable[..., _Result]]:
    """Compile a function with numba when it is first called, or take it from the cache.

    The loops release the interpreter, so that threads run side by side.

    Parameters
    ----------
    **options : Any
        Further options of ``numba.njit``.

    Returns
    -------
    callable
        The decorator.
    """

    def decorate(function: Callable[..., _Result]) -> Callable[..., _Result]:
        dispatcher = njit(cache=True, nogil=True, **options)(function)
        if dispatcher is not function:  # numba can be told to compile nothing
            source = Path(function.__code__.co_filename)
            kept = Path(dispatcher.stats.cache_path)
            _forget_others(source.parent, kept)
            store = dispatcher._cache  # no public way in
            store._cache_file = OneAtATime(store._cache_file, kept / _MARK)
        made: Callable[..., _Result] = dispatcher
        return made

    return decorate


@cache
def _forget_others(sources: Path, kept: Path) -> None:
    """Empty the cache of a folder of loops where it was made from other sources."""
    with locked(kept / _MARK):
        _forget(sources, kept)


def _forget(sources: Path, kept: Path) -> None:
    files = sorted(path for path in sources.glob("_*.py") if path.name != "__init__.py")
    texts = hashlib.sha256(b"\0".join(path.read_bytes() for path in files)).hexdigest()
    mark = kept / _MARK
    if mark.is_file() and mark.read_text(encoding="utf-8") == texts:
        return
    for path in kept.glob("*.nb[ic]"):
        path.unlink(missing_ok=True)
    mark.write_text(texts, encoding="utf-8")


class OneAtATime:
    """The files in which numba keeps one loop, for one process at a time.

    Parameters
    ----------
    files : Any
        Those of numba.
    mark : Path
        A file beside them, locked while they are read or written.
    """

    def __init__(self, files: Any, mark: Path) -> None:
        self._files, self._mark = files, mark

    def load(self, key: Any) -> Any:
        """Read what was compiled for some types.

        Parameters
        ----------
        key : Any
            Types and machine.

        Returns
        -------
        Any
            None where there is nothing.
        """
        with locked(self._mark):
            return self._files.load(key)

    def save(self, key: Any, data: Any) -> None:
        """Keep what was compiled for some types.

        Parameters
        ----------
        key : Any
            Types and machine.
        data : Any
            What was compiled.
        """
        with locked(self._mark):
            self._files.save(key, data)

    def flush(self) -> None:
        """Forget all types."""
        with locked(self._mark):
            self._files.flush()
