"""What frozen values do on creation: freeze arrays, clean texts, refuse what cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import RangeError
from riskkit.quantities.text import cleaned

__all__ = [
    "ByValue",
    "FloatArray",
    "FrozenMapping",
    "IntArray",
    "clean_texts",
    "freeze_arrays",
    "hand_over",
    "need",
    "picked",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
_Record = TypeVar("_Record")
_Key = TypeVar("_Key")
_Value = TypeVar("_Value", covariant=True)
_MOST_NAME, _MOST_NOTE = 300, 1000  # letters of a name and of a note


class FrozenMapping(Mapping[_Key, _Value]):
    """A mapping of its own that cannot be written to, and goes to other processes and into sets.

    Parameters
    ----------
    entries : mapping
        What it holds; a copy is made.
    """

    __slots__ = ("_entries",)

    def __init__(self, entries: Mapping[_Key, _Value]) -> None:
        self._entries = dict(entries)

    def __getitem__(self, key: _Key) -> _Value:
        return self._entries[key]

    def __iter__(self) -> Iterator[_Key]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)

    def __hash__(self) -> int:
        return hash(frozenset(self._entries.items()))

    def __repr__(self) -> str:
        return repr(self._entries)


class ByValue:
    """A frozen dataclass with arrays, declared with ``eq=False``: equal where all values are.

    The comparison that dataclasses write themselves breaks off at the first array.
    """

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(_same(getattr(self, f.name), getattr(other, f.name)) for f in _fields(self))

    def __hash__(self) -> int:  # alike where values are, and cheap: arrays count by their shape
        values = (getattr(self, item.name) for item in _fields(self))
        return hash((type(self), *(v.shape for v in values if isinstance(v, np.ndarray))))


def _fields(record: object) -> tuple[Any, ...]:
    return fields(record) if is_dataclass(record) else ()


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        is_float = one.dtype.kind == other.dtype.kind == "f"  # a gap is as another gap
        return np.array_equal(one, other, equal_nan=is_float)
    if isinstance(one, np.ndarray) or isinstance(other, np.ndarray):
        return False  # an array, and something else or nothing
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        return all(map(_same, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return one == other or (one != one and other != other)
    return bool(one == other)


def freeze_arrays(record: object) -> None:
    """Make every array of a frozen record its own and read-only, whatever it was given as.

    A list, a pandas Series or an array will do; later changes of it do not reach the record. Lists
    where a tuple belongs become tuples. An array that nobody can write to is taken as it is.

    Parameters
    ----------
    record : object
        A frozen dataclass, in its ``__post_init__``.

    Raises
    ------
    RangeError
        Where what is given for an array holds no numbers.
    """
    for item in fields(record):  # type: ignore[arg-type]  # only called by dataclasses below
        value, declared = getattr(record, item.name), str(item.type)
        if isinstance(value, list) and declared.startswith("tuple"):
            object.__setattr__(record, item.name, tuple(value))
        elif isinstance(value, np.ndarray) or (value is not None and declared.startswith(_ARRAYS)):
            frozen = _frozen(value, declared, f"{type(record).__name__}, {item.name}")
            object.__setattr__(record, item.name, frozen)


_ARRAYS = ("FloatArray", "IntArray")  # as fields are declared
_LARGER = 16  # an array of which a small part is kept would stay in memory


def _is_right(array: NDArray[Any], declared: str) -> bool:
    """Whether an array is of the type that a record keeps."""
    whole = array.dtype == np.int64 and not declared.startswith("FloatArray")
    return whole or array.dtype == np.float64


def _is_still(array: NDArray[Any]) -> bool:
    """Whether nobody can write to an array or to what it is a view of, nor is that far larger."""
    most, at = _LARGER * array.nbytes, array
    while not at.flags.writeable and at.nbytes <= most:
        if at.base is None:
            return True
        if not isinstance(at.base, np.ndarray):
            return False
        at = at.base
    return False


def hand_over(*arrays: Any) -> None:
    """Make fresh arrays read-only, so that a record takes them without a copy.

    Parameters
    ----------
    *arrays : Any
        Arrays that nobody else holds.
    """
    for array in arrays:
        array.flags.writeable = False


def _frozen(value: object, declared: str, where: str) -> FloatArray | IntArray:
    if type(value) is np.ndarray and _is_right(value, declared) and _is_still(value):
        return value
    try:
        array = np.asarray(value)
        if array.dtype.kind in "USMm":  # digits in a text would pass for numbers
            raise TypeError
        is_whole = array.dtype.kind in "iu" and not declared.startswith("FloatArray")
        frozen = np.array(array, dtype=np.int64) if is_whole else np.array(array, dtype=np.float64)
    except (TypeError, ValueError):
        right = "give a list, an array or a Series of them"
        raise RangeError(where, "it is not an array of numbers", right) from None
    frozen.flags.writeable = False
    return frozen


def clean_texts(record: object) -> None:
    """Make every text of a frozen record one line that neither steers a terminal nor is endless.

    Parameters
    ----------
    record : object
        A frozen dataclass that readers of files make, in its ``__post_init__``.
    """
    for item in fields(record):  # type: ignore[arg-type]  # only called by dataclasses
        value = getattr(record, item.name)
        if isinstance(value, str):
            object.__setattr__(record, item.name, cleaned(value, _MOST_NAME))
        elif isinstance(value, tuple) and all(isinstance(text, str) for text in value):
            lines = tuple(cleaned(text, _MOST_NOTE) for text in value)
            object.__setattr__(record, item.name, lines)


def need(condition: bool, where: str, what: str, right: str = "") -> None:
    """Refuse a record that cannot be.

    Parameters
    ----------
    condition : bool
        What must hold.
    where : str
        Which record.
    what : str
        What is wrong where it does not hold.
    right : str
        What would be right.

    Raises
    ------
    RangeError
        Where it does not hold.
    """
    if not condition:
        raise RangeError(where, what, right)


def picked(record: _Record, draws: IntArray, shared: tuple[str, ...] = ()) -> _Record:
    """Return some rows of a frozen record of arrays, in the order asked; they were checked there.

    Parameters
    ----------
    record : dataclass
        Its arrays have a row for each draw.
    draws : (n,) array of int
        Which rows, counted from 0; a row may come more than once [-].
    shared : tuple of str
        Arrays that have no rows, for they are the same for all draws.

    Returns
    -------
    dataclass
        A new record.
    """
    arrays: dict[str, Any] = {
        item.name: getattr(record, item.name)[draws]
        for item in fields(record)  # type: ignore[arg-type]  # only called with dataclasses
        if item.name not in shared and isinstance(getattr(record, item.name), np.ndarray)
    }
    hand_over(*arrays.values())
    made = object.__new__(type(record))
    for item in fields(record):  # type: ignore[arg-type]  # only called with dataclasses
        value = arrays.get(item.name, getattr(record, item.name))
        object.__setattr__(made, item.name, value)
    return made
