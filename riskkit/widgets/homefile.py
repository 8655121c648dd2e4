"""The home file that a page writes to, and what happens when somebody else writes to it too.

Two windows, or a window and an editor, may hold the same file. Before it is written it is compared
with what was read or written last; where it differs nothing is written and the person decides.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.site import Site, load_site, save_site

__all__ = [
    "ChangedOutsideError",
    "HomeFile",
    "Kept",
    "file_signature",
    "free_path",
    "list_homes",
    "list_rain",
    "list_tables",
    "list_temperatures",
    "name_to_path",
    "not_written",
]

_HOME = ".toml"
_TABLE = (".csv", ".txt")
_IS_HOME = re.compile(rb"^format\s*=", re.MULTILINE)
_IS_TABLE = re.compile(
    rb"^(#\s*series\s*:|duration\s*[,;\t]|point precipitation frequency)",
    re.MULTILINE | re.IGNORECASE,
)
_RAIN = (".csv", ".csv.gz", ".dly", ".txt", ".parquet")


class Kept(Enum):
    """What became of the last change."""

    NO_FILE = "not saved to a file yet"
    SAVED = "saved"
    CHANGED_OUTSIDE = "changed in another window or program"
    FAILED = "could not be written"


class ChangedOutsideError(InputError):
    """The file is not as this page left it."""


@dataclass
class HomeFile:
    """One home file, and how it looked when it was last read or written here.

    Parameters
    ----------
    path : Path
        The file.
    """

    path: Path
    _stat: tuple[int, int] | None = None
    _digest: str | None = None

    def load(self) -> Site:
        """Read the file.

        Returns
        -------
        Site
            The home.

        Raises
        ------
        InputError
            Where it cannot be read.
        """
        site = load_site(self.path)
        self._remember()
        return site

    def save(self, site: Site) -> None:
        """Write the file, unless somebody else did.

        Parameters
        ----------
        site : Site
            The home.

        Raises
        ------
        ChangedOutsideError
            Where the file is not as it was left; nothing is written.
        InputError
            Where it cannot be written; what was there stays.
        """
        if self.changed_outside():
            raise ChangedOutsideError(self.path.name, "it was changed in another window or program")
        save_site(site, self.path)
        self._remember()

    def changed_outside(self) -> bool:
        """Tell whether the file is not as this page left it.

        Returns
        -------
        bool
            True where somebody else wrote it, took it away or put something else there.
        """
        stat = file_signature(self.path)
        if stat == self._stat:
            return False
        if stat is not None and _digest(self.path) == self._digest:
            self._stat = stat
            return False
        return True

    def _remember(self) -> None:
        self._stat, self._digest = file_signature(self.path), _digest(self.path)


def file_signature(path: Path) -> tuple[int, int] | None:
    """Return what tells whether a file is still the same, without reading it.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    tuple of int, or None
        Its size [byte] and time of writing [ns]; None where there is no such file.
    """
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns


def _digest(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None


def not_written(error: InputError) -> str:
    """Say why a file is not written, to go on after its name.

    Parameters
    ----------
    error : InputError
        What went wrong.

    Returns
    -------
    str
        Such as ``"cannot be written (No space left on device)"``.
    """
    is_verb = error.what.startswith("it ")
    return error.what[3:] if is_verb else f"is not written, for {error.what}"


def free_path(path: Path) -> Path:
    """Return a path that is not taken yet.

    Parameters
    ----------
    path : Path
        The path wished for.

    Returns
    -------
    Path
        The same, or with ``_2``, ``_3`` … before its ending.
    """
    found, number = path, 2
    while found.exists():
        found = path.with_name(f"{path.stem}_{number}{path.suffix}")
        number += 1
    return found


def name_to_path(name: str, folder: Path) -> Path:
    """Return a free path for a new home.

    Parameters
    ----------
    name : str
        What the home is called.
    folder : Path
        Folder of home files.

    Returns
    -------
    Path
        Such as ``split_level_on_clay.toml``.
    """
    stem = "_".join(re.findall(r"[a-z0-9]+", name.lower()))[:60] or "home"
    return free_path(folder / f"{stem}{_HOME}")


def _files(folder: Path, endings: Iterable[str]) -> list[Path]:
    if not folder.is_dir():
        return []
    ends = tuple(endings)
    found = [p for p in folder.iterdir() if p.name.endswith(ends) and not p.name.startswith(".")]
    return [path for path in found if path.is_file()]


def list_homes(folder: Path) -> list[Path]:
    """List the home files of a folder, the one changed last first.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of Path
        Files that call themselves home files.
    """
    homes = [path for path in _files(folder, [_HOME]) if _begins_like(_IS_HOME, path)]
    return sorted(homes, key=lambda path: (-path.stat().st_mtime_ns, path.name))


def _begins_like(pattern: re.Pattern[bytes], path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return pattern.search(stream.read(4096)) is not None
    except OSError:
        return False


def list_rain(folder: Path) -> list[str]:
    """List the files of a folder that may hold a rain record.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names.
    """
    tables = list_tables(folder)
    names = sorted(path.name for path in _files(folder, _RAIN) if "temperature" not in path.name)
    return [name for name in names if name not in tables]


def list_tables(folder: Path) -> list[str]:
    """List the files of a folder that begin like an official table of rain depths.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names; a table with a fault is among them, so that its fault is said.
    """
    return sorted(path.name for path in _files(folder, _TABLE) if _begins_like(_IS_TABLE, path))


def list_temperatures(folder: Path) -> list[str]:
    """List the files of a folder that may hold daily temperatures, by their name.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names.
    """
    return sorted(path.name for path in _files(folder, _RAIN) if "temperature" in path.name)


def changed_site(site: Site, values: dict[str, object]) -> Site:
    """Return a home with some values replaced.

    Parameters
    ----------
    site : Site
        The home.
    values : dict
        By key, such as ``"pit.depth"``.

    Returns
    -------
    Site
        A new home.

    Raises
    ------
    InputError
        As on reading a file.
    """
    return site.changed(**{key.replace(".", "__"): value for key, value in values.items()})


def bring_rain(site: Site, old: Path, new: Path) -> None:
    """Copy the rain files of a home beside its new file where they are not there yet.

    A name that leads out of the new folder is left: a home file must not write elsewhere.

    Parameters
    ----------
    site : Site
        The home.
    old : Path
        Folder from which their names counted.
    new : Path
        Folder of the new file.

    Raises
    ------
    InputError
        Where they cannot be written.
    """
    if old.resolve() == new.resolve():
        return
    for name in site.files:
        here = (new / name).resolve()
        if here.exists() or not (old / name).is_file() or not here.is_relative_to(new.resolve()):
            continue
        try:
            here.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(name, f"its folder cannot be made ({error.strerror})") from None
        write_bytes(here, (old / name).read_bytes())
