"""The folder of a home file, and the files in it that the home names."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from riskkit.errors import InputError
from riskkit.folders import rain_store, within

__all__ = ["HomeFolder", "named_by", "named_file"]

_NOT_OF_A_FILE = ("unit", "official unit")  # what who reads it says of it


@dataclass(frozen=True, slots=True)
class HomeFolder:
    """Where a home was read from.

    Parameters
    ----------
    path : Path
        The folder.
    outside : bool
        Whether the home may name files outside it.
    file : str
        Name of the home file, for messages.
    """

    path: Path
    outside: bool = False
    file: str = ""


@contextlib.contextmanager
def named_by(folder: HomeFolder | None, key: str | None) -> Iterator[None]:
    """Say of a file that is refused which key of which home file names it.

    Parameters
    ----------
    folder : HomeFolder or None
        Where the home was read from.
    key : str or None
        Such as ``"rain.record"``; None for a file that no home names.

    Yields
    ------
    None
        While the file is read and judged.

    Raises
    ------
    InputError
        What was refused, found there.
    """
    try:
        yield
    except InputError as error:
        if key is None or error.where in _NOT_OF_A_FILE:
            raise
        place = key if folder is None or not folder.file else f"{folder.file}, {key}"
        raise error.within(place) from None


def named_file(folder: HomeFolder | None, name: str) -> Path:
    """Return the path of a file that a home names.

    A home file comes by mail as easily as from a colleague; so it is read from its own folder and
    from the stored rain only, links followed, unless a person allows more.

    Parameters
    ----------
    folder : HomeFolder or None
        Where the home was read from; None where it was not read from a file.
    name : str
        As it stands in the home file.

    Returns
    -------
    Path
        The file, which need not be there.

    Raises
    ------
    InputError
        Where nothing says in which folder it lies, or it lies in another one.
    """
    if folder is None:
        what = f"it was not read from a file, so nothing says where {name} lies"
        raise InputError("home", what, "name its folder")
    path = folder.path / name
    if folder.outside or within(path, folder.path) or within(path, rain_store()):
        return path
    what = "it lies outside the folder of the home"
    raise InputError(name, what, "move it there", argument="outside")
