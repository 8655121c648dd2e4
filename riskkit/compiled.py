"""Compiled loops whose cache on disk follows a change of any of them.

numba keeps what it compiled beside the source and looks only at the file of the function itself: a
change of another function that was compiled into it is not seen. Here all loops of a folder are
forgotten as soon as one of its files of loops, ``_*.py``, is another one. Such a file imports
nothing else of this package, but for types.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from numba import njit

__all__ = ["compiled"]

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
            _forget_others(source.parent, Path(dispatcher.stats.cache_path))
        made: Callable[..., _Result] = dispatcher
        return made

    return decorate


@cache
def _forget_others(sources: Path, kept: Path) -> None:
    """Empty the cache of a folder of loops where it was made from other sources."""
    files = sorted(path for path in sources.glob("_*.py") if path.name != "__init__.py")
    texts = hashlib.sha256(b"\0".join(path.read_bytes() for path in files)).hexdigest()
    mark = kept / _MARK
    if mark.is_file() and mark.read_text(encoding="utf-8") == texts:
        return
    for path in kept.glob("*.nb[ic]"):
        path.unlink(missing_ok=True)
    mark.write_text(texts, encoding="utf-8")
