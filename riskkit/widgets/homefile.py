"""The home file that a page writes to, and what happens when somebody else writes to it too.

Two windows, or a window and an editor, may hold the same file. Before it is written it is compared
with what was read or written last; where it differs nothing is written and the person decides.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from riskkit._toml import read_toml
from riskkit.errors import InputError
from riskkit.files import TakenError, create_text, read_text, write_bytes, write_text
from riskkit.site import Site, read_site, site_text
from riskkit.widgets.kept import Kept

__all__ = [
    "ChangedOutsideError",
    "HomeCard",
    "HomeFile",
    "file_signature",
    "free_path",
    "list_homes",
    "list_rain",
    "list_tables",
    "list_temperatures",
    "name_to_path",
    "new_home",
]

_HOME = ".toml"
_TABLE = (".csv", ".txt")
_OF_A_HOME = Site.model_fields.keys() - {"name", "note"}  # other programs have these two as well
# letters that do not come apart into a plain one and a mark
_LATIN = str.maketrans(
    {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)
_IS_TABLE = re.compile(
    rb"^(#\s*series\s*:|duration\s*[,;\t]|point precipitation frequency)",
    re.MULTILINE | re.IGNORECASE,
)
_RAIN = (".csv", ".csv.gz", ".dly", ".txt", ".parquet")


class ChangedOutsideError(InputError):
    """The file is not as this page left it.

    Parameters
    ----------
    name : str
        The file.
    fate : Kept
        What became of it.
    """

    def __init__(self, name: str, fate: Kept) -> None:
        super().__init__(name, f"it was {fate.value}")
        self.fate = fate


@dataclass
class HomeFile:
    """One home file, and how it looked when it was last read or written here.

    Parameters
    ----------
    path : Path
        The file.
    """

    path: Path
    _text: str = ""  # as last read or written here
    _stat: tuple[int, int] | None = None  # of a file that is known to hold this text
    _theirs: frozenset[str] = frozenset()  # sections that stood in the file before any change

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
        stat = file_signature(self.path)  # first: who writes between the two is noticed later
        text = read_text(self.path)
        site = _home_in(text, self.path.name)
        self._text, self._stat = text, stat
        self._theirs = frozenset(read_toml(text, self.path.name))
        return site

    def create(self, site: Site) -> None:
        """Write the file where there is none.

        Parameters
        ----------
        site : Site
            The home.

        Raises
        ------
        TakenError
            Where there is one; it stays as it is.
        InputError
            Where it cannot be written.
        """
        text = self._new_text(site)
        create_text(self.path, text)
        self._text, self._stat = text, None

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
        fate = self.fate()
        if fate is not Kept.SAVED:
            raise ChangedOutsideError(self.path.name, fate)
        text = self._new_text(site)
        write_text(self.path, text)
        self._text, self._stat = text, None  # who writes right after this is noticed later

    def _new_text(self, site: Site) -> str:
        return site_text(site, self._text, self.path.name, keep=self._theirs)

    def fate(self) -> Kept:
        """Tell what became of the file since it was read or written here.

        Returns
        -------
        Kept
            `Kept.SAVED` where it is as it was left, `Kept.GONE` where there is none,
            `Kept.CHANGED_OUTSIDE` where somebody wrote it or put something else there.
        """
        stat = file_signature(self.path)
        if stat is None:
            return Kept.GONE
        if stat != self._stat:
            try:
                text = read_text(self.path)
            except InputError:
                return Kept.CHANGED_OUTSIDE
            if text != self._text:
                return Kept.CHANGED_OUTSIDE
            self._stat = stat
        return Kept.SAVED


def new_home(site: Site, path: Path) -> HomeFile:
    """Write a new home file.

    Parameters
    ----------
    site : Site
        The home.
    path : Path
        The file wished for; a free name near it is taken, which nobody else gets.

    Returns
    -------
    HomeFile
        The file.

    Raises
    ------
    InputError
        Where it cannot be written.
    """
    while True:
        file = HomeFile(free_path(path))
        try:
            file.create(site)
        except TakenError:
            continue  # somebody took the name meanwhile
        return file


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


def free_path(path: Path) -> Path:
    """Return a path that is not taken yet; another may take it before it is written.

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
    while os.path.lexists(found):  # a link that leads nowhere takes a name too
        found = path.with_name(f"{path.stem}_{number}{path.suffix}")
        number += 1
    return found


def name_to_path(name: str, folder: Path) -> Path:
    """Return the path for a new home.

    Parameters
    ----------
    name : str
        What the home is called; of letters that are not Latin nothing is left.
    folder : Path
        Folder of home files.

    Returns
    -------
    Path
        Such as ``split_level_on_clay.toml``; there may be such a file.

    Examples
    --------
    >>> name_to_path("Müller & Söhne, Straße 3", Path()).name
    'muller_sohne_strasse_3.toml'
    """
    plain = unicodedata.normalize("NFKD", name.lower().translate(_LATIN))
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    stem = "_".join(re.findall(r"[a-z0-9]+", plain))[:60].rstrip("_") or "home"
    return folder / f"{stem}{_HOME}"


def _files(folder: Path, endings: Iterable[str]) -> list[Path]:
    if not folder.is_dir():
        return []
    ends = tuple(endings)
    found = [p for p in folder.iterdir() if p.name.endswith(ends) and not p.name.startswith(".")]
    return [path for path in found if path.is_file()]


@dataclass(frozen=True)
class HomeCard:
    """One home file of a folder, as it is offered.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        What the home is called; the name of the file where it cannot be read.
    note : str
        Its note.
    fault : str
        Why it cannot be read; empty where it can.
    """

    path: Path
    name: str
    note: str = ""
    fault: str = ""


def list_homes(folder: Path) -> tuple[tuple[HomeCard, ...], tuple[str, ...]]:
    """List the home files of a folder, the one changed last first.

    Whatever may be a home is listed, also where it cannot be read: a home that vanishes from the
    list looks deleted. Only what is TOML and has no section of a home belongs to another program.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    homes : tuple of HomeCard
        What may be opened, or says why not.
    others : tuple of str
        Names of files of the same ending that are no homes.
    """
    found, others = [], []
    for path in _files(folder, [_HOME]):
        card, stat = _card(path), file_signature(path)
        if stat is None:
            continue  # it went while we looked
        if card is None:
            others.append(path.name)
        else:
            found.append((-stat[1], path.name, card))
    found.sort(key=lambda row: row[:2])
    return tuple(card for _, _, card in found), tuple(sorted(others))


def _card(path: Path) -> HomeCard | None:
    data: dict[str, object] = {}
    try:
        text = read_text(path)
        data = read_toml(text, path.name)
        site = _home_in(text, path.name)
    except InputError as error:
        if data and not _OF_A_HOME & data.keys():
            return None
        return HomeCard(path, path.name, fault=error.what)
    return HomeCard(path, site.name, site.note)


def _home_in(text: str, name: str) -> Site:
    """Read a home; nothing at all would pass for a home of which nothing is known."""
    if not read_toml(text, name):
        raise InputError(name, "it is empty")
    return read_site(text, name)


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
