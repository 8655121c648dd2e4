"""The folder of a home file, and the files in it that the home names."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from riskkit.errors import InputError
from riskkit.folders import rain_store, within

__all__ = ["HomeFolder", "named_file"]


@dataclass(frozen=True, slots=True)
class HomeFolder:
    """Where a home was read from.

    Parameters
    ----------
    path : Path
        The folder.
    outside : bool
        Whether the home may name files outside it.
    """

    path: Path
    outside: bool = False


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
