"""Words that name a size in metric and in US units, cut to those of the reader."""

from __future__ import annotations

import re

from riskkit.quantities.units import UnitSystem, convert

__all__ = ["in_reader_units"]

_METRIC = {"mm/h": "in/h", "mm": "in", "cm": "in", "m2": "ft2", "m": "ft"}
_NUMBER = r"\d+(?:\.\d+)?"
_SIZE = rf"{_NUMBER}(?: to {_NUMBER})?"
_US_UNITS = r"in/h|in\.?|ft2|ft"
_BOTH = re.compile(
    rf"(?P<first>{_SIZE} (?:mm/h|mm|cm|m2|m)) \((?P<second>{_SIZE} (?:{_US_UNITS}))\)"
    rf"|(?P<us>{_SIZE} (?:{_US_UNITS})) \((?P<metric>{_SIZE} (?:mm/h|mm|cm|m2|m))\)"
)
_ALONE = re.compile(
    rf"(?P<low>{_NUMBER})(?: to (?P<high>{_NUMBER}))? (?P<unit>mm/h|mm|cm|m2|m)(?![\w/])"
)


def in_reader_units(words: str, system: UnitSystem) -> str:
    """Say sizes in the units of the reader alone.

    Parameters
    ----------
    words : str
        A remark of a table, with sizes in both units, or in metric ones alone.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        The same words; a metric size alone is turned into US units with two digits.

    Examples
    --------
    >>> in_reader_units("let out within 2 m (6 ft) of the wall", UnitSystem.US)
    'let out within 6 ft of the wall'
    >>> in_reader_units("ribbon of 1 to 2 in (25 to 50 mm)", UnitSystem.METRIC)
    'ribbon of 25 to 50 mm'
    >>> in_reader_units("diggings reach 0.9 to 1.2 m beyond the wall", UnitSystem.US)
    'diggings reach 3 to 3.9 ft beyond the wall'
    """
    is_us = system is UnitSystem.US

    def one(found: re.Match[str]) -> str:
        return (found["second"] or found["us"]) if is_us else (found["first"] or found["metric"])

    words = _BOTH.sub(one, words)
    return _ALONE.sub(_in_us, words) if is_us else words


def _in_us(found: re.Match[str]) -> str:
    unit = _METRIC[found["unit"]]
    ends = [found["low"], *([found["high"]] if found["high"] else [])]
    shown = [f"{convert(float(end), found['unit'], unit):.2g}" for end in ends]
    return f"{' to '.join(shown)} {unit}"
