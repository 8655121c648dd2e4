"""A value with its unit and how it is known, read from what a person wrote.

``"18 in"`` is given, ``"about 18 in"`` given roughly, ``"18 in, measured"`` measured,
``"16 to 20 in"`` a range that holds nine times out of ten, ``"2 of 6"`` a share, ``"unknown"``
nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from riskkit.errors import InputError
from riskkit.units import MOST_LETTERS, NUMBER, UnitSystem, parse_quantity, without_about
from riskkit.variables import Variable

__all__ = ["UNKNOWN", "Basis", "Quantity", "examples", "read_quantity", "shown"]

UNKNOWN = "unknown"


class Basis(Enum):
    """How a value is known."""

    MEASURED = "measured"
    GIVEN = "given"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Quantity:
    """A value of the home file.

    Parameters
    ----------
    value : float
        The value in the SI unit of its variable; the middle where a range was given [any].
    basis : Basis
        Measured or given.
    text : str
        As written.
    low, high : float, optional
        Bounds of a range, in the same unit [any].
    is_rough : bool
        Told roughly, as in "about 18 in": the spread is wider than that of a value as given.
    """

    value: float
    basis: Basis
    text: str
    low: float | None = None
    high: float | None = None
    is_rough: bool = False


_RANGE = re.compile(r"^\s*(.+?)\s+to\s+(.+?)\s*$")
_BARE = re.compile(rf"\s*[-+]?{NUMBER}(?![\d.,])\s*")
_COUNT = re.compile(r"^\s*(\d+)\s+of\s+(\d+)\s*$")


def read_quantity(written: object, item: Variable, where: str) -> Quantity | None:
    """Read one value of a home file.

    Parameters
    ----------
    written : object
        Text such as ``"18 in"``, ``"about 18 in"``, ``"18 in, measured"``, ``"16 to 20 in"``,
        ``"2 of 6"`` or ``"unknown"``; a bare number only where the quantity has no unit.
    item : Variable
        The quantity that it is.
    where : str
        File and key, for the message.

    Returns
    -------
    Quantity or None
        None for unknown.

    Raises
    ------
    InputError
        Where the text cannot be read or the value lies outside the plausible range.
    """
    if isinstance(written, Quantity):
        return written
    if isinstance(written, bool) or not isinstance(written, str | int | float):
        raise InputError(where, f"{shown(written)} is not a value", _right(item))
    text = shown(written) if isinstance(written, int) else str(written).strip()
    if len(text) > MOST_LETTERS:
        raise InputError(where, f"a value of {len(text)} letters is too long", _right(item))
    if text.lower() == UNKNOWN:
        return None
    if not isinstance(written, str) and item.unit != "1":
        raise InputError(where, f"{text} has no unit", _right(item))
    body, comma, how = text.rpartition(",")
    basis = Basis.GIVEN
    if comma and not re.match(r"\d", how):  # a comma before digits belongs to the number
        if how.strip().lower() not in ("measured", "given"):
            raise InputError(
                where, f"{how.strip()!r} after the comma is not 'measured' or 'given'",
                f'write it like {_like(item)} or "…, measured"',
            )  # fmt: skip
        basis, body = Basis(how.strip().lower()), body.strip()
    else:
        body = text
    told, body = body, without_about(body)
    is_rough = body != told.strip()
    if is_rough and basis is Basis.MEASURED:
        raise InputError(
            where, f"{told!r} is told roughly, so it is not measured",
            'leave out "about" or "measured"',
        )  # fmt: skip
    low = high = None
    count, span = _COUNT.match(body), _RANGE.match(body)
    if count and item.unit == "1":
        part, whole = int(count.group(1)), int(count.group(2))
        if whole == 0 or part > whole:
            raise InputError(where, f"{body!r} is not a share", 'write it like "2 of 6"')
        value = part / whole
    elif span:
        first, last = span.groups()
        if _BARE.fullmatch(first):  # "16 to 20 in": the unit stands once
            first += " " + _BARE.sub("", last, count=1)
        low = _parse(first, item, where)
        high = _parse(last, item, where)
        if not low < high:
            raise InputError(
                where, f"the range {body!r} does not go up", "give the lower end first"
            )
        value = (low + high) / 2
    else:
        value = _parse(body, item, where)
    if is_rough and low is not None:
        raise InputError(where, f"{told!r} is a range, which says itself how rough it is",
                         'leave out "about"')  # fmt: skip
    if is_rough and _is_exact(value, item):
        raise InputError(
            where,
            f"no spread can be made of {told!r}",
            f'write it without "about", or {_range(item)}',
        )
    low, high = (end if end is None else _within(end, item, body, where) for end in (low, high))
    return Quantity(_within(value, item, body, where), basis, text, low, high, is_rough)


def _is_exact(value: float, item: Variable) -> bool:
    """Whether a value has no spread: a zero that spreads by its size, or a share of none or all."""
    if item.shape.kind == "logit":
        return not 0 < value < 1
    return value == 0 and item.shape.kind == "relative"


def _range(item: Variable) -> str:
    return f'as a range like "{examples(item)[-1]}"'


def _within(value: float, item: Variable, body: str, where: str) -> float:
    """Return a value that can be."""
    slack = 1e-9 * abs(item.high)
    if not item.low - slack <= value <= item.high + slack:
        raise InputError(
            where, f"{body} is outside what can be for {item.words}",
            f"it lies between {item.range_text(' and ')}",
        )  # fmt: skip
    return value


def _parse(text: str, item: Variable, where: str) -> float:
    value = parse_quantity(text, item.unit, where, f'{_like(item)} or "unknown"')
    if item.is_count and not value.is_integer():
        raise InputError(where, f"{text} is not a whole number", _right(item))
    return value


def examples(item: Variable) -> tuple[str, ...]:
    """Show how a value of this kind is written.

    Parameters
    ----------
    item : Variable
        The quantity.

    Returns
    -------
    tuple of str
        A value in either unit and a range, such as ``("24 in", "61 cm", "20 to 31 in")``.
    """
    usual, us = item.unknown, UnitSystem.US
    values = dict.fromkeys(item.text(usual.p50, system, 2) for system in UnitSystem)
    return (*values, item.spread_text(usual.p05, usual.p50, usual.p95, us)[1])


def shown(written: object) -> str:
    """Show in a message what stood in a file, in the file's own words.

    Parameters
    ----------
    written : object
        What the reader of the file made of it.

    Returns
    -------
    str
        Text such as ``"'deep'"``, ``"true"`` or ``"2026-04-14"``, cut short where it is long.
    """
    if isinstance(written, bool):
        return str(written).lower()
    if isinstance(written, int) and written.bit_length() > 64:
        return "a number of many digits"
    if isinstance(written, list | tuple):
        return "a list"
    if isinstance(written, dict):
        return "a section"
    text = repr(written) if isinstance(written, str) else str(written)
    return text if len(text) <= 60 else f"{text[:60]}…"


def _like(item: Variable) -> str:
    return ", ".join(f'"{text}"' for text in examples(item))


def _right(item: Variable) -> str:
    return f'write it like {_like(item)} or "unknown"'
