"""A value with its unit and how it is known, read from what a person wrote.

``"18 in"`` is given, ``"about 18 in"`` given roughly, ``"18 in, measured"`` measured,
``"16 to 20 in"`` a range that holds nine times out of ten, ``"2 of 6"`` a share, ``"unknown"``
nothing. ``"none"``, or words such as ``"no alarm"``, say that the part is not there.

Numbers may be ``18.5``, ``18 1/2``, ``18-1/2``, ``18½`` or ``1,200``; two units may make one value
(``"5 ft 6 in"``, ``"5'-6\""``, ``"4 min 30 s"``). Roughly is also ``around``, ``roughly``,
``approximately``, ``approx.``, ``circa``, ``ca.``, ``abt.`` or ``~``. A range may also be written
``"16-20 in"``, ``"16 in - 20 in"``, ``"from 16 to 20 in"`` or ``"between 16 and 20 in"``, with a
stroke of any length; one that stands within a value (``"1-1/2 in"``, ``"5'-6\""``) makes none. A
range says itself how rough it is, so "about" beside one adds nothing. Shares may be
``"2 out of 6"`` and ``"1 to 2 of 6"``, units ``18-inch``, ``in.`` or ``GPM``; "measured" may follow
a comma, a semicolon or a space, and a comma at the end says nothing.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import Enum
from functools import cache

from riskkit.errors import InputError
from riskkit.quantities.components import says_none
from riskkit.quantities.units import (
    MOST_LETTERS,
    UnitSystem,
    has_no_unit,
    is_told_roughly,
    parse_quantity,
    range_ends,
    tidied,
)
from riskkit.quantities.variables import Shape, Variable

__all__ = [
    "LEAST_SHARE",
    "UNKNOWN",
    "Basis",
    "Quantity",
    "examples",
    "is_exact",
    "read_quantity",
    "shown",
]

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
    is_none : bool
        The part that the value is of is not there, as in "no alarm"; the value is zero.
    """

    value: float
    basis: Basis
    text: str
    low: float | None = None
    high: float | None = None
    is_rough: bool = False
    is_none: bool = False

    @property
    def amount(self) -> str:
        """The text without how it is known: ``"1,400 ft2"`` of ``"1,400 ft2, measured"``."""
        return _parted(self.text)[0]

    @property
    def counted(self) -> tuple[int, int] | None:
        """Part and whole of a share that was counted: (2, 6) of ``"2 of 6"``; else None."""
        found = _COUNT.fullmatch(self.amount)
        return (int(found[1]), int(found[2])) if found else None


_BASES = {basis.value: basis for basis in (Basis.MEASURED, Basis.GIVEN)}
_COUNT = re.compile(r"(\d+)\s+(?:out\s+)?of\s+(\d+)")
LEAST_SHARE = 1e-4  # closest that a share with a spread comes to none or all


def read_quantity(written: object, item: Variable, where: str) -> Quantity | None:
    """Read one value of a home file.

    Parameters
    ----------
    written : object
        Text such as ``"18 in"``, ``"about 18 in"``, ``"18 in, measured"``, ``"16 to 20 in"``,
        ``"2 of 6"`` or ``"unknown"``; a bare number only where the quantity has no unit. All
        that is read stands at the top of this module.
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
    if isinstance(written, float) and math.isinf(written):  # as a TOML file holds 1e400
        raise InputError(where, "the number is too large", _right(item))
    text = shown(written) if isinstance(written, int) else tidied(str(written))
    if len(text) > MOST_LETTERS:
        raise InputError(where, f"a value of {len(text)} letters is too long", _right(item))
    if text.lower() == UNKNOWN:
        return None
    if says_none(text, item.key):
        return Quantity(0.0, Basis.GIVEN, text.partition(",")[0].strip().lower(), is_none=True)
    if not isinstance(written, str) and item.unit != "1":
        raise InputError(where, f"{text} has no unit", _right(item))
    body, how = _parted(text)
    if how and how not in _BASES:
        raise InputError(
            where, f"{how!r} after the comma is not 'measured' or 'given'",
            f'write it like {_like(item)} or "…, measured"',
        )  # fmt: skip
    basis = _BASES.get(how, Basis.GIVEN)
    ends, is_rough = range_ends(body), is_told_roughly(body)
    if is_rough and basis is Basis.MEASURED:
        raise InputError(
            where, f"{body!r} is stated roughly, so it is not measured",
            'leave out "about" or "measured"',
        )  # fmt: skip
    values = [_parse(end, item, where) for end in ends]
    value = sum(values) / len(values)
    if len(ends) == 2 and not values[0] < values[1]:
        raise InputError(where, f"the range {body!r} does not go up", "give the lower end first")
    if len(ends) == 1 and is_rough and is_exact(value, item.shape):
        raise InputError(
            where,
            f"no spread can be made of {body!r}",
            f'write it without "about", or {_range(item)}',
        )
    low, high = values if len(ends) == 2 else (None, None)
    for number in (*values, value):
        _check_plausible(number, item, body, where)
    return Quantity(value, basis, text, low, high, is_rough and low is None)


def _parted(text: str) -> tuple[str, str]:
    """Part a text into the value and what stands after the comma, such as "measured"."""
    body, comma, how = text.rpartition(",")
    if not comma or re.match(r"\d", how):  # a comma before digits belongs to the number
        return text, ""
    return body.strip(), how.strip().lower()


def is_exact(value: float, shape: Shape) -> bool:
    """Tell whether a value has no spread, however roughly it is told.

    Parameters
    ----------
    value : float
        The value [any].
    shape : Shape
        On which scale its spread is taken.

    Returns
    -------
    bool
        True for a zero that spreads by its size, and for a share of none or all.
    """
    if shape.kind == "logit":
        return not LEAST_SHARE < value < 1 - LEAST_SHARE
    return value == 0 and shape.kind == "relative"


def _range(item: Variable) -> str:
    return f'as a range like "{examples(item)[-1]}"'


def _check_plausible(value: float, item: Variable, body: str, where: str) -> None:
    slack = 1e-9 * abs(item.high)
    if item.low - slack <= value <= item.high + slack:
        return
    if item.us_unit == "%" and value > 1 and has_no_unit(body):
        raise InputError(
            where, f"{body} is more than the whole", f'write "{body} %" if per cent are meant'
        )
    raise InputError(
        where, f"{body} is outside what can be for {item.words}",
        f"it lies between {item.range_text(' and ')}",
    )  # fmt: skip


def _parse(text: str, item: Variable, where: str) -> float:
    count = _COUNT.fullmatch(text)
    if count and item.unit == "1":
        return _share(int(count[1]), int(count[2]), text, where)
    value = parse_quantity(text, item.unit, where, f'{_like(item)} or "unknown"')
    if item.is_count and not value.is_integer():
        raise InputError(where, f"{text} is not a whole number", _right(item))
    return value


def _share(part: int, whole: int, text: str, where: str) -> float:
    right = 'write it like "2 of 6"'
    if whole == 0:
        raise InputError(where, f"{text!r} is a share of nothing", right)
    if part > whole:
        raise InputError(where, f"in {text!r} the first number is greater than the second", right)
    return part / whole


@cache  # read with every value, for its message
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
    if isinstance(written, float) and math.isinf(written):
        return "a number that is too large"
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
