"""What a view sends to its panel: checked before anything is done with it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from enum import Enum
from typing import Any

from riskkit.errors import InputError

__all__ = ["checked_message"]

_ENDLESS = 1e300  # no number that a page has
_KINDS = {str: "text", bool: "true or false", int: "a whole number", float: "a number"}
# what a field adds where it has it: how far the typing is, and the turn of the change
_OPTIONAL: dict[str, type] = {
    "typing": bool, "rests": bool, "measured": bool, "turn": int, "name": str,
}  # fmt: skip


def checked_message(message: object, wanted: Mapping[str, Any], words: str) -> dict[str, Any]:
    """Return a message whose values are what a panel understands.

    Parameters
    ----------
    message : object
        As it came from the page.
    wanted : mapping
        What it must tell, by name: `str`, `bool`, `float`, an `Enum` by its value, or a collection
        of the texts that it may be.
    words : str
        What is being asked, such as ``"message 'change'"``.

    Returns
    -------
    dict
        The message, members of an `Enum` in the place of their values.

    Raises
    ------
    InputError
        Where a value is missing, or is not what it should be.

    Examples
    --------
    >>> checked_message({"kind": "open"}, {"path": str}, "message 'open'")
    Traceback (most recent call last):
    riskkit.errors.InputError: message 'open', path: it is missing; the page sends text.
    """
    if not isinstance(message, dict):
        raise InputError(words, "it is not a table of names and values", "reload the page")
    found = dict(message)
    for name, kind in wanted.items():
        if message.get(name) is None:
            raise InputError(f"{words}, {name}", "it is missing", f"the page sends {_said(kind)}")
        found[name] = _value(message[name], kind, f"{words}, {name}")
    for name, kind in _OPTIONAL.items():
        if name not in wanted and message.get(name) is not None:
            _value(message[name], kind, f"{words}, {name}")
    return found


def _value(value: object, kind: Any, where: str) -> Any:
    wrong = InputError(where, f"{str(value)[:40]!r} is not known", f"the page sends {_said(kind)}")
    if kind is float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise wrong
        if not abs(value) < _ENDLESS:  # of a whole number of a thousand digits too
            raise wrong
        return float(value)
    if isinstance(kind, type) and issubclass(kind, Enum):
        if value not in [each.value for each in kind]:
            raise wrong
        return kind(value)
    if isinstance(kind, type):
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            raise wrong
    elif not isinstance(value, str) or value not in kind:
        raise wrong
    return value


def _said(kind: type | Collection[str]) -> str:
    if not isinstance(kind, type):
        return "one of those that it shows"
    if issubclass(kind, Enum):
        return " or ".join(repr(str(each.value)) for each in kind)
    return _KINDS[kind]
