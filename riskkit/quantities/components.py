"""Parts of a system that a home may lack, and how a home file says that there is none."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from functools import cache
from types import MappingProxyType

from riskkit.tables import load_table

__all__ = ["NONE", "Component", "absent_words", "component_of", "key_of", "says_none"]

NONE = "none"


class Component(Enum):
    """A part that may be missing; the value is its code in files."""

    ALARM = "alarm"
    PUMP = "pump"
    GRAVEL = "gravel"
    CHECK_VALVE = "check_valve"
    SECOND_PUMP = "second_pump"
    PIT = "pit"


@cache
def _rows() -> Mapping[Component, Mapping[str, str]]:
    return MappingProxyType({Component(row["part"]): row for row in load_table("components").rows})


@cache
def _by_key() -> Mapping[str, Component]:
    return MappingProxyType({row["key"]: part for part, row in _rows().items()})


def component_of(key: str) -> Component | None:
    """Return the part whose absence a key of the home file can tell.

    Parameters
    ----------
    key : str
        Section and key, such as ``"switch.alarm"``.

    Returns
    -------
    Component or None
        None where the key tells of none.
    """
    return _by_key().get(key)


def key_of(part: Component) -> str:
    """Return the key of the home file that tells that a part is missing.

    Parameters
    ----------
    part : Component
        The part.

    Returns
    -------
    str
        Section and key.
    """
    return _rows()[part]["key"]


def absent_words(part: Component) -> str:
    """Return what stands for none, such as ``"no alarm"``.

    Parameters
    ----------
    part : Component
        The part.

    Returns
    -------
    str
        Two or three words.
    """
    return _rows()[part]["words"]


def says_none(written: object, key: str) -> bool:
    """Tell whether a text says that the part behind a key is not there.

    Parameters
    ----------
    written : object
        As in the home file.
    key : str
        Section and key.

    Returns
    -------
    bool
        True for ``"none"`` and for words such as ``"no alarm"`` beside the right key; a note that
        it was seen may follow, as in ``"none, measured"``.

    Examples
    --------
    >>> says_none("No alarm", "switch.alarm"), says_none("no alarm", "pit.depth")
    (True, False)
    """
    part = component_of(key)
    if part is None or not isinstance(written, str):
        return False
    text, _, how = written.partition(",")
    said = " ".join(text.lower().split())
    return said in (NONE, absent_words(part)) and how.strip().lower() in ("", "measured", "given")
