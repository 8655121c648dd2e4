"""Units: SI inside, whatever people write outside.

Inside the package every number is SI, with two named exceptions: rain depth in mm and rain
intensity in mm/h. This module is the only place where gallons, feet and degrees Fahrenheit exist.
Text like ``"18 in"`` becomes a number once, where it enters; a number becomes text once, where it
leaves.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from riskkit.errors import InputError
from riskkit.quantities.text import (
    IN_TWO,
    MOST_LETTERS,
    SPELLINGS,
    VALUE,
    has_no_unit,
    is_told_roughly,
    misread,
    plain_text,
    range_ends,
    tidied,
    with_unit,
    without_about,
)
from riskkit.tables import load_table

if TYPE_CHECKING:
    import pint

__all__ = [
    "EXAMPLES",
    "MOST_LETTERS",
    "UnitSystem",
    "convert",
    "has_no_unit",
    "is_told_roughly",
    "parse_quantity",
    "range_ends",
    "system_of",
    "tidied",
    "with_unit",
    "without_about",
]


class UnitSystem(Enum):
    """What the reader sees: US customary or metric units."""

    US = "us"
    METRIC = "metric"


EXAMPLES = {
    "m": '"18 in" or "0.46 m"',
    "m2": '"1200 ft2" or "110 m2"',
    "m3": '"1.5 gal" or "6 L"',
    "m3/s": '"43 gpm" or "2.7 L/s"',
    "mm": '"2.5 in" or "64 mm"',
    "mm/h": '"4 in/h" or "100 mm/h"',
    "mm/d": '"0.1 in/d" or "3 mm/d"',
    "m2/s": '"20 gpm/in" or "5 cm2/s"',
    "m/s": '"0.3 cm/h" or "8e-7 m/s"',
    "s": '"30 s" or "15 min"',
    "1": '"30 %" or 0.3',
    "degC": '"50 degF" or "10 degC"',
    "yr": '"4 years" or "18 months"',
    "h": '"20 h"',
    "A": '"14 A"',
    "Ah": '"85 Ah"',
    "W": '"500 W"',
    "V": '"12 V"',
    "L": '"4 gal" or "15 L"',
    "L/h": '"0.5 gal/h" or "1.8 L/h"',
    "Pa": '"55 psi" or "380 kPa"',
}

_DEGREES = {"degC": (1.0, 273.15), "degF": (5 / 9, 233.15 + 200 / 9)}  # kelvin a degree, and at 0

# one name or two with a stroke between; nothing that could be worked out as a formula
_UNIT = re.compile(r"([A-Za-z°µμ]+)([23²³]?)(?:(?: ?/ ?| per | a )([A-Za-z]+)([23²³]?))?$")


@cache
def _registry() -> pint.UnitRegistry[float]:
    """The units people write, and no others: pint's whole list takes half a second to read."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    text = files("riskkit.tables").joinpath("units.txt").read_text(encoding="utf-8")
    registry.load_definitions(text.splitlines())
    return registry


def _unit(text: str) -> pint.Unit:
    import pint

    text = text.strip()
    try:
        return _unit_as_written(text)
    except (pint.UndefinedUnitError, ValueError):
        if text == text.lower():
            raise
        return _unit_as_written(text.lower())  # plates say GPM; no two units differ in that alone


def _unit_as_written(text: str) -> pint.Unit:
    text = SPELLINGS.get(text, text)
    if text in ("1", "dimensionless"):
        return _registry().Unit("dimensionless")
    parts = _UNIT.match(text)
    if parts is None:
        raise ValueError
    # "ft2" is how people write it; pint wants the exponent spelt out
    name, power, under, under_power = parts.groups()
    top = f"{name}**{_power(power)}"
    return _registry().Unit(f"{top}/{under}**{_power(under_power)}" if under else top)


def _power(text: str) -> int:
    return int(text.translate({ord("²"): "2", ord("³"): "3"}) or 1)


def _number(text: str) -> float:
    """Read ``18``, ``1,200``, ``1/2``, ``18 1/2`` or ``18-1/2``."""
    fraction = re.fullmatch(r"(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)", text)
    if fraction is None:
        return float(text.replace(",", ""))
    whole, numerator, denominator = fraction.groups()
    top, bottom = float(numerator), float(denominator)
    if bottom == 0 or (whole is not None and top >= bottom):
        raise ValueError
    return float(whole or 0) + top / bottom


@cache
def _common_factors() -> Mapping[tuple[str, str], float]:
    """Multipliers between the units that most homes use: importing pint takes longer than reading
    such a home."""
    rows = load_table("unit_factors").rows
    return {(row["from_unit"], row["to_unit"]): float(row["factor"]) for row in rows}


@cache
def _factor(from_unit: str, to_unit: str) -> float:
    """Multiplier between two units without an offset."""
    common = _common_factors().get((from_unit, to_unit))
    return _factor_by_pint(from_unit, to_unit) if common is None else common


def _factor_by_pint(from_unit: str, to_unit: str) -> float:
    return float(_registry().Quantity(1.0, _unit(from_unit)).to(_unit(to_unit)).magnitude)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Turn a value from one unit into another.

    Parameters
    ----------
    value : float
        The value in `from_unit` [any].
    from_unit : str
        Unit of `value`, such as ``"gpm"``.
    to_unit : str
        Unit wanted, such as ``"m3/s"``.

    Returns
    -------
    float
        The value in `to_unit` [any].

    Examples
    --------
    >>> round(convert(18, "in", "m"), 4)
    0.4572
    >>> round(convert(1, "m3/s", "gpm"))
    15850
    """
    if from_unit == to_unit:
        return float(value)
    if from_unit in _DEGREES and to_unit in _DEGREES:
        (scale, offset), (to_scale, to_offset) = _DEGREES[from_unit], _DEGREES[to_unit]
        return float((value * scale + offset - to_offset) / to_scale)
    if from_unit.startswith("deg") or to_unit.startswith("deg"):
        return float(_registry().Quantity(value, _unit(from_unit)).to(_unit(to_unit)).magnitude)
    return float(value) * _factor(from_unit, to_unit)


def parse_quantity(text: str, si_unit: str, where: str, like: str = "") -> float:
    """Read a value with its unit, as people write it.

    Parameters
    ----------
    text : str
        A number and a unit, such as ``"18 in"``, ``"5 ft 6 in"`` or ``"43 gpm"``.
    si_unit : str
        The unit wanted inside, such as ``"m"``.
    where : str
        What the message names when the text is wrong: file and key.
    like : str, optional
        What the message shows as right; else an example in `si_unit`.

    Returns
    -------
    float
        The value in `si_unit` [any].

    Raises
    ------
    InputError
        Where there is no number, no unit, an unknown unit or one that measures something else.

    Examples
    --------
    >>> round(parse_quantity("5 ft 6 in", "m", "here"), 4)
    1.6764
    """
    right = f"write it like {like or EXAMPLES.get(si_unit, 'a number and a unit')}"
    if len(text) > MOST_LETTERS:
        raise InputError(where, f"a value of {len(text)} letters is too long", right)
    plain = plain_text(text)
    match = VALUE.match(plain)
    try:
        if match:
            size, unit = _size_and_unit(plain, match)
        elif re.match(r"\s*[-+]?\d+,\d", plain):
            point = text.strip().replace(",", ".", 1)
            meant = VALUE.match(plain_text(point))
            if meant and (meant[3] or si_unit == "1"):
                right = f"write {point}"
            raise InputError(where, f"{text!r} has a comma within its number", right)
        else:
            digits = " in digits" if text[:1].isalpha() else ""
            fault = misread(text) or f"does not start with a number{digits}"
            raise InputError(where, f"{text!r} {fault}", right)
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise InputError(where, f"{text!r} holds a fraction that is none", right) from None
    number = -size if match[1] == "-" else size
    if not unit and si_unit == "1":
        value = number
    elif not unit:
        raise InputError(where, f"{text!r} has no unit", right)
    else:
        value = _convert_or_refuse(number, unit, si_unit, text, where, right)
    if not math.isfinite(value):
        raise InputError(where, f"{text!r} is too large a number", right)
    return value


def _size_and_unit(plain: str, match: re.Match[str]) -> tuple[float, str]:
    for pattern, ratio, unit in IN_TWO:
        two = pattern.match(plain)
        if two:
            return float(two.group(2)) * ratio + _number(two.group(3)), unit
    return _number(match.group(2)), match.group(3)


def _convert_or_refuse(
    number: float, unit: str, si_unit: str, text: str, where: str, right: str
) -> float:
    """Turn a value into the SI unit, or say in one sentence why not."""
    written = SPELLINGS.get(unit, unit)
    if (written, si_unit) in _common_factors() or written == si_unit:
        return convert(number, written, si_unit)
    import pint

    try:
        return convert(number, written, si_unit)
    except pint.DimensionalityError:
        raise InputError(where, f"{text!r} is not {_KINDS.get(si_unit, si_unit)}", right) from None
    except (pint.UndefinedUnitError, pint.OffsetUnitCalculusError, ValueError):
        raise InputError(where, _not_a_unit(text, unit), right) from None


def _not_a_unit(text: str, unit: str) -> str:
    fault = misread(text)
    if fault:
        return f"{text!r} {fault}"
    first, _, rest = unit.partition(" ")
    if rest and _is_known(first):
        return f"{_short(rest)} after the unit is not understood"
    return f"the unit {_short(unit)} is not known"


def _short(text: str) -> str:
    return repr(text) if len(text) <= 20 else f"{text[:20]!r}…"


def _is_known(unit: str) -> bool:
    import pint

    try:
        _unit(unit)
    except (pint.UndefinedUnitError, ValueError):
        return False
    return True


_KINDS = {
    "m": "a length", "m2": "an area", "m3": "a volume", "m3/s": "a flow", "mm": "a depth of rain",
    "mm/h": "a rain intensity", "m/s": "a soil conductivity", "s": "a time", "1": "a share or a "
    "plain number", "degC": "a temperature", "yr": "a number of years", "h": "a number of hours",
    "A": "a current", "Ah": "a charge in ampere-hours", "W": "an electric power", "V": "a voltage",
    "L": "a volume", "L/h": "a volume an hour", "Pa": "a pressure",
}  # fmt: skip


def system_of(text: str) -> UnitSystem:
    """Tell in which units a value was written.

    Parameters
    ----------
    text : str
        A value that can be read, such as ``"16 to 20 inches"``.

    Returns
    -------
    UnitSystem
        US customary where the unit, or one of two with a stroke between, is so; else metric.

    Examples
    --------
    >>> system_of("16 to 20 inches").value, system_of("5' 6").value, system_of("2 L/min").value
    ('us', 'us', 'metric')
    """
    plain = plain_text(range_ends(text)[-1])
    match = VALUE.match(plain)
    unit = _size_and_unit(plain, match)[1] if match else ""
    names = _unit(unit or "1")._units
    group = _registry().get_group("us").members
    return UnitSystem.US if group & set(names) else UnitSystem.METRIC
