"""What can go wrong, as a tree.

::

    RiskkitError
    ├── InputError            a file, form or argument is wrong; says where, what, and what is right
    │   └── RangeError        a value that cannot be (a depth of -3 m, a share of 140 %)
    ├── NoDutyPointError      the pump cannot lift water to the outlet at this level
    ├── ConvergenceError      an iteration did not settle
    ├── NoNetworkError        a source of rain cannot be reached, or broke off
    └── BalanceError          water was made or lost: a fault of the program

    RiskkitWarning
    └── OutOfRangeWarning     a formula used beyond the range its source gives; kept in the result

Every message is one sentence. The command line prints it and exits with status 2.
"""

from __future__ import annotations

import contextlib
import threading
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TextIO

__all__ = [
    "BalanceError",
    "ConvergenceError",
    "FileLine",
    "InputError",
    "Key",
    "NoDutyPointError",
    "NoNetworkError",
    "NoPitError",
    "OutOfRangeWarning",
    "RangeError",
    "RiskkitError",
    "RiskkitWarning",
    "Words",
    "collect_warnings",
    "need_type",
]


class RiskkitError(Exception):
    """Base of every error that riskkit raises on purpose."""


@dataclass(frozen=True)
class Key:
    """A key of the home file that a message names; a page says its label instead.

    Parameters
    ----------
    name : str
        Section and key, such as ``"switch.off"``.
    """

    name: str

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True)
class FileLine:
    """How a line of the home file is written, and what a page asks for instead.

    Parameters
    ----------
    text : str
        In the words of the file, such as ``'write it like name = "…"'``.
    name : str
        What is to be written, such as ``"name"``.
    """

    text: str
    name: str

    def __str__(self) -> str:
        return self.text


class Words(str):
    """Words of a message as the file says them, which know the keys and lines that they name.

    Parameters
    ----------
    *parts : str, Key or FileLine
        What they are put together of.

    Examples
    --------
    >>> words = Words("9 in is not deeper than ", Key("switch.on"))
    >>> words
    '9 in is not deeper than switch.on'
    >>> words.parts[1]
    Key(name='switch.on')
    """

    __slots__ = ("parts",)
    parts: tuple[str | Key | FileLine, ...]

    def __new__(cls, *parts: str | Key | FileLine) -> Words:
        made = super().__new__(cls, "".join(str(part) for part in parts))
        made.parts = tuple(inner for part in parts for inner in _parts(part))
        return made

    def __reduce__(self) -> tuple[object, ...]:
        return Words, self.parts


class InputError(RiskkitError, ValueError):
    """Something given by a person is wrong.

    Parameters
    ----------
    where : str
        The file, line, key or argument, e.g. ``"home.toml, pit.depth"``.
    what : str
        What is wrong, e.g. ``"'18 gpm' is not a length"``.
    right : str
        What would be right, e.g. ``'write it like "24 in" or "0.61 m"'``.
    argument : str
        Name of the argument that is to be given or changed, e.g. ``"unit"``; the command line adds
        how its option is written.
    field : str
        Key of the home file that is wrong, whichever entry of a list it stands in, e.g.
        ``"visit.wall.place"``; `where` itself when left out.
    """

    def __init__(
        self, where: str, what: str, right: str = "", *, argument: str = "", field: str = ""
    ) -> None:
        self.argument, self.field = argument, field or where
        # what stood in a file must neither steer a terminal nor break the sentence in two
        self.where, self.what, self.right = map(_printable, (where, what, right))
        text = f"{self.where}: {self.what}" + (f"; {self.right}" if right else "")
        super().__init__(text if text.endswith("?") else f"{text}.")

    def __reduce__(self) -> tuple[object, ...]:  # so that it comes back from another process
        of = {"argument": self.argument, "field": self.field}
        return type(self), (self.where, self.what, self.right), of

    def within(self, place: str, more: str = "") -> InputError:
        """Say in which file or form it stands.

        Parameters
        ----------
        place : str
            The file or form; empty where it stands beside the message already.
        more : str
            What else is to be said of what is wrong, such as ``" (and 3 more)"``.

        Returns
        -------
        InputError
            The same, found there.

        Examples
        --------
        >>> print(InputError("pit.depth", "'deep' is not a length").within("home.toml"))
        home.toml, pit.depth: 'deep' is not a length.
        >>> print(InputError("pit.depth", "'deep' is not a length").within(""))
        pit.depth: 'deep' is not a length.
        """
        where = f"{place}, {self.where}" if place else self.where
        found = where, Words(*_parts(self.what), more), self.right
        return InputError(*found, argument=self.argument, field=self.field)


def _parts(text: str | Key | FileLine) -> tuple[str | Key | FileLine, ...]:
    return text.parts if isinstance(text, Words) else (text,)


def _printable(text: str) -> str:
    if isinstance(text, Words):
        return Words(*(_printable(p) if isinstance(p, str) else p for p in text.parts))
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else "?" for letter in text)


class RangeError(InputError):
    """A value that cannot be."""


def need_type(value: object, kinds: type | tuple[type, ...], where: str, right: str) -> None:
    """Refuse an argument of a wrong type.

    Parameters
    ----------
    value : object
        What was given.
    kinds : type or tuple of type
        What it may be.
    where : str
        The argument.
    right : str
        What would be right.

    Raises
    ------
    InputError
        Where it is none of these.
    """
    if not isinstance(value, kinds):
        shown = repr(value)
        shown = shown if len(shown) <= 40 else type(value).__name__
        raise InputError(where, f"{shown} has the wrong type", right)


class NoDutyPointError(RiskkitError):
    """The pump cannot lift water to the outlet."""


class NoPitError(RiskkitError):
    """The home is said to be without a pit, so there is nothing to time."""

    def __init__(self) -> None:
        super().__init__(
            "There is no pit, so there is nothing to time: water at the joint of wall and floor "
            "is not followed yet."
        )

    def __reduce__(self) -> tuple[object, ...]:
        return type(self), ()


class ConvergenceError(RiskkitError):
    """An iteration did not settle."""


class NoNetworkError(RiskkitError):
    """A source of rain cannot be reached, or broke off."""


class BalanceError(RiskkitError):
    """Water was made or lost: a fault of the program, never of the home."""


class RiskkitWarning(UserWarning):
    """Base of every warning; the answer keeps them and shows them."""


class OutOfRangeWarning(RiskkitWarning):
    """A formula was used beyond the range that its source gives."""


_collecting = threading.Lock()
_collectors: dict[int, list[str]] = {}  # by thread
_filters: list[warnings.catch_warnings[None]] = []  # while any thread collects


@contextlib.contextmanager
def collect_warnings() -> Iterator[list[str]]:
    """Collect what riskkit warns of in this thread.

    `warnings.catch_warnings` swaps the settings of the whole process, so two threads that work out
    an answer at once would take each other's warnings. Here the first to come sets a collector up,
    the last to go takes it down, and each thread gets its own.

    Yields
    ------
    list of str
        One sentence per warning, growing.

    Examples
    --------
    >>> with collect_warnings() as notes:
    ...     warnings.warn("a pipe of 3 m is long", OutOfRangeWarning)
    >>> notes
    ['a pipe of 3 m is long']
    """
    me = threading.get_ident()
    with _collecting:
        if not _collectors:
            _filters.append(warnings.catch_warnings())
            _filters[0].__enter__()
            warnings.simplefilter("always", RiskkitWarning)
            warnings.showwarning = _sorter(warnings.showwarning)
        outer = _collectors.get(me)
        notes = _collectors[me] = []
    try:
        yield notes
    finally:
        with _collecting:
            if outer is None:
                del _collectors[me]
            else:
                _collectors[me] = outer
            if not _collectors:
                _filters.pop().__exit__(None, None, None)


def _sorter(show: Callable[..., None]) -> Callable[..., None]:
    def sort(
        message: Warning | str,
        category: type[Warning],
        filename: str,
        lineno: int,
        file: TextIO | None = None,
        line: str | None = None,
    ) -> None:
        notes = _collectors.get(threading.get_ident())
        if notes is not None and issubclass(category, RiskkitWarning):
            notes.append(str(message))
        else:
            show(message, category, filename, lineno, file, line)

    return sort
