"""The home file that a page writes to, and what happens when somebody else writes to it too.

Two windows, or a window and an editor, may hold the same file. What others wrote meanwhile stays
when it is written here; where both changed the same nothing is written and the person decides.
"""

from __future__ import annotations

import os
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from riskkit.errors import InputError
from riskkit.files import TakenError, is_file, read_text, write_bytes
from riskkit.folders import within
from riskkit.home._toml import read_toml
from riskkit.home.home import Home
from riskkit.home.saving import Saved, create_home, read_home_file, save_home
from riskkit.quantities.text import cleaned
from riskkit.widgets.asked import expanded
from riskkit.widgets.listed import files_of
from riskkit.widgets.save_status import SaveStatus

__all__ = [
    "HomeCard",
    "HomeFile",
    "file_signature",
    "folder_signature",
    "free_path",
    "list_homes",
    "name_to_path",
    "new_home",
]

_HOME = ".toml"
_OF_A_HOME = Home.model_fields.keys() - {"name", "note"}  # other programs have these two as well
# letters that do not come apart into a plain one and a mark
_LATIN = str.maketrans(
    {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)


@dataclass
class HomeFile:
    """One home file, and the home that it held when it was last read or written here.

    Parameters
    ----------
    path : Path
        The file.
    """

    path: Path
    _site: Home | None = None
    _text: str = ""
    _own: frozenset[str] = frozenset()  # sections whose headings were made here

    def load(self) -> Home:
        """Read the file.

        Returns
        -------
        Home
            The home.

        Raises
        ------
        InputError
            Where it cannot be read.
        """
        self._site, self._text = read_home_file(self.path)
        self._own = frozenset()
        return self._site

    def create(self, home: Home) -> None:
        """Write the file where there is none; comments are those of what was read here.

        Parameters
        ----------
        home : Home
            The home.

        Raises
        ------
        TakenError
            Where there is one; it stays as it is.
        InputError
            Where it cannot be written.
        """
        like = self._text
        self._take(create_home(home, self.path, like), like)

    def save(self, home: Home) -> Home:
        """Write the file; what somebody else wrote meanwhile stays.

        Parameters
        ----------
        home : Home
            The home.

        Returns
        -------
        Home
            The home that the file holds now: this one, with what others changed.

        Raises
        ------
        GoneError
            Where the file was deleted or moved.
        UnreadableError
            Where it holds no home any more.
        ConflictError
            Where somebody else changed the same things; nothing is written.
        InputError
            Where it cannot be written; what was there stays.
        """
        saved = save_home(home, self.path, self.home, own=self._own)
        self._take(saved, saved.found)
        return saved.home

    def _take(self, saved: Saved, before: str) -> None:
        self._site, self._text = saved.home, saved.text
        self._own |= _sections(saved.text, self.path) - _sections(before, self.path)

    @property
    def home(self) -> Home:
        """The home as it was last read or written here."""
        if self._site is None:
            raise ValueError("a file is read or created before it is asked for its home")
        return self._site

    def fate(self) -> SaveStatus:
        """Tell what became of the file since it was read or written here, by what it holds.

        Returns
        -------
        SaveStatus
            `SaveStatus.SAVED` where it is as it was left, `SaveStatus.GONE` where there is none,
            `SaveStatus.CHANGED_OUTSIDE` where somebody wrote it or put something else there.
        """
        if not self.path.exists():
            return SaveStatus.GONE
        try:
            is_same = read_text(self.path) == self._text
        except InputError:
            is_same = False
        return SaveStatus.SAVED if is_same else SaveStatus.CHANGED_OUTSIDE


def _sections(text: str, path: Path) -> frozenset[str]:
    return frozenset(read_toml(text, path.name))


def new_home(home: Home, path: Path) -> HomeFile:
    """Write a new home file.

    Parameters
    ----------
    home : Home
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
            file.create(home)
        except TakenError:
            continue  # somebody took the name meanwhile
        return file


def folder_signature(folder: Path) -> tuple[object, ...]:
    """Return what tells whether the homes of a folder are still the same, without reading them.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    tuple
        Names, sizes and times of its home files.
    """
    return tuple((path.name, file_signature(path)) for path in sorted(folder.glob("*.toml")))


def file_signature(path: Path) -> tuple[int, ...] | None:
    """Return what tells whether a large file is still the same, without reading it.

    A size and a time can be those of another file, put there by a copy that keeps them; which file
    it is, and when the system last saw it change, cannot.

    Parameters
    ----------
    path : Path
        The file, such as a rain record. What a home file holds is compared itself.

    Returns
    -------
    tuple of int, or None
        Its size [byte], times of writing and of change [ns] and number; None where there is no
        such file.
    """
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino


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


_DEVICE = re.compile(r"con|prn|aux|nul|(com|lpt)\d")  # no file is called so under Windows


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
    if _DEVICE.fullmatch(stem):
        stem = f"home_{stem}"
    return folder / f"{stem}{_HOME}"


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
    for path in files_of(folder, [_HOME]):
        card = _card(path)
        try:
            written = path.stat().st_mtime_ns
        except OSError:
            continue  # it went while we looked
        if card is None:
            others.append(cleaned(path.name, 255))
        else:
            found.append((-written, path.name, card))
    found.sort(key=lambda row: row[:2])
    return tuple(card for _, _, card in found), tuple(sorted(others))


def _card(path: Path) -> HomeCard | None:
    try:
        home, _ = read_home_file(path)
    except InputError as error:
        if _is_of_another_program(path):
            return None
        return HomeCard(path, cleaned(path.name, 255), fault=error.what)
    return HomeCard(path, home.name, home.note)


def _is_of_another_program(path: Path) -> bool:
    try:
        data = read_toml(read_text(path), path.name)
    except InputError:
        return False
    return bool(data) and not _OF_A_HOME & data.keys()


def changed_site(home: Home, values: dict[str, object]) -> Home:
    """Return a home with some values replaced.

    Parameters
    ----------
    home : Home
        The home.
    values : dict
        By key, such as ``"pit.depth"``, or by what is asked in its place.

    Returns
    -------
    Home
        A new home.

    Raises
    ------
    InputError
        As on reading a file.
    """
    changes = expanded(home, values)
    if not changes:
        return home
    return home.changed(**{key.replace(".", "__"): value for key, value in changes.items()})


def bring_rain(home: Home, old: Path, new: Path) -> None:
    """Copy the rain files of a home beside its new file where they are not there yet.

    A name that leads out of the new folder is left: a home file must not write elsewhere.

    Parameters
    ----------
    home : Home
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
    for name in home.files:
        here = (new / name).resolve()
        if here.exists() or not (within(old / name, old) and within(here, new)):
            continue
        if not is_file(old / name):
            continue
        try:
            here.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(name, f"its folder cannot be made ({error.strerror})") from None
        write_bytes(here, (old / name).read_bytes())
