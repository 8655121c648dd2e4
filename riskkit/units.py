"""Units: SI inside, whatever people write outside.

Inside the package every number is SI, with two named exceptions: rain depth in mm and rain
intensity in mm/h. This module is the only place where gallons, feet and degrees Fahrenheit exist.
Text like ``"18 in"`` becomes a number once, where it enters; a number becomes text once, where it
leaves.
"""

from __future__ import annotations

import math
import re
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from riskkit.errors import InputError

if TYPE_CHECKING:
    import pint

__all__ = [
    "EXAMPLES",
    "UnitSystem",
    "convert",
    "has_no_unit",
    "parse_quantity",
    "system_of",
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
    "m/s": '"0.3 cm/h" or "8e-7 m/s"',
    "s": '"30 s" or "15 min"',
    "1": '"30 %" or 0.3',
    "degC": '"50 degF" or "10 degC"',
}

MOST_LETTERS = 80  # of a value as written

_DIGITS = r"(?:[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)?|\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_FRACTION = r"\d+\s*/\s*\d+"  # as on a tape: 18 1/2, 18-1/2, 1/2
NUMBER = rf"(?:\d+(?:\s+|\s*-\s*){_FRACTION}|{_FRACTION}|{_DIGITS})"
_VALUE = re.compile(rf"\s*([-+]?)({NUMBER})(?![\d.,])\s*(.*?)\s*$")
# two units in one value, the second of which goes without saying (5' 6, 4 min 30); ft2 is none
_IN_TWO = tuple(
    (
        re.compile(
            rf"\s*([-+]?)(\d+)\s*(?:{big})(?![23]\s*$)\s*-?\s*({NUMBER})\s*(?:{small})?\s*$"
        ),
        ratio,
        unit,
    )
    for big, small, ratio, unit in (
        ("ft|feet|foot|'", 'in|inch|inches|"', 12, "in"),
        ("min|minutes?", "s|sec|seconds?", 60, "s"),
        ("h|hr|hours?", "min|minutes?", 60, "min"),
    )
)
_SIGNS = str.maketrans(  # as phones and word processors write them
    {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "’": "'", "′": "'", "”": '"', "″": '"', "−": "-"}
)
# one name or two with a stroke between; nothing that could be worked out as a formula
_UNIT = re.compile(r"([A-Za-z°µμ]+)([23²³]?)(?:(?: ?/ ?| per )([A-Za-z]+)([23²³]?))?$")
_SPELLINGS = {
    "sq ft": "ft2", "sqft": "ft2", "sq m": "m2", "sqm": "m2", "cu ft": "ft3", "%": "percent",
    '"': "in", "'": "ft", "l": "L", "l/s": "L/s", "l/min": "L/min",
    "°F": "degF", "°C": "degC",
}  # fmt: skip


@cache
def _registry() -> pint.UnitRegistry[float]:
    """The units people write, and no others: pint's whole list takes half a second to read."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    text = files("riskkit.tables").joinpath("units.txt").read_text(encoding="utf-8")
    registry.load_definitions(text.splitlines())
    return registry


def _unit(text: str) -> pint.Unit:
    text = _SPELLINGS.get(text.strip(), text.strip())
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
    whole, numerator, denominator = re.match(  # type: ignore[union-attr]  # always matches
        r"(?:(\d+)[\s-]+)?(?:(\d+)\s*/\s*(\d+))?", text
    ).groups()
    if numerator is None:
        return float(text.replace(",", ""))
    top, bottom = float(numerator), float(denominator)
    if bottom == 0 or (whole is not None and top >= bottom):
        raise ValueError
    return float(whole or 0) + top / bottom


@cache
def _factor(from_unit: str, to_unit: str) -> float:
    """Multiplier between two units without an offset."""
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
    plain = text.translate(_SIGNS)
    match = _VALUE.match(plain)
    try:
        if match:
            size, unit = _size_and_unit(plain, match)
        elif re.match(r"\s*[-+]?\d+,\d", plain):
            raise InputError(
                where, f"{text!r} has a comma within its number", "write 0.61 or 1,200"
            )
        else:
            raise InputError(where, f"{text!r} does not start with a number", right)
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
    for pattern, ratio, unit in _IN_TWO:
        two = pattern.match(plain)
        if two:
            return float(two.group(2)) * ratio + _number(two.group(3)), unit
    return _number(match.group(2)), match.group(3)


def _convert_or_refuse(
    number: float, unit: str, si_unit: str, text: str, where: str, right: str
) -> float:
    """Turn a value into the SI unit, or say in one sentence why not."""
    import pint

    shown = repr(unit) if len(unit) <= 20 else f"{unit[:20]!r}…"
    try:
        return convert(number, _SPELLINGS.get(unit, unit), si_unit)
    except pint.DimensionalityError:
        raise InputError(where, f"{text!r} is not {_KINDS.get(si_unit, si_unit)}", right) from None
    except (pint.UndefinedUnitError, pint.OffsetUnitCalculusError, ValueError):
        raise InputError(where, f"the unit {shown} is not known", right) from None


_KINDS = {
    "m": "a length", "m2": "an area", "m3": "a volume", "m3/s": "a flow", "mm": "a depth of rain",
    "mm/h": "a rain intensity", "m/s": "a soil conductivity", "s": "a time", "1": "a share or a "
    "plain number", "degC": "a temperature",
}  # fmt: skip


_ABOUT = re.compile(r"^(?:(?:about|approx\.?|ca\.?|circa)\s+|ca\.|[~≈]\s*)", re.IGNORECASE)


def has_no_unit(text: str) -> bool:
    """Tell whether a text is a number, or two with "to" between, and nothing more.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    bool
        True where a unit may be written after it.

    Examples
    --------
    >>> has_no_unit("18 1/2"), has_no_unit("16 to 20"), has_no_unit("1,200"), has_no_unit("2 of 6")
    (True, True, True, False)
    """
    number = rf"[-+]?\s*{NUMBER}"
    bare = without_about(text.translate(_SIGNS))
    return re.fullmatch(rf"{number}(\s+to\s+{number})?", bare) is not None


def without_about(text: str) -> str:
    """Take the word away that says that a value is told roughly.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    str
        The value without spaces around it; as long as before where it is not told roughly.

    Examples
    --------
    >>> without_about("about 20 in"), without_about("~20 in"), without_about("ca. 20 in")
    ('20 in', '20 in', '20 in')
    """
    return _ABOUT.sub("", text.strip())


def with_unit(text: str, unit: str) -> str:
    """Add the unit that a form shows where a person wrote none.

    Parameters
    ----------
    text : str
        What was typed.
    unit : str
        The unit that the form shows; nothing or ``"1"`` where there is none.

    Returns
    -------
    str
        The text without spaces around it, with its unit.

    Examples
    --------
    >>> with_unit("18 1/2", "in"), with_unit("16 to 20 ", "cm"), with_unit("2 ft", "in")
    ('18 1/2 in', '16 to 20 cm', '2 ft')
    """
    text = text.strip()
    return f"{text} {unit}" if unit not in ("", "1") and has_no_unit(text) else text


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
    plain = without_about(text.translate(_SIGNS)).rpartition(" to ")[2]
    match = _VALUE.match(plain)
    unit = _size_and_unit(plain, match)[1] if match else ""
    names = _unit(_SPELLINGS.get(unit, unit) or "1")._units
    group = _registry().get_group("us").members
    return UnitSystem.US if group & set(names) else UnitSystem.METRIC
