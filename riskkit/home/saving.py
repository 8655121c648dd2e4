"""Writing a home file so that nothing is lost of what somebody else wrote meanwhile.

Two pages, a page and a command, or a person with an editor may change one home at once. Whoever
saves takes a lock, reads the file once more under it, puts both changes together against the home
that it began with, and writes the whole. What both changed is refused, and a file that was deleted
stays deleted.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from riskkit.errors import InputError, need_type
from riskkit.files import create_text, locked, read_text, write_text
from riskkit.home._converted import FORMAT, entered_by_visits
from riskkit.home._renamed import rename_in
from riskkit.home._toml import put_tables, read_toml
from riskkit.home.home import Home, home_of, read_home
from riskkit.home.merge import Conflict, Side, merge_data

__all__ = [
    "ConflictError",
    "GoneError",
    "Saved",
    "UnreadableError",
    "create_home",
    "home_text",
    "merge_homes",
    "read_home_file",
    "save_home",
]

_MOST_NAMED = 3
_MOST_TRIES = 5  # while somebody writes without a lock


class GoneError(InputError):
    """The file was deleted or moved meanwhile."""


class UnreadableError(InputError):
    """Somebody else left no home in the file."""


class ConflictError(InputError):
    """What somebody else changed and what was changed here do not go together."""

    conflicts: tuple[Conflict, ...] = ()  # empty where the two contradict each other


def _conflict(name: str, conflicts: Sequence[Conflict]) -> ConflictError:
    listed = "; ".join(_said(one) for one in conflicts[:_MOST_NAMED])
    more = len(conflicts) - _MOST_NAMED
    if more > 0:
        listed += f"; and {more} more"
    error = ConflictError(
        name,
        f"somebody else changed it meanwhile where you did ({listed})",
        "nothing was written, so look at the file and enter yours once more",
    )
    error.conflicts = tuple(conflicts)
    return error


def _said(conflict: Conflict) -> str:
    separator = ", " if conflict.where[0] in ("visit", "observation") else "."
    theirs, ours = (_shown(value) for value in (conflict.theirs, conflict.ours))
    return f"{separator.join(conflict.where)}: {theirs} there, {ours} here"


def _shown(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, str | int | float):
        text = str(value)
        return f'"{text if len(text) <= 40 else f"{text[:37]}…"}"'
    return "changed"


@dataclass(frozen=True)
class Saved:
    """What a home file holds now.

    Parameters
    ----------
    home : Home
        The home, with what others changed.
    text : str
        The text of the file.
    found : str
        The text that was in the file before.
    """

    home: Home
    text: str = field(repr=False)
    found: str = field(repr=False)


def merge_homes(
    base: Home, theirs: Home, ours: Home, name: str = "home", prefer: Side | None = None
) -> Home:
    """Put the changes of two to one home together.

    Parameters
    ----------
    base : Home
        The home from which both began.
    theirs, ours : Home
        What became of it on either side.
    name : str
        What messages call it.
    prefer : Side, optional
        Whose value stands where both changed one thing; without it that is refused.

    Returns
    -------
    Home
        The home with the changes of both.

    Raises
    ------
    ConflictError
        Where both changed one thing, and not alike, or the changes contradict each other.
    """
    if theirs == base:
        return ours
    one, other, mine = (home.model_dump(exclude_defaults=True) for home in (base, theirs, ours))
    merged, conflicts = merge_data(one, other, mine, prefer or Side.OURS)
    if conflicts and prefer is None:
        raise _conflict(name, conflicts)
    try:
        return home_of(merged, name)
    except InputError as error:
        what = f"it does not go together with what somebody else changed ({error.what})"
        raise ConflictError(error.where, what, error.right) from None


def read_home_file(path: Path) -> tuple[Home, str]:
    """Read a home file; nothing at all would pass for a home of which nothing is known.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    home : Home
        The home.
    text : str
        The text of the file.

    Raises
    ------
    InputError
        Where it cannot be read, holds no home, or nothing.
    """
    text = read_text(path)
    if not read_toml(text, path.name):
        raise InputError(path.name, "it is empty")
    return read_home(text, path.name), text


def home_text(home: Home, text: str, name: str, *, own: Collection[str] = ()) -> str:
    """Return the new text of a home file; comments, order and layout of the old one are kept.

    Parameters
    ----------
    home : Home
        The home.
    text : str
        Text of the file until now; empty where there is none.
    name : str
        What messages call it.
    own : collection of str, optional
        Sections whose heading goes when nothing is left below it; by default none.

    Returns
    -------
    str
        TOML.

    Raises
    ------
    InputError
        Where the text until now is no home.
    """
    import tomlkit

    old = read_home(text, name).model_dump(exclude_defaults=True)
    document = tomlkit.parse(text)
    rename_in(document)
    new: dict[str, Any] = {"name": home.name}
    if "format" not in document:
        document["format"] = 1
    new |= home.model_dump(exclude_defaults=True)
    for entries in ("visit", "observation"):
        put_tables(document, entries, old.pop(entries, ()), new.pop(entries, ()))
    emptied = []
    for section in dict.fromkeys([*old, *new]):
        if not isinstance(new.get(section, old.get(section)), dict):
            _put(document, section, old, new)
            continue
        table = document.setdefault(section, tomlkit.table())
        before, after = old.get(section, {}), new.get(section, {})
        for key in dict.fromkeys([*before, *after]):
            _put(table, key, before, after)
        if section in own and not table.as_string().strip():
            emptied.append(section)
    for section in emptied:
        del document[section]
    written = _in_format(tomlkit.dumps(document), home, name, text)
    return written.rstrip("\n") + "\n" if emptied else written  # nor the line before a heading


def _in_format(text: str, home: Home, name: str, before: str) -> str:
    """Take values that an older riskkit entered for a visit out where they would be read as told.

    Nothing is touched where the text is read as the home all the same.
    """
    import tomlkit

    if read_home(text, name) == home:
        return text
    document = tomlkit.parse(text)
    stale = entered_by_visits(home_of(read_toml(before, name), name)) if before else ()
    for key in stale:
        section, entry = key.split(".")
        if home.quantity(key) is None:
            document.get(section, {}).pop(entry, None)
    if read_home(tomlkit.dumps(document), name) != home:
        document["format"] = FORMAT
    return tomlkit.dumps(document)


def _put(table: Any, key: str, old: dict[str, Any], new: dict[str, Any]) -> None:
    if key in new and (key not in table or new[key] != old.get(key)):
        value = new[key]
        if key in ("curve", "table") and isinstance(value, tuple):
            units = ("m3/s", "m") if key == "curve" else ("m", "m3")
            value = [[f"{v:.9g} {u}" for v, u in zip(pair, units, strict=True)] for pair in value]
        table[key] = value
    elif key not in new and key in table and key in old:
        del table[key]


def create_home(home: Home, path: Path | str, like: str = "") -> Saved:
    """Write a home file where there is none.

    Parameters
    ----------
    home : Home
        The home.
    path : Path or str
        The file, which must not be there.
    like : str
        Text of a home file whose comments, order and layout are taken.

    Returns
    -------
    Saved
        What the file holds now.

    Raises
    ------
    TakenError
        Where there is a file of this name; it stays as it is.
    InputError
        Where it cannot be written.
    """
    path = Path(path)
    text = home_text(home, like, path.name)
    with locked(path):
        create_text(path, text)
    return Saved(home, text, "")


def save_home(
    home: Home,
    path: Path | str,
    base: Home | None = None,
    *,
    own: Collection[str] = (),
) -> Saved:
    """Write a home file; what others wrote meanwhile stays, and so do comments and layout.

    Parameters
    ----------
    home : Home
        The home.
    path : Path or str
        The file; written whole or not at all.
    base : Home, optional
        The home as it was read from the file, from which this one was made. Without it the file is
        a new one, as for `create_home`.
    own : collection of str
        Sections whose heading goes when nothing is left below it.

    Returns
    -------
    Saved
        What the file holds now.

    Raises
    ------
    GoneError
        Where the file was deleted or moved; it is not made again.
    ConflictError
        Where somebody else changed one of the things that were changed here, and not alike, or the
        changes contradict each other.
    UnreadableError
        Where there is no home in the file any more.
    TakenError
        Where there should be no file yet, and there is one.
    InputError
        Where the file cannot be written.
    """
    need_type(home, Home, "home", "give the home first, then the path of its file")
    need_type(path, (str, Path), "path", 'give the path of a home file, such as "home.toml"')
    path = Path(path)
    if base is None:
        return create_home(home, path)
    for _ in range(_MOST_TRIES):
        _need_there(path)
        with locked(path):
            theirs, text = _found(path)
            merged = merge_homes(base, theirs, home, path.name)
            written = home_text(merged, text, path.name, own=own)
            try:
                if written != text:
                    same = partial(_need_same, path, text)
                    write_text(path, written, check=same)
            except _MovedError:
                continue  # an editor, which takes no lock
        return Saved(merged, written, text)
    raise InputError(path.name, "another program keeps writing it", "try again when that has ended")


class _MovedError(Exception):
    """The file is not as it was a moment ago."""


def _need_there(path: Path) -> None:
    if not path.exists():
        raise GoneError(path.name, "it was deleted or moved meanwhile", "nothing was written")
    if not path.is_file():
        raise UnreadableError(path.name, "it is not a file any more", "nothing was written")


def _found(path: Path) -> tuple[Home, str]:
    try:
        return read_home_file(path)
    except InputError as error:
        _need_there(path)
        raise UnreadableError(error.where, error.what, error.right) from None


def _need_same(path: Path, text: str) -> None:
    _need_there(path)
    try:
        if read_text(path) == text:
            return
    except InputError:
        pass
    raise _MovedError
